//! A report as PDF, made from the same pictures; its text can be searched and copied.

use krilla::Document as Pdf;
use krilla::geom::Size;
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla_svg::SurfaceExt as _;
use krilla_svg::SvgSettings;

use super::document;
use super::document::Document;
use super::paper;
use super::png::PngError;
use super::png::parse;
use super::rounds_document;
use super::sheets::Paper;
use super::studies;
use super::studies::Study;
use crate::predict::Blocks;
use crate::predict::ClosedPiece;
use crate::predict::Hanging;
use crate::predict::HungRounds;
use crate::predict::Prediction;
use crate::predict::RoundBlocks;

/// Why a report could not be set as PDF.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PdfError {
    /// A page cannot be read back.
    #[error(transparent)]
    Page(#[from] PngError),
    /// The PDF could not be put together.
    #[error("report cannot be set as PDF: {0}")]
    Setting(String),
}

/// The piece lying flat, the same as [`super::html`] without the view to ask. Pages are as wide as A4
/// and as tall as Letter.
///
/// # Errors
/// [`PdfError`].
pub fn pdf(prediction: &Prediction) -> Result<Vec<u8>, PdfError> {
    bound(&document::laid(prediction))
}

/// Blocking allowances compared.
///
/// # Errors
/// [`PdfError`].
pub fn blocking_pdf(blocks: &Blocks) -> Result<Vec<u8>, PdfError> {
    bound(&document::blocked(blocks))
}

/// The piece as it hangs.
///
/// # Errors
/// [`PdfError`].
pub fn hanging_pdf(hung: &Hanging) -> Result<Vec<u8>, PdfError> {
    bound(&document::hung(hung))
}

/// A piece in closed rounds as it lies.
///
/// # Errors
/// [`PdfError`].
pub fn rounds_pdf(piece: &ClosedPiece) -> Result<Vec<u8>, PdfError> {
    bound(&rounds_document::laid(piece))
}

/// Blocking allowances compared, of a piece in closed rounds.
///
/// # Errors
/// [`PdfError`].
pub fn rounds_blocking_pdf(blocks: &RoundBlocks) -> Result<Vec<u8>, PdfError> {
    bound(&rounds_document::blocked(blocks))
}

/// A piece in closed rounds as it hangs.
///
/// # Errors
/// [`PdfError`].
pub fn rounds_hanging_pdf(hung: &HungRounds) -> Result<Vec<u8>, PdfError> {
    bound(&rounds_document::hung(hung))
}

/// A study on one page after the other.
///
/// # Errors
/// [`PdfError`].
pub fn study_pdf(study: &Study<'_>) -> Result<Vec<u8>, PdfError> {
    bound(&studies::document(study))
}

/// The outline at full size, a sheet a page, to print unscaled.
///
/// # Errors
/// [`PdfError`].
pub fn full_size_pdf(prediction: &Prediction, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let sheets = super::full_size(prediction, paper).into_iter().map(|sheet| sheet.svg).collect();
    let size = paper.size().map(|mm| mm / 25.4 * 72.0);
    let title = format!("{}: outline at full size", prediction.title);
    printed(&title, sheets, size)
}

fn bound(document: &Document) -> Result<Vec<u8>, PdfError> {
    printed(&document.title, paper::pages(document), paper::PAGE)
}

/// Pages of `size` points, each drawn by its SVG.
fn printed(title: &str, pages: Vec<String>, size: [f64; 2]) -> Result<Vec<u8>, PdfError> {
    let sizeless = || PdfError::Setting("its pages have no size".to_owned());
    let [width, height] = size.map(|side| side as f32);
    let settings = PageSettings::from_wh(width, height).ok_or_else(sizeless)?;
    let size = Size::from_wh(width, height).ok_or_else(sizeless)?;
    let mut pdf = Pdf::new();
    pdf.set_metadata(Metadata::new().title(title.to_owned()).language("en".into()));
    for svg in pages {
        let tree = parse(&svg)?;
        let mut page = pdf.start_page_with(settings.clone());
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| PdfError::Setting("a page cannot be drawn".to_owned()))?;
        surface.finish();
        page.finish();
    }
    pdf.finish().map_err(|e| PdfError::Setting(format!("{e:?}")))
}
