//! The plan: what the designer means the piece to measure, and its outline.

use super::Planned;
use crate::measure::Measurements;
use crate::pattern::PlannedSize;
use crate::units::Angle;
use crate::units::Length;

/// Slant below which a piece counts as straight, degrees.
const STRAIGHT: f64 = 0.5;

/// The plan as stated, with what follows from it by the geometry of a parallelogram, and the outline
/// if the numbers fix one. Where no slant is stated the outline takes the predicted one, so that
/// sizes are compared like with like; the second value says so.
pub(super) fn plan(stated: &PlannedSize, measured: &Measurements) -> (Planned, bool) {
    let length = |s: &Option<crate::pattern::Stated<Length>>| s.as_ref().map(|s| s.value);
    let mut plan = Planned {
        along_rows: length(&stated.along_row),
        square_to_edges: length(&stated.square_to_edge),
        along_edges: length(&stated.along_edge),
        slant: stated.slant.as_ref().map(|s| s.value),
        outline: None,
    };
    let predicted = predicted_slant(measured);
    let borrowed = plan.slant.is_none();
    let slant = plan.slant.unwrap_or(predicted);
    let cos = slant.to_radians().cos();
    if plan.along_rows.is_none() {
        plan.along_rows = plan.square_to_edges.map(|s| s / cos);
    } else if plan.square_to_edges.is_none() {
        plan.square_to_edges = plan.along_rows.map(|w| w * cos);
    }
    if let (Some(w), Some(l)) = (plan.along_rows, plan.along_edges) {
        plan.outline = Some(parallelogram(w, l, slant));
    }
    let used = borrowed && plan.outline.is_some();
    (plan, used && predicted.to_degrees().abs() > STRAIGHT)
}

/// Mean slant of the two edges.
fn predicted_slant(measured: &Measurements) -> Angle {
    let [left, right] = &measured.edges;
    let mean = (left.slant + right.slant) / 2.0;
    if mean.to_degrees().abs() < STRAIGHT { Angle::degrees(0.0) } else { mean }
}

/// Corners (mm) of a parallelogram `along_rows` wide whose edges are `along_edges` long and lean by
/// `slant` from the square to the rows.
fn parallelogram(along_rows: Length, along_edges: Length, slant: Angle) -> Vec<[f64; 2]> {
    let (w, l) = (along_rows.to_mm(), along_edges.to_mm());
    let (s, c) = slant.to_radians().sin_cos();
    vec![[0.0, 0.0], [w, 0.0], [w + l * s, l * c], [l * s, l * c]]
}
