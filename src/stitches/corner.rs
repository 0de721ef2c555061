//! Corners of a round: what is worked into them, and which places of the row below they are.

use super::below::Below;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;

/// What a round works into its corners, when it says so apart from the rest.
pub(super) fn corner_op(ops: &[Op]) -> Option<&Op> {
    let rest = ops.iter().any(|op| {
        matches!(&op.act, Do::Work { place, .. } if place.extent == Extent::All && place.target != Target::Corner)
    });
    let corner = |op: &&Op| match &op.act {
        Do::Work { act, place, .. } => *act != Act::Slip && place.target == Target::Corner,
        Do::OnePlace(_, place) => place.target == Target::Corner,
        _ => false,
    };
    ops.iter().find(corner).filter(|_| rest)
}

/// Spots that are corners.
pub(super) fn corners(met: &Below) -> Vec<usize> {
    let middle = |g: &super::below::Group| (g.first + g.last) / 2;
    // "Ch 2" at the head of a side turns the corner as "sc, ch 2, sc" in one stitch does.
    let space = |g: &&super::below::Group| met.spots.get(g.first).is_some_and(|s| s.is_space());
    met.groups
        .iter()
        .filter(|g| g.name == super::below::CORNER || g.last > g.first + 1 || space(g))
        .map(middle)
        .collect()
}
