//! Fans: the cell between two stitches worked into one place.
//!
//! Where stitches share a place their feet crowd, and each leans as its neighbours have it: a group may stand
//! in a straight row, its posts slanting to their common foot, or turn a corner, its posts upright on either
//! side of the mitre. The width of what stands above and the height of the row are given, the lean is not. So
//! such a cell is a strip of shaping triangles, one on every strand of its top and of its bottom, and none of
//! them has a lean of its own. In the plane a fan then turns by any angle: round a circle the strands above
//! take a height's length for every radian (perimeter over radius), round a mitred corner `2 tan(α/2)` heights
//! for the angle `α` (plane geometry), and both are free of stress.

use super::cells::{Few, TopPoint};
use super::front::EntryId;
use super::mesh::Builder;

/// A shaping triangle of a fan, by places in the lists of its bottom and top points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Part {
    /// On the top strand that begins at `top`, with its apex at `bottom`.
    Above { top: usize, bottom: usize },
    /// On the bottom strand that begins at `bottom`, with its apex at `top`.
    Below { bottom: usize, top: usize },
}

/// Cuts a strip between two lines of points, given by how far along each lies (from 0 to 1), into triangles
/// that advance along both alike. `first_below`: which of two strands that are level comes first.
pub(super) fn strip(bottom: &[f64], top: &[f64], first_below: bool) -> Vec<Part> {
    let (mut i, mut j) = (0, 0);
    let mut parts = Vec::with_capacity(bottom.len() + top.len());
    let middle = |line: &[f64], k: usize| line.get(k + 1).map(|end| f64::midpoint(line[k], *end));
    loop {
        let below = match (middle(bottom, j), middle(top, i)) {
            (None, None) => return parts,
            (Some(_), None) => true,
            (None, Some(_)) => false,
            (Some(b), Some(t)) if (b - t).abs() < 1e-9 => first_below,
            (Some(b), Some(t)) => b < t,
        };
        if below {
            parts.push(Part::Below { bottom: j, top: i });
            j += 1;
        } else {
            parts.push(Part::Above { top: i, bottom: j });
            i += 1;
        }
    }
}

/// True if the points of the front `entries` are one place: a single point, or points of one chain space.
pub(super) fn one_place(b: &Builder<'_>, entries: &[EntryId]) -> bool {
    let of = |e: &EntryId| b.fabric.node_stitch[b.front.get(*e).node as usize];
    match entries {
        [_] => true,
        [first, rest @ ..] => of(first).is_some() && rest.iter().all(|e| of(e) == of(first)),
        [] => false,
    }
}

/// Marks the stitches of a row that share their place with the one beside them.
pub(super) fn group(b: &Builder<'_>, tops: &mut [TopPoint], legged: &[usize]) {
    let n = legged.len();
    for k in 0..n {
        let (right, left) = (legged[k], legged[(k + 1) % n]);
        let feet = [*tops[right].legs.last().expect("legged tops have legs"), tops[left].legs[0]];
        if right != left && (feet[0] == feet[1] || one_place(b, &feet)) {
            (tops[right].grouped, tops[left].grouped) = (true, true);
        }
    }
}

/// True if the cell over `entries` lies left of the middle of the space whose points they are: fans are cut
/// alike on both sides of their middle.
pub(super) fn left_of_middle(b: &Builder<'_>, entries: &Few<EntryId>) -> bool {
    let of = |e: EntryId| b.fabric.node_stitch[b.front.get(e).node as usize];
    let (first, last) = (entries[0], entries[entries.len() - 1]);
    let (mut right, mut left) = (first, last);
    loop {
        (right, left) = (b.front.prev(right), b.front.next(left));
        match (of(right) == of(first), of(left) == of(first)) {
            (true, true) if right != first && left != last => {}
            (more_right, _) => return more_right,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every strand carries one triangle, and neighbouring triangles share an edge.
    #[test]
    fn a_strip_takes_every_strand_once() {
        let (bottom, top) = ([0.0, 1.0], [0.0, 0.25, 0.5, 0.75, 1.0]);
        for first_below in [false, true] {
            let parts = strip(&bottom, &top, first_below);
            let on_top: Vec<usize> = parts
                .iter()
                .filter_map(|p| match p {
                    Part::Above { top, .. } => Some(*top),
                    Part::Below { .. } => None,
                })
                .collect();
            assert_eq!(on_top, [0, 1, 2, 3]);
            assert_eq!(parts.len(), 5);
            assert_eq!(parts[2], Part::Below { bottom: 0, top: 2 });
        }
        assert_eq!(strip(&[0.0], &[0.0, 1.0], true), [Part::Above { top: 0, bottom: 0 }]);
    }

    #[test]
    fn level_strands_are_cut_by_the_side_they_lie_on() {
        let line = [0.0, 1.0];
        assert_eq!(strip(&line, &line, true)[0], Part::Below { bottom: 0, top: 0 });
        assert_eq!(strip(&line, &line, false)[0], Part::Above { top: 0, bottom: 0 });
    }
}
