//! Places between stitches: the gaps between groups, at a row's edges, and beside a single stitch.

use super::below::Below;
use super::graph::Anchor;
use super::graph::Place;
use super::kind::LoopTaken;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Extent;
use crate::pattern::Target;
use crate::pattern::Where;
use crate::source::Span;

/// Which spots of the row below stand in groups, and where groups begin and end.
#[derive(Debug, Default)]
pub(super) struct Seams {
    /// The spot is part of a group.
    inside: Vec<bool>,
    /// A group begins at the spot, or ended before it.
    edge: Vec<bool>,
}

impl Seams {
    /// The seams of a row.
    pub(super) fn of(below: &Below) -> Self {
        if below.groups.is_empty() {
            return Self::default();
        }
        let n = below.spots.len();
        let (mut inside, mut edge) = (vec![false; n], vec![false; n]);
        for group in &below.groups {
            let (first, end) = (group.first.min(n), (group.last + 1).min(n));
            inside[first..end.max(first)].fill(true);
            for k in [first, end] {
                if k < n {
                    edge[k] = true;
                }
            }
        }
        Self { inside, edge }
    }
}

impl Worker<'_> {
    /// The gap before the last stitch.
    pub(super) fn last_gap(&mut self, place: Where, span: Span) -> Option<Anchor> {
        let spots = &self.below.spots;
        let k = spots.len().checked_sub(1).filter(|&k| k >= 1);
        let Some(k) = k else {
            self.missing(span);
            return None;
        };
        let ids = (spots[k - 1].id, spots[k].id);
        self.draft.cursor = k;
        self.draft.in_spaces = true;
        self.draft.by_space = true;
        Some(Anchor { place: Place::Gap(ids.0, ids.1), taken: self.taken(place.taken) })
    }

    /// The row below has groups and no chain spaces: "spaces" are the gaps between its groups.
    pub(super) fn no_spaces(&self) -> bool {
        self.below.groups.len() > 1 && !self.knit && self.spaces[0] == 0
    }

    /// The next gap between groups of the row below.
    pub(super) fn next_between(&self) -> Option<usize> {
        let from = self.draft.cursor.max(self.gap_at.map_or(1, |g| g + 1)).max(1);
        (from..self.seams.edge.len()).find(|&k| self.seams.edge[k] && self.parts_groups(k))
    }

    /// Both sides of the gap before spot `k` are groups; two stitches left at an edge are one as well.
    fn parts_groups(&self, k: usize) -> bool {
        let inside = |at: usize| self.seams.inside[at];
        if self.reading.edge_gaps {
            return true;
        }
        let left = inside(k - 1) || k >= 2 && !inside(k - 2);
        let right = inside(k) || k + 1 < self.below.spots.len() && !inside(k + 1);
        left && right
    }

    /// A gap at an edge of the row, in words: "in sp before first group", "in last sp".
    pub(super) fn edge_gap(&mut self, place: Where, span: Span) -> Option<Option<Anchor>> {
        let before = place.target == Target::Gap;
        let space = place.target != Target::Gap && self.in_gaps(place);
        match place.extent {
            Extent::First(_) if before && self.below.spots.len() > 1 => {
                Some(Some(self.gap_before(1, place)))
            }
            // "Ch 3, dc in first sp" of a row that begins with a stitch beside its first group.
            Extent::First(1) if space && self.begins_beside_group() => {
                Some(Some(self.gap_before(1, place)))
            }
            Extent::Last(1) if before => Some(self.last_gap(place, span)),
            Extent::Last(1) if space => {
                let mut k = self.next_between()?;
                while let Some(next) = (k + 1..self.seams.edge.len())
                    .find(|&j| self.seams.edge[j] && self.parts_groups(j))
                {
                    k = next;
                }
                Some(Some(self.gap_before(k, place)))
            }
            _ => None,
        }
        .or_else(|| {
            let last = space && place.extent == Extent::Last(1);
            last.then(|| self.last_gap(place, span))
        })
    }

    /// Nothing but a turning chain is worked, and the row below begins with one stitch and then a group.
    fn begins_beside_group(&self) -> bool {
        let inside = |k: usize| self.seams.inside.get(k).copied().unwrap_or(false);
        self.draft.cursor <= 1 && self.gap_at.is_none() && !inside(0) && inside(1)
    }

    /// The gap before spot `k`, worked into.
    fn gap_before(&mut self, k: usize, place: Where) -> Anchor {
        let spots = &self.below.spots;
        let ids = (spots[k - 1].id, spots[k].id);
        self.gap_at = Some(k);
        self.draft.cursor = k;
        self.draft.in_spaces = true;
        self.draft.by_space = true;
        self.draft.consumed += 1;
        Anchor { place: Place::Gap(ids.0, ids.1), taken: self.taken(place.taken) }
    }

    pub(super) fn between_groups(&mut self, taken: LoopTaken) -> Option<Anchor> {
        let k = self.next_between().filter(|_| self.below.groups.len() > 1)?;
        self.gap_at = Some(k);
        self.draft.cursor = k;
        self.draft.in_spaces = true;
        self.draft.by_space = true;
        self.draft.consumed += 1;
        let spots = &self.below.spots;
        Some(Anchor { place: Place::Gap(spots[k - 1].id, spots[k].id), taken })
    }

    /// The gaps between groups along the row. A corner is worked on the way where the words say so; they stop
    /// before it where it is named apart, or `to_corner`.
    pub(super) fn along_gaps(
        &mut self,
        (act, each): (Act, u32),
        place: Where,
        to_corner: bool,
        span: Span,
    ) {
        while !self.full() {
            let next = self.next_between();
            let corner = self.next_space(None);
            let before = corner < next.unwrap_or(self.below.spots.len());
            if before
                && !to_corner
                && self.corner.as_ref().is_some_and(|(_, at)| at.contains(&corner))
            {
                self.draft.cursor = corner;
                self.draft.by_space = true;
                self.at_corner();
                continue;
            }
            if next.is_none() || before && (to_corner || self.corners_apart) {
                return;
            }
            self.stitch(act, each, place, span);
        }
    }

    /// The next place called a space, where the gaps between groups are spaces as well as those of the chains
    /// within groups: `None` when that is the chain's.
    pub(super) fn gap_before_space(&self) -> Option<usize> {
        let gap = self.next_between().filter(|_| self.reading.gap_spaces)?;
        (gap <= self.next_space(None)).then_some(gap)
    }

    /// `place` is the gaps between groups.
    pub(super) fn in_gaps(&self, place: Where) -> bool {
        place.target == Target::Gap
            || matches!(place.target, Target::Space(_)) && self.no_spaces()
            || place.target == Target::Space(None) && self.reading.gap_spaces
    }

    /// The gaps between all stitches left of a row without groups.
    pub(super) fn every_gap(&mut self, act: Act, each: u32, place: Where, span: Span) {
        let n = self.below.spots.len();
        let next = self.draft.cursor.max(1);
        let from = next + usize::from(self.gap_at == Some(next));
        for k in from..n {
            if self.full() {
                return;
            }
            self.draft.cursor = k;
            self.stitch(act, each, place, span);
        }
        self.draft.cursor = n;
    }

    /// Between the stitch last passed and the next.
    pub(super) fn gap(&mut self, taken: LoopTaken, span: Span) -> Option<Anchor> {
        let spots = &self.below.spots;
        self.draft.in_spaces = true;
        let k = self.draft.cursor.clamp(1, spots.len().max(1));
        self.gap_at = Some(k);
        match (spots.get(k - 1), spots.get(k)) {
            (Some(a), Some(b)) => Some(Anchor { place: Place::Gap(a.id, b.id), taken }),
            (Some(a), None) => Some(a.anchor(taken)),
            _ => {
                self.missing(span);
                None
            }
        }
    }
}
