//! Rows that go on growing as they grew so far: "k3, yo, k5, yo, ..." and then "k3, yo, k7, yo, ..., continue in
//! this way" has k9 next.

use super::maker::Body;
use super::maker::MakerAtWork;
use crate::pattern::Act;
use crate::pattern::Again;
use crate::pattern::AgainRows;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Times;
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

    /// The rows that grow on: of the last two only the last, where each row grows and none between them is plain.
    pub(super) fn growing(&self, again: &Again) -> AgainRows {
        let last = match &self.history[..] {
            [.., before, last] if again.way && again.rows == AgainRows::Last(2) => {
                grows(before.ops, last.ops) || again.between > 0 && increases(last.ops)
            }
            _ => false,
        };
        if last { AgainRows::Last(1) } else { again.rows.clone() }
    }

    /// How often the row of these words was worked before the one at hand.
    pub(super) fn worked(&self, words: Span) -> u32 {
        let all = self.history.iter().filter(|h| h.span == words).count() as u32;
        all.saturating_sub(1)
    }
}

/// Every number that grows from row to row: lengths of runs of plain stitches, and of what is left at the end.
fn each_number(ops: &mut [Op], visit: &mut impl FnMut(&mut u32)) {
    for op in ops {
        match &mut op.act {
            Do::Work { act: Act::Knit { .. } | Act::Post(..), each: 1, place } => {
                if let Extent::Next(n) | Extent::Last(n) | Extent::AllBut(n) = &mut place.extent {
                    visit(n);
                }
            }
            Do::Repeat(repeat) => {
                each_number(&mut repeat.ops, visit);
                if let Times::ToLast(n) = &mut repeat.times {
                    visit(n);
                }
            }
            _ => {}
        }
    }
}

/// The numbers of `ops` that grow, and the ops without them and without their places on the page.
fn apart(ops: &[Op]) -> (Vec<u32>, Vec<Op>) {
    fn nowhere(ops: &mut [Op]) {
        for op in ops {
            op.span = Span::default();
            match &mut op.act {
                Do::Repeat(repeat) => nowhere(&mut repeat.ops),
                Do::OnePlace(ops, _) => nowhere(ops),
                _ => {}
            }
        }
    }
    let (mut numbers, mut rest) = (Vec::new(), ops.to_vec());
    each_number(&mut rest, &mut |n: &mut u32| numbers.push(std::mem::take(n)));
    nowhere(&mut rest);
    (numbers, rest)
}

/// `later` is `earlier` with other lengths in some of its runs, and alike else.
fn grows(earlier: &[Op], later: &[Op]) -> bool {
    if earlier.len() != later.len() {
        return false;
    }
    let ((before, rest), (after, same)) = (apart(earlier), apart(later));
    rest == same && before != after
}

/// The row `times` steps after `later`, by what was added from `earlier` to it.
pub(super) fn grown(earlier: &[Op], later: &[Op], times: u32) -> Vec<Op> {
    let (before, mut ops) = (apart(earlier).0, later.to_vec());
    let mut before = before.into_iter();
    each_number(&mut ops, &mut |n: &mut u32| {
        let m = before.next().unwrap_or(*n);
        let more = (i64::from(*n) - i64::from(m)) * i64::from(times);
        *n = (i64::from(*n) + more).clamp(0, 1 << 20) as u32;
    });
    ops
}

/// A repeat of the row works plain stitches and then an increase.
fn increases(ops: &[Op]) -> bool {
    let more = |op: &Op| match &op.act {
        Do::Work { act, each, .. } => {
            *each > 1 || matches!(act, Act::YarnOver | Act::MakeOne { .. })
        }
        _ => false,
    };
    let mut repeats = ops.iter().filter_map(|op| match &op.act {
        Do::Repeat(repeat) => Some(&repeat.ops),
        _ => None,
    });
    repeats.any(|ops| ops.iter().any(more) && ops.iter().any(|op| run(op).is_some()))
}

/// The length of a run of plain stitches.
fn run(op: &Op) -> Option<u32> {
    match op.act {
        Do::Work { act: Act::Knit { .. } | Act::Post(..), each: 1, place } => match place.extent {
            Extent::Next(n) | Extent::Bare(n) => Some(n),
            _ => None,
        },
        _ => None,
    }
}

/// The row with `more` stitches more in the first run of each of its repeats.
pub(super) fn wider(ops: &[Op], more: u32) -> Vec<Op> {
    let mut ops = ops.to_vec();
    for op in &mut ops {
        let Do::Repeat(repeat) = &mut op.act else { continue };
        let first = repeat.ops.iter_mut().find(|op| run(op).is_some());
        if let Some(Do::Work { place, .. }) = first.map(|op| &mut op.act)
            && let Extent::Next(n) | Extent::Bare(n) = place.extent
        {
            place.extent = Extent::Next(n.saturating_add(more).min(1 << 20));
        }
    }
    ops
}
