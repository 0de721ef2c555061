//! Newton's method on the energy, with an exact Hessian wherever it is positive definite.

use super::analysis::Analysis;
use super::assembly::{Forces, fill_matrix};
use super::elements::{Buffers, Elements};
use super::linear::Factor;
use super::rigid::Rigid;
use super::{BadBody, Body, Cause, NotSettled, Settings, Want};
use std::ops::ControlFlow;

/// What a callback sees before each step.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// Steps taken.
    pub iteration: usize,
    /// Residual now, see [`Settings::residual`].
    pub residual: f64,
    /// Last step, m; infinite before the first.
    pub step: f64,
    /// Energy now, J.
    pub energy: f64,
}

/// An equilibrium that was reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Outcome {
    /// Residual, see [`Settings::residual`].
    pub residual: f64,
    /// Last step, m.
    pub last_step: f64,
    /// Steps taken.
    pub iterations: usize,
    /// Energy, J.
    pub energy: f64,
    /// True if the exact Hessian at the start of the last step was positive definite, rigid motions
    /// of free pieces set aside: the state is then a minimum and not a saddle.
    pub minimum: bool,
    /// Factorisations done, failed ones included.
    pub factorisations: usize,
    /// Steps taken with a Hessian other than the exact one.
    pub fallbacks: usize,
}

/// A body analysed for repeated solves in `D` dimensions: connections, elimination order and symbolic
/// factor are kept.
pub struct Solver<const D: usize> {
    elements: Elements,
    analysis: Analysis,
    factor: Factor,
    pinned: Vec<bool>,
    buffers: Buffers,
    forces: Forces,
    rigid: Rigid,
    /// Pinned or anchored unknowns, by place in the elimination order.
    fixed: Vec<bool>,
    /// Force scale below which a state is free of stress (N), before [`Settings::zero_strain`].
    scale: f64,
}

/// Where the iteration stands.
struct Stand {
    energy: f64,
    residual: f64,
    step: f64,
    iterations: usize,
    guard: bool,
    minimum: bool,
    factorisations: usize,
    fallbacks: usize,
    /// The buffers hold the exact blocks of the present state.
    blocks: bool,
    /// What one more step with the present factor is expected to leave of the residual.
    shrink: f64,
}

impl<const D: usize> Solver<D> {
    /// Checks and analyses a body.
    ///
    /// # Errors
    /// [`BadBody`] with the first fault found.
    pub fn new(body: &Body) -> Result<Self, BadBody> {
        body.validate()?;
        let elements = Elements::new(body);
        let analysis = Analysis::new(&elements, body.nodes);
        let (ptr, row) = analysis.pattern::<D>();
        let factor = Factor::new(ptr, row);
        let scale = elements.scale.iter().map(|s| s * s).sum::<f64>().sqrt();
        Ok(Self {
            elements,
            analysis,
            factor,
            pinned: vec![false; D * body.nodes],
            buffers: Buffers::default(),
            forces: Forces::default(),
            rigid: Rigid::default(),
            fixed: Vec::new(),
            scale,
        })
    }

    /// Holds the given unknowns (`D * node + axis`) where they are, and no others.
    ///
    /// # Panics
    /// If an unknown does not exist.
    pub fn pin(&mut self, unknowns: &[usize]) {
        self.pinned.fill(false);
        for u in unknowns {
            self.pinned[*u] = true;
        }
    }

    /// Takes rest shapes, laws and loads from a body with the same connections as before.
    ///
    /// # Errors
    /// [`BadBody`] if it has a fault or other connections.
    pub fn set_rest(&mut self, body: &Body) -> Result<(), BadBody> {
        body.validate()?;
        let other = Elements::new(body);
        if other.nodes != self.elements.nodes || other.start != self.elements.start {
            let fault = "its connections differ from those analysed".to_owned();
            return Err(BadBody { kind: "body", index: 0, fault });
        }
        self.elements = other;
        self.scale = self.elements.scale.iter().map(|s| s * s).sum::<f64>().sqrt();
        Ok(())
    }

    /// Entries of the Cholesky factor.
    pub fn fill(&self) -> usize {
        self.factor.fill()
    }

    /// Net force on every node (N): what a pin must bear, and zero elsewhere at equilibrium.
    pub fn net_forces(&mut self, x: &[[f64; D]]) -> Vec<[f64; D]> {
        self.elements.evaluate::<D>(x.as_flattened(), Want::Gradient, false, &mut self.buffers);
        let free = vec![false; x.len() * D];
        self.forces.gather::<D>(&self.elements, &self.analysis, &self.buffers.forces, &free);
        self.forces.gradient.as_chunks::<D>().0.to_vec()
    }

    /// Forms the exact Hessian at `x`, pins of the last solve held, for [`Self::factorise_and_solve`].
    pub fn assemble(&mut self, x: &[[f64; D]]) {
        let x = x.as_flattened();
        self.hold(x);
        self.elements.evaluate::<D>(x, Want::Exact, false, &mut self.buffers);
        let unit = self.unit();
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &self.fixed, unit);
    }

    /// One numeric factorisation of the assembled matrix and one solve: the unit solves are measured
    /// in. False if the matrix is not positive definite.
    pub fn factorise_and_solve(&mut self) -> bool {
        let done = self.factor.factorise().is_ok();
        self.factor.solve(&mut vec![1.0; self.pinned.len()]);
        done
    }

    /// Dense Hessian (N/m), row-major, unknowns in node order: for checks on small bodies.
    pub fn hessian(&mut self, x: &[[f64; D]]) -> Vec<f64> {
        let n = D * x.len();
        self.elements.evaluate::<D>(x.as_flattened(), Want::Exact, false, &mut self.buffers);
        let free = vec![false; n];
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &free, 1.0);
        let unknown = |u: usize| D * self.analysis.order[u / D] as usize + u % D;
        let mut dense = vec![0.0; n * n];
        let (ptr, row) = self.factor.pattern();
        for c in 0..n {
            for k in ptr[c] as usize..ptr[c + 1] as usize {
                let (i, j) = (unknown(row[k] as usize), unknown(c));
                dense[n * i + j] = self.factor.values[k];
                dense[n * j + i] = self.factor.values[k];
            }
        }
        dense
    }

    /// Moves `x` to an equilibrium of least energy near it.
    ///
    /// # Errors
    /// [`NotSettled`] with the cause and the place; `x` then holds the state reached.
    pub fn minimise(
        &mut self,
        x: &mut [[f64; D]],
        settings: &Settings,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> Result<Outcome, NotSettled> {
        if let Some(node) = self.unfit(x) {
            return Err(NotSettled {
                cause: Cause::Start,
                iterations: 0,
                residual: f64::INFINITY,
                step: f64::INFINITY,
                worst_node: node,
            });
        }
        let x = x.as_flattened_mut();
        self.hold(x);
        let mut stand = self.start(x, settings);
        loop {
            if stand.residual <= settings.residual && stand.step <= settings.step && stand.guard {
                return Ok(stand.outcome());
            }
            if stand.iterations >= settings.iterations {
                let cause = if stand.guard { Cause::Iterations } else { Cause::Folded };
                return Err(self.not_settled(cause, &stand, x));
            }
            let now = Progress {
                iteration: stand.iterations,
                residual: stand.residual,
                step: stand.step,
                energy: stand.energy,
            };
            if progress(now).is_break() {
                return Err(self.not_settled(Cause::Interrupted, &stand, x));
            }
            let chord = stand.chord_pays(settings);
            if !chord {
                self.refactor(x, &mut stand);
            }
            let step = self.step(x);
            let want = if chord { Want::Gradient } else { Want::Exact };
            if self.search(x, &step, want, &mut stand, settings) {
                stand.iterations += 1;
            } else if chord {
                stand.shrink = f64::INFINITY;
            } else {
                return Err(self.not_settled(Cause::Stuck, &stand, x));
            }
        }
    }

    fn unfit(&self, x: &[[f64; D]]) -> Option<usize> {
        if x.len() != self.analysis.order.len() {
            return Some(x.len().min(self.analysis.order.len()));
        }
        x.iter().position(|x| !x.iter().all(|x| x.is_finite()))
    }

    /// Fixes pins, and anchors for pieces that nothing holds.
    fn hold(&mut self, x: &[f64]) {
        let free = D == 2 && !self.elements.loaded();
        self.rigid =
            if free { Rigid::new(&self.elements, x, &self.pinned) } else { Rigid::default() };
        self.fixed = vec![false; x.len()];
        let pins = (0..x.len()).filter(|u| self.pinned[*u]);
        for u in pins.chain(self.rigid.anchors.iter().copied()) {
            self.fixed[D * self.analysis.place[u / D] as usize + u % D] = true;
        }
    }

    fn start(&mut self, x: &[f64], settings: &Settings) -> Stand {
        let mut stand = Stand {
            energy: self.elements.evaluate::<D>(x, Want::Exact, true, &mut self.buffers),
            residual: f64::INFINITY,
            step: f64::INFINITY,
            iterations: 0,
            guard: true,
            minimum: false,
            factorisations: 0,
            fallbacks: 0,
            blocks: true,
            shrink: f64::INFINITY,
        };
        if !stand.energy.is_finite() {
            // Folded cells push back out when nothing forbids the fold; see `search`.
            stand.guard = false;
            stand.energy = self.elements.evaluate::<D>(x, Want::Exact, false, &mut self.buffers);
        }
        stand.residual = self.balance(settings)[0];
        stand
    }

    /// Gathers the forces; returns residual and 2-norm of the net forces (N).
    fn balance(&mut self, settings: &Settings) -> [f64; 2] {
        self.forces.gather::<D>(&self.elements, &self.analysis, &self.buffers.forces, &self.pinned);
        let [net, sum] = self.forces.norms();
        [net / sum.max(settings.zero_strain * self.scale).max(f64::MIN_POSITIVE), net]
    }

    fn not_settled(&self, cause: Cause, stand: &Stand, x: &[f64]) -> NotSettled {
        let folded = if stand.guard { None } else { self.elements.folded::<D>(x) };
        let worst_node = folded.map_or_else(|| self.forces.worst(), |n| n as usize);
        NotSettled {
            cause,
            iterations: stand.iterations,
            residual: stand.residual,
            step: stand.step,
            worst_node,
        }
    }

    /// Factorises the Hessian at `x`. Where the exact one is not positive definite its indefinite
    /// parts are left out, and where even that is singular it is shifted by as little as helps.
    fn refactor(&mut self, x: &[f64], stand: &mut Stand) {
        if !stand.blocks {
            self.elements.evaluate::<D>(x, Want::Exact, false, &mut self.buffers);
        }
        let unit = self.unit();
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &self.fixed, unit);
        stand.factorisations += 1;
        stand.minimum = self.factor.factorise().is_ok();
        if !stand.minimum {
            stand.fallbacks += 1;
            self.elements.evaluate::<D>(x, Want::Clamped, false, &mut self.buffers);
            let mut shift = 0.0;
            loop {
                fill_matrix::<D>(
                    &self.analysis,
                    &self.buffers.blocks,
                    &mut self.factor,
                    &self.fixed,
                    unit,
                );
                self.factor.shift(shift);
                stand.factorisations += 1;
                if self.factor.factorise().is_ok() || shift > unit {
                    break;
                }
                shift = (100.0 * shift).max(1e-10 * unit);
            }
        }
    }

    /// The step the present factor gives against the present forces.
    fn step(&mut self, x: &[f64]) -> Vec<f64> {
        let mut rhs = vec![0.0; x.len()];
        for (at, node) in self.analysis.order.iter().enumerate() {
            for d in 0..D {
                if !self.fixed[D * at + d] {
                    rhs[D * at + d] = -self.forces.gradient[D * *node as usize + d];
                }
            }
        }
        self.factor.solve(&mut rhs);
        let mut step = vec![0.0; x.len()];
        for (at, node) in self.analysis.order.iter().enumerate() {
            step[D * *node as usize..][..D].copy_from_slice(&rhs[D * at..][..D]);
        }
        if D == 2 {
            self.rigid.project(x, &mut step);
        }
        step
    }

    /// Size of a diagonal entry of the matrix, for the rows of fixed unknowns.
    fn unit(&self) -> f64 {
        let blocks = &self.buffers.blocks;
        let sum: f64 = blocks.iter().step_by(D * D).map(|b| b.abs()).sum();
        (sum * (D * D) as f64 / blocks.len().max(1) as f64).max(f64::MIN_POSITIVE)
    }

    /// Halves the step until the energy falls enough (Armijo), or, where the fall drowns in rounding,
    /// until the net forces do. Leaves forces, and blocks if wanted, of the new state in the buffers.
    fn search(
        &mut self,
        x: &mut [f64],
        step: &[f64],
        want: Want,
        stand: &mut Stand,
        settings: &Settings,
    ) -> bool {
        let slope: f64 = self.forces.gradient.iter().zip(step).map(|(g, s)| g * s).sum();
        let net = self.forces.norms()[0];
        let longest = step
            .chunks_exact(D)
            .map(|s| s.iter().map(|s| s * s).sum::<f64>())
            .fold(0.0, f64::max)
            .sqrt();
        if !slope.is_finite() || !longest.is_finite() || slope > 0.0 {
            return false;
        }
        let old = x.to_vec();
        let settled = stand.residual <= settings.residual;
        let mut t = 1.0;
        for _ in 0..=settings.halvings {
            x.iter_mut().zip(&old).zip(step).for_each(|((x, old), s)| *x = old + t * s);
            let energy = self.elements.evaluate::<D>(x, want, stand.guard, &mut self.buffers);
            let noise = 1e-11 * stand.energy.abs().max(energy.abs());
            let falls = energy <= stand.energy + settings.descent * t * slope;
            if falls || (-slope * t <= noise && energy <= stand.energy + noise) {
                let [residual, now] = self.balance(settings);
                if falls || now < net || (settled && residual <= settings.residual) {
                    stand.shrink =
                        residual / stand.residual * if want == Want::Exact { 1.5 } else { 1.0 };
                    (stand.energy, stand.residual, stand.step) = (energy, residual, t * longest);
                    stand.blocks = want == Want::Exact;
                    self.watch_folds(x, stand);
                    return true;
                }
            }
            t *= 0.5;
        }
        x.copy_from_slice(&old);
        stand.blocks = true;
        self.elements.evaluate::<D>(x, Want::Exact, stand.guard, &mut self.buffers);
        self.balance(settings);
        false
    }

    /// Once no cell is folded over, none may fold again.
    fn watch_folds(&mut self, x: &[f64], stand: &mut Stand) {
        if !stand.guard {
            stand.guard = self.elements.folded::<D>(x).is_none();
        }
    }
}

impl Stand {
    /// True if one more step with the factor at hand is expected to do, at a fraction of the price of
    /// a factorisation. After a Newton step the same factor is expected to leave 1.5 times what that
    /// step left. Longer runs of such steps do not pay: where a tension changes sign the Hessian
    /// jumps, and they stall there.
    fn chord_pays(&self, settings: &Settings) -> bool {
        self.minimum && self.shrink * self.residual <= settings.residual
    }

    fn outcome(&self) -> Outcome {
        Outcome {
            residual: self.residual,
            last_step: self.step,
            iterations: self.iterations,
            energy: self.energy,
            minimum: self.minimum,
            factorisations: self.factorisations,
            fallbacks: self.fallbacks,
        }
    }
}

/// Lays a planar body: analyses it, and moves `x` to an equilibrium of least energy near it.
///
/// # Errors
/// [`NotSettled`], also where the body is refused ([`Cause::Bad`]).
pub fn minimise(
    body: &Body,
    x: &mut [[f64; 2]],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Outcome, NotSettled> {
    let mut solver = Solver::<2>::new(body).map_err(|bad| NotSettled {
        worst_node: bad.index,
        cause: Cause::Bad(bad),
        iterations: 0,
        residual: f64::INFINITY,
        step: f64::INFINITY,
    })?;
    solver.minimise(x, settings, progress)
}
