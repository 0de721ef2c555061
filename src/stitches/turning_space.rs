//! A turning chain that is the next row's last space: moss stitch, and triangles worked in spaces.

use super::start::Footing;
use super::start::leading_chain;
use super::start::trailing_chain;
use crate::pattern::Act;
use crate::pattern::Content;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Item;
use crate::pattern::Op;
use crate::pattern::Pattern;
use crate::pattern::Target;

/// Which turning chains before low stitches the next row works its last stitch round.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum TurningSpaces {
    /// None: they stand beside the row or count as its first stitch.
    No,
    /// Those of two links and more.
    Long,
    /// Those of one link, too, where the row's first stitch goes into a space.
    All,
}

impl TurningSpaces {
    /// What the rows of a page show: one begins with a chain and ends round one as long.
    pub(super) fn of(pattern: &Pattern) -> Self {
        let of = |item: &Item| match item {
            Item::Row(row) => match &row.content {
                Content::Work(ops) if corner_row(ops) => Self::Long,
                Content::Work(ops) => moss_row(ops),
                _ => Self::No,
            },
            _ => Self::No,
        };
        pattern.items.iter().map(of).max().unwrap_or(Self::No)
    }

    /// A turning chain of `links`, before stitches as high as `height`, is such a space.
    pub(super) fn take(self, links: u32, height: Height, ops: &[Op]) -> bool {
        let held = match self {
            Self::No => false,
            Self::Long => links > 1,
            Self::All => links > 1 || first_place(ops).is_some_and(is_space),
        };
        held && height == Height::Single
    }

    /// So are the links passed over at the hook by a row on a foundation chain.
    pub(super) fn take_skipped(self, foot: Footing, height: Height, ops: &[Op]) -> bool {
        let held = match self {
            Self::No => false,
            Self::Long => foot.skipped > 2,
            Self::All => foot.skipped > 1 && ops.iter().any(makes_space),
        };
        held && height == Height::Single
    }
}

fn is_space(target: Target) -> bool {
    matches!(target, Target::Space(_))
}

/// Where the first stitch of a row goes.
fn first_place(ops: &[Op]) -> Option<Target> {
    ops.iter().find_map(|op| match &op.act {
        Do::Work { act: Act::Post(..), place, .. } => Some(place.target),
        Do::Repeat(repeat) => first_place(&repeat.ops),
        _ => None,
    })
}

/// A chain among the stitches of a row.
fn makes_space(op: &Op) -> bool {
    match &op.act {
        Do::Repeat(repeat) => repeat.ops.iter().any(|op| matches!(op.act, Do::Chain { .. })),
        _ => false,
    }
}

/// A row that begins with a chain and ends with stitches round a chain as long in the last space.
fn corner_row(ops: &[Op]) -> bool {
    let low = |op: &Op| match &op.act {
        Do::Work { act, .. } => matches!(act, Act::Post(Height::Single, _)),
        Do::Chain { .. } => true,
        _ => false,
    };
    let Some((k, turning)) = leading_chain(ops) else { return false };
    let last = |place: &crate::pattern::Where| {
        place.extent == Extent::Last(1)
            && matches!(place.target, Target::Space(_) | Target::Turning | Target::TurningSpace)
    };
    let same = |op: &Op| matches!(op.act, Do::Chain { links, .. } if links == turning.links);
    turning.links > 1
        && ops[k..].iter().any(|op| match &op.act {
            Do::OnePlace(inner, place) => {
                last(place) && inner.iter().all(low) && inner.iter().any(same)
            }
            _ => false,
        })
}

/// "Ch 2, sc in first ch-1 sp, *ch 1, sk sc, sc in next ch-1 sp; rep from *, ending with sc in ch-2 sp":
/// the row ends in a space as long as its own turning chain, and its other chains are shorter. One as short
/// as they are must be told by name: "sc in turning ch-sp".
fn moss_row(ops: &[Op]) -> TurningSpaces {
    let first = leading_chain(ops);
    let last = trailing_chain(ops).map(|(_, turning)| (0, turning));
    let Some((k, turning)) = first.or(last) else { return TurningSpaces::No };
    let into = |op: &Op| match &op.act {
        Do::Work { act: Act::Post(Height::Single, _), place, .. } => Some(place.target),
        _ => None,
    };
    let turned = |target: Target| matches!(target, Target::Turning | Target::TurningSpace);
    let own = |target: Target| turned(target) || target == Target::Space(Some(turning.links));
    let shorter = |op: &Op| matches!(op.act, Do::Chain { links, .. } if links < turning.links);
    let other = |op: &Op| into(op).is_some_and(|t| is_space(t) && !own(t));
    let ending = ops[k..].iter().rev().find_map(|op| match &op.act {
        Do::Repeat(repeat) => repeat.ending.iter().rev().find_map(into),
        _ => into(op),
    });
    let repeats = |held: &dyn Fn(&[Op]) -> bool| {
        ops[k..].iter().any(|op| matches!(&op.act, Do::Repeat(r) if held(&r.ops)))
    };
    if turning.links == 1 {
        let spaces = |ops: &[Op]| {
            ops.iter().any(|op| matches!(op.act, Do::Chain { links: 1, .. }))
                && ops.iter().filter_map(into).all(is_space)
        };
        let told = ending.is_some_and(turned) && first_place(&ops[k..]).is_some_and(is_space);
        return if told && repeats(&spaces) { TurningSpaces::All } else { TurningSpaces::No };
    }
    let spaces = |ops: &[Op]| ops.iter().any(shorter) && ops.iter().any(other);
    let told = ending.is_some_and(own) || turning.links == 2 && ends_in_last_space(&ops[k..]);
    // "(sc, ch 1) in each ch-1 sp across"
    let in_each = |op: &Op| match &op.act {
        Do::OnePlace(inner, place) => {
            is_space(place.target) && !own(place.target) && inner.iter().any(shorter)
        }
        _ => false,
    };
    let repeated = repeats(&spaces) || ops[k..].iter().any(in_each);
    if repeated && told { TurningSpaces::Long } else { TurningSpaces::No }
}

/// "*sc in next sp, ch 1; rep from * to last sp, sc in last sp": without that space each row were shorter.
fn ends_in_last_space(ops: &[Op]) -> bool {
    let last = ops.iter().rev().find_map(|op| match &op.act {
        Do::Work { act: Act::Post(Height::Single, _), place, .. } => Some(place),
        _ => None,
    });
    let spaces_only = ops.iter().all(|op| match &op.act {
        Do::Work { place, .. } => is_space(place.target),
        Do::OnePlace(..) | Do::Skip(_) => false,
        _ => true,
    });
    spaces_only
        && last.is_some_and(|place| {
            place.extent == Extent::Last(1) && place.target == Target::Space(None)
        })
}
