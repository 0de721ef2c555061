//! Files asked for by name: reports and meshes.

use std::path::{Path, PathBuf};

use clap::{Args, ValueEnum};
use slantwise::predict::{Blocks, ClosedPiece, Hanging, HungRounds, Prediction, RoundBlocks};
use slantwise::report::{self, Paper, Study};

use super::files::{self, CannotRun};

/// Whole reports.
#[derive(Debug, Args)]
pub(super) struct Reports {
    /// Also write the whole report as one file: FILE.html (opens in any browser, no network) or
    /// FILE.pdf; may be given more than once.
    #[arg(long, value_name = "FILE", value_parser = report_file)]
    pub(super) report: Vec<PathBuf>,
}

/// Sheets to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Sheets {
    /// 210 x 297 mm.
    A4,
    /// 8 1/2 x 11 in.
    Letter,
}

impl Sheets {
    pub(super) fn paper(self) -> Paper {
        match self {
            Self::A4 => Paper::A4,
            Self::Letter => Paper::Letter,
        }
    }
}

fn ending(path: &Path) -> String {
    path.extension().map(|e| e.to_string_lossy().to_lowercase()).unwrap_or_default()
}

fn named(text: &str, what: &str, fits: &[&str]) -> Result<PathBuf, String> {
    let path = PathBuf::from(text);
    let ending = ending(&path);
    if fits.contains(&ending.as_str()) {
        return Ok(path);
    }
    let found =
        if ending.is_empty() { "no ending".into() } else { format!("the ending .{ending}") };
    let fits: Vec<String> = fits.iter().map(|f| format!("FILE.{f}")).collect();
    Err(format!("`{text}` has {found}; {what} is {}", fits.join(" or ")))
}

fn report_file(text: &str) -> Result<PathBuf, String> {
    let path = named(text, "a report", &["html", "pdf"])?;
    if cfg!(not(feature = "pdf")) && ending(&path) == "pdf" {
        return Err(format!(
            "`{text}`: this build sets no PDF (feature `pdf` is off); FILE.html fits"
        ));
    }
    Ok(path)
}

pub(super) fn mesh_file(text: &str) -> Result<PathBuf, String> {
    named(text, "a mesh", &["obj", "gltf"])
}

/// Files by full name.
pub(super) type Named = Vec<(PathBuf, Vec<u8>)>;

/// Reports on the piece lying flat.
pub(super) fn laid(reports: &Reports, prediction: &Prediction) -> Result<Named, CannotRun> {
    made(reports, &|| report::html(prediction), &|| pdf(prediction))
}

/// Reports on blocking.
pub(super) fn blocked(reports: &Reports, blocks: &Blocks) -> Result<Named, CannotRun> {
    made(reports, &|| report::blocking_html(blocks), &|| blocking_pdf(blocks))
}

/// Reports on hanging.
pub(super) fn hung(reports: &Reports, hung: &Hanging) -> Result<Named, CannotRun> {
    made(reports, &|| report::hanging_html(hung), &|| hanging_pdf(hung))
}

/// Reports on a piece in closed rounds as it lies.
pub(super) fn laid_rounds(reports: &Reports, piece: &ClosedPiece) -> Result<Named, CannotRun> {
    made(reports, &|| report::rounds_html(piece), &|| rounds_pdf(piece))
}

/// Reports on blocking a piece in closed rounds.
pub(super) fn blocked_rounds(reports: &Reports, blocks: &RoundBlocks) -> Result<Named, CannotRun> {
    made(reports, &|| report::rounds_blocking_html(blocks), &|| rounds_blocking_pdf(blocks))
}

/// Reports on hanging a piece in closed rounds.
pub(super) fn hung_rounds(reports: &Reports, hung: &HungRounds) -> Result<Named, CannotRun> {
    made(reports, &|| report::rounds_hanging_html(hung), &|| rounds_hanging_pdf(hung))
}

/// Reports on a study.
pub(super) fn studied(reports: &Reports, study: &Study<'_>) -> Result<Named, CannotRun> {
    made(reports, &|| report::study_html(study), &|| study_pdf(study))
}

#[cfg(feature = "pdf")]
fn study_pdf(study: &Study<'_>) -> Result<Vec<u8>, String> {
    report::study_pdf(study).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn study_pdf(_: &Study<'_>) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(feature = "pdf")]
fn pdf(prediction: &Prediction) -> Result<Vec<u8>, String> {
    report::pdf(prediction).map_err(|e| e.to_string())
}

#[cfg(feature = "pdf")]
fn blocking_pdf(blocks: &Blocks) -> Result<Vec<u8>, String> {
    report::blocking_pdf(blocks).map_err(|e| e.to_string())
}

#[cfg(feature = "pdf")]
fn hanging_pdf(hung: &Hanging) -> Result<Vec<u8>, String> {
    report::hanging_pdf(hung).map_err(|e| e.to_string())
}

#[cfg(feature = "pdf")]
fn rounds_pdf(piece: &ClosedPiece) -> Result<Vec<u8>, String> {
    report::rounds_pdf(piece).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn rounds_pdf(_: &ClosedPiece) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(feature = "pdf")]
fn rounds_blocking_pdf(blocks: &RoundBlocks) -> Result<Vec<u8>, String> {
    report::rounds_blocking_pdf(blocks).map_err(|e| e.to_string())
}

#[cfg(feature = "pdf")]
fn rounds_hanging_pdf(hung: &HungRounds) -> Result<Vec<u8>, String> {
    report::rounds_hanging_pdf(hung).map_err(|e| e.to_string())
}

#[cfg(not(feature = "pdf"))]
fn rounds_blocking_pdf(_: &RoundBlocks) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(not(feature = "pdf"))]
fn rounds_hanging_pdf(_: &HungRounds) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(not(feature = "pdf"))]
const NO_PDF: &str = "this build sets no PDF (feature `pdf` is off)";

#[cfg(not(feature = "pdf"))]
fn pdf(_: &Prediction) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(not(feature = "pdf"))]
fn blocking_pdf(_: &Blocks) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

#[cfg(not(feature = "pdf"))]
fn hanging_pdf(_: &Hanging) -> Result<Vec<u8>, String> {
    Err(NO_PDF.into())
}

fn made(
    reports: &Reports,
    html: &dyn Fn() -> String,
    pdf: &dyn Fn() -> Result<Vec<u8>, String>,
) -> Result<Named, CannotRun> {
    let one = |path: &PathBuf| {
        let bytes = match ending(path).as_str() {
            "pdf" => pdf().map_err(CannotRun::Stage)?,
            _ => html().into_bytes(),
        };
        Ok((path.clone(), bytes))
    };
    reports.report.iter().map(one).collect()
}

/// The mesh in the format its name asks for.
pub(super) fn mesh(path: &Path, prediction: &Prediction) -> (PathBuf, Vec<u8>) {
    let text = match ending(path).as_str() {
        "gltf" => report::gltf(prediction),
        _ => report::obj(prediction),
    };
    (path.to_owned(), text.into_bytes())
}

/// The mesh of a piece in closed rounds in the format its name asks for; none for a tube.
pub(super) fn rounds_mesh(path: &Path, piece: &ClosedPiece) -> Option<(PathBuf, Vec<u8>)> {
    let text = match ending(path).as_str() {
        "gltf" => report::rounds_gltf(piece),
        _ => report::rounds_obj(piece),
    };
    Some((path.to_owned(), text?.into_bytes()))
}

/// The hung mesh in the format its name asks for.
pub(super) fn hung_mesh(path: &Path, hung: &Hanging) -> (PathBuf, Vec<u8>) {
    let text = match ending(path).as_str() {
        "gltf" => report::hanging_gltf(hung),
        _ => report::hanging_obj(hung),
    };
    (path.to_owned(), text.into_bytes())
}

/// The hung mesh of a piece in closed rounds in the format its name asks for.
pub(super) fn hung_rounds_mesh(path: &Path, hung: &HungRounds) -> (PathBuf, Vec<u8>) {
    let text = match ending(path).as_str() {
        "gltf" => report::rounds_hanging_gltf(hung),
        _ => report::rounds_hanging_obj(hung),
    };
    (path.to_owned(), text.into_bytes())
}

/// Writes each file whole or not at all; returns the words that say where they are.
pub(super) fn write(named: Named) -> Result<String, CannotRun> {
    let mut said = String::new();
    for (path, bytes) in named {
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        files::write_all(folder, &[(name, bytes)])?;
        said += &format!("Written: {}\n", path.display());
    }
    Ok(said)
}
