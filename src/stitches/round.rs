//! Where a round begins: slip stitches, or a fresh join, that lead to another place of the round below.

use super::below::Below;
use super::draft::Draft;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;
use crate::pattern::Where;

/// A round that begins elsewhere than the round below did.
pub(super) struct Moved {
    /// The round below as met from the new start.
    pub(super) below: Below,
    /// Ops the way there takes.
    pub(super) ops: usize,
    /// The slip stitches on the way.
    pub(super) way: Draft,
}

/// The way `ops` go to a new start on the round that `worker` stands on, when they do.
pub(super) fn moved(worker: &mut Worker<'_>, ops: &[Op]) -> Option<Moved> {
    // "Sl st in each st around" is the round, and no way to another start.
    let slip = |op: &Op| matches!(op.act, Do::Work { act: Act::Slip, place, .. } if place.extent != Extent::All);
    let way = |op: &&Op| {
        slip(op)
            || matches!(op.act, Do::Colour(_) | Do::Join | Do::Turn | Do::NoTurn | Do::FastenOff)
    };
    let lead = ops.iter().take_while(way).count();
    let end = ops[..lead].iter().rposition(slip)? + 1;
    if end == ops.len() || worker.below.spots.len() < 2 {
        return None;
    }
    // The hook stands on the first stitch, joined to.
    worker.draft.cursor = 1;
    for op in ops[..end].iter().filter(|op| slip(op)) {
        worker.run(std::slice::from_ref(op), 0);
    }
    if begins_in_space(&ops[..end], &ops[end..]) {
        let there = Where { target: Target::StitchOrSpace, ..Where::next(1) };
        worker.stitch(Act::Slip, 1, there, ops[end - 1].span);
    }
    let draft = std::mem::take(&mut worker.draft);
    let start = if worker.gap_at.is_some() { draft.cursor } else { draft.cursor.checked_sub(1)? };
    if draft.over > 0 || start >= worker.below.spots.len() {
        return None;
    }
    Some(Moved { below: from(worker.below, start), ops: end, way: draft })
}

/// "Sl st in each st to corner sp, ch 3, (2 dc, ch 2, 3 dc) in corner sp": slips said to end before the space or
/// corner that what follows goes into, and go into it all the same.
fn begins_in_space(way: &[Op], after: &[Op]) -> bool {
    let first = after.iter().find(|op| !matches!(op.act, Do::Chain { .. }));
    let place = first.and_then(super::corner::place_of);
    way.last().is_some_and(super::start::slips_up_to)
        && place.is_some_and(|p| {
            matches!(p.target, Target::Space(_) | Target::Corner)
                && matches!(p.extent, Extent::Same | Extent::Next(1) | Extent::Bare(1))
        })
}

impl Worker<'_> {
    /// Takes over the slip stitches on the way to the round's start, and the yarn they are worked in.
    pub(super) fn arrive(&mut self, way: Draft, ops: &[Op]) {
        for op in ops.iter().filter(|op| matches!(op.act, Do::Colour(_))) {
            self.run(std::slice::from_ref(op), 0);
        }
        self.draft.at = vec![0; way.stitches.len()];
        (self.draft.stitches, self.draft.anchors) = (way.stitches, way.anchors);
        let last = self.draft.stitches.last().map(|s| s.legs.0 as usize);
        self.arrived = true;
        self.same = last.and_then(|k| self.draft.anchors.get(k)).map(|&a| (a, 0));
    }
}

/// The round met from spot `start` on.
fn from(below: &Below, start: usize) -> Below {
    let mut met = below.clone();
    let n = met.spots.len();
    met.spots.rotate_left(start);
    let shift = |k: usize| (k + n - start) % n;
    for group in &mut met.groups {
        (group.first, group.last) = (shift(group.first), shift(group.last));
    }
    met.groups.retain(|g| g.first <= g.last);
    met.groups.sort_by_key(|g| g.first);
    met.markers.iter_mut().for_each(|m| *m = shift(*m % n));
    met.markers.sort_unstable();
    (met.turning, met.beside) = (met.turning && start == 0, false);
    met
}
