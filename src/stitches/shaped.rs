//! Rows with shaping by a schedule: at both ends of every 4th row, ten times.

use super::fault::Words;
use super::graph::Side;
use super::maker::Body;
use super::maker::MOST_ROWS;
use super::maker::MakerAtWork;
use crate::diagnostic::Severity;
use crate::pattern::Again;
use crate::pattern::Fabric;
use crate::pattern::Numbers;
use crate::pattern::Row;
use crate::pattern::Shaped;
use crate::pattern::Until;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    /// Works a fabric whose rows are shaped by a schedule.
    pub(super) fn shaped(&mut self, row: &'a Row, shaped: Shaped) {
        let base = Body { fabric: Some(shaped.fabric), ..Self::body(row, 0) };
        let label = match &row.heading.numbers {
            Numbers::Next => row.heading.name.clone(),
            _ => None,
        };
        if let Numbers::Listed(all) = &row.heading.numbers
            && let Some(&n) = all.first()
        {
            (self.next, self.written) = (n, n);
            self.numbers.insert(n, Body { change: shaped.change, ..base });
        }
        let most = match shaped.until {
            until @ (Until::Millimetres(_) | Until::MoreMillimetres(_) | Until::AlongEdge(_)) => {
                let Some(mm) = self.length_told(until, 1) else { return self.open(row.span) };
                self.rows_for(&[Body { count: None, ..base }], mm, 0, row.span)
            }
            Until::Rows(n) => n,
            Until::RowsInAll(n) => n.saturating_sub(self.rows_in_section()),
            Until::Open => return self.open(row.span),
            _ => MOST_ROWS as u32,
        };
        let next_right = self.facing.is_none_or(|(side, _)| side == Side::Wrong);
        let first = shaped.side.map_or(shaped.first, |right| 1 + u32::from(right != next_right));
        let shaped = Shaped { first, ..shaped };
        let mut done = 0;
        for k in 1..=most {
            let shapes =
                k >= shaped.first && (k - shaped.first).is_multiple_of(shaped.every.max(1));
            if self.stopped || self.too_many(row.span) || self.reached(shaped, done, row.span) {
                return;
            }
            let change = if shapes { shaped.change } else { (0, 0) };
            done += u32::from(shapes);
            let last = matches!(shaped.until, Until::Times(n) | Until::More(n) if done >= n);
            let count = base.count.filter(|_| last);
            self.label.clone_from(&label);
            self.next_row(Body { change, count, ..base });
            self.label = None;
        }
    }

    /// The end of the schedule has come; says so when it cannot come any more.
    fn reached(&mut self, shaped: Shaped, done: u32, span: Span) -> bool {
        match shaped.until {
            Until::Times(n) | Until::More(n) => done >= n,
            Until::Stitches(n) => {
                let made = self.piece.rows.last().map_or(0, |r| r.made);
                let grows = shaped.change.0 + shaped.change.1;
                let passed = if grows > 0 { made > n } else { made < n };
                if grows == 0 || passed {
                    self.say(
                        "stitches-not-met",
                        Severity::Error,
                        span,
                        Words {
                            message: format!("this shaping never comes to {n} stitches"),
                            expected: format!("{n} stitches"),
                            found: format!("{made}"),
                            fit: format!("ask for {made} stitches, or change the shaping"),
                        },
                    );
                }
                made == n || grows == 0 || passed
            }
            Until::Heading => done >= 1,
            _ => false,
        }
    }

    /// "Rep inc row every 4th row 10 times more": the row named, with the rows worked since it between.
    pub(super) fn again_every(&mut self, row: &'a Row, again: &Again) {
        let Some(named) =
            self.block_of(&again.rows, None, row.span).and_then(|b| b.first().copied())
        else {
            return;
        };
        let same = |b: &Body<'_>| b.span == named.span;
        let since = self.history.iter().rev().take_while(|b| !same(b)).count();
        let plain: Vec<Body<'a>> = self.history[self.history.len() - since..].to_vec();
        let established =
            Body { fabric: Some(Fabric::Established), ops: &[], count: None, ..named };
        let every = again.every as usize;
        let (times, until) = match again.until {
            Until::Times(n) | Until::More(n) => (n, None),
            Until::Stitches(n) => (MOST_ROWS as u32, Some(n)),
            _ => return self.open(row.span),
        };
        let mut at = since;
        for _ in 0..times {
            while at + 1 < every {
                let between = plain.get(at % plain.len().max(1)).copied().unwrap_or(established);
                self.next_row(Body { count: None, right_side: None, ..between });
                at += 1;
            }
            if self.stopped || self.too_many(row.span) {
                return;
            }
            self.next_row(Body { count: None, right_side: None, ..named });
            at = 0;
            let made = self.piece.rows.last().map_or(0, |r| r.made);
            if until.is_some_and(|n| made == n) {
                return;
            }
            if let Some(n) = until.filter(|&n| made > n) {
                let end = Shaped {
                    fabric: Fabric::Established,
                    change: (1, 0),
                    first: 1,
                    side: None,
                    every: again.every,
                    until: Until::Stitches(n),
                };
                self.reached(end, 0, row.span);
                return;
            }
        }
    }
}
