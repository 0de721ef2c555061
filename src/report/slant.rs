//! Slant of the edges, row by row and from the foundation up.

use plotters::prelude::*;

use super::Picture;
use super::chart::{Area, Drawn, Plot, chart, colour, label, tick};
use super::ink;
use super::sheet::{Pen, Sheet, Type};
use super::typeface;
use super::words;
use crate::measure::RowMeasure;
use crate::predict::Prediction;

const CHART: (u32, u32) = (2260, 560);

pub(super) fn slant(prediction: &Prediction) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: slant row by row", prediction.title);
    let note = "Angle of the edge against the square to the rows; positive leans right going up, \
                as seen from the right side";
    let y = sheet.heading(&title, note);
    let planned = prediction.planned.slant.map(|angle| angle.to_degrees());
    let y = legend(&mut sheet, y, planned);
    let rows = &prediction.measured.rows;
    let y = panel(&mut sheet, y + 40.0, "Each row by itself", |area| {
        draw(area, rows, planned, Which::Own)
    });
    let y = panel(&mut sheet, y + 20.0, "From the foundation up to the row", |area| {
        draw(area, rows, planned, Which::Cumulative)
    });
    sheet.set_height(y + 30.0);
    let words = words::slant_sentence(prediction);
    Picture { name: "slant".into(), svg: sheet.finish(&title, &words) }
}

fn legend(sheet: &mut Sheet, top: f64, planned: Option<f64>) -> f64 {
    let y = top + ink::LABEL * 0.6;
    let middle = y - ink::LABEL * 0.35;
    let mut x = ink::MARGIN;
    let mut entry = |name: &str, pen: Pen| {
        sheet.line([x, middle], [x + 70.0, middle], pen);
        sheet.text([x + 86.0, y], name, Type::LABEL);
        x += 86.0 + typeface::width(name, ink::LABEL, false) + 60.0;
    };
    entry("left edge", Pen::new(ink::DEEP, 9.0));
    entry("right edge", Pen::new(ink::WARM, 9.0));
    if planned.is_some() {
        entry("planned", Pen::new(ink::PLAN, 4.0).dashed(16.0, 10.0));
    }
    y
}

fn panel(sheet: &mut Sheet, top: f64, name: &str, draw: impl FnOnce(&Area<'_>) -> Drawn) -> f64 {
    let y = top + ink::LABEL;
    sheet.text([ink::MARGIN, y], name, Type::LABEL.bold());
    let svg = chart(CHART, draw);
    sheet.inset([ink::MARGIN, y + 16.0], &svg);
    y + 16.0 + f64::from(CHART.1)
}

#[derive(Clone, Copy)]
enum Which {
    Own,
    Cumulative,
}

impl Which {
    fn degrees(self, row: &RowMeasure) -> [f64; 2] {
        match self {
            Self::Own => row.slant.map(|angle| angle.to_degrees()),
            Self::Cumulative => row.cumulative.map(|angle| angle.to_degrees()),
        }
    }
}

/// Least and most of everything shown, at least four degrees apart.
fn range(rows: &[RowMeasure], planned: Option<f64>, which: Which) -> (f64, f64) {
    let shown = rows.iter().flat_map(|row| which.degrees(row)).chain(planned);
    let (low, high) = shown
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)));
    if low > high {
        return (-2.0, 2.0);
    }
    let spare = ((high - low) * 0.08).max(2.0 - (high - low) / 2.0).max(0.1);
    (low - spare, high + spare)
}

fn draw(area: &Area<'_>, rows: &[RowMeasure], planned: Option<f64>, which: Which) -> Drawn {
    let (low, high) = range(rows, planned, which);
    let first = rows.first().map_or(0.0, |row| f64::from(row.row)) - 0.5;
    let last = rows.last().map_or(1.0, |row| f64::from(row.row)) + 0.5;
    let mut plot = ChartBuilder::on(area)
        .margin_right(70)
        .margin_top(18)
        .set_label_area_size(LabelAreaPosition::Left, 150)
        .set_label_area_size(LabelAreaPosition::Bottom, 96)
        .build_cartesian_2d(first..last, low..high)?;
    plot.configure_mesh()
        .x_desc("row, counted from the foundation")
        .y_desc("slant, degrees")
        .x_labels(12)
        .y_labels(8)
        .x_label_formatter(&|v| row_tick(*v))
        .y_label_formatter(&|v| tick(*v, high - low))
        .label_style(label(ink::INK))
        .axis_desc_style(label(ink::INK))
        .bold_line_style(colour(ink::FAINT).stroke_width(1))
        .light_line_style(TRANSPARENT)
        .axis_style(colour(ink::QUIET).stroke_width(2))
        .draw()?;
    if let Some(angle) = planned {
        let dashes = DashedLineSeries::new(
            [(first, angle), (last, angle)],
            16,
            10,
            colour(ink::PLAN).stroke_width(4),
        );
        plot.draw_series(dashes)?;
    }
    both_edges(&mut plot, rows, which)
}

/// The right edge is drawn first and larger, so that both show where they coincide.
fn both_edges(plot: &mut Plot<'_, '_>, rows: &[RowMeasure], which: Which) -> Drawn {
    for (side, tint, size) in [(1, ink::WARM, 7), (0, ink::DEEP, 5)] {
        let points = rows
            .iter()
            .map(|row| (f64::from(row.row), which.degrees(row)[side]))
            .filter(|(_, angle)| angle.is_finite());
        match which {
            Which::Own => {
                let radius = if rows.len() > 400 { size / 2 } else { size };
                plot.draw_series(points.map(|at| Circle::new(at, radius, colour(tint).filled())))?
            }
            Which::Cumulative => {
                let pen = colour(tint).stroke_width(size as u32 + 1);
                plot.draw_series(LineSeries::new(points, pen))?
            }
        };
    }
    Ok(())
}

/// Rows are whole numbers: ticks between them stay blank.
fn row_tick(value: f64) -> String {
    if (value - value.round()).abs() < 1e-6 { format!("{value:.0}") } else { String::new() }
}
