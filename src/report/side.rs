//! Predictions against the first of them: what differs, figure by figure and row by row.

use std::fmt::Write as _;

use super::table;
use super::words;
use crate::predict::Prediction;
use crate::study::compare;

/// The letter a prediction goes by where several are compared: A for the first.
pub fn letter(k: usize) -> String {
    char::from_u32(u32::from('A') + k as u32)
        .filter(char::is_ascii_uppercase)
        .map_or_else(|| format!("#{}", k + 1), String::from)
}

/// The comparison as plain text; `names` say which prediction is which.
pub fn differences_text(names: &[String], predictions: &[Prediction]) -> String {
    let mut out = String::from("Side by side\n");
    for (k, (name, p)) in names.iter().zip(predictions).enumerate() {
        let _ = writeln!(out, "  {} = {name}: {}", letter(k), p.title);
    }
    out.push('\n');
    let Some((first, others)) = predictions.split_first() else { return out };
    for (k, other) in others.iter().enumerate() {
        let _ = writeln!(out, "{} against {}", letter(k + 1), letter(0));
        let lines = figures(first, other, [&letter(0), &letter(k + 1)]);
        out.push_str(&table::aligned(&lines[0], &lines[1..]));
        out.push('\n');
        out.push_str(&rows(first, other));
        out.push('\n');
    }
    out
}

/// Every line of the report's table that both have, with the difference; the first line is the head.
pub(super) fn figures(a: &Prediction, b: &Prediction, names: [&str; 2]) -> Vec<[String; 4]> {
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

/// Which rows differ, most first, a line each.
pub(super) fn rows(a: &Prediction, b: &Prediction) -> String {
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
    // The ends of closed rounds are where they were cut open.
    let closed = a.measured.closed.is_some() && b.measured.closed.is_some();
    let size = |r: &crate::study::RowDifference| {
        let slant = if closed { 0.0 } else { r.slant[0].abs().max(r.slant[1].abs()) / 5.0 };
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
        let _ = write!(
            out,
            "  {name}: length {} mm, height {} mm",
            words::signed(run.width.to_mm(), 1),
            words::signed(run.height.to_mm(), 1)
        );
        if !closed {
            let [left, right] = run.slant.map(|s| words::signed(s, 1));
            let _ = write!(out, ", slant {left}° left, {right}° right");
        }
        out.push('\n');
    }
    if runs.len() > MOST_RUNS {
        let _ = writeln!(out, "  and {} more runs of rows", runs.len() - MOST_RUNS);
    }
    out
}
