//! `slantwise refine`: a finished piece's measurements to a better calibration.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use slantwise::calibrate::{self, CannotRefine};
use slantwise::predict;
use slantwise::report;

use super::args::Common;
use super::files::{self, CannotRun};
use super::lay::{asked, complain, progress_bar, tell};
use super::{Exit, check, print};

/// Options of `refine`.
#[derive(Debug, Args)]
#[command(after_help = FORM)]
pub(super) struct RefineOptions {
    #[command(flatten)]
    common: Common,
    /// A TOML file of what was measured, or one figure, e.g. `--measured along-edge=201cm`; may be given
    /// more than once.
    #[arg(long, value_name = "FILE.toml|FIGURE=VALUE", required = true)]
    measured: Vec<String>,
    /// What to print; `front-matter` prints only what to paste into the pattern.
    #[arg(long, value_enum, default_value_t = RefineFormat::Human)]
    format: RefineFormat,
}

const FORM: &str = "What can be measured, all of it optional:\n\n  \
    state = \"washed\"               # the state of the pattern's gauge\n  \
    along-row = \"31.4 cm\"          # mean of several rows\n  \
    square-to-edge = \"27.5 cm\"\n  square-to-rows = \"171 cm\"\n  \
    along-edge = \"194 cm\"          # or along-left, along-right\n  \
    slant = 27.5                   # degrees; or slant-left, slant-right\n  \
    over-all = [\"121 cm\", \"172 cm\"] # width and height with the rows level\n  \
    grams = { A = 171, B = 60 }    # or grams = 231 for all of it\n  \
    error = \"5 mm\"                 # of your tape; angle-error = 1, scale = 1\n  \
    carried = true                 # colours carried up the edge, not cut\n  \
    [[part]]\n  rows = [\"WRAP, row 1\", \"WRAP, row 12\"]\n  height = \"7.5 cm\"\n  width = \"31.3 cm\"\n  \
    [before]                       # before the first wash\n  along-row = \"31.0 cm\"\n  \
    [pinned]                       # under the pins, and with them out\n  along-edge = \"205 cm\"\n  \
    [released]\n  along-edge = \"201 cm\"";

/// How to print.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum RefineFormat {
    /// Words.
    Human,
    /// For programs.
    Json,
    /// What to paste.
    FrontMatter,
}

/// Runs the command.
pub(super) fn refine(options: &RefineOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.common.file)?;
    let (names, texts) = measurements(&options.measured)?;
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    let fail = |e: CannotRefine| {
        let name = match &e {
            CannotRefine::Measured(_) => names.join(", "),
            CannotRefine::Piece(_) => source.name().to_owned(),
        };
        CannotRun::Stage(format!("{name}: {e}"))
    };
    let measured = calibrate::read_measured(&texts).map_err(|e| fail(e.into()))?;
    let reading = predict::read(&source);
    complain(&source, &reading.diagnostics);
    let asked = asked(&options.common);
    let bar = progress_bar();
    let found = calibrate::refine(&reading, &asked, &measured, &mut |step| tell(&bar, step));
    bar.finish_and_clear();
    let found = found.map_err(fail)?;
    let units = asked.units.unwrap_or(reading.header.units.value);
    print(&match options.format {
        RefineFormat::Human => report::refine_text(&found, units),
        RefineFormat::Json => report::refine_json(&found),
        RefineFormat::FrontMatter => found.front_matter,
    })?;
    Ok(check::exit(&reading.diagnostics))
}

/// Names of the sources and the TOML text of each: a file's, or a figure of the command line as a line.
fn measurements(given: &[String]) -> Result<(Vec<String>, Vec<String>), CannotRun> {
    let (mut names, mut texts) = (Vec::new(), Vec::new());
    for one in given {
        let text = match one.split_once('=') {
            Some((key, value)) if !Path::new(one).exists() => line(key.trim(), value.trim()),
            _ => files::read(&PathBuf::from(one))?.text().to_owned(),
        };
        names.push(one.clone());
        texts.push(text);
    }
    Ok((names, texts))
}

/// A number, list or table stands as it is; anything else is put in quotes.
fn line(key: &str, value: &str) -> String {
    let plain = value.parse::<f64>().is_ok()
        || value.starts_with(['[', '{', '"'])
        || ["true", "false"].contains(&value);
    if plain {
        format!("{key} = {value}")
    } else {
        format!("{key} = \"{}\"", value.replace('\\', "\\\\").replace('"', "\\\""))
    }
}
