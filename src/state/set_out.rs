//! Waves set out on a piece laid flat, where it has length to spare: as high as takes up its squeeze.

use std::f64::consts::{PI, TAU};

use super::laid::Laid;
use super::over_fed::{OverFed, Place};
use crate::fabric::Fabric;
use crate::mechanics::Body;
use crate::stitches::RowId;

/// Rounds of averaging over neighbours by which the squeeze is smoothed.
const ROUNDS: usize = 6;

/// Steepest that the crests rise along themselves.
const SLOPE: f64 = 0.5;

/// Strain by which waves may stretch what lies beside the squeezed stitches.
const STRETCH: f64 = 0.03;

/// Shares of their full height of which that of least energy is taken: where rows lie in zigzags, waves that take
/// up all the squeeze tear at the stitches beside them, and no step leads away from there.
const SHARES: [f64; 8] = [1.0, 0.75, 0.5, 0.35, 0.25, 0.15, 0.1, 0.05];

/// Where a node lies in its row.
struct Spot {
    row: usize,
    /// Share of its row from the left.
    share: f64,
    /// Length of its row, m.
    length: f64,
    /// From the first row, m.
    up: f64,
}

/// Heights (m) of all nodes in waves of the lengths found, along rows or up columns, as high as takes up the
/// squeeze there: a wave `z = a/2 (1 - cos 2πs/l)` takes `π²a²/(4l²)` of the length along it (plane geometry,
/// small slopes). `energy` (J) is that of the piece standing so.
///
/// Only a start: it decides which of several rests is found, not what a rest is.
pub(super) fn set_out(
    fabric: &Fabric,
    laid: &Laid,
    found: &[OverFed],
    energy: &dyn Fn(&[f64]) -> f64,
) -> Vec<f64> {
    let spots = spots(fabric, laid);
    let mut heights = vec![0.0; fabric.body.nodes];
    for one in found {
        let mut own = waves(fabric, laid, &spots, one);
        fill(&fabric.body, &spots, &mut own);
        let joined = |share: f64| -> Vec<f64> {
            heights.iter().zip(&own).map(|(all, own)| f64::max(*all, share * own)).collect()
        };
        let tried = SHARES.map(|share| (energy(&joined(share)), share));
        let least = tried.into_iter().min_by(|a, b| a.0.total_cmp(&b.0));
        heights = joined(least.map_or(1.0, |(_, share)| share));
    }
    heights
}

/// Nodes that belong to the places found.
pub(super) fn over(fabric: &Fabric, laid: &Laid, found: &[OverFed]) -> Vec<bool> {
    let of = |s: &Option<Spot>| s.as_ref().is_some_and(|s| found.iter().any(|f| lies(s, f.at)));
    spots(fabric, laid).iter().map(of).collect()
}

/// Waves of one place.
fn waves(fabric: &Fabric, laid: &Laid, spots: &[Option<Spot>], one: &OverFed) -> Vec<f64> {
    let axis = usize::from(matches!(one.at, Place::Columns(..)));
    let of = |s: &Option<Spot>| s.as_ref().is_some_and(|s| lies(s, one.at));
    let within: Vec<bool> = spots.iter().map(of).collect();
    // Rows fed too long to lie straight run in zigzags: the shortest tells how far it is across.
    let inside = spots.iter().flatten().filter(|s| lies(s, one.at));
    let across = inside.map(|s| s.length).fold(f64::INFINITY, f64::min);
    let l = one.blister.length;
    let squeeze = squeeze(fabric, laid, axis, &within);
    let mut high: Vec<f64> = squeeze.iter().map(|e| 2.0 * l / PI * e.sqrt()).collect();
    slope(fabric, laid, &mut high);
    let one = |(spot, high): (&Option<Spot>, f64)| {
        spot.as_ref().filter(|_| high > 0.0).map_or(0.0, |spot| {
            let s = if axis == 0 { (spot.share - 0.5) * across } else { spot.up };
            high / 2.0 * (1.0 - (TAU * s / l).cos())
        })
    };
    spots.iter().zip(high).map(one).collect()
}

fn lies(spot: &Spot, at: Place) -> bool {
    let in_rows =
        |from: RowId, to: RowId| (from.0.saturating_sub(1)..=to.0).contains(&(spot.row as u32));
    let between = |[from, to]: [f64; 2]| (from..=to).contains(&spot.share);
    match at {
        Place::Rows(from, to, part) => in_rows(from, to) && part.is_none_or(between),
        Place::Columns(wide, part) => between(wide) && part.is_none_or(|[a, b]| in_rows(a, b)),
    }
}

fn spots(fabric: &Fabric, laid: &Laid) -> Vec<Option<Spot>> {
    let x = &laid.shape.positions;
    let mut spots: Vec<Option<Spot>> = (0..fabric.body.nodes).map(|_| None).collect();
    let (mut up, mut last) = (0.0, None::<[f64; 2]>);
    for (row, path) in fabric.row_paths.iter().enumerate().filter(|(_, path)| !path.is_empty()) {
        let mean = |d: usize| path.iter().map(|k| x[*k as usize][d]).sum::<f64>();
        let middle = [0, 1].map(|d| mean(d) / path.len() as f64);
        up += last.map_or(0.0, |last| apart(last, middle));
        last = Some(middle);
        let mut from_right = vec![0.0];
        for w in path.windows(2) {
            from_right
                .push(from_right[from_right.len() - 1] + apart(x[w[0] as usize], x[w[1] as usize]));
        }
        let length = from_right[path.len() - 1];
        for (node, from_right) in path.iter().zip(&from_right) {
            let share = 1.0 - from_right / length.max(f64::MIN_POSITIVE);
            spots[*node as usize].get_or_insert(Spot { row, share, length, up });
        }
    }
    spots
}

fn apart(p: [f64; 2], q: [f64; 2]) -> f64 {
    (q[0] - p[0]).hypot(q[1] - p[1])
}

fn cells(body: &Body) -> impl Iterator<Item = &[u32]> {
    let quads = body.quads.iter().map(|q| &q.nodes[..]);
    let wedges = body.wedges.iter().map(|w| &w.nodes[..]);
    quads.chain(wedges).chain(body.polygons.iter().map(|p| &p.nodes[..]))
}

/// Mean over the cells at every node.
fn spread(body: &Body, of: &[f64]) -> Vec<f64> {
    let mut sums = vec![[0.0, 0.0]; body.nodes];
    for (nodes, value) in cells(body).zip(of) {
        for n in nodes {
            let [sum, many] = &mut sums[*n as usize];
            (*sum, *many) = (*sum + value, *many + 1.0);
        }
    }
    sums.iter().map(|[sum, many]| sum / f64::max(*many, 1.0)).collect()
}

/// Squeeze along an axis at every node, positive, smoothed; little more than its own anywhere.
fn squeeze(fabric: &Fabric, laid: &Laid, axis: usize, within: &[bool]) -> Vec<f64> {
    let body = &fabric.body;
    let own: Vec<f64> = laid.shape.strains.iter().map(|s| -s[axis]).collect();
    let own = spread(body, &own).into_iter().zip(within);
    let own: Vec<f64> = own.map(|(e, within)| if *within { e.max(0.0) } else { 0.0 }).collect();
    let mut smooth = own.clone();
    for _ in 0..ROUNDS {
        let mean = |nodes: &[u32]| {
            nodes.iter().map(|n| smooth[*n as usize]).sum::<f64>() / nodes.len() as f64
        };
        let means: Vec<f64> = cells(body).map(mean).collect();
        smooth = spread(body, &means);
    }
    smooth.iter().zip(&own).map(|(smooth, own)| smooth.min(own + STRETCH)).collect()
}

/// Lowers heights until none lies further above one beside it than [`SLOPE`] lets it.
fn slope(fabric: &Fabric, laid: &Laid, high: &mut [f64]) {
    let x = &laid.shape.positions;
    let mut still = false;
    while !still {
        still = true;
        for nodes in cells(&fabric.body) {
            for (k, n) in nodes.iter().enumerate() {
                let [n, m] = [*n, nodes[(k + 1) % nodes.len()]].map(|n| n as usize);
                let most = SLOPE * apart(x[n], x[m]);
                for [n, m] in [[n, m], [m, n]] {
                    if high[n] > high[m] + most {
                        (high[n], still) = (high[m] + most, false);
                    }
                }
            }
        }
    }
}

/// Gives nodes that lie along no row the mean height of those around them that do.
fn fill(body: &Body, spots: &[Option<Spot>], heights: &mut [f64]) {
    let mean = |nodes: &[u32]| {
        let known: Vec<f64> = nodes
            .iter()
            .map(|n| *n as usize)
            .filter(|n| spots[*n].is_some())
            .map(|n| heights[n])
            .collect();
        known.iter().sum::<f64>() / known.len().max(1) as f64
    };
    let means: Vec<f64> = cells(body).map(mean).collect();
    let around = spread(body, &means);
    for n in (0..spots.len()).filter(|n| spots[*n].is_none()) {
        heights[n] = around[n];
    }
}
