//! Rows of a stitch pattern or of a chart in words that other rows call by its name: "k4, work Row 1 of Gull
//! Chart 3 times, k4".
//!
//! Such rows stand in a part of their own, before the piece is begun or after it ends, and are no rows of the
//! piece. What calls them holds their stitches in the place of their name.

use super::reader::Reader;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Repeat;
use super::syntax::Times;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use crate::source::Span;
use std::collections::BTreeMap;

/// A stitch pattern whose rows are called.
#[derive(Debug, Clone, Default)]
pub(crate) struct Called {
    /// The words of its name.
    name: Vec<String>,
    /// Its rows by number.
    rows: BTreeMap<u32, Vec<Op>>,
    /// Where its name and its rows stand.
    pub(super) span: Span,
}

/// Words for one thing.
fn plain(word: &str) -> &str {
    match word {
        "pat" | "patt" | "patterns" => "pattern",
        "sts" | "st" | "stitches" => "stitch",
        "charts" => "chart",
        word => word,
    }
}

/// The name in "row 3 of (the) NAME" at `k`, and the index after it.
fn name_called(t: &[Token<'_>], k: usize) -> Option<(Vec<String>, usize)> {
    const ENDS: [&str; 14] = [
        "to", "over", "across", "times", "once", "twice", "until", "and", "then", "on", "as", "as",
        "for", "in",
    ];
    t.get(k).filter(|t| t.any(&["of", "from"]))?;
    let begin = k + 1 + usize::from(t.get(k + 1).is_some_and(|t| t.is("the")));
    let word = |t: &&Token<'_>| t.kind == Kind::Word && !t.any(&ENDS) && !t.any(&super::again::ROW);
    let words: Vec<String> = t[begin.min(t.len())..]
        .iter()
        .take_while(word)
        .take(5)
        .map(|t| plain(t.text).to_owned())
        .collect();
    let end = begin + words.len();
    // "chart 3", but not "chart 3 times".
    (!words.is_empty()).then_some((words, end))
}

/// The page calls rows of a pattern or a chart by its name.
pub(super) fn calls(lower: &str) -> Vec<Vec<String>> {
    if !lower.contains(" of ") {
        return Vec::new();
    }
    let t = cut(lower, 0);
    let call = |k: usize| {
        let row = t[k].any(&["row", "rnd", "round"]) && t.get(k + 1)?.number().is_some();
        let work =
            t[k.saturating_sub(3)..k].iter().any(|t| t.any(&["work", "working", "foll", "follow"]))
                || k > 0 && (t[k - 1].is_stop() || t[k - 1].kind == Kind::Open);
        let (name, _) = name_called(&t, k + 2).filter(|_| row && work)?;
        let known = name.iter().any(|w| {
            matches!(w.as_str(), "chart" | "pattern" | "stitch" | "lace" | "panel" | "cable")
        });
        known.then_some(name)
    };
    let mut names: Vec<Vec<String>> = (0..t.len()).filter_map(call).collect();
    names.sort();
    names.dedup();
    names
}

/// The patterns called by `names` among what a first reading of the page found.
pub(super) fn gather(items: &[Item], names: &[Vec<String>], lower: &str) -> Vec<Called> {
    let mut found: Vec<Called> = Vec::new();
    let mut here: Option<Called> = None;
    for item in items {
        match item {
            Item::Section { name, span, .. } => {
                found.extend(here.take());
                here = named(&name.to_ascii_lowercase(), *span, names);
            }
            Item::Remark(span) => {
                let words = &lower[span.range()];
                if let Some(own) = named(words, *span, names).filter(|_| words.len() < 80) {
                    found.extend(here.take());
                    here = Some(own);
                }
            }
            Item::Row(row) => {
                let founds = matches!(&row.content, Content::Work(ops) if ops.iter().any(|op| {
                    matches!(op.act, Do::CastOn(_) | Do::MagicRing)
                        || matches!(op.act, Do::Chain { links, .. } if links > 7) && row.heading.numbers == Numbers::Step
                }));
                if founds {
                    // The piece itself begins here.
                    found.extend(here.take());
                }
                let Some(own) = &mut here else { continue };
                own.take(row);
                own.span = own.span.to(row.span);
            }
        }
    }
    found.extend(here);
    found.retain(|c| !c.rows.is_empty());
    found
}

/// The pattern that `words` name, when one of `names` is in them.
fn named(words: &str, span: Span, names: &[Vec<String>]) -> Option<Called> {
    let t = cut(words, 0);
    let own: Vec<String> =
        t.iter().filter(|t| t.kind == Kind::Word).map(|t| plain(t.text).to_owned()).collect();
    let called = names.iter().any(|name| name.iter().all(|w| own.contains(w)));
    let says = t.len() < 16 && t.last().is_none_or(|t| t.kind != Kind::Stop('.'));
    (called && says).then(|| Called { name: own, span, ..Called::default() })
}

impl Called {
    /// Takes a row in, or several alike, or rows worked again.
    fn take(&mut self, row: &super::syntax::Row) {
        let numbers: Vec<u32> = match &row.heading.numbers {
            Numbers::Listed(all) => all.clone(),
            Numbers::Range(a, b) if b - a < 400 => (*a..=*b).collect(),
            Numbers::Next if self.rows.is_empty() => vec![1],
            _ => return,
        };
        match &row.content {
            Content::Work(ops) => {
                for n in numbers {
                    self.rows.insert(n, ops.clone());
                }
            }
            Content::Again(again) => {
                let super::syntax::AgainRows::Numbers(blocks) = &again.rows else { return };
                let from: Vec<u32> = blocks
                    .iter()
                    .filter(|(a, b)| a <= b && b - a < 400)
                    .flat_map(|&(a, b)| a..=b)
                    .collect();
                for (k, n) in numbers.into_iter().enumerate().filter(|_| !from.is_empty()) {
                    if let Some(ops) = self.rows.get(&from[k % from.len()]).cloned() {
                        self.rows.insert(n, ops);
                    }
                }
            }
            _ => {}
        }
    }
}

/// The rows of called patterns are no rows of the piece.
pub(super) fn set_aside(items: &mut [Item], called: &[Called]) {
    for item in items {
        if let Item::Row(row) = item
            && called.iter().any(|c| c.span.start <= row.span.start && row.span.end <= c.span.end)
        {
            *item = Item::Remark(row.span);
        }
    }
}

impl Reader<'_> {
    /// "work Row 1 of Gull Chart 3 times" at the cursor: its stitches, so often.
    pub(super) fn called_row(&mut self, ops: &mut Vec<Op>) -> bool {
        if self.cx.called.is_empty() {
            return false;
        }
        let start = self.i;
        let lead =
            self.skip_words(0, &["work", "working", "follow", "foll", "as", "in", "pattern"]);
        if !matches!(self.word(lead), "row" | "rnd" | "round") {
            return false;
        }
        let Some(n) = self.at(lead + 1).and_then(|t| t.number()) else { return false };
        let t = &self.t[..self.end];
        let Some((name, end)) = name_called(t, self.i + lead + 2) else { return false };
        let called = self.cx.called.iter().find(|c| name.iter().all(|w| c.name.contains(w)));
        let Some(row) = called.and_then(|c| c.rows.get(&n)).cloned() else { return false };
        self.i = end;
        let open = row.iter().any(|op| {
            matches!(&op.act, Do::Repeat(r) if matches!(r.times, Times::ToEnd | Times::ToLast(_)))
        });
        let times = self.times();
        let span = self.since(start);
        let row = row.into_iter().map(|op| Op { span, ..op });
        match times {
            Some(times) if !(open && matches!(times, Times::ToEnd | Times::ToLast(_))) => {
                let repeat = Repeat {
                    ops: row.collect(),
                    cut: None,
                    times,
                    ending: Vec::new(),
                    within: false,
                };
                ops.push(Op { act: Do::Repeat(Box::new(repeat)), span });
            }
            // What follows says how many stitches its own repeat leaves.
            _ => ops.extend(row),
        }
        true
    }
}
