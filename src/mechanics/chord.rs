//! Steps with a factor at hand, for a fraction of what a new one costs.
//!
//! Near a minimum a Newton step leaves `C e²` of a residual `e`. Another step with the factor of a state
//! whose residual was `e0` leaves some `C e0` of what it finds (Shamanskii's method; C. T. Kelley,
//! Iterative Methods for Linear and Nonlinear Equations, 1995, ch. 5): twice that, and less as the changes of
//! force along the steps before correct it ([`Memory`]). Which of both comes next is decided by what the
//! cheapest way to the end begins with.

use super::minimise::{Solver, Stand};
use super::{Settings, memory::Memory};

/// What a Newton step costs in steps with the factor at hand, in the plane and in space: measured on sheets
/// of 10 000 to 100 000 nodes. A number, not a clock: the same steps are taken on any machine.
const FACTOR: [f64; 2] = [5.0, 8.0];

/// Share a step with the factor at hand must be expected to take off; where a tension changes sign the
/// Hessian jumps, and such steps stall.
const SLOWEST: f64 = 0.5;

/// Residual beyond which a factor is used once only: it would say nothing about whether the state that its
/// steps end in is a minimum.
const FAR: f64 = 0.1;

/// Most such steps between two Newton steps, and Newton steps looked ahead.
const RUN: u32 = 8;
const AHEAD: u32 = 2;

/// What is known of how fast steps near here come down.
#[derive(Default)]
pub(super) struct Pace {
    /// Share of the residual that one more step with the factor at hand is expected to leave.
    rate: Option<f64>,
    /// Share of the squared residual that a Newton step leaves.
    curve: f64,
    /// Steps since the factor was made, its own included.
    past: Memory,
}

impl Pace {
    /// Takes note of a whole step from the residual `before` to `after`: of Newton's, if `newton`.
    pub(super) fn take(&mut self, before: f64, after: f64, newton: bool) {
        let left = after / before;
        if newton {
            self.curve = left / before;
        }
        let near = if newton { before < FAR } else { self.rate.is_some() };
        self.rate = near.then_some(left);
    }

    /// Forgets what was known: the step was cut, or the matrix is another one.
    pub(super) fn lose(&mut self) {
        self.rate = None;
        self.past.clear();
    }

    /// True if the cheapest way from the residual `at` down to `to` begins with the factor at hand.
    fn keeps(&self, at: f64, to: f64, factor: f64) -> bool {
        let Some(rate) = self.rate.filter(|rate| *rate < SLOWEST) else { return false };
        // Rounding leaves something of any residual.
        let to = to.max(f64::MIN_POSITIVE);
        cheapest(at, to, rate, self.curve, factor, AHEAD).1 > 0
    }
}

/// Cost of the cheapest way down, and with how many steps of the factor at hand it begins.
fn cheapest(at: f64, to: f64, rate: f64, curve: f64, factor: f64, ahead: u32) -> (f64, u32) {
    let mut best = (f64::INFINITY, 0);
    let mut e = at;
    for steps in 0..=RUN {
        let spent = f64::from(steps);
        let cost = if e <= to {
            spent
        } else if ahead > 0 {
            let left = (curve * e).min(1.0);
            let next = cheapest(left * e, to, left, curve, factor, ahead - 1);
            spent + factor + next.0
        } else {
            f64::INFINITY
        };
        if cost < best.0 {
            best = (cost, steps);
        }
        if e <= to {
            break;
        }
        e *= rate;
    }
    best
}

impl<const D: usize> Solver<D> {
    /// True if the next step is best taken with the factor at hand.
    pub(super) fn chord_pays(&self, stand: &Stand, settings: &Settings) -> bool {
        let factor = FACTOR[usize::from(D == 3)];
        stand.minimum && stand.guard && stand.pace.keeps(stand.residual, settings.residual, factor)
    }

    /// The step of the factor at hand, corrected by the steps since it was made.
    pub(super) fn chord(&mut self, x: &[f64], stand: &Stand) -> Vec<f64> {
        let gradient = std::mem::take(&mut self.forces.gradient);
        let step = stand.pace.past.direction(&gradient, |q| {
            let solved = self.solve_for(x, q);
            q.copy_from_slice(&solved);
        });
        self.forces.gradient = gradient;
        step
    }
}

impl Stand {
    /// Remembers a step taken and the change of the gradient along it.
    pub(super) fn remember(&mut self, step: &[f64], t: f64, before: &[f64], after: &[f64]) {
        let change = super::memory::difference(after, before);
        self.pace.past.remember(step.iter().map(|s| t * s).collect(), change);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Far from the end the factor is kept while it takes much off, near it where one step does.
    #[test]
    fn the_cheapest_way_down_is_taken() {
        let pace = |before: f64, after: f64| {
            let mut pace = Pace::default();
            pace.take(before, after, true);
            pace
        };
        assert!(!Pace::default().keeps(1e-3, 1e-8, 5.0));
        assert!(!pace(1e-1, 5e-2).keeps(5e-2, 1e-8, 5.0), "it took too little off");
        assert!(pace(1e-2, 1e-4).keeps(1e-4, 1e-8, 5.0));
        assert!(pace(1e-5, 1e-8).keeps(1e-8, 1e-9, 5.0), "one more does");
        let mut slow = pace(1e-2, 1e-4);
        slow.take(1e-4, 9e-5, false);
        assert!(!slow.keeps(9e-5, 1e-8, 5.0), "it stalls");
        // By hand: at rate 0.1 from 1e-4 to a little over 1e-8 takes four, a Newton step and one more six.
        assert_eq!(cheapest(1e-4, 1.1e-8, 0.1, 10.0, 5.0, 2), (4.0, 4));
    }
}
