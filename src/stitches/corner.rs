//! What a row or round works into some places on its way through the others: corners, or every chain space.

use super::below::Below;
use super::below::Spot;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;
use crate::pattern::Where;

/// What is worked into the corners, or into every space, when the words say so apart from the rest.
pub(super) fn corner_op(ops: &[Op]) -> Option<&Op> {
    let into_stitches = |place: &Where| {
        place.extent == Extent::All && matches!(place.target, Target::Any | Target::Post(_))
    };
    let stitches =
        ops.iter().any(|op| matches!(&op.act, Do::Work { place, .. } if into_stitches(place)));
    let rest = ops.iter().any(|op| {
        matches!(&op.act, Do::Work { place, .. } if place.extent == Extent::All && place.target != Target::Corner)
    });
    let there = |place: &Where| match place.target {
        Target::Corner => rest && place.extent != Extent::Same,
        // "sc in each sc around, (sc, ch 2, sc) in each ch-2 sp"
        Target::Space(_) => stitches && place.extent == Extent::All,
        _ => false,
    };
    ops.iter().find(|op| match &op.act {
        Do::Work { act, place, .. } => *act != Act::Slip && there(place),
        Do::OnePlace(_, place) => there(place),
        _ => false,
    })
}

/// A place among `ops` is a corner, or a space called by its chain.
pub(super) fn names_corners(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Repeat(repeat) => names_corners(&repeat.ops) || names_corners(&repeat.ending),
        _ => place_of(op)
            .is_some_and(|place| matches!(place.target, Target::Corner | Target::Space(Some(_)))),
    })
}

/// Where an op is worked.
pub(super) fn place_of(op: &Op) -> Option<Where> {
    match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => Some(*place),
        _ => None,
    }
}

/// The spots that `op` is worked into.
pub(super) fn spots_of(op: &Op, met: &Below, round: bool) -> Vec<usize> {
    let space = |k: &usize, links: Option<u32>| {
        let spot = &met.spots[*k];
        spot.is_space() && links.is_none_or(|n| u32::from(spot.links) == n)
    };
    match place_of(op).map(|place| place.target) {
        Some(Target::Space(links)) => (0..met.spots.len()).filter(|k| space(k, links)).collect(),
        _ => corners(met, round),
    }
}

/// Spots that are corners: chain spaces inside groups, else the few longest spaces of a round, else the middle
/// stitches of groups.
fn corners(met: &Below, round: bool) -> Vec<usize> {
    const CORNERS: std::ops::RangeInclusive<usize> = 3..=8;
    let middle = |g: &super::below::Group| (g.first + g.last) / 2;
    let space = |k: &usize| met.spots.get(*k).is_some_and(Spot::is_space);
    let marked: Vec<usize> = met.groups.iter().map(middle).filter(space).collect();
    if !marked.is_empty() {
        return marked;
    }
    let edge = met.groups.iter().any(|g| g.name == super::below::CORNER);
    let longest = met.spots.iter().filter(|s| s.is_space()).map(|s| s.links).max().unwrap_or(0);
    let long: Vec<usize> =
        (0..met.spots.len()).filter(|k| space(k) && met.spots[*k].links == longest).collect();
    if round && !edge && longest > 1 && CORNERS.contains(&long.len()) {
        return long;
    }
    let wide = |g: &&super::below::Group| g.name == super::below::CORNER || g.last > g.first + 1;
    met.groups.iter().filter(wide).map(middle).collect()
}
