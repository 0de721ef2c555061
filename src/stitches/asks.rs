//! What a row's words ask for as a whole.

use std::borrow::Cow;

use super::start::leading_chain;
use super::start::trailing_chain;
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

/// The page works from corner to corner in spaces: a row begins with a chain and ends with stitches round
/// a chain as long in the last space, so that its turning chain is the next row's last space.
pub(super) fn turns_on_spaces(pattern: &crate::pattern::Pattern) -> bool {
    use crate::pattern::Height;
    use crate::pattern::Target;
    let low = |op: &Op| match &op.act {
        Do::Work { act, .. } => matches!(act, Act::Post(Height::Single, _)),
        Do::Chain { .. } => true,
        _ => false,
    };
    let row = |ops: &[Op]| {
        let Some((k, turning)) = leading_chain(ops) else { return false };
        turning.links > 1 && ops[k..].iter().any(|op| match &op.act {
            Do::OnePlace(inner, place) => {
                let same =
                    |op: &Op| matches!(op.act, Do::Chain { links, .. } if links == turning.links);
                place.extent == Extent::Last(1)
                    && matches!(
                        place.target,
                        Target::Space(_) | Target::Turning | Target::TurningSpace
                    )
                    && inner.iter().all(low)
                    && inner.iter().any(same)
            }
            _ => false,
        })
    };
    pattern.items.iter().any(|item| match item {
        crate::pattern::Item::Row(r) => {
            matches!(&r.content, crate::pattern::Content::Work(ops) if row(ops) || moss_row(ops))
        }
        _ => false,
    })
}

/// "Ch 2, sc in first ch-1 sp, *ch 1, sk sc, sc in next ch-1 sp; rep from *, ending with sc in ch-2 sp":
/// the row ends in a space as long as its own turning chain, and its other chains are shorter.
fn moss_row(ops: &[Op]) -> bool {
    use crate::pattern::Height;
    use crate::pattern::Target;
    let first = leading_chain(ops);
    let last = trailing_chain(ops).map(|(_, turning)| (0, turning));
    let Some((k, turning)) = first.or(last) else { return false };
    let into = |op: &Op| match &op.act {
        Do::Work { act: Act::Post(Height::Single, _), place, .. } => match place.target {
            Target::Space(links) => Some(links),
            Target::Turning | Target::TurningSpace => Some(Some(turning.links)),
            _ => None,
        },
        _ => None,
    };
    let chains = |ops: &[Op]| {
        ops.iter().any(|op| matches!(op.act, Do::Chain { links, .. } if links < turning.links))
    };
    let repeats = ops[k..].iter().any(|op| match &op.act {
        Do::Repeat(r) => {
            chains(&r.ops) && r.ops.iter().filter_map(into).any(|n| n != Some(turning.links))
        }
        _ => false,
    });
    let ending = ops[k..].iter().rev().find_map(|op| match &op.act {
        Do::Repeat(repeat) => repeat.ending.iter().rev().find_map(into),
        _ => into(op),
    });
    // "*sc in next sp, ch 1; rep from * to last sp, sc in last sp": without that space each row were shorter.
    let in_last = ops[k..].iter().rev().find(|op| into(op).is_some()).is_some_and(|op| {
        matches!(&op.act, Do::Work { place, .. }
            if place.extent == Extent::Last(1) && place.target == Target::Space(None))
    });
    let spaces_only = ops[k..].iter().all(|op| match &op.act {
        Do::Work { place, .. } => matches!(place.target, Target::Space(_)),
        Do::OnePlace(..) | Do::Skip(_) => false,
        _ => true,
    });
    turning.links > 1
        && repeats
        && (ending == Some(Some(turning.links)) || turning.links == 2 && in_last && spaces_only)
}
