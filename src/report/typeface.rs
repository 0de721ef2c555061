//! The embedded typeface: DejaVu Sans, cut to the letters a report needs.
//!
//! No font of the system is ever asked for, so that a picture is the same on every machine and text
//! is as wide as it was measured.

use std::sync::OnceLock;

use plotters::style::FontStyle;
use plotters::style::IntoFont;
use plotters::style::register_font;

/// Family name, as plotters and the SVG renderer know it.
pub(super) const FAMILY: &str = "DejaVu Sans";

/// What an SVG asks for: a viewer without the first takes one of nearly the same widths.
pub(super) const FAMILY_IN_SVG: &str = "DejaVu Sans, Verdana, sans-serif";

pub(super) const REGULAR: &[u8] = include_bytes!("fonts/DejaVuSans-subset.ttf");
pub(super) const BOLD: &[u8] = include_bytes!("fonts/DejaVuSans-Bold-subset.ttf");

/// Ascender less descender over the em, by the font's own tables (1901 + 483 over 2048): plotters
/// sizes type by this height, SVG by the em.
const HEIGHT_OVER_EM: f64 = 2384.0 / 2048.0;

/// Makes the embedded faces known to plotters; false if they cannot be read.
pub(super) fn register() -> bool {
    static DONE: OnceLock<bool> = OnceLock::new();
    *DONE.get_or_init(|| {
        register_font(FAMILY, FontStyle::Normal, REGULAR).is_ok()
            && register_font(FAMILY, FontStyle::Bold, BOLD).is_ok()
    })
}

/// Width of `text` set at `size` (the em), in the unit of `size`.
pub(super) fn width(text: &str, size: f64, bold: bool) -> f64 {
    // Measured large, because plotters rounds to whole pixels.
    const LARGE: f64 = 2000.0;
    register();
    let style = if bold { FontStyle::Bold } else { FontStyle::Normal };
    let font = (FAMILY, LARGE, style).into_font();
    let pixels = font.box_size(text).map_or(0, |(w, _)| w);
    f64::from(pixels) / LARGE * HEIGHT_OVER_EM * size
}

/// `text` cut to `room` with an ellipsis, whole when it fits.
pub(super) fn fit(text: &str, size: f64, bold: bool, room: f64) -> String {
    if width(text, size, bold) <= room {
        return text.to_owned();
    }
    let mut kept: Vec<char> = text.chars().collect();
    while kept.pop().is_some() {
        let cut: String = kept.iter().collect::<String>().trim_end().to_owned() + "…";
        if width(&cut, size, bold) <= room {
            return cut;
        }
    }
    String::new()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Advance widths of the subset, from its own `hmtx` table: M 1767, i 569 of 2048.
    #[test]
    fn widths_are_the_fonts_own() {
        assert!((width("M", 2048.0, false) - 1767.0).abs() < 3.0, "{}", width("M", 2048.0, false));
        assert!((width("i", 2048.0, false) - 569.0).abs() < 3.0);
    }

    #[test]
    fn long_text_is_cut_to_the_room() {
        assert_eq!(fit("short", 20.0, false, 500.0), "short");
        let cut = fit("a very long title indeed", 20.0, false, 120.0);
        assert!(cut.ends_with('…') && width(&cut, 20.0, false) <= 120.0, "{cut}");
    }
}
