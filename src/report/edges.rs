//! How far each edge departs from straight, enlarged, with the minimum zone.

use plotters::prelude::*;

use super::Picture;
use super::chart::{Area, Drawn, Plot, chart, colour, label, tick};
use super::ink;
use super::sheet::{Sheet, Type};
use super::typeface;
use super::words;
use crate::measure::EdgePoint;
use crate::measure::EdgeShape;
use crate::predict::Prediction;
use crate::units::UnitSystem;

const CHART: (u32, u32) = (2260, 470);
/// Room left of the plot for the axis.
const LEFT: u32 = 150;
/// Room right of the plot, so that the last tick's words stay whole.
const RIGHT: u32 = 70;
/// Benders marked, each with a shape of its own.
const MARKED: usize = 3;

pub(super) fn edges(prediction: &Prediction) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: how straight the edges lie", prediction.title);
    let note = "Distance from the middle of the narrowest band that holds the edge (ISO 1101); \
                outwards is up";
    let mut y = sheet.heading(&title, note);
    for (name, edge) in ["Left edge", "Right edge"].iter().zip(&prediction.measured.edges) {
        y = panel(&mut sheet, y + 30.0, name, edge, prediction.units);
    }
    sheet.set_height(y + 30.0);
    let words = words::headline(prediction).join(" ");
    Picture { name: "edges".into(), svg: sheet.finish(&title, &words) }
}

fn panel(sheet: &mut Sheet, top: f64, name: &str, edge: &EdgeShape, units: UnitSystem) -> f64 {
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let scale = Scale::of(edge, units);
    let zone = words::fine(units, edge.minimum_zone);
    let mut head = format!("{name}: inside a band of {zone}");
    if let Some(zigzag) = edge.zigzag {
        let (height, period) = (words::fine(units, zigzag.height), units.length(zigzag.period));
        head += &format!(", steps of {height} every {period} ({} rows)", zigzag.rows);
    }
    head += &format!("; drawn {:.0} times enlarged across", scale.enlarged());
    let mut y = top + ink::LABEL;
    sheet.text([ink::MARGIN, y], &typeface::fit(&head, ink::LABEL, true, room), Type::LABEL.bold());
    for (i, bender) in edge.benders.iter().take(MARKED).enumerate() {
        y += ink::LABEL * 1.45;
        let line = words::bender(bender, units);
        mark(sheet, [ink::MARGIN + 14.0, y - ink::LABEL * 0.36], i);
        let fitted = typeface::fit(&line, ink::LABEL, false, room - 44.0);
        sheet.text([ink::MARGIN + 44.0, y], &fitted, Type::LABEL);
    }
    y += ink::LABEL * 0.8;
    let svg = chart(CHART, |area| draw(area, edge, &scale));
    sheet.inset([ink::MARGIN, y], &svg);
    y + f64::from(CHART.1)
}

/// The shape that marks the rows of the `nth` bender, in the panel's heading.
fn mark(sheet: &mut Sheet, [x, y]: [f64; 2], nth: usize) {
    let r = 11.0;
    match nth {
        0 => {
            sheet.polygon(&[[x, y - r], [x + r, y], [x, y + r], [x - r, y]], Some(ink::PLAN), None)
        }
        1 => sheet.polygon(&[[x, y - r], [x + r, y + r], [x - r, y + r]], Some(ink::INK), None),
        _ => sheet.rectangle([x - r * 0.8, y - r * 0.8], [r * 1.6, r * 1.6], ink::QUIET),
    }
}

/// Axis units and ranges of a panel.
struct Scale {
    /// Millimetres to the axis unit along the edge.
    along: f64,
    /// Millimetres to the axis unit across it.
    across: f64,
    names: [&'static str; 2],
    /// Length shown, in axis units.
    length: f64,
    /// Half of the height shown, in axis units.
    half: f64,
}

impl Scale {
    fn of(edge: &EdgeShape, units: UnitSystem) -> Self {
        let (along, across, names) = match units {
            UnitSystem::Metric => (10.0, 1.0, ["along the edge, cm", "off straight, mm"]),
            UnitSystem::Imperial => (25.4, 25.4, ["along the edge, in", "off straight, in"]),
        };
        let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
        let furthest = edge.curve.iter().map(|p| finite(p.off).abs()).fold(0.0, f64::max);
        let longest = edge.curve.iter().map(|p| finite(p.along)).fold(edge.chord.to_mm(), f64::max);
        let half_mm = furthest.max(edge.minimum_zone.to_mm() / 2.0).max(0.5) * 1.2;
        Self { along, across, names, length: longest.max(1.0) / along, half: half_mm / across }
    }

    /// How much larger the drawing is across the edge than along it.
    fn enlarged(&self) -> f64 {
        let plot_wide = f64::from(CHART.0 - LEFT - RIGHT);
        let plot_high = f64::from(CHART.1) - 114.0;
        let across = plot_high / (2.0 * self.half * self.across);
        across / (plot_wide / (self.length * self.along))
    }
}

fn draw(area: &Area<'_>, edge: &EdgeShape, scale: &Scale) -> Drawn {
    let mut plot = ChartBuilder::on(area)
        .margin_right(RIGHT)
        .margin_top(18)
        .set_label_area_size(LabelAreaPosition::Left, LEFT)
        .set_label_area_size(LabelAreaPosition::Bottom, 96)
        .build_cartesian_2d(0.0..scale.length, -scale.half..scale.half)?;
    let zone = edge.minimum_zone.to_mm() / 2.0 / scale.across;
    let band = [(0.0, -zone), (scale.length, zone)];
    plot.draw_series([Rectangle::new(band, colour(ink::ZONE).filled())])?;
    plot.configure_mesh()
        .x_desc(scale.names[0])
        .y_desc(scale.names[1])
        .x_labels(12)
        .y_labels(5)
        .x_label_formatter(&|v| tick(*v, scale.length))
        .y_label_formatter(&|v| tick(*v, scale.half * 2.0))
        .label_style(label(ink::INK))
        .axis_desc_style(label(ink::INK))
        .bold_line_style(colour(ink::FAINT).stroke_width(1))
        .light_line_style(TRANSPARENT)
        .axis_style(colour(ink::QUIET).stroke_width(2))
        .draw()?;
    let ends = |y: f64| [(0.0, y), (scale.length, y)];
    for side in [-zone, zone] {
        plot.draw_series(LineSeries::new(ends(side), colour(ink::QUIET).stroke_width(2)))?;
    }
    let place = |p: &EdgePoint| (p.along / scale.along, p.off / scale.across);
    let line = edge.curve.iter().filter(|p| known(p)).map(place);
    plot.draw_series(LineSeries::new(line, colour(ink::DEEP).stroke_width(4)))?;
    // The strongest bender last, so that its marks lie on top.
    for (nth, bender) in edge.benders.iter().take(MARKED).enumerate().rev() {
        let rows = edge.curve.iter().filter(|p| known(p) && bender.indices.contains(&p.row));
        marks(&mut plot, nth, rows.map(place).collect())?;
    }
    Ok(())
}

fn known(point: &EdgePoint) -> bool {
    point.along.is_finite() && point.off.is_finite()
}

/// The rows of the `nth` bender, in the shape its heading shows.
fn marks(plot: &mut Plot<'_, '_>, nth: usize, places: Vec<(f64, f64)>) -> Drawn {
    // Many marks would hide the line they stand on.
    let r = if places.len() > 60 { 6 } else { 11 };
    let (shape, tint) = match nth {
        0 => (vec![(0, -r), (r, 0), (0, r), (-r, 0)], ink::PLAN),
        1 => (vec![(0, -r), (r, r), (-r, r)], ink::INK),
        _ => (vec![(-r, -r), (r, -r), (r, r), (-r, r)], ink::QUIET),
    };
    plot.draw_series(
        places.iter().map(|at| EmptyElement::at(*at) + Polygon::new(shape.clone(), colour(tint))),
    )?;
    Ok(())
}
