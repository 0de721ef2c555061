//! A border's first round: what the page tells of the sides it goes along.

use super::below::Below;
use super::corner::corner_op;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::perimeter::Asked;
use super::perimeter::perimeter;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::LeftOut;
use crate::pattern::Op;
use crate::pattern::Reach;

impl<'a> MakerAtWork<'a> {
    /// The whole edge of a flat piece, when a round of these words goes round it.
    ///
    /// A number told for a side of stitches leaves out those at its two ends, where corners are turned, unless
    /// the printed count says that it holds them; of row ends it is the whole side.
    pub(super) fn edge(&self, ops: &[Op], body: Body<'_>) -> Option<Below> {
        let below = self.below.as_ref().filter(|b| b.ring.is_none())?;
        let all =
            |op: &Op| matches!(&op.act, Do::Work { place, .. } if place.extent == Extent::All);
        let corners = super::asks::turns_corners(ops);
        if !(corners || ops.iter().any(all)) || self.piece.rows.last()?.round {
            return None;
        }
        let around = |ends: u32| {
            let each = ops.iter().find_map(|op| match op.act {
                Do::EachRowEnd(n) => Some(n),
                _ => None,
            });
            let each_block = ops.iter().find_map(|op| match op.act {
                Do::EachBlock(n) => Some(n),
                _ => None,
            });
            let asked = Asked {
                told: self.sides_told(ops, ends),
                evenly: ops.iter().any(|op| matches!(op.act, Do::Along(_, 0))),
                each,
                each_block,
                left_out: leaving(ops).map(|side| self.side_left_out(side)),
            };
            perimeter(&self.piece, below, &asked)
        };
        let apart = around(if corners { 2 } else { 0 })?;
        let printed = body.count.map(super::count::printed);
        let made = |below: &Below| {
            let turned = below.groups.len();
            (below.spots.len() - turned) as u32 + turned as u32 * in_corner(ops)
        };
        if corners && printed.is_some_and(|n| n != made(&apart)) {
            let within = around(0)?;
            if printed == Some(made(&within)) {
                return Some(within);
            }
        }
        Some(apart)
    }

    /// Stitches told for top, left, bottom and right; a side of stitches has `ends` more than its number.
    fn sides_told(&self, ops: &[Op], ends: u32) -> [Option<u32>; 4] {
        const CROSSWISE: [usize; 2] = [0, 2];
        const ROW_ENDS: [usize; 2] = [1, 3];
        let mut told = [None; 4];
        let mut row_ends: Vec<u32> = Vec::new();
        for op in ops {
            let Do::Along(reach, n) = op.act else { continue };
            let sides = match reach {
                _ if n == 0 => continue,
                Reach::Ends => {
                    row_ends.push(n);
                    continue;
                }
                Reach::Across => &CROSSWISE[..],
                Reach::Top => &CROSSWISE[..1],
                Reach::Bottom => &CROSSWISE[1..],
                Reach::Long if self.wide() => &CROSSWISE,
                Reach::Short if !self.wide() => &CROSSWISE,
                Reach::Long | Reach::Short => &ROW_ENDS,
            };
            for &side in sides {
                told[side] = Some(n + if CROSSWISE.contains(&side) { ends } else { 0 });
            }
        }
        if let (Some(&first), Some(&last)) = (row_ends.first(), row_ends.last()) {
            (told[1], told[3]) = (Some(first), Some(last));
        }
        told
    }
}

/// The side that a border along three sides leaves out.
pub(super) fn leaving(ops: &[Op]) -> Option<LeftOut> {
    ops.iter().find_map(|op| if let Do::Leaving(side) = op.act { Some(side) } else { None })
}

/// Stitches worked into one corner.
fn in_corner(ops: &[Op]) -> u32 {
    let works = |op: &Op| if let Do::Work { each, .. } = op.act { each } else { 0 };
    match corner_op(ops).map(|op| &op.act) {
        Some(Do::Work { each, .. }) => *each,
        Some(Do::OnePlace(inner, _)) => inner.iter().map(works).sum(),
        _ => 1,
    }
}
