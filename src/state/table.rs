//! A piece on a level table without friction, under its weight: closed rounds, and pieces whose over-fed
//! parts may rise.

use std::ops::ControlFlow;

use super::drape::ridges;
use super::hung::{G, InSpace, LAYER};
use super::laid::{Laid, NotLaid, narrowest_step, nearest_stitch};
use super::over_fed::OverFed;
use crate::fabric::Fabric;
use crate::mechanics::Body;
use crate::mechanics::Cause;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;
use crate::mechanics::Solid;
use crate::mechanics::Solver;
use crate::mechanics::Support;

/// Thickness of the table, m: half of it bounds a step.
const TABLE: f64 = 0.05;

/// Height of the waves a weightless piece is started with, as a share of the blister looked for.
const RIPPLE: f64 = 0.02;

/// Steps between two looks at how far a weightless piece has risen, and looks.
const STEPS: usize = 4;
const LOOKS: usize = 40;

/// A flat piece that was given its way out of the plane.
#[derive(Debug, Clone, PartialEq)]
pub struct Risen {
    /// Node positions, m; the table's top is at height zero.
    pub positions: Vec<[f64; 3]>,
    /// Most that the piece stands off the table, m.
    pub rise: f64,
    /// Where it stands off most unevenly.
    pub ripple: Option<Ripple>,
    /// How the solver got there.
    pub outcome: Outcome,
}

/// Waves along a row, or along the ends of the rows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Row; none along the ends of the rows.
    pub row: Option<usize>,
    /// Along the left ends.
    pub left: bool,
    /// Least to most height, m.
    pub height: f64,
    /// Ridges.
    pub waves: u32,
    /// Length along it, m.
    pub length: f64,
}

/// The fabric with bending and weight on a table that reaches `reach` (m) from the middle.
pub(super) fn on_it(fabric: &Fabric, flat: &[[f64; 2]], space: &InSpace, reach: f64) -> Body {
    let mut body = fabric.body.clone();
    body.bends = fabric.bends(&space.rigidity, flat);
    body.loads = space.masses.iter().map(|m| [0.0, 0.0, -G * m]).collect();
    let stiffest = body.membranes.iter().fold(0.0_f64, |s, m| s.max(m.e1).max(m.e2));
    let table = Solid::table(4.0 * reach, TABLE);
    body.support = Some(Support { solids: vec![table], stiffness: stiffest, layer: LAYER });
    body
}

/// Brings a body to rest from `x`; `pins` keep it from sliding and turning.
pub(super) fn rest(
    fabric: &Fabric,
    body: &Body,
    x: &mut [[f64; 3]],
    pins: &[usize],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Outcome, NotLaid> {
    let mut solver = Solver::<3>::new(body).map_err(|fault| NotLaid::Body { fault })?;
    solver.pin(pins);
    let settings = Settings { step: narrowest_step(fabric, settings), ..*settings };
    solver.minimise(x, &settings, progress).map_err(|fault| {
        let near = nearest_stitch(fabric, fault.worst_node);
        NotLaid::Unsettled { fault, near }
    })
}

/// Puts a piece laid flat, with over-fed parts, on a table.
///
/// Weightless, its plane is no minimum: from small waves of many lengths it buckles of itself, as far as the
/// blister looked for; then it is laid down under its weight. Of several ways out this is one.
///
/// # Errors
/// [`NotLaid`], saying where.
pub fn rise(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    found: &[OverFed],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Risen, NotLaid> {
    let height = found.iter().map(|f| f.blister.height).fold(0.0, f64::max);
    let length = found.iter().map(|f| f.blister.length).fold(f64::INFINITY, f64::min);
    let flat = centred(&laid.shape.positions);
    let reach = flat.iter().map(|p| p[0].hypot(p[1])).fold(0.0, f64::max);
    let mut x: Vec<[f64; 3]> =
        flat.iter().map(|p| [p[0], p[1], RIPPLE * height * waves(p, length)]).collect();
    let held = held(&flat);
    let body = on_it(fabric, &flat, space, reach);
    buckle(&body, &mut x, &held, height, progress)?;
    let low = x.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
    x.iter_mut().for_each(|p| p[2] -= low);
    // Without friction only these three keep it from sliding and turning on the table.
    let pins = [3 * held[0], 3 * held[0] + 1, 3 * held[1] + 1];
    let settings = Settings { trust: height, ..*settings };
    let outcome = rest(fabric, &body, &mut x, &pins, &settings, progress)?;
    let low = x.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
    let high = x.iter().map(|p| p[2]).fold(f64::NEG_INFINITY, f64::max);
    Ok(Risen { rise: high - low, ripple: ripple(fabric, &x), positions: x, outcome })
}

fn centred(flat: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let n = flat.len() as f64;
    let middle = [0, 1].map(|d| flat.iter().map(|p| p[d]).sum::<f64>() / n);
    flat.iter().map(|p| [p[0] - middle[0], p[1] - middle[1]]).collect()
}

/// Waves of several lengths and directions about `length` (m), between -1 and 1.
fn waves(p: &[f64; 2], length: f64) -> f64 {
    let one = |k: u32| {
        let (way, share) = (f64::from(k) * 0.7, 1.0 + 0.35 * f64::from(k));
        let along = p[0] * way.cos() + p[1] * way.sin();
        (std::f64::consts::TAU * along / (length * share) + f64::from(k * k)).cos()
    };
    (0..8).map(one).sum::<f64>() / 8.0
}

/// The node nearest the middle, the one furthest along the first axis, and the one furthest along the second.
fn held(flat: &[[f64; 2]]) -> [usize; 3] {
    let best = |value: &dyn Fn(&[f64; 2]) -> f64| {
        (0..flat.len()).max_by(|a, b| value(&flat[*a]).total_cmp(&value(&flat[*b]))).unwrap_or(0)
    };
    [best(&|p| -p[0].hypot(p[1])), best(&|p| p[0]), best(&|p| p[1])]
}

/// Lets the piece buckle without weight or table until it stands as high as `height` (m) over its lowest part.
fn buckle(
    body: &Body,
    x: &mut [[f64; 3]],
    held: &[usize; 3],
    height: f64,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), NotLaid> {
    let free = Body { loads: Vec::new(), support: None, ..body.clone() };
    let mut solver = Solver::<3>::new(&free).map_err(|fault| NotLaid::Body { fault })?;
    let [a, b, c] = held.map(|n| 3 * n);
    // As many as a rigid body has ways to move: they bear nothing.
    solver.pin(&[a, a + 1, a + 2, b + 1, b + 2, c + 2]);
    let few = Settings { iterations: STEPS, trust: height / 4.0, ..Settings::default() };
    for _ in 0..LOOKS {
        let risen = |x: &[[f64; 3]]| {
            let heights = || x.iter().map(|p| p[2]);
            heights().fold(f64::NEG_INFINITY, f64::max) - heights().fold(f64::INFINITY, f64::min)
        };
        match solver.minimise(x, &few, progress) {
            Err(fault) if fault.cause == Cause::Interrupted => {
                return Err(NotLaid::Unsettled { fault, near: None });
            }
            Err(fault) if fault.cause == Cause::Iterations && risen(x) < height => {}
            // At rest, high enough, or stuck: it goes on from here under its weight.
            _ => break,
        }
    }
    Ok(())
}

/// The row, or line of row ends, along which heights differ most.
fn ripple(fabric: &Fabric, x: &[[f64; 3]]) -> Option<Ripple> {
    let rows = fabric.row_paths.iter().enumerate().filter(|(_, path)| path.len() > 2);
    let along = rows.map(|(row, path)| (Some(row), false, path.clone()));
    let ends = [(true, 0), (false, 1)].map(|(left, k)| {
        let path: Vec<u32> = fabric.row_ends.iter().flatten().map(|ends| ends[k]).collect();
        (None, left, path)
    });
    let all = along.chain(ends.into_iter().filter(|(_, _, path)| path.len() > 2));
    let told = all.map(|(row, left, path)| {
        let heights: Vec<f64> = path.iter().map(|n| x[*n as usize][2]).collect();
        let low = heights.iter().copied().fold(f64::INFINITY, f64::min);
        let high = heights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let step = |w: &[u32]| {
            let (p, q) = (x[w[0] as usize], x[w[1] as usize]);
            (0..3).map(|d| (q[d] - p[d]).powi(2)).sum::<f64>().sqrt()
        };
        // Beyond the ends it counts as low, so that a ridge at an end is one.
        let waves = ridges(&[heights.as_slice(), &[low]].concat());
        Ripple { row, left, height: high - low, waves, length: path.windows(2).map(step).sum() }
    });
    told.max_by(|a, b| a.height.total_cmp(&b.height))
}
