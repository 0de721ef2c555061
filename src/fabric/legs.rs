//! Which point of the front a leg is worked into.

use std::collections::{BTreeMap, BTreeSet};

use super::cells::TopPoint;
use super::front::{EntryId, Front};
use super::mesh::Worked;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::Stitch;
use crate::stitches::StitchId;

/// How far before the first leg a crossed stitch may reach back.
const REACH_BACK: usize = 8;

/// What later rows take up of each row, counted before the mesh is built.
#[derive(Debug, Default)]
pub(super) struct Legs {
    /// Children of each chain space.
    space: BTreeMap<u32, u16>,
    /// Runs of which single links are taken up.
    linked: BTreeSet<u32>,
    /// Gaps used, by the two neighbours in rising order.
    gaps: BTreeSet<(u32, u32)>,
    /// Points on row ends.
    row_ends: BTreeMap<(u32, bool), u8>,
    rings: BTreeSet<u32>,
    /// Next unused child of each space.
    next: std::cell::RefCell<BTreeMap<u32, usize>>,
}

impl Legs {
    pub(super) fn count(piece: &Piece) -> Self {
        let mut legs = Self::default();
        for anchor in &piece.anchors {
            match anchor.place {
                Place::Space(run) => *legs.space.entry(run.0).or_default() += 1,
                Place::Link { run, .. } => {
                    legs.linked.insert(run.0);
                }
                Place::Gap(a, b) => {
                    legs.gaps.insert((a.0.min(b.0), a.0.max(b.0)));
                }
                Place::RowEnd { row, left, of, .. } => {
                    let n = legs.row_ends.entry((row.0, left)).or_default();
                    *n = (*n).max(of);
                }
                Place::Ring(first) => {
                    legs.rings.insert(first.0);
                }
                Place::Top(_) | Place::Post { .. } | Place::Underside(_) | Place::Strand(_) => {}
            }
        }
        legs
    }

    /// Number of mesh points of a chain run of `links` links: one per link if links are taken up
    /// singly, else one per child of its space, at least one.
    pub(super) fn points(&self, run: u32, links: u16) -> usize {
        if self.linked.contains(&run) {
            return usize::from(links);
        }
        usize::from(self.space.get(&run).copied().unwrap_or(0)).max(1)
    }

    pub(super) fn gap(&self, a: u32, b: u32) -> bool {
        self.gaps.contains(&(a.min(b), a.max(b)))
    }

    pub(super) fn row_end(&self, row: RowId, left: bool) -> u8 {
        self.row_ends.get(&(row.0, left)).copied().unwrap_or(0)
    }

    pub(super) fn ring(&self, first: u32) -> bool {
        self.rings.contains(&first)
    }

    /// Worked into the running strand: no leg, and none is missing.
    pub(super) fn on_strand(&self, piece: &Piece, stitch: &Stitch) -> bool {
        piece.legs(stitch).iter().all(|a| matches!(a.place, Place::Strand(_)))
    }

    /// The front entry of a place; `None` when it has none (strands) or was never made.
    pub(super) fn entry(
        &self,
        worked: &Worked,
        piece: &Piece,
        place: Place,
        left_to_right: bool,
    ) -> Option<EntryId> {
        match place {
            Place::Top(s) | Place::Post { of: s, .. } => {
                let points = worked.points.get(&s.0);
                points.and_then(|p| p.get(p.len() / 2).copied()).or(worked.top[s.0 as usize])
            }
            Place::Space(run) => self.space_entry(worked, run, left_to_right),
            Place::Link { run, nth } => {
                let points = worked.points.get(&run.0)?;
                let row = piece.stitch(run).row;
                let forward = !piece.rows[row.0 as usize].left_to_right;
                let nth = usize::from(nth).min(points.len() - 1);
                Some(points[if forward { nth } else { points.len() - 1 - nth }])
            }
            Place::Gap(a, b) => worked.gaps.get(&a.0.min(b.0)).copied(),
            Place::Underside(s) => worked.underside.get(&s.0).copied(),
            Place::RowEnd { row, left, nth, .. } => {
                let points = worked.row_ends.get(&(row.0, left))?;
                points.get(usize::from(nth)).or(points.last()).copied()
            }
            Place::Ring(first) => worked.rings.get(&first.0).copied(),
            Place::Strand(_) => None,
        }
    }

    /// As [`Legs::entry`], but any point of a space, and no child of it is counted.
    pub(super) fn near(&self, worked: &Worked, piece: &Piece, place: Place) -> Option<EntryId> {
        match place {
            Place::Space(run) => {
                let points = worked.points.get(&run.0);
                points.and_then(|p| p.first().copied()).or(worked.top[run.0 as usize])
            }
            other => self.entry(worked, piece, other, false),
        }
    }

    /// Children share out the points of a space in the order they are worked.
    fn space_entry(&self, worked: &Worked, run: StitchId, left_to_right: bool) -> Option<EntryId> {
        let Some(points) = worked.points.get(&run.0) else {
            return worked.top[run.0 as usize];
        };
        let children = usize::from(self.space.get(&run.0).copied().unwrap_or(1)).max(1);
        let mut next = self.next.borrow_mut();
        let k = next.entry(run.0).or_insert(0);
        let at = (*k * points.len() / children).min(points.len() - 1);
        *k += 1;
        Some(points[if left_to_right { points.len() - 1 - at } else { at }])
    }

    /// Sorts the legs of a row along the front, so that crossed stitches make no twisted cell.
    pub(super) fn order(&self, front: &Front, tops: &mut [TopPoint], piece: &Piece) {
        let Some(first) = tops.iter().find_map(|t| t.legs.first().copied()) else { return };
        let round = piece.rows[piece.stitch(tops[0].stitch).row.0 as usize].round;
        let mut start = first;
        for _ in 0..if round { 0 } else { REACH_BACK } {
            let back = front.prev(start);
            if back == first || front.get(start).corner {
                break;
            }
            start = back;
        }
        if in_order(front, tops, [start, first]) {
            return;
        }
        let mut wanted: BTreeSet<EntryId> =
            tops.iter().flat_map(|t| t.legs.iter().copied()).collect();
        let mut place: BTreeMap<EntryId, u32> = BTreeMap::new();
        let (mut at, mut k) = (start, 0);
        loop {
            if wanted.remove(&at) {
                place.insert(at, k);
            }
            at = front.next(at);
            k += 1;
            if at == start || wanted.is_empty() {
                break;
            }
        }
        for top in tops.iter_mut() {
            top.legs.retain(|e| place.contains_key(e));
        }
        let mut order: Vec<EntryId> = tops.iter().flat_map(|t| t.legs.iter().copied()).collect();
        if order.windows(2).all(|w| place[&w[0]] <= place[&w[1]]) {
            return;
        }
        order.sort_by_key(|e| place[e]);
        let mut sorted = order.into_iter();
        for top in tops {
            for leg in &mut top.legs {
                *leg = sorted.next().expect("as many legs as before");
            }
        }
    }
}

/// The legs of a row follow each other along the front from the first of them on, before it comes round to
/// where the search for them would begin: all but rows with crossed stitches do.
fn in_order(front: &Front, tops: &[TopPoint], [start, first]: [EntryId; 2]) -> bool {
    let mut at = first;
    for &leg in tops.iter().flat_map(|t| &t.legs) {
        while at != leg {
            at = front.next(at);
            if at == start || at == first {
                return false;
            }
        }
    }
    true
}
