//! What stands around the instructions: title, terms, gauge, sizes, yarn, tools, as plain data.

use crate::source::Span;
use crate::units::Angle;
use crate::units::Length;
use crate::units::Mass;
use crate::units::UnitSystem;

/// Where a value came from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Origin {
    /// The front matter.
    FrontMatter,
    /// A line of the text.
    Text,
    /// Decided from evidence in the text.
    Evidence,
    /// Nothing said: the default.
    #[default]
    Default,
}

/// A value with its origin and place (an empty span when nothing was said).
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// Where it came from.
    pub origin: Origin,
    /// Its words.
    pub span: Span,
}

/// Crochet or knitting, as the page is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum CraftWord {
    /// Crochet.
    #[default]
    Crochet,
    /// Knitting.
    Knit,
}

/// Whose stitch names the page uses.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Terms {
    /// US names.
    #[default]
    Us,
    /// UK names.
    Uk,
}

/// The state of the fabric a gauge was measured in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum GaugeState {
    /// As it left the hook or needles.
    Worked,
    /// Washed and dried without pins.
    #[default]
    Washed,
    /// Pinned out.
    Blocked,
}

/// A gauge: stitches and rows over lengths.
#[derive(Debug, Clone, PartialEq)]
pub struct Gauge {
    /// So many stitches (or repeats, see `unit`).
    pub stitches: Option<f64>,
    /// Over this length.
    pub stitches_over: Length,
    /// So many rows.
    pub rows: Option<f64>,
    /// Over this length.
    pub rows_over: Length,
    /// The stitch it is in, as written ("dc", "garter stitch"), or "pattern".
    pub within: String,
    /// What is counted: "sts", or the page's group word ("shells").
    pub unit: String,
    /// State of the fabric; `state_stated` says whether the page says so.
    pub state: GaugeState,
    /// The state is stated, not assumed.
    pub state_stated: bool,
    /// Where it came from.
    pub origin: Origin,
    /// Its words.
    pub span: Span,
}

/// Measurements the piece is meant to have.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PlannedSize {
    /// Along the rows.
    pub along_row: Option<Stated<Length>>,
    /// Between the edges, square to them.
    pub square_to_edge: Option<Stated<Length>>,
    /// Along the edges.
    pub along_edge: Option<Stated<Length>>,
    /// Slant of the edges against the square to the rows; positive leans right going up.
    pub slant: Option<Stated<Angle>>,
    /// The words, when a bare "12 x 60 in" was read as square-to-edge by along-edge.
    pub read_as: Option<String>,
}

/// A yarn.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Yarn {
    /// Letter or name the instructions use.
    pub name: String,
    /// Colour in words.
    pub colour: Option<String>,
    /// Length per ball.
    pub ball_length: Option<Length>,
    /// Mass per ball.
    pub ball_mass: Option<Mass>,
    /// Weight class in words ("fingering", "4 ply", "DK").
    pub weight: Option<String>,
    /// Fibre in words.
    pub fibre: Option<String>,
    /// Balls at hand.
    pub balls: Option<f64>,
    /// Mass at hand.
    pub at_hand: Option<Mass>,
    /// Colour to draw it in.
    pub display: Option<[u8; 3]>,
    /// Where it came from.
    pub origin: Origin,
    /// Its words.
    pub span: Span,
}

/// How evenly and how tightly the maker works.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Maker {
    /// Size of this maker's stitches over the gauge's.
    pub hand: Option<f64>,
    /// Change of stitch size from the first row to the last, as a share.
    pub drift: Option<f64>,
    /// Random variation per stitch, as a share.
    pub noise: Option<f64>,
    /// Seed of the random variation.
    pub seed: Option<u64>,
}

/// Choices between readings of ambiguous words, where the user has made them; `None` leaves a choice to
/// the evidence of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReadingChoices {
    /// A turning chain nothing is said of counts as a stitch.
    pub turning_counts: Option<bool>,
    /// "Rep from * N times" is N in all, not N more.
    pub repeats_in_all: Option<bool>,
    /// Chain links of the row below are stitches to work into.
    pub links_are_stitches: Option<bool>,
    /// "2 sc" with no place are both in the next place.
    pub numbers_together: Option<bool>,
    /// "Ending with ..." says what the last repeat ends in, not what follows it.
    pub endings_within: Option<bool>,
}

/// Everything around the instructions.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Header {
    /// Title.
    pub title: Option<Stated<String>>,
    /// Craft.
    pub craft: Stated<CraftWord>,
    /// US or UK terms.
    pub terms: Stated<Terms>,
    /// What decided the terms, in words.
    pub terms_why: String,
    /// Units the page uses.
    pub units: Stated<UnitSystem>,
    /// Gauges in the order given.
    pub gauges: Vec<Gauge>,
    /// Planned measurements.
    pub planned: PlannedSize,
    /// Yarns in the order given.
    pub yarns: Vec<Yarn>,
    /// Hook or needle size.
    pub tool: Option<Stated<Length>>,
    /// Blocking, in words.
    pub blocking: Option<Stated<String>>,
    /// The maker's hand.
    pub maker: Maker,
    /// Readings chosen.
    pub readings: ReadingChoices,
    /// Values that replace presets, by key.
    pub presets: Vec<(String, f64)>,
    /// Column of the sizes to make, from 0, where a page prints several (`60 (72, 84)`).
    pub size: u32,
    /// Where the text after the front matter begins.
    pub body_start: u32,
}
