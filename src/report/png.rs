//! PNG from the very SVG that is written, with the embedded typeface only.

use std::sync::Arc;
use std::sync::OnceLock;

use resvg::tiny_skia::Pixmap;
use resvg::tiny_skia::Transform;
use resvg::usvg::Options;
use resvg::usvg::Tree;
use resvg::usvg::fontdb::Database;

use super::palette;
use super::typeface;

/// Why an SVG could not be turned into a PNG.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum PngError {
    /// The SVG cannot be read.
    #[error("picture cannot be read back: {0}")]
    Unreadable(String),
    /// Width or height of zero, or more pixels than memory holds.
    #[error("picture of {width} x {height} pixels cannot be drawn")]
    Size {
        /// Pixels across.
        width: u32,
        /// Pixels down.
        height: u32,
    },
    /// The PNG could not be encoded.
    #[error("picture cannot be encoded: {0}")]
    Encoding(String),
}

/// Renders `svg` at its own size (its `width` and `height` in pixels).
///
/// # Errors
/// [`PngError`] when the SVG is no SVG or too large to draw.
pub fn png(svg: &str) -> Result<Vec<u8>, PngError> {
    let tree = parse(svg)?;
    let size = tree.size().to_int_size();
    let (width, height) = (size.width(), size.height());
    let mut pixels = Pixmap::new(width, height).ok_or(PngError::Size { width, height })?;
    resvg::render(&tree, Transform::identity(), &mut pixels.as_mut());
    // A page that ends between two pixels leaves a rim half clear; paper shows through there. Colours
    // come multiplied by their own opacity.
    let on_paper = |&[r, g, b, a]: &[u8; 4]| [r, g, b].map(|c| c.saturating_add(255 - a));
    let opaque: Vec<[u8; 3]> = pixels.data().as_chunks().0.iter().map(on_paper).collect();
    palette::encode(&opaque, [width, height]).map_err(|e| PngError::Encoding(e.to_string()))
}

/// The SVG as the renderer reads it.
///
/// # Errors
/// [`PngError::Unreadable`].
pub(super) fn parse(svg: &str) -> Result<Tree, PngError> {
    let options = Options {
        font_family: typeface::FAMILY.into(),
        fontdb: Arc::clone(faces()),
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|e| PngError::Unreadable(e.to_string()))
}

fn faces() -> &'static Arc<Database> {
    static FACES: OnceLock<Arc<Database>> = OnceLock::new();
    FACES.get_or_init(|| {
        let mut database = Database::new();
        database.load_font_data(typeface::REGULAR.to_vec());
        database.load_font_data(typeface::BOLD.to_vec());
        database.set_sans_serif_family(typeface::FAMILY);
        Arc::new(database)
    })
}
