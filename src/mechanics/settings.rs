//! Numerical knobs and what is said when they are not met. None of them may change an answer beyond
//! the tolerance it states.

use super::BadBody;
use std::fmt;

/// Knobs of [`super::Solver::minimise`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Largest residual: the 2-norm of the net forces over the 2-norm of each node's sum of absolute
    /// element forces. 1e-8 leaves positions right to about a micrometre on a blanket.
    pub residual: f64,
    /// Largest last step of any node, m. A small residual alone does not bound the error of soft
    /// modes; a last Newton step does. The default is a few ten-thousandths of a stitch.
    pub step: f64,
    /// Most Newton steps. Ordinary pieces take 5 to 15, badly compressed ones 40.
    pub iterations: usize,
    /// Most first-order steps in all, far from equilibrium in space: a sheet of any size let go from
    /// level takes some hundreds, one that folds over a point a few thousand.
    pub descents: usize,
    /// Longest step of a node (m) that the matrix is trusted for: longer ones are held back by shifting its
    /// diagonal, and no first-order steps are taken. For thin sheets near their plane that touch a support
    /// here and leave it there. Infinite: no bound.
    pub trust: f64,
    /// Share of the predicted fall in energy a step must reach (Armijo's constant).
    pub descent: f64,
    /// Most halvings of a step before the search is given up.
    pub halvings: usize,
    /// Mean strain times [`Settings::residual`] below which forces count as zero: a state free of
    /// stress has nothing but rounding to compare its rounding with.
    pub zero_strain: f64,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            residual: 1e-8,
            step: 1e-6,
            iterations: 200,
            descents: 10_000,
            trust: f64::INFINITY,
            descent: 1e-4,
            halvings: 40,
            zero_strain: 1e-4,
        }
    }
}

/// Why no equilibrium was reached.
#[derive(Debug, Clone, PartialEq)]
pub enum Cause {
    /// The body cannot be solved for at all.
    Bad(BadBody),
    /// The start does not fit: wrong number of nodes, or not finite.
    Start,
    /// Nothing holds a loaded piece: it falls.
    Falls,
    /// [`Settings::iterations`] were used up.
    Iterations,
    /// No step lowered the energy any more.
    Stuck,
    /// A cell stays folded over.
    Folded,
    /// The progress callback asked for it.
    Interrupted,
}

/// The solve ended without an equilibrium; positions are those reached so far.
#[derive(Debug, Clone, PartialEq)]
pub struct NotSettled {
    /// Why.
    pub cause: Cause,
    /// Steps taken, first-order ones included.
    pub iterations: usize,
    /// Residual reached, see [`Settings::residual`].
    pub residual: f64,
    /// Last step, m.
    pub step: f64,
    /// The node with the largest net force, or of the folded cell.
    pub worst_node: usize,
}

impl NotSettled {
    /// The body was refused before any step.
    pub fn refused(bad: BadBody) -> Self {
        Self {
            worst_node: bad.index,
            cause: Cause::Bad(bad),
            iterations: 0,
            residual: f64::INFINITY,
            step: f64::INFINITY,
        }
    }
}

impl fmt::Display for NotSettled {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let why = match &self.cause {
            Cause::Bad(bad) => return bad.fmt(f),
            Cause::Start => {
                return write!(
                    f,
                    "did not settle: the start holds a position that is missing or not finite (node {})",
                    self.worst_node
                );
            }
            Cause::Falls => {
                return write!(
                    f,
                    "did not settle: nothing holds the piece of node {} against its load, it falls",
                    self.worst_node
                );
            }
            Cause::Iterations => "the allowed steps were used up",
            Cause::Stuck => "no step lowers the energy any more",
            Cause::Folded => "a cell stays folded over",
            Cause::Interrupted => {
                return write!(
                    f,
                    "interrupted after {} steps, before it settled (unbalanced force {:.1e} of all forces)",
                    self.iterations, self.residual
                );
            }
        };
        write!(
            f,
            "did not settle: {why} after {} steps (residual {:.1e}, last step {:.1e} m), worst at node {}",
            self.iterations, self.residual, self.step, self.worst_node
        )
    }
}

impl std::error::Error for NotSettled {}
