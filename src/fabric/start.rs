//! A first placement of each row, from which the equilibrium is sought: rows lie parallel, tops a
//! pitch apart, so that every cell starts with positive area. The solver moves everything.

use super::cells::TopPoint;
use super::front::EntryId;
use super::mesh::Builder;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowId;

/// Creates the nodes of a row's tops, selvages and picked-up points; `open` when it has two ends.
pub(super) fn place(b: &mut Builder<'_>, row: &PieceRow, open: bool, tops: &mut [TopPoint]) {
    let positions = if (!open || b.fabric.cut) && !b.worked.rings.is_empty() {
        on_circle(b, tops)
    } else if !open || turns_a_corner(b.piece, row) || runs_aslant(b, tops) {
        along_front(b, tops)
    } else {
        on_line(b, tops)
    };
    for (top, at) in tops.iter_mut().zip(positions) {
        top.node = b.node(at, (!top.gap).then_some(top.stitch));
    }
    if open {
        selvages(b, tops);
    }
}

/// Edging worked along row ends or the underside of the foundation.
pub(super) fn turns_a_corner(piece: &Piece, row: &PieceRow) -> bool {
    piece.row_stitches(row).any(|(_, s)| {
        piece.legs(s).iter().any(|a| matches!(a.place, Place::RowEnd { .. } | Place::Underside(_)))
    })
}

/// The front under the row does not run from right to left: a border below or beside the piece.
fn runs_aslant(b: &Builder<'_>, tops: &[TopPoint]) -> bool {
    let mut legs = tops.iter().flat_map(|t| t.legs.iter());
    let (Some(&first), Some(&last)) = (legs.next(), legs.next_back()) else { return false };
    let (p, q) = (position(b, first), position(b, last));
    let way = [q[0] - p[0], q[1] - p[1]];
    -way[0] < 0.5 * way[0].hypot(way[1])
}

fn position(b: &Builder<'_>, e: EntryId) -> [f64; 2] {
    b.fabric.start[b.front.get(e).node as usize]
}

fn mean(b: &Builder<'_>, legs: &[EntryId]) -> [f64; 2] {
    let n = legs.len() as f64;
    let sum =
        legs.iter().map(|&e| position(b, e)).fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    [sum[0] / n, sum[1] / n]
}

/// Tops in a straight row, shifted so that most legs stand upright.
fn on_line(b: &Builder<'_>, tops: &[TopPoint]) -> Vec<[f64; 2]> {
    let legged = || tops.iter().filter(|t| !t.legs.is_empty());
    let mut offsets: Vec<f64> = legged().map(|t| mean(b, &t.legs)[0] - t.x).collect();
    let mid = offsets.len() / 2;
    let (_, &mut shift, _) = offsets.select_nth_unstable_by(mid, f64::total_cmp);
    // One rise for the whole row: the differences between its stitches would add up over the rows.
    let rise = legged().map(|t| b.reach(t.stitch)).sum::<f64>() / offsets.len() as f64;
    let heights: Vec<Option<f64>> =
        tops.iter().map(|t| (!t.legs.is_empty()).then(|| mean(b, &t.legs)[1] + rise)).collect();
    let heights = interpolated(&heights);
    tops.iter().zip(heights).map(|(t, y)| [t.x + shift, y]).collect()
}

/// Fills `None`s linearly between known neighbours, constant beyond the ends.
fn interpolated(values: &[Option<f64>]) -> Vec<f64> {
    let known: Vec<usize> = (0..values.len()).filter(|&i| values[i].is_some()).collect();
    let at = |i: usize| values[i].unwrap_or(0.0);
    (0..values.len())
        .map(|i| {
            let after = known.partition_point(|&k| k < i);
            match (after.checked_sub(1).map(|k| known[k]), known.get(after).copied()) {
                (_, Some(r)) if r == i => at(r),
                (Some(l), Some(r)) => at(l) + (at(r) - at(l)) * (i - l) as f64 / (r - l) as f64,
                (Some(k), None) | (None, Some(k)) => at(k),
                (None, None) => 0.0,
            }
        })
        .collect()
}

/// A round about a ring: evenly on a circle one row height outside the round below.
fn on_circle(b: &Builder<'_>, tops: &[TopPoint]) -> Vec<[f64; 2]> {
    let legged: Vec<&TopPoint> = tops.iter().filter(|t| !t.legs.is_empty()).collect();
    let radius = |t: &&TopPoint| {
        let p = mean(b, &t.legs);
        p[0].hypot(p[1]) + b.reach(t.stitch)
    };
    let r = legged.iter().map(radius).sum::<f64>() / legged.len() as f64;
    let p = mean(b, &legged[0].legs);
    let first = if p == [0.0, 0.0] { 0.0 } else { p[1].atan2(p[0]) };
    let (x0, width) = (legged[0].x, legged[0].row_width);
    tops.iter()
        .map(|t| {
            let angle = first + std::f64::consts::TAU * (x0 - t.x) / width;
            [r * angle.cos(), r * angle.sin()]
        })
        .collect()
}

/// Tops one height outside the front along its normal; several stitches in one place fan out.
fn along_front(b: &Builder<'_>, tops: &[TopPoint]) -> Vec<[f64; 2]> {
    let mut placed: Vec<Option<[f64; 2]>> = Vec::with_capacity(tops.len());
    let mut i = 0;
    while i < tops.len() {
        let Some(&leg) = tops[i].legs.first() else {
            placed.push(None);
            i += 1;
            continue;
        };
        let mut j = i + 1;
        while j < tops.len() && tops[j].legs.first() == Some(&leg) {
            j += 1;
        }
        let (before, after) = (position(b, b.front.prev(leg)), position(b, b.front.next(leg)));
        let tangent = [after[0] - before[0], after[1] - before[1]];
        let length = tangent[0].hypot(tangent[1]).max(1e-9);
        let t = [tangent[0] / length, tangent[1] / length];
        for (k, top) in tops[i..j].iter().enumerate() {
            let size = b.sizes.of(top.stitch);
            let foot = mean(b, &top.legs);
            let fan = (k as f64 - (j - i - 1) as f64 / 2.0) * size.width;
            placed.push(Some([
                foot[0] + t[1] * size.height + t[0] * fan,
                foot[1] - t[0] * size.height + t[1] * fan,
            ]));
        }
        i = j;
    }
    let axis = |c: usize| interpolated(&placed.iter().map(|p| p.map(|p| p[c])).collect::<Vec<_>>());
    axis(0).into_iter().zip(axis(1)).map(|(x, y)| [x, y]).collect()
}

/// Selvage nodes half a stitch outside the first and last top, and the points between them and the
/// corners below that later edgings pick up.
fn selvages(b: &mut Builder<'_>, tops: &mut [TopPoint]) {
    let last = tops.len() - 1;
    let row = b.piece.stitch(tops[0].stitch).row;
    for (side, at) in [(0, 0), (1, last)] {
        let Some(corner) = b.corner_beside(tops, side == 1) else { continue };
        let top = &tops[at];
        let p = b.fabric.start[top.node as usize];
        let reach = if side == 0 { -top.x } else { top.x + top.row_width };
        let inner = &tops[if side == 0 { 1.min(last) } else { last.saturating_sub(1) }];
        let q = b.fabric.start[inner.node as usize];
        let along = [p[0] - q[0], p[1] - q[1]];
        let length = along[0].hypot(along[1]);
        let unit = if length > 1e-12 {
            [along[0] / length, along[1] / length]
        } else {
            [if side == 0 { 1.0 } else { -1.0 }, 0.0]
        };
        let node = b.node([p[0] + unit[0] * reach, p[1] + unit[1] * reach], None);
        let base = position(b, corner);
        let head = b.fabric.start[node as usize];
        let n = b.picked_up(RowId(row.0), side == 1);
        let points: Vec<u32> = (1..=n)
            .map(|k| {
                let t = f64::from(k) / f64::from(n + 1);
                let at = [base[0] + (head[0] - base[0]) * t, base[1] + (head[1] - base[1]) * t];
                b.node(at, None)
            })
            .collect();
        tops[at].selvage[side] = Some(node);
        tops[at].side[side] = points;
    }
}
