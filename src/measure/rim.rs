//! What a piece worked in rounds from its middle measures, lying flat: how wide, how round, how straight its
//! sides.

use geo::ConvexHull;
use geo::MultiPoint;

use super::straightness::minimum_zone;
use super::whole::{cells, kinds, signed_area};
use super::{CellStrain, LengthRange};
use crate::fabric::Fabric;
use crate::state::Rim;
use crate::state::Shape;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;

const MM: f64 = 1000.0;

/// Directions in which the width of a circle is taken.
const WAYS: u32 = 180;

/// How true the edge runs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Trueness {
    /// A circle: least distance between two circles of one middle that hold the edge (ISO 1101 roundness).
    Round(Length),
    /// A polygon.
    Sides {
        /// Minimum-zone straightness of its worst side (ISO 1101).
        straightness: Length,
        /// Most that a corner is off that of a regular polygon.
        off: Angle,
        /// Mean distance from the middle to a corner, twice.
        tips: Length,
    },
}

/// A piece in closed rounds, lying flat.
#[derive(Debug, Clone, PartialEq)]
pub struct RimMeasures {
    /// Edge, mm, counter-clockwise, the middle of the piece at the origin.
    pub outline: Vec<[f64; 2]>,
    /// Width of a circle over all directions, as between the jaws of a calliper; twice the mean distance of the
    /// stitches of each side of a polygon from its middle.
    pub across: LengthRange,
    /// How round, or how straight.
    pub trueness: Trueness,
    /// Area, mm².
    pub area_mm2: f64,
    /// Strain map.
    pub cells: Vec<CellStrain>,
}

/// Measures a piece with the edge `rim`; `None` where that has no extent.
pub fn measure_rim(
    piece: &Piece,
    fabric: &Fabric,
    shape: &Shape,
    rim: &Rim,
) -> Option<RimMeasures> {
    let o = shape.positions[rim.middle as usize];
    let xy: Vec<[f64; 2]> =
        shape.positions.iter().map(|p| [(p[0] - o[0]) * MM, (p[1] - o[1]) * MM]).collect();
    let outline: Vec<[f64; 2]> = rim.nodes.iter().map(|n| xy[*n as usize]).collect();
    let (across, trueness) = match rim.corners.is_empty() {
        true => (widths(&outline)?, Trueness::Round(Length::mm(roundness(&outline)))),
        false => sides(&xy, rim, &rim.sides(shape))?,
    };
    let (_, kind_of) = kinds(piece);
    Some(RimMeasures {
        area_mm2: signed_area(&outline),
        outline,
        across,
        trueness,
        cells: cells(piece, fabric, shape, &xy, &kind_of),
    })
}

/// Distance of parallel lines that touch the outline from both sides, over all directions.
fn widths(outline: &[[f64; 2]]) -> Option<LengthRange> {
    let cloud: MultiPoint<f64> = outline.iter().map(|&[x, y]| geo::Point::new(x, y)).collect();
    let hull: Vec<[f64; 2]> = cloud.convex_hull().exterior().coords().map(|c| [c.x, c.y]).collect();
    let wide = |k: u32| {
        let (s, c) = (std::f64::consts::PI * f64::from(k) / f64::from(WAYS)).sin_cos();
        let along = || hull.iter().map(|p| c * p[0] + s * p[1]);
        along().fold(f64::NEG_INFINITY, f64::max) - along().fold(f64::INFINITY, f64::min)
    };
    let all: Vec<f64> = (0..WAYS).map(wide).collect();
    range(&all).filter(|r| r.least.to_mm() > 0.0)
}

fn range(mm: &[f64]) -> Option<LengthRange> {
    let fold = |f: fn(f64, f64) -> f64, from| Length::mm(mm.iter().copied().fold(from, f));
    (!mm.is_empty()).then(|| LengthRange {
        mean: Length::mm(mm.iter().sum::<f64>() / mm.len() as f64),
        least: fold(f64::min, f64::INFINITY),
        most: fold(f64::max, f64::NEG_INFINITY),
    })
}

/// Minimum-zone roundness: the middle is moved in ever shorter steps as long as that narrows the ring.
fn roundness(outline: &[[f64; 2]]) -> f64 {
    let ring = |[x, y]: [f64; 2]| {
        let out = outline.iter().map(|p| (p[0] - x).hypot(p[1] - y));
        let (least, most) = out.fold((f64::INFINITY, 0.0_f64), |(l, m), r| (l.min(r), m.max(r)));
        most - least
    };
    let n = outline.len() as f64;
    let mut at = [0, 1].map(|d| outline.iter().map(|p| p[d]).sum::<f64>() / n);
    let (mut best, mut step) = (ring(at), ring(at));
    while step > 1e-6 * best.max(1e-3) {
        let ways = (0..16).map(|k| f64::from(k) * std::f64::consts::PI / 8.0);
        let tried = ways.map(|a| [at[0] + step * a.cos(), at[1] + step * a.sin()]);
        match tried.min_by(|p, q| ring(*p).total_cmp(&ring(*q))).filter(|p| ring(*p) < best) {
            Some(next) => (at, best) = (next, ring(next)),
            None => step *= 0.5,
        }
    }
    best
}

/// Distances of the sides from the middle of the corners, and how true they run.
fn sides(xy: &[[f64; 2]], rim: &Rim, sides: &[Vec<u32>]) -> Option<(LengthRange, Trueness)> {
    let tips: Vec<[f64; 2]> = rim.corners.iter().map(|c| xy[rim.nodes[*c] as usize]).collect();
    let k = tips.len() as f64;
    let o = [0, 1].map(|d| tips.iter().map(|p| p[d]).sum::<f64>() / k);
    let (mut across, mut ways, mut worst) = (Vec::new(), Vec::new(), 0.0_f64);
    for side in sides {
        // The corners belong to no side: a space at a corner may lie within the sides' lines.
        let points: Vec<[f64; 2]> =
            side[1..side.len() - 1].iter().map(|n| xy[*n as usize]).collect();
        let zone = minimum_zone(&points)?;
        let (first, last) = (points[0], points[points.len() - 1]);
        let [c, s] = zone.direction;
        let along = c * (last[0] - first[0]) + s * (last[1] - first[1]);
        ways.push(if along < 0.0 { [-c, -s] } else { [c, s] });
        let middle = zone.coordinates(o)[1];
        let out = |p: &[f64; 2]| (zone.coordinates(*p)[1] - middle).abs();
        across.push(2.0 * points.iter().map(out).sum::<f64>() / points.len() as f64);
        worst = worst.max(zone.width);
    }
    let turn = |j: usize| {
        let (a, b) = (ways[j], ways[(j + 1) % ways.len()]);
        (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1])
    };
    let even = std::f64::consts::TAU / k;
    let off = (0..ways.len()).map(|j| (turn(j) - even).abs()).fold(0.0, f64::max);
    let out = tips.iter().map(|p| (p[0] - o[0]).hypot(p[1] - o[1])).sum::<f64>() / k;
    let trueness = Trueness::Sides {
        straightness: Length::mm(worst),
        off: Angle::radians(off),
        tips: Length::mm(2.0 * out),
    };
    Some((range(&across)?, trueness))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::TAU;

    /// An ellipse of half axes a and b: roundness a - b about its middle, widths 2b to 2a.
    #[test]
    fn an_ellipse_is_as_round_as_its_axes_differ() {
        let (a, b) = (52.0, 50.0);
        // The middle given is off: roundness must find its own.
        let point = |k: u32| {
            let turn = TAU * f64::from(k) / 720.0;
            [a * turn.cos() + 3.0, b * turn.sin() - 2.0]
        };
        let ellipse: Vec<[f64; 2]> = (0..720).map(point).collect();
        assert!((roundness(&ellipse) - 2.0).abs() < 1e-3, "{}", roundness(&ellipse));
        let wide = widths(&ellipse).expect("an ellipse has a width");
        assert!((wide.least.to_mm() - 100.0).abs() < 0.01);
        assert!((wide.most.to_mm() - 104.0).abs() < 0.01);
    }
}
