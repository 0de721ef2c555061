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
use crate::predict::Blocks;
use crate::predict::Prediction;

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

fn bound(document: &Document) -> Result<Vec<u8>, PdfError> {
    let lost = |what: &str| PdfError::Setting(what.to_owned());
    let [width, height] = paper::PAGE.map(|side| side as f32);
    let settings =
        PageSettings::from_wh(width, height).ok_or_else(|| lost("its pages have no size"))?;
    let size = Size::from_wh(width, height).ok_or_else(|| lost("its pages have no size"))?;
    let mut pdf = Pdf::new();
    let about = Metadata::new().title(document.title.clone()).language("en".into());
    pdf.set_metadata(about);
    for svg in paper::pages(document) {
        let tree = parse(&svg)?;
        let mut page = pdf.start_page_with(settings.clone());
        let mut surface = page.surface();
        surface
            .draw_svg(&tree, size, SvgSettings::default())
            .ok_or_else(|| lost("a page cannot be drawn"))?;
        surface.finish();
        page.finish();
    }
    pdf.finish().map_err(|e| PdfError::Setting(format!("{e:?}")))
}
