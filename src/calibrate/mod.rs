//! From measured swatches to a calibration: sizes, yarn and stiffness of a maker's own stitches, each
//! with its uncertainty.
//!
//! [`refine`] does the same with a finished piece.
//!
//! Least squares on the material model by Levenberg and Marquardt's method. Every parameter starts from
//! its preset, known as well as the preset's range says; what the measurements leave as vague as that
//! is reported as not measured, never as a result.

mod error;
mod figures;
mod fit;
mod model;
mod read;
mod refine;
mod suggest;
mod swatch;
#[cfg(test)]
mod tests;

pub use error::CalibrationError;
pub use fit::{Calibration, Estimate, calibrate};
pub use model::rigidity_from_overhang;
pub use read::read_swatches;
pub use refine::{
    CannotRefine, Cause, Compared, MeasuredPiece, Moved, Refinement, Size, StitchNow, Unit,
    read_measured, refine,
};
pub use suggest::Suggestion;
pub use swatch::{Counting, Hung, Reading, Swatch, SwatchFile};
