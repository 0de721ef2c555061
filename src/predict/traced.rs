//! What stitches stand on, traced down to the foundation.

use crate::fabric::loop_rise;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::Post;
use crate::stitches::Stitch;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// Place of a stitch along the foundation, in stitches from its beginning, by the first place each stitch below
/// it is worked into. `None` where that leads to a ring, a row end or a strand.
pub(super) fn root(piece: &Piece, stitch: StitchId) -> Option<f64> {
    let (mut at, mut nth) = (stitch, 0);
    // Every step leads to an earlier stitch.
    loop {
        let own = piece.stitch(at);
        if own.legs.0 == own.legs.1 {
            let row = &piece.rows[own.row.0 as usize];
            if own.row.0 == 0 {
                return Some(f64::from(at.0 - row.stitches.0 + nth));
            }
            // A chain stands where the stitch made before it does.
            if at.0 == row.stitches.0 {
                return None;
            }
            (at, nth) = (StitchId(at.0 - 1), 0);
            continue;
        }
        (at, nth) = match piece.legs(own)[0].place {
            Place::Top(s) | Place::Underside(s) | Place::Post { of: s, .. } => (s, 0),
            Place::Space(run) => (run, 0),
            Place::Link { run, nth } => (run, u32::from(nth)),
            Place::Gap(a, b) => (StitchId(a.0.min(b.0)), 0),
            Place::RowEnd { .. } | Place::Ring(_) | Place::Strand(_) => return None,
        };
    }
}

/// Mean height, in widths of a stitch, of the loops that a row stands on over the line of the row below.
pub(super) fn lift(piece: &Piece, row: &PieceRow) -> f64 {
    let standing = piece.row_stitches(row).filter(|(_, s)| s.legs.0 < s.legs.1 && !s.overlay);
    let (mut rises, mut n) = (0.0, 0.0);
    for (_, stitch) in standing {
        n += 1.0;
        if let Place::Space(run) = piece.legs(stitch)[0].place {
            rises += rise(piece, run).unwrap_or(0.0);
        }
    }
    rises / f64::max(n, 1.0)
}

/// Height of a loop of chain between two stitches, one of them short, that stand closer than it is long.
fn rise(piece: &Piece, run: StitchId) -> Option<f64> {
    let chain = piece.stitch(run);
    let row = &piece.rows[chain.row.0 as usize];
    let beside = |id: Option<u32>| {
        let id = id.filter(|id| (row.stitches.0..row.stitches.1).contains(id))?;
        let stitch = piece.stitch(StitchId(id));
        (stitch.legs.0 < stitch.legs.1).then_some((StitchId(id), stitch))
    };
    let (before, after) = (beside(run.0.checked_sub(1))?, beside(run.0.checked_add(1))?);
    let short =
        |s: &Stitch| matches!(s.kind, StitchKind::Plain(Post::Single) | StitchKind::SlipStitch);
    if chain.kind != StitchKind::Chain || !(short(before.1) || short(after.1)) {
        return None;
    }
    let room = (root(piece, before.0)? - root(piece, after.0)?).abs();
    loop_rise(f64::from(chain.links) + 1.0, room)
}
