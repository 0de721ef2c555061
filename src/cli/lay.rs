//! `slantwise lay`: the piece lying flat.

use std::io::{IsTerminal, Write};
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use indicatif::{ProgressBar, ProgressStyle};
use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::measure::Closed;
use slantwise::predict::{self, Prediction, Refused, Step};
use slantwise::report;
use slantwise::source::Source;
use slantwise::units::UnitSystem;

use super::args::{Common, LayFormat, LayOptions, Units};
use super::files::{self, CannotRun};
use super::report as reports;
use super::report::Sheets;
use super::{Exit, check, interrupt, print, show};

/// Runs the command.
pub(super) fn lay(options: &LayOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.common.file)?;
    let tables = if options.table { predict::Tables::All } else { predict::Tables::Small };
    let asked = predict::Options { sure: true, tables, ..asked(&options.common) };
    let bar = progress_bar();
    let result = predict::lay(&source, &asked, &mut |step| tell(&bar, step));
    bar.finish_and_clear();
    let prediction = match result {
        Ok(prediction) => prediction,
        Err(refused) if refused.failure.closed() => {
            let found = super::rounds::rest(&source, &asked, None);
            let found = found.map_err(|refused| gave_up(&source, &refused))?;
            return super::rounds::lay(options, &source, &found);
        }
        Err(refused) => return Err(gave_up(&source, &refused)),
    };
    let plain = options.format == LayFormat::Human && options.reports.report.is_empty();
    if matches!(prediction.measured.closed, Some(Closed::Disc { .. }))
        && plain
        && options.mesh.is_empty()
        && options.full_size.is_none()
        && let Ok(found) = super::rounds::rest(&source, &asked, prediction.measured.closed)
    {
        return super::rounds::lay(options, &source, &found);
    }
    complain(&source, &prediction.diagnostics);
    let human = options.format == LayFormat::Human;
    let mut named = reports::laid(&options.reports, &prediction)?;
    named.extend(options.mesh.iter().map(|path| reports::mesh(path, &prediction)));
    let foldered = human || options.out.is_some() || options.full_size.is_some();
    let folder =
        options.out.clone().unwrap_or_else(|| default_folder(&options.common.file, "laid"));
    if foldered {
        files::write_all(&folder, &pictures(&prediction, options.full_size)?)?;
    }
    let said = reports::write(named)?;
    if human {
        print(&report::text(&prediction))?;
        print(&format!("\nPictures and numbers are in {}\n{said}", folder.display()))?;
    }
    if options.format == LayFormat::Json {
        print(&report::json(&prediction))?;
    }
    Ok(check::exit(&prediction.diagnostics))
}

/// What the common options ask of a prediction.
pub(super) fn asked(common: &Common) -> predict::Options {
    predict::Options {
        seed: common.seed,
        overrides: common.own.overrides(),
        units: common.units.map(units),
        sure: false,
        tables: predict::Tables::None,
    }
}

pub(super) fn units(units: Units) -> UnitSystem {
    match units {
        Units::Metric => UnitSystem::Metric,
        Units::Imperial => UnitSystem::Imperial,
    }
}

/// Prints what was found out before a stage failed.
pub(super) fn gave_up(source: &Source, refused: &Refused) -> CannotRun {
    complain(source, &refused.diagnostics);
    CannotRun::Stage(format!("{}: {}", source.name(), refused.failure))
}

/// Faults and doubts go to stderr, so that stdout holds the answer alone.
pub(super) fn complain(source: &Source, diagnostics: &[Diagnostic]) {
    let mut err = anstream::stderr().lock();
    for d in diagnostics.iter().filter(|d| d.severity >= Severity::Warning) {
        let _ = err.write_all(show::human(source, d).as_bytes());
    }
}

/// `wrap.txt` is laid in `wrap-laid`.
pub(super) fn default_folder(file: &Path, done: &str) -> PathBuf {
    let stem = file.file_stem().map_or_else(|| "pattern".into(), |s| s.to_string_lossy());
    let stem = if stem == "-" { "pattern".into() } else { stem };
    PathBuf::from(format!("{stem}-{done}"))
}

/// Every file the command writes, by name.
fn pictures(
    prediction: &Prediction,
    full_size: Option<Sheets>,
) -> Result<Vec<(String, Vec<u8>)>, CannotRun> {
    let mut out = Vec::new();
    for picture in report::pictures(prediction) {
        let png = report::png(&picture.svg).map_err(|e| CannotRun::Stage(e.to_string()))?;
        out.push((format!("{}.svg", picture.name), picture.svg.into_bytes()));
        out.push((format!("{}.png", picture.name), png));
    }
    out.push(("numbers.json".into(), report::json(prediction).into_bytes()));
    for table in report::tables(prediction) {
        out.push((format!("{}.csv", table.name), table.csv.into_bytes()));
    }
    if let Some(sheets) = full_size {
        let paper = sheets.paper();
        let sheet = |s: report::Picture| (format!("{}.svg", s.name), s.svg.into_bytes());
        out.extend(report::full_size(prediction, paper).into_iter().map(sheet));
        #[cfg(feature = "pdf")]
        out.push((
            "full-size.pdf".into(),
            report::full_size_pdf(prediction, paper)
                .map_err(|e| CannotRun::Stage(e.to_string()))?,
        ));
    }
    Ok(out)
}

pub(super) fn progress_bar() -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::new_spinner();
    if let Ok(style) = ProgressStyle::with_template("{spinner} {msg}") {
        bar.set_style(style);
    }
    bar
}

/// Shows a step; breaks once Ctrl-C was pressed.
pub(super) fn tell(bar: &ProgressBar, step: Step) -> ControlFlow<()> {
    bar.set_message(match step {
        Step::Working => "working the rows".to_owned(),
        Step::Meshing(n) => format!("meshing {n} stitches"),
        Step::Settling { iteration, residual } => {
            format!("settling: step {iteration}, unbalanced force {residual:.1e}")
        }
    });
    bar.tick();
    interrupt::flow()
}
