//! A round on both sides of a foundation chain, in words.

use super::below::Met;
use super::below::Spot;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::RowStart;
use crate::stitches::Stitch;
use crate::stitches::StitchId;

/// The index of the first of the stitches `all` that is worked into a free loop of the foundation; their number
/// when none is, or when the row begins there.
pub(super) fn turn(piece: &Piece, all: &[(StitchId, &Stitch)]) -> usize {
    let under = |(_, s): &(StitchId, &Stitch)| {
        piece.legs(s).iter().any(|leg| matches!(leg.place, Place::Underside(_)))
    };
    all.iter().position(under).filter(|&k| k > 0).unwrap_or(all.len())
}

/// The free loops that round `r` comes to on its way back to the hook: without the link round whose end it goes,
/// nor that of a chain which counts as its first stitch.
pub(super) fn far(piece: &Piece, r: usize) -> Met {
    let base = &piece.rows[r - 1];
    let counted = u32::from(matches!(piece.rows[r].start, RowStart::ChainCounts(_)));
    let links = base.stitches.0 + counted..base.stitches.1.saturating_sub(1);
    let spot = |k| {
        let id = StitchId(k);
        Spot { id, links: 0, edge: Some(Place::Underside(id)) }
    };
    Met::over(links.rev().map(spot).collect())
}
