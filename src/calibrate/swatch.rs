//! A swatch as measured.

use crate::material::Worked;
use crate::stitches::Craft;
use crate::units::{Angle, Length, Mass};

/// A swatch stretched by a weight clipped along its lower edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hung {
    /// The weight.
    pub mass: Mass,
    /// Length of the swatch with the weight on, square to the clipped edge.
    pub length: Length,
    /// Hung with the rows upright, so that the pull runs along them.
    pub along_rows: bool,
    /// Length after it had hung for so many hours.
    pub later: Option<(Length, f64)>,
}

/// Strip pushed over the edge of a table until its tip hangs at an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reading {
    /// Length over the edge.
    pub overhang: Length,
    /// Angle of the line from the edge to the tip below the level.
    pub angle: Angle,
    /// The rows run out over the edge.
    pub along_rows: bool,
}

/// How the stitches of a swatch were counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counting {
    /// One by one, over a swatch measured with a tape.
    Each,
    /// By repeats of the pattern.
    Repeats,
    /// Not at all: a gauge line, read to half a stitch.
    Line,
}

/// One swatch; what is `None` was not measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Swatch {
    /// What the maker calls it.
    pub name: String,
    /// Stitches of its rows, one a row, over and over from the first.
    pub rows_in: Vec<Worked>,
    /// Stitches in a row.
    pub stitches: Option<f64>,
    /// Rows.
    pub rows: Option<f64>,
    /// Over so many stitches.
    pub width: Option<Length>,
    /// Over so many rows.
    pub height: Option<Length>,
    /// Weight of all of it.
    pub grams: Option<Mass>,
    /// Yarn unravelled from all of it.
    pub unravelled: Option<Length>,
    /// Under a weight.
    pub hung: Option<Hung>,
    /// Over a table edge.
    pub overhang: Option<Reading>,
    /// From the lower left to the upper right, and the other way.
    pub diagonals: Option<[Length; 2]>,
    /// Width and height before it was washed.
    pub before: [Option<Length>; 2],
    /// Width and height under pins, and after they came out.
    pub pinned: Option<[[Length; 2]; 2]>,
    /// Stitches gained at one edge, and lost at the other, in every row: the swatch is worked on the bias,
    /// its width was measured square to the edges and its height along them.
    pub shift: Option<f64>,
    /// Slant of the edges of a swatch worked on the bias, against the square to the rows.
    pub slant: Option<Angle>,
    /// How it was counted.
    pub counted: Counting,
    /// Standard error of a length read from it.
    pub error: Length,
    /// Standard error of the scale.
    pub scale: Mass,
}

/// Swatches of one yarn and maker.
#[derive(Debug, Clone, PartialEq)]
pub struct SwatchFile {
    /// Crochet or knit.
    pub craft: Craft,
    /// Linear density of the yarn, g/km, when its ball or class is stated.
    pub tex: Option<f64>,
    /// Stitches asked for that no swatch need be in.
    pub want: Vec<Worked>,
    /// The swatches.
    pub swatches: Vec<Swatch>,
    /// What a reader should know of how they were read.
    pub notes: Vec<String>,
}
