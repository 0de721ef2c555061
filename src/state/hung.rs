//! The piece in space under its weight: pegged, over a rail, over a table edge, over shoulders, on a disc.
//!
//! Height is the third axis. What holds the piece holds single stitches where they are; a rail or a body
//! carries the rest without friction. Every start is an unstrained placing of the laid piece, so growth is
//! measured against it.

use std::ops::ControlFlow;

use super::Laid;
use super::Shoulders;
use super::SideOf;
use super::blocked::{shares, sides};
use super::fit::{asked, hang_fits};
use super::laid::{NotLaid, narrowest_step, nearest_stitch};
use crate::fabric::Fabric;
use crate::fabric::Rigidity;
use crate::mechanics::Cell;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;
use crate::mechanics::Solid;
use crate::mechanics::Solver;
use crate::mechanics::Support;

/// Standard acceleration of free fall, m/s² (ISO 80000-3).
pub(super) const G: f64 = 9.80665;

/// Height of the ripple a start is given, so that it need not stay in its plane, m.
const RIPPLE: f64 = 5e-4;

/// Depth of the soft layer of a rail, m.
pub(super) const LAYER: f64 = 5e-4;

/// What holds the piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hang {
    /// Pegs along a side, at most so far apart (m), on a straight level line.
    Edge {
        /// The side.
        side: SideOf,
        /// Largest distance between pegs, m.
        spacing: f64,
    },
    /// The two corners of a side, brought to this share of their distance.
    Corners {
        /// The side.
        side: SideOf,
        /// Share of the corners' laid distance, above 0, at most 1.
        apart: f64,
    },
    /// Over a level round rail along the rows; the row on top is held, the rest slides freely.
    Rail {
        /// Radius of the rail, m.
        radius: f64,
        /// Share of the rows on the near side of the rail, 0 to 1.
        at: f64,
    },
    /// The piece lies on a table and hangs over its edge, which is parallel to `side`; what lies on the
    /// table is held by friction.
    TableEdge {
        /// The side that hangs.
        side: SideOf,
        /// Length that hangs over, m.
        over: f64,
    },
    /// Over the shoulders of a wearer whose back is turned to the viewer: the middle of a side lies at the
    /// nape, its stitches from shoulder to shoulder are held by friction, the rest slides freely.
    Shoulders {
        /// The side at the nape.
        side: SideOf,
        /// The wearer.
        body: Shoulders,
    },
    /// Held level between two discs about its middle, as in the drape test (ISO 9073-9).
    Disc {
        /// Radius of the discs, m.
        radius: f64,
    },
}

/// What the piece is like out of its plane.
#[derive(Debug, Clone, PartialEq)]
pub struct InSpace {
    /// Bending and twisting.
    pub rigidity: Rigidity,
    /// Mass of every node, kg; see [`Fabric::node_masses`].
    pub masses: Vec<f64>,
}

/// A hung piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Hung {
    /// Node positions, m, the third axis up; what holds the piece lies at height 0.
    pub positions: Vec<[f64; 3]>,
    /// Where the nodes would be if nothing stretched, m.
    pub unstretched: Vec<[f64; 3]>,
    /// Strain along the rows, up the columns and shear (rad) of every quad, wedge and polygon.
    pub strains: Vec<[f64; 3]>,
    /// Nodes that are held.
    pub held: Vec<u32>,
    /// Force on every held node, N, in the order of `held`.
    pub borne: Vec<[f64; 3]>,
    /// Force of a rail or a body on the piece, N.
    pub carried: [f64; 3],
    /// Deepest that any node lies in a rail or a body, m.
    pub sunk: f64,
    /// How the solver got there.
    pub outcome: Outcome,
}

type Point = [f64; 2];
type Place = [f64; 3];

/// Nodes that are held, where every node starts, and what the rest may touch.
struct Placing {
    held: Vec<u32>,
    start: Vec<Place>,
    solids: Vec<Solid>,
}

/// Hangs a laid piece.
///
/// # Errors
/// [`NotLaid`]; pieces without four sides can only be put on a disc.
pub fn hang(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    how: Hang,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Hung, NotLaid> {
    hang_fits(how)?;
    let flat = &laid.shape.positions;
    reaches(fabric, laid, how)?;
    let placing = placing(fabric, laid, how).ok_or(NotLaid::Unheld)?;
    if placing.held.len() == flat.len() {
        return Err(asked("what holds the piece holds all of it: nothing hangs; hold less of it"));
    }
    let mut body = fabric.body.clone();
    body.bends = fabric.bends(&space.rigidity, flat);
    body.loads = space.masses.iter().map(|m| [0.0, 0.0, -G * m]).collect();
    let stiffest = body.membranes.iter().fold(0.0_f64, |s, m| s.max(m.e1).max(m.e2));
    let solids = placing.solids.clone();
    body.support =
        (!solids.is_empty()).then_some(Support { solids, stiffness: stiffest, layer: LAYER });
    let mut solver = Solver::<3>::new(&body).map_err(|fault| NotLaid::Body { fault })?;
    let pins: Vec<usize> =
        placing.held.iter().flat_map(|n| (0..3).map(move |d| 3 * *n as usize + d)).collect();
    solver.pin(&pins);
    let mut x = rippled(&placing);
    let settings = Settings { step: narrowest_step(fabric, settings), ..*settings };
    let outcome = solver.minimise(&mut x, &settings, progress).map_err(|fault| {
        let near = nearest_stitch(fabric, fault.worst_node);
        NotLaid::Unsettled { fault, near }
    })?;
    let forces = solver.net_forces(&x);
    let sunk = body
        .support
        .iter()
        .flat_map(|s| &s.solids)
        .fold(0.0_f64, |deep, solid| x.iter().fold(deep, |deep, p| deep.max(solid.depth(*p))));
    let pushes = body.support.iter().flat_map(|s| x.iter().map(|p| s.force(*p)));
    let carried = pushes.fold([0.0; 3], |sum, f| [0, 1, 2].map(|d| sum[d] + f[d]));
    Ok(Hung {
        carried,
        strains: strains(&body, &x),
        borne: placing.held.iter().map(|n| forces[*n as usize]).collect(),
        positions: x,
        unstretched: placing.start,
        held: placing.held,
        sunk,
        outcome,
    })
}

/// Strains of all cells in space.
fn strains(body: &crate::mechanics::Body, x: &[Place]) -> Vec<[f64; 3]> {
    let quads = (0..body.quads.len()).map(Cell::Quad);
    let wedges = (0..body.wedges.len()).map(Cell::Wedge);
    let cells = quads.chain(wedges).chain((0..body.polygons.len()).map(Cell::Polygon));
    cells
        .map(|cell| {
            let s = body.strain(cell, x);
            [s.rows, s.columns, s.shear]
        })
        .collect()
}

/// A start off its plane by a small fixed ripple, since a sheet in its plane may balance there.
fn rippled(placing: &Placing) -> Vec<Place> {
    let held: std::collections::BTreeSet<u32> = placing.held.iter().copied().collect();
    let wave = |p: &Place| RIPPLE * ((31.0 * p[0]).sin() + (23.0 * p[2] + 17.0 * p[1]).sin());
    let on = |n: usize, p: &Place| match held.contains(&(n as u32)) {
        true => *p,
        false => [p[0], p[1] + wave(p), p[2] + 0.5 * wave(p)],
    };
    placing.start.iter().enumerate().map(|(n, p)| on(n, p)).collect()
}

fn side_index(side: SideOf) -> usize {
    match side {
        SideOf::Foundation => 0,
        SideOf::Right => 1,
        SideOf::LastRow => 2,
        SideOf::Left => 3,
    }
}

fn placing(fabric: &Fabric, laid: &Laid, how: Hang) -> Option<Placing> {
    let flat = &laid.shape.positions;
    let of = |side: SideOf| sides(fabric).map(|s| s[side_index(side)].clone());
    match how {
        Hang::Edge { side, spacing } => {
            let nodes = of(side)?;
            let held = at_spacing(&shares(&laid.shape, &nodes), length(flat, &nodes), spacing);
            Some(pegged(flat, &nodes, &held, 1.0))
        }
        Hang::Corners { side, apart } => {
            let nodes = of(side)?;
            Some(pegged(flat, &nodes, &[0, nodes.len() - 1], apart))
        }
        Hang::Rail { radius, at } => over_rail(fabric, flat, radius, at),
        Hang::TableEdge { side, over } => over_edge(flat, &of(side)?, over),
        Hang::Shoulders { side, body } => over_shoulders(flat, &of(side)?, &body),
        Hang::Disc { radius } => on_disc(flat, radius),
    }
}

/// Refuses shoulders that the piece does not reach across.
fn reaches(fabric: &Fabric, laid: &Laid, how: Hang) -> Result<(), NotLaid> {
    let Hang::Shoulders { side, body } = how else { return Ok(()) };
    let nodes = &sides(fabric).ok_or(NotLaid::Unheld)?[side_index(side)];
    let (long, least) = (length(&laid.shape.positions, nodes), 2.0 * body.shoulder());
    if long >= least {
        return Ok(());
    }
    Err(asked(format!(
        "the form does not fit: the side at the nape is {:.1} cm long and the shoulders take {:.1} cm; \
         expected narrower shoulders or another side",
        100.0 * long,
        100.0 * least
    )))
}

fn length(flat: &[Point], nodes: &[u32]) -> f64 {
    let at = |n: u32| flat[n as usize];
    nodes.windows(2).map(|p| (at(p[1])[0] - at(p[0])[0]).hypot(at(p[1])[1] - at(p[0])[1])).sum()
}

/// Places in a side nearest to an even spacing, ends included.
fn at_spacing(shares: &[f64], length: f64, spacing: f64) -> Vec<usize> {
    let gaps = (length / spacing).ceil().max(1.0) as usize;
    let nearest = |share: f64| {
        let off = |i: &usize| (shares[*i] - share).abs();
        (0..shares.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
    };
    let mut chosen: Vec<usize> = (0..=gaps).map(|g| nearest(g as f64 / gaps as f64)).collect();
    chosen.dedup();
    chosen
}

/// Frame of a side: its first corner, its direction and the direction into the piece.
fn frame(flat: &[Point], nodes: &[u32]) -> Option<(Point, Point, Point)> {
    let (a, b) = (flat[*nodes.first()? as usize], flat[*nodes.last()? as usize]);
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = d[0].hypot(d[1]);
    (long > 0.0).then(|| {
        let e = [d[0] / long, d[1] / long];
        (a, e, [-e[1], e[0]])
    })
}

/// Hung upright by nodes of a side, which come to lie on a level line; seen from the front (from
/// negative y) the right side shows.
fn pegged(flat: &[Point], nodes: &[u32], held: &[usize], apart: f64) -> Placing {
    let Some((o, e, inward)) = frame(flat, nodes) else {
        return Placing { held: Vec::new(), start: Vec::new(), solids: Vec::new() };
    };
    let along = |p: Point| (p[0] - o[0]) * e[0] + (p[1] - o[1]) * e[1];
    let into = |p: Point| (p[0] - o[0]) * inward[0] + (p[1] - o[1]) * inward[1];
    let middle = 0.5 * along(flat[nodes[nodes.len() - 1] as usize]);
    let mut start: Vec<Place> =
        flat.iter().map(|&p| [apart * (middle - along(p)), 0.0, -into(p)]).collect();
    let held: Vec<u32> = held.iter().map(|i| nodes[*i]).collect();
    held.iter().for_each(|n| start[*n as usize][2] = 0.0);
    Placing { held, start, solids: Vec::new() }
}

/// Wound on a rail without strain: round it for half a turn, then straight down on both sides.
fn over_rail(fabric: &Fabric, flat: &[Point], radius: f64, at: f64) -> Option<Placing> {
    let rows: Vec<&Vec<u32>> = fabric.row_paths.iter().filter(|p| p.len() > 1).collect();
    let top = rows.get((at * (rows.len().checked_sub(1)? as f64)).round() as usize)?;
    // Paths run right to left; seen from the front the foundation hangs nearer.
    let (o, e, up) = frame(flat, &top.iter().rev().copied().collect::<Vec<_>>())?;
    let middle = 0.5 * length(flat, top);
    let quarter = std::f64::consts::FRAC_PI_2;
    let place = |p: &Point| {
        let d = [p[0] - o[0], p[1] - o[1]];
        let (x, v) = (d[0] * e[0] + d[1] * e[1] - middle, d[0] * up[0] + d[1] * up[1]);
        let turn = (v / radius).clamp(-quarter, quarter);
        let below = (v.abs() - radius * quarter).max(0.0);
        [x, radius * turn.sin(), radius * (turn.cos() - 1.0) - below]
    };
    let start: Vec<Place> = flat.iter().map(place).collect();
    let wide = start.iter().fold(0.0_f64, |w, p| w.max(p[0].abs()));
    let solids = vec![Solid::rail(radius, 1.5 * wide)];
    Some(Placing { held: (*top).clone(), start, solids })
}

/// Level on a table up to its edge, then round a small bow and straight down.
fn over_edge(flat: &[Point], nodes: &[u32], over: f64) -> Option<Placing> {
    const BOW: f64 = 0.02;
    let (o, e, inward) = frame(flat, nodes)?;
    let quarter = std::f64::consts::FRAC_PI_2;
    let middle = 0.5 * length(flat, nodes);
    let mut held = Vec::new();
    let place = |(n, p): (usize, &Point)| {
        let d = [p[0] - o[0], p[1] - o[1]];
        let x = middle - (d[0] * e[0] + d[1] * e[1]);
        let beyond = over - (d[0] * inward[0] + d[1] * inward[1]);
        if beyond <= 0.0 {
            held.push(n as u32);
            return [x, -beyond, 0.0];
        }
        let turn = (beyond / BOW).min(quarter);
        let below = (beyond - BOW * quarter).max(0.0);
        [x, -BOW * turn.sin(), BOW * (turn.cos() - 1.0) - below]
    };
    let start: Vec<Place> = flat.iter().enumerate().map(place).collect();
    (!held.is_empty()).then_some(Placing { held, start, solids: Vec::new() })
}

/// Laid along the shoulders, which it follows without strain, and level behind them; let go, it falls down
/// the back.
fn over_shoulders(flat: &[Point], nodes: &[u32], body: &Shoulders) -> Option<Placing> {
    let (o, e, inward) = frame(flat, nodes)?;
    let along = |p: &Point| (p[0] - o[0]) * e[0] + (p[1] - o[1]) * e[1];
    let into = |p: &Point| (p[0] - o[0]) * inward[0] + (p[1] - o[1]) * inward[1];
    let middle = 0.5 * along(&flat[*nodes.last()? as usize]);
    // Steps of the side must not stand in the neck.
    let first = flat.iter().map(into).fold(f64::INFINITY, f64::min);
    let place = |p: &Point| {
        let [x, z] = body.profile(middle - along(p));
        [x, first - into(p), z]
    };
    let start: Vec<Place> = flat.iter().map(place).collect();
    let on = |n: &u32| (middle - along(&flat[*n as usize])).abs() <= body.shoulder();
    let held: Vec<u32> = nodes.iter().copied().filter(on).collect();
    (held.len() > 2).then_some(Placing { held, start, solids: body.solids() })
}

/// Level; all within the radius about the middle of the nodes is held.
fn on_disc(flat: &[Point], radius: f64) -> Option<Placing> {
    let n = flat.len() as f64;
    let c = [0, 1].map(|d| flat.iter().map(|p| p[d]).sum::<f64>() / n);
    let start: Vec<Place> = flat.iter().map(|p| [p[0] - c[0], p[1] - c[1], 0.0]).collect();
    let inside = |p: &Place| p[0].hypot(p[1]) <= radius;
    let held: Vec<u32> = (0..flat.len() as u32).filter(|n| inside(&start[*n as usize])).collect();
    (held.len() > 2).then_some(Placing { held, start, solids: Vec::new() })
}
