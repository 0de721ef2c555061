//! First-order steps for sheets far from equilibrium in space: limited-memory BFGS ([`Memory`])
//! with a prefactored matrix that treats the axes alike.
//!
//! That matrix is the positive part of the Hessian at the start of the run, averaged over the axes:
//! one small factor, as stiff out of the surface as in it, with which the number of steps hardly grows
//! with the number of nodes.

use super::assembly::fill_matrix;
use super::linear::Factor;
use super::memory::{Memory, difference, dot};
use super::minimise::{CALM, Progress, Solver, Stand};
use super::newton::longest;
use super::{Settings, Want};
use std::ops::ControlFlow;

/// Most steps of one run; a run that has not come down by then is better judged anew.
const RUN: usize = 1000;
/// Share of the residual a run leaves before Newton is tried again.
const SHARE: f64 = 0.1;

impl<const D: usize> Solver<D> {
    /// Runs until the residual has fallen to [`SHARE`] of the least a run has reached so far; breaks if no step lowers the energy or the
    /// callback asks for it.
    pub(super) fn descend(
        &mut self,
        x: &mut [f64],
        stand: &mut Stand,
        settings: &Settings,
        progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
    ) -> ControlFlow<()> {
        let mut smooth = self.smooth(x);
        stand.factorisations += 1;
        // Every run goes deeper than the one before: residuals jump where a sheet flips over, and a
        // run that starts on such a peak must not end on its foot.
        let target = SHARE * stand.residual.min(stand.deepest);
        stand.deepest = target.max(CALM);
        let mut past = Memory::default();
        self.elements.evaluate::<D>(x, Want::Gradient, stand.guard, &mut self.buffers);
        self.balance(settings);
        for _ in 0..RUN {
            let gradient = self.forces.gradient.clone();
            let step = self.direction(&mut smooth, &gradient, &past);
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
            if stand.residual <= target || stand.descents >= settings.descents {
                break;
            }
            past.remember(difference(x, &old), difference(&self.forces.gradient, &gradient));
        }
        stand.trouble = false;
        stand.blocks = false;
        stand.pace.lose();
        ControlFlow::Continue(())
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

    /// The step the memory gives around a solve with the averaged matrix, all axes at once.
    fn direction(&self, smooth: &mut Factor, gradient: &[f64], past: &Memory) -> Vec<f64> {
        let (order, n) = (&self.analysis.order, self.analysis.order.len());
        past.direction(gradient, |q| {
            let mut axes = vec![0.0; q.len()];
            for (at, node) in order.iter().enumerate() {
                for d in (0..D).filter(|d| !self.fixed[D * at + d]) {
                    axes[n * d + at] = q[D * *node as usize + d];
                }
            }
            smooth.solve_many(&mut axes, D);
            for (at, node) in order.iter().enumerate() {
                for d in 0..D {
                    let free = !self.fixed[D * at + d];
                    q[D * *node as usize + d] = if free { axes[n * d + at] } else { 0.0 };
                }
            }
        })
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
