//! Rows that go on growing as they grew so far: "k3, yo, k5, yo, ..." and then "k3, yo, k7, yo, ..., continue in
//! this way" has k9 next.

use super::maker::Body;
use super::maker::MakerAtWork;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::source::Span;

/// Rows back to look for the one before of the same kind.
const NEAR: usize = 4;

impl<'a> MakerAtWork<'a> {
    /// The row before `body` that differs from it by the length of its runs only.
    pub(super) fn grows_from(&self, body: &Body<'a>) -> Option<&'a [Op]> {
        let at = self.history.iter().rposition(|h| h.span == body.span)?;
        let near = self.history[at.saturating_sub(NEAR)..at].iter().rev();
        let mut alike = near.filter(|h| h.span != body.span && grows(h.ops, body.ops));
        alike.next().map(|h| h.ops)
    }

    /// How often the row of these words was worked before the one at hand.
    pub(super) fn worked(&self, words: Span) -> u32 {
        let all = self.history.iter().filter(|h| h.span == words).count() as u32;
        all.saturating_sub(1)
    }
}

/// The length of a run of plain stitches.
fn run(op: &Op) -> Option<u32> {
    match op.act {
        Do::Work { act: Act::Knit { .. } | Act::Post(..), each: 1, place } => match place.extent {
            Extent::Next(n) => Some(n),
            _ => None,
        },
        _ => None,
    }
}

/// `later` is `earlier` with other lengths in some of its runs, and alike else.
fn grows(earlier: &[Op], later: &[Op]) -> bool {
    let same = |(a, b): (&Op, &Op)| match (&a.act, &b.act) {
        (Do::Work { act, place, .. }, Do::Work { act: other, place: there, .. })
            if run(a).is_some() && run(b).is_some() =>
        {
            act == other && place.target == there.target
        }
        (a, b) => a == b,
    };
    earlier.len() == later.len()
        && earlier.iter().zip(later).all(same)
        && earlier.iter().zip(later).any(|(a, b)| run(a) != run(b))
}

/// The row `times` steps after `later`, by what was added from `earlier` to it.
pub(super) fn grown(earlier: &[Op], later: &[Op], times: u32) -> Vec<Op> {
    let mut ops = later.to_vec();
    for (op, before) in ops.iter_mut().zip(earlier) {
        let (Some(n), Some(m)) = (run(op), run(before)) else { continue };
        let more = (i64::from(n) - i64::from(m)) * i64::from(times);
        if let Do::Work { place, .. } = &mut op.act {
            place.extent = Extent::Next((i64::from(n) + more).clamp(0, 1 << 20) as u32);
        }
    }
    ops
}
