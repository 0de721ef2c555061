//! Shaping by a schedule: "inc 1 st each end of every 4th row 10 times".

use super::fabric::named_fabric;
use super::heading::count;
use super::heading::ordinal_number;
use super::syntax::Fabric;
use super::syntax::Shaped;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;
use super::until::until;
use crate::source::Span;

/// The schedule a sentence gives, if it gives one.
pub(super) fn shaped(t: &[Token<'_>]) -> Option<Shaped> {
    let mut change = (0, 0);
    let mut at = None;
    for k in 0..t.len() {
        if let Some((n, (beginning, end), after)) = clause(t, k) {
            at = at.or(Some(k));
            change.0 += if beginning { n } else { 0 };
            change.1 += if end { n } else { 0 };
            let _ = after;
        }
    }
    let at = at?;
    let worked = |t: &Token<'_>| {
        t.number().is_some() && t.glued || matches!(t.kind, Kind::Star(_) | Kind::Other('='))
    };
    if t[..at].iter().any(worked) || t.iter().any(|t| t.kind == Kind::Other('=')) {
        return None;
    }
    let (every, place) = every(&t[at..]).unwrap_or((1, t.len() - at));
    let first = first(&t[at..at + place]);
    let single = place == t.len() - at;
    // "Knit 9 rows, increasing 1 st at each end of every RS row"
    let then = t[..at].iter().any(|t| t.any(&["then", "next"]));
    let lasting = super::fabric::rows_said(&t[..at]).filter(|_| !single && !then);
    let said = until(t, at).or_else(|| to_stitches(&t[at..])).or_else(|| lasting.map(Until::Rows));
    let until =
        said.unwrap_or(if single || first == Some(1) { Until::Times(1) } else { Until::Open });
    let told = lasting.and_then(|_| named_fabric(&t[..at], true));
    let fabric = told.or_else(|| named_fabric(t, false)).unwrap_or(Fabric::Established);
    let side = side_told(&t[at + place..]).filter(|_| first.is_none());
    let first = first.unwrap_or(if single { 1 } else { every });
    Some(Shaped { fabric, change, first, side, every, until })
}

/// "Work 6 rows in garter st, continuing to increase as set on RS rows": the rows so worked, and the words of the
/// fabric, which the rows worked on do not take.
pub(super) fn shaped_on(t: &[Token<'_>]) -> Option<(u32, Span)> {
    const CHANGES: [&str; 6] = ["increase", "increasing", "inc", "decrease", "decreasing", "dec"];
    let has = |words: &[&str]| t.iter().any(|t| t.any(words));
    let set =
        t.windows(2).any(|w| w[0].is("as") && w[1].any(&["set", "established", "est", "before"]));
    let on = has(&["continuing", "cont", "continue", "still", "keeping"]);
    let change = t.iter().position(|t| t.any(&CHANGES))?;
    let numbered = t.get(change + 1).is_some_and(|t| t.number().is_some());
    let comma = t[..change].iter().rposition(|t| matches!(t.kind, Kind::Stop(_)))?;
    let rows = super::fabric::rows_said(&t[..comma])?;
    named_fabric(&t[..comma], true)?;
    let worked = t.first()?.any(&["work", "knit", "k"]);
    (set && on && worked && !numbered && comma > 0).then(|| (rows, t[0].span.to(t[comma - 1].span)))
}

/// "inc 1 st at each end": the change, and whether it stands at the beginning and at the end of a row.
fn clause(t: &[Token<'_>], k: usize) -> Option<(i32, (bool, bool), usize)> {
    const MORE: [&str; 3] = ["inc", "increase", "increasing"];
    const FEWER: [&str; 3] = ["dec", "decrease", "decreasing"];
    let sign = if t.get(k)?.any(&MORE) {
        1
    } else if t[k].any(&FEWER) {
        -1
    } else {
        return None;
    };
    let (n, used) = count(t, k + 1)?;
    let noun = k + 1 + used;
    t.get(noun).filter(|t| t.any(&["st", "sts", "stitch", "stitches"]))?;
    let mut j = noun + 1;
    while t.get(j).is_some_and(|t| t.any(&["at", "the", "on", "in"])) {
        j += 1;
    }
    let side = |j: usize| {
        t.get(j).is_some_and(|t| t.any(&["end", "ends", "side", "sides", "edge", "edges"]))
    };
    let ends = if t.get(j)?.any(&["each", "both", "either"]) && side(j + 1) {
        (true, true)
    } else if t[j].any(&["beg", "beginning", "start"]) && !end_besides(t, j + 1) {
        (true, false)
    } else if t[j].is("end") {
        (false, true)
    } else if t[j].any(&["beg", "beginning", "start"]) {
        (true, true)
    } else {
        return None;
    };
    Some((sign * n.min(99) as i32, ends, j + 1))
}

/// "and (at the) end" at `k`, and no change of its own: "inc 1 st at beg and dec 1 st at end" is none.
fn end_besides(t: &[Token<'_>], k: usize) -> bool {
    let fill = |t: &&Token<'_>| t.any(&["at", "the"]);
    let and = t.get(k).is_some_and(|t| t.is("and") || t.kind == Kind::Other('&'));
    let noun = k + 1 + t[(k + 1).min(t.len())..].iter().take_while(fill).count();
    and && t.get(noun).is_some_and(|t| t.any(&["end", "ends"]))
}

/// "every RS row", "on WS rows": whether the right side is shaped, where the words tell.
fn side_told(t: &[Token<'_>]) -> Option<bool> {
    let side = t.iter().take(6).find(|t| t.any(&["rs", "ws", "right", "wrong"]))?;
    Some(side.any(&["rs", "right"]))
}

/// "every foll 4th row", "every other row", "every RS row": rows from one to the next, and the index.
pub(super) fn every(t: &[Token<'_>]) -> Option<(u32, usize)> {
    let at = t.iter().position(|t| t.any(&["every", "each"]) && !t.any(&["end", "side"]))?;
    for k in at..t.len() {
        if !t[k].any(&["every", "each"]) {
            continue;
        }
        let mut j = k + 1;
        while t.get(j).is_some_and(|t| t.any(&["foll", "following", "foll'g", "subsequent"])) {
            j += 1;
        }
        let token = t.get(j)?;
        let n = match ordinal_number(t, j) {
            Some((n, after)) if t.get(after).is_some_and(is_row) => Some(n),
            _ if token.any(&[
                "other",
                "alt",
                "alternate",
                "rs",
                "ws",
                "right",
                "wrong",
                "knit",
            ]) =>
            {
                Some(2)
            }
            _ if is_row(token) => Some(1),
            _ => None,
        };
        if let Some(n) = n {
            return Some((n.max(1), k));
        }
    }
    None
}

/// "next and every", "3rd and every": the first shaping row.
fn first(t: &[Token<'_>]) -> Option<u32> {
    (0..t.len()).rev().find_map(|k| match ordinal_number(t, k) {
        Some((n, _)) => Some(n),
        None => t[k].any(&["next", "this"]).then_some(1),
    })
}

fn is_row(t: &Token<'_>) -> bool {
    t.any(&["row", "rows", "rnd", "rnds", "round", "rounds"])
}

/// "to 41 sts".
fn to_stitches(t: &[Token<'_>]) -> Option<Until> {
    let w = t.windows(3).find(|w| w[0].is("to") && w[2].any(&["sts", "stitches"]))?;
    w[1].number().map(Until::Stitches)
}
