//! `slantwise swatch`: measured swatches to a calibration.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use slantwise::calibrate::{calibrate, read_swatches};
use slantwise::report;

use super::files::{self, CannotRun};
use super::{Exit, print};

/// Options of `swatch`.
#[derive(Debug, Args)]
#[command(after_help = FORM)]
pub(super) struct SwatchOptions {
    /// A TOML file of measured swatches; `-` reads standard input.
    file: PathBuf,
    /// What to print; `front-matter` prints only what to paste into the pattern.
    #[arg(long, value_enum, default_value_t = SwatchFormat::Human)]
    format: SwatchFormat,
}

const FORM: &str = "A swatch file:\n\n  \
    craft = \"crochet\"\n  yarn = { ball_grams = 50, ball_length = \"200 m\" }\n\n  \
    [[swatch]]\n  in = \"dc\"                     # mixed rows: in = [\"dc\", \"sc\"]\n  \
    stitches = 24\n  rows = 14\n  width = \"11.2 cm\"             # of all these stitches\n  \
    height = \"11.9 cm\"\n  grams = 5.4\n  hung = { grams = 100, length = \"12.6 cm\" } # and, a day on: later = \"12.8 cm\", hours = 24\n  \
    overhang = { length = \"6 cm\", angle = 41.5 }\n  diagonals = [\"16.4 cm\", \"16.2 cm\"]\n  \
    before = { width = \"11.0 cm\" } # before washing\n  pinned = [\"12 cm\", \"13 cm\"]\n  \
    released = [\"11.8 cm\", \"12.7 cm\"]\n  error = \"2 mm\"                # of your tape\n\n\
    Instead of `stitches`: repeats = 4 with repeat = 6, the stitches in each. Worked on the bias: shift = 1, \
    the stitches every row gains at one edge and loses at the other; width is then square to the edges, \
    height along them, slant = 40 the degrees between. A gauge line does instead of counts and sizes: \
    gauge = \"22 sts and 12 rows = 10 cm in dc\"; counted in repeats, it needs repeat too. Stitches of the \
    piece that no swatch is in: want = [\"tr\"], before the first [[swatch]].";

/// How to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum SwatchFormat {
    /// Words.
    Human,
    /// For programs.
    Json,
    /// What to paste.
    FrontMatter,
}

/// Runs the command.
pub(super) fn swatch(options: &SwatchOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    let fail = |e: slantwise::calibrate::CalibrationError| {
        CannotRun::Stage(format!("{}: {e}", source.name()))
    };
    let found = read_swatches(source.text()).and_then(|file| calibrate(&file)).map_err(fail)?;
    print(&match options.format {
        SwatchFormat::Human => report::swatch_text(&found),
        SwatchFormat::Json => report::swatch_json(&found),
        SwatchFormat::FrontMatter => found.front_matter,
    })?;
    Ok(Exit::Fine)
}
