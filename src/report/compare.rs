//! Predictions side by side: a table, overlaid outlines, and the measures of each as dots on a line.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::outline;
use super::sheet::{Anchor, Pen, Sheet, Type};
use super::typeface;
use super::view::View;
use super::words;
use crate::predict::Prediction;
use crate::units::Length;
use crate::units::UnitSystem;

/// A prediction with the name it is compared under.
#[derive(Debug, Clone, Copy)]
pub struct Variant<'a> {
    /// Its name, e.g. "dc every 4th row".
    pub name: &'a str,
    /// What is predicted for it.
    pub prediction: &'a Prediction,
}

/// One measure of a variant: a number to draw and words to print, for the left and the right edge
/// where they differ.
struct Measure {
    name: &'static str,
    values: fn(&Prediction) -> [f64; 2],
    words: fn(UnitSystem, [f64; 2]) -> String,
}

const MEASURES: [Measure; 5] = [
    Measure {
        name: "slant",
        values: |p| p.measured.edges.each_ref().map(|e| e.slant.to_degrees()),
        words: |_, [l, r]| format!("{} / {}", angle(l), angle(r)),
    },
    Measure {
        name: "off straight",
        values: |p| p.measured.edges.each_ref().map(|e| e.minimum_zone.to_mm()),
        words: |units, [l, r]| match units {
            UnitSystem::Metric => format!("{l:.1} / {r:.1} mm"),
            UnitSystem::Imperial => format!("{:.2} / {:.2} in", l / 25.4, r / 25.4),
        },
    },
    Measure {
        name: "across",
        values: |p| [p.measured.square_to_edges.to_mm(); 2],
        words: |units, [mm, _]| units.length(Length::mm(mm)),
    },
    Measure {
        name: "along",
        values: |p| {
            let [l, r] = p.measured.edges.each_ref().map(|e| e.chord.to_mm());
            [(l + r) / 2.0; 2]
        },
        words: |units, [mm, _]| units.length(Length::mm(mm)),
    },
    Measure {
        name: "yarn",
        values: |p| [p.measured.yarn.iter().map(|y| y.length.to_m()).sum(); 2],
        words: |units, [m, _]| words::yarn(units, Length::m(m)),
    },
];

fn angle(degrees: f64) -> String {
    words::degrees(crate::units::Angle::degrees(degrees))
}

/// Variants as rows of one table, in the first one's units; at most a hundred columns wide.
pub fn comparison_text(variants: &[Variant<'_>]) -> String {
    let Some(first) = variants.first() else { return String::new() };
    let units = first.prediction.units;
    let head: Vec<String> =
        std::iter::once("").chain(MEASURES.iter().map(|m| m.name)).map(String::from).collect();
    let mut lines = vec![head];
    for variant in variants {
        let cells = MEASURES.iter().map(|m| (m.words)(units, (m.values)(variant.prediction)));
        let name: String = variant.name.chars().take(30).collect();
        lines.push(std::iter::once(name).chain(cells).collect());
    }
    let width = |column: usize| {
        lines.iter().map(|line| line[column].chars().count()).max().unwrap_or_default()
    };
    let widths: Vec<usize> = (0..=MEASURES.len()).map(width).collect();
    let mut out = String::new();
    for (nth, line) in lines.iter().enumerate() {
        let mut row = format!("{:<1$}", line[0], widths[0]);
        for (cell, width) in line.iter().zip(&widths).skip(1) {
            let _ = write!(row, "  {cell:>width$}");
        }
        let _ = writeln!(out, "{}", row.trim_end());
        if nth == 0 {
            let rule = widths.iter().sum::<usize>() + 2 * MEASURES.len();
            let _ = writeln!(out, "{}", "-".repeat(rule));
        }
    }
    let _ = writeln!(out, "\nSlant and straightness are given for the left and the right edge.");
    out
}

/// Overlaid outlines, and every measure of every variant as dots.
pub fn comparison_pictures(variants: &[Variant<'_>]) -> Vec<Picture> {
    if variants.is_empty() {
        return Vec::new();
    }
    // Closed rounds have no edges to measure.
    let open = |v: &Variant<'_>| v.prediction.measured.closed.is_none();
    let mut all = vec![outlines(variants)];
    all.extend(variants.iter().all(open).then(|| measures(variants)));
    all
}

/// Colour and dash of the nth variant: no two of the first nine share both.
fn pen(nth: usize) -> Pen {
    let colour = [ink::DEEP, ink::WARM, ink::PLAN][nth % 3];
    let pen = Pen::new(colour, 4.0);
    match nth / 3 % 3 {
        0 => pen,
        1 => pen.dashed(22.0, 10.0),
        _ => pen.dashed(6.0, 8.0),
    }
}

fn outlines(variants: &[Variant<'_>]) -> Picture {
    let mut sheet = Sheet::new();
    let title = "Outlines compared";
    let shown: Vec<&[[f64; 2]]> =
        variants.iter().map(|v| v.prediction.measured.outline.as_slice()).collect();
    let view = View::of(&variants[0].prediction.measured, &shown);
    let closed = variants.iter().any(|v| v.prediction.measured.closed.is_some());
    let way = if closed { "closed rounds cut open along their joins" } else { view.words() };
    let note = format!("Lower left corners and rows laid together; {way}");
    let top = sheet.heading(title, &note);
    let mut top = top + 10.0;
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let mut x = 0.0;
    for (nth, variant) in variants.iter().enumerate() {
        let name = typeface::fit(variant.name, ink::LABEL, false, room - 110.0);
        let wide = 106.0 + typeface::width(&name, ink::LABEL, false);
        if x > 0.0 && x + wide > room {
            (x, top) = (0.0, top + 44.0);
        }
        let left = ink::MARGIN + x;
        sheet.line([left, top + 8.0], [left + 84.0, top + 8.0], pen(nth));
        sheet.text([left + 98.0, top + 18.0], &name, Type::LABEL);
        x += wide + 50.0;
    }
    let placed = view.placed([ink::MARGIN, top + 70.0], [room, 1400.0]);
    for (nth, outline) in shown.iter().enumerate() {
        sheet.polygon(&placed.points(outline), None, Some(pen(nth)));
    }
    let bottom = top + 70.0 + placed.box_on_page()[1] + 60.0;
    let units = variants[0].prediction.units;
    outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, units);
    sheet.set_height(bottom + 70.0);
    let words = format!("{} outlines laid over one another.", variants.len());
    Picture { name: "compare-outlines".into(), svg: sheet.finish(title, &words) }
}

/// Room of a variant's name; the measures share the rest.
const NAME: f64 = 560.0;
/// Height of a variant's line.
const ROW: f64 = 86.0;

fn measures(variants: &[Variant<'_>]) -> Picture {
    let mut sheet = Sheet::new();
    let title = "Measures compared";
    let note = "Full dots: left edge or whole piece; rings: right edge; each line runs from the least to the most";
    let top = sheet.heading(title, note) + 50.0;
    let wide = (ink::PAGE - 2.0 * ink::MARGIN - NAME) / MEASURES.len() as f64;
    for (nth, variant) in variants.iter().enumerate() {
        let y = top + 40.0 + ROW * nth as f64;
        let name = typeface::fit(variant.name, ink::LABEL, false, NAME - 24.0);
        sheet.text([ink::MARGIN, y + 10.0], &name, Type::LABEL);
    }
    for (column, measure) in MEASURES.iter().enumerate() {
        let left = ink::MARGIN + NAME + wide * column as f64;
        strip(&mut sheet, [left, top], wide, measure, variants);
    }
    sheet.set_height(top + 40.0 + ROW * variants.len() as f64 + 30.0);
    let words = comparison_text(variants);
    Picture { name: "compare-measures".into(), svg: sheet.finish(title, &words) }
}

/// One measure of all variants: a line each, dots on it, the value in words below the dots.
fn strip(sheet: &mut Sheet, at: [f64; 2], wide: f64, measure: &Measure, variants: &[Variant<'_>]) {
    let units = variants[0].prediction.units;
    let [left, top] = at;
    let long = wide - 50.0;
    let name = typeface::fit(measure.name, ink::LABEL, true, long + 30.0);
    sheet.text([left, top], &name, Type::LABEL.bold());
    let values: Vec<[f64; 2]> = variants.iter().map(|v| (measure.values)(v.prediction)).collect();
    let known = || values.iter().flatten().copied().filter(|v| v.is_finite());
    let (least, most) =
        (known().fold(f64::INFINITY, f64::min), known().fold(f64::NEG_INFINITY, f64::max));
    let place = |value: f64| match most - least {
        range if range > 1e-9 => left + 12.0 + (value - least) / range * (long - 24.0),
        _ => left + long / 2.0,
    };
    for (nth, pair) in values.iter().enumerate() {
        let y = top + 40.0 + ROW * nth as f64;
        sheet.line([left, y - 12.0], [left + long, y - 12.0], Pen::new(ink::FAINT, 3.0));
        if let [l, r] = *pair
            && l.is_finite()
            && r.is_finite()
        {
            sheet.ring([place(r), y - 12.0], 11.0, ink::DEEP);
            sheet.dot([place(l), y - 12.0], 7.0, ink::DEEP);
        }
        let words = typeface::fit(&(measure.words)(units, *pair), ink::LABEL, false, long + 30.0);
        sheet.text([left, y + 30.0], &words, Type::LABEL.anchored(Anchor::Start));
    }
}
