//! Options of the commands that compare.

use std::path::PathBuf;

use clap::Args;
use slantwise::predict;
use slantwise::study::{Aim, Variation};
use slantwise::units::Length;

use super::args::{Units, length};
use super::lay;
use super::presets::OwnPresets;
use super::report::Reports;

/// What every study takes besides its patterns.
#[derive(Debug, Args)]
pub(super) struct Study {
    /// Units to report in [default: the pattern's own].
    #[arg(long, value_enum)]
    units: Option<Units>,
    #[command(flatten)]
    own: OwnPresets,
    #[command(flatten)]
    pub(super) reports: Reports,
}

/// Options of `mix`.
#[derive(Debug, Args)]
pub(super) struct MixOptions {
    /// The pattern. Several patterns, or one with choices written `{short: sc | tall: dc}`, are
    /// compared with the first.
    #[arg(required = true)]
    pub(super) files: Vec<PathBuf>,
    /// What to vary, as WHAT=VALUES with rows after @: `stitch@WRAP:3/12=sc,dc,tr` (row 3 of WRAP and
    /// every 12th after it, US terms), `shape=1,2,none` (every shaping row shapes, every second,
    /// none), `tall=0,50,100` (per cent of rows worked tall), `loop=both,back`, `hand=0.95,1.05`,
    /// `yarn=fingering,dk`, or a preset's key, `crochet.membrane.g=10,20`. Given more than once: every
    /// combination. Without it, each row of the repeat is tried shorter, taller and without shaping.
    #[arg(long, value_name = "WHAT=VALUES", value_parser = variation)]
    pub(super) vary: Vec<Variation>,
    #[command(flatten)]
    pub(super) study: Study,
    /// Folder for pictures and numbers; made if missing [default: the file's name with `-mix`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

impl MixOptions {
    pub(super) fn asked(&self) -> predict::Options {
        self.study.asked()
    }
}

/// Options of `compare`.
#[derive(Debug, Args)]
pub(super) struct CompareOptions {
    /// Patterns; the others are held against the first.
    #[arg(required = true)]
    pub(super) files: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) study: Study,
    /// Folder for the picture; made if missing [default: the first file's name with `-compared`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

impl CompareOptions {
    pub(super) fn asked(&self) -> predict::Options {
        self.study.asked()
    }
}

/// Options of `spread`.
#[derive(Debug, Args)]
pub(super) struct SpreadOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Number of makers.
    #[arg(long, value_name = "N", default_value_t = 100, value_parser = clap::value_parser!(u32).range(2..=100_000))]
    pub(super) makers: u32,
    /// Seed of their hands: the same seed gives the same makers.
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// An edge within this counts as straight (minimum zone); closed rounds are told by how they lie.
    #[arg(long, value_name = "LENGTH", value_parser = length, default_value = "1cm")]
    pub(super) straight: Length,
    /// The makers have not met the stated gauge with a swatch.
    #[arg(long, conflicts_with = "differ")]
    pub(super) unswatched: bool,
    /// Per cent by which the makers' stitches differ in size (one standard deviation).
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    pub(super) differ: Option<f64>,
    #[command(flatten)]
    pub(super) study: Study,
    /// Folder for the picture and numbers; made if missing [default: the file's name with `-spread`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

impl SpreadOptions {
    pub(super) fn asked(&self) -> predict::Options {
        self.study.asked()
    }
}

/// Options of `trace`.
#[derive(Debug, Args)]
pub(super) struct TraceOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// The figure: width, slant-left, straight-right, edge-left, corner-right-up, ...
    #[arg(long, value_name = "FIGURE", value_parser = Aim::parse, default_value = "slant-left")]
    pub(super) of: Aim,
    #[command(flatten)]
    pub(super) study: Study,
    /// Folder for the map and numbers; made if missing [default: the file's name with `-trace`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
}

impl TraceOptions {
    pub(super) fn asked(&self) -> predict::Options {
        self.study.asked()
    }
}

fn percent(text: &str) -> Result<f64, String> {
    let value: f64 =
        text.trim_end_matches('%').trim().parse().map_err(|_| format!("`{text}` is no number"))?;
    if (0.0..=30.0).contains(&value) {
        Ok(value)
    } else {
        Err(format!("makers who differ by {value} %: expected 0 to 30"))
    }
}

impl Study {
    fn asked(&self) -> predict::Options {
        predict::Options {
            seed: None,
            overrides: self.own.overrides(),
            units: self.units.map(lay::units),
            sure: false,
            tables: predict::Tables::None,
        }
    }
}

fn variation(text: &str) -> Result<Variation, String> {
    Variation::parse(text).map_err(|e| e.to_string())
}
