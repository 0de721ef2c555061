//! Printed counts: `(42 sts)`, `- 20 dc, 19 ch-1 sps`, `you will have 60 sts`.

use super::reader::Reader;
use super::syntax::CountNote;
use super::syntax::Noun;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::height_at;

/// Words for the spaces of a row.
const SPACES: [&str; 8] = ["sp", "sps", "space", "spaces", "loops", "lps", "mesh", "meshes"];

impl Reader<'_> {
    /// "4 sts inc", "2 sts decreased": what the row adds, which its stitches say already. Whether the
    /// tokens `from..to` hold nothing else.
    fn change_note(&self, from: usize, to: usize) -> bool {
        const CHANGED: [&str; 12] = [
            "inc",
            "incd",
            "increase",
            "increases",
            "increased",
            "dec",
            "decd",
            "decrease",
            "decreases",
            "decreased",
            "d",
            "made",
        ];
        const NOUN: [&str; 4] = ["st", "sts", "stitch", "stitches"];
        let words = &self.t[from.min(to)..to];
        let numbered = |t: &super::token::Token<'_>| {
            t.number().is_some() || super::reader::number_word(t.text).is_some()
        };
        words.first().is_some_and(numbered)
            && words[1..].iter().any(|t| t.any(&CHANGED[..10]))
            && words[1..].iter().all(|t| {
                t.any(&CHANGED)
                    || t.any(&NOUN)
                    || t.any(&["been", "have", "has", "are", "is", "more", "each", "total", "row"])
                    || matches!(t.kind, Kind::Other(_) | Kind::Stop(','))
            })
    }

    /// A bracket holding nothing but counts: `(42 sts)`, `[20]`, `(12/16/20)`.
    pub(super) fn bracket_count(&mut self, close: usize) -> bool {
        // "{+1}", "(-2 sts)": a change too.
        let signed = matches!(self.t[self.i + 1].kind, Kind::Other('+') | Kind::Dash)
            && self
                .t
                .get(self.i + 2)
                .is_some_and(|t| t.glued && t.number().is_some_and(|n| n < 20))
            && self.count_parts(self.i + 2, close).is_some_and(|parts| parts.len() == 1);
        if signed || self.change_note(self.i + 1, close) {
            self.i = close + 1;
            return true;
        }
        let start = self.i;
        let Some(parts) = self.count_parts(self.i + 1, close) else { return false };
        self.i = close + 1;
        let span = self.since(start);
        self.counts.push(CountNote { parts, span });
        true
    }

    /// A count with no bracket at the end of the row: `- 42 sts`, `= 60 tr`, `42 sts.`
    pub(super) fn count_note(&mut self) -> bool {
        let start = self.i;
        let mut k = self.i;
        let signed = matches!(self.t[k].kind, Kind::Dash | Kind::Other('=' | '|' | '→'))
            && (!self.t[k].glued
                || k == 0
                || self.long_dash(k)
                || matches!(self.t[k].kind, Kind::Other('|' | '→')));
        // "– you will have 3 dc"
        let dash = usize::from(signed && self.t[k].kind == Kind::Dash);
        let spoken = self.match_at(
            dash,
            &[
                &["you", "will", "have"],
                &["you", "should", "have"],
                &["you", "now", "have"],
                &["you", "have"],
                &["there", "are"],
                &["total"],
                &["for", "a", "total", "of"],
                &["total", "of"],
                &["have"],
                &["still"],
            ],
        );
        k += spoken.map_or(usize::from(signed), |len| dash + len);
        let stop = (k..self.end)
            .find(|&j| {
                matches!(
                    self.t[j].kind,
                    Kind::Stop('.' | '\n' | ';') | Kind::Open | Kind::Other('!')
                )
            })
            .unwrap_or(self.end);
        if (signed || self.after_stop(start)) && self.change_note(k, stop) {
            self.i = stop;
            return true;
        }
        while self.t.get(k).is_some_and(|t| t.is("now") || t.is("a") || t.is("total") || t.is("of"))
        {
            k += 1;
        }
        if self.t.get(k).is_none_or(|t| t.number().is_none()) || k >= self.end {
            return false;
        }
        let last = (k..self.end)
            .find(|&j| {
                matches!(
                    self.t[j].kind,
                    Kind::Stop('.' | '\n' | ';') | Kind::Open | Kind::Other('!')
                )
            })
            .unwrap_or(self.end);
        let whole = last;
        let aside = (k..last)
            .find(|&j| self.t[j].any(&["including", "counting", "incl", "excluding", "not"]));
        let last = aside.map_or(last, |j| if self.t[j - 1].is_stop() { j - 1 } else { j });
        let named = self.at(1).is_some_and(|t| t.any(&["st", "sts", "stitch", "stitches"]));
        let closing = start > 0
            && match self.t[start - 1].kind {
                Kind::Stop('.' | '\n') => self.t[k].number().is_some_and(|n| {
                    n > 3 || n > 1 && last == self.end && self.sentence_before(start - 1)
                }),
                // "In each ch: 120 sc", "2 dc in next dc: 3 dc.", but not "in ring: 8 sc".
                Kind::Stop(':') => {
                    let ends = self.t.get(whole).is_none_or(Token::is_stop);
                    self.t[k].number().is_some_and(|n| n > 12)
                        || ends && self.names_stitch_before(start - 1)
                }
                _ => false,
            }
            && (self.t[start - 1].kind == Kind::Stop(':')
                || self.t[whole..self.end].iter().all(|t| {
                    t.is_stop() || t.number().is_some() || t.any(&["turn", "ch", "chain"])
                })
                || self.t.get(last).is_some_and(|t| t.kind == Kind::Open));
        // "... in next 2 ch. 1 block. Turn."
        let stop =
            |k: usize| self.t.get(k).is_none_or(|t| matches!(t.kind, Kind::Stop('.' | '\n')));
        let grouped = self.t.get(k + 1).is_some_and(|t| t.any(&super::again::GROUPS))
            && start > 0
            && stop(start - 1)
            && stop(k + 2);
        if !signed && spoken.is_none() && !named && !closing && !grouped {
            return false;
        }
        let chained = |j: usize| j > 0 && self.t[j - 1].any(&["ch", "v"]);
        let clean =
            !(k..last).any(|j| self.t[j].glued && self.t[j].kind == Kind::Dash && !chained(j));
        let Some(parts) = self.count_parts(k, last).filter(|_| clean) else { return false };
        if !signed && spoken.is_none() && !self.after_stop(start) {
            return false;
        }
        self.i = last;
        let span = self.since(start);
        self.i = whole;
        self.counts.push(CountNote { parts, span });
        true
    }

    /// What ends at the full stop `k` is work: "2 dc in last st.", "turn.", "(inc made)."
    fn sentence_before(&self, k: usize) -> bool {
        let before = k.checked_sub(1).map(|j| &self.t[j]);
        before.is_some_and(|t| t.is("turn") || t.kind == Kind::Close) || self.names_stitch_before(k)
    }

    /// The clause before token `k` names a stitch.
    fn names_stitch_before(&self, k: usize) -> bool {
        let from = self.t[..k].iter().rposition(Token::is_stop).map_or(0, |j| j + 1);
        (from..k).any(|j| super::vocabulary::stitch_at(self.cx, self.t, j).is_some())
    }

    /// A long dash sets a count off even with no space round it ("across—20 sc").
    fn long_dash(&self, k: usize) -> bool {
        matches!(self.t[k].text, "—" | "–" | "--")
            && k.checked_sub(1).is_some_and(|j| self.t[j].kind == Kind::Word)
    }

    pub(super) fn after_stop(&self, k: usize) -> bool {
        k == 0
            || matches!(self.t[k - 1].kind, Kind::Stop(_) | Kind::Close)
            || self.t[k - 1].is("turn")
    }

    /// `N noun` pairs that fill all tokens of `from..to`.
    pub(super) fn count_parts(&self, from: usize, to: usize) -> Option<Vec<(u32, Noun)>> {
        const PASS: [&str; 12] = [
            "total", "and", "in", "now", "made", "all", "of", "each", "rem", "remain", "on",
            "needle",
        ];
        let mut parts: Vec<(u32, Noun)> = Vec::new();
        let mut k = from;
        while k < to {
            match self.t[k].kind {
                Kind::Number(n) => {
                    let dash = usize::from(
                        self.t.get(k + 1).is_some_and(|t| t.kind == Kind::Dash && t.glued),
                    );
                    let (noun, len) = self.noun_at(k + 1 + dash, to);
                    k += 1 + dash + len;
                    // "14 groups of 3 dc"
                    let of = matches!(noun, Noun::Word(_)) && self.t[k.min(to - 1)].is("of");
                    if of && self.t.get(k + 1).is_some_and(|t| t.number().is_some()) {
                        k += 2 + self.noun_at(k + 2, to).1;
                    }
                    parts.push((n, noun));
                }
                Kind::Stop(_) | Kind::Dash | Kind::Other('/' | '=' | '&' | '+' | '|') => k += 1,
                Kind::Word if self.t[k].any(&PASS) => k += 1,
                // "(40 blocks on Row 40)"
                Kind::Word
                    if k > from
                        && self.t[k].any(&super::again::ROW)
                        && self
                            .t
                            .get(k + 1)
                            .is_some_and(|t| k + 1 < to && t.number().is_some()) =>
                {
                    k += 2;
                }
                Kind::Word
                    if !parts.is_empty()
                        && self.t[k].any(&["at", "the", "end", "by", "after", "this", "row"]) =>
                {
                    k += 1;
                }
                _ => return None,
            }
        }
        // "73 sts: 37 sc and 36 ch-sps" says the same twice.
        let rest: u32 = parts.iter().skip(1).fold(0, |sum, part| sum.saturating_add(part.0));
        if parts.len() > 2 && parts[0].1 == Noun::Stitches && parts[0].0 == rest {
            parts.remove(0);
        }
        (!parts.is_empty()).then_some(parts)
    }

    pub(super) fn noun_at(&self, k: usize, to: usize) -> (Noun, usize) {
        // "4 2ch-sps": spaces of two links.
        let run = |j: usize| self.t.get(j).is_some_and(|t| j < to && t.any(&["ch", "chain"]));
        if k < to && self.t[k].number().is_some() && run(k + 1) {
            let dash = usize::from(self.t.get(k + 2).is_some_and(|t| t.kind == Kind::Dash));
            let space = self.t.get(k + 2 + dash).filter(|_| k + 2 + dash < to);
            if space.is_some_and(|t| t.any(&["sp", "sps", "space", "spaces", "loops", "lps"])) {
                return (Noun::Spaces, 3 + dash);
            }
        }
        let Some(token) = self.t.get(k).filter(|t| k < to && t.kind == Kind::Word) else {
            return (Noun::Stitches, 0);
        };
        if token.any(&["st", "sts", "stitch", "stitches", "stiches", "loops", "total"]) {
            return (Noun::Stitches, 1);
        }
        if let Some((height, len)) = height_at(self.cx, self.t, k) {
            return (Noun::Posts(height), len);
        }
        let space = |j: usize| self.t.get(j).is_some_and(|t| j < to && t.any(&SPACES));
        if space(k) {
            return (Noun::Spaces, 1);
        }
        if token.any(&["ch", "chs", "chain", "chains"]) {
            let run = (k + 1..(k + 4).min(to)).find(|&j| space(j));
            return run.map_or((Noun::Chains, 1), |j| (Noun::Spaces, j + 1 - k));
        }
        let named = |j: usize| {
            let ends = ["on", "at", "in", "after", "by", "and", "each", "made", "of"];
            matches!(self.t[j].kind, Kind::Word | Kind::Dash) && !self.t[j].any(&ends)
        };
        let len = (k..to).take_while(|&j| named(j)).count().max(1);
        (Noun::Word(token.text.to_owned()), len.min(3))
    }
}
