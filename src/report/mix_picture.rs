//! Pictures of a study of the stitch mix: figures against the variable, and outlines side by side.

use plotters::prelude::*;

use super::Picture;
use super::chart::{Area, Drawn, chart, colour, label, tick};
use super::ink;
use super::mix::{Figures, figures, sentences};
use super::sheet::{Anchor, Pen, Sheet, Type};
use super::typeface;
use super::view::View;
use crate::predict::Prediction;
use crate::study::Mix;
use crate::units::UnitSystem;

/// One figure: name with unit, and its values for the left and right edge, or one for the piece.
struct Panel {
    name: String,
    values: fn(&Figures) -> Vec<f64>,
}

fn panels(units: UnitSystem) -> [Panel; 4] {
    let (small, area, yarn) = match units {
        UnitSystem::Metric => ("mm", "m²", "m"),
        UnitSystem::Imperial => ("in", "sq in", "yd"),
    };
    [
        Panel { name: "edge slant, degrees".into(), values: |f| f.slant.to_vec() },
        Panel { name: format!("straight within, {small}"), values: |f| f.straight.to_vec() },
        Panel { name: format!("area, {area}"), values: |f| vec![f.area] },
        Panel { name: format!("yarn, {yarn}"), values: |f| vec![f.yarn] },
    ]
}

type Named<'a> = (&'a str, Option<f64>, Figures);

fn laid(mix: &Mix) -> Vec<(&str, Option<f64>, &Prediction)> {
    mix.outcomes
        .iter()
        .filter_map(|o| o.result.as_ref().ok().map(|p| (o.name.as_str(), o.number, p)))
        .collect()
}

/// Edge slant, straightness, area and yarn against what was varied.
pub fn mix_picture(mix: &Mix) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: how the stitch mix changes the slant", mix.title);
    let said = sentences(mix).join(" ");
    let y = sheet.heading(&title, &said);
    let units = mix.base.units;
    let list: Vec<Named<'_>> =
        laid(mix).into_iter().map(|(name, n, p)| (name, n, figures(p, units))).collect();
    let base = figures(&mix.base, units);
    let y = legend(&mut sheet, y);
    let numbers: Vec<f64> = list.iter().filter_map(|l| l.1).collect();
    let varies = numbers.iter().any(|n| *n != numbers[0]);
    let bottom = if numbers.len() == list.len() && varies && one_each(&numbers) {
        lines(&mut sheet, y + 30.0, &list, &base, units, &mix.variable)
    } else {
        dots(&mut sheet, y + 30.0, &list, &base, units)
    };
    sheet.set_height(bottom + 40.0);
    Picture { name: "mix".into(), svg: sheet.finish(&title, &said) }
}

/// On a grid the same number comes more than once, and a line through it would mean nothing.
fn one_each(numbers: &[f64]) -> bool {
    numbers.iter().enumerate().all(|(i, n)| !numbers[..i].contains(n))
}

fn legend(sheet: &mut Sheet, top: f64) -> f64 {
    let y = top + ink::LABEL * 0.6;
    let middle = y - ink::LABEL * 0.35;
    let mut x = ink::MARGIN;
    for (name, pen) in [
        ("left edge, or the whole piece", Pen::new(ink::DEEP, 9.0)),
        ("right edge", Pen::new(ink::WARM, 9.0)),
        ("as written", Pen::new(ink::PLAN, 4.0).dashed(16.0, 10.0)),
    ] {
        sheet.line([x, middle], [x + 70.0, middle], pen);
        sheet.text([x + 86.0, y], name, Type::LABEL);
        x += 86.0 + typeface::width(name, ink::LABEL, false) + 60.0;
    }
    y
}

/// Least and most of `values`, with room round them.
fn range(values: impl Iterator<Item = f64>, least: f64) -> (f64, f64) {
    let (low, high) = values
        .filter(|v| v.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)));
    if low > high {
        return (0.0, 1.0);
    }
    let spare = ((high - low) * 0.1).max(least - (high - low) / 2.0).max(high.abs() * 0.005);
    (low - spare, high + spare)
}

const CHART: (u32, u32) = (1110, 560);

fn lines(
    sheet: &mut Sheet,
    top: f64,
    list: &[Named<'_>],
    base: &Figures,
    units: UnitSystem,
    variable: &str,
) -> f64 {
    let mut sorted: Vec<&Named<'_>> = list.iter().collect();
    sorted.sort_by(|a, b| a.1.unwrap_or(0.0).total_cmp(&b.1.unwrap_or(0.0)));
    let mut bottom = top;
    for (k, panel) in panels(units).iter().enumerate() {
        let at = [
            ink::MARGIN + (k % 2) as f64 * (f64::from(CHART.0) + 40.0),
            top + (k / 2) as f64 * (f64::from(CHART.1) + 30.0),
        ];
        let series: Vec<(f64, Vec<f64>)> =
            sorted.iter().map(|l| (l.1.unwrap_or(0.0), (panel.values)(&l.2))).collect();
        let written = (panel.values)(base);
        let svg = chart(CHART, |area| line_chart(area, panel, variable, &series, &written));
        sheet.inset(at, &svg);
        bottom = at[1] + f64::from(CHART.1);
    }
    bottom
}

fn line_chart(
    area: &Area<'_>,
    panel: &Panel,
    variable: &str,
    series: &[(f64, Vec<f64>)],
    written: &[f64],
) -> Drawn {
    let least = if panel.name.contains("degrees") { 0.5 } else { 0.0 };
    let (low, high) = range(series.iter().flat_map(|s| s.1.iter()).chain(written).copied(), least);
    let (first, last) = range(series.iter().map(|s| s.0), 0.0);
    let mut plot = ChartBuilder::on(area)
        .margin_right(40)
        .margin_top(24)
        .set_label_area_size(LabelAreaPosition::Left, 170)
        .set_label_area_size(LabelAreaPosition::Bottom, 96)
        .build_cartesian_2d(first..last, low..high)?;
    let room = f64::from(CHART.0) - 240.0;
    let axis = typeface::fit(variable, ink::LABEL, false, room);
    plot.configure_mesh()
        .x_desc(axis)
        .y_desc(&panel.name)
        .x_labels(8)
        .y_labels(6)
        .x_label_formatter(&|v| tick(*v, last - first))
        .y_label_formatter(&|v| tick(*v, high - low))
        .label_style(label(ink::INK))
        .axis_desc_style(label(ink::INK))
        .bold_line_style(colour(ink::FAINT).stroke_width(1))
        .light_line_style(TRANSPARENT)
        .axis_style(colour(ink::QUIET).stroke_width(2))
        .draw()?;
    let pen = colour(ink::PLAN).stroke_width(4);
    plot.draw_series(DashedLineSeries::new(
        [(first, written[0]), (last, written[0])],
        16,
        10,
        pen,
    ))?;
    for (side, tint, size) in [(1, ink::WARM, 11), (0, ink::DEEP, 7)] {
        let points: Vec<(f64, f64)> =
            series.iter().filter_map(|s| s.1.get(side).map(|v| (s.0, *v))).collect();
        plot.draw_series(LineSeries::new(points.clone(), colour(tint).stroke_width(5)))?;
        plot.draw_series(points.iter().map(|p| Circle::new(*p, size, colour(tint).filled())))?;
    }
    Ok(())
}

const NAMES: f64 = 760.0;
const STEP: f64 = 46.0;

/// Variants that lie on no axis: a line each, a dot in each of the four columns.
fn dots(sheet: &mut Sheet, top: f64, list: &[Named<'_>], base: &Figures, units: UnitSystem) -> f64 {
    let wide = (ink::PAGE - 2.0 * ink::MARGIN - NAMES) / 4.0;
    let first = top + 3.0 * ink::LABEL;
    let bottom = first + STEP * list.len() as f64;
    for (k, (name, ..)) in list.iter().enumerate() {
        let y = first + STEP * (k as f64 + 0.5);
        let words = typeface::fit(name, ink::LABEL, false, NAMES - 20.0);
        sheet.text([ink::MARGIN, y + ink::LABEL * 0.35], &words, Type::LABEL);
        sheet.line(
            [ink::MARGIN + NAMES, y],
            [ink::PAGE - ink::MARGIN, y],
            Pen::new(ink::FAINT, 2.0),
        );
    }
    for (c, panel) in panels(units).iter().enumerate() {
        let written = (panel.values)(base);
        let values: Vec<Vec<f64>> = list.iter().map(|l| (panel.values)(&l.2)).collect();
        let (low, high) = range(values.iter().flatten().chain(&written).copied(), 0.0);
        let left = ink::MARGIN + NAMES + wide * c as f64 + 20.0;
        let x = |v: f64| left + (v - low) / (high - low) * (wide - 40.0);
        let middle = left + (wide - 40.0) / 2.0;
        let centred = Type::LABEL.anchored(Anchor::Middle);
        sheet.text([middle, top + ink::LABEL], &panel.name, centred.bold());
        let dashed = Pen::new(ink::PLAN, 4.0).dashed(16.0, 10.0);
        sheet.line([x(written[0]), first], [x(written[0]), bottom], dashed);
        ticks(sheet, [first, bottom], (low, high), &x);
        for (k, values) in values.iter().enumerate() {
            let y = first + STEP * (k as f64 + 0.5);
            for (side, v) in values.iter().enumerate().rev() {
                let (tint, half) = if side == 0 { (ink::DEEP, 9.0) } else { (ink::WARM, 12.0) };
                sheet.rectangle([x(*v) - half, y - half], [2.0 * half, 2.0 * half], tint);
            }
        }
    }
    bottom + ink::LABEL * 1.6
}

/// Two to four round values under and over a column.
fn ticks(
    sheet: &mut Sheet,
    [top, bottom]: [f64; 2],
    (low, high): (f64, f64),
    x: &dyn Fn(f64) -> f64,
) {
    let raw = (high - low) / 3.0;
    let power = 10f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0].map(|m| m * power).into_iter().find(|s| *s >= raw);
    let step = step.unwrap_or(raw);
    let mut value = (low / step).ceil() * step;
    while value <= high {
        let words = tick(value, high - low);
        let how = Type::LABEL.anchored(Anchor::Middle).coloured(ink::QUIET);
        sheet.line([x(value), top], [x(value), bottom], Pen::new(ink::FAINT, 2.0));
        sheet.text([x(value), bottom + ink::LABEL * 1.2], &words, how);
        value += step;
    }
}

/// Outlines of all variants at one scale, each over the piece as written.
pub fn mix_outlines(mix: &Mix) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: outlines of the variants", mix.title);
    let list = laid(mix);
    let mut shown: Vec<&[[f64; 2]]> = vec![&mix.base.measured.outline];
    shown.extend(list.iter().map(|l| l.2.measured.outline.as_slice()));
    let view = View::of(&mix.base.measured, &shown);
    let words = format!("All at one scale; dashed: as written; {}", view.words());
    let y = sheet.heading(&title, &words) + ink::LABEL;
    let [w, h] = view.box_mm();
    let across = if w > 3.0 * h {
        2
    } else {
        (list.len().max(1) as f64).sqrt().ceil().clamp(2.0, 5.0) as usize
    };
    let gap = 50.0;
    let wide = (ink::PAGE - 2.0 * ink::MARGIN - gap * (across - 1) as f64) / across as f64;
    let placed = view.placed([0.0; 2], [wide, 900.0]);
    let [_, tall] = placed.box_on_page();
    let cell = tall + 3.6 * ink::LABEL;
    for (k, (name, _, p)) in list.iter().enumerate() {
        let corner = [
            ink::MARGIN + (k % across) as f64 * (wide + gap),
            y + (k / across) as f64 * cell + 1.6 * ink::LABEL,
        ];
        let here = placed.moved(corner);
        let slant = format!("{:.1}°", Mix::slant(p)).replace('-', "−");
        let room = wide - typeface::width(&slant, ink::LABEL, true) - 30.0;
        let name = typeface::fit(name, ink::LABEL, false, room);
        sheet.text([corner[0], corner[1] - 14.0], &name, Type::LABEL);
        let end = Type::LABEL.bold().anchored(Anchor::End);
        sheet.text([corner[0] + wide, corner[1] - 14.0], &slant, end);
        let pen = Pen::new(ink::DEEP, 3.0);
        sheet.polygon(&here.points(&p.measured.outline), Some(ink::CLOTH), Some(pen));
        let dashed = Pen::new(ink::PLAN, 3.0).dashed(12.0, 8.0);
        sheet.polygon(&here.points(&mix.base.measured.outline), None, Some(dashed));
    }
    let bottom = y + list.len().div_ceil(across) as f64 * cell + ink::LABEL;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, mix.base.units);
    sheet.set_height(bottom + 90.0);
    Picture { name: "mix-outlines".into(), svg: sheet.finish(&title, &words) }
}
