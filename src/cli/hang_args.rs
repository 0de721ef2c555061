//! Options of `hang`.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use slantwise::units::Length;

use super::args::{Common, LayFormat, length};
use super::report::{Reports, mesh_file};

/// What contact is and is not, said below the options.
pub(super) const FRICTION: &str = "Friction: contact knows no coefficient of friction. A stitch is either held (by a peg, on top of the rail, on \
     the table, between the discs, on the shoulders), as by friction without limit, or it slides without any. A real \
     piece lies between the two: it slips less than one that slides, and more than one that is held.";

/// What holds the piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum By {
    /// One stitch: the first corner of a side, or one stitch of a round edge.
    Point,
    /// Pegs along a side, or along a quarter of a round edge.
    Edge,
    /// The two corners of a side, or two stitches a quarter of a round edge apart.
    Corners,
    /// A round rail under a row.
    Rail,
    /// A table; one side hangs over its edge.
    TableEdge,
    /// The shoulders of a form: one side lies behind the neck, the piece falls down the back.
    Shoulders,
    /// Two discs about the middle, as in the drape test.
    Disc,
}

/// A side of the piece, as seen from the right side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Side {
    /// Where the work began.
    Foundation,
    /// The right edge.
    Right,
    /// Where the work ended.
    LastRow,
    /// The left edge.
    Left,
}

/// Options of `hang`.
#[derive(Debug, Args)]
pub(super) struct HangOptions {
    #[command(flatten)]
    pub(super) common: Common,
    /// What holds the piece.
    #[arg(long, value_enum, default_value_t = By::Edge)]
    pub(super) by: By,
    /// Side it is held by, that hangs over the table edge, or that lies at the nape [default: foundation;
    /// left at the nape]; closed rounds have none by name.
    #[arg(long, value_enum)]
    pub(super) side: Option<Side>,
    /// Largest distance between pegs (`--by edge`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "10cm")]
    pub(super) pegs: Length,
    /// Distance of the corners in per cent of the laid distance (`--by corners`).
    #[arg(long, value_name = "PERCENT", default_value_t = 90.0)]
    pub(super) apart: f64,
    /// Thickness of the rail (`--by rail`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "4cm")]
    pub(super) rail: Length,
    /// Where the rail lies, in per cent of the rows from the foundation, or of the way across closed rounds
    /// (`--by rail`).
    #[arg(long, value_name = "PERCENT", default_value_t = 50.0)]
    pub(super) at: f64,
    /// Length that hangs over (`--by table-edge`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "20cm")]
    pub(super) over: Length,
    /// Diameter of the discs (`--by disc`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "18cm")]
    pub(super) disc: Length,
    /// Breadth over both shoulders, from arm to arm (`--by shoulders`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "40cm")]
    pub(super) breadth: Length,
    /// Girth of the neck (`--by shoulders`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "36cm")]
    pub(super) neck: Length,
    /// Slope of the shoulders against level, degrees (`--by shoulders`).
    #[arg(long, value_name = "DEGREES", default_value_t = 22.0)]
    pub(super) slope: f64,
    /// Depth from chest to back (`--by shoulders`).
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "22cm")]
    pub(super) chest: Length,
    /// Water in the piece, in per cent of its dry mass.
    #[arg(long, value_name = "PERCENT", default_value_t = 0.0)]
    pub(super) water: f64,
    /// Folder for pictures, meshes (OBJ, glTF) and numbers; made if missing [default: the file's name with
    /// `-hung`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) reports: Reports,
    /// Also write the hung mesh: FILE.obj or FILE.gltf; may be given more than once.
    #[arg(long, value_name = "FILE", value_parser = mesh_file)]
    pub(super) mesh: Vec<PathBuf>,
    /// What to print; `json` prints all numbers, and writes files only with --out.
    #[arg(long, value_enum, default_value_t = LayFormat::Human)]
    pub(super) format: LayFormat,
}

/// Options of `specimen`.
#[derive(Debug, Args)]
pub(super) struct SpecimenOptions {
    #[command(flatten)]
    pub(super) common: Common,
    /// Stitch of the fabric, in the pattern's own terms: sc, hdc, dc, tr, dtr, or stockinette, garter,
    /// rib, seed [default: the one most of the pattern is worked in].
    #[arg(long, value_name = "KIND")]
    pub(super) stitch: Option<String>,
    /// Angle of a pulled strip to the rows, degrees; may be given more than once [default: 0, 30, 45,
    /// 60, 90].
    #[arg(long, value_name = "DEGREES", allow_hyphen_values = true)]
    pub(super) angle: Vec<f64>,
}
