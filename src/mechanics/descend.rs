//! First-order steps for sheets far from equilibrium in space: limited-memory BFGS ([`Memory`]) around a
//! matrix factorised at the start of each run, the Hessian there without its indefinite parts.
//!
//! One matrix is its average over the axes: a small factor, as stiff out of the surface as in it, with which
//! the number of steps to the neighbourhood of an equilibrium hardly grows with the number of nodes. The other
//! is the whole of it: steps cost more, and are of use only near enough that a sheet does not turn much
//! within a run, but they see that it is soft out of its surface, where the first ones creep. Which of them
//! comes next is told by what the last run of either took off the energy for what it cost.

use super::assembly::fill_matrix;
use super::linear::Factor;
use super::memory::{Memory, difference, dot};
use super::minimise::{Progress, Solver, Stand};
use super::newton::{extent, longest};
use super::{Settings, Want};
use std::ops::ControlFlow;

/// Share of the residual that runs aim to leave before Newton is tried again.
const SHARE: f64 = 0.1;

/// Residual above which the whole matrix is of no use.
const ROUGH: f64 = 0.1;

/// Steps of the averaged matrix that come first: it levels short waves and leaves long ones, in which a sheet
/// has less energy than in the ripples that the whole matrix would lead into.
const FIRST: usize = 200;

/// Longest step with the whole matrix, as a share of the extent of the piece.
const LONG: f64 = 1.0 / 32.0;

/// The matrix that a run is made with.
#[derive(Clone, Copy, PartialEq)]
enum Matrix {
    Averaged,
    Whole,
}

impl Matrix {
    /// Most steps of a run: the whole matrix is soon out of date.
    fn steps(self) -> usize {
        match self {
            Self::Averaged => 50,
            Self::Whole => 15,
        }
    }

    /// What a run costs, in steps with the averaged matrix: measured on sheets of 10 000 to 30 000 nodes. A
    /// number, not a clock: the same steps are taken on any machine.
    fn cost(self, steps: usize) -> f64 {
        match self {
            Self::Averaged => 2.0 + steps as f64,
            Self::Whole => 16.0 + 2.0 * steps as f64,
        }
    }
}

/// What the last run with either matrix took off the energy per cost, J; infinite before the first.
pub(super) struct Gains([f64; 2]);

impl Default for Gains {
    fn default() -> Self {
        Self([f64::INFINITY; 2])
    }
}

impl Gains {
    fn better(&self, residual: f64, steps: usize) -> Matrix {
        let [averaged, whole] = self.0;
        let early = residual > ROUGH || steps < FIRST;
        if early || averaged >= whole { Matrix::Averaged } else { Matrix::Whole }
    }
}

impl<const D: usize> Solver<D> {
    /// A run: until the residual has fallen to what is aimed at, or for its most steps. Breaks if no step
    /// lowers the energy or the callback asks for it.
    pub(super) fn descend(
        &mut self,
        x: &mut [f64],
        stand: &mut Stand,
        settings: &Settings,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let matrix = stand.gains.better(stand.residual, stand.descents);
        let (energy, steps) = (stand.energy, stand.descents);
        let done = self.run_down(matrix, x, stand, settings, progress);
        let cost = matrix.cost(stand.descents - steps);
        stand.gains.0[matrix as usize] = (energy - stand.energy) / cost;
        stand.trouble = false;
        (stand.blocks, stand.newton) = (false, false);
        stand.pace.lose();
        done
    }

    fn run_down(
        &mut self,
        matrix: Matrix,
        x: &mut [f64],
        stand: &mut Stand,
        settings: &Settings,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let mut averaged = self.softened(matrix, x);
        stand.factorisations += 1;
        // Every aim lies deeper than the one before: residuals jump where a sheet flips over, and a
        // run that starts on such a peak must not end on its foot.
        if stand.residual <= stand.aim {
            stand.aim = SHARE * stand.residual;
        }
        let bound = if averaged.is_some() { f64::INFINITY } else { LONG * extent::<D>(x) };
        let mut past = Memory::default();
        self.elements.evaluate::<D>(x, Want::Gradient, stand.guard, &mut self.buffers);
        self.balance(settings);
        for _ in 0..matrix.steps() {
            let gradient = self.forces.gradient.clone();
            let mut step = past.direction(&gradient, |q| match &mut averaged {
                Some(factor) => self.solve_alike(factor, q),
                None => q.copy_from_slice(&self.solve_for(x, q)),
            });
            let part = (bound / longest::<D>(&step)).min(1.0);
            step.iter_mut().for_each(|s| *s *= part);
            let old = x.to_vec();
            if !self.walk(x, &step, stand, settings) {
                if past.is_empty() {
                    return ControlFlow::Break(());
                }
                past.clear();
                continue;
            }
            stand.descents += 1;
            if progress(stand.progress()).is_break() {
                stand.interrupted = true;
                return ControlFlow::Break(());
            }
            if stand.residual <= stand.aim || stand.descents >= settings.descents {
                break;
            }
            past.remember(difference(x, &old), difference(&self.forces.gradient, &gradient));
        }
        ControlFlow::Continue(())
    }

    /// The matrix of a run, factorised: the averaged one is handed out, the whole one takes the place of the
    /// factor at hand.
    fn softened(&mut self, matrix: Matrix, x: &[f64]) -> Option<Factor> {
        let whole = matrix == Matrix::Whole && self.hold_stiffness(x.as_chunks::<D>().0);
        (!whole).then(|| self.smooth(x))
    }

    /// The averaged matrix, factorised. Its shift keeps it regular where nothing is pinned.
    fn smooth(&mut self, x: &[f64]) -> Factor {
        self.elements.evaluate::<D>(x, Want::Clamped, false, &mut self.buffers);
        let trace = |b: &[f64]| (0..D).map(|d| b[(D + 1) * d]).sum::<f64>() / D as f64;
        let blocks: Vec<f64> = self.buffers.blocks.chunks_exact(D * D).map(trace).collect();
        let (ptr, row) = self.analysis.pattern::<1>();
        let mut factor = Factor::new(ptr, row);
        let held: Vec<bool> = self.fixed.chunks_exact(D).map(|f| f.iter().all(|f| *f)).collect();
        let unit = self.unit();
        let mut shift = 1e-9 * unit;
        loop {
            fill_matrix::<1>(&self.analysis, &blocks, &mut factor, &held, unit);
            factor.shift(shift);
            if factor.factorise().is_ok() || shift > unit {
                return factor;
            }
            shift *= 100.0;
        }
    }

    /// Solves with the averaged matrix for all axes at once, in place.
    fn solve_alike(&self, averaged: &mut Factor, q: &mut [f64]) {
        let (order, n) = (&self.analysis.order, self.analysis.order.len());
        let mut axes = vec![0.0; q.len()];
        for (at, node) in order.iter().enumerate() {
            for d in (0..D).filter(|d| !self.fixed[D * at + d]) {
                axes[n * d + at] = q[D * *node as usize + d];
            }
        }
        averaged.solve_many(&mut axes, D);
        for (at, node) in order.iter().enumerate() {
            for d in 0..D {
                let free = !self.fixed[D * at + d];
                q[D * *node as usize + d] = if free { axes[n * d + at] } else { 0.0 };
            }
        }
    }

    /// Armijo's rule along a first-order step; leaves the new forces.
    fn walk(
        &mut self,
        x: &mut [f64],
        step: &[f64],
        stand: &mut Stand,
        settings: &Settings,
    ) -> bool {
        let slope = dot(&self.forces.gradient, step);
        if slope.is_nan() || slope >= 0.0 {
            return false;
        }
        let old = x.to_vec();
        let mut t = self.elements.reach(longest::<D>(step));
        for _ in 0..=settings.halvings {
            x.iter_mut().zip(&old).zip(step).for_each(|((x, old), s)| *x = old + t * s);
            let energy =
                self.elements.evaluate::<D>(x, Want::Gradient, stand.guard, &mut self.buffers);
            if energy <= stand.energy + settings.descent * t * slope {
                stand.residual = self.balance(settings)[0];
                (stand.energy, stand.step) = (energy, longest::<D>(step));
                return true;
            }
            t *= 0.5;
        }
        x.copy_from_slice(&old);
        self.elements.evaluate::<D>(x, Want::Gradient, stand.guard, &mut self.buffers);
        self.balance(settings);
        false
    }
}
