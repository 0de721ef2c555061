//! Commands and options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};
use slantwise::units::Length;

use super::hang_args::{FRICTION, HangOptions, SpecimenOptions};
use super::presets::{OwnPresets, PresetsOptions};
use super::refine::RefineOptions;
use super::report::{Reports, Sheets, mesh_file};
use super::study_args::{CompareOptions, MixOptions, SpreadOptions, TraceOptions};
use super::swatch::SwatchOptions;
use super::yarn::YarnOptions;

/// Predicts how a hand-made crochet or knit piece will lie, stitch by stitch, from its written pattern.
#[derive(Debug, Parser)]
#[command(name = "slantwise", version, arg_required_else_help = true, after_help = EXIT_CODES)]
pub(super) struct Arguments {
    /// Colour in messages.
    #[arg(long, global = true, value_enum, default_value_t = Color::Auto)]
    pub(super) color: Color,
    #[command(subcommand)]
    pub(super) command: Command,
}

const EXIT_CODES: &str = "Exit codes: 0 fine; 1 the pattern has faults; 2 could not run (bad option, unreadable file, \
     impossible gauge, did not settle).";

/// When to colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Color {
    /// On a terminal that takes it, unless NO_COLOR is set.
    Auto,
    /// Always.
    Always,
    /// Never.
    Never,
}

impl Color {
    /// Makes it the rule for everything printed.
    pub(super) fn write_global(self) {
        match self {
            Self::Auto => anstream::ColorChoice::Auto,
            Self::Always => anstream::ColorChoice::Always,
            Self::Never => anstream::ColorChoice::Never,
        }
        .write_global();
    }
}

/// What to do.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Work every row of a written pattern and say what is wrong with it.
    Check(CheckOptions),
    /// Write the pattern out again: cleaned up, every row's count added, in US or UK terms.
    Write(WriteOptions),
    /// Predict how the piece lies flat: do the edges stay straight, and which rows bend them?
    Lay(LayOptions),
    /// Compare blocking allowances: size under the pins, after release and after the next wash; of flat pieces and
    /// of rounds from a middle.
    Block(BlockOptions),
    /// Hang the piece up: growth, drop of the corners, skew under its own weight.
    #[command(after_help = FRICTION)]
    Hang(HangOptions),
    /// Virtual textile tests on a fabric of one stitch, to set beside a ruler and a kitchen scale.
    Specimen(SpecimenOptions),
    /// How does the stitch mix change the slant? Try other stitches, shaping, loops, yarn.
    Mix(MixOptions),
    /// Put predictions side by side: outlines, figures, and the rows that differ.
    Compare(CompareOptions),
    /// How much does the answer move from maker to maker?
    Spread(SpreadOptions),
    /// Which rows and stitches move a figure, and by how much?
    Trace(TraceOptions),
    /// How much yarn, how many balls, where does each end, how far does the yarn at hand go?
    Yarn(YarnOptions),
    /// The physical numbers behind every answer, each with unit, range and source.
    Presets(PresetsOptions),
    /// Measured swatches to gauge, yarn and stiffness, each with how sure it is, ready to paste.
    Swatch(SwatchOptions),
    /// After the first real sample: how wrong was the prediction, what explains it, and what to change.
    Refine(RefineOptions),
}

/// Options of `check`.
#[derive(Debug, Args)]
pub(super) struct CheckOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Also print what every row uses and makes.
    #[arg(long)]
    pub(super) rows: bool,
    /// Print the row table alone, comma-separated.
    #[arg(long, conflicts_with_all = ["rows", "format"])]
    pub(super) csv: bool,
    /// How to print faults.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    pub(super) format: Format,
}

/// Options of `write`.
#[derive(Debug, Args)]
pub(super) struct WriteOptions {
    /// The pattern; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Terms to write it in [default: the pattern's own].
    #[arg(long, value_enum)]
    pub(super) terms: Option<TermsWord>,
}

/// US or UK terms.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum TermsWord {
    /// US names: sc, hdc, dc, tr.
    Us,
    /// UK names: dc, htr, tr, dtr.
    Uk,
}

/// How to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// With the words underlined.
    Human,
    /// One line each.
    Short,
    /// For programs.
    Json,
}

/// What every prediction takes.
#[derive(Debug, Args)]
pub(super) struct Common {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Units to report in [default: the pattern's own].
    #[arg(long, value_enum)]
    pub(super) units: Option<Units>,
    /// Work with a maker's random variation, from this seed.
    #[arg(long, value_name = "N")]
    pub(super) seed: Option<u64>,
    #[command(flatten)]
    pub(super) own: OwnPresets,
}

/// Options of `lay`.
#[derive(Debug, Args)]
pub(super) struct LayOptions {
    #[command(flatten)]
    pub(super) common: Common,
    /// Folder for pictures (SVG, PNG) and numbers (JSON, CSV); made if missing [default: the file's name
    /// with `-laid`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    #[command(flatten)]
    pub(super) reports: Reports,
    /// Also put the outline at full size into the folder, over sheets of this paper, to lay the real
    /// piece on.
    #[arg(long, value_name = "PAPER", value_enum)]
    pub(super) full_size: Option<Sheets>,
    /// Also solve how a piece with length to spare stands on a table under its weight where more than 3 000
    /// of its stitches may rise, or it has more than 8 000, and let closed rounds of more than 2 500 stitches go from
    /// a raised start too; takes some minutes. Others are always put there.
    #[arg(long)]
    pub(super) table: bool,
    /// Also write the laid mesh: FILE.obj or FILE.gltf; may be given more than once.
    #[arg(long, value_name = "FILE", value_parser = mesh_file)]
    pub(super) mesh: Vec<PathBuf>,
    /// What to print; `json` prints all numbers, and writes files only with --out.
    #[arg(long, value_enum, default_value_t = LayFormat::Human)]
    pub(super) format: LayFormat,
}

/// What `lay`, `block` and `hang` print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum LayFormat {
    /// Words and a table.
    Human,
    /// For programs.
    Json,
}

/// Units to report in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Units {
    /// Centimetres, metres, grams.
    Metric,
    /// Inches, yards, ounces.
    Imperial,
}

pub(super) fn preset(text: &str) -> Result<(String, f64), String> {
    let (key, value) = text.split_once('=').ok_or("expected KEY=VALUE, as in selvage.lean=0")?;
    let value: f64 =
        value.trim().parse().map_err(|_| format!("`{value}` is no number (for {key})"))?;
    if !value.is_finite() {
        return Err(format!("`{value}` is no finite number (for {key})"));
    }
    Ok((key.trim().to_owned(), value))
}

/// How to print a list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum ListFormat {
    /// Words.
    Human,
    /// Comma-separated, for a spreadsheet.
    Csv,
    /// For programs.
    Json,
}

/// Options of `block`.
#[derive(Debug, Args)]
pub(super) struct BlockOptions {
    #[command(flatten)]
    pub(super) common: Common,
    /// Stretch in per cent, both ways or `ALONG,UP` (along the rows, square to them; closed rounds take one);
    /// more than one allowance may be given and each is tried.
    #[arg(long, value_name = "PERCENT", value_parser = stretch, allow_hyphen_values = true)]
    pub(super) allow: Vec<[f64; 2]>,
    /// Pin to a size instead: along the rows x along the edges, e.g. `32x200cm` or `12x80in`; closed rounds
    /// take one size, across them or from side to side, e.g. `40cm`.
    #[arg(long, value_name = "SIZE", value_parser = size)]
    pub(super) to: Vec<Size>,
    /// Largest distance between pins, e.g. `8cm` [default: 8cm; a third of the piece where that is less].
    #[arg(long, value_name = "LENGTH", value_parser = length)]
    pub(super) pins: Option<Length>,
    /// Blocking wires through every stitch of the sides instead of pins; not for a round edge.
    #[arg(long, conflicts_with = "pins")]
    pub(super) wires: bool,
    /// Fibre [default: the pattern's own, else wool].
    #[arg(long)]
    pub(super) fibre: Option<String>,
    /// Share of the pinned stretch that dries in, when you have measured it (0 to 1).
    #[arg(long, value_name = "SHARE")]
    pub(super) set: Option<f64>,
    #[command(flatten)]
    pub(super) reports: Reports,
    /// Folder for pictures, pin lists, meshes of the released pieces (OBJ, glTF) and numbers; made if
    /// missing [default: the file's name with `-blocked`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// What to print; `json` prints all numbers, and writes files only with --out.
    #[arg(long, value_enum, default_value_t = LayFormat::Human)]
    pub(super) format: LayFormat,
}

fn number(text: &str) -> Result<f64, String> {
    let value = text.trim().parse::<f64>().map_err(|_| format!("`{text}` is no number"))?;
    if value.is_finite() { Ok(value) } else { Err(format!("`{text}` is no finite number")) }
}

fn stretch(text: &str) -> Result<[f64; 2], String> {
    let (a, b) = text.split_once(',').unwrap_or((text, text));
    let both = [number(a)?, number(b)?];
    match both.iter().find(|p| !(-30.0..=150.0).contains(*p)) {
        Some(p) => Err(format!("a stretch of {p} % cannot be pinned; expected -30 to 150")),
        None => Ok(both),
    }
}

pub(super) fn length(text: &str) -> Result<Length, String> {
    let text = text.trim();
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
    let value = number(&text[..end])?;
    let length = match text[end..].trim() {
        "mm" => Length::mm(value),
        "cm" => Length::cm(value),
        "m" => Length::m(value),
        "in" | "\"" => Length::inches(value),
        "" => return Err(format!("`{text}` has no unit; write {text}cm or {text}in")),
        other => return Err(format!("`{other}` is no unit of length; expected mm, cm, m or in")),
    };
    if value > 0.0 { Ok(length) } else { Err(format!("`{text}` is not above zero")) }
}

/// A size to pin to.
#[derive(Debug, Clone, Copy)]
pub(super) enum Size {
    /// Along the rows and along the edges.
    Both(Length, Length),
    /// Across a piece in closed rounds.
    Across(Length),
}

fn size(text: &str) -> Result<Size, String> {
    let Some((a, b)) = text.split_once(['x', '×']) else {
        return length(text).map(Size::Across).map_err(|why| {
            format!("{why}; expected WIDTHxLENGTH, as in 32x200cm, or one size for closed rounds")
        });
    };
    let edge = length(b)?;
    let unit = b.trim().trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    let along = length(a).or_else(|_| length(&format!("{a}{unit}")))?;
    Ok(Size::Both(along, edge))
}
