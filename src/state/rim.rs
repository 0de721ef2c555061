//! The edge of a piece worked in rounds from its middle, and the corners it has.

use std::f64::consts::PI;
use std::f64::consts::TAU;

use super::Shape;
use super::blocked::Point;
use super::fit::asked;
use super::laid::NotLaid;
use crate::fabric::Fabric;

/// More corners than this are no corners to the eye: such a piece is taken for round.
const MOST: u32 = 8;

/// Share of a polygon's height of corner over side from which on an edge counts as one.
const POLYGON: f64 = 0.5;

/// The edge of a piece in closed rounds.
#[derive(Debug, Clone, PartialEq)]
pub struct Rim {
    /// Nodes along it, counter-clockwise as seen from the right side, from its first corner, or from where
    /// the last round begins where it has none.
    pub nodes: Vec<u32>,
    /// Places in `nodes` of its corners, the first at zero; none where it is round.
    pub corners: Vec<usize>,
    /// The ring that its rounds began on.
    pub middle: u32,
}

impl Rim {
    /// The edge of `shape`. `lines` of increases from the middle out make corners where the edge lies nearer
    /// to a polygon of as many corners, at most eight, than to a circle.
    ///
    /// # Errors
    /// [`NotLaid::Asked`] where the piece has no middle to be worked round, or more than one.
    pub fn of(fabric: &Fabric, shape: &Shape, lines: Option<u32>) -> Result<Self, NotLaid> {
        let (Some(&middle), Some(outline)) = (fabric.rings.first(), fabric.outlines.first()) else {
            return Err(NotLaid::Closed);
        };
        if fabric.rings.len() > 1 {
            return Err(asked(format!(
                "{} pieces are worked from rings of their own on this page; expected one: give each a page",
                fabric.rings.len()
            )));
        }
        let mut nodes = outline.clone();
        let at = |n: u32| shape.positions[n as usize];
        let turn = |i: usize| cross(at(nodes[i]), at(nodes[(i + 1) % nodes.len()]));
        if (0..nodes.len()).map(turn).sum::<f64>() < 0.0 {
            nodes[1..].reverse();
        }
        let polar: Vec<[f64; 2]> = nodes.iter().map(|n| polar(at(*n), at(middle))).collect();
        let mut corners = lines.and_then(|k| corners(&polar, k)).unwrap_or_default();
        if let Some(&first) = corners.first() {
            nodes.rotate_left(first);
            corners.iter_mut().for_each(|c| *c -= first);
        }
        Ok(Self { nodes, corners, middle })
    }

    /// Turns `shape` so that the first side lies level and the piece above it; a round one is left as it is.
    pub fn upright(&self, shape: &mut Shape) {
        let &[from, to, ..] = &self.corners[..] else { return };
        let [a, b] = [from, to].map(|c| shape.positions[self.nodes[c] as usize]);
        let (sin, cos) = (b[1] - a[1]).atan2(b[0] - a[0]).sin_cos();
        for p in &mut shape.positions {
            *p = [cos * p[0] + sin * p[1], cos * p[1] - sin * p[0]];
        }
    }

    /// Its sides, counter-clockwise, each from corner to corner; a circle is taken in quarters.
    pub fn sides(&self, shape: &Shape) -> Vec<Vec<u32>> {
        let from =
            if self.corners.is_empty() { self.quarters(shape) } else { self.corners.clone() };
        let n = self.nodes.len();
        let side = |k: usize| {
            let end = if k + 1 < from.len() { from[k + 1] } else { n + from[0] };
            (from[k]..=end).map(|i| self.nodes[i % n]).collect()
        };
        (0..from.len()).map(side).collect()
    }

    /// Places where a new quarter of the turn about the middle begins.
    fn quarters(&self, shape: &Shape) -> Vec<usize> {
        let at = |n: u32| shape.positions[n as usize];
        let angle = |n: u32| polar(at(n), at(self.middle))[1];
        let first = angle(self.nodes[0]);
        let off = |i: usize, to: f64| wrapped(angle(self.nodes[i]) - first - to).abs();
        let nearest = |to: f64| {
            (0..self.nodes.len()).min_by(|i, j| off(*i, to).total_cmp(&off(*j, to))).unwrap_or(0)
        };
        let mut from: Vec<usize> = (0..4).map(|k| nearest(0.25 * TAU * f64::from(k))).collect();
        from.dedup();
        from
    }
}

fn cross(a: Point, b: Point) -> f64 {
    a[0] * b[1] - a[1] * b[0]
}

/// Distance from `o` and angle, rad.
pub(super) fn polar(p: Point, o: Point) -> [f64; 2] {
    let d = [p[0] - o[0], p[1] - o[1]];
    [d[0].hypot(d[1]), d[1].atan2(d[0])]
}

/// An angle between -π and π.
pub(super) fn wrapped(angle: f64) -> f64 {
    angle - TAU * (angle / TAU).round()
}

/// Share of a corner's height over the sides from which on a stitch belongs to its tip.
const TIP: f64 = 0.8;

/// The places nearest the middles of the tips near `k` even directions, turned so that the edge's distance from
/// the middle agrees best with as many waves; none where it lies nearer to a circle. A tip may be blunt or
/// hollow, as of a space between two groups.
fn corners(polar: &[[f64; 2]], k: u32) -> Option<Vec<usize>> {
    if !(3..=MOST).contains(&k) {
        return None;
    }
    let (n, waves) = (polar.len(), f64::from(k));
    // Each node speaks for the turn half way to its neighbours.
    let share = |i: usize| wrapped(polar[(i + 1) % n][1] - polar[(i + n - 1) % n][1]) / 2.0;
    let sum = |f: fn(f64) -> f64| -> f64 {
        (0..n).map(|i| share(i) * polar[i][0] * f(waves * polar[i][1])).sum()
    };
    let phase = sum(f64::sin).atan2(sum(f64::cos)) / waves;
    let off = |i: usize, to: f64| wrapped(polar[i][1] - to);
    let near = |to: f64| (0..n).filter(move |i| off(*i, to).abs() < PI / (2.0 * waves));
    let radius = |i: usize| polar[i][0];
    let (mut found, mut tips, mut sides) = (Vec::new(), 0.0, 0.0);
    for j in 0..k {
        let to = phase + TAU * f64::from(j) / waves;
        let tip = near(to).map(radius).reduce(f64::max)?;
        let side = near(to + PI / waves).map(radius).reduce(f64::min)?;
        let high = side + TIP * (tip - side);
        let turns = near(to).filter(|i| radius(*i) >= high).map(|i| off(i, to));
        let [low, top] =
            turns.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, t], a| [l.min(a), t.max(a)]);
        let middle = to + 0.5 * (low + top);
        found.push((0..n).min_by(|a, b| off(*a, middle).abs().total_cmp(&off(*b, middle).abs()))?);
        tips += tip;
        sides += side;
    }
    found.sort_unstable();
    found.dedup();
    let higher = 1.0 / (PI / waves).cos() - 1.0;
    (found.len() == k as usize && tips / sides - 1.0 > POLYGON * higher).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn edge(radius: impl Fn(f64) -> f64) -> Vec<[f64; 2]> {
        let angle = |i: u32| wrapped(TAU * f64::from(i) / 240.0 + 0.013);
        (0..240).map(|i| [radius(angle(i)), angle(i)]).collect()
    }

    #[test]
    fn polygons_have_their_corners_and_circles_none() {
        for k in 3..=8_u32 {
            let turn = TAU / f64::from(k);
            // The polygon with its first corner at 0.3 rad.
            let side = |a: f64| (a - 0.3).rem_euclid(turn) - 0.5 * turn;
            let found = corners(&edge(|a| 1.0 / side(a).cos()), k).expect("corners");
            assert_eq!(found.len(), k as usize);
            let at = edge(|_| 1.0);
            for i in found {
                let off = (at[i][1] - 0.3).rem_euclid(turn);
                assert!(off.min(turn - off) < TAU / 240.0, "{k} corners, one off by {off}");
            }
            assert_eq!(corners(&edge(|_| 1.0), k), None);
        }
    }

    /// The space at the corner of a square of groups lies within the two stitches beside it.
    #[test]
    fn a_hollow_tip_is_one_corner() {
        let turn = TAU / 4.0;
        let square = |a: f64| {
            let off = (a - 0.3 + 0.5 * turn).rem_euclid(turn) - 0.5 * turn;
            let tip = 1.0 / (0.5 * turn - off.abs()).cos();
            if off.abs() < 0.06 { tip - 0.2 } else { tip }
        };
        let at = edge(square);
        for i in corners(&at, 4).expect("corners") {
            let off = (at[i][1] - 0.3).rem_euclid(turn);
            assert!(off.min(turn - off) < TAU / 240.0, "off by {off}");
        }
    }
}
