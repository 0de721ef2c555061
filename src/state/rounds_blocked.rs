//! Blocking of pieces worked in rounds from their middle: pinned out to a circle or a regular polygon, dried
//! and unpinned by the law of [`super::blocked`].

use std::f64::consts::PI;
use std::f64::consts::TAU;
use std::ops::ControlFlow;

use super::Shape;
use super::blocked::Hold;
use super::blocked::{Dried, Point, WORTH, dried, side_pins};
use super::fit::{asked, rim_fits};
use super::laid::{Laid, NotLaid};
use super::rim::{Rim, polar, wrapped};
use crate::fabric::Fabric;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;

/// How far out the edge is pinned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RimTarget {
    /// Stretched by this share, all ways alike.
    Stretch(f64),
    /// To this size, m: across a circle, from side to side of a polygon.
    Across(f64),
}

/// One way of blocking a piece in closed rounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimBlocking {
    /// How far out.
    pub target: RimTarget,
    /// How the edge is held; wires hold straight sides only.
    pub hold: Hold,
    /// Share of the pinned stretch that dries in, 0 to 1.
    pub set: f64,
}

/// A pin at the edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RimPin {
    /// The node it holds.
    pub node: u32,
    /// Side it stands on, counter-clockwise from the first corner; a circle has one.
    pub side: usize,
    /// Distance along the pinned outline from the side's first corner, or from the first pin of a circle, m.
    pub along: f64,
    /// Where it stands, m.
    pub at: Point,
}

/// A blocked piece in closed rounds.
#[derive(Debug, Clone, PartialEq)]
pub struct RimBlocked {
    /// Under its pins.
    pub pinned: Shape,
    /// Unpinned, lying flat.
    pub released: Laid,
    /// The pins, counter-clockwise.
    pub pins: Vec<RimPin>,
    /// Deepest that the edge falls back between two pins, m.
    pub scallop: f64,
    /// How the pinned state was reached.
    pub pinning: Outcome,
    /// The fabric with the rest shapes that dried in.
    pub fabric: Fabric,
}

/// Blocks a piece in closed rounds from its washed state.
///
/// A circle is pinned out evenly, by an even number of pins, each taking the tip of a lobe near its place; a polygon by
/// its corners, and along straight sides between them, each pin taking the outermost stitch near its place.
///
/// # Errors
/// [`NotLaid`].
pub fn block_rounds(
    fabric: &Fabric,
    washed: &Laid,
    rim: &Rim,
    blocking: &RimBlocking,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<RimBlocked, NotLaid> {
    rim_fits(blocking)?;
    let plan = match (rim.corners.is_empty(), blocking.hold) {
        (true, Hold::Pins(spacing)) => circle(&washed.shape, rim, blocking.target, spacing),
        (true, Hold::Wires) => {
            return Err(asked(
                "a wire runs straight and holds no round edge; expected pins, every 4 cm or so: --pins 4cm",
            ));
        }
        (false, hold) => polygon(&washed.shape, rim, blocking.target, hold),
    };
    let places: Vec<(u32, Point)> = plan.pins.iter().map(|p| (p.node, p.at)).collect();
    let done = dried(fabric, &plan.start, &places, blocking.set, settings, progress)?;
    let Dried { pinned, released, pinning, releasing, set } = done;
    Ok(RimBlocked {
        scallop: scallop(&pinned, rim, &plan),
        pinned,
        released: Laid { shape: released, outcome: releasing },
        pins: plan.pins,
        pinning,
        fabric: Fabric { body: set, ..fabric.clone() },
    })
}

/// Pins, the start of the pinned solve, and the circle where the outline is one: its middle and radius.
struct Plan {
    pins: Vec<RimPin>,
    start: Vec<Point>,
    circle: Option<(Point, f64)>,
}

/// Every node moved out from `o` by a factor.
fn scaled(shape: &Shape, o: Point, by: f64) -> Vec<Point> {
    shape.positions.iter().map(|p| [0, 1].map(|d| o[d] + by * (p[d] - o[d]))).collect()
}

fn circle(shape: &Shape, rim: &Rim, target: RimTarget, spacing: f64) -> Plan {
    let o = shape.positions[rim.middle as usize];
    let at: Vec<[f64; 2]> =
        rim.nodes.iter().map(|n| polar(shape.positions[*n as usize], o)).collect();
    let mean = |of: &[usize]| of.iter().map(|i| at[*i][0]).sum::<f64>() / of.len().max(1) as f64;
    let all: Vec<usize> = (0..at.len()).collect();
    let about = match target {
        RimTarget::Stretch(e) => (1.0 + e) * mean(&all),
        RimTarget::Across(wide) => 0.5 * wide,
    };
    let chosen = spread(&at, (TAU * about / spacing).ceil() as usize);
    let now = mean(&chosen);
    let radius = match target {
        RimTarget::Stretch(e) => (1.0 + e) * now,
        RimTarget::Across(wide) => 0.5 * wide,
    };
    let first = chosen.first().map_or(0.0, |i| at[*i][1]);
    let pin = |i: &usize| {
        let turn = at[*i][1];
        let along = radius * wrapped(turn - first - PI) + radius * PI;
        let place = [o[0] + radius * turn.cos(), o[1] + radius * turn.sin()];
        RimPin { node: rim.nodes[*i], side: 0, along, at: place }
    };
    let mut pins: Vec<RimPin> = chosen.iter().map(pin).collect();
    if let Some(first) = pins.first_mut() {
        first.along = 0.0;
    }
    Plan { pins, start: scaled(shape, o, radius / now), circle: Some((o, radius)) }
}

/// Places in the edge of at least `least` pins, an even number, spread evenly from the first on: the tip of a
/// lobe near each, else the nearest; all of them where there are no more.
fn spread(at: &[[f64; 2]], least: usize) -> Vec<usize> {
    let many = least.max(4).next_multiple_of(2);
    if many >= at.len() {
        return (0..at.len()).collect();
    }
    let gap = TAU / many as f64;
    let first = at[0][1];
    let best = |g: usize| {
        let off = |i: &usize| wrapped(at[*i][1] - first - g as f64 * gap).abs();
        let worth = |i: &usize| at[*i][0] * (1.0 - WORTH * off(i));
        let near = (0..at.len()).filter(|i| off(i) < gap / 3.0);
        near.max_by(|i, j| worth(i).total_cmp(&worth(j)))
    };
    let mut chosen: Vec<usize> = (0..many).filter_map(best).collect();
    chosen.dedup();
    chosen
}

/// A regular polygon that lies as near to a piece's corners as one can.
struct Regular {
    middle: Point,
    corners: usize,
    /// Direction of the first corner, rad.
    first: f64,
    /// Mean distance of the piece's corners from the middle, m.
    radius: f64,
}

impl Regular {
    fn fitted(tips: &[Point]) -> Self {
        let n = tips.len() as f64;
        let middle = [0, 1].map(|d| tips.iter().map(|p| p[d]).sum::<f64>() / n);
        let arms: Vec<[f64; 2]> = tips.iter().map(|p| polar(*p, middle)).collect();
        let off = |j: usize| wrapped(arms[j][1] - arms[0][1] - TAU * j as f64 / n);
        Self {
            middle,
            corners: tips.len(),
            first: arms[0][1] + (0..tips.len()).map(off).sum::<f64>() / n,
            radius: arms.iter().map(|p| p[0]).sum::<f64>() / n,
        }
    }

    /// Direction of corner `j`, or between two corners, rad.
    fn turn(&self, j: f64) -> f64 {
        self.first + TAU * j / self.corners as f64
    }

    /// Corner `j` with all distances multiplied by a factor.
    fn corner(&self, j: usize, by: f64) -> Point {
        let (s, c) = self.turn((j % self.corners) as f64).sin_cos();
        [self.middle[0] + by * self.radius * c, self.middle[1] + by * self.radius * s]
    }

    /// Distance of a point from the middle square to side `j`, m.
    fn out(&self, p: Point, j: usize) -> f64 {
        let (s, c) = self.turn(j as f64 + 0.5).sin_cos();
        (p[0] - self.middle[0]) * c + (p[1] - self.middle[1]) * s
    }

    /// A point moved square to side `j` until it lies `out` from the middle.
    fn foot(&self, p: Point, j: usize, out: f64) -> Point {
        let (s, c) = self.turn(j as f64 + 0.5).sin_cos();
        let more = out - self.out(p, j);
        [p[0] + more * c, p[1] + more * s]
    }
}

/// Corners at their own mean distance from the middle, sides on straight lines at theirs, all moved out alike.
fn polygon(shape: &Shape, rim: &Rim, target: RimTarget, hold: Hold) -> Plan {
    let at = |n: u32| shape.positions[n as usize];
    let tips: Vec<Point> = rim.corners.iter().map(|c| at(rim.nodes[*c])).collect();
    let regular = Regular::fitted(&tips);
    let sides = rim.sides(shape);
    let side_out = |j: usize| {
        let inner = &sides[j][1..sides[j].len() - 1];
        inner.iter().map(|i| regular.out(at(*i), j)).sum::<f64>() / inner.len().max(1) as f64
    };
    let apart = (0..sides.len()).map(side_out).sum::<f64>() / sides.len() as f64;
    let by = match target {
        RimTarget::Stretch(e) => 1.0 + e,
        RimTarget::Across(wide) => 0.5 * wide / apart,
    };
    let start = scaled(shape, regular.middle, by);
    let side = |j: usize| {
        let [a, b] = [j, j + 1].map(|k| regular.corner(k, by));
        let ends = [a, b].map(|p| regular.foot(p, j, by * apart));
        let mut pins = side_pins(&start, &sides[j], ends, hold);
        pins[0].2 = a;
        pins.into_iter().map(move |(node, along, at)| RimPin { node, side: j, along, at })
    };
    let pins = (0..sides.len()).flat_map(side).collect();
    Plan { pins, start, circle: None }
}

/// Deepest that the edge lies within the circle, or within the line from one pin to the next, m.
fn scallop(pinned: &Shape, rim: &Rim, plan: &Plan) -> f64 {
    let at = |n: u32| pinned.positions[n as usize];
    if let Some((o, radius)) = plan.circle {
        let depth = |n: &u32| radius - polar(at(*n), o)[0];
        return rim.nodes.iter().map(depth).fold(0.0, f64::max);
    }
    let n = rim.nodes.len();
    let held: Vec<usize> =
        (0..n).filter(|i| plan.pins.iter().any(|p| p.node == rim.nodes[*i])).collect();
    let mut deepest = 0.0_f64;
    for (k, &from) in held.iter().enumerate() {
        let to = held.get(k + 1).copied().unwrap_or(n + held[0]);
        let (a, b) = (at(rim.nodes[from]), at(rim.nodes[to % n]));
        let e = [b[0] - a[0], b[1] - a[1]];
        let length = e[0].hypot(e[1]).max(f64::MIN_POSITIVE);
        for i in from + 1..to {
            let p = at(rim.nodes[i % n]);
            let inwards = e[0] * (p[1] - a[1]) - e[1] * (p[0] - a[0]);
            deepest = deepest.max(inwards / length);
        }
    }
    deepest
}
