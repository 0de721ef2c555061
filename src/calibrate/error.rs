//! Why measured swatches give no calibration.

use crate::material::MaterialError;

/// What was read, and what would fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CalibrationError {
    /// The file is no list of swatches.
    #[error("{0}")]
    File(String),
    /// A count or measure that cannot be.
    #[error("swatch `{swatch}`: {what} is {found}; expected {expected}")]
    Impossible {
        /// The swatch.
        swatch: String,
        /// What was read.
        what: String,
        /// Its value.
        found: String,
        /// What would fit.
        expected: &'static str,
    },
    /// A figure of a finished piece that cannot be.
    #[error("measured {what} is {found}; expected {expected}")]
    Measured {
        /// The figure.
        what: String,
        /// What was read.
        found: String,
        /// What would fit.
        expected: String,
    },
    /// Two measurements that no stitch fits.
    #[error(
        "{first} and {second} contradict each other: no stitch fits both, one is {off:.0} times its \
         reading error away; measure both again, or leave out the one that is not for this piece"
    )]
    Conflict {
        /// The measurement farthest off, and its swatch.
        first: String,
        /// The one it pulls against.
        second: String,
        /// Residual over reading error.
        off: f64,
    },
    /// A swatch whose sizes cannot be worked.
    #[error("swatch `{swatch}`: {fault}")]
    Swatch {
        /// The swatch.
        swatch: String,
        /// What is wrong with it.
        fault: MaterialError,
    },
    /// The sizes cannot be worked.
    #[error("{0}")]
    Material(#[from] MaterialError),
    /// The least squares did not converge.
    #[error("the least squares did not settle: {0}; a measurement is far from any stitch")]
    NotSettled(String),
}
