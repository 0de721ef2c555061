//! What carries a hung piece, as faces to draw: rail, table, body, discs.

use std::f64::consts::TAU;

use super::HungCell;
use crate::state::Hang;
use crate::state::Hung;

const MM: f64 = 1000.0;

/// Flat faces round a rail and a disc.
const ROUND: usize = 36;

/// Thickness that a table is drawn with, m.
const THICK: f64 = 0.02;

type Place = [f64; 3];

/// Faces of what carries the piece, mm; none where pegs do.
pub(super) fn carriers(how: Hang, hung: &Hung, cells: &[HungCell]) -> Vec<Vec<Place>> {
    let faces = match how {
        Hang::Point { .. } | Hang::Edge { .. } | Hang::Corners { .. } => Vec::new(),
        Hang::Rail { radius, .. } => rail(radius, hung, cells),
        Hang::TableEdge { .. } => table(hung),
        Hang::Shoulders { body, .. } => body.faces(),
        Hang::Disc { radius } => disc(radius),
    };
    faces.into_iter().map(|face| face.into_iter().map(|p| p.map(|c| c * MM)).collect()).collect()
}

/// Least and most of the held stitches along an axis, m.
fn reach(hung: &Hung, axis: usize) -> [f64; 2] {
    let at = hung.held.iter().map(|n| hung.positions[*n as usize][axis]);
    at.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], x| [l.min(x), h.max(x)])
}

/// A bar a little longer than the row it holds, its top at height zero.
fn rail(radius: f64, hung: &Hung, cells: &[HungCell]) -> Vec<Vec<Place>> {
    let [low, high] = reach(hung, 0);
    let spare = 0.08 * (high - low);
    let (low, high) = (low - spare, high + spare);
    // Thinner than it is, so that the cells on it show: they are drawn flat between their stitches.
    let shown = (0.985 * radius - within(radius, cells)).max(0.5 * radius);
    let at = |x: f64, k: usize| {
        let (s, c) = (TAU * k as f64 / ROUND as f64).sin_cos();
        [x, shown * s, shown * c - radius]
    };
    let side = |k: usize| vec![at(low, k), at(high, k), at(high, k + 1), at(low, k + 1)];
    let end = |x: f64| (0..ROUND).map(|k| at(x, k)).collect();
    (0..ROUND).map(side).chain([end(low), end(high)]).collect()
}

/// Deepest that the middle of a cell, or of one of its sides, lies in the rail, m.
fn within(radius: f64, cells: &[HungCell]) -> f64 {
    let middle = |corners: &[Place]| {
        let n = MM * corners.len() as f64;
        [1, 2].map(|d| corners.iter().map(|p| p[d]).sum::<f64>() / n)
    };
    let depth = |[y, z]: [f64; 2]| radius - y.hypot(z + radius);
    let deepest = |cell: &HungCell| {
        let sides = cell.corners.windows(2).map(|side| depth(middle(side)));
        sides.fold(depth(middle(&cell.corners)), f64::max)
    };
    cells.iter().map(deepest).fold(0.0, f64::max)
}

/// The top under what lies on it, and its front.
fn table(hung: &Hung) -> Vec<Vec<Place>> {
    let ([left, right], [_, back]) = (reach(hung, 0), reach(hung, 1));
    let spare = 0.08 * (right - left);
    let (left, right, back, top) = (left - spare, right + spare, back + spare, -1e-3);
    let face = |corners: [Place; 4]| corners.to_vec();
    vec![
        face([[left, 0.0, top], [right, 0.0, top], [right, back, top], [left, back, top]]),
        face([
            [left, 0.0, top],
            [right, 0.0, top],
            [right, 0.0, top - THICK],
            [left, 0.0, top - THICK],
        ]),
        face([
            [right, 0.0, top],
            [right, back, top],
            [right, back, top - THICK],
            [right, 0.0, top - THICK],
        ]),
    ]
}

/// The lower of two discs; the upper one would hide the piece. A little smaller than it is, since the
/// piece bends between the last held stitches and the rim.
fn disc(radius: f64) -> Vec<Vec<Place>> {
    let radius = 0.93 * radius;
    let at = |k: usize, z: f64| {
        let (s, c) = (TAU * k as f64 / ROUND as f64).sin_cos();
        [radius * c, radius * s, z]
    };
    let (top, foot) = (-1e-3, -5e-3);
    let side = |k: usize| vec![at(k, top), at(k + 1, top), at(k + 1, foot), at(k, foot)];
    let lid = |z: f64| (0..ROUND).map(|k| at(k, z)).collect::<Vec<_>>();
    (0..ROUND).map(side).chain([lid(top), lid(foot)]).collect()
}
