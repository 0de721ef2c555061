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
    let ends =
        |j: usize| t[j].is_stop() || matches!(t[j].kind, Kind::Open | Kind::Close | Kind::Dash);
    let mut end = (k..t.len()).find(|&j| ends(j)).unwrap_or(t.len());
    if let Some(close) = how(t, end) {
        // "one decrease (sc2tog) anywhere in the row"
        end = (close..t.len()).find(|&j| ends(j)).unwrap_or(t.len());
    }
    let words = &t[k..end];
    let somewhere = ["evenly", "anywhere", "somewhere", "middle", "centre", "center"];
    if !words.iter().any(|t| t.any(&somewhere)) || words.iter().any(|t| t.any(&["every", "each"])) {
        return None;
    }
    let lead = words.iter().position(|t| t.any(&["to", "until"]));
    let open = words.iter().position(|t| t.kind == Kind::Open).unwrap_or(words.len());
    let number = (1..open).find_map(|j| count(words, j).map(|c| (j, c.0)));
    let ahead = number.is_none().then(|| one_before(t, k)).flatten();
    let (at, n) = number.or(ahead.map(|_| (0, 1)))?;
    let evenly = match lead {
        Some(to) if to < at => Evenly::To(n),
        _ => Evenly::By(sign * n.min(9999) as i32),
    };
    let k = ahead.unwrap_or(k);
    let from = k - t[..k].iter().rev().take_while(|t| glue(t)).count();
    Some((from..end, evenly))
}

/// "making one" before "decrease": where it begins.
fn one_before(t: &[Token<'_>], k: usize) -> Option<usize> {
    let one = k.checked_sub(1)?;
    let (1, _) = count(t, one).or_else(|| t[one].any(&["a"]).then_some((1, 1)))? else {
        return None;
    };
    let verb = one.checked_sub(1).is_some_and(|j| t[j].any(&["making", "make", "working", "work"]));
    Some(one - usize::from(verb))
}

/// The end of a bracket of a few words at `open` that says how a stitch is taken in, one past it.
fn how(t: &[Token<'_>], open: usize) -> Option<usize> {
    t.get(open).filter(|t| t.kind == Kind::Open)?;
    let close = (open + 1..t.len().min(open + 6)).find(|&j| t[j].kind == Kind::Close)?;
    let goes_on = t.get(close + 1).is_some_and(|t| t.any(&["anywhere", "somewhere", "evenly"]));
    goes_on.then_some(close + 1)
}

/// What ties the clause to the words before it.
fn glue(t: &Token<'_>) -> bool {
    t.any(&["and", "then", "while", "but", "also"]) || t.kind == Kind::Stop(',')
}
