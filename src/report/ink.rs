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
pub(super) const DEEP: Colour = [8, 62, 80];
/// Right edge.
pub(super) const WARM: Colour = [216, 140, 50];
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

    /// Full colour blindness of three kinds, on linear RGB: Machado, Oliveira and Fernandes, IEEE
    /// Trans. Vis. Comput. Graph. 15 (2009) 1291, severity 1, matrices from memory.
    const BLINDNESS: [[[f64; 3]; 3]; 3] = [
        [
            [0.152286, 1.052583, -0.204868],
            [0.114503, 0.786281, 0.099216],
            [-0.003882, -0.048116, 1.051998],
        ],
        [
            [0.367322, 0.860646, -0.227968],
            [0.280085, 0.672501, 0.047413],
            [-0.011820, 0.042940, 0.968881],
        ],
        [
            [1.255528, -0.076749, -0.178779],
            [-0.078411, 0.930809, 0.147602],
            [0.004733, 0.691367, 0.303900],
        ],
    ];

    fn seen(colour: Colour, eyes: &[[f64; 3]; 3]) -> Colour {
        let linear = colour.map(|c| {
            let c = f64::from(c) / 255.0;
            if c <= 0.04045 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) }
        });
        eyes.map(|row| {
            let c = (row[0] * linear[0] + row[1] * linear[1] + row[2] * linear[2]).clamp(0.0, 1.0);
            let c = if c <= 0.0031308 { 12.92 * c } else { 1.055 * c.powf(1.0 / 2.4) - 0.055 };
            (c * 255.0).round() as u8
        })
    }

    #[test]
    fn colour_blind_eyes_see_the_same_order() {
        for eyes in &BLINDNESS {
            for step in 0..8 {
                let at = |n: i32| seen(strain(-1.0 + 0.25 * f64::from(n)), eyes);
                let (low, high) = (at(step), at(step + 1));
                assert!(luminance(high) > luminance(low), "{eyes:?} {step}");
                assert!(contrast(low, high) > 1.1, "{eyes:?} {step}: {}", contrast(low, high));
            }
            assert!(contrast(seen(DEEP, eyes), seen(WARM, eyes)) >= 3.0, "{eyes:?}");
            assert!(contrast(seen(PLAN, eyes), seen(CLOTH, eyes)) >= 3.0, "{eyes:?}");
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
