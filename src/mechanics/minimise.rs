//! Newton's method on the energy, with an exact Hessian wherever it is positive definite.

mod tangent;

use super::analysis::Analysis;
use super::assembly::{Forces, fill_matrix};
use super::chord::Pace;
use super::descend::Gains;
use super::elements::{Buffers, Elements};
use super::linear::Factor;
use super::newton::{extent, longest};
use super::rigid::{Rigid, falling};
use super::{BadBody, Body, Cause, NotSettled, Settings, Want};
use std::ops::ControlFlow;

/// Residual below which Newton steps are safe however the matrix looks: first-order steps bring a
/// sheet far from equilibrium here cheaply, and become slow further on.
pub(super) const CALM: f64 = 1e-3;

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
    /// First-order steps taken before or between Newton steps.
    pub descents: usize,
}

/// A body analysed for repeated solves in `D` dimensions: connections, elimination order and symbolic
/// factor are kept.
pub struct Solver<const D: usize> {
    pub(super) elements: Elements,
    pub(super) analysis: Analysis,
    pub(super) factor: Factor,
    pub(super) pinned: Vec<bool>,
    pub(super) buffers: Buffers,
    pub(super) forces: Forces,
    pub(super) rigid: Rigid,
    /// Pinned or anchored unknowns, by place in the elimination order.
    pub(super) fixed: Vec<bool>,
    /// Force scale below which a state is free of stress (N), before [`Settings::zero_strain`].
    pub(super) scale: f64,
}

/// What [`Solver::rest`] makes of a body.
#[derive(Debug)]
pub struct Rest {
    elements: Elements,
    scale: f64,
}

/// Force scale of all elements together, N.
fn strength(elements: &Elements) -> f64 {
    elements.scale.iter().map(|s| s * s).sum::<f64>().sqrt()
}

/// Where the iteration stands.
pub(super) struct Stand {
    pub(super) energy: f64,
    pub(super) residual: f64,
    pub(super) step: f64,
    pub(super) iterations: usize,
    pub(super) guard: bool,
    pub(super) minimum: bool,
    pub(super) factorisations: usize,
    pub(super) fallbacks: usize,
    /// The buffers hold the exact blocks of the present state.
    pub(super) blocks: bool,
    /// How fast steps come down.
    pub(super) pace: Pace,
    /// Shift that last made an indefinite matrix positive definite, N/m.
    pub(super) shift: f64,
    /// Share of the elements' indefinite parts that had last to be taken out.
    pub(super) share: f64,
    /// First-order steps taken.
    pub(super) descents: usize,
    /// What they took off the energy.
    pub(super) gains: Gains,
    /// Residual that first-order steps aim at.
    pub(super) aim: f64,
    /// The last step was Newton's, whose size bounds the error left.
    pub(super) newton: bool,
    /// The callback asked to stop.
    pub(super) interrupted: bool,
    /// The last Newton step had to be cut so much that first-order steps do better.
    pub(super) trouble: bool,
    /// Longest step trusted, m.
    pub(super) radius: f64,
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
        let scale = strength(&elements);
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
        let mut rest = self.rest(body)?;
        self.exchange(&mut rest);
        Ok(())
    }

    /// Rest shapes, laws and loads of a body with the same connections as that analysed, to be put in by
    /// [`Self::exchange`].
    ///
    /// # Errors
    /// [`BadBody`] if it has a fault or other connections.
    pub fn rest(&self, body: &Body) -> Result<Rest, BadBody> {
        body.validate()?;
        let Some(elements) = self.elements.again(body) else {
            let fault = "its connections differ from those analysed".to_owned();
            return Err(BadBody { kind: "body", index: 0, fault });
        };
        let scale = strength(&elements);
        Ok(Rest { elements, scale })
    }

    /// Takes the rest shapes, laws and loads of `rest` and gives those at hand for them.
    pub fn exchange(&mut self, rest: &mut Rest) {
        std::mem::swap(&mut self.elements, &mut rest.elements);
        std::mem::swap(&mut self.scale, &mut rest.scale);
    }

    /// Entries of the Cholesky factor.
    pub fn fill(&self) -> usize {
        self.factor.fill()
    }

    /// Net force on every node (N): what a pin must bear, and zero elsewhere at equilibrium.
    pub fn net_forces(&mut self, x: &[[f64; D]]) -> Vec<[f64; D]> {
        self.elements.evaluate::<D>(x.as_flattened(), Want::Forces, true, &mut self.buffers);
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
        self.elements.evaluate::<D>(x.as_flattened(), Want::Exact, true, &mut self.buffers);
        let free = vec![false; n];
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &free, 1.0);
        let unknown = |u: usize| D * self.analysis.order[u / D] as usize + u % D;
        let mut dense = vec![0.0; n * n];
        let (ptr, row) = self.factor.pattern();
        for c in 0..n {
            let own = ptr[c] as usize..ptr[c + 1] as usize;
            for (r, value) in row[own.clone()].iter().zip(&self.factor.values[own]) {
                let (i, j) = (unknown(*r as usize), unknown(c));
                dense[n * i + j] = *value;
                dense[n * j + i] = *value;
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
        let fault = self.unfit(x).map(|node| (Cause::Start, node));
        let fault = fault.or_else(|| {
            falling::<D>(&self.elements, &self.pinned).map(|node| (Cause::Falls, node as usize))
        });
        if let Some((cause, worst_node)) = fault {
            let [residual, step] = [f64::INFINITY; 2];
            return Err(NotSettled { cause, iterations: 0, residual, step, worst_node });
        }
        let x = x.as_flattened_mut();
        self.hold(x);
        let mut stand = self.start(x, settings);
        loop {
            let small = stand.residual <= settings.residual && stand.step <= settings.step;
            if small && stand.newton {
                if stand.guard {
                    // A step with a shifted matrix leaves open whether the state is a minimum.
                    if stand.shift > 0.0 && settings.trust.is_finite() {
                        self.refactor(x, &mut stand);
                    }
                    return Ok(stand.outcome());
                }
                return Err(self.not_settled(Cause::Folded, &stand, x));
            }
            if stand.iterations >= settings.iterations || stand.descents >= settings.descents {
                let cause = if stand.guard { Cause::Iterations } else { Cause::Folded };
                return Err(self.not_settled(cause, &stand, x));
            }
            if progress(stand.progress()).is_break() {
                return Err(self.not_settled(Cause::Interrupted, &stand, x));
            }
            if self.advance(x, &mut stand, settings, progress).is_break() {
                let cause = if stand.interrupted { Cause::Interrupted } else { Cause::Stuck };
                return Err(self.not_settled(cause, &stand, x));
            }
        }
    }

    /// One Newton step, or, far from equilibrium in space, a run of first-order steps. Breaks where
    /// neither gets on.
    fn advance(
        &mut self,
        x: &mut [f64],
        stand: &mut Stand,
        settings: &Settings,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        if settings.trust.is_finite() {
            return self.trusted(x, stand, settings);
        }
        let far = D == 3 && stand.residual > CALM;
        let chord = !far && self.chord_pays(stand, settings);
        if far && (stand.trouble || (stand.descents > 0 && stand.residual > stand.aim)) {
            return self.descend(x, stand, settings, progress);
        }
        if !chord {
            stand.pace.lose();
            if !self.refactor(x, stand) {
                // Where a sheet is full of ripples, shifted steps creep.
                let rippled = D == 3 && stand.descents > 0 && stand.residual > settings.residual;
                if far || rippled {
                    let done = self.descend(x, stand, settings, progress);
                    if far || done.is_continue() || stand.interrupted {
                        return done;
                    }
                    self.refactor(x, stand);
                }
                self.fall_back(x, stand);
            }
        }
        let step = if chord { self.chord(x, stand) } else { self.step(x) };
        if far && longest::<D>(&step) > 0.5 * extent::<D>(x) {
            return self.descend(x, stand, settings, progress);
        }
        let want = if chord { Want::Gradient } else { Want::Exact };
        let (before, gradient) = (stand.residual, self.forces.gradient.clone());
        match self.search(x, &step, want, stand, settings) {
            Some(t) => {
                stand.iterations += 1;
                stand.trouble = t < 0.25;
                if t == 1.0 {
                    stand.pace.take(before, stand.residual, !chord);
                    stand.remember(&step, t, &gradient, &self.forces.gradient);
                } else {
                    stand.pace.lose();
                }
                ControlFlow::Continue(())
            }
            None if chord => {
                stand.pace.lose();
                ControlFlow::Continue(())
            }
            None if D == 3 && !stand.trouble => {
                stand.trouble = true;
                self.descend(x, stand, settings, progress)
            }
            None => ControlFlow::Break(()),
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
            pace: Pace::default(),
            shift: 0.0,
            share: 0.0,
            descents: 0,
            gains: Gains::default(),
            aim: f64::INFINITY,
            newton: false,
            interrupted: false,
            trouble: false,
            radius: f64::INFINITY,
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
    pub(super) fn balance(&mut self, settings: &Settings) -> [f64; 2] {
        self.forces.gather::<D>(&self.elements, &self.analysis, &self.buffers.forces, &self.pinned);
        let [net, sum] = self.forces.norms();
        [net / sum.max(settings.zero_strain * self.scale).max(f64::MIN_POSITIVE), net]
    }

    fn not_settled(&self, cause: Cause, stand: &Stand, x: &[f64]) -> NotSettled {
        let folded = if stand.guard { None } else { self.elements.folded::<D>(x) };
        let worst_node = folded.map_or_else(|| self.forces.worst(), |n| n as usize);
        NotSettled {
            cause,
            iterations: stand.iterations + stand.descents,
            residual: stand.residual,
            step: stand.step,
            worst_node,
        }
    }
}

impl Stand {
    pub(super) fn progress(&self) -> Progress {
        Progress {
            iteration: self.iterations + self.descents,
            residual: self.residual,
            step: self.step,
            energy: self.energy,
        }
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
            descents: self.descents,
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
    let mut solver = Solver::<2>::new(body).map_err(NotSettled::refused)?;
    solver.minimise(x, settings, progress)
}
