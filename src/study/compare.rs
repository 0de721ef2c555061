//! Predictions side by side: which rows differ, and by how much.

use crate::measure::RowMeasure;
use crate::predict::Prediction;
use crate::units::Length;

/// Rows that lie alike within these are not listed: a tape's finest mark, and the slant it shows over
/// a row of its length.
const ALIKE_MM: f64 = 0.5;
const ALIKE_DEGREES: f64 = 1.0;

/// A run of neighbouring rows that differ from the first prediction's in the same way.
#[derive(Debug, Clone, PartialEq)]
pub struct RowDifference {
    /// Labels of its first and last row, in the first prediction's words.
    pub rows: [String; 2],
    /// Number of rows.
    pub count: usize,
    /// Mean difference of the row's length.
    pub width: Length,
    /// Mean difference of the row's height.
    pub height: Length,
    /// Mean difference of its slant, left and right, degrees.
    pub slant: [f64; 2],
}

/// One prediction against the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// Rows that differ.
    pub rows: Vec<RowDifference>,
    /// Rows in the first prediction and in this one.
    pub counts: [usize; 2],
    /// Rows compared one by one: those of the shorter piece, from the foundation up.
    pub compared: usize,
    /// How many of them differ.
    pub differ: usize,
}

/// Compares `other` with `first`, row by row from the foundation up.
pub fn compare(first: &Prediction, other: &Prediction) -> Comparison {
    let (a, b) = (&first.measured.rows, &other.measured.rows);
    let mut runs: Vec<RowDifference> = Vec::new();
    let mut before: Option<[f64; 4]> = None;
    let mut differ = 0;
    for (p, q) in a.iter().zip(b) {
        let d = difference(p, q);
        if !matters(d) {
            before = None;
            continue;
        }
        differ += 1;
        match (runs.last_mut(), before) {
            (Some(run), Some(was)) if alike(was, d) => grow(run, p, d),
            _ => runs.push(RowDifference {
                rows: [p.label.clone(), p.label.clone()],
                count: 1,
                width: Length::mm(d[0]),
                height: Length::mm(d[1]),
                slant: [d[2], d[3]],
            }),
        }
        before = Some(d);
    }
    Comparison { rows: runs, counts: [a.len(), b.len()], compared: a.len().min(b.len()), differ }
}

/// Width and height (mm), slant left and right (degrees), other less first.
fn difference(first: &RowMeasure, other: &RowMeasure) -> [f64; 4] {
    let slant = |side: usize| other.slant[side].to_degrees() - first.slant[side].to_degrees();
    [
        other.width.to_mm() - first.width.to_mm(),
        other.height.to_mm() - first.height.to_mm(),
        slant(0),
        slant(1),
    ]
}

fn matters(d: [f64; 4]) -> bool {
    d[0].abs() > ALIKE_MM || d[1].abs() > ALIKE_MM || d[2].abs().max(d[3].abs()) > ALIKE_DEGREES
}

fn alike(a: [f64; 4], b: [f64; 4]) -> bool {
    let near = |i: usize, within: f64| (a[i] - b[i]).abs() < within;
    near(0, 2.0 * ALIKE_MM) && near(1, 2.0 * ALIKE_MM) && near(2, 3.0) && near(3, 3.0)
}

fn grow(run: &mut RowDifference, row: &RowMeasure, d: [f64; 4]) {
    let n = run.count as f64;
    let mean = |old: f64, new: f64| (old * n + new) / (n + 1.0);
    run.rows[1].clone_from(&row.label);
    run.width = Length::mm(mean(run.width.to_mm(), d[0]));
    run.height = Length::mm(mean(run.height.to_mm(), d[1]));
    run.slant = [mean(run.slant[0], d[2]), mean(run.slant[1], d[3])];
    run.count += 1;
}
