//! A Newton step: matrix, factor, solve, line search.

use super::assembly::fill_matrix;
use super::minimise::{Solver, Stand};
use super::{Settings, Want};
use std::ops::ControlFlow;

/// Least share of the elements' indefinite parts taken out where the exact Hessian is not positive
/// definite, and the factor by which the share grows from one try to the next. Taking all of them out
/// converges only linearly near a saddle or along a soft mode.
const SHARE: f64 = 1.0 / 64.0;
const GROW: f64 = 4.0;

/// Least shift of the diagonal, as a share of its mean entry, and what a whole step leaves of it.
const LEAST: f64 = 1e-9;
const EASE: f64 = 0.2;

/// Share of the mean diagonal entry up to which a shift that leaves the matrix indefinite is raised by leaps.
const FAR: f64 = 1e-3;
const LEAP: f64 = 32.0;

impl<const D: usize> Solver<D> {
    /// Factorises the exact Hessian at `x`; false if it is not positive definite.
    pub(super) fn refactor(&mut self, x: &[f64], stand: &mut Stand) -> bool {
        if !stand.blocks {
            self.elements.evaluate::<D>(x, Want::Exact, stand.guard, &mut self.buffers);
            stand.blocks = true;
        }
        self.form();
        stand.factorisations += 1;
        stand.minimum = self.factor.factorise().is_ok();
        stand.minimum
    }

    /// Factorises a matrix near the exact one that is positive definite. In the plane the indefinite
    /// parts of the elements are taken out by as small a share as helps, which keeps the step long where
    /// stitches are squeezed and leaves the other elements as they are; in space, where most of the
    /// stiffness out of the surface is such a part, the diagonal is shifted by as little as helps.
    pub(super) fn fall_back(&mut self, x: &[f64], stand: &mut Stand) {
        stand.fallbacks += 1;
        if D == 2 && self.blend(x, stand) {
            return;
        }
        let unit = self.unit();
        let mut shift = (0.1 * stand.shift).max(1e-7 * unit);
        loop {
            self.form();
            self.factor.shift(shift);
            stand.factorisations += 1;
            if self.factor.factorise().is_ok() || shift > 10.0 * self.largest() {
                break;
            }
            shift = (10.0 * shift).max(1e-10 * unit);
        }
        stand.shift = shift;
    }

    /// A Newton step no longer than the matrix is trusted for; breaks where none lowers the energy.
    ///
    /// The diagonal is shifted until the matrix is positive definite and its step short enough (Levenberg's
    /// damping; J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed. 2006, ch. 4). The trusted length
    /// follows what the line search takes of the steps.
    pub(super) fn trusted(
        &mut self,
        x: &mut [f64],
        stand: &mut Stand,
        settings: &Settings,
    ) -> ControlFlow<()> {
        let (unit, most) = (self.unit(), 10.0 * self.largest());
        let radius = stand.radius.min(settings.trust);
        let short = |step: &[f64]| longest::<D>(step) <= radius;
        let mut step = self.shifted(x, stand);
        while !short(&step) && stand.shift < most {
            let far = step[0].is_infinite() && stand.shift < FAR * unit;
            stand.shift = (if far { LEAP } else { GROW } * stand.shift).max(LEAST * unit);
            step = self.shifted(x, stand);
        }
        let long = longest::<D>(&step);
        match self.search(x, &step, Want::Exact, stand, settings) {
            Some(t) => {
                stand.iterations += 1;
                stand.radius = if t < 1.0 { t * long } else { radius.max(2.0 * long) };
                if t == 1.0 {
                    stand.shift *= EASE;
                }
                if stand.shift < LEAST * unit {
                    stand.shift = 0.0;
                }
                ControlFlow::Continue(())
            }
            // With the largest shift, shorter steps are not to be had.
            None if long > settings.step && stand.shift < most => {
                stand.radius = 0.1 * long;
                ControlFlow::Continue(())
            }
            None => ControlFlow::Break(()),
        }
    }

    /// The step of the exact Hessian with its diagonal shifted as it stands; infinite where that is not
    /// positive definite.
    fn shifted(&mut self, x: &[f64], stand: &mut Stand) -> Vec<f64> {
        self.form();
        if stand.shift > 0.0 {
            self.factor.shift(stand.shift);
        }
        stand.factorisations += 1;
        let sound = self.factor.factorise().is_ok();
        stand.minimum = sound && stand.shift == 0.0;
        if sound { self.step(x) } else { vec![f64::INFINITY; x.len()] }
    }

    /// Takes the elements' indefinite parts out by the least share that makes the matrix positive
    /// definite. Leaves the blocks without them and returns false where even that does not.
    fn blend(&mut self, x: &[f64], stand: &mut Stand) -> bool {
        let exact = std::mem::take(&mut self.buffers.blocks);
        self.elements.evaluate::<D>(x, Want::Clamped, stand.guard, &mut self.buffers);
        stand.blocks = false;
        let clamped = self.buffers.blocks.clone();
        let mut share = (stand.share / GROW).max(SHARE);
        loop {
            let mix = |(c, e): (&f64, &f64)| e + share.min(1.0) * (c - e);
            self.buffers.blocks.clear();
            self.buffers.blocks.extend(clamped.iter().zip(&exact).map(mix));
            self.form();
            stand.factorisations += 1;
            let done = self.factor.factorise().is_ok();
            if done || share >= 1.0 {
                stand.share = share.min(1.0);
                return done;
            }
            share *= GROW;
        }
    }

    fn form(&mut self) {
        let unit = self.unit();
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &self.fixed, unit);
    }

    /// The step the present factor gives against the present forces.
    pub(super) fn step(&mut self, x: &[f64]) -> Vec<f64> {
        let pull: Vec<f64> = self.forces.gradient.iter().map(|g| -g).collect();
        self.solve_for(x, &pull)
    }

    /// The move that the present factor gives under net forces `pull`, both flat in node order.
    pub(super) fn solve_for(&mut self, x: &[f64], pull: &[f64]) -> Vec<f64> {
        let mut rhs = vec![0.0; x.len()];
        for (at, node) in self.analysis.order.iter().enumerate() {
            for d in 0..D {
                if !self.fixed[D * at + d] {
                    rhs[D * at + d] = pull[D * *node as usize + d];
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
    pub(super) fn unit(&self) -> f64 {
        let blocks = &self.buffers.blocks;
        let sum: f64 = blocks.iter().step_by(D * D).map(|b| b.abs()).sum();
        (sum * (D * D) as f64 / blocks.len().max(1) as f64).max(f64::MIN_POSITIVE)
    }

    /// Largest diagonal entry of the matrix: a cell that comes to a point may be far stiffer than the rest.
    fn largest(&self) -> f64 {
        let diagonal = |b: &[f64]| (0..D).map(|d| b[(D + 1) * d].abs()).fold(0.0, f64::max);
        let blocks = self.buffers.blocks.chunks_exact(D * D);
        blocks.map(diagonal).fold(0.0, f64::max).max(self.unit())
    }

    /// Halves the step until the energy falls enough (Armijo), or, where the fall drowns in rounding,
    /// until the net forces do. Leaves forces, and blocks if wanted, of the new state in the buffers;
    /// returns the share of the step taken.
    pub(super) fn search(
        &mut self,
        x: &mut [f64],
        step: &[f64],
        want: Want,
        stand: &mut Stand,
        settings: &Settings,
    ) -> Option<f64> {
        let slope: f64 = self.forces.gradient.iter().zip(step).map(|(g, s)| g * s).sum();
        let net = self.forces.norms()[0];
        let longest = longest::<D>(step);
        if !slope.is_finite() || !longest.is_finite() || slope > 0.0 {
            return None;
        }
        let old = x.to_vec();
        let settled = stand.residual <= settings.residual;
        let mut t = self.elements.reach(longest);
        for _ in 0..=settings.halvings {
            x.iter_mut().zip(&old).zip(step).for_each(|((x, old), s)| *x = old + t * s);
            let energy = self.elements.evaluate::<D>(x, want, stand.guard, &mut self.buffers);
            if !energy.is_finite() {
                t *= 0.5;
                continue;
            }
            let noise = 1e-11 * stand.energy.abs().max(energy.abs());
            let falls = energy <= stand.energy + settings.descent * t * slope;
            if falls || (-slope * t <= noise && energy <= stand.energy + noise) {
                let [residual, now] = self.balance(settings);
                if falls || now < net || (settled && residual <= settings.residual) {
                    // A cut step says nothing about the distance left: the whole one is kept.
                    (stand.energy, stand.residual, stand.step) = (energy, residual, longest);
                    stand.newton = true;
                    stand.blocks = want == Want::Exact;
                    self.watch_folds(x, stand, settings);
                    return Some(t);
                }
            }
            t *= 0.5;
        }
        x.copy_from_slice(&old);
        stand.blocks = true;
        self.elements.evaluate::<D>(x, Want::Exact, stand.guard, &mut self.buffers);
        self.balance(settings);
        None
    }

    /// Once no cell is folded over, none may fold again: from then on jammed cells resist.
    fn watch_folds(&mut self, x: &[f64], stand: &mut Stand, settings: &Settings) {
        if stand.guard || self.elements.folded::<D>(x).is_some() {
            return;
        }
        stand.guard = true;
        stand.energy = self.elements.evaluate::<D>(x, Want::Exact, true, &mut self.buffers);
        stand.residual = self.balance(settings)[0];
        stand.blocks = true;
    }
}

/// Largest displacement of a node, m.
pub(super) fn longest<const D: usize>(step: &[f64]) -> f64 {
    let square = |s: &[f64]| s.iter().map(|s| s * s).sum::<f64>();
    step.chunks_exact(D).map(square).fold(0.0, f64::max).sqrt()
}

/// Diagonal of the box around all nodes, m.
pub(super) fn extent<const D: usize>(x: &[f64]) -> f64 {
    let side = |d: usize| {
        let along = x.iter().skip(d).step_by(D);
        let (low, high) =
            along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(*x), h.max(*x)));
        high - low
    };
    (0..D).map(|d| side(d).powi(2)).sum::<f64>().sqrt()
}
