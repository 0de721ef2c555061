//! Blocking: wetted, pinned out to straight sides, dried, unpinned and laid again.
//!
//! Three rest shapes: as worked, washed, and set. A soak takes the fabric to its washed rest shape,
//! whatever it was before; drying under pins moves the rest shape a fraction `f` of the way from washed
//! to pinned, `set = washed + f (pinned - washed)`; the next soak takes it back to washed. Cohesive set
//! of wool is lost on wetting in this way (steam setting is temporary: the next wash returns it).

use std::ops::ControlFlow;

use super::Shape;
use super::fit::blocking_fits;
use super::laid::{Laid, NotLaid, narrowest_step, nearest_stitch, strains};
use crate::fabric::Fabric;
use crate::mechanics::Body;
use crate::mechanics::Cause;
use crate::mechanics::NotSettled;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;
use crate::mechanics::Solver;

/// How the sides are held while drying.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hold {
    /// Pins, at most so far apart, m; corners are always pinned.
    Pins(f64),
    /// Wires run through every stitch of the sides.
    Wires,
}

/// Where the corners are pinned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// Stretched by these shares along the rows and square to them.
    Stretch([f64; 2]),
    /// A parallelogram: size along the rows (m), along the edges (m), slant (rad).
    Size([f64; 3]),
}

/// One way of blocking a piece.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Blocking {
    /// Where the corners go.
    pub target: Target,
    /// How the sides are held.
    pub hold: Hold,
    /// Share of the pinned stretch that dries in, 0 to 1.
    pub set: f64,
}

/// A side of the piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SideOf {
    /// The foundation.
    Foundation,
    /// The right edge.
    Right,
    /// The last row.
    LastRow,
    /// The left edge.
    Left,
}

/// A pin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pin {
    /// The node it holds.
    pub node: u32,
    /// Side it stands on, walking round counter-clockwise; corners open their side.
    pub side: SideOf,
    /// Distance from the side's first corner, m.
    pub along: f64,
    /// Where it stands, m.
    pub at: [f64; 2],
}

/// A blocked piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocked {
    /// Under its pins.
    pub pinned: Shape,
    /// Unpinned and laid again.
    pub released: Shape,
    /// The pins.
    pub pins: Vec<Pin>,
    /// How the pinned state was reached.
    pub pinning: Outcome,
    /// How the released state was reached.
    pub releasing: Outcome,
}

/// Blocks a piece from its washed state.
///
/// # Errors
/// [`NotLaid`]; pieces without two long edges cannot be pinned to straight sides.
pub fn block(
    fabric: &Fabric,
    washed: &Laid,
    blocking: &Blocking,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Blocked, NotLaid> {
    let sides = sides(fabric).ok_or(NotLaid::Closed)?;
    let corners = corners(fabric, &washed.shape, &sides, blocking.target);
    blocking_fits(blocking, &corners)?;
    let start = stretched(&washed.shape, &sides, corners);
    let pins = pins(&start, &sides, corners, blocking.hold);
    let places: Vec<(u32, Point)> = pins.iter().map(|p| (p.node, p.at)).collect();
    let dried = dried(fabric, &start, &places, blocking.set, settings, progress)?;
    let Dried { pinned, released, pinning, releasing, .. } = dried;
    Ok(Blocked { pinned, released, pins, pinning, releasing })
}

/// A piece under its pins and after.
pub(super) struct Dried {
    pub(super) pinned: Shape,
    pub(super) released: Shape,
    pub(super) pinning: Outcome,
    pub(super) releasing: Outcome,
    /// The fabric's body with the rest shapes that dried in.
    pub(super) set: Body,
}

/// Pins nodes at their places, dries the piece there and lets it go; `start` is where the solve begins.
pub(super) fn dried(
    fabric: &Fabric,
    start: &[Point],
    pins: &[(u32, Point)],
    set: f64,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Dried, NotLaid> {
    let settings = Settings { step: narrowest_step(fabric, settings), ..*settings };
    let mut solver = Solver::<2>::new(&fabric.body).map_err(|fault| NotLaid::Body { fault })?;
    let held: Vec<usize> =
        pins.iter().flat_map(|(n, _)| [2 * *n as usize, 2 * *n as usize + 1]).collect();
    solver.pin(&held);
    let unsettled = |fault: NotSettled| {
        let near = nearest_stitch(fabric, fault.worst_node);
        NotLaid::Unsettled { fault, near }
    };
    let (mut x, pinning) =
        pin_out(&mut solver, start, pins, &settings, progress).map_err(unsettled)?;
    let pinned = Shape { strains: strains(&fabric.body, &x), positions: x.clone() };
    let set = set_body(&fabric.body, &x, set);
    solver.set_rest(&set).map_err(|fault| NotLaid::Body { fault })?;
    solver.pin(&[]);
    let releasing = solver.minimise(&mut x, &settings, progress).map_err(unsettled)?;
    let released = Shape { strains: strains(&set, &x), positions: x };
    Ok(Dried { pinned, released, pinning, releasing, set })
}

/// Most moves in which the pins are brought to their places.
const MOST_MOVES: usize = 64;

/// Unbalanced share of the forces at which the pins move on.
const MOVE_ON: f64 = 1e-3;

/// Brings the pins from where the stretched piece has them to their places, in as many moves as it
/// takes for no cell beside a pin to fold over.
fn pin_out(
    solver: &mut Solver<2>,
    start: &[Point],
    pins: &[(u32, Point)],
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<(Vec<Point>, Outcome), NotSettled> {
    let mut moves = 1;
    loop {
        let mut x = start.to_vec();
        match pin_in_moves(solver, &mut x, pins, moves, settings, progress) {
            Ok(outcome) => return Ok((x, outcome)),
            Err(fault) if fault.cause == Cause::Interrupted || moves >= MOST_MOVES => {
                return Err(fault);
            }
            Err(_) => moves *= 4,
        }
    }
}

fn pin_in_moves(
    solver: &mut Solver<2>,
    x: &mut [Point],
    pins: &[(u32, Point)],
    moves: usize,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Outcome, NotSettled> {
    let from: Vec<Point> = pins.iter().map(|(node, _)| x[*node as usize]).collect();
    for k in 1..=moves {
        for ((node, at), from) in pins.iter().zip(&from) {
            x[*node as usize] = lerp(*from, *at, k as f64 / moves as f64);
        }
        if k == moves {
            return solver.minimise(x, settings, progress);
        }
        let rough = Settings { residual: MOVE_ON, step: f64::INFINITY, ..*settings };
        solver.minimise(x, &rough, progress)?;
    }
    unreachable!("the last move returns")
}

/// Soaks a blocked piece and lays it again: its rest shape is the washed one.
///
/// # Errors
/// [`NotLaid`].
pub fn soak(
    fabric: &Fabric,
    from: &Shape,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Laid, NotLaid> {
    super::laid::lay_from(fabric, from.positions.clone(), settings, progress)
}

/// Nodes of the four sides, counter-clockwise; each begins and ends at a corner.
pub(super) type Sides = [Vec<u32>; 4];

pub(super) fn sides(fabric: &Fabric) -> Option<Sides> {
    let with_ends: Vec<usize> =
        (0..fabric.row_ends.len()).filter(|&r| fabric.row_ends[r].is_some()).collect();
    let (&first, &last) = (with_ends.first()?, with_ends.last()?);
    if first == last {
        return None;
    }
    let ends: Vec<[u32; 2]> = with_ends.iter().filter_map(|&r| fabric.row_ends[r]).collect();
    let foundation: Vec<u32> = fabric.row_paths[first].iter().rev().copied().collect();
    let right = ends.iter().map(|e| e[1]).collect();
    let left = ends.iter().rev().map(|e| e[0]).collect();
    Some([foundation, right, fabric.row_paths[last].clone(), left])
}

pub(super) type Point = [f64; 2];

fn lerp(a: Point, b: Point, t: f64) -> Point {
    [a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t]
}

pub(super) fn distance(a: Point, b: Point) -> f64 {
    (b[0] - a[0]).hypot(b[1] - a[1])
}

/// Target corners: lower left, lower right, upper right, upper left.
fn corners(fabric: &Fabric, shape: &Shape, sides: &Sides, target: Target) -> [Point; 4] {
    let at = |n: u32| shape.positions[n as usize];
    let now = [0, 1, 2, 3].map(|k| at(sides[k][0]));
    let along = fabric
        .row_ends
        .iter()
        .flatten()
        .fold([0.0; 2], |s, &[l, r]| [s[0] + at(r)[0] - at(l)[0], s[1] + at(r)[1] - at(l)[1]]);
    let length = along[0].hypot(along[1]).max(f64::MIN_POSITIVE);
    let e = [along[0] / length, along[1] / length];
    let up = [-e[1], e[0]];
    let from = |origin: Point, u: f64, v: f64| {
        [origin[0] + u * e[0] + v * up[0], origin[1] + u * e[1] + v * up[1]]
    };
    match target {
        Target::Stretch([a, b]) => now.map(|p| {
            let d = [p[0] - now[0][0], p[1] - now[0][1]];
            let (u, v) = (d[0] * e[0] + d[1] * e[1], d[0] * up[0] + d[1] * up[1]);
            from(now[0], u * (1.0 + a), v * (1.0 + b))
        }),
        Target::Size([width, edge, slant]) => {
            let (s, c) = (edge * slant.sin(), edge * slant.cos());
            [(0.0, 0.0), (width, 0.0), (width + s, c), (s, c)].map(|(u, v)| from(now[0], u, v))
        }
    }
}

/// Each side's nodes as shares of its length.
pub(super) fn shares(shape: &Shape, side: &[u32]) -> Vec<f64> {
    let at = |n: u32| shape.positions[n as usize];
    let mut length = 0.0;
    let mut along = vec![0.0];
    for pair in side.windows(2) {
        length += distance(at(pair[0]), at(pair[1]));
        along.push(length);
    }
    along.iter().map(|a| a / length.max(f64::MIN_POSITIVE)).collect()
}

/// Half width of the stretch of side within which a wire takes the outermost stitch only, m: it runs
/// through the tips of a stepped edge.
const TIP: f64 = 0.015;

/// A side's node against its chord.
#[derive(Clone, Copy)]
struct OnSide {
    along: f64,
    outwards: f64,
}

/// Where the nodes of a side stand against the chord from `a` to `b`, counter-clockwise.
fn on_side(start: &[Point], side: &[u32], a: Point, b: Point) -> Vec<OnSide> {
    let length = distance(a, b).max(f64::MIN_POSITIVE);
    let e = [(b[0] - a[0]) / length, (b[1] - a[1]) / length];
    side.iter()
        .map(|&n| {
            let d = [start[n as usize][0] - a[0], start[n as usize][1] - a[1]];
            OnSide { along: d[0] * e[0] + d[1] * e[1], outwards: d[0] * e[1] - d[1] * e[0] }
        })
        .collect()
}

/// The pins of all sides.
fn pins(start: &[Point], sides: &Sides, corners: [Point; 4], hold: Hold) -> Vec<Pin> {
    const NAMES: [SideOf; 4] = [SideOf::Foundation, SideOf::Right, SideOf::LastRow, SideOf::Left];
    let one = |k: usize| {
        let ends = [corners[k], corners[(k + 1) % 4]];
        let pin = move |(node, along, at)| Pin { node, side: NAMES[k], along, at };
        side_pins(start, &sides[k], ends, hold).into_iter().map(pin)
    };
    (0..4).flat_map(one).collect()
}

/// Node, distance from the first corner (m) and place of every pin of a side, its first corner included and
/// its last left to the next side. A pin takes the outermost stitch near its place, and pulls: it never
/// pushes a stitch inwards, which would only crumple the fabric.
pub(super) fn side_pins(
    start: &[Point],
    side: &[u32],
    [a, b]: [Point; 2],
    hold: Hold,
) -> Vec<(u32, f64, Point)> {
    let length = distance(a, b);
    let stands = on_side(start, side, a, b);
    let pin = |i: usize| {
        let node = side[i];
        let OnSide { along, outwards } = stands[i];
        match i {
            0 => (node, 0.0, a),
            _ if outwards > 0.0 => (node, along, start[node as usize]),
            _ => (node, along, lerp(a, b, along / length)),
        }
    };
    chosen(&stands, length, hold).into_iter().map(pin).collect()
}

/// How far out a stitch must stand against the way to it from a pin's place: a pin takes the tip of a step near
/// its place, and not the end of a side that leans.
pub(super) const WORTH: f64 = 0.25;

/// Indices of the pinned nodes of a side, its first corner included and its last left to the next side.
fn chosen(stands: &[OnSide], length: f64, hold: Hold) -> Vec<usize> {
    let last = stands.len() - 1;
    let off = |i: usize, place: f64| (stands[i].along - place).abs();
    let worth = |i: usize, place: f64| stands[i].outwards - WORTH * off(i, place);
    let outermost = |place: f64, within: f64| {
        (1..last)
            .filter(|&i| off(i, place) <= within)
            .max_by(|&i, &j| worth(i, place).total_cmp(&worth(j, place)))
    };
    let mut nodes = vec![0];
    match hold {
        Hold::Wires => nodes.extend((1..last).filter(|&i| {
            let here = stands[i];
            stands
                .iter()
                .all(|s| (s.along - here.along).abs() > TIP || s.outwards <= here.outwards + 1e-9)
        })),
        Hold::Pins(spacing) => {
            let gaps = (length / spacing).ceil().max(1.0);
            let gap = length / gaps;
            nodes.extend((1..gaps as usize).filter_map(|g| {
                let place = g as f64 * gap;
                outermost(place, gap / 3.0)
            }));
            nodes.dedup();
        }
    }
    nodes
}

/// The washed shape carried onto the target quadrilateral, as a start for the pinned solve: the affine
/// map of three corners.
fn stretched(shape: &Shape, sides: &Sides, to: [Point; 4]) -> Vec<Point> {
    let at = |k: usize| shape.positions[sides[k][0] as usize];
    let (o, u, v) = (at(0), at(1), at(3));
    let a = [u[0] - o[0], u[1] - o[1]];
    let b = [v[0] - o[0], v[1] - o[1]];
    let det = a[0] * b[1] - a[1] * b[0];
    shape
        .positions
        .iter()
        .map(|p| {
            let d = [p[0] - o[0], p[1] - o[1]];
            let s = (d[0] * b[1] - d[1] * b[0]) / det;
            let t = (a[0] * d[1] - a[1] * d[0]) / det;
            [0, 1].map(|c| to[0][c] + s * (to[1][c] - to[0][c]) + t * (to[3][c] - to[0][c]))
        })
        .collect()
}

/// The body with its rest shapes moved a share `f` of the way to its shape at `x`.
fn set_body(body: &Body, x: &[Point], f: f64) -> Body {
    let at = |n: u32| x[n as usize];
    let mut set = body.clone();
    for quad in &mut set.quads {
        let now = quad.nodes.map(at);
        moved(&mut quad.rest, &now, f);
    }
    for polygon in &mut set.polygons {
        let now: Vec<Point> = polygon.nodes.iter().map(|&n| at(n)).collect();
        moved(&mut polygon.rest, &now, f);
    }
    for wedge in &mut set.wedges {
        let [a, b, c] = wedge.nodes.map(at);
        let strand = distance(a, b);
        let area = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]);
        wedge.height += f * (area / strand - wedge.height);
        wedge.strand += f * (strand - wedge.strand);
    }
    for strand in &mut set.strands {
        let now = distance(at(strand.nodes[0]), at(strand.nodes[1]));
        strand.rest += f * (now - strand.rest);
    }
    set
}

/// Moves rest corners a share `f` of the way to the corners `now`, turned back by the rotation that
/// fits them best.
fn moved(rest: &mut [Point], now: &[Point], f: f64) {
    let n = rest.len() as f64;
    let mean = |p: &[Point]| {
        let sum = p.iter().fold([0.0; 2], |s, q| [s[0] + q[0], s[1] + q[1]]);
        [sum[0] / n, sum[1] / n]
    };
    let (m, c) = (mean(rest), mean(now));
    let (mut dot, mut cross) = (0.0, 0.0);
    for (p, q) in rest.iter().zip(now) {
        let (p, q) = ([p[0] - m[0], p[1] - m[1]], [q[0] - c[0], q[1] - c[1]]);
        dot += p[0] * q[0] + p[1] * q[1];
        cross += p[0] * q[1] - p[1] * q[0];
    }
    let length = dot.hypot(cross).max(f64::MIN_POSITIVE);
    let (cos, sin) = (dot / length, cross / length);
    for (p, q) in rest.iter_mut().zip(now) {
        let d = [q[0] - c[0], q[1] - c[1]];
        let back = [cos * d[0] + sin * d[1] + m[0], cos * d[1] - sin * d[0] + m[1]];
        *p = lerp(*p, back, f);
    }
}
