//! Colours and sizes of every picture.
//!
//! Meaning is never carried by hue alone: planned is dashed, the left edge is dark and the right one
//! light, and the strain scale grows steadily lighter, so that it reads in greyscale and for
//! colour-blind eyes.

/// An opaque colour.
pub(super) type Colour = [u8; 3];

/// Text and predicted lines.
pub(super) const INK: Colour = [30, 38, 46];
/// Secondary text.
pub(super) const QUIET: Colour = [92, 102, 112];
/// Grid lines and frames.
pub(super) const FAINT: Colour = [221, 225, 229];
/// Page.
pub(super) const PAPER: Colour = [255, 255, 255];
/// Predicted fabric.
pub(super) const CLOTH: Colour = [226, 236, 238];
/// Predicted outline and left edge.
pub(super) const DEEP: Colour = [14, 79, 99];
/// Right edge.
pub(super) const WARM: Colour = [214, 137, 48];
/// Planned outline.
pub(super) const PLAN: Colour = [158, 62, 44];
/// Minimum zone.
pub(super) const ZONE: Colour = [240, 232, 216];

/// Canvas width. Pictures are shown at half of it, because chart coordinates are whole pixels.
pub(super) const PAGE: f64 = 2400.0;
/// Canvas units per shown pixel.
pub(super) const SHOWN: f64 = 2.0;
/// Page margin.
pub(super) const MARGIN: f64 = 70.0;
/// Size of the title.
pub(super) const TITLE: f64 = 46.0;
/// Size of labels.
pub(super) const LABEL: f64 = 28.0;

/// Lightness rises steadily from squeezed (dark plum) to stretched (pale straw).
const STRAIN_STOPS: [Colour; 5] =
    [[52, 22, 66], [44, 80, 118], [92, 142, 138], [178, 194, 138], [250, 240, 190]];

/// Colour of a strain, `share` from -1 (most squeezed) to 1 (most stretched).
pub(super) fn strain(share: f64) -> Colour {
    let place = (share.clamp(-1.0, 1.0) + 1.0) / 2.0 * (STRAIN_STOPS.len() - 1) as f64;
    let low = (place.floor() as usize).min(STRAIN_STOPS.len() - 2);
    let part = place - low as f64;
    let (a, b) = (STRAIN_STOPS[low], STRAIN_STOPS[low + 1]);
    [0, 1, 2].map(|i| (f64::from(a[i]) * (1.0 - part) + f64::from(b[i]) * part).round() as u8)
}

/// `#rrggbb`.
pub(super) fn hex(colour: Colour) -> String {
    let [r, g, b] = colour;
    format!("#{r:02x}{g:02x}{b:02x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance by WCAG 2.1, formula from memory.
    fn luminance(colour: Colour) -> f64 {
        let [r, g, b] = colour.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        });
        0.2126 * r + 0.7152 * g + 0.0722 * b
    }

    fn contrast(a: Colour, b: Colour) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn the_strain_scale_grows_lighter_in_steps_that_show() {
        for step in 0..8 {
            let (low, high) =
                (strain(-1.0 + 0.25 * f64::from(step)), strain(-0.75 + 0.25 * f64::from(step)));
            assert!(contrast(low, high) > 1.12 && luminance(high) > luminance(low), "{step}");
        }
    }

    /// WCAG 2.1 asks 4.5 for text, 3 for lines that carry meaning.
    #[test]
    fn text_and_lines_stand_out_from_the_page() {
        for colour in [INK, QUIET, DEEP, PLAN] {
            assert!(contrast(colour, PAPER) >= 4.5, "{colour:?}");
        }
        assert!(contrast(DEEP, WARM) >= 3.0);
        assert!(contrast(PLAN, CLOTH) >= 4.5);
    }
}
