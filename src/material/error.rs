//! Why a gauge, a yarn or a preset cannot be used.

use crate::units::Length;

/// A number that no piece can be made from; says what was read and what would fit.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum MaterialError {
    /// A count or length that is zero, negative or not a number.
    #[error("gauge of {count} {what} over {over} cannot be worked: expected both above zero")]
    ImpossibleGauge {
        /// "stitches" or "rows".
        what: &'static str,
        /// The count read.
        count: f64,
        /// The length read.
        over: Length,
    },
    /// Two gauges for the same stitch that disagree beyond what a tape measure allows.
    #[error(
        "two gauges disagree on the {what} of {of}: {first} and {second}; expected both within \
         {percent:.0} % of each other; keep the one for this piece"
    )]
    ConflictingGauges {
        /// "width" or "height".
        what: &'static str,
        /// The stitch.
        of: String,
        /// The first size read.
        first: Length,
        /// The second size read.
        second: Length,
        /// Allowed difference, per cent.
        percent: f64,
    },
    /// A knit stitch narrower than four yarn diameters, where loops jam (Peirce 1947).
    #[error(
        "gauge gives knit stitches {width:.2} mm wide, but yarn of {tex:.0} tex is at least \
         {diameter:.2} mm thick, and loops jam at four times that, {least:.2} mm; expected a wider \
         stitch or a finer yarn",
        width = .width.to_mm(), diameter = .diameter.to_mm(), least = .diameter.to_mm() * 4.0
    )]
    StitchNarrowerThanYarn {
        /// Stitch width by the gauge.
        width: Length,
        /// Least diameter of the yarn.
        diameter: Length,
        /// The yarn's count.
        tex: f64,
    },
    /// Rows of stockinette lower than 3.364 yarn diameters, where loops jam (Peirce 1947).
    #[error(
        "gauge gives rows of stockinette {height:.2} mm high, but yarn of {tex:.0} tex is at least \
         {diameter:.2} mm thick, and loops jam at 3.364 times that, {least:.2} mm; expected taller rows or a \
         finer yarn",
        height = .height.to_mm(), diameter = .diameter.to_mm(), least = .diameter.to_mm() * 3.364
    )]
    RowLowerThanYarn {
        /// Row height by the gauge.
        height: Length,
        /// Least diameter of the yarn.
        diameter: Length,
        /// The yarn's count.
        tex: f64,
    },
    /// A gauge over a pattern whose swatch rows hold no stitch that has a size.
    #[error("gauge over the pattern has no stitches to share it out: expected at least one row")]
    EmptySwatch,
    /// A preset that does not exist.
    #[error("no preset is called `{key}`; nearest is `{nearest}`")]
    UnknownPreset {
        /// The name read.
        key: String,
        /// A name that exists.
        nearest: String,
    },
    /// A replaced preset whose value is no number or has the wrong sign.
    #[error(
        "preset `{key}` was set to {value}; expected {expected}, usual range {least} to {most} {unit}"
    )]
    ImpossiblePreset {
        /// The preset.
        key: String,
        /// The value read.
        value: f64,
        /// What kind of number fits.
        expected: &'static str,
        /// Low end of the usual range.
        least: f64,
        /// High end of the usual range.
        most: f64,
        /// Its unit.
        unit: String,
    },
    /// A yarn count that is zero, negative or not a number.
    #[error("yarn of {tex} tex cannot be: expected a mass above zero for each kilometre")]
    ImpossibleYarn {
        /// The count read, g/km.
        tex: f64,
    },
}
