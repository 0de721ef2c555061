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
        let spaces = own.keys().filter(|p| corner_space(piece, **p)).count();
        // Over a round of nothing but increases every increase stands on one, over one without any none does.
        if own.is_empty() || (spaces == 0 && (below.is_empty() || below.len() == legged)) {
            continue;
        }
        told += own.len();
        stacked += own.keys().filter(|p| below.contains(p) || corner_space(piece, **p)).count();
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

/// A chain between two stitches worked into one place: the space at a corner.
fn corner_space(piece: &Piece, run: StitchId) -> bool {
    let at = |k: Option<u32>| k.and_then(|k| piece.stitches.get(k as usize));
    let (Some(before), Some(after)) = (at(run.0.checked_sub(1)), at(run.0.checked_add(1))) else {
        return false;
    };
    let own = piece.stitch(run);
    // The stitch after the last corner's chain is the round's first, which its join leads back to.
    let alone = before.row == own.row && (after.row != own.row || after.overlay);
    !has_legs(own)
        && own.links > 0
        && (alone || (before.row == after.row && parent(piece, before) == parent(piece, after)))
}
