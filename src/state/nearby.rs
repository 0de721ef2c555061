//! Fabrics of the same connections whose rest shapes differ a little: laid from a solved one at a
//! fraction of the price, with its factorised Hessian.

use std::ops::ControlFlow;

use super::Shape;
use super::laid::lay_from;
use super::{NotLaid, Settings};
use crate::fabric::Fabric;
use crate::mechanics::Solver;

/// Steps before the full solver takes over.
const STEPS: usize = 12;

/// Longest last step, m: a tenth of what a tape shows, and small against what one maker's hand moves.
const CLOSE: f64 = 5e-5;

/// Steps longer than this, m, are cut down: the Hessian at hand no longer speaks for them.
const LONGEST: f64 = 0.02;

/// A solved fabric with its Hessian at hand.
pub struct Nearby {
    solver: Solver<2>,
    base: Vec<[f64; 2]>,
}

/// How a nearby fabric lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Settled {
    /// Positions; strains are left out.
    pub shape: Shape,
    /// Steps with the Hessian at hand.
    pub steps: usize,
    /// The full solver had to finish.
    pub full: bool,
}

impl Nearby {
    /// Takes the Hessian of `fabric` at the equilibrium `at`.
    ///
    /// # Errors
    /// [`NotLaid`] when the fabric is faulty or `at` is no stable equilibrium.
    pub fn new(fabric: &Fabric, at: &Shape) -> Result<Self, NotLaid> {
        let mut solver = Solver::<2>::new(&fabric.body).map_err(|fault| NotLaid::Body { fault })?;
        if !solver.hold_tangent(&at.positions) {
            return Err(NotLaid::Unstable);
        }
        Ok(Self { solver, base: at.positions.clone() })
    }

    /// Lays `fabric`, whose sizes are about `scale` times those of the solved one.
    ///
    /// Each step takes the net forces at the present positions and the Hessian of the solved fabric
    /// (Newton's method with the first matrix kept). Sizes scaled as a whole leave a membrane's Hessian
    /// as it is, so only the uneven part of the difference has to be small.
    ///
    /// # Errors
    /// [`NotLaid`].
    pub fn settle(&mut self, fabric: &Fabric, scale: f64) -> Result<Settled, NotLaid> {
        self.solver.set_rest(&fabric.body).map_err(|fault| NotLaid::Body { fault })?;
        let mut x: Vec<[f64; 2]> = self.base.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
        let mut last = f64::INFINITY;
        for step in 0..STEPS {
            let pull: Vec<[f64; 2]> =
                self.solver.net_forces(&x).iter().map(|f| [-f[0], -f[1]]).collect();
            let y = self.solver.respond(&self.base, &pull);
            let longest = y.iter().map(|d| d[0].hypot(d[1])).fold(0.0, f64::max);
            // Falling too slowly, or no longer: the full solver is surer.
            if !longest.is_finite() || (step > 2 && longest > 0.8 * last) {
                break;
            }
            let share = (LONGEST / longest).min(1.0);
            for (x, d) in x.iter_mut().zip(&y) {
                *x = [x[0] + share * d[0], x[1] + share * d[1]];
            }
            last = longest;
            if longest < CLOSE {
                let shape = Shape { positions: x, strains: Vec::new() };
                return Ok(Settled { shape, steps: step + 1, full: false });
            }
        }
        let start = self.base.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
        let go_on = &mut |_| ControlFlow::Continue(());
        let laid = lay_from(fabric, start, &Settings::default(), go_on)?;
        let shape = Shape { positions: laid.shape.positions, strains: Vec::new() };
        Ok(Settled { shape, steps: STEPS, full: true })
    }
}
