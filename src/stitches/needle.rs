//! Loops on the needle between knit rows: left there by a short turn, let go, or doubled after a turn.

use super::below::Below;
use super::draft::Draft;
use super::kind::StitchKind;
use super::maker::MakerAtWork;
use super::rows::Attempt;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Op;

impl MakerAtWork<'_> {
    /// Dropped yarn-overs leave their yarn to the stitches beside them and are no fabric any more.
    pub(super) fn let_go_wraps(&mut self) {
        let Some(row) = self.piece.rows.last() else { return };
        let (from, to) = (row.stitches.0 as usize, row.stitches.1 as usize);
        for stitch in &mut self.piece.stitches[from..to] {
            stitch.overlay |= stitch.kind == StitchKind::YarnOver;
        }
    }

    /// Loops a knit row leaves on the needle stay there for the rows to come.
    pub(super) fn left_over(&self, mut below: Below, chosen: &Attempt, turned: bool) -> Below {
        let Some(old) = self.below.as_ref().filter(|_| self.knit && chosen.draft.over == 0) else {
            return below;
        };
        let prefix = if turned { old.behind } else { 0 };
        let met = old.met(turned, false);
        let rest = &met.spots[chosen.draft.cursor.min(met.spots.len())..];
        let let_go = met.stitches() != chosen.had;
        if let_go || prefix == 0 && (rest.is_empty() || drops_some(&chosen.draft)) {
            return below;
        }
        below.spots.splice(0..0, met.spots[..prefix.min(met.spots.len())].iter().copied());
        below.spots.extend_from_slice(rest);
        below.markers.iter_mut().for_each(|m| *m += prefix);
        below.behind = rest.len();
        below
    }
}

/// The row lets the yarn-overs of the row below go.
pub(super) fn drops(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Repeat(repeat) => drops(&repeat.ops),
        act => *act == Do::DropWraps,
    })
}

/// A double stitch at the cursor: its loop slipped, and the marker by which later rows find it.
fn double_stitch(ops: &[Op]) -> bool {
    matches!(ops, [slip, marker, ..] if marker.act == Do::Marker
        && matches!(slip.act, Do::Work { act: Act::SlipLoop, .. }))
}

/// Where a double stitch made after the row's turn stands in its words: it begins the next row.
pub(super) fn trailing_double(ops: &[Op]) -> Option<usize> {
    let k = ops.len().checked_sub(2)?;
    let turned = k > 0 && ops[k - 1].act == Do::Turn;
    (turned && double_stitch(&ops[k..])).then_some(k)
}

/// The row's words with the double stitch in front that the row before ended with, unless they say it.
pub(super) fn with_double(ops: &[Op], double: &[Op]) -> Vec<Op> {
    let said = double_stitch(ops);
    if said { ops.to_vec() } else { double.iter().chain(ops).cloned().collect() }
}

/// Every loop was bound off: none of the rest is meant to stay.
fn drops_some(draft: &Draft) -> bool {
    draft.bound > 0 && draft.made() == 0
}
