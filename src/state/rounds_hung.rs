//! Pieces worked in rounds from their middle, hung: by a point or along their edge, over a rail, over a table
//! edge, over shoulders, between discs. The start is the piece laid flat.

use std::ops::ControlFlow;

use super::Rim;
use super::blocked::shares;
use super::fit::{asked, hang_fits};
use super::hung::{
    Frame, Hang, Hung, InSpace, Placing, Point, at_spacing, by_point, frame, length, on_disc,
    over_edge, over_shoulders, pegged, rail, reaches, settled, wound,
};
use super::laid::{Laid, NotLaid};
use crate::fabric::Fabric;
use crate::mechanics::Progress;
use crate::mechanics::Settings;

/// Hangs a piece in closed rounds. Its sides are alike, so the side that `how` names is not looked at: the first
/// counts, counter-clockwise from the first corner, and the first quarter of a circle.
///
/// # Errors
/// [`NotLaid`]; nothing round lies along shoulders.
pub fn hang_rounds(
    fabric: &Fabric,
    laid: &Laid,
    rim: &Rim,
    space: &InSpace,
    how: Hang,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Hung, NotLaid> {
    hang_fits(how)?;
    let flat = &laid.shape.positions;
    let sides = rim.sides(&laid.shape);
    let side = sides.first().ok_or(NotLaid::Unheld)?;
    let round = rim.corners.is_empty();
    if let Hang::Shoulders { body, .. } = how {
        if round {
            return Err(asked(
                "a round piece is worn folded, in two layers, which do not feel each other here; expected \
                 --by rail, disc, point, edge, corners or table-edge, or a piece with straight sides",
            ));
        }
        reaches(flat, side, &body)?;
    }
    let placing = match how {
        Hang::Point { .. } => by_point(flat, &space.masses, side[0]),
        Hang::Edge { spacing, .. } => {
            let held = at_spacing(&shares(&laid.shape, side), length(flat, side), spacing);
            let mut placing = pegged(flat, side, &held, 1.0);
            if round {
                unlevelled(flat, side, &mut placing);
            }
            Some(placing)
        }
        Hang::Corners { apart, .. } => Some(pegged(flat, side, &[0, side.len() - 1], apart)),
        Hang::Rail { radius, at } => over_rail(flat, side, radius, at),
        Hang::TableEdge { over, .. } => over_table(flat, side, over),
        Hang::Shoulders { body, .. } => over_shoulders(flat, side, &body),
        Hang::Disc { radius } => on_disc(flat, radius),
    };
    settled(fabric, laid, space, placing.ok_or(NotLaid::Unheld)?, settings, progress)
}

/// Pegs of an arc stand where its stitches lie, not on a level line; the highest at height zero.
fn unlevelled(flat: &[Point], side: &[u32], placing: &mut Placing) {
    let Some((o, _, inward)) = frame(flat, side) else { return };
    let height = |p: &Point| -((p[0] - o[0]) * inward[0] + (p[1] - o[1]) * inward[1]);
    let highest = placing.held.iter().map(|n| height(&flat[*n as usize])).fold(f64::MIN, f64::max);
    placing.start.iter_mut().zip(flat).for_each(|(place, p)| place[2] = height(p) - highest);
}

/// Frame of a side moved square to it, `at` of the way through the piece, and the middle of the piece along it, m.
fn across(flat: &[Point], side: &[u32], at: impl Fn(f64, f64) -> f64) -> Option<(Frame, f64)> {
    let (o, e, inward) = frame(flat, side)?;
    let reach = |axis: Point| {
        let along = flat.iter().map(|p| (p[0] - o[0]) * axis[0] + (p[1] - o[1]) * axis[1]);
        along.fold([f64::INFINITY, f64::NEG_INFINITY], |[l, h], x| [l.min(x), h.max(x)])
    };
    let ([left, right], [near, far]) = (reach(e), reach(inward));
    let moved = at(near, far);
    let o = [o[0] + moved * inward[0], o[1] + moved * inward[1]];
    Some(((o, e, inward), 0.5 * (left + right)))
}

/// The stitches within half a stitch of the rail's top line are held.
fn over_rail(flat: &[Point], side: &[u32], radius: f64, at: f64) -> Option<Placing> {
    let (frame, middle) = across(flat, side, |near, far| near + at * (far - near))?;
    let start = wound(flat, frame, middle, radius);
    let (o, e, inward) = frame;
    let off = |n: &u32| {
        let p = flat[*n as usize];
        ((p[0] - o[0]) * inward[0] + (p[1] - o[1]) * inward[1]).abs()
    };
    let near = 0.5 * spacing(flat, e, inward);
    let held: Vec<u32> = (0..flat.len() as u32).filter(|n| off(n) <= near).collect();
    (held.len() > 1)
        .then(|| Placing { solids: vec![rail(&start, radius)], ..Placing::of(held, start) })
}

/// Mean distance between nodes, m, of those in the box round the piece.
fn spacing(flat: &[Point], e: Point, inward: Point) -> f64 {
    let reach = |axis: Point| {
        let along = || flat.iter().map(|p| p[0] * axis[0] + p[1] * axis[1]);
        along().fold(f64::NEG_INFINITY, f64::max) - along().fold(f64::INFINITY, f64::min)
    };
    (reach(e) * reach(inward) / flat.len() as f64).sqrt()
}

fn over_table(flat: &[Point], side: &[u32], over: f64) -> Option<Placing> {
    let (frame, middle) = across(flat, side, |near, _| near)?;
    over_edge(flat, frame, middle, over)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::state::hung::Place;

    fn apart(a: Place, b: Place) -> f64 {
        (0..3).map(|d| (a[d] - b[d]).powi(2)).sum::<f64>().sqrt()
    }

    fn disc() -> Vec<Point> {
        let mut all = vec![[0.0, 0.0]];
        for ring in 1..=8 {
            let many = 6 * ring;
            for k in 0..many {
                let turn = std::f64::consts::TAU * f64::from(k) / f64::from(many);
                let r = 0.01 * f64::from(ring);
                all.push([r * turn.cos(), r * turn.sin()]);
            }
        }
        all
    }

    /// Placings keep lengths: a winding brings points nearer in space, never further.
    #[test]
    fn starts_stretch_nothing() {
        let flat = disc();
        let rim: Vec<u32> = (flat.len() as u32 - 48..=flat.len() as u32 - 36).collect();
        let masses = vec![1.0; flat.len()];
        let placings = [
            by_point(&flat, &masses, rim[0]).expect("a point"),
            over_rail(&flat, &rim, 0.02, 0.5).expect("a rail"),
            over_table(&flat, &rim, 0.05).expect("a table"),
        ];
        for placing in &placings {
            for (i, p) in flat.iter().enumerate() {
                for (j, q) in flat.iter().enumerate().skip(i + 1) {
                    let was = (p[0] - q[0]).hypot(p[1] - q[1]);
                    assert!(apart(placing.start[i], placing.start[j]) <= was + 1e-12);
                }
            }
        }
        let on_top = placings[1].held.iter().map(|n| placings[1].start[*n as usize][2].abs());
        assert!(on_top.fold(0.0, f64::max) < 1e-3, "what is held lies on top of the rail");
        assert!(placings[1].held.len() > 10);
    }
}
