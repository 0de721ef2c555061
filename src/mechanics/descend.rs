//! First-order steps for sheets far from equilibrium in space: limited-memory BFGS (Nocedal, Math.
//! Comp. 35 (1980) 773) with a prefactored matrix that treats the axes alike.
//!
//! That matrix is the positive part of the Hessian at the start of the run, averaged over the axes:
//! one small factor, as stiff out of the surface as in it, with which the number of steps hardly grows
//! with the number of nodes.

use super::assembly::fill_matrix;
use super::linear::Factor;
use super::minimise::{CALM, Progress, Solver, Stand};
use super::newton::longest;
use super::{Settings, Want};
use std::collections::VecDeque;
use std::ops::ControlFlow;

/// Pairs of steps and force changes remembered.
const MEMORY: usize = 8;
/// Most steps of one run; a run that has not come down by then is better judged anew.
const RUN: usize = 1000;
/// Share of the residual a run leaves before Newton is tried again.
const SHARE: f64 = 0.1;

struct Pair {
    step: Vec<f64>,
    change: Vec<f64>,
    product: f64,
}

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
        let mut past = VecDeque::<Pair>::new();
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
            remember(&mut past, difference(x, &old), difference(&self.forces.gradient, &gradient));
        }
        stand.trouble = false;
        stand.blocks = false;
        stand.shrink = f64::INFINITY;
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

    /// Two-loop recursion around a solve with the averaged matrix, axis by axis.
    fn direction(&self, smooth: &mut Factor, gradient: &[f64], past: &VecDeque<Pair>) -> Vec<f64> {
        let mut q: Vec<f64> = gradient.iter().map(|g| -g).collect();
        let mut shares = Vec::with_capacity(past.len());
        for p in past.iter().rev() {
            let a = dot(&p.step, &q) / p.product;
            q.iter_mut().zip(&p.change).for_each(|(q, y)| *q -= a * y);
            shares.push(a);
        }
        let mut one = vec![0.0; self.analysis.order.len()];
        for d in 0..D {
            for (at, node) in self.analysis.order.iter().enumerate() {
                one[at] = if self.fixed[D * at + d] { 0.0 } else { q[D * *node as usize + d] };
            }
            smooth.solve(&mut one);
            for (at, node) in self.analysis.order.iter().enumerate() {
                q[D * *node as usize + d] = if self.fixed[D * at + d] { 0.0 } else { one[at] };
            }
        }
        for (p, a) in past.iter().zip(shares.iter().rev()) {
            let b = dot(&p.change, &q) / p.product;
            q.iter_mut().zip(&p.step).for_each(|(q, s)| *q += (a - b) * s);
        }
        q
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

/// Keeps a pair if it shows the energy curving upward.
fn remember(past: &mut VecDeque<Pair>, step: Vec<f64>, change: Vec<f64>) {
    let product = dot(&step, &change);
    if product > 1e-12 * (dot(&step, &step) * dot(&change, &change)).sqrt() {
        if past.len() == MEMORY {
            past.pop_front();
        }
        past.push_back(Pair { step, change, product });
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn difference(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}
