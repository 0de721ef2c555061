//! What a row's words ask for as a whole.

use std::borrow::Cow;

use super::start::leading_chain;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;

/// The index of a skip of a stitch or two that a row begins with.
pub(super) fn first_skip(ops: &[Op]) -> Option<usize> {
    let k = ops.iter().position(|op| !matches!(op.act, Do::Turn | Do::Colour(_)))?;
    matches!(&ops[k].act, Do::Skip(place) if matches!(place.extent, Extent::Next(1..=2)))
        .then_some(k)
}

/// On a foundation, the words "skip 2 ch" only say where the first stitch goes.
/// "Skip 2 sts" after a turning chain that counts may name the stitch under it among them.
pub(super) fn without_first_skip(ops: &[Op], foundation: bool) -> Cow<'_, [Op]> {
    let Some(k) = ops.iter().position(|op| !matches!(op.act, Do::Turn | Do::Colour(_))) else {
        return ops.into();
    };
    let Do::Skip(place) = ops[k].act else { return ops.into() };
    match place.extent {
        Extent::Next(n @ 2..) if !foundation => {
            let mut kept = ops[k..].to_vec();
            let fewer = crate::pattern::Where { extent: Extent::Next(n - 1), ..place };
            kept[0].act = Do::Skip(fewer);
            kept.into()
        }
        _ => ops[k + 1..].into(),
    }
}

/// Somewhere a slip stitch, a chain and posts go into one space: blocks, corner to corner.
pub(super) fn builds_blocks(pattern: &crate::pattern::Pattern) -> bool {
    fn in_ops(ops: &[Op]) -> bool {
        ops.windows(3).any(plain_block)
            || ops.iter().any(|op| match &op.act {
                Do::OnePlace(ops, _) => {
                    let slip = matches!(
                        ops.first().map(|op| &op.act),
                        Some(Do::Work { act: Act::Slip, .. })
                    );
                    slip && matches!(ops.get(1).map(|op| &op.act), Some(Do::Chain { .. }))
                }
                Do::Repeat(repeat) => in_ops(&repeat.ops),
                _ => false,
            })
    }
    let rows = pattern.items.iter().any(|item| match item {
        crate::pattern::Item::Row(row) => {
            matches!(&row.content, crate::pattern::Content::Work(ops) if in_ops(ops))
        }
        _ => false,
    });
    rows || pattern.macros.iter().any(|m| in_ops(&m.ops))
}

/// The row is worked into the foundation chain or a ring, and cannot come again.
pub(super) fn begins_once(ops: &[Op]) -> bool {
    fn into_ring(ops: &[Op]) -> bool {
        ops.iter().any(|op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                place.target == crate::pattern::Target::Ring
            }
            Do::Repeat(repeat) => into_ring(&repeat.ops),
            _ => false,
        })
    }
    super::start::from_hook(ops).is_some() || into_ring(ops)
}

/// The row works corners.
pub(super) fn turns_corners(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => {
            place.target == crate::pattern::Target::Corner
        }
        Do::Repeat(repeat) => turns_corners(&repeat.ops),
        _ => false,
    })
}

/// The row ends in a slip stitch with no place of its own, or into its first stitch or turning chain: on a
/// round below, it closes the round.
pub(super) fn closes_with_slip(ops: &[Op]) -> bool {
    use crate::pattern::Target;
    let last = ops
        .iter()
        .rev()
        .find(|op| !matches!(op.act, Do::FastenOff | Do::Turn | Do::NoTurn | Do::Colour(_)));
    matches!(last.map(|op| &op.act), Some(Do::Work { act: Act::Slip, place, .. })
        if place.extent == Extent::First(1)
            || place.target == Target::Turning
            || place.extent == Extent::Bare(1))
}

/// The row slips its markers and places none.
pub(super) fn slips_markers(ops: &[Op]) -> bool {
    fn any(ops: &[Op], act: &Do) -> bool {
        ops.iter().any(|op| match &op.act {
            Do::Repeat(repeat) => any(&repeat.ops, act),
            other => other == act,
        })
    }
    any(ops, &Do::SlipMarker) && !any(ops, &Do::Marker)
}

/// The chain a row of blocks comes to after its slip stitches is a block's edge.
pub(super) fn chain_after_slips(ops: &[Op]) -> bool {
    let slip = |op: &Op| matches!(op.act, Do::Work { act: Act::Slip, .. });
    leading_chain(ops).is_some_and(|(k, _)| ops[..k].iter().any(slip))
}

/// "sl st in next ch-3 sp, ch 3, 3 dc in same sp": a block without brackets.
fn plain_block(ops: &[Op]) -> bool {
    use crate::pattern::Target;
    let slips = matches!(&ops[0].act, Do::Work { act: Act::Slip, place, .. }
        if matches!(place.target, Target::Space(_)));
    let chain = matches!(ops[1].act, Do::Chain { links: 2..=4, .. });
    let same = matches!(&ops[2].act, Do::Work { act: Act::Post(..), each: 2.., place }
        if place.extent == Extent::Same);
    slips && chain && same
}
