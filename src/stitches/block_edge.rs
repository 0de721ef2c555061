//! The outline of work from corner to corner, as a border comes to it: four sides of blocks, not rows' ends.
//!
//! A growing row adds a block's side at each of its ends, and so does a row that shortens; the widest row adds two
//! at an end where the piece turns its corner. The first block stands on the foundation at the end its row begins
//! at, and the last block's tops lie at the end its row stops at. A border works as many stitches along a block as
//! it has itself (common practice, no source).

use super::below::Spot;
use super::graph::Piece;
use super::graph::PieceRow;
use super::graph::Place;
use super::graph::RowId;
use super::graph::Stitch;
use super::graph::StitchId;
use super::kind::StitchKind;
use super::perimeter::Asked;
use super::perimeter::edge;
use super::perimeter::spread;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;
use crate::pattern::Where;

/// Stitches along one end of a row, at most.
const MOST: u32 = 60;

/// Rows of blocks: a slip stitch, a chain and posts in one space.
pub fn of_blocks(piece: &Piece) -> bool {
    let alike = |s: &Stitch, t: &Stitch| match (piece.legs(s), piece.legs(t)) {
        ([a], [b]) => matches!(a.place, Place::Space(_)) && a == b,
        _ => false,
    };
    piece.rows.iter().any(|row| {
        let all: Vec<&Stitch> = piece.row_stitches(row).map(|(_, s)| s).collect();
        !row.round
            && all.windows(3).any(|w| {
                w[0].kind == StitchKind::SlipStitch
                    && w[1].kind == StitchKind::Chain
                    && alike(w[0], w[2])
            })
    })
}

/// The four sides of a piece worked from corner to corner and back to one block, counter-clockwise from the
/// corner of its last block; `top` and `bottom` are the tops of that block and the undersides of the foundation,
/// `asked` what is told of a row end or a block. Where a number is told for each block, the corner is a place
/// besides: the first one of its side, once more. `None` where the piece is none such.
pub(super) fn sides(
    piece: &Piece,
    foundation: usize,
    [top, bottom]: [&[Spot]; 2],
    asked: &Asked,
) -> Option<[Vec<Spot>; 4]> {
    let rows = &piece.rows[foundation + 1..];
    let (first, last) = (rows.first()?, rows.last()?);
    if !of_blocks(piece) || first.made != last.made || rows.len() < 3 {
        return None;
    }
    let n = asked.each_block.or(asked.each).unwrap_or(first.made).min(MOST);
    let widest = rows.iter().map(|r| r.made).max()?;
    let grown = rows.iter().position(|r| r.made == widest)?;
    let full = rows.iter().rposition(|r| r.made == widest)?;
    // Between growing and shortening, rows grow at one end alone: the one where a row begins with a chain.
    let next = rows.get(grown + 1).filter(|_| full > grown);
    let grows_left = next.is_some_and(|row| begins_with_chain(piece, row) == row.left_to_right);
    let grows_right = next.is_some() && !grows_left;
    let (ended_left, base_left) = (!last.left_to_right, first.left_to_right);
    let along = |left: bool, corner: usize| {
        let (mut before, mut after) = (Vec::new(), Vec::new());
        for (k, row) in rows.iter().enumerate() {
            let on_base = k == 0 && base_left == left;
            let at_top = k + 1 == rows.len() && ended_left == left;
            let of = if on_base || at_top { 0 } else { n } + if k == corner { n } else { 0 };
            let id = RowId((foundation + 1 + k) as u32);
            let spot = |nth: u32| {
                let place = Place::RowEnd { row: id, left, nth: nth as u8, of: of as u8 };
                edge(StitchId(row.stitches.0), place)
            };
            let split = if k < corner {
                of
            } else if k == corner {
                n
            } else {
                0
            };
            before.extend((0..split).map(spot));
            after.extend((split..of).map(spot));
        }
        (before, after)
    };
    let (mut left_low, mut left_high) = along(true, if grows_left { full } else { grown });
    let (mut right_low, mut right_high) = along(false, if grows_right { full } else { grown });
    left_low.reverse();
    left_high.reverse();
    // The last block's chain is the side at the other end of its row.
    let chain = |s: &Spot| s.is_space() || matches!(s.edge, Some(Place::Space(_)));
    let post = |s: &Spot| !chain(s) && s.kind != StitchKind::SlipStitch;
    let tops = spread(top.iter().copied().filter(post).collect(), asked.each_block);
    let stands = |link: &Spot| {
        let on = |s: &Stitch| piece.legs(s).iter().any(|leg| leg.place == Place::Top(link.id));
        piece.row_stitches(first).any(|(_, s)| on(s))
    };
    let bottom = spread(bottom.iter().copied().filter(stands).collect(), asked.each_block);
    if ended_left {
        left_high.splice(0..0, tops);
    } else {
        right_high.extend(tops);
    }
    if base_left {
        left_low.extend(bottom);
    } else {
        right_low.splice(0..0, bottom);
    }
    let mut sides = [left_high, left_low, right_low, right_high];
    if asked.each_block.is_some() {
        for side in &mut sides {
            let corner = side.first().copied();
            side.splice(0..0, corner);
        }
    }
    Some(sides)
}

/// The row sets out with a block on a chain of its own.
fn begins_with_chain(piece: &Piece, row: &PieceRow) -> bool {
    let mut stitches = piece.row_stitches(row).map(|(_, s)| s);
    stitches.next().is_some_and(|s| s.kind == StitchKind::Chain)
}

/// A border's first round told by the chain spaces at the blocks' sides, "3 sc in each ch-3 sp along the edge, 3 sc in
/// corner", as so many stitches along each block: a block has a chain at one side only, and its row's or the
/// foundation's edge may stand in for it.
pub(super) fn along_blocks(ops: &[Op]) -> Option<Vec<Op>> {
    let starred = |op: &Op| matches!(&op.act, Do::Repeat(r) if super::asks::turns_corners(&r.ops));
    let flat: Vec<Op> = ops
        .iter()
        .flat_map(|op| match &op.act {
            Do::Repeat(repeat) if starred(op) => repeat.ops.clone(),
            _ => vec![op.clone()],
        })
        .collect();
    let all = Where::of(Extent::All);
    let space = |op: &Op| match op.act {
        Do::Work { act: act @ Act::Post(..), each, place }
            if matches!(place.target, Target::Space(_))
                && matches!(place.extent, Extent::All | Extent::ToSpace) =>
        {
            Some((act, each, op.span))
        }
        _ => None,
    };
    let told = flat.iter().position(|op| space(op).is_some())?;
    let (act, each, span) = space(&flat[told])?;
    let at_corner = |op: &Op| super::asks::turns_corners(std::slice::from_ref(op));
    if !flat.iter().any(at_corner) {
        return None;
    }
    let mut out = Vec::with_capacity(flat.len() + 1);
    for (k, mut op) in flat.into_iter().enumerate() {
        if k == told {
            out.push(Op { act: Do::EachBlock(each), span });
            op.act = Do::Work { act, each: 1, place: all };
        } else if at_corner(&op)
            && let Do::Work { place, .. } | Do::OnePlace(_, place) = &mut op.act
        {
            place.extent = Extent::All;
        }
        out.push(op);
    }
    Some(out)
}
