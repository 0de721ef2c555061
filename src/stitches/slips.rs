//! Rows that slip-stitch inwards before their turning chain rises.

use std::borrow::Cow;

use super::asks::first_skip;
use super::graph::RowStart;
use super::start::Turning;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;

/// These ops before a chain slip-stitch along stitches.
pub(super) fn lead(ops: &[Op]) -> bool {
    let along = |op: &Op| {
        matches!(&op.act, Do::Work { act: Act::Slip, place, .. }
            if matches!(place.target, Target::Any | Target::Post(_)) && place.extent != Extent::All)
    };
    let passes =
        |op: &Op| along(op) || matches!(op.act, Do::Turn | Do::NoTurn | Do::Colour(_) | Do::Marker);
    ops.iter().any(along) && ops.iter().all(passes)
}

/// The ops after a turning chain without "skip st at base of ch", which a chain that counts has taken.
pub(super) fn past_base(ops: &[Op], counted: bool) -> Cow<'_, [Op]> {
    let first = ops.iter().position(|op| !matches!(op.act, Do::Turn | Do::NoTurn | Do::Colour(_)));
    match first.map(|k| (k, &ops[k].act)) {
        Some((k, Do::Skip(place))) if counted && place.extent == Extent::Same => {
            [&ops[..k], &ops[k + 1..]].concat().into()
        }
        _ => ops.into(),
    }
}

impl Worker<'_> {
    /// Slips along `ops` up to `led`, where the turning chain rises: one that counts stands in the stitch slipped
    /// into last, out of which it comes, or else in the next.
    pub(super) fn rise(&mut self, turning: Turning, ops: &[Op], led: usize) {
        self.run(&ops[..led], 0);
        let after = self.draft.cursor;
        let consumed = self.draft.consumed;
        let next = self.reading.under_chain && first_skip(&ops[led..]).is_none();
        if !next {
            self.draft.cursor = after.saturating_sub(1);
        }
        self.begin(turning, &ops[led..]);
        if next {
            return;
        }
        if matches!(self.draft.start, RowStart::ChainCounts(_)) {
            self.draft.consumed = consumed;
        } else {
            self.draft.cursor = after;
        }
    }
}
