//! The outline at full size over several sheets of paper, to lay the real piece on.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::sheet::{Point, escape, path_of};
use super::typeface;
use super::view::View;
use crate::predict::Prediction;
use crate::units::UnitSystem;

/// Paper to print on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Paper {
    /// 210 x 297 mm (ISO 216).
    A4,
    /// 8 1/2 x 11 in.
    Letter,
}

/// Unprinted margin, mm; most printers leave less.
const MARGIN: f64 = 12.0;
/// Neighbouring sheets share this much, mm.
const OVERLAP: f64 = 10.0;
/// Type size, mm.
const TYPE: f64 = 3.6;

impl Paper {
    /// Width and height, mm.
    pub(super) const fn size(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::Letter => [215.9, 279.4],
        }
    }

    /// Width and height of what is drawn, mm.
    fn drawn(self) -> [f64; 2] {
        self.size().map(|side| side - 2.0 * MARGIN)
    }

    const fn name(self) -> &'static str {
        match self {
            Self::A4 => "A4",
            Self::Letter => "Letter",
        }
    }
}

/// One part of the piece: where it lies and what it is called.
struct Part {
    column: usize,
    row: usize,
    /// Upper left corner in the turned piece, mm, y down.
    corner: Point,
}

/// The predicted (solid) and planned (dashed) outline at full size, one picture a sheet, in reading
/// order; sheets that no outline crosses are left out. Units of the pictures are millimetres.
pub fn full_size(prediction: &Prediction, paper: Paper) -> Vec<Picture> {
    let measured = &prediction.measured;
    let planned = prediction.planned.outline.as_deref().unwrap_or_default();
    // At a scale of one, page units are millimetres.
    let view = View::of(measured, &[&measured.outline, planned]);
    let outlines = [view.points(&measured.outline), view.points(planned)];
    let parts = parts(view.box_mm(), paper, &outlines);
    let many = parts.len();
    let draw = |(nth, part): (usize, &Part)| {
        let words = format!(
            "{}, sheet {} of {many}: column {}, row {}; {}",
            prediction.title,
            nth + 1,
            part.column + 1,
            part.row + 1,
            view.words()
        );
        let svg = sheet(part, paper, &outlines, &words, prediction.units);
        Picture { name: format!("full-size-{:02}", nth + 1), svg }
    };
    parts.iter().enumerate().map(draw).collect()
}

fn parts(size: [f64; 2], paper: Paper, outlines: &[Vec<Point>; 2]) -> Vec<Part> {
    let drawn = paper.drawn();
    let step = drawn.map(|side| side - OVERLAP);
    let count = [0, 1].map(|k| ((size[k] - OVERLAP) / step[k]).ceil().max(1.0) as usize);
    let mut parts = Vec::new();
    for row in 0..count[1] {
        for column in 0..count[0] {
            let corner = [column as f64 * step[0], row as f64 * step[1]];
            if outlines.iter().any(|outline| crosses(outline, corner, drawn)) {
                parts.push(Part { column, row, corner });
            }
        }
    }
    parts
}

/// Whether any side of the polygon enters the rectangle, looked for every millimetre.
fn crosses(outline: &[Point], corner: Point, size: [f64; 2]) -> bool {
    let holds = |p: Point| (0..2).all(|k| (corner[k]..=corner[k] + size[k]).contains(&p[k]));
    (0..outline.len()).any(|i| {
        let (a, b) = (outline[i], outline[(i + 1) % outline.len()]);
        let steps = (a[0] - b[0]).hypot(a[1] - b[1]).ceil().clamp(1.0, 1e5) as usize;
        (0..=steps).any(|s| {
            let part = s as f64 / steps as f64;
            holds([0, 1].map(|k| a[k] + (b[k] - a[k]) * part))
        })
    })
}

fn sheet(
    part: &Part,
    paper: Paper,
    outlines: &[Vec<Point>; 2],
    words: &str,
    units: UnitSystem,
) -> String {
    let [width, height] = paper.size();
    let [w, h] = paper.drawn();
    let [x, y] = part.corner;
    let mut svg = String::new();
    let _ = write!(
        svg,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" font-family=\"{}\" role=\"img\">\n<title>{}</title>\n\
         <rect width=\"{width}\" height=\"{height}\" fill=\"#ffffff\"/>\n\
         <svg x=\"{MARGIN}\" y=\"{MARGIN}\" width=\"{w}\" height=\"{h}\" viewBox=\"{x} {y} {w} {h}\">\n",
        typeface::FAMILY_IN_SVG,
        escape(words)
    );
    let pens = [(ink::DEEP, ""), (ink::PLAN, " stroke-dasharray=\"4 2.5\"")];
    for (outline, (colour, dash)) in outlines.iter().zip(pens).filter(|(o, _)| !o.is_empty()) {
        let (data, colour) = (path_of(outline, true), ink::hex(colour));
        let _ = writeln!(
            svg,
            "<path d=\"{data}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"0.6\"{dash}/>"
        );
    }
    svg.push_str("</svg>\n");
    marks(&mut svg, paper);
    foot(&mut svg, paper, words, units);
    svg.push_str("</svg>\n");
    svg
}

/// Crosses that come to lie on one another where sheets overlap: at the middle of each overlap, near
/// both ends of each side.
fn marks(svg: &mut String, paper: Paper) {
    let [w, h] = paper.drawn();
    let half = OVERLAP / 2.0;
    for x in [MARGIN + half, MARGIN + w - half] {
        for y in [MARGIN + half, MARGIN + h - half] {
            let _ = writeln!(
                svg,
                "<path d=\"M{:.2} {y:.2}h6M{x:.2} {:.2}v6\" stroke=\"#5c6670\" stroke-width=\"0.25\"/>",
                x - 3.0,
                y - 3.0
            );
        }
    }
}

/// Which sheet it is, and a line to check the printer's scale by.
fn foot(svg: &mut String, paper: Paper, words: &str, units: UnitSystem) {
    let [width, height] = paper.size();
    let (long, name) = match units {
        UnitSystem::Metric => (50.0, "5 cm"),
        UnitSystem::Imperial => (50.8, "2 in"),
    };
    let y = height - 4.6;
    let check = format!("{name} if printed at full size on {}", paper.name());
    let left = MARGIN + long + 3.0;
    let _ = writeln!(
        svg,
        "<path d=\"M{MARGIN} {y:.2}h{long}M{MARGIN} {:.2}v3M{:.2} {:.2}v3\" stroke=\"#1e262e\" stroke-width=\"0.3\"/>\n\
         <text x=\"{left:.2}\" y=\"{:.2}\" font-size=\"{TYPE}\" fill=\"#1e262e\">{}</text>\n\
         <text x=\"{MARGIN}\" y=\"7.5\" font-size=\"{TYPE}\" fill=\"#1e262e\">{}</text>",
        y - 1.5,
        MARGIN + long,
        y - 1.5,
        y + 1.2,
        escape(&check),
        escape(&typeface::fit(words, TYPE, false, width - 2.0 * MARGIN)),
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight line of 1 m runs over the sheets one after the other, and no sheet lies idle.
    #[test]
    fn parts_cover_the_outline_and_overlap() {
        let line = [vec![[0.0, 5.0], [1000.0, 5.0], [1000.0, 6.0]], Vec::new()];
        for paper in [Paper::A4, Paper::Letter] {
            let parts = parts([1000.0, 600.0], paper, &line);
            let [w, _] = paper.drawn();
            assert!(parts.iter().all(|part| part.row == 0));
            assert_eq!(parts[0].corner, [0.0, 0.0]);
            for pair in parts.windows(2) {
                let shared = pair[0].corner[0] + w - pair[1].corner[0];
                assert!((shared - OVERLAP).abs() < 1e-9, "{shared}");
            }
            assert!(parts[parts.len() - 1].corner[0] + w >= 1000.0);
        }
    }
}
