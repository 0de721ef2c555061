//! Runs the stages in order; the only place that does.

mod blocking;
mod carriers;
mod cautions;
mod flat;
mod hanging;
mod makers;
mod material;
mod planned;
mod repeats;
mod rising;
mod rounds;
mod rounds_blocking;
mod rounds_hanging;
mod specimen;
mod traced;
mod variants;
mod whole;
mod wording;
mod yarn;
mod yarn_plan;
mod yarn_repeats;
mod yarn_rows;

pub use blocking::{Allowance, BlockPlan, Blocks, HeldOut, PinPoint, Trial, block};
pub use flat::{Failure, Options, Reading, Refused, Run, Step, Tables, lay, make, read, run, work};

pub use material::stitch_words as stitch_named;
pub use wording::Wording;

pub use hanging::{Corner, HangPlan, Hanging, Heavier, HungCell, HungRow, hang};
pub use makers::{Band, Figure, Makers, Sample, Sure, bands, quantile, samples};
pub use rising::{OverFed, Rising, Stand, Stands};
pub use rounds::{ClosedPiece, OnTheTable, RoundFit, heights_a_round, rounds};
pub use rounds_blocking::{RimPinPoint, RoundBlocks, RoundTrial, StandsOff, block_rounds};
pub use rounds_hanging::{HungRounds, hang_rounds};
pub use specimen::{Drape, OffAxis, Specimen, Tests, specimen};
pub use variants::{Variant, Variants, Varied};
pub use whole::{LaidRounds, in_rounds};
pub use yarn_plan::{
    Ball, BallEnd, ColourYarn, Fringe, KindYarn, Repeats, RowYarn, RunsOut, SectionYarn, Spot,
    YarnAsks, YarnPlan, yarn_plan,
};

use crate::diagnostic::Diagnostic;
use crate::measure::Measurements;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// What the designer means the piece to be.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Planned {
    /// Size along the rows.
    pub along_rows: Option<Length>,
    /// Distance between the edges, square to them.
    pub square_to_edges: Option<Length>,
    /// Length along the edges.
    pub along_edges: Option<Length>,
    /// Slant of the edges against the square to the rows; positive leans right going up.
    pub slant: Option<Angle>,
    /// Closed outline (mm) in the frame of [`Measurements::outline`], when the numbers fix one.
    pub outline: Option<Vec<[f64; 2]>>,
}

/// A number that the prediction rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Assumption {
    /// What it is, e.g. "row height of a treble".
    pub what: String,
    /// Its value with unit, e.g. "20.1 mm".
    pub value: String,
    /// Where it comes from: "stated in the pattern", a citation, or "assumed: why".
    pub source: String,
    /// True when nobody stated or measured it for this piece.
    pub assumed: bool,
}

/// How the equilibrium was reached.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Relative residual.
    pub residual: f64,
    /// Largest move of the last step, as a share of a stitch width.
    pub last_step: f64,
    /// Newton iterations.
    pub iterations: u32,
    /// Stored energy, J.
    pub energy: f64,
    /// The Hessian is positive definite at the solution.
    pub minimum: bool,
}

/// Planned beside predicted.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// Title of the pattern, or the source's name.
    pub title: String,
    /// The user's units.
    pub units: UnitSystem,
    /// State the sizes are in: "as worked", "washed" or "blocked".
    pub gauge_state: String,
    /// Faults, doubts and choices.
    pub diagnostics: Vec<Diagnostic>,
    /// The plan.
    pub planned: Planned,
    /// What the piece measures lying flat.
    pub measured: Measurements,
    /// Display colour per colour index of the piece, `[r, g, b]`, invented when not stated.
    pub palette: Vec<[u8; 3]>,
    /// Stitches in the piece.
    pub stitches: u32,
    /// Words of the pattern each stitch was read from.
    pub wording: Wording,
    /// Numbers it rests on.
    pub assumptions: Vec<Assumption>,
    /// Cautions that belong to this piece.
    pub cautions: Vec<String>,
    /// The solve.
    pub solution: Solution,
    /// How sure the figures are between makers, when asked for.
    pub sure: Option<Sure>,
    /// Where it has length to spare and how it stands on a table, where asked for and where it has any.
    pub rising: Option<Rising>,
}
