//! Predictions side by side: differences in a table, outlines one over the other.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::mix::aligned;
use super::sheet::{Pen, Sheet, Type};
use super::table;
use super::typeface;
use super::view::View;
use super::words;
use crate::predict::Prediction;
use crate::study::compare;

const TALLEST: f64 = 1300.0;

/// Pens told apart by dash as well as by colour.
pub(super) fn pen(k: usize) -> Pen {
    let colours = [ink::DEEP, ink::PLAN, ink::WARM, ink::QUIET, ink::INK];
    let pen = Pen::new(colours[k % colours.len()], 4.5);
    match k % 4 {
        0 => pen,
        1 => pen.dashed(22.0, 9.0),
        2 => pen.dashed(7.0, 7.0),
        _ => pen.dashed(30.0, 6.0),
    }
}

/// Names of predictions: their titles, or what the user calls them where titles are the same.
fn letter(k: usize) -> String {
    char::from_u32(u32::from('A') + k as u32)
        .filter(char::is_ascii_uppercase)
        .map_or_else(|| format!("#{}", k + 1), String::from)
}

/// The comparison as plain text; `names` say which prediction is which.
pub fn compare_text(names: &[String], predictions: &[Prediction]) -> String {
    let mut out = String::from("Side by side\n");
    for (k, (name, p)) in names.iter().zip(predictions).enumerate() {
        let _ = writeln!(out, "  {} = {name}: {}", letter(k), p.title);
    }
    out.push('\n');
    let Some((first, others)) = predictions.split_first() else { return out };
    for (k, other) in others.iter().enumerate() {
        let _ = writeln!(out, "{} against {}", letter(k + 1), letter(0));
        out.push_str(&aligned(&figures(first, other, [&letter(0), &letter(k + 1)])));
        out.push('\n');
        out.push_str(&rows(first, other));
        out.push('\n');
    }
    out
}

/// Every line of the report's table that both have, with the difference.
fn figures(a: &Prediction, b: &Prediction, names: [&str; 2]) -> Vec<[String; 4]> {
    let mut lines =
        vec![["".into(), names[0].to_owned(), names[1].to_owned(), "difference".into()]];
    let (own, theirs) = (table::rows(a), table::rows(&Prediction { units: a.units, ..b.clone() }));
    for line in &own {
        let other = theirs.iter().find(|o| o.what == line.what);
        let found = other.map_or("none", |o| o.predicted.as_str());
        let difference = difference(&line.what, a, b).unwrap_or_default();
        lines.push([line.what.clone(), line.predicted.clone(), found.to_owned(), difference]);
    }
    for line in theirs.iter().filter(|o| own.iter().all(|l| l.what != o.what)) {
        lines.push([line.what.clone(), "none".into(), line.predicted.clone(), String::new()]);
    }
    lines
}

fn difference(what: &str, a: &Prediction, b: &Prediction) -> Option<String> {
    let (m, n) = (&a.measured, &b.measured);
    let percent = |a: f64, b: f64| words::signed((b / a - 1.0) * 100.0, 1) + " %";
    let edge = |side: usize| {
        let change = n.edges[side].slant.to_degrees() - m.edges[side].slant.to_degrees();
        words::signed(change, 1) + "°"
    };
    Some(match what {
        "along the rows, mean" => words::percent_off(n.along_rows.mean, m.along_rows.mean),
        "square to the rows" => words::percent_off(n.square_to_rows, m.square_to_rows),
        "square to the edges" => words::percent_off(n.square_to_edges, m.square_to_edges),
        "along the left edge" => words::percent_off(n.edges[0].chord, m.edges[0].chord),
        "along the right edge" => words::percent_off(n.edges[1].chord, m.edges[1].chord),
        "slant of the left edge" => edge(0),
        "slant of the right edge" => edge(1),
        "area" => percent(m.area_mm2, n.area_mm2),
        "stitches" => words::signed(f64::from(b.stitches) - f64::from(a.stitches), 0),
        _ => return None,
    })
}

const MOST_RUNS: usize = 12;

fn rows(a: &Prediction, b: &Prediction) -> String {
    let found = compare(a, b);
    let mut out = String::new();
    if found.counts[0] != found.counts[1] {
        let [p, q] = found.counts;
        let _ = writeln!(out, "{p} rows against {q}; compared from the foundation up.");
    }
    if found.differ == 0 {
        out.push_str("All rows lie alike.\n");
        return out;
    }
    let _ = writeln!(out, "{} of {} rows lie differently, most:", found.differ, found.compared);
    let size = |r: &crate::study::RowDifference| {
        let slant = r.slant[0].abs().max(r.slant[1].abs()) / 5.0;
        (r.width.to_mm().abs() + r.height.to_mm().abs() + slant) * (r.count as f64).sqrt()
    };
    let mut runs: Vec<_> = found.rows.iter().collect();
    runs.sort_by(|x, y| size(y).total_cmp(&size(x)));
    for run in runs.iter().take(MOST_RUNS) {
        let name = if run.count == 1 {
            run.rows[0].clone()
        } else {
            format!("{} to {}", run.rows[0], run.rows[1])
        };
        let _ = writeln!(
            out,
            "  {name}: length {} mm, height {} mm, slant {}° left, {}° right",
            words::signed(run.width.to_mm(), 1),
            words::signed(run.height.to_mm(), 1),
            words::signed(run.slant[0], 1),
            words::signed(run.slant[1], 1)
        );
    }
    if runs.len() > MOST_RUNS {
        let _ = writeln!(out, "  and {} more runs of rows", runs.len() - MOST_RUNS);
    }
    out
}

/// Outlines one over the other; the first is filled.
pub fn compare_picture(names: &[String], predictions: &[Prediction]) -> Option<Picture> {
    let first = predictions.first()?;
    let mut sheet = Sheet::new();
    let title = "Side by side";
    let shown: Vec<&[[f64; 2]]> =
        predictions.iter().map(|p| p.measured.outline.as_slice()).collect();
    let view = View::of(&first.measured, &shown);
    let below = format!("Outlines share the lower left corner; {}", view.words());
    let mut y = sheet.heading(title, &below) + ink::LABEL;
    for (k, (name, p)) in names.iter().zip(predictions).enumerate() {
        let middle = y - ink::LABEL * 0.35;
        sheet.line([ink::MARGIN, middle], [ink::MARGIN + 90.0, middle], pen(k));
        let [left, right] = &p.measured.edges;
        let entry = format!(
            "{} {name}: {} along the rows by {} along the edges, slant {}",
            letter(k),
            first.units.length(p.measured.along_rows.mean),
            first.units.length((left.chord + right.chord) / 2.0),
            words::degrees((left.slant + right.slant) / 2.0)
        );
        let room = ink::PAGE - 2.0 * ink::MARGIN - 110.0;
        let entry = typeface::fit(&entry, ink::LABEL, false, room);
        sheet.text([ink::MARGIN + 110.0, y], &entry, Type::LABEL);
        y += ink::LABEL * 1.5;
    }
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let placed = view.placed([ink::MARGIN, y + 20.0], [room, TALLEST]);
    sheet.polygon(&placed.points(shown[0]), Some(ink::CLOTH), None);
    for (k, outline) in shown.iter().enumerate() {
        sheet.polygon(&placed.points(outline), None, Some(pen(k)));
    }
    let bottom = placed.corner[1] + placed.box_on_page()[1] + 60.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, first.units);
    sheet.set_height(bottom + 90.0);
    Some(Picture { name: "compared".into(), svg: sheet.finish(title, &below) })
}
