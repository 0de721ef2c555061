//! Rows by their numbers: those filled in between, written ahead, missing or twice.

use super::fault::Words;
use super::maker::Body;
use super::maker::MakerAtWork;
use crate::diagnostic::Severity;
use crate::pattern::Again;
use crate::pattern::Do;
use crate::pattern::Numbers;
use crate::pattern::Op;
use crate::pattern::Row;
use crate::pattern::Until;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    pub(super) fn numbered(&mut self, row: &'a Row, numbers: impl Iterator<Item = u32>) {
        for (k, n) in numbers.enumerate() {
            if self.stopped || self.too_many(row.span) {
                return;
            }
            let body = Self::body(row, k);
            if k > 0 && n > self.next && matches!(row.heading.numbers, Numbers::Listed(_)) {
                self.ahead.insert(n, body);
                continue;
            }
            if k == 0 && self.written_twice(n, row, body) {
                return;
            }
            if k == 0 {
                self.arrive(n, row.heading.span, body);
            } else {
                self.fill_parity(Some(n));
            }
            self.next = n;
            self.written = n;
            self.numbers.insert(n, body);
            self.next_row(body);
        }
    }

    /// A row that stands on the page twice, one after the other in the same words, is a slip of the pen: it is
    /// told and worked once.
    fn written_twice(&mut self, n: u32, row: &'a Row, body: Body<'a>) -> bool {
        let single = matches!(&row.heading.numbers, Numbers::Listed(all) if all.len() == 1);
        let Some(first) = self.numbers.get(&n).filter(|_| single && self.next == n + 1) else {
            return false;
        };
        let length = |span: Span| span.end - span.start;
        let same = length(first.span) == length(body.span)
            && first.span != body.span
            && !body.ops.is_empty()
            && same_work(first.ops, body.ops);
        if !same {
            return false;
        }
        let label = crate::diagnostic::Label {
            span: Span::new(first.span.start, first.span.start + 1),
            text: format!("row {n} is here too"),
        };
        let words = Words {
            message: format!("row {n} is written twice, in the same words; it is worked once"),
            expected: format!("row {} here", self.next),
            found: format!("row {n} again"),
            fit: format!("take one of the two away, or renumber the second {}", self.next),
        };
        let (name, span) = (format!("Row {n}"), row.heading.span);
        self.faults.add(
            "row-number-twice",
            Severity::Error,
            span,
            (&name, self.section_name(), span),
            words,
            vec![label],
        );
        true
    }

    /// Comes to row `n`: fills in even rows, and says when numbers are missing or twice.
    pub(super) fn arrive(&mut self, n: u32, span: Span, body: Body<'a>) {
        self.fill_parity(Some(n));
        // The very words of row 1 again, straight after it, are that row doubled and no new part.
        let doubled = self.next == 2
            && self
                .numbers
                .get(&1)
                .is_some_and(|b| b.span.end - b.span.start == body.span.end - body.span.start);
        if n == 1 && self.next > 1 && !self.numbers.is_empty() && !doubled {
            self.new_section("");
            return;
        }
        // Rows worked again without numbers do not move the page's own numbering.
        if n == self.written + 1 && n < self.next && self.written > 0 {
            self.numbers.retain(|&k, _| k < n);
            self.next = n;
            return;
        }
        if self.numbers.contains_key(&n) {
            let first = self.numbers[&n].span;
            let words = Words {
                message: format!("two rows have the number {n}"),
                expected: format!("row {} here", self.next),
                found: format!("row {n}"),
                fit: format!("renumber it {}, or begin a new section", self.next),
            };
            self.doubled = Some((n, self.numbers[&n]));
            self.next = n;
            let label = crate::diagnostic::Label {
                span: Span::new(first.start, first.start + 1),
                text: format!("row {n} is here too"),
            };
            let row = self.row_name(false);
            self.faults.add(
                "row-number-twice",
                Severity::Error,
                span,
                (&row, self.section_name(), span),
                words,
                vec![label],
            );
        } else if let Some((twice, first)) =
            self.doubled.take_if(|&mut (twice, _)| twice + 2 == n && self.next + 1 == n)
        {
            // The second of the two was the row between: the page's own numbers go on after it.
            let second = self.numbers.insert(twice, first);
            self.numbers.extend(second.map(|body| (twice + 1, body)));
        } else if n > self.next && self.next > 1 {
            let words = Words {
                message: format!("the rows jump from {} to {n}", self.next - 1),
                expected: format!("row {}", self.next),
                found: format!("row {n}"),
                fit: match n - 1 - self.next {
                    0 => format!("write row {}, or renumber", self.next),
                    _ => format!("write rows {} to {}, or renumber", self.next, n - 1),
                },
            };
            let found_at = self.next;
            self.next = n;
            self.say("rows-missing", Severity::Warning, span, words);
            self.next = found_at;
        }
    }

    /// Works the even (or odd) rows described once, up to row `to`.
    pub(super) fn fill_parity(&mut self, to: Option<u32>) {
        self.fill_ahead(to);
        let Some((from, body)) = self.parity else { return };
        loop {
            let due = self.next >= from
                && (self.next - from).is_multiple_of(2)
                && !self.numbers.contains_key(&self.next);
            let within = to.is_none_or(|to| self.next < to);
            if !due || !within || self.stopped {
                return;
            }
            self.numbers.insert(self.next, body);
            self.next_row(body);
            self.fill_ahead(to);
        }
    }

    /// Works the rows written ahead that are due, up to row `to`.
    pub(super) fn fill_ahead(&mut self, to: Option<u32>) {
        while to.is_none_or(|to| self.next < to) && !self.stopped {
            let Some(body) = self.ahead.remove(&self.next) else { return };
            self.numbers.insert(self.next, body);
            self.next_row(body);
        }
    }

    /// A heading's range filled with a block of rows, over and over.
    pub(super) fn fill_range(
        &mut self,
        row: &'a Row,
        block: &[Body<'a>],
        until: Until,
        from: u32,
        to: u32,
    ) {
        self.arrive(from, row.heading.span, block[0]);
        let rows = to.saturating_sub(from) + 1;
        let per = block.len() as u32;
        let told = match until {
            Until::Times(n) | Until::More(n) => Some(n.saturating_mul(per)),
            Until::Rows(n) | Until::RowsInAll(n) => Some(n),
            _ => None,
        };
        let free = matches!(until, Until::Open | Until::RowsInAll(_))
            || matches!(until, Until::Millimetres(_) | Until::MoreMillimetres(_))
            || matches!(until, Until::Rows(n) if n.abs_diff(to) <= per);
        let part = told.is_none() && !free && !rows.is_multiple_of(per);
        // A range may hold the rows written before it, or only those after.
        let fits = |n: u32| n == rows || matches!(until, Until::Times(_)) && n + per == rows;
        if !free && told.is_some_and(|n| !fits(n)) || part {
            let whole = rows / per;
            self.next = from;
            self.say(
                "range-length",
                Severity::Error,
                row.heading.span,
                Words {
                    message: format!("rows {from}-{to} cannot hold these repeats"),
                    expected: told.map_or_else(
                        || format!("a whole number of repeats of {per} rows"),
                        |n| format!("{n} rows"),
                    ),
                    found: format!("{rows} rows"),
                    fit: match told {
                        Some(n) => format!("head it rows {from}-{}", from + n.max(1) - 1),
                        None => format!(
                            "end at row {} or at row {}",
                            (from + whole * per).saturating_sub(1),
                            from + (whole + 1) * per - 1
                        ),
                    },
                },
            );
        }
        for k in 0..rows {
            if self.stopped || self.too_many(row.span) {
                return;
            }
            let mut body = block[(k % per) as usize];
            body.step += self.step * (k / per + 1) as i32;
            body.count = row
                .counts
                .get(k as usize)
                .filter(|_| row.counts.len() > 1)
                .or_else(|| row.counts.last().filter(|_| k + 1 == rows));
            self.next = from + k;
            self.written = self.next;
            self.numbers.insert(self.next, body);
            self.next_row(body);
        }
    }
}

impl<'a> MakerAtWork<'a> {
    /// The next two rows, where every second row is told once and the others have come to repeat themselves:
    /// going on means that pair, and not the rows the piece began with.
    pub(super) fn settled_pair(&self) -> Option<Vec<Body<'a>>> {
        let ((from, plain), n) = (self.parity?, self.written);
        let last = *self.numbers.get(&n).filter(|_| self.other_parity.is_none())?;
        let before = self.numbers.get(&n.checked_sub(2)?)?;
        let first = self.numbers.values().next()?;
        let apart = n >= from && (n - from) % 2 == 1;
        let settled = same_work(last.ops, before.ops) && !same_work(last.ops, first.ops);
        let due = self.next >= from && (self.next - from).is_multiple_of(2);
        let pair = if due { vec![plain, last] } else { vec![last, plain] };
        (apart && settled && !last.ops.is_empty()).then_some(pair)
    }

    /// The yarn of a row worked again: the one told for it, or another in the place of one it had.
    pub(super) fn yarn_again(&mut self, body: &mut Body<'a>, again: &Again, many_coloured: bool) {
        body.before = if again.way && again.step == 0 { self.grows_from(body) } else { None };
        body.between = u32::from(again.between);
        body.colour = again.colour.or(body.colour);
        if many_coloured || again.instead.is_some() {
            self.recoloured.insert(body.span.start);
            body.colour = body.colour.or(self.worked_in.get(&body.span.start).copied());
        }
        if let Some((own, before)) = again.instead
            && body.colour == Some(before)
        {
            body.colour = Some(own);
        }
    }
}

/// The same instructions, wherever they stand on the page.
fn same_work(a: &[Op], b: &[Op]) -> bool {
    a.len() == b.len()
        && a.iter().zip(b).all(|(a, b)| match (&a.act, &b.act) {
            (Do::Repeat(a), Do::Repeat(b)) => {
                a.times == b.times
                    && a.cut == b.cut
                    && same_work(&a.ops, &b.ops)
                    && same_work(&a.ending, &b.ending)
            }
            (Do::OnePlace(a, at), Do::OnePlace(b, there)) => at == there && same_work(a, b),
            (a, b) => a == b,
        })
}
