//! Charts with axes, drawn by plotters into a string of SVG.

use plotters::coord::Shift;
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;

use super::ink;
use super::typeface;

/// What drawing a chart on plotters' SVG backend can go wrong with.
pub(super) type Drawn = Result<(), Box<dyn std::error::Error>>;

/// A chart area being drawn.
pub(super) type Area<'a> = DrawingArea<SVGBackend<'a>, Shift>;

/// Draws a chart of `size` page units. Text and lines go into a string, so that only an unreadable
/// embedded typeface could fail; the chart then says so instead of being left out.
pub(super) fn chart(size: (u32, u32), draw: impl FnOnce(&Area<'_>) -> Drawn) -> String {
    typeface::register();
    let mut svg = String::new();
    let outcome = {
        let area = SVGBackend::with_string(&mut svg, size).into_drawing_area();
        draw(&area).and_then(|()| area.present().map_err(Into::into))
    };
    match outcome {
        Ok(()) => svg,
        Err(error) => format!(
            "<svg width=\"{}\" height=\"{}\"><text x=\"20\" y=\"60\">this chart could not be drawn: {}</text></svg>",
            size.0,
            size.1,
            super::sheet::escape(&error.to_string())
        ),
    }
}

/// Axes of numbers with something drawn on them.
pub(super) type Plot<'a, 'b> =
    ChartContext<'a, SVGBackend<'b>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

pub(super) const fn colour([r, g, b]: ink::Colour) -> RGBColor {
    RGBColor(r, g, b)
}

/// Label type for plotters: it sets type at 1/1.24 of the size it is given (its SVG backend's own
/// factor).
pub(super) fn label(colour_of: ink::Colour) -> TextStyle<'static> {
    (typeface::FAMILY, ink::LABEL * 1.24).into_font().color(&colour(colour_of))
}

/// A tick's value with the fewest digits that show it, a true minus and no "-0".
pub(super) fn tick(value: f64, range: f64) -> String {
    let shows = |digits: usize| {
        let text = format!("{value:.digits$}");
        let back: f64 = text.parse().unwrap_or(f64::NAN);
        ((back - value).abs() < range * 1e-6).then_some(text)
    };
    let text = (0..4).find_map(shows).unwrap_or_else(|| format!("{value:.4}"));
    if text.trim_start_matches('-').chars().all(|c| c == '0' || c == '.') {
        return "0".into();
    }
    text.replace('-', "−")
}

#[cfg(test)]
mod tests {
    use super::tick;

    #[test]
    fn ticks_show_no_more_digits_than_they_need() {
        assert_eq!(tick(2.0, 10.0), "2");
        assert_eq!(tick(-0.5, 3.0), "−0.5");
        assert_eq!(tick(-1e-12, 3.0), "0");
        assert_eq!(tick(0.30000000000000004, 1.0), "0.3");
    }
}
