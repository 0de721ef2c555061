//! Commands and options.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand, ValueEnum};

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
    /// Predict how the piece lies flat: do the edges stay straight, and which rows bend them?
    Lay(LayOptions),
}

/// Options of `check`.
#[derive(Debug, Args)]
pub(super) struct CheckOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Also print what every row uses and makes.
    #[arg(long)]
    pub(super) rows: bool,
    /// How to print faults.
    #[arg(long, value_enum, default_value_t = Format::Human)]
    pub(super) format: Format,
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

/// Options of `lay`.
#[derive(Debug, Args)]
pub(super) struct LayOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    pub(super) file: PathBuf,
    /// Folder for pictures and numbers; made if missing [default: the file's name with `-laid`].
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// What to print; `json` prints all numbers, and writes files only with --out.
    #[arg(long, value_enum, default_value_t = LayFormat::Human)]
    pub(super) format: LayFormat,
    /// Units to report in [default: the pattern's own].
    #[arg(long, value_enum)]
    pub(super) units: Option<Units>,
    /// Work with a maker's random variation, from this seed.
    #[arg(long, value_name = "N")]
    pub(super) seed: Option<u64>,
    /// Replace a preset, e.g. `--preset selvage.lean=0`; may be given more than once.
    #[arg(long, value_name = "KEY=VALUE", value_parser = preset)]
    pub(super) preset: Vec<(String, f64)>,
}

/// What `lay` prints.
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

fn preset(text: &str) -> Result<(String, f64), String> {
    let (key, value) = text.split_once('=').ok_or("expected KEY=VALUE, as in selvage.lean=0")?;
    let value: f64 =
        value.trim().parse().map_err(|_| format!("`{value}` is no number (for {key})"))?;
    if !value.is_finite() {
        return Err(format!("`{value}` is no finite number (for {key})"));
    }
    Ok((key.trim().to_owned(), value))
}
