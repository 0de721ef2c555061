//! Growth of a hung piece over time, by the stated law.

use plotters::prelude::*;

use super::Picture;
use super::chart::{Area, Drawn, chart, colour, label, tick};
use super::ink;
use super::sheet::{Pen, Sheet, Type};
use super::typeface;
use crate::predict::Hanging;
use crate::predict::HungRounds;
use crate::units::Length;

const CHART: (u32, u32) = (2260, 620);

/// Shown from a tenth of an hour to a thousand hours.
const TIMES: [f64; 2] = [-1.0, 3.0];

/// Growth along the rows and along the edges against time, the time on a scale of powers of ten.
pub fn growth_picture(hung: &Hanging) -> Picture {
    let said = super::hanging::answers(hung).pop().map(|(_, said)| said.join(" "));
    let share = |pair: [Length; 2]| pair[1] / pair[0] - 1.0;
    let growth = Growth {
        title: format!("{}: growth while it hangs", hung.laid.title),
        names: ["along the edges", "along the rows"],
        first: [share(hung.rows), (share(hung.edges[0]) + share(hung.edges[1])) / 2.0],
        creep: hung.creep,
        factor: &|hours| hung.factor(hours),
    };
    drawn(&growth, &said.unwrap_or_default())
}

/// The same of a piece in closed rounds, along the rounds and up the columns.
pub fn rounds_growth_picture(hung: &HungRounds) -> Picture {
    let growth = Growth {
        title: format!("{}: growth while it hangs", hung.laid.title),
        names: ["up the columns", "along the rounds"],
        first: hung.growth,
        creep: hung.creep,
        factor: &|hours| hung.factor(hours),
    };
    drawn(&growth, &super::rounds_hanging::later(hung).join(" "))
}

/// What is drawn: growth along and up the piece, and how it goes on.
struct Growth<'a> {
    title: String,
    /// Of the second of `first`, and of the first.
    names: [&'static str; 2],
    /// Growth at once, as shares.
    first: [f64; 2],
    creep: [f64; 2],
    factor: &'a dyn Fn(f64) -> f64,
}

fn drawn(growth: &Growth<'_>, words: &str) -> Picture {
    let mut sheet = Sheet::new();
    let title = &growth.title;
    let [share, hours] = growth.creep;
    let note = format!("e(t) = e0 (1 + {share} log10(1 + t / {hours} h)), both constants free");
    let y = sheet.heading(title, &note) + ink::LABEL * 0.6;
    let mut x = ink::MARGIN;
    for (name, pen) in [
        (growth.names[0], Pen::new(ink::DEEP, 7.0)),
        (growth.names[1], Pen::new(ink::WARM, 7.0).dashed(22.0, 12.0)),
    ] {
        let middle = y - ink::LABEL * 0.35;
        sheet.line([x, middle], [x + 90.0, middle], pen);
        sheet.text([x + 106.0, y], name, Type::LABEL);
        x += 106.0 + typeface::width(name, ink::LABEL, false) + 60.0;
    }
    let svg = chart(CHART, |area| draw(area, growth));
    sheet.inset([ink::MARGIN, y + 30.0], &svg);
    sheet.set_height(y + 30.0 + f64::from(CHART.1) + 20.0);
    Picture { name: "growth".into(), svg: sheet.finish(title, words) }
}

/// Growth in per cent at `hours`.
fn grown(growth: &Growth<'_>, hours: f64) -> [f64; 2] {
    growth.first.map(|g| if g.is_finite() { 100.0 * g * (growth.factor)(hours) } else { 0.0 })
}

fn draw(area: &Area<'_>, growth: &Growth<'_>) -> Drawn {
    let [first, last] = TIMES;
    let steps = 160;
    let at = |k: usize| first + (last - first) * k as f64 / steps as f64;
    let curve: Vec<(f64, [f64; 2])> =
        (0..=steps).map(|k| (at(k), grown(growth, 10f64.powf(at(k))))).collect();
    let all = || curve.iter().flat_map(|(_, g)| *g).chain([0.0]);
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(0.0, f64::max));
    let spare = ((high - low) * 0.08).max(0.05);
    let (low, high) = (low - spare, high + spare);
    let mut plot = ChartBuilder::on(area)
        .margin_right(70)
        .margin_top(18)
        .set_label_area_size(LabelAreaPosition::Left, 150)
        .set_label_area_size(LabelAreaPosition::Bottom, 96)
        .build_cartesian_2d(first..last, low..high)?;
    plot.configure_mesh()
        .x_desc("time hung, each mark ten times the one before")
        .y_desc("growth, per cent")
        .x_labels(5)
        .y_labels(7)
        .x_label_formatter(&|v| time(*v))
        .y_label_formatter(&|v| tick(*v, high - low))
        .label_style(label(ink::INK))
        .axis_desc_style(label(ink::INK))
        .bold_line_style(colour(ink::FAINT).stroke_width(1))
        .light_line_style(TRANSPARENT)
        .axis_style(colour(ink::QUIET).stroke_width(2))
        .draw()?;
    let line = |which: usize| curve.iter().map(move |(t, g)| (*t, g[which]));
    plot.draw_series(LineSeries::new(line(1), colour(ink::DEEP).stroke_width(6)))?;
    let dashes = DashedLineSeries::new(line(0), 20, 12, colour(ink::WARM).stroke_width(6));
    plot.draw_series(dashes)?;
    Ok(())
}

/// A power of ten of hours in words.
fn time(power: f64) -> String {
    match power.round() as i32 {
        _ if (power - power.round()).abs() > 1e-6 => String::new(),
        -1 => "6 minutes".into(),
        0 => "1 hour".into(),
        1 => "10 hours".into(),
        2 => "4 days".into(),
        _ => "6 weeks".into(),
    }
}
