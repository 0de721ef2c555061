//! Chains, and what the page says they count as.

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Counts;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Style;
use super::token::Kind;
use super::vocabulary::height_at;

impl Reader<'_> {
    /// `ch 3`, `chain 3`, `ch-3`, `make a chain of 100`; a bare `ch` is one link.
    pub(super) fn make_chain(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        if self.open_number(ops) {
            return true;
        }
        let dash = usize::from(self.at(1).is_some_and(|t| t.kind == Kind::Dash));
        let marked = self.stop_at(1, '.') || self.stop_at(1, ':');
        let dash = dash + usize::from(marked && self.at(2).is_some_and(|t| t.number().is_some()));
        let lead =
            1 + dash + self.skip_words(1 + dash, &["of", "about", "a", "foundation", "another"])
                - (1 + dash);
        let (n, used) = match self.count_at(lead) {
            Some((n, 1)) if self.ordinal_at(lead).is_none() => (n, lead + 1),
            _ => (1, 1),
        };
        if dash > 0 && matches!(self.word(used), "sp" | "space" | "loop" | "sps" | "spaces" | "lp")
        {
            return false;
        }
        self.i += used;
        // "Foundation chain: 192 ch": the noun once more.
        if marked && matches!(self.word(0), "ch" | "chs" | "chains") {
            self.i += 1;
        }
        let mut n = n;
        if let Some((extra, used)) = self.added().or_else(|| self.added_in_bracket()) {
            n = n.saturating_add(extra);
            self.i += used;
        }
        if matches!(self.word(0), "st" | "sts" | "stitches") {
            self.i += 1;
        }
        self.chain(ops, n, start);
        true
    }

    /// "+ 2", "plus 3 for turning" after a number of chains: the links added, and the tokens.
    pub(super) fn added(&self) -> Option<(u32, usize)> {
        let plus = self.at(0)?.kind == Kind::Other('+') || self.word(0) == "plus";
        let n = self.at(1).filter(|_| plus)?.number()?;
        // "120 + 3 (123)" tells the sum besides.
        Some((n, 2 + self.skip_words(2, &["for", "the", "turning", "turn", "chain", "more"]) - 2))
    }

    /// "(+1 for turning)", "(plus 2 for turning: 56 in all)" after a number of chains: as [`Self::added`].
    fn added_in_bracket(&self) -> Option<(u32, usize)> {
        let close = self.closing()? - self.i;
        let plus = self.at(1)?.kind == Kind::Other('+') || self.word(1) == "plus";
        let n = self.at(2).filter(|_| plus)?.number().filter(|n| (1..9).contains(n))?;
        let turns = (3..close).any(|k| matches!(self.word(k), "turning" | "turn" | "base"));
        turns.then_some((n, close + 1))
    }

    /// A run of `n` links, with a statement that follows without brackets.
    pub(super) fn chain(&mut self, ops: &mut Vec<Op>, n: u32, start: usize) {
        self.push(ops, Do::Chain { links: n, counts: None }, start);
        if self.word(0) == "for" && self.word(1) == "first" {
            self.i += 1;
            self.state(ops, Counts::Stitch(None));
            self.i += 1 + height_at(self.cx, self.t, self.i + 1).map_or(1, |(_, n)| n);
        }
    }

    /// A bracket that states what a turning chain counts as.
    pub(super) fn statement(&mut self, ops: &mut Vec<Op>, close: usize) -> bool {
        let words = self.i + 1..close;
        let says = |w: &str| words.clone().any(|k| self.t[k].is(w));
        let marks = |k: usize| self.t[k].kind == Kind::Other('=');
        let equals = self.i + 1 < close && marks(self.i + 1)
            || (says("ch") || says("chs")) && words.clone().any(marks);
        if !(says("count") || says("counts") || says("counted") || says("counting") || equals) {
            return false;
        }
        let counts = self.read_counts(self.i + 1, close);
        if words.clone().any(|k| self.t[k].any(&["tog", "together"])) {
            leg_of_decrease(ops);
        }
        self.i = close + 1;
        self.state(ops, counts);
        true
    }

    /// "counts as first dc" with no bracket round it.
    pub(super) fn loose_statement(&mut self, ops: &mut Vec<Op>) -> bool {
        let mut stop = self.i;
        while stop < self.end && !self.t[stop].is_stop() && self.t[stop].kind != Kind::Close {
            stop += 1;
        }
        if !(self.i..stop).any(|k| self.t[k].any(&["count", "counts", "counting"])) {
            return false;
        }
        let counts = self.read_counts(self.i, stop);
        self.i = stop;
        self.state(ops, counts);
        true
    }

    /// Attaches a statement to the chain it follows.
    pub(super) fn state(&self, ops: &mut Vec<Op>, said: Counts) {
        if let Some(Do::Chain { counts, .. }) = ops
            .iter_mut()
            .rev()
            .take(3)
            .map(|op| &mut op.act)
            .find(|a| matches!(a, Do::Chain { .. }))
        {
            *counts = Some(said);
        } else if let Some(op) = ops.last() {
            let span = op.span;
            ops.push(Op { act: Do::Stated(said), span });
        }
    }

    /// Reads a statement between two token indices.
    pub(super) fn read_counts(&self, from: usize, to: usize) -> Counts {
        if (from..to).any(|k| self.t[k].any(&super::rules::NOT)) {
            return Counts::No;
        }
        // "(counts as dc2tog)": the chain is a leg of that decrease, and no stitch of its own.
        let together = |k: &usize| self.t[*k].any(&["tog", "together"]);
        if (from..to).any(|k| together(&k)) {
            return Counts::No;
        }
        let height = (from..to).find_map(|k| height_at(self.cx, self.t, k).map(|(h, _)| h));
        let chain =
            (from..to).find(|&k| self.t[k].any(&["ch", "chain", "sp", "space"]) && k > from + 2);
        let plus = (from..to)
            .any(|k| self.t[k].is("and") || matches!(self.t[k].kind, Kind::Other('+' | '&')));
        let after = height.is_some()
            && chain.is_some_and(|k| {
                (from..k).any(|j| height_at(self.cx, self.t, j).is_some())
                    && self
                        .t
                        .get(k + 1)
                        .is_some_and(|t| t.number().is_some() || t.kind == Kind::Dash)
                    || k > 1 && self.t[k - 1].number().is_some() && self.t[k - 2].is_stop()
            });
        match chain {
            Some(k) if plus || after => {
                let near = [k + 1, k + 2, k.saturating_sub(1)];
                let n = near.iter().filter(|&&j| j < to).find_map(|&j| self.t[j].number());
                Counts::StitchAndSpace(height, n.unwrap_or(1))
            }
            _ => Counts::Stitch(height),
        }
    }
}

/// "Ch 2, dc in next st (counts as dc2tog)": the chain stands on the first stitch as one leg of the decrease.
fn leg_of_decrease(ops: &mut [Op]) {
    if let [.., Op { act: Do::Chain { .. }, .. }, Op { act: Do::Work { act, each: 1, place }, .. }] =
        ops
        && let Act::Post(height, Style::Plain) = *act
        && place.extent == Extent::Next(1)
    {
        *act = Act::Together(height, 2, Style::Plain);
        place.extent = Extent::Bare(1);
    }
}
