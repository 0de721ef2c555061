//! Rows worked again until the last of them has so many stitches, groups or spaces.

use super::count::Counted;
use super::fault::Words;
use super::kind::StitchKind;
use super::maker::Body;
use super::maker::MakerAtWork;
use crate::diagnostic::Severity;
use crate::source::Span;

impl<'a> MakerAtWork<'a> {
    pub(super) fn until_stitches(&mut self, block: &[Body<'a>], n: u32, span: Span) {
        let (start, mut worked) = (self.last_counted(), 0usize);
        let mut before = start;
        for k in 0.. {
            let made = self.last_counted();
            let done = made == n && (k % block.len() == 0 || !self.neutral(block.len()));
            if done || self.stopped || self.too_many(span) {
                return;
            }
            let away = worked >= block.len() * 2 && made.abs_diff(n) >= start.abs_diff(n);
            let passed = worked > 0 && made != n && (start < n) != (made < n);
            // A block that leaves the count as it was will do so for ever.
            let whole = k % block.len() == 0;
            let stalled = whole && k >= 2 * block.len() && made == before && self.step == 0;
            if whole {
                before = made;
            }
            if away || passed || stalled {
                if self.at_fault(block) {
                    return;
                }
                self.say(
                    "stitches-not-met",
                    Severity::Error,
                    span,
                    Words {
                        message: format!("these rows never come to {n} stitches"),
                        expected: format!("{n} stitches"),
                        found: format!("{made} after {worked} more rows, from {start}"),
                        fit: format!("ask for {made} stitches, or change the shaping"),
                    },
                );
                return;
            }
            let mut body = block[k % block.len()];
            body.step += self.step * (k / block.len() + 1) as i32;
            self.not_the_last(&mut body, span);
            self.numbers.entry(self.next).or_insert(body);
            self.next_row(body);
            worked += 1;
        }
    }

    /// Rows of the block are at fault, so that what they come to follows from that.
    pub(super) fn at_fault(&self, block: &[Body<'a>]) -> bool {
        block.iter().any(|body| self.faults.at(body.span))
    }

    /// Works a block until a row has `n` groups, or blocks, or spaces.
    pub(super) fn until_groups(&mut self, block: &[Body<'a>], n: u32, spaces: bool, span: Span) {
        let start = self.groups_made(spaces);
        for k in 0.. {
            let made = self.groups_made(spaces);
            if made == n || self.stopped || self.too_many(span) {
                return;
            }
            let passed = k > 0 && (start < n) != (made < n);
            let away = k >= block.len() * 2 && made.abs_diff(n) >= start.abs_diff(n);
            if away || passed {
                if self.at_fault(block) {
                    return;
                }
                let words = Words {
                    message: format!("these rows never come to {n} groups"),
                    expected: format!("{n} groups"),
                    found: format!("{made} after {k} more rows, from {start}"),
                    fit: format!("ask for {made}, or change the shaping"),
                };
                return self.say("stitches-not-met", Severity::Error, span, words);
            }
            let mut body = block[k % block.len()];
            body.step += self.step * (k / block.len() + 1) as i32;
            self.not_the_last(&mut body, span);
            self.numbers.entry(self.next).or_insert(body);
            self.next_row(body);
        }
    }

    /// Groups of the last row: blocks where the page builds them, else its shells, else its spaces.
    pub(super) fn groups_made(&self, spaces: bool) -> u32 {
        let one = self.piece.rows.iter().find(|r| r.label != "foundation").map_or(1, |r| r.made);
        match &self.below {
            _ if self.blocks => self.last_made() / one.max(1),
            Some(below) if !below.groups.is_empty() && !spaces => below.groups.len() as u32,
            Some(below) => below.spaces(),
            None => 0,
        }
    }

    /// The row due in a block of `per` rows left the count unchanged when it was worked last.
    pub(super) fn neutral(&self, per: usize) -> bool {
        let rows = &self.piece.rows;
        let Some(k) = rows.len().checked_sub(per).filter(|&k| k > 0) else { return false };
        rows[k].made == rows[k - 1].made
    }

    pub(super) fn last_made(&self) -> u32 {
        self.piece.rows.last().map_or(0, |r| r.made)
    }

    /// Stitches of the last row as the page counts them: with chains, where its printed counts hold them.
    fn last_counted(&self) -> u32 {
        let Some(way) = self.with_chains else { return self.last_made() };
        let last = self.piece.rows.len().saturating_sub(1) as u32;
        let mine = |s: &&super::graph::Stitch| s.row.0 == last;
        let runs = self.piece.stitches.iter().rev().take_while(mine);
        let runs = runs.filter(|s| s.kind == StitchKind::Chain && !s.overlay);
        let chains = match way {
            Counted::WithSpaces => runs.count() as u32,
            _ => runs.map(|s| u32::from(s.links)).sum(),
        };
        self.last_made().saturating_add(chains)
    }
}
