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
    /// By one stitch: the first corner of a side.
    Point {
        /// The side.
        side: SideOf,
    },
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

pub(super) type Point = [f64; 2];
pub(super) type Place = [f64; 3];

/// Nodes that are held, where every node starts, and what the rest may touch.
pub(super) struct Placing {
    pub(super) held: Vec<u32>,
    /// Unknowns held besides, which bear nothing: they keep a piece hung by a point from turning about it.
    pub(super) still: Vec<usize>,
    pub(super) start: Vec<Place>,
    pub(super) solids: Vec<Solid>,
}

impl Placing {
    /// Where nothing but held nodes carries it.
    pub(super) fn of(held: Vec<u32>, start: Vec<Place>) -> Self {
        Self { held, still: Vec::new(), start, solids: Vec::new() }
    }
}

/// Hangs a laid piece.
///
/// # Errors
/// [`NotLaid`]; pieces without four sides can only be put on a disc, and see [`super::hang_rounds`].
pub fn hang(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    how: Hang,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Hung, NotLaid> {
    hang_fits(how)?;
    if let Hang::Shoulders { side, body } = how {
        let sides = sides(fabric).ok_or(NotLaid::Unheld)?;
        reaches(&laid.shape.positions, &sides[side_index(side)], &body)?;
    }
    let placing = placing(fabric, laid, space, how).ok_or(NotLaid::Unheld)?;
    settled(fabric, laid, space, placing, settings, progress)
}

/// Lets a placed piece come to rest.
pub(super) fn settled(
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    placing: Placing,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Hung, NotLaid> {
    let flat = &laid.shape.positions;
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
    let held = placing.held.iter().flat_map(|n| (0..3).map(move |d| 3 * *n as usize + d));
    let pins: Vec<usize> = held.chain(placing.still.iter().copied()).collect();
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
pub(super) fn strains(body: &crate::mechanics::Body, x: &[Place]) -> Vec<[f64; 3]> {
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

fn placing(fabric: &Fabric, laid: &Laid, space: &InSpace, how: Hang) -> Option<Placing> {
    let flat = &laid.shape.positions;
    let of = |side: SideOf| sides(fabric).map(|s| s[side_index(side)].clone());
    match how {
        Hang::Point { side } => by_point(flat, &space.masses, *of(side)?.first()?),
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
        Hang::TableEdge { side, over } => {
            let nodes = of(side)?;
            over_edge(flat, frame(flat, &nodes)?, 0.5 * length(flat, &nodes), over)
        }
        Hang::Shoulders { side, body } => over_shoulders(flat, &of(side)?, &body),
        Hang::Disc { radius } => on_disc(flat, radius),
    }
}

/// Refuses shoulders that the side at the nape does not reach across.
pub(super) fn reaches(flat: &[Point], nodes: &[u32], body: &Shoulders) -> Result<(), NotLaid> {
    let (long, least) = (length(flat, nodes), 2.0 * body.shoulder());
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

pub(super) fn length(flat: &[Point], nodes: &[u32]) -> f64 {
    let at = |n: u32| flat[n as usize];
    nodes.windows(2).map(|p| (at(p[1])[0] - at(p[0])[0]).hypot(at(p[1])[1] - at(p[0])[1])).sum()
}

/// Places in a side nearest to an even spacing, ends included.
pub(super) fn at_spacing(shares: &[f64], length: f64, spacing: f64) -> Vec<usize> {
    let gaps = (length / spacing).ceil().max(1.0) as usize;
    let nearest = |share: f64| {
        let off = |i: &usize| (shares[*i] - share).abs();
        (0..shares.len()).min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or(0)
    };
    let mut chosen: Vec<usize> = (0..=gaps).map(|g| nearest(g as f64 / gaps as f64)).collect();
    chosen.dedup();
    chosen
}

/// First corner of a side, its direction and the direction into the piece.
pub(super) type Frame = (Point, Point, Point);

/// Frame of a side.
pub(super) fn frame(flat: &[Point], nodes: &[u32]) -> Option<Frame> {
    let (a, b) = (flat[*nodes.first()? as usize], flat[*nodes.last()? as usize]);
    let d = [b[0] - a[0], b[1] - a[1]];
    let long = d[0].hypot(d[1]);
    (long > 0.0).then(|| {
        let e = [d[0] / long, d[1] / long];
        (a, e, [-e[1], e[0]])
    })
}

/// Hung by one node, what it weighs straight below.
pub(super) fn by_point(flat: &[Point], masses: &[f64], node: u32) -> Option<Placing> {
    let o = flat[node as usize];
    let moment = |d: usize| flat.iter().zip(masses).map(|(p, m)| m * (p[d] - o[d])).sum::<f64>();
    let [u, v] = [moment(0), moment(1)];
    let far = u.hypot(v);
    if far <= 0.0 {
        return None;
    }
    let down = [u / far, v / far];
    let place = |p: &Point| {
        let d = [p[0] - o[0], p[1] - o[1]];
        [down[0] * d[1] - down[1] * d[0], 0.0, -(d[0] * down[0] + d[1] * down[1])]
    };
    let start: Vec<Place> = flat.iter().map(place).collect();
    let aside = |n: &usize| start[*n][0].abs();
    let widest = (0..start.len()).max_by(|a, b| aside(a).total_cmp(&aside(b)))?;
    Some(Placing { held: vec![node], still: vec![3 * widest + 1], start, solids: Vec::new() })
}

/// Hung upright by nodes of a side, which come to lie on a level line; seen from the front (from
/// negative y) the right side shows.
pub(super) fn pegged(flat: &[Point], nodes: &[u32], held: &[usize], apart: f64) -> Placing {
    let Some((o, e, inward)) = frame(flat, nodes) else {
        return Placing::of(Vec::new(), Vec::new());
    };
    let along = |p: Point| (p[0] - o[0]) * e[0] + (p[1] - o[1]) * e[1];
    let into = |p: Point| (p[0] - o[0]) * inward[0] + (p[1] - o[1]) * inward[1];
    let middle = 0.5 * along(flat[nodes[nodes.len() - 1] as usize]);
    let mut start: Vec<Place> =
        flat.iter().map(|&p| [apart * (middle - along(p)), 0.0, -into(p)]).collect();
    let held: Vec<u32> = held.iter().map(|i| nodes[*i]).collect();
    held.iter().for_each(|n| start[*n as usize][2] = 0.0);
    Placing::of(held, start)
}

/// Wound on a rail without strain: round it for half a turn, then straight down on both sides.
fn over_rail(fabric: &Fabric, flat: &[Point], radius: f64, at: f64) -> Option<Placing> {
    let rows: Vec<&Vec<u32>> = fabric.row_paths.iter().filter(|p| p.len() > 1).collect();
    let top = rows.get((at * (rows.len().checked_sub(1)? as f64)).round() as usize)?;
    // Paths run right to left; seen from the front the foundation hangs nearer.
    let (o, e, up) = frame(flat, &top.iter().rev().copied().collect::<Vec<_>>())?;
    let start = wound(flat, (o, e, up), 0.5 * length(flat, top), radius);
    Some(Placing { solids: vec![rail(&start, radius)], ..Placing::of((*top).clone(), start) })
}

/// The line through the frame's corner lies on top of a rail; `middle` (m) along it lies at zero.
pub(super) fn wound(flat: &[Point], (o, e, up): Frame, middle: f64, radius: f64) -> Vec<Place> {
    let quarter = std::f64::consts::FRAC_PI_2;
    let place = |p: &Point| {
        let d = [p[0] - o[0], p[1] - o[1]];
        let (x, v) = (d[0] * e[0] + d[1] * e[1] - middle, d[0] * up[0] + d[1] * up[1]);
        let turn = (v / radius).clamp(-quarter, quarter);
        let below = (v.abs() - radius * quarter).max(0.0);
        [x, radius * turn.sin(), radius * (turn.cos() - 1.0) - below]
    };
    flat.iter().map(place).collect()
}

/// A rail that reaches beyond the piece.
pub(super) fn rail(start: &[Place], radius: f64) -> Solid {
    Solid::rail(radius, 1.5 * start.iter().fold(0.0_f64, |w, p| w.max(p[0].abs())))
}

/// Level on a table up to its edge, then round a small bow and straight down.
pub(super) fn over_edge(
    flat: &[Point],
    (o, e, inward): Frame,
    middle: f64,
    over: f64,
) -> Option<Placing> {
    const BOW: f64 = 0.02;
    let quarter = std::f64::consts::FRAC_PI_2;
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
    (!held.is_empty()).then(|| Placing::of(held, start))
}

/// Laid along the shoulders, which it follows without strain, and level behind them; let go, it falls down
/// the back.
pub(super) fn over_shoulders(flat: &[Point], nodes: &[u32], body: &Shoulders) -> Option<Placing> {
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
    (held.len() > 2).then(|| Placing { solids: body.solids(), ..Placing::of(held, start) })
}

/// Level; all within the radius about the middle of the nodes is held.
pub(super) fn on_disc(flat: &[Point], radius: f64) -> Option<Placing> {
    let n = flat.len() as f64;
    let c = [0, 1].map(|d| flat.iter().map(|p| p[d]).sum::<f64>() / n);
    let start: Vec<Place> = flat.iter().map(|p| [p[0] - c[0], p[1] - c[1], 0.0]).collect();
    let inside = |p: &Place| p[0].hypot(p[1]) <= radius;
    let held: Vec<u32> = (0..flat.len() as u32).filter(|n| inside(&start[*n as usize])).collect();
    (held.len() > 2).then(|| Placing::of(held, start))
}
