//! Work in closed rounds: flat from its middle out, and in space on a table under its weight.

use std::f64::consts::TAU;
use std::ops::ControlFlow;

use super::drape::ridges;
use super::hung::{G, InSpace};
use super::laid::{Laid, NotLaid, lay_from};
use super::table;
use crate::fabric::Fabric;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;

/// A start out of the plane, as shares of the radius.
struct Start {
    /// How high the middle is domed.
    dome: f64,
    /// Height of two waves around the rim.
    saddle: f64,
    /// Height of each of five further numbers of waves.
    ripple: f64,
}

/// From where a piece is let go on a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LetGo {
    /// Laid down nearly flat; raised only if it comes to no rest so.
    LaidDown,
    /// Laid down nearly flat, and raised as well, which takes large pieces minutes.
    Raised,
}

/// Laid down nearly flat; raised a little into a dome and a saddle.
const STARTS: [Start; 2] = [
    Start { dome: 0.005, saddle: 0.0025, ripple: 0.00025 },
    Start { dome: 0.05, saddle: 0.025, ripple: 0.0025 },
];

/// A piece on a level table.
#[derive(Debug, Clone, PartialEq)]
pub struct OnTable {
    /// Node positions, m; the table's top is at height zero.
    pub positions: Vec<[f64; 3]>,
    /// Strain along the rounds, up the columns and shear (rad) of every quad, wedge and polygon.
    pub strains: Vec<[f64; 3]>,
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
    /// Most that it stands off the table (m) where it is laid down flat and not lifted, and the share of that
    /// state's energy that this one has; none if it comes to no rest so.
    pub laid_down: Option<[f64; 2]>,
    /// It was raised too.
    pub raised: bool,
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

/// Puts work laid in the plane on a level table, under its weight.
///
/// A piece can come to rest in several ways: flat, as a dome or bowl, in waves of one or another number. It is
/// laid down flat first, and keeps the rest it finds there unless that from a raised start has less energy by
/// more than friction takes on the way from one to the other: `μ g Σ m s`, `s` the moves of its stitches along
/// the table (Coulomb; the whole weight is counted, so that it is the most that friction can take). Within
/// either rest nothing rubs. `let_go` says whether a raised start is looked at where the first comes to rest.
///
/// # Errors
/// [`NotLaid`], saying where, if it comes to rest from neither start.
pub fn on_table(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    (friction, let_go): (f64, LetGo),
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<OnTable, NotLaid> {
    let flat = &laid.shape.positions;
    let middle = *fabric.rings.first().ok_or(NotLaid::Closed)? as usize;
    let out = |p: &[f64; 2]| (p[0] - flat[middle][0]).hypot(p[1] - flat[middle][1]);
    let radius = flat.iter().map(out).fold(0.0, f64::max);
    let body = table::on_it(fabric, flat, space, radius);
    let far = (0..flat.len()).max_by(|a, b| flat[*a][0].total_cmp(&flat[*b][0])).unwrap_or(middle);
    // Without friction only these three keep it from sliding and turning on the table.
    let pins = [3 * middle, 3 * middle + 1, 3 * far + 1];
    let mut kept: Option<(Vec<[f64; 3]>, Outcome)> = None;
    let (mut failed, mut down) = (NotLaid::Nothing, None);
    let mut raised_too = false;
    for (k, start) in STARTS.iter().enumerate() {
        if k > 0 && let_go == LetGo::LaidDown && kept.is_some() {
            break;
        }
        raised_too = k > 0;
        let mut x: Vec<[f64; 3]> =
            flat.iter().map(|p| raised(p, &flat[middle], radius, start)).collect();
        match table::rest(fabric, &body, &mut x, &pins, settings, progress) {
            Err(fault) if fault.interrupted() => return Err(fault),
            Err(fault) => failed = fault,
            Ok(outcome) => {
                let leaves = kept.as_ref().is_none_or(|(from, least)| {
                    outcome.energy + friction * rubbed(from, &x, &space.masses) < least.energy
                });
                if k == 0 {
                    down = Some((height(&x), outcome.energy));
                }
                if leaves {
                    kept = Some((x, outcome));
                }
            }
        }
    }
    let (x, outcome) = kept.ok_or(failed)?;
    let laid_down = down.map(|(rise, energy)| [rise, outcome.energy / energy]);
    Ok(OnTable { laid_down, raised: raised_too, ..told(fabric, x, middle, outcome) })
}

/// Least to most height, m.
fn height(x: &[[f64; 3]]) -> f64 {
    let heights = || x.iter().map(|p| p[2]);
    heights().fold(f64::NEG_INFINITY, f64::max) - heights().fold(f64::INFINITY, f64::min)
}

/// Weight of every stitch (N) times how far it moves along the table (m), added up.
fn rubbed(from: &[[f64; 3]], to: &[[f64; 3]], masses: &[f64]) -> f64 {
    let along = |(p, q): (&[f64; 3], &[f64; 3])| (q[0] - p[0]).hypot(q[1] - p[1]);
    from.iter().zip(to).map(along).zip(masses).map(|(s, m)| G * m * s).sum()
}

fn raised(p: &[f64; 2], o: &[f64; 2], radius: f64, start: &Start) -> [f64; 3] {
    let d = [p[0] - o[0], p[1] - o[1]];
    let r = d[0].hypot(d[1]) / radius;
    let around = d[1].atan2(d[0]);
    // Waves of five further numbers give every way out something to grow from.
    let small: f64 = (3..8).map(|n| (f64::from(n) * around + f64::from(n * n)).cos()).sum();
    let waves = start.saddle * (2.0 * around).cos() + start.ripple * small;
    [d[0], d[1], radius * (start.dome * (1.0 - r * r) + r * r * waves)]
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
    let over = |f: fn(f64, f64) -> f64, from: f64| heights.iter().copied().fold(from, f);
    let link = |i: usize| {
        let (p, q) = (rim[i], rim[(i + 1) % rim.len()]);
        (0..3).map(|d| (q[d] - p[d]).powi(2)).sum::<f64>().sqrt()
    };
    OnTable {
        rise: height(&x),
        cup: x[middle][2] - mean,
        ripple: over(f64::max, f64::NEG_INFINITY) - over(f64::min, f64::INFINITY),
        waves: ridges(&heights),
        rim: (0..rim.len()).map(link).sum(),
        strains: super::hung::strains(&fabric.body, &x),
        positions: x,
        laid_down: None,
        raised: false,
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
