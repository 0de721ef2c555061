//! Rounds that begin on both sides of a foundation chain: along it, round its end, and back along its free loops.

use super::below::Below;
use super::graph::Place;
use super::graph::StitchId;
use super::perimeter::edge;
use super::start::Footing;
use super::worker::Worker;
use crate::pattern::Do;
use crate::pattern::Op;

/// Where the words go on to the free loops of the foundation chain, after some work into the chain itself.
pub(super) fn turns_the_end(ops: &[Op]) -> Option<usize> {
    let at = ops.iter().position(|op| op.act == Do::OtherSide)?;
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_));
    (ops[..at].iter().any(works) && ops[at..].iter().any(works)).then_some(at)
}

/// The free loops of the chain that `foot` stands on, from its end back to the hook; its first link is `first`.
///
/// All stitches round the end go into the last link from above, and a chain that counts as the first stitch stands
/// in the same link as its neighbour.
pub(super) fn far_side(foot: Footing, first: u32) -> Below {
    let links = u32::from(foot.counts)..foot.base.saturating_sub(1);
    let spot = |k| {
        let id = StitchId(first + k);
        edge(id, Place::Underside(id))
    };
    Below { spots: links.rev().map(spot).collect(), ..Below::default() }
}

impl<'a> Worker<'a> {
    /// The first link of the foundation chain that `foot` stands on, which is laid just before this row.
    pub(super) fn first_link(&self, foot: Footing) -> u32 {
        self.first - foot.base
    }

    /// Goes on in the places of `far`. Those left over on this side were passed over.
    pub(super) fn onto(self, far: &'a Below) -> Self {
        let left = self.remaining();
        let mut next =
            Self::new(self.pattern, far, self.older, self.reading, self.right_side, self.knit);
        next.first = self.first;
        next.round = self.round;
        next.last = self.last;
        next.same = self.same.map(|(anchor, _)| (anchor, 0));
        next.draft = self.draft;
        next.draft.cursor = 0;
        next.draft.jumped += left;
        next
    }

    /// Free loops left at the end of the far side, but for the one under the stitch the round began with.
    pub(super) fn left_on_far_side(&self) -> u32 {
        self.remaining().saturating_sub(1)
    }
}
