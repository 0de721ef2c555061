//! What a row is worked on, in the order the maker meets it.

use std::collections::BTreeMap;

use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// Something to work into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    /// The stitch or chain run.
    pub(super) id: StitchId,
    /// Links of a chain run; 0 for a stitch.
    pub(super) links: u16,
}

/// The row below as a row meets it.
#[derive(Debug, Clone, Default)]
pub(super) struct Met {
    /// Spots in order.
    pub(super) spots: Vec<Spot>,
    /// Stitches (not spaces) at or after each spot.
    left: Vec<u32>,
    at: BTreeMap<StitchId, usize>,
    /// It is a foundation chain.
    pub(super) chain: bool,
}

/// Is row `r` a foundation: nothing in it stands on anything?
pub(super) fn foundation(piece: &Piece, r: usize) -> bool {
    let row = &piece.rows[r];
    let mut kinds = piece.row_stitches(row).map(|(_, s)| (s.kind, s.legs.0 == s.legs.1));
    row.stitches.0 < row.stitches.1
        && kinds.all(|(k, free)| free && matches!(k, StitchKind::Chain | StitchKind::CastOn))
}

/// Spots row `r` offers in the order they were made; `over` are loops an earlier row left on the needle.
pub(super) fn offered(piece: &Piece, r: usize, over: &[Spot]) -> Vec<Spot> {
    let links = foundation(piece, r);
    let own = piece.row_stitches(&piece.rows[r]).filter_map(|(id, s)| {
        let gone = s.overlay || s.kind == StitchKind::BindOff;
        let space = s.kind == StitchKind::Chain && !links;
        (!gone).then_some(Spot { id, links: if space { s.links } else { 0 } })
    });
    own.chain(over.iter().copied()).collect()
}

impl Met {
    /// Row `r` meeting what the row before it offered.
    pub(super) fn new(piece: &Piece, r: usize, offered: &[Spot]) -> Self {
        let mut spots = offered.to_vec();
        let (row, before) = (&piece.rows[r], &piece.rows[r - 1]);
        let on_foundation = foundation(piece, r - 1);
        let turned =
            if on_foundation { !row.round } else { row.left_to_right != before.left_to_right };
        if turned {
            spots.reverse();
        }
        let mut left = vec![0; spots.len() + 1];
        for (k, spot) in spots.iter().enumerate().rev() {
            left[k] = left[k + 1] + u32::from(spot.links == 0);
        }
        let at = spots.iter().enumerate().map(|(k, s)| (s.id, k)).collect();
        let chain = on_foundation && piece.craft == Craft::Crochet && !before.round;
        Self { spots, left, at, chain }
    }

    /// Stitches at or after spot `k`.
    pub(super) fn left(&self, k: usize) -> u32 {
        self.left[k.min(self.spots.len())]
    }

    /// Index of the spot a place is on.
    pub(super) fn index(&self, place: Place) -> Option<usize> {
        let id = match place {
            Place::Top(s) | Place::Post { of: s, .. } | Place::Space(s) | Place::Strand(s) => s,
            Place::Link { run, .. } => run,
            _ => return None,
        };
        self.at.get(&id).copied()
    }
}
