//! Rows that go on as set, and the edges they keep: "work as set, keeping 5 sts at each end in garter st".

use super::header::CraftWord;
use super::row::RowReader;
use super::slips_across::without_goal;
use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Numbers;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;

impl RowReader<'_> {
    /// The words without those that tell nothing of the stitches.
    pub(super) fn plainly<'t>(&self, t: Vec<Token<'t>>) -> Vec<Token<'t>> {
        let t = without_kept(self.without_changes(t));
        if self.cx.craft == CraftWord::Crochet { without_goal(t) } else { t }
    }
}

/// The words without clauses that only keep what rows worked on as set have at their edges.
fn without_kept(t: Vec<Token<'_>>) -> Vec<Token<'_>> {
    const SET: [&str; 6] = ["set", "established", "pattern", "patt", "before", "est"];
    let Some(set) = t.iter().position(|t| t.any(&SET)) else { return t };
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(t.len());
    let mut k = 0;
    while k < t.len() {
        match kept_clause(&t, k).filter(|_| k > set) {
            Some(end) => k = end,
            None => {
                kept.push(t[k]);
                k += 1;
            }
        }
    }
    kept
}

/// One past the clause that begins at `k`, where it keeps edges: "keeping garter borders", "with first and last
/// 5 sts in garter st". A length or number of rows after it is none of its words.
fn kept_clause(t: &[Token<'_>], k: usize) -> Option<usize> {
    const KEEPS: [&str; 6] = ["keeping", "keep", "maintaining", "maintain", "working", "with"];
    const EDGES: [&str; 10] =
        ["edge", "edges", "border", "borders", "end", "ends", "side", "sides", "first", "last"];
    t[k].any(&KEEPS).then_some(())?;
    let ends = |t: &Token<'_>| {
        matches!(t.kind, Kind::Stop('.' | ',' | ';' | '\n')) || t.any(&["until", "till", "for"])
    };
    let end = k + 1 + t[k + 1..].iter().position(ends).unwrap_or(t.len() - k - 1);
    let words = &t[k + 1..end];
    let has = |list: &[&str]| words.iter().any(|t| t.any(list));
    (has(&["garter", "gst"]) && has(&EDGES)).then_some(end)
}

/// "Continue increasing as set": the word after "continue".
pub(super) fn shapes_on(t: &[Token<'_>]) -> bool {
    t[0].any(&["cont", "continue"])
        && t[1].any(&["increasing", "decreasing", "shaping", "incs", "decs"])
        && t.get(2).is_some_and(|t| t.any(&["as", "in"]))
}

/// "Working 1 more st between increases": how many more.
pub(super) fn more_between(t: &[Token<'_>]) -> u8 {
    let Some(at) = t.iter().position(|t| t.is("between")) else { return 0 };
    let shaped = ["increase", "increases", "inc", "incs", "increasings"];
    if !t[at..].iter().take(4).any(|t| t.any(&shaped)) {
        return 0;
    }
    let more = t[..at].iter().rposition(|t| t.any(&["more", "extra", "additional"]));
    let told = more.and_then(|k| {
        let n = |t: &Token<'_>| t.number().or_else(|| super::reader::number_word(t.text));
        k.checked_sub(1).and_then(|j| if t[j].any(&["an", "a"]) { Some(1) } else { n(&t[j]) })
    });
    told.unwrap_or(0).min(99) as u8
}

/// "Rows 5-12: work as set", "continue increasing 8 sts each row in this way": nothing but that the rows so far go
/// on, as many as the heading says.
pub(super) fn goes_on(t: &[Token<'_>], numbers: &Numbers) -> Option<Content> {
    const WORDS: [&str; 30] = [
        "continue",
        "cont",
        "work",
        "working",
        "in",
        "the",
        "patt",
        "pattern",
        "pat",
        "as",
        "set",
        "established",
        "est",
        "before",
        "even",
        "straight",
        "increasing",
        "decreasing",
        "this",
        "same",
        "way",
        "manner",
        "st",
        "sts",
        "stitches",
        "each",
        "every",
        "row",
        "round",
        "rnd",
    ];
    let several = matches!(numbers, Numbers::Range(..) | Numbers::Several(_) | Numbers::Listed(_));
    let has = |list: &[&str]| t.iter().any(|t| t.any(list));
    let way = has(&["way", "manner", "increasing"]);
    let on = way || has(&["set", "established", "est", "before"]);
    // A count at the end is no word of it.
    let end = t.iter().position(|t| t.kind == Kind::Open).unwrap_or(t.len());
    let only = t[..end].iter().all(|t| t.any(&WORDS) || t.is_stop() || t.number().is_some());
    let rows = if way { AgainRows::Last(2) } else { AgainRows::All };
    (several && on && only)
        .then(|| Content::Again(Again { way, ..Again::of(rows, Until::Heading) }))
}
