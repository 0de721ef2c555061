//! From a finished piece's own measurements to a better calibration: how wrong the prediction was, and
//! what explains it.
//!
//! The forward model is the prediction itself, laid anew for every change of what it rests on. What was
//! known before measuring (the reading of each stated gauge, the range of each preset) is the prior, as it
//! is for swatches; what the measurements leave as vague as that is reported as not measured.

mod figure;
mod fit;
mod front;
mod measured;
mod parameter;
mod tell;
#[cfg(test)]
mod tests;

use std::ops::ControlFlow;

pub use figure::Unit;
pub use measured::{MeasuredPiece, read_measured};
pub use tell::{Cause, Compared, Moved, Refinement, Size, StitchNow};

use super::CalibrationError;
use crate::predict::{Failure, Options, Reading, Step, Variants};

/// Why a finished piece refines nothing.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CannotRefine {
    /// The measurements cannot be.
    #[error("{0}")]
    Measured(#[from] CalibrationError),
    /// The piece cannot be laid.
    #[error("{0}")]
    Piece(#[from] Failure),
}

/// Fits what the prediction of a pattern rests on to the finished piece.
///
/// # Errors
/// [`CannotRefine`]: measurements of what the piece does not have, that contradict each other or that
/// were not taken in the state of the gauge; a piece that cannot be laid.
pub fn refine(
    reading: &Reading,
    options: &Options,
    measured: &MeasuredPiece,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Refinement, CannotRefine> {
    let mut trials = Variants::new(reading, options, measured.carried, progress)?;
    let wanted = figure::wanted(measured, &trials)?;
    let parameters = parameter::parameters(&trials, reading, measured);
    let fitted = fit::fit(&mut trials, parameters, &wanted)?;
    tell::tell(&trials, reading, &fitted, &wanted)
}
