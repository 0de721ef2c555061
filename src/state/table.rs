//! A piece on a level table without friction, under its weight: closed rounds, and pieces whose over-fed
//! parts may rise.

use std::collections::BTreeSet;
use std::ops::ControlFlow;

use super::drape::ridges;
use super::hung::{G, InSpace, LAYER};
use super::laid::{Laid, NotLaid, narrowest_step, nearest_stitch};
use super::over_fed::OverFed;
use super::part::Part;
use super::set_out::{over, set_out};
use crate::fabric::Fabric;
use crate::mechanics::Body;
use crate::mechanics::Cause;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;
use crate::mechanics::Solid;
use crate::mechanics::Solver;
use crate::mechanics::Support;
use crate::mechanics::energy_of;

/// Thickness of the table, m: half of it bounds a step.
const TABLE: f64 = 0.05;

/// How far about the places that may rise a piece is let go first, in lengths of their waves: beyond, it hardly moves.
const REACH: f64 = 1.0;

/// Share of its nodes from which on the whole piece is let go at once.
const MOST: f64 = 0.75;

/// Residual and step (m) at which a part is near enough its rest for the whole to be let go.
const NEAR: [f64; 2] = [1e-4, 1e-4];

/// Most times that a piece is pushed off a saddle, and how far, as a share of the height of the waves looked for.
const KICKS: usize = 3;
const RIPPLE: f64 = 0.02;

/// Most steps of a part.
const STEPS: usize = 400;

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
/// It starts in waves of the lengths that pay, as high as takes up its squeeze, lying on the table elsewhere.
/// Where that is a small part of it, that part and what lies near come to rest alone first; but the rest told is
/// that of the whole piece, all of it free to move. Of several ways out this is one.
///
/// # Errors
/// [`NotLaid`], saying where; [`NotLaid::Unstable`] where it comes to a balance that is no minimum.
pub fn rise(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    found: &[OverFed],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Risen, NotLaid> {
    let height = found.iter().map(|f| f.blister.height).fold(0.0, f64::max);
    let length = longest(found);
    let flat = centred(&laid.shape.positions);
    let reach = flat.iter().map(|p| p[0].hypot(p[1])).fold(0.0, f64::max);
    let body = on_it(fabric, &flat, space, reach);
    let lying: Vec<f64> = (0..flat.len()).map(|n| sunk(&body, n)).collect();
    let stood = |heights: &[f64]| -> Vec<[f64; 3]> {
        (0..flat.len()).map(|n| [flat[n][0], flat[n][1], heights[n] - lying[n]]).collect()
    };
    let energy = energy_of(&body);
    let mut x = stood(&set_out(fabric, laid, found, &|heights| energy(&stood(heights))));
    let settings = Settings { trust: height, ..*settings };
    part(&body, &around(&flat, &over(fabric, laid, found), length), &mut x, &settings, progress)?;
    let held = held(&flat);
    // Without friction only these three keep it from sliding and turning on the table.
    let pins = [3 * held[0], 3 * held[0] + 1, 3 * held[1] + 1];
    let mut outcome = rest(fabric, &body, &mut x, &pins, &settings, progress)?;
    for _ in 0..KICKS {
        if outcome.minimum {
            break;
        }
        // Balanced on a saddle: any push off it leads down.
        x.iter_mut()
            .filter(|p| p[2] > LAYER)
            .for_each(|p| p[2] += RIPPLE * height * waves(p, length));
        outcome = rest(fabric, &body, &mut x, &pins, &settings, progress)?;
    }
    if !outcome.minimum {
        return Err(NotLaid::Unstable);
    }
    let low = x.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min);
    let high = x.iter().map(|p| p[2]).fold(f64::NEG_INFINITY, f64::max);
    Ok(Risen { rise: high - low, ripple: ripple(fabric, &x), positions: x, outcome })
}

/// Nodes that [`rise`] lets go first: about what it costs.
pub fn let_go(fabric: &Fabric, laid: &Laid, found: &[OverFed]) -> usize {
    let over = over(fabric, laid, found);
    let free = around(&laid.shape.positions, &over, longest(found));
    let many = free.iter().filter(|free| **free).count();
    if many as f64 > MOST * free.len() as f64 { free.len() } else { many }
}

/// Waves of several lengths and directions about `length` (m), between -1 and 1.
fn waves(p: &[f64; 3], length: f64) -> f64 {
    let one = |k: u32| {
        let (way, share) = (f64::from(k) * 0.7, 1.0 + 0.35 * f64::from(k));
        let along = p[0] * way.cos() + p[1] * way.sin();
        (std::f64::consts::TAU * along / (length * share) + f64::from(k * k)).cos()
    };
    (0..8).map(one).sum::<f64>() / 8.0
}

fn longest(found: &[OverFed]) -> f64 {
    REACH * found.iter().map(|f| f.blister.length).fold(0.0, f64::max)
}

/// How far a node lying on the table presses into its soft layer, m: `k s²/2δ` bears its weight.
fn sunk(body: &Body, node: usize) -> f64 {
    let Some(support) = &body.support else { return 0.0 };
    let weight = body.loads.get(node).map_or(0.0, |load| -load[2]).max(0.0);
    (2.0 * weight * support.layer / support.stiffness).sqrt().min(support.layer)
}

/// Brings the free nodes near their rest while the others are held, where they are few enough for that to pay.
fn part(
    body: &Body,
    free: &[bool],
    x: &mut [[f64; 3]],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(), NotLaid> {
    if free.iter().filter(|free| **free).count() as f64 > MOST * free.len() as f64 {
        return Ok(());
    }
    let part = Part::new(body, free);
    let mut y: Vec<[f64; 3]> = part.nodes.iter().map(|n| x[*n as usize]).collect();
    let mut solver = Solver::<3>::new(&part.body).map_err(|fault| NotLaid::Body { fault })?;
    solver.pin(&part.held);
    let [residual, step] = NEAR;
    let rough = Settings { residual, step, iterations: STEPS, ..*settings };
    match solver.minimise(&mut y, &rough, progress) {
        Err(fault) if fault.cause == Cause::Interrupted => {
            return Err(NotLaid::Unsettled { fault, near: None });
        }
        // Wherever it got to, the whole goes on from there.
        _ => part.nodes.iter().zip(y).for_each(|(n, y)| x[*n as usize] = y),
    }
    Ok(())
}

/// Nodes about as near as `far` (m) to some that are marked.
fn around(flat: &[[f64; 2]], marked: &[bool], far: f64) -> Vec<bool> {
    const PARTS: i64 = 4;
    let square = |p: &[f64; 2]| p.map(|c| (c * PARTS as f64 / far).floor() as i64);
    let own: BTreeSet<[i64; 2]> =
        flat.iter().zip(marked).filter(|(_, marked)| **marked).map(|(p, _)| square(p)).collect();
    let steps = || -PARTS..=PARTS;
    let near: BTreeSet<[i64; 2]> = own
        .iter()
        .flat_map(|[i, j]| steps().flat_map(move |k| steps().map(move |l| [i + k, j + l])))
        .collect();
    flat.iter().map(|p| near.contains(&square(p))).collect()
}

fn centred(flat: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let n = flat.len() as f64;
    let middle = [0, 1].map(|d| flat.iter().map(|p| p[d]).sum::<f64>() / n);
    flat.iter().map(|p| [p[0] - middle[0], p[1] - middle[1]]).collect()
}

/// The node nearest the middle, and the one furthest along the first axis.
fn held(flat: &[[f64; 2]]) -> [usize; 2] {
    let best = |value: &dyn Fn(&[f64; 2]) -> f64| {
        (0..flat.len()).max_by(|a, b| value(&flat[*a]).total_cmp(&value(&flat[*b]))).unwrap_or(0)
    };
    [best(&|p| -p[0].hypot(p[1])), best(&|p| p[0])]
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
