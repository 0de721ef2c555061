//! Stitches more or fewer spread over a row: "knit 8 rows, inc 2 sts evenly across last row".

use super::heading::count;
use super::syntax::Evenly;
use super::token::Kind;
use super::token::Token;

const MORE: [&str; 4] = ["inc", "increase", "increasing", "increases"];
const FEWER: [&str; 4] = ["dec", "decrease", "decreasing", "decreases"];

/// The first clause that spreads a change over a row: its tokens and what it asks for.
pub(super) fn evenly(t: &[Token<'_>]) -> Option<(std::ops::Range<usize>, Evenly)> {
    (0..t.len()).find_map(|k| clause(t, k))
}

/// The words without such a clause.
pub(super) fn without<'t>(t: Vec<Token<'t>>) -> (Vec<Token<'t>>, Option<Evenly>) {
    let Some((range, evenly)) = evenly(&t) else { return (t, None) };
    let mut kept = t;
    kept.drain(range);
    (kept, Some(evenly))
}

/// "inc 2 sts evenly across last row", "increase evenly to 147 sts".
fn clause(t: &[Token<'_>], k: usize) -> Option<(std::ops::Range<usize>, Evenly)> {
    let sign = match t[k] {
        token if token.any(&MORE) => 1,
        token if token.any(&FEWER) => -1,
        _ => return None,
    };
    let end = (k..t.len())
        .find(|&j| t[j].is_stop() || matches!(t[j].kind, Kind::Open | Kind::Close | Kind::Dash))
        .unwrap_or(t.len());
    let words = &t[k..end];
    let somewhere = ["evenly", "anywhere", "somewhere", "middle", "centre", "center"];
    if !words.iter().any(|t| t.any(&somewhere)) || words.iter().any(|t| t.any(&["every", "each"])) {
        return None;
    }
    let lead = words.iter().position(|t| t.any(&["to", "until"]));
    let (at, (n, _)) = (1..words.len()).find_map(|j| count(words, j).map(|c| (j, c)))?;
    let evenly = match lead {
        Some(to) if to < at => Evenly::To(n),
        _ => Evenly::By(sign * n.min(9999) as i32),
    };
    let from = k - t[..k].iter().rev().take_while(|t| glue(t)).count();
    Some((from..end, evenly))
}

/// What ties the clause to the words before it.
fn glue(t: &Token<'_>) -> bool {
    t.any(&["and", "then", "while", "but", "also"]) || t.kind == Kind::Stop(',')
}
