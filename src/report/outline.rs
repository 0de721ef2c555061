//! The outline over the plan, to scale, dimensioned as a schematic.

use super::Picture;
use super::ink;
use super::sheet::{Anchor, Pen, Point, Sheet, Type};
use super::typeface;
use super::view::{View, corners};
use super::words;
use crate::predict::Prediction;
use crate::units::Length;
use crate::units::UnitSystem;

/// Distance of dimension lines from the piece.
const AWAY: f64 = 52.0;
/// Tallest drawing.
const TALLEST: f64 = 1500.0;

/// One dimension: the two points it spans, which way is outwards, its words.
struct Dimension {
    ends: [Point; 2],
    outwards: Point,
    lines: Vec<String>,
}

pub(super) fn outline(prediction: &Prediction) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: outline over plan", prediction.title);
    let measured = &prediction.measured;
    let planned = prediction.planned.outline.as_deref().unwrap_or_default();
    let unplaced = View::of(measured, &[&measured.outline, planned]);
    let top = sheet.heading(&title, &below(prediction, unplaced.words()));
    let top = legend(&mut sheet, top, !planned.is_empty());
    let (view, below) = place(prediction, unplaced, top + 24.0);
    let drawn = drawn(prediction, &view);
    sheet.polygon(&view.points(&measured.outline), Some(ink::CLOTH), None);
    if !planned.is_empty() {
        let pen = Pen::new(ink::PLAN, 5.0).dashed(22.0, 13.0);
        sheet.polygon(&view.points(planned), None, Some(pen));
    }
    sheet.polygon(&view.points(&measured.outline), None, Some(Pen::new(ink::DEEP, 4.0)));
    if prediction.measured.closed.is_none() {
        for dimension in dimensions(prediction, &view) {
            draw(&mut sheet, &dimension, &drawn);
        }
    }
    let bottom = below + 60.0;
    scale_bar(&mut sheet, [ink::MARGIN, bottom], view.scale, prediction.units);
    sheet.set_height(bottom + 70.0);
    let words = words::headline(prediction).join(" ");
    Picture { name: "outline".into(), svg: sheet.finish(&title, &words) }
}

fn below(prediction: &Prediction, way_round: &str) -> String {
    if prediction.measured.closed.is_some() {
        return format!("Cut open along the joins of its rounds; {}", prediction.gauge_state);
    }
    let [left, right] = &prediction.measured.edges;
    let plan = prediction.planned.slant.map(|s| format!(", plan {}", words::degrees(s)));
    format!(
        "Edges slant {} (left) and {} (right){}; {way_round}; {}",
        words::degrees(left.slant),
        words::degrees(right.slant),
        plan.unwrap_or_default(),
        prediction.gauge_state
    )
}

fn legend(sheet: &mut Sheet, top: f64, planned: bool) -> f64 {
    let y = top + ink::LABEL * 0.6;
    let middle = y - ink::LABEL * 0.35;
    let mut x = ink::MARGIN;
    sheet.line([x, middle], [x + 90.0, middle], Pen::new(ink::DEEP, 4.0));
    sheet.text([x + 106.0, y], "predicted", Type::LABEL);
    x += 106.0 + typeface::width("predicted", ink::LABEL, false) + 70.0;
    if planned {
        let pen = Pen::new(ink::PLAN, 5.0).dashed(22.0, 13.0);
        sheet.line([x, middle], [x + 90.0, middle], pen);
        sheet.text([x + 106.0, y], "planned", Type::LABEL);
    } else {
        let quiet = Type::LABEL.coloured(ink::QUIET);
        sheet.text([x, y], "no planned size is stated that fixes an outline", quiet);
    }
    y + ink::LABEL * 0.5
}

/// Scales and places the view so that the piece, the plan and all dimensions with their words fit the
/// page below `top`; returns the y below them too.
fn place(prediction: &Prediction, view: View, top: f64) -> (View, f64) {
    let page = ink::PAGE - 2.0 * ink::MARGIN;
    let mut room = [page, TALLEST];
    let mut placed = view.placed([0.0, 0.0], room);
    let mut extent = extent(prediction, &placed);
    // Words do not shrink with the drawing, so its share of the page is found by trying.
    for _ in 0..12 {
        let [width, height] = [0, 1].map(|axis| extent[1][axis] - extent[0][axis]);
        let over = (width / page).max(height / (TALLEST + 300.0));
        if over <= 1.0 {
            break;
        }
        room = room.map(|side| side * (0.97 / over).max(0.3));
        placed = view.placed([0.0, 0.0], room);
        extent = self::extent(prediction, &placed);
    }
    let [low, high] = extent;
    let x = ink::MARGIN + (page - (high[0] - low[0])) / 2.0 - low[0];
    (placed.moved([x, top - low[1]]), top + high[1] - low[1])
}

/// Least and most page coordinates of everything drawn.
fn extent(prediction: &Prediction, view: &View) -> [Point; 2] {
    let drawn = drawn(prediction, view);
    let mut points = drawn.concat();
    for dimension in dimensions(prediction, view) {
        points.extend(dimension.reach(&drawn));
    }
    points.iter().fold([[f64::INFINITY; 2], [f64::NEG_INFINITY; 2]], |[low, high], p| {
        [[0, 1].map(|k| low[k].min(p[k])), [0, 1].map(|k| high[k].max(p[k]))]
    })
}

/// The predicted and the planned outline on the page.
fn drawn(prediction: &Prediction, view: &View) -> [Vec<Point>; 2] {
    let planned = prediction.planned.outline.as_deref().unwrap_or_default();
    let predicted = view.points(&prediction.measured.outline);
    // An empty piece still has a place.
    let predicted = if predicted.is_empty() { vec![view.point([0.0; 2])] } else { predicted };
    [predicted, view.points(planned)]
}

impl Dimension {
    fn span(&self) -> f64 {
        let [a, b] = self.ends;
        (a[0] - b[0]).hypot(a[1] - b[1])
    }

    fn widest(&self) -> f64 {
        self.lines.iter().map(|line| typeface::width(line, ink::LABEL, false)).fold(0.0, f64::max)
    }

    /// Its words can stand along the line.
    fn fits(&self) -> bool {
        self.widest() < self.span() * 0.98
    }

    /// How far outwards the line must stand to clear the piece, and the plan where it is near; a plan
    /// that lies far off is drawn across instead, or the dimension would leave the piece.
    fn away(&self, drawn: &[Vec<Point>; 2]) -> f64 {
        let ([a, b], [ox, oy]) = (self.ends, self.outwards);
        let span = self.span().max(1e-9);
        let (ux, uy) = ((b[0] - a[0]) / span, (b[1] - a[1]) / span);
        let beside = |p: &&Point| {
            let along = (p[0] - a[0]) * ux + (p[1] - a[1]) * uy;
            (-40.0..span + 40.0).contains(&along)
        };
        let out = |p: &Point| (p[0] - a[0]) * ox + (p[1] - a[1]) * oy;
        let furthest =
            |points: &Vec<Point>| points.iter().filter(beside).map(out).fold(0.0, f64::max);
        let [piece, plan] = [&drawn[0], &drawn[1]].map(furthest);
        AWAY + if plan < piece + 170.0 { piece.max(plan) } else { piece }
    }

    /// Corners of a box round the line and its words.
    fn reach(&self, drawn: &[Vec<Point>; 2]) -> Vec<Point> {
        let [a, b] = self.ends;
        let out = self.outwards;
        let away = self.away(drawn);
        let shift = |p: Point, by: f64| [p[0] + out[0] * by, p[1] + out[1] * by];
        let lines = self.lines.len() as f64;
        if self.fits() {
            let words = away + ink::LABEL * (0.3 + 1.2 * lines);
            return vec![shift(a, words), shift(b, words), shift(a, away), shift(b, away)];
        }
        let middle = shift([(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0], away + 26.0);
        let x = middle[0] + self.widest() * if out[0] < 0.0 { -1.0 } else { 1.0 };
        let half = ink::LABEL * (0.2 + 0.6 * lines);
        vec![[x, middle[1] - half], [x, middle[1] + half], shift(a, away), shift(b, away)]
    }
}

fn dimensions(prediction: &Prediction, view: &View) -> Vec<Dimension> {
    let measured = &prediction.measured;
    let planned = &prediction.planned;
    let units = prediction.units;
    let [ll, lr, ur, ul] = corners(measured).map(|c| view.point(c));
    let size = |what: &str, found: Length, plan: Option<Length>| {
        let mut lines = vec![format!("{what} {}", units.length(found))];
        lines.extend(plan.map(|p| format!("plan {}", units.length(p))));
        lines
    };
    let [left, right] = &measured.edges;
    let rows =
        Dimension { ends: [ll, lr], outwards: square(ll, lr, ul), lines: along_rows(prediction) };
    let right_edge = Dimension {
        ends: [lr, ur],
        outwards: square(lr, ur, ll),
        lines: size("right edge", right.chord, planned.along_edges),
    };
    let left_edge = Dimension {
        ends: [ul, ll],
        outwards: square(ul, ll, lr),
        lines: size("left edge", left.chord, planned.along_edges),
    };
    let mut all = vec![rows, left_edge, right_edge];
    if view.turned {
        let x = view.corner[0] + view.box_on_page()[0];
        let lines = size("across", measured.square_to_edges, planned.square_to_edges);
        all.push(Dimension { ends: [[x, ur[1]], [x, ul[1]]], outwards: [1.0, 0.0], lines });
    }
    all
}

/// Row lengths: the mean alone only where rows are much alike.
fn along_rows(prediction: &Prediction) -> Vec<String> {
    let units = prediction.units;
    let found = prediction.measured.along_rows;
    let alike = (found.most - found.least).to_mm() <= 0.03 * found.mean.to_mm();
    let mut lines = if alike {
        vec![format!("along the rows {}", units.length(found.mean))]
    } else {
        vec![format!("rows {} to {}", units.length(found.least), units.length(found.most))]
    };
    lines.extend(prediction.planned.along_rows.map(|p| format!("plan {}", units.length(p))));
    lines
}

/// Unit vector square to `a`-`b`, away from `inside`.
fn square(a: Point, b: Point, inside: Point) -> Point {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    let length = dx.hypot(dy).max(1e-9);
    let normal = [dy / length, -dx / length];
    let towards = (inside[0] - a[0]) * normal[0] + (inside[1] - a[1]) * normal[1];
    if towards > 0.0 { normal.map(|c| -c) } else { normal }
}

fn draw(sheet: &mut Sheet, dimension: &Dimension, drawn: &[Vec<Point>; 2]) {
    let Dimension { ends: [a, b], outwards: out, lines } = dimension;
    let away = dimension.away(drawn);
    let shift = |p: &Point, by: f64| [p[0] + out[0] * by, p[1] + out[1] * by];
    for end in [a, b] {
        sheet.line(shift(end, 12.0), shift(end, away + 10.0), Pen::new(ink::QUIET, 1.5));
    }
    sheet.dimension(shift(a, away), shift(b, away));
    let middle = [(a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0];
    if dimension.fits() {
        along(sheet, shift(&middle, away), dimension);
    } else {
        beside(sheet, shift(&middle, away + 26.0), out[0], lines);
    }
}

/// Words on the outer side of a dimension line, read from below or from the right; found and planned
/// share a line where there is room.
fn along(sheet: &mut Sheet, middle: Point, dimension: &Dimension) {
    let Dimension { ends: [a, b], outwards: out, lines } = dimension;
    let mut turn = (b[1] - a[1]).atan2(b[0] - a[0]).to_degrees();
    if turn < -90.0 - 1e-6 {
        turn += 180.0;
    } else if turn > 90.0 - 1e-6 {
        turn -= 180.0;
    }
    let joined = lines.join(", ");
    let one_line = typeface::width(&joined, ink::LABEL, false) < dimension.span() * 0.98;
    let words = if one_line { vec![joined] } else { lines.clone() };
    let down = [-turn.to_radians().sin(), turn.to_radians().cos()];
    let below = down[0] * out[0] + down[1] * out[1] > 0.0;
    for (i, line) in words.iter().enumerate() {
        let step = if below { i } else { words.len() - 1 - i } as f64;
        let by = ink::LABEL * (0.95 + 1.2 * step);
        let at = [0, 1].map(|k| middle[k] + out[k] * by + down[k] * ink::LABEL * 0.36);
        sheet.text(at, line, Type::LABEL.anchored(Anchor::Middle).turned(turn).haloed());
    }
}

/// Words beside a dimension too short to carry them.
fn beside(sheet: &mut Sheet, at: Point, outwards_x: f64, lines: &[String]) {
    let anchor = if outwards_x < 0.0 { Anchor::End } else { Anchor::Start };
    let first = at[1] + ink::LABEL * 0.36 - ink::LABEL * 0.6 * (lines.len() as f64 - 1.0);
    for (i, line) in lines.iter().enumerate() {
        let y = first + ink::LABEL * 1.2 * i as f64;
        sheet.text([at[0], y], line, Type::LABEL.anchored(anchor).haloed());
    }
}

/// A bar of a round length, half filled, with its length in words.
pub(super) fn scale_bar(sheet: &mut Sheet, at: Point, scale: f64, units: UnitSystem) {
    let (unit_mm, steps): (f64, &[f64]) = match units {
        UnitSystem::Metric => (10.0, &[0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0]),
        UnitSystem::Imperial => (25.4, &[0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 40.0]),
    };
    let wanted = 330.0;
    let nearest = |a: &&f64, b: &&f64| {
        let far = |s: f64| (s * unit_mm * scale / wanted).ln().abs();
        far(**a).total_cmp(&far(**b))
    };
    let step = steps.iter().min_by(nearest).copied().unwrap_or(1.0);
    let length = step * unit_mm * scale;
    let [x, y] = at;
    sheet.rectangle([x, y], [length, 12.0], ink::INK);
    sheet.rectangle([x + length / 2.0, y + 2.5], [length / 2.0 - 2.5, 7.0], ink::PAPER);
    let name = match units {
        UnitSystem::Metric => format!("{step} cm"),
        UnitSystem::Imperial => units.length(Length::mm(step * unit_mm)),
    };
    sheet.text([x + length + 22.0, y + 16.0], &name, Type::LABEL);
}
