//! Rows of a stitch pattern written out before the piece is begun: "Mesh pattern: Row 1 ..., Row 2 ...", then
//! "cast on 64 sts, knit 4 rows, work in mesh pattern until ...".
//!
//! They belong where the piece first works them, and are put there.

use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Row;
use super::syntax::Until;
use super::token::Kind;
use super::token::cut;
use super::until::until;

/// Longest words that may name a stitch pattern, bytes.
const LONGEST_NAME: usize = 80;

/// Words for any stitch pattern.
const ANY: [&str; 11] =
    ["pattern", "patt", "pat", "stitch", "st", "sts", "the", "main", "body", "chart", "written"];

/// A stitch pattern: the words of its name that are its own, and its rows' places among the items.
struct Named {
    own: Vec<String>,
    rows: Vec<usize>,
    last: u32,
}

/// Puts the rows of stitch patterns where `items`, read from `lower`, first work them.
pub(super) fn moved(items: &mut Vec<Item>, lower: &str) {
    let Some(begun) = items.iter().position(founds) else { return };
    let named = gather(&items[..begun], lower);
    let mut calls: Vec<(usize, usize, Again)> = Vec::new();
    for (of, pattern) in named.iter().enumerate() {
        // Rows numbered in the piece itself are what working in pattern means there.
        let numbered = |item: &Item| matches!(item, Item::Row(row) if numbers(row).is_some());
        let alone = named.len() == 1;
        let call = (begun..items.len()).take_while(|&k| !numbered(&items[k])).find_map(|k| {
            let again = call(&items[k], pattern, alone, lower)?;
            Some((k, of, again))
        });
        calls.extend(call);
    }
    calls.sort_by_key(|&(at, ..)| at);
    let placed: Vec<usize> = calls.iter().map(|&(_, of, _)| of).collect();
    for (at, of, again) in calls.into_iter().rev() {
        place(items, at, &named[of], again);
    }
    for pattern in placed.into_iter().map(|of| &named[of]) {
        for &k in &pattern.rows {
            if let Item::Row(row) = &items[k] {
                items[k] = Item::Remark(row.span);
            }
        }
    }
}

/// The stitch patterns written out in `items`.
fn gather(items: &[Item], lower: &str) -> Vec<Named> {
    let mut found: Vec<Named> = Vec::new();
    for (k, item) in items.iter().enumerate() {
        let Item::Row(row) = item else { continue };
        let Some(last) = numbers(row) else { continue };
        let first = matches!(&row.heading.numbers, Numbers::Listed(all) if all[0] == 1)
            || matches!(row.heading.numbers, Numbers::Range(1, _));
        if first && let Some(own) = name_before(&items[..k], lower) {
            found.push(Named { own, rows: vec![k], last });
        } else if let Some(pattern) = found.last_mut() {
            pattern.rows.push(k);
            pattern.last = pattern.last.max(last);
        }
    }
    found
}

/// The name that stands last before a pattern's first row.
fn name_before(items: &[Item], lower: &str) -> Option<Vec<String>> {
    let span = match items.last()? {
        Item::Section { span, .. } | Item::Remark(span) => *span,
        Item::Row(_) => return None,
    };
    let words = lower.get(span.range()).filter(|words| words.len() < LONGEST_NAME)?;
    let t = cut(words, 0);
    let name = t.iter().take_while(|t| t.kind != Kind::Open && t.kind != Kind::Stop(':'));
    let name: Vec<&str> = name.filter(|t| t.kind == Kind::Word).map(|t| t.text).collect();
    let names =
        name.len() < 6 && name.iter().any(|w| ANY.contains(w) || *w == "lace" || *w == "rib");
    names.then(|| name.iter().filter(|w| !ANY.contains(w)).map(|w| (*w).to_owned()).collect())
}

/// The item's words ask for the pattern, by its own name or, when it is the page's only one, as "the pattern".
fn call(item: &Item, pattern: &Named, alone: bool, lower: &str) -> Option<Again> {
    let span = match item {
        Item::Row(row) => row.span,
        Item::Remark(span) => *span,
        Item::Section { .. } => return None,
    };
    let words = cut(lower.get(span.range())?, 0);
    let said = |own: &String| words.iter().any(|t| t.is(own));
    let any = words.iter().any(|t| t.any(&["pattern", "patt", "pat"]));
    let named = !pattern.own.is_empty() && pattern.own.iter().all(said);
    if !(named || any && alone) {
        return None;
    }
    let own = |rows: &AgainRows| match rows {
        AgainRows::All | AgainRows::Named(_) => true,
        AgainRows::Numbers(all) => all.iter().all(|&(a, b)| a.max(b) <= pattern.last),
        _ => false,
    };
    match item {
        Item::Row(Row { content: Content::Again(again), .. }) => {
            own(&again.rows).then(|| again.clone())
        }
        // "Work in mesh pattern until the piece measures 20 cm": a name that only this page knows.
        Item::Remark(_) => {
            let verb =
                words.first()?.any(&["work", "working", "cont", "continue", "knit", "then", "now"]);
            let until = until(&words, 0).filter(|_| verb && named && words.len() < 40)?;
            Some(Again::of(AgainRows::All, until))
        }
        _ => None,
    }
}

/// Puts the pattern's rows before the item at `at`, which then works them as often as `again` says, less once.
fn place(items: &mut Vec<Item>, at: usize, pattern: &Named, again: Again) {
    let rows: Vec<Item> = pattern.rows.iter().map(|&k| items[k].clone()).collect();
    let whole = AgainRows::Numbers(vec![(1, pattern.last)]);
    let until = match again.until {
        Until::Times(n) => Until::Times(n.saturating_sub(1)),
        Until::Rows(n) => Until::Rows(n.saturating_sub(pattern.last)),
        until => until,
    };
    let called = matches!(again.rows, AgainRows::Numbers(_));
    let again = Again { until, rows: if called { again.rows } else { whole }, ..again };
    match &mut items[at] {
        Item::Row(row) => row.content = Content::Again(again),
        item => {
            let span = if let Item::Remark(span) = item { *span } else { return };
            let heading = Heading { numbers: Numbers::Step, span, ..Heading::default() };
            let content = Content::Again(again);
            let (counts, unread) = (Vec::new(), Vec::new());
            *item = Item::Row(Row {
                heading,
                content,
                until: None,
                evenly: None,
                counts,
                unread,
                span,
            });
        }
    }
    items.splice(at..at, rows);
}

/// The highest number in a row's heading.
fn numbers(row: &Row) -> Option<u32> {
    match &row.heading.numbers {
        Numbers::Listed(all) => all.iter().copied().max(),
        Numbers::Range(_, last) => Some(*last),
        Numbers::Parity { from } => Some(*from),
        _ => None,
    }
}

/// The item begins the piece.
fn founds(item: &Item) -> bool {
    let Item::Row(row) = item else { return false };
    let Content::Work(ops) = &row.content else { return false };
    ops.iter().take(3).any(|op| match op.act {
        Do::CastOn(_) | Do::MagicRing => true,
        Do::Chain { links, .. } => links > 7,
        _ => false,
    })
}
