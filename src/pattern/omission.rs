//! What the last pass of a repeat leaves out: "rep from * across, omitting the last ch 2".

use super::reader::Reader;
use super::syntax::Do;
use super::syntax::Op;
use super::token::Kind;

/// Words that tell where it is left out, which is at the end in any case.
const WHERE: [&str; 15] = [
    "on", "at", "in", "of", "from", "for", "the", "last", "final", "very", "end", "rep", "repeat",
    "row", "time",
];

impl Reader<'_> {
    /// A word for leaving out `k` after the cursor.
    fn omit_word(&self, k: usize) -> bool {
        matches!(self.word(k), "omit" | "omitting" | "omits" | "omitted" | "eliminating")
            || self.word(k) == "leaving" && matches!(self.word(k + 1), "out" | "off")
    }

    /// "... (omit last ch 2 on final rep)": the bracket at the cursor speaks of the repeat before it.
    pub(super) fn bracketed_omission(&mut self, ops: &mut [Op], close: usize) -> bool {
        let words = close.saturating_sub(self.i);
        let Some(k) = (1..words.min(6)).find(|&k| self.omit_word(k)) else { return false };
        let end = std::mem::replace(&mut self.end, close);
        self.i += k;
        self.omits(ops);
        (self.i, self.end) = (close + 1, end);
        true
    }

    /// "on last rep, omit ch 2": the words before the omission start no repeat of their own.
    pub(super) fn announces_omission(&self) -> bool {
        let last = self.i.checked_sub(1).is_some_and(|k| self.t[k].any(&["last", "final"]));
        last && (self.omit_word(1) || self.stop_at(1, ',') && self.omit_word(2))
    }

    /// "omitting the last ch 2 (in the last rep)" after a repeat.
    pub(super) fn omits(&mut self, ops: &mut [Op]) -> bool {
        if !self.omit_word(0) {
            return false;
        }
        let start = self.i;
        self.i += self.skip_words(1, &["out", "off", "the", "last", "final", "very", "ending"]);
        let omitted = self.omitted();
        self.i += self.skip_words(0, &WHERE);
        let repeat = ops.iter_mut().rev().take(2).find_map(|op| match &mut op.act {
            Do::Repeat(repeat) => Some(repeat),
            _ => None,
        });
        let cut = repeat.as_ref().and_then(|r| tail(&r.ops, &omitted));
        match (repeat, cut) {
            (Some(repeat), Some(cut)) => repeat.cut = Some(cut),
            _ => self.unread.push(self.since(start)),
        }
        true
    }

    /// What is left out, with the cursor moved past it.
    fn omitted(&mut self) -> Vec<Op> {
        let stop = |k: usize| {
            self.t[k].is_stop()
                || matches!(self.t[k].kind, Kind::Close | Kind::Open | Kind::Star(_))
                || self.t[k].any(&["on", "at", "from", "for"])
                || self.t[k].any(&["in", "of"])
                    && self.t.get(k + 1).is_some_and(|t| t.any(&["the", "last", "final"]))
        };
        let end = (self.i..self.end).find(|&k| stop(k)).unwrap_or(self.end);
        let dash = usize::from(self.at(1).is_some_and(|t| t.kind == Kind::Dash));
        let chain = matches!(self.word(0), "ch" | "chain");
        if let Some(n) = self.at(1 + dash).and_then(|t| t.number()).filter(|_| chain) {
            // "omitting last ch-2 (sp)" names the space by its chain.
            let start = self.i;
            self.i = end;
            let (act, span) = (Do::Chain { links: n, counts: None }, self.since(start));
            return vec![Op { act, span }];
        }
        let whole = std::mem::replace(&mut self.end, end);
        let ops = self.ops();
        self.end = whole;
        ops
    }
}

/// Where in the pass `omitted` begins, when only skips follow it: they reach for the next pass.
fn tail(pass: &[Op], omitted: &[Op]) -> Option<usize> {
    if omitted.is_empty() {
        return None;
    }
    let skips = pass.iter().rev().take_while(|op| matches!(op.act, Do::Skip(_))).count();
    let ends = [pass.len(), pass.len() - skips];
    let begins = ends.iter().filter_map(|end| end.checked_sub(omitted.len()));
    let alike = |k: &usize| pass[*k..].iter().zip(omitted).all(|(a, b)| same(a, b));
    begins.filter(|&k| k > 0).find(alike)
}

fn same(worked: &Op, omitted: &Op) -> bool {
    match (&worked.act, &omitted.act) {
        (Do::Chain { links, .. }, Do::Chain { links: n, .. }) => n == links || *n == 1,
        (Do::Work { act, .. }, Do::Work { act: named, .. }) => act == named,
        (Do::OnePlace(..), Do::Work { .. } | Do::OnePlace(..)) => true,
        (Do::Skip(_), Do::Skip(_)) => true,
        _ => false,
    }
}
