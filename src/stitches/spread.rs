//! Increases and decreases spread over a row: "inc 12 sts evenly across".

use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Evenly;
use crate::pattern::Where;
use crate::source::Span;

/// How far the spreading has come. After `k` of `total` plain stitches the row has had the whole number
/// next to `k * by / total` changes, so that equal stretches of plain stitches lie between them and half
/// a stretch at either end.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spread {
    by: i32,
    total: u32,
    worked: u32,
    changed: u32,
}

impl Spread {
    /// Over a row that meets `had` stitches; none where nothing is to change or too much.
    pub(super) fn over(evenly: Evenly, had: u32) -> Option<Self> {
        let by = match evenly {
            Evenly::By(by) => by,
            Evenly::To(n) => i32::try_from(n).ok()?.checked_sub(i32::try_from(had).ok()?)?,
        };
        let most = if by < 0 { had / 2 } else { had };
        let total = if by < 0 { had.checked_sub(by.unsigned_abs())? } else { had };
        (by != 0 && by.unsigned_abs() <= most).then_some(Self { by, total, worked: 0, changed: 0 })
    }

    /// One stitch more has been come to; whether the change falls on it.
    fn due(&mut self) -> bool {
        self.worked += 1;
        let wanted = u64::from(self.by.unsigned_abs()) * u64::from(self.worked);
        let total = u64::from(self.total.max(1));
        let due = (2 * wanted + total) / (2 * total) > u64::from(self.changed);
        self.changed += u32::from(due);
        due
    }
}

impl Worker<'_> {
    /// One plain stitch, with the change that falls on it.
    pub(super) fn spread_stitch(&mut self, act: Act, each: u32, place: Where, span: Span) {
        let plain = each <= 1 && matches!(act, Act::Knit { .. } | Act::Post(..));
        let due = match &mut self.spread {
            Some(spread) if plain => spread.due().then_some(spread.by),
            _ => None,
        };
        match (due, act) {
            (Some(1..), Act::Knit { purl, .. }) => {
                self.stitch(act, each, place, span);
                self.stitch(Act::MakeOne { purl }, 1, place, span);
            }
            (Some(1..), _) => self.stitch(act, 2, place, span),
            (Some(_), Act::Knit { purl, .. }) => {
                self.stitch(Act::KnitTogether { of: 2, purl }, 1, place, span);
            }
            (Some(_), Act::Post(height, style)) => {
                self.stitch(Act::Together(height, 2, style), 1, place, span);
            }
            _ => self.stitch(act, each, place, span),
        }
    }

    /// The spot of the stitch in the middle of the row below: the marked one, where as many markers stand
    /// before it as after.
    pub(super) fn centre(&self) -> usize {
        let markers = &self.below.markers;
        if markers.len() % 2 == 1 {
            return markers[markers.len() / 2].min(self.below.spots.len());
        }
        let stitches = self.left[0];
        let middle = stitches - stitches.saturating_sub(1) / 2;
        self.left.iter().position(|&n| n == middle).map_or(0, |first| {
            (first..self.below.spots.len())
                .find(|&k| !self.below.spots[k].is_space())
                .unwrap_or(first)
        })
    }
}
