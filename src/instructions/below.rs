//! What a row is worked on, in the order the maker meets it.

use std::collections::BTreeMap;
use std::collections::HashMap;

use super::edge::Stand;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowStart;
use crate::stitches::Stitch;
use crate::stitches::StitchId;
use crate::stitches::StitchKind;

/// Something to work into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    /// The stitch or chain run.
    pub(super) id: StitchId,
    /// Links of a chain run; 0 for a stitch.
    pub(super) links: u16,
    /// A place along an edge that is neither top nor space.
    pub(super) edge: Option<Place>,
}

/// What the rows so far leave to work into, in the order it was made.
#[derive(Debug, Clone, Default)]
pub(super) struct Offered {
    /// Spots in order.
    pub(super) spots: Vec<Spot>,
    /// Spots at the end that a short turn left on the needle.
    behind: usize,
    /// The spots are those of a border's round; the middles of the groups in its corners.
    corners: Option<Vec<usize>>,
}

/// The row below as a row meets it.
#[derive(Debug, Clone, Default)]
pub(super) struct Met {
    /// Spots in order.
    pub(super) spots: Vec<Spot>,
    /// Stitches (not spaces) at or after each spot.
    left: Vec<u32>,
    at: BTreeMap<StitchId, usize>,
    edges: HashMap<Place, usize>,
    /// It is a foundation chain.
    pub(super) chain: bool,
    /// Spots at its beginning that an earlier short turn left behind.
    pub(super) behind: usize,
    /// What the row stands on.
    pub(super) stand: Stand,
    /// Slip stitches that lead to where a round begins, and the round below as it is before them.
    pub(super) way: Option<(usize, Box<Met>)>,
}

/// Is row `r` a foundation: nothing in it stands on anything?
pub(super) fn foundation(piece: &Piece, r: usize) -> bool {
    let row = &piece.rows[r];
    let mut kinds = piece.row_stitches(row).map(|(_, s)| (s.kind, s.legs.0 == s.legs.1));
    row.stitches.0 < row.stitches.1
        && kinds.all(|(k, free)| free && matches!(k, StitchKind::Chain | StitchKind::CastOn))
}

/// The row is worked into spaces, so that stitches it passes need no word.
pub(super) fn lacy(piece: &Piece, row: &PieceRow) -> bool {
    let space = |p: Place| {
        matches!(p, Place::Space(_) | Place::Ring(_) | Place::Gap(..) | Place::Link { .. })
    };
    piece.row_stitches(row).flat_map(|(_, s)| piece.legs(s)).any(|l| space(l.place))
}

/// Slip stitches a round begins with, on the way to another place of the round below.
pub(super) fn leading_slips(piece: &Piece, row: &PieceRow) -> usize {
    let slip =
        |s: &Stitch| s.kind == StitchKind::SlipStitch && s.overlay && !piece.legs(s).is_empty();
    piece.row_stitches(row).take_while(|(_, s)| slip(s)).count()
}

/// Spots row `r` makes, in order. Links it was worked back along are no space.
fn made(piece: &Piece, r: usize) -> Vec<Spot> {
    let links = foundation(piece, r);
    let row = &piece.rows[r];
    let legs = piece.row_stitches(row).flat_map(|(_, s)| piece.legs(s));
    let spurs: Vec<StitchId> = legs
        .filter_map(|l| match l.place {
            Place::Link { run, .. } if (row.stitches.0..row.stitches.1).contains(&run.0) => {
                Some(run)
            }
            _ => None,
        })
        .collect();
    let own = piece.row_stitches(row).filter_map(|(id, s)| {
        let gone = s.overlay || s.kind == StitchKind::BindOff || spurs.contains(&id);
        let space = s.kind == StitchKind::Chain && !links;
        (!gone).then_some(Spot { id, links: if space { s.links } else { 0 }, edge: None })
    });
    own.collect()
}

/// Middles of the groups of three or more in one place among `spots`, which row `r` made.
fn corners(piece: &Piece, r: usize, spots: &[Spot]) -> Vec<usize> {
    let leg = |k: usize| match piece.legs(piece.stitch(spots[k].id)) {
        [leg] => Some(leg.place),
        _ => None,
    };
    let chain = |k: usize| piece.stitch(spots[k].id).kind == StitchKind::Chain;
    let (mut found, mut from) = (Vec::new(), 0);
    while from < spots.len() {
        let first = leg(from);
        let mut last = from;
        for k in from + 1..spots.len() {
            match leg(k) {
                place if place.is_some() && place == first => last = k,
                None if chain(k) => {}
                _ => break,
            }
        }
        if first.is_some() && last > from + 1 {
            found.push((from + last) / 2);
        }
        from = last + 1;
    }
    let counted = matches!(piece.rows[r].start, RowStart::ChainCounts(_));
    found.retain(|&k| k > 0 || !counted);
    found
}

impl Offered {
    /// What there is to work into after row `r`, which met `met`. Knit loops that a row does not come to
    /// stay on the needle.
    pub(super) fn after(self, piece: &Piece, r: usize, met: Option<&Met>) -> Self {
        let own = made(piece, r);
        let round = |m: &Met| matches!(m.stand, Stand::Around(_));
        let border = met.is_some_and(|m| round(m) || self.corners.is_some() && piece.rows[r].round);
        let corners = border.then(|| corners(piece, r, &own));
        let alone = |spots| Self { spots, behind: 0, corners: corners.clone() };
        let Some(met) = met.filter(|_| piece.craft == Craft::Knit && !foundation(piece, r)) else {
            return alone(own);
        };
        if let Stand::Picked { live } = met.stand {
            return alone(self.spots.into_iter().take(live).chain(own).collect());
        }
        let legs = piece.row_stitches(&piece.rows[r]).flat_map(|(_, s)| piece.legs(s));
        let used = legs.filter_map(|l| met.index(l.place)).max().map_or(met.behind, |k| k + 1);
        let rest = &met.spots[used..];
        if met.behind == 0 && (rest.is_empty() || own.is_empty()) {
            return alone(own);
        }
        let before = met.spots[..met.behind].iter();
        Self {
            spots: before.copied().chain(own).chain(rest.iter().copied()).collect(),
            behind: rest.len(),
            corners: None,
        }
    }
}

impl Met {
    /// Row `r` meeting what the rows before it offer.
    pub(super) fn new(piece: &Piece, r: usize, offered: &Offered) -> Self {
        let (row, before) = (&piece.rows[r], &piece.rows[r - 1]);
        let stand = match (Stand::of(piece, r, &offered.spots), &offered.corners) {
            (Stand::Below, Some(corners)) if row.left_to_right == before.left_to_right => {
                Stand::again_around(piece, r, &offered.spots, corners)
            }
            (stand, _) => stand,
        };
        let on_foundation = foundation(piece, r - 1);
        let turned =
            if on_foundation { !row.round } else { row.left_to_right != before.left_to_right };
        let mut spots = match &stand {
            Stand::Around(around) => around.spots(),
            Stand::Underside(spots) => spots.clone(),
            _ => offered.spots.clone(),
        };
        let edge = !matches!(stand, Stand::Below);
        if turned && !edge {
            spots.reverse();
        }
        let chain = on_foundation && !edge && piece.craft == Craft::Crochet && !before.round;
        let behind = if turned && !edge { offered.behind } else { 0 };
        let met = Self { chain, behind, stand, ..Self::over(spots) };
        let slips = leading_slips(piece, row);
        if slips == 0 || on_foundation || edge || piece.craft != Craft::Crochet {
            met
        } else if row.round {
            met.begun_elsewhere(piece, row, slips)
        } else if matches!(row.start, RowStart::ChainCounts(_)) {
            // The turning chain rises where the slip stitches have led.
            let before =
                Self { chain, behind, stand: Stand::Below, ..Self::over(met.spots.clone()) };
            Self { way: Some((slips, Box::new(before))), ..met }
        } else {
            met
        }
    }

    pub(super) fn over(spots: Vec<Spot>) -> Self {
        let mut left = vec![0; spots.len() + 1];
        for (k, spot) in spots.iter().enumerate().rev() {
            left[k] = left[k + 1] + u32::from(spot.links == 0);
        }
        let own = spots.iter().enumerate().filter(|(_, s)| s.edge.is_none());
        let at = own.map(|(k, s)| (s.id, k)).collect();
        let edges =
            spots.iter().enumerate().rev().filter_map(|(k, s)| Some((s.edge?, k))).collect();
        Self { spots, left, at, edges, ..Self::default() }
    }

    /// The round below from the place on that the last of `slips` leads to.
    fn begun_elsewhere(self, piece: &Piece, row: &PieceRow, slips: usize) -> Self {
        let last = piece.row_stitches(row).nth(slips - 1).map(|(_, s)| s);
        let leg = last.and_then(|s| piece.legs(s).first());
        let start = leg.and_then(|l| match l.place {
            Place::Gap(_, next) => self.index(Place::Top(next)),
            place => self.index(place),
        });
        let Some(start) = start else { return self };
        let mut spots = self.spots.clone();
        spots.rotate_left(start);
        Self { way: Some((slips, Box::new(self))), ..Self::over(spots) }
    }

    /// Stitches at or after spot `k`.
    pub(super) fn left(&self, k: usize) -> u32 {
        self.left[k.min(self.spots.len())]
    }

    /// Index of the spot a place is on.
    pub(super) fn index(&self, place: Place) -> Option<usize> {
        if let Some(edge) = self.edges.get(&place) {
            return Some(*edge);
        }
        let id = match place {
            Place::Top(s) | Place::Post { of: s, .. } | Place::Space(s) | Place::Strand(s) => s,
            Place::Link { run, .. } => run,
            _ => return None,
        };
        self.at.get(&id).copied()
    }
}
