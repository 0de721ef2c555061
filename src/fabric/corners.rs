//! Corners of work in closed rounds: increases stacked in lines from the middle out.

use std::collections::BTreeMap;
use std::collections::BTreeSet;

use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::Stitch;
use crate::stitches::StitchId;

/// Share of increases that must stand on increases for their lines to count as corners.
const STACKED: f64 = 0.8;

/// Increases of a round: places of the round below that two or more stitches share, with those stitches.
type Groups = BTreeMap<StitchId, Vec<StitchId>>;

/// Number of lines that the increases of work in closed rounds stand in, at least three; `None` where they
/// are shifted from round to round, as for a circle, or where nothing tells.
pub fn corners(piece: &Piece) -> Option<u32> {
    let rounds: Vec<&PieceRow> = piece.rows.iter().filter(|r| r.round && !r.finish).collect();
    let groups: Vec<Groups> = rounds.iter().map(|r| increases(piece, r)).collect();
    let (mut stacked, mut told) = (0usize, 0usize);
    let mut lines: BTreeMap<usize, usize> = BTreeMap::new();
    for k in 1..rounds.len() {
        let below: BTreeSet<StitchId> = groups[k - 1].values().flatten().copied().collect();
        let legged = piece.row_stitches(rounds[k - 1]).filter(|(_, s)| has_legs(s)).count();
        let own = &groups[k];
        let in_spaces = own.keys().filter(|p| corner_space(piece, **p)).count();
        // Where corners are spaces, groups between them are the sides.
        if in_spaces > 0 {
            told += in_spaces;
            stacked += in_spaces;
            *lines.entry(in_spaces).or_default() += 1;
            continue;
        }
        // Over a round of nothing but increases every increase stands on one, over one without any none does.
        if own.is_empty() || below.is_empty() || below.len() == legged {
            continue;
        }
        told += own.len();
        stacked += own.keys().filter(|p| below.contains(p)).count();
        *lines.entry(own.len()).or_default() += 1;
    }
    let usual = lines.into_iter().max_by_key(|(_, times)| *times)?.0;
    (usual >= 3 && stacked as f64 >= STACKED * told as f64).then_some(usual as u32)
}

fn has_legs(stitch: &Stitch) -> bool {
    stitch.legs.0 != stitch.legs.1
}

fn parent(piece: &Piece, stitch: &Stitch) -> Option<Place> {
    piece.legs(stitch).first().map(|leg| leg.place)
}

fn increases(piece: &Piece, round: &PieceRow) -> Groups {
    let mut groups = Groups::new();
    for (id, stitch) in piece.row_stitches(round).filter(|(_, s)| has_legs(s) && !s.overlay) {
        let place = match parent(piece, stitch) {
            Some(Place::Top(of) | Place::Space(of) | Place::Link { run: of, .. }) => of,
            _ => continue,
        };
        groups.entry(place).or_default().push(id);
    }
    groups.retain(|_, stitches| stitches.len() > 1);
    groups
}

/// A chain between two stitches worked into one place: the space at a corner. After the last chain of a
/// round comes its first stitch, which its join leads back to.
fn corner_space(piece: &Piece, run: StitchId) -> bool {
    let own = piece.stitch(run);
    if has_legs(own) || own.links == 0 {
        return false;
    }
    let (from, to) = piece.rows[own.row.0 as usize].stitches;
    let worked = |id: &u32| {
        let stitch = piece.stitch(StitchId(*id));
        has_legs(stitch) && !stitch.overlay
    };
    let before = (from..run.0).rev().find(worked);
    let after = (run.0 + 1..to).chain(from..run.0).find(worked);
    let (Some(before), Some(after)) = (before, after) else { return false };
    let place = |id: u32| parent(piece, piece.stitch(StitchId(id)));
    place(before).is_some() && place(before) == place(after)
}
