//! `slantwise yarn`: how much yarn, how many balls, where each ends.

use std::path::PathBuf;

use clap::Args;
use slantwise::predict::{self, Fringe, Options, YarnAsks};
use slantwise::report;

use super::args::{ListFormat, Units, length};
use super::files::{self, CannotRun};
use super::presets::OwnPresets;
use super::{Exit, check, lay, print};

/// Options of `yarn`.
#[derive(Debug, Args)]
pub(super) struct YarnOptions {
    /// The pattern: written instructions, with or without front matter; `-` reads standard input.
    file: PathBuf,
    /// Units to report in [default: the pattern's own].
    #[arg(long, value_enum)]
    units: Option<Units>,
    /// Fringe as STRANDSxLENGTH, each strand's cut length, e.g. `60x40cm` or `B:60x40cm`; may be given
    /// more than once.
    #[arg(long, value_name = "[COLOUR:]NxLENGTH", value_parser = fringe)]
    fringe: Vec<Fringe>,
    /// Colours not in use are carried up the edge instead of cut.
    #[arg(long)]
    carried: bool,
    /// Per cent to keep in reserve for joins, uneven hands and a swatch [default: preset yarn.margin].
    #[arg(long, value_name = "PERCENT", value_parser = percent)]
    margin: Option<f64>,
    /// Print every row of the weigh-as-you-go table, not only the ends of stripes.
    #[arg(long)]
    rows: bool,
    #[command(flatten)]
    own: OwnPresets,
    /// How to print; `csv` is the weigh-as-you-go table alone, every row of it.
    #[arg(long, value_enum, default_value_t = ListFormat::Human)]
    format: ListFormat,
}

/// Runs the command.
pub(super) fn yarn(options: &YarnOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    let asked = Options {
        overrides: options.own.overrides(),
        units: options.units.map(lay::units),
        ..Options::default()
    };
    let asks = YarnAsks {
        fringe: options.fringe.clone(),
        carried: options.carried,
        margin: options.margin.map(|p| p / 100.0),
    };
    let plan = predict::yarn_plan(&source, &asked, &asks)
        .map_err(|refused| lay::gave_up(&source, &refused))?;
    for name in options.fringe.iter().filter_map(|f| f.colour.as_ref()) {
        if !plan.colours.iter().any(|c| c.colour.eq_ignore_ascii_case(name)) {
            let known: Vec<&str> = plan.colours.iter().map(|c| c.colour.as_str()).collect();
            return Err(CannotRun::Stage(format!(
                "--fringe {name}: the pattern has no such colour; expected one of {}",
                known.join(", ")
            )));
        }
    }
    lay::complain(&source, &plan.diagnostics);
    print(&match options.format {
        ListFormat::Human => report::yarn_text(&plan, options.rows),
        ListFormat::Csv => report::yarn_csv(&plan),
        ListFormat::Json => report::yarn_json(&plan),
    })?;
    Ok(check::exit(&plan.diagnostics))
}

fn percent(text: &str) -> Result<f64, String> {
    let value: f64 =
        text.trim_end_matches('%').trim().parse().map_err(|_| format!("`{text}` is no number"))?;
    if (0.0..=200.0).contains(&value) {
        Ok(value)
    } else {
        Err(format!("a reserve of {value} % cannot be; expected 0 to 200"))
    }
}

fn fringe(text: &str) -> Result<Fringe, String> {
    let (colour, rest) = match text.split_once(':') {
        Some((colour, rest)) => (Some(colour.trim().to_owned()), rest),
        None => (None, text),
    };
    let (strands, cut) =
        rest.split_once(['x', '×']).ok_or("expected STRANDSxLENGTH, as in 60x40cm")?;
    let strands =
        strands.trim().parse().map_err(|_| format!("`{strands}` is no whole number of strands"))?;
    Ok(Fringe { colour, strands, cut: length(cut)? })
}
