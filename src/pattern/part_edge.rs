//! Borders told along some sides of the piece and round the corners between them.
//!
//! A border goes all round, or is picked up along one side at a time. One that turns a corner and stops
//! is neither, and must not be worked as a row on the last one: its words are refused.

use super::fault::fault;
use super::fault::row_name;
use super::syntax::Content;
use super::syntax::Item;
use super::token::Kind;
use super::token::Token;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::source::Span;

/// How a remark begins that asks for work.
const ASKS: [&str; 14] = [
    "work", "sc", "hdc", "dc", "tr", "htr", "crochet", "knit", "pick", "border", "edging", "edge",
    "add", "join",
];

/// Takes such borders out of the work, each with a fault that says so.
pub(super) fn refuse(items: &mut [Item], lower: &str, out: &mut Vec<Diagnostic>) {
    let mut begun = false;
    for item in items {
        let (span, name) = match item {
            Item::Row(row) => (row.span, row_name(&row.heading)),
            Item::Remark(span) if begun => (*span, "the page".to_owned()),
            _ => continue,
        };
        begun = true;
        let tokens = super::token::cut(&lower[span.range()], span.start);
        // What instructs begins with the work; chat about a border does not.
        let asked = matches!(item, Item::Row(_))
            || tokens.iter().find(|t| t.kind == Kind::Word).is_some_and(|t| t.any(&ASKS));
        let Some(words) = three_sides(&tokens).filter(|_| asked && worked(&tokens)) else {
            continue;
        };
        if let Item::Row(row) = item {
            row.content = Content::Work(Vec::new());
            row.unread.clear();
        }
        if out.last().is_some_and(|told| told.primary.span == words) {
            // The row stands for a second one too.
            continue;
        }
        let shown = lower[words.range()].split_whitespace().collect::<Vec<_>>().join(" ");
        out.push(
            fault("border-in-part", Severity::Error, words)
                .says("a border along three sides of the piece cannot be read; it is left out")
                .expects(
                    "a border all the way round, or a row along one side",
                    &format!("`{shown}`"),
                    "write `sc evenly around`, or one row for each side: `sc evenly along the left side`",
                )
                .row(&name)
                .done(),
        );
    }
}

/// The words tell of work, and not of seams or of how the piece lies.
fn worked(t: &[Token<'_>]) -> bool {
    const WORK: [&str; 12] = [
        "work", "sc", "hdc", "dc", "tr", "htr", "crochet", "knit", "pick", "border", "edging",
        "edge",
    ];
    const SEWN: [&str; 8] = ["sew", "seam", "seams", "sewing", "block", "pin", "fold", "weave"];
    t.iter().any(|t| t.any(&WORK)) && !t.iter().any(|t| t.any(&SEWN))
}

/// The words that name three sides of a piece that has four.
fn three_sides(t: &[Token<'_>]) -> Option<Span> {
    const SIDES: [&str; 6] = ["side", "sides", "edge", "edges", "end", "ends"];
    const LEFT_OUT: [&str; 5] = ["leave", "leaving", "omit", "omitting", "except"];
    let three = t
        .windows(2)
        .find(|w| (w[0].number() == Some(3) || w[0].is("three")) && w[1].any(&["sides", "edges"]));
    if let Some(w) = three {
        return Some(w[0].span.to(w[1].span));
    }
    let mut named = [0, 0];
    let mut words: Option<Span> = None;
    for (k, w) in t.windows(2).enumerate() {
        let Some(way) = ["long", "short"].iter().position(|way| w[0].is(way)) else { continue };
        let before = &t[k.saturating_sub(4)..k];
        let left_out = before.iter().any(|t| t.any(&LEFT_OUT));
        // A "long end" is one of yarn.
        if !w[1].any(&SIDES) || left_out || way == 0 && w[1].any(&["end", "ends"]) {
            continue;
        }
        let two = w[1].text.ends_with('s')
            || before.iter().rev().take(2).any(|t| t.any(&["both", "two", "each"]));
        named[way] += if two { 2 } else { 1 };
        let here = t[k.saturating_sub(1)].span.to(w[1].span);
        words = Some(words.map_or(here, |first| first.to(here)));
    }
    words.filter(|_| matches!(named, [2, 1] | [1, 2]))
}
