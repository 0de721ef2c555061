//! Work in closed rounds: flat from its middle out, and in space on a table under its weight.

use std::f64::consts::TAU;
use std::ops::ControlFlow;

use super::drape::ridges;
use super::hung::InSpace;
use super::laid::{Laid, NotLaid, lay_from};
use super::table;
use crate::fabric::Fabric;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;

/// Rise of the start, as a share of the radius: cupped, and raised twice around.
const RISE: f64 = 0.05;

/// A piece on a level table.
#[derive(Debug, Clone, PartialEq)]
pub struct OnTable {
    /// Node positions, m; the table's top is at height zero.
    pub positions: Vec<[f64; 3]>,
    /// Most that the piece stands off the table, m.
    pub rise: f64,
    /// Height of its middle over the mean of its rim, m: positive where it cups.
    pub cup: f64,
    /// Least to most height along the last round, m.
    pub ripple: f64,
    /// Waves along the last round.
    pub waves: u32,
    /// Length of the last round, m.
    pub rim: f64,
    /// How the solver got there.
    pub outcome: Outcome,
}

/// Lays work round a ring in the plane.
///
/// # Errors
/// [`NotLaid`]; [`NotLaid::Closed`] where no round is worked into a ring.
pub fn lay_rounds(
    fabric: &Fabric,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Laid, NotLaid> {
    if fabric.cells() == 0 {
        return Err(NotLaid::Nothing);
    }
    if fabric.rings.is_empty() {
        return Err(NotLaid::Closed);
    }
    lay_from(fabric, fabric.start.clone(), settings, progress)
}

/// Puts work laid in the plane on a level table without friction, under its weight.
///
/// It starts a little domed and a little saddle-shaped, since a flat start may balance where the plane
/// is no minimum. Of two ways out (dome or bowl, waves of one or another number) this is one.
///
/// # Errors
/// [`NotLaid`], saying where.
pub fn on_table(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<OnTable, NotLaid> {
    let flat = &laid.shape.positions;
    let middle = *fabric.rings.first().ok_or(NotLaid::Closed)? as usize;
    let out = |p: &[f64; 2]| (p[0] - flat[middle][0]).hypot(p[1] - flat[middle][1]);
    let radius = flat.iter().map(out).fold(0.0, f64::max);
    let body = table::on_it(fabric, flat, space, radius);
    let mut x: Vec<[f64; 3]> = flat.iter().map(|p| raised(p, &flat[middle], radius)).collect();
    let far = (0..flat.len()).max_by(|a, b| flat[*a][0].total_cmp(&flat[*b][0])).unwrap_or(middle);
    // Without friction only these three keep it from sliding and turning on the table.
    let pins = [3 * middle, 3 * middle + 1, 3 * far + 1];
    let outcome = table::rest(fabric, &body, &mut x, &pins, settings, progress)?;
    Ok(told(fabric, x, middle, outcome))
}

fn raised(p: &[f64; 2], o: &[f64; 2], radius: f64) -> [f64; 3] {
    let d = [p[0] - o[0], p[1] - o[1]];
    let r = d[0].hypot(d[1]) / radius;
    let around = d[1].atan2(d[0]);
    // Waves of five further numbers give every way out something to grow from.
    let small: f64 = (3..8).map(|n| (f64::from(n) * around + f64::from(n * n)).cos()).sum();
    let waves = 0.5 * (2.0 * around).cos() + 0.05 * small;
    [d[0], d[1], RISE * radius * (1.0 - r * r + r * r * waves)]
}

fn told(fabric: &Fabric, x: Vec<[f64; 3]>, middle: usize, outcome: Outcome) -> OnTable {
    let rim: Vec<[f64; 3]> = fabric
        .row_paths
        .iter()
        .rfind(|path| path.len() > 2)
        .map(|path| path.iter().map(|n| x[*n as usize]).collect())
        .unwrap_or_default();
    let heights: Vec<f64> = rim.iter().map(|p| p[2]).collect();
    let n = heights.len().max(1) as f64;
    let mean = heights.iter().sum::<f64>() / n;
    let least = x.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
    let most = x.iter().map(|p| p[2]).fold(f64::NEG_INFINITY, f64::max);
    let over = |f: fn(f64, f64) -> f64, from: f64| heights.iter().copied().fold(from, f);
    let link = |i: usize| {
        let (p, q) = (rim[i], rim[(i + 1) % rim.len()]);
        (0..3).map(|d| (q[d] - p[d]).powi(2)).sum::<f64>().sqrt()
    };
    OnTable {
        rise: most - least,
        cup: x[middle][2] - mean,
        ripple: over(f64::max, f64::NEG_INFINITY) - over(f64::min, f64::INFINITY),
        waves: ridges(&heights),
        rim: (0..rim.len()).map(link).sum(),
        positions: x,
        outcome,
    }
}

/// Full angle (rad) of the surface that rounds of these lengths at these radii make about its middle,
/// by least squares through the middle: 2π lies flat, less cups, more ruffles.
pub fn angle(rounds: &[[f64; 2]]) -> f64 {
    let sum = |f: fn(&[f64; 2]) -> f64| rounds.iter().map(f).sum::<f64>();
    let square = sum(|[_, r]| r * r);
    if square > 0.0 { sum(|[c, r]| c * r) / square } else { TAU }
}
