//! What is measured on a solved shape: outline, edges, slant, size, strain, yarn.
//!
//! Frame: millimetres, x to the right and y up the rows as seen from the right side of the piece,
//! the foundation at the bottom, turned so that the mean row direction is x.

mod closed;
mod crossing;
mod edge;
mod rim;
mod shadow;
mod skew;
mod straightness;
mod whole;

pub use closed::{Closed, Lies};
pub use crossing::crossed_cells;
pub use edge::copies_in_words;
pub use rim::{RimMeasures, Trueness, measure_rim};
pub use shadow::{drape_coefficient, rim_coefficient, shadow_area};
pub use skew::{bow_and_skew, diagonal_skew, dimensional_change, inverted_t_skew};
pub use straightness::{Zone, least_squares, minimum_zone};
pub use whole::{edges, kinds, measure, rest_area_mm2, row_label};

use crate::units::Angle;
use crate::units::Length;
use crate::units::Mass;

/// Mean, smallest and largest of a length.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct LengthRange {
    /// Mean.
    pub mean: Length,
    /// Smallest.
    pub least: Length,
    /// Largest.
    pub most: Length,
}

/// A point of an edge: a row end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgePoint {
    /// Index of the row in `Piece::rows` whose upper corner this is.
    pub row: u32,
    /// Distance along the least-zone line from the edge's start, mm.
    pub along: f64,
    /// Signed distance from the middle of the minimum zone, mm; positive outwards.
    pub off: f64,
}

/// Regular steps of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Zigzag {
    /// Height of the steps (median over periods of the local minimum zone).
    pub height: Length,
    /// Period along the edge.
    pub period: Length,
    /// Rows in a period.
    pub rows: u32,
}

/// Rows that bend an edge.
#[derive(Debug, Clone, PartialEq)]
pub struct Bender {
    /// Rows in the pattern's words, e.g. "Row 7 (every 12 rows, 25 times)".
    pub rows: String,
    /// Indices in `Piece::rows`.
    pub indices: Vec<u32>,
    /// Sideways push of one such row against the edge's mean direction, positive outwards.
    pub push: Length,
}

/// One long edge.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeShape {
    /// Length from end to end along the edge's own path.
    pub path_length: Length,
    /// Straight distance between its ends.
    pub chord: Length,
    /// Angle of its mean line against the square to the rows; positive leans right going up.
    pub slant: Angle,
    /// Minimum-zone straightness (ISO 1101 / ISO 12780-1).
    pub minimum_zone: Length,
    /// Peak to valley about the least-squares line.
    pub least_squares: Length,
    /// Deviation along the edge.
    pub curve: Vec<EdgePoint>,
    /// Zigzag, when the edge steps regularly.
    pub zigzag: Option<Zigzag>,
    /// Rows that bend it most, strongest first.
    pub benders: Vec<Bender>,
}

/// Per row figures.
#[derive(Debug, Clone, PartialEq)]
pub struct RowMeasure {
    /// Index in `Piece::rows`.
    pub row: u32,
    /// Pattern's label with its section, e.g. "Wrap, row 12".
    pub label: String,
    /// Length along the row from edge to edge.
    pub width: Length,
    /// Rise of the row.
    pub height: Length,
    /// Slant of this row's piece of the left and right edge.
    pub slant: [Angle; 2],
    /// Slant from the foundation up to this row, left and right.
    pub cumulative: [Angle; 2],
}

/// A cell's corners (mm) and strains.
#[derive(Debug, Clone, PartialEq)]
pub struct CellStrain {
    /// Corners, counter-clockwise, mm.
    pub corners: Vec<[f64; 2]>,
    /// Row it belongs to (index in `Piece::rows`).
    pub row: u32,
    /// The stitch that made it: index in `Piece::stitches`.
    pub stitch: u32,
    /// What it is worked in: index in [`Measurements::kinds`].
    pub kind: u16,
    /// Colour it is worked in: index in the piece's colours.
    pub colour: u16,
    /// Strain along the row.
    pub along: f64,
    /// Strain up the columns.
    pub up: f64,
    /// Shear, rad.
    pub shear: f64,
}

/// Yarn of one colour.
#[derive(Debug, Clone, PartialEq)]
pub struct YarnUse {
    /// Colour as the pattern names it.
    pub colour: String,
    /// Length used, without margin.
    pub length: Length,
    /// Mass used, when the yarn's metres per gram are known.
    pub mass: Option<Mass>,
}

/// Everything measured on one shape.
#[derive(Debug, Clone, PartialEq)]
pub struct Measurements {
    /// Size along the rows.
    pub along_rows: LengthRange,
    /// Size square to the rows.
    pub square_to_rows: Length,
    /// Mean distance between the two edges, square to them.
    pub square_to_edges: Length,
    /// Left and right edge, as seen from the right side.
    pub edges: [EdgeShape; 2],
    /// Area, mm2.
    pub area_mm2: f64,
    /// Closed outline, mm, counter-clockwise from the lower left corner.
    pub outline: Vec<[f64; 2]>,
    /// Row by row.
    pub rows: Vec<RowMeasure>,
    /// Strain map.
    pub cells: Vec<CellStrain>,
    /// Stitches of the piece in the trade's words, in order of first use.
    pub kinds: Vec<String>,
    /// Yarn by colour.
    pub yarn: Vec<YarnUse>,
    /// What it is whole, when it is closed in rounds and lies here cut open.
    pub closed: Option<Closed>,
}

impl Measurements {
    /// Size of the box round the outline: along the rows and square to them, as the middle rows lie.
    pub fn over_all(&self) -> [Length; 2] {
        [0, 1].map(|axis| {
            let at = || self.outline.iter().map(|p| p[axis]);
            let low = at().fold(f64::INFINITY, f64::min);
            let high = at().fold(f64::NEG_INFINITY, f64::max);
            Length::mm((high - low).max(0.0))
        })
    }
}
