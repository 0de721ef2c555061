//! Fabrics of the same connections whose rest shapes differ a little: laid from a solved one at a
//! fraction of the price, with its factorised Hessian.

use std::collections::VecDeque;
use std::ops::ControlFlow;

use nalgebra::{DMatrix, DVector, DVectorView, DVectorViewMut};

use super::Shape;
use super::laid::lay_from;
use super::{NotLaid, Settings};
use crate::fabric::Fabric;
use crate::mechanics::Rest;
use crate::mechanics::Solver;

/// Steps before the full solver takes over.
const STEPS: usize = 30;

/// Move of a node that is none, m: a thousandth of what a tape shows.
const STILL: f64 = 1e-6;

/// Earlier steps that a step is mixed from.
const MEMORY: usize = 3;

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
    /// Takes the Hessian of `fabric` at the equilibrium `at`, half way between its stiffness under pull
    /// and under squeeze: where most cells are nearly free of strain, a slightly different fabric pulls
    /// some that were squeezed, and a matrix on either side would overshoot on the other.
    ///
    /// # Errors
    /// [`NotLaid`] when the fabric is faulty or `at` is no stable equilibrium.
    pub fn new(fabric: &Fabric, at: &Shape) -> Result<Self, NotLaid> {
        let mut body = fabric.body.clone();
        for law in &mut body.membranes {
            law.squeeze = f64::midpoint(law.squeeze, 1.0);
        }
        let mut solver = Solver::<2>::new(&body).map_err(|fault| NotLaid::Body { fault })?;
        if !solver.hold_stiffness(&at.positions) {
            return Err(NotLaid::Unstable);
        }
        Ok(Self { solver, base: at.positions.clone() })
    }

    /// Lays fabrics whose sizes are about these times those of the solved one, in step with each other.
    ///
    /// Each step takes the net forces at the present positions and the Hessian of the solved fabric
    /// (Newton's method with the first matrix kept). Sizes scaled as a whole leave a membrane's Hessian
    /// as it is, so only the uneven part of the difference has to be small. Steps end where one more
    /// may be expected to move no node by more than the share `close` of the first one's longest move.
    ///
    /// # Errors
    /// [`NotLaid`] of the first that cannot be laid.
    pub fn settle(
        &mut self,
        fabrics: &[(Fabric, f64)],
        close: f64,
    ) -> Result<Vec<Settled>, NotLaid> {
        let mut walks = Vec::with_capacity(fabrics.len());
        for (fabric, scale) in fabrics {
            let rest = self.solver.rest(&fabric.body).map_err(|fault| NotLaid::Body { fault })?;
            let x = self.base.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
            walks.push(Walk {
                rest,
                x,
                mixing: Mixing::default(),
                first: f64::INFINITY,
                last: f64::INFINITY,
                rate: 1.0,
                end: None,
            });
        }
        for step in 0..STEPS {
            let mut going: Vec<&mut Walk> = walks.iter_mut().filter(|w| w.end.is_none()).collect();
            if going.is_empty() {
                break;
            }
            let pulls: Vec<Vec<[f64; 2]>> =
                going.iter_mut().map(|walk| walk.pull(&mut self.solver)).collect();
            let pulls: Vec<&[[f64; 2]]> = pulls.iter().map(Vec::as_slice).collect();
            let moves = self.solver.respond_to_all(&self.base, &pulls);
            going.iter_mut().zip(moves).for_each(|(walk, y)| walk.step(step, &y, close));
        }
        walks
            .into_iter()
            .zip(fabrics)
            .map(|(w, (fabric, scale))| self.ended(w, fabric, *scale))
            .collect()
    }

    fn ended(&self, walk: Walk, fabric: &Fabric, scale: f64) -> Result<Settled, NotLaid> {
        if let Some(End::Settled(steps)) = walk.end {
            let shape = Shape { positions: walk.x, strains: Vec::new() };
            return Ok(Settled { shape, steps, full: false });
        }
        let start = self.base.iter().map(|p| [p[0] * scale, p[1] * scale]).collect();
        let go_on = &mut |_| ControlFlow::Continue(());
        let laid = lay_from(fabric, start, &Settings::default(), go_on)?;
        let shape = Shape { positions: laid.shape.positions, strains: Vec::new() };
        Ok(Settled { shape, steps: STEPS, full: true })
    }
}

/// A fabric on its way.
struct Walk {
    rest: Rest,
    x: Vec<[f64; 2]>,
    mixing: Mixing,
    /// Longest moves of the first and the last step, m.
    first: f64,
    last: f64,
    /// Share of the step before that it was.
    rate: f64,
    end: Option<End>,
}

/// How a walk with the Hessian at hand ended.
enum End {
    /// Settled in so many steps.
    Settled(usize),
    /// The full solver is surer.
    GivenUp,
}

impl Walk {
    /// Forces that pull the nodes on.
    fn pull(&mut self, solver: &mut Solver<2>) -> Vec<[f64; 2]> {
        solver.exchange(&mut self.rest);
        let forces = solver.net_forces(&self.x);
        solver.exchange(&mut self.rest);
        forces.iter().map(|f| [-f[0], -f[1]]).collect()
    }

    fn step(&mut self, step: usize, y: &[[f64; 2]], close: f64) {
        let longest = y.iter().map(|d| d[0] * d[0] + d[1] * d[1]).fold(0.0, f64::max).sqrt();
        // Growing, or falling too slowly.
        if !longest.is_finite() || (step > 3 && longest > 2.0 * self.last) {
            self.end = Some(End::GivenUp);
            return;
        }
        // The slower of the last two rates at which steps fell is taken for the next.
        let rate = if step == 0 { 1.0 } else { (longest / self.last).min(1.0) };
        let slower = rate.max(std::mem::replace(&mut self.rate, rate));
        self.last = longest;
        if step == 0 {
            self.first = longest;
        }
        self.mixing.step(self.x.as_flattened_mut(), y.as_flattened());
        if longest * slower < (close * self.first).max(STILL) {
            self.end = Some(End::Settled(step + 1));
        }
    }
}

/// Steps mixed from the last few so that what they leave is least (D. G. Anderson, "Iterative
/// procedures for nonlinear integral equations", J. ACM 12, 1965): with a matrix that is only nearly
/// right it halves their number.
#[derive(Default)]
struct Mixing {
    /// Position and step before.
    before: Option<[DVector<f64>; 2]>,
    /// The differences since: of steps, and of where they led; the oldest first.
    earlier: VecDeque<Earlier>,
}

struct Earlier {
    step: DVector<f64>,
    led: DVector<f64>,
}

impl Mixing {
    fn step(&mut self, x: &mut [f64], y: &[f64]) {
        let (n, y) = (y.len(), DVectorView::from_slice(y, y.len()));
        let mut x = DVectorViewMut::from_slice(x, n);
        if let Some([x0, y0]) = &mut self.before {
            let mut room =
                (self.earlier.len() == MEMORY).then(|| self.earlier.pop_front()).flatten();
            let Earlier { step, led } = room
                .get_or_insert_with(|| Earlier { step: DVector::zeros(n), led: DVector::zeros(n) });
            y.sub_to(y0, step);
            x.sub_to(x0, led);
            *led += &*step;
            self.earlier.extend(room);
            x0.copy_from(&x);
            y0.copy_from(&y);
        } else {
            self.before = Some([x.clone_owned(), y.clone_owned()]);
        }
        let shares = self.shares(&y);
        x += y;
        for (share, earlier) in shares.iter().zip(&self.earlier) {
            x.axpy(-share, &earlier.led, 1.0);
        }
    }

    /// Shares of the earlier differences that leave the least of `y`.
    fn shares(&self, y: &DVectorView<'_, f64>) -> Vec<f64> {
        let n = self.earlier.len();
        let mut gram = DMatrix::zeros(n, n);
        for i in 0..n {
            for j in 0..=i {
                gram[(i, j)] = self.earlier[i].step.dot(&self.earlier[j].step);
                gram[(j, i)] = gram[(i, j)];
            }
        }
        let trace = gram.trace();
        for i in 0..n {
            gram[(i, i)] += 1e-10 * trace;
        }
        let right = DVector::from_fn(n, |i, _| self.earlier[i].step.dot(y));
        gram.cholesky().map_or_else(Vec::new, |c| c.solve(&right).iter().copied().collect())
    }
}
