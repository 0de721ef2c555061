//! Rows referred to: "rows 2 and 3", "last 2 rows", "2nd row", "rows A and B".

use super::heading::count;
use super::heading::list;
use super::heading::ordinal_number;
use super::heading::row_letter;
use super::heading::row_name;
use super::syntax::AgainRows;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;

use super::again::ROW;

/// A block of a list of rows is repeated at most so often.
const MOST_BLOCKS: u32 = 1000;

/// The rows named from `k` on: "rows 2 and 3", "last 2 rows", "2nd row", "Row 4 - 9", "row 6 once, then row 4".
pub(super) fn rows_named(t: &[Token<'_>], k: &mut usize) -> Option<AgainRows> {
    if t.get(*k)?.is("first")
        && let Some((n, used)) = count(t, *k + 1)
        && t.get(*k + 1 + used).is_some_and(|t| t.any(&ROW))
    {
        *k += used + 2;
        return Some(AgainRows::Numbers(vec![(1, n.max(1))]));
    }
    let spelt = super::reader::number_word(t[*k].text).is_some();
    if spelt
        || t[*k].any(&["last", "previous", "prev", "preceding", "both"])
        || t[*k].number().is_some()
    {
        let last = usize::from(t[*k].any(&["last", "previous", "prev", "preceding"]));
        // "3rd row" is not three "rd"s.
        if ordinal_number(t, *k).is_none()
            && let Some((n, used)) = count(t, *k + last)
        {
            // "this 9-row sequence"
            let dash = t.get(*k + last + used).is_some_and(|t| t.kind == Kind::Dash);
            let row = *k + last + used + usize::from(dash);
            if t.get(row).is_some_and(|t| t.any(&ROW)) {
                *k = row + 1;
                return Some(AgainRows::Last(n));
            }
        }
        if last > 0 && t.get(*k + 1).is_some_and(|t| t.any(&ROW)) {
            *k += 2;
            return Some(AgainRows::Last(1));
        }
    }
    // "the 2 rib rows": rows by the name they share.
    if let Some((_, used)) = count(t, *k).filter(|_| ordinal_number(t, *k).is_none())
        && let Some(name) = shared_name(t, *k + used)
    {
        *k += used + name.split(' ').count() + 1;
        return Some(AgainRows::Named(vec![name]));
    }
    if let Some(range) = bare_range(t, *k) {
        *k += 3;
        return Some(AgainRows::Numbers(vec![range]));
    }
    if let Some(pair) = bare_pair(t, *k) {
        *k += 3;
        return Some(AgainRows::Numbers(pair));
    }
    let times = |k: usize| t.get(k).is_some_and(|t| t.any(&["times", "time", "more", "x"]));
    let lettered = row_letter(t.get(*k + 1)).is_some();
    if t[*k].any(&["row", "rnd", "round"])
        && !lettered
        && (t.get(*k + 1).is_none_or(|t| t.number().is_none()) || times(*k + 2))
    {
        *k += 1;
        return Some(AgainRows::Last(1));
    }
    if let Some(names) = names(t, k) {
        return Some(AgainRows::Named(names));
    }
    if let Some(name) = own_name(t, k) {
        return Some(AgainRows::Named(vec![name]));
    }
    let mut blocks = Vec::new();
    while let Some(block) = one_block(t, k) {
        let (times, after) = block_times(t, *k);
        let mut j = after;
        while t.get(j).is_some_and(|t| t.any(&["once", "then", "and"]) || t.kind == Kind::Stop(','))
        {
            j += 1;
        }
        let more = t.get(j).is_some_and(|t| t.any(&ROW)) || ordinal_number(t, j).is_some();
        // The last block's number of times is the whole list's, unless it is one of several.
        let own = if more || blocks.len() > 1 { times.min(MOST_BLOCKS) } else { 1 };
        for _ in 0..own {
            blocks.extend_from_slice(&block);
        }
        if !more {
            *k = if own > 1 || blocks.len() > block.len() { after } else { *k };
            break;
        }
        *k = j;
    }
    (!blocks.is_empty()).then_some(AgainRows::Numbers(blocks))
}

/// "Row 2 forms the pattern", "the last 4 rows set patt": what working in pattern means from there on;
/// `form` is the index of the verb.
pub(super) fn rows_forming(t: &[Token<'_>], form: usize) -> Option<AgainRows> {
    if !t[form].any(&["form", "forms", "set", "sets", "make", "makes", "establish", "are", "is"]) {
        return None;
    }
    let mut object =
        t[form + 1..].iter().take(5).skip_while(|t| t.any(&["up", "the", "a", "your"]));
    object.next().filter(|t| t.any(&["patt", "pattern", "pat", "rib", "ribbing"]))?;
    let start = (0..form).rev().take(12).find(|&k| t[k].is_stop() || t[k].kind == Kind::Open);
    let mut k = start.map_or(0, |k| k + 1);
    while t[k].any(&["the", "these", "those"]) {
        k += 1;
    }
    let rows = rows_named(t, &mut k)?;
    (k <= form).then_some(rows)
}

/// "ridge row", "seed st row": a row by a name of the page's own.
fn own_name(t: &[Token<'_>], k: &mut usize) -> Option<String> {
    let words = t.get(*k..)?.iter().take_while(|t| t.kind == Kind::Word || t.kind == Kind::Dash);
    let len = words.take(4).position(|t| t.any(&["row", "rnd", "round"]))?;
    let ordinal = ordinal_number(t, *k).is_some();
    let named =
        len > 0 && !ordinal && t[*k..*k + len].iter().all(|t| !t.any(&["last", "every", "each"]));
    // "Rep seed st row 11 times", but not "rib row 2".
    let number = t.get(*k + len + 1).is_some_and(|t| t.number().is_some());
    let times = t.get(*k + len + 2).is_some_and(|t| t.any(&["times", "time", "more", "x"]));
    if !named || number && !times {
        return None;
    }
    let words = t[*k..*k + len].iter().filter(|t| t.kind == Kind::Word).map(|t| t.text);
    let name = words.collect::<Vec<_>>().join(" ");
    *k += len + 1;
    Some(name)
}

/// "rib rows" at `k`: the name without its last word.
fn shared_name(t: &[Token<'_>], k: usize) -> Option<String> {
    let len = (1..4).find(|&n| t.get(k + n).is_some_and(|t| t.any(&["rows", "rnds", "rounds"])))?;
    let plain = |t: &Token<'_>| {
        t.kind == Kind::Word
            && !t.any(&["more", "times", "further", "garter", "knit", "purl", "of", "in", "last"])
    };
    let words = &t[k..k + len];
    let name = || words.iter().map(|t| t.text).collect::<Vec<_>>().join(" ");
    words.iter().all(plain).then(name)
}

/// "Repeat 3-6": rows by their numbers alone.
fn bare_range(t: &[Token<'_>], k: usize) -> Option<(u32, u32)> {
    let (from, to) = (t.get(k)?.number()?, t.get(k + 2)?.number()?);
    let dash = t[k + 1].kind == Kind::Dash || t[k + 1].any(&["to", "through"]);
    let after = t.get(k + 3);
    let counted = after.is_some_and(|t| {
        t.any(&["times", "time", "more", "x", "sts", "st", "rows", "cm", "in", "inches"])
    });
    let verb = k.checked_sub(1).is_some_and(|j| t[j].any(&["rep", "repeat", "repeating"]));
    (verb && dash && from < to && !counted).then_some((from, to))
}

/// "Rep 2 & 3": two rows by their numbers alone.
fn bare_pair(t: &[Token<'_>], k: usize) -> Option<Vec<(u32, u32)>> {
    let (one, two) = (t.get(k)?.number()?, t.get(k + 2)?.number()?);
    let and = t[k + 1].is("and") || t[k + 1].kind == Kind::Other('&');
    let ends = t.get(k + 3).is_none_or(|t| t.is_stop() || t.any(&["until", "till", "for", "to"]));
    let verb = k.checked_sub(1).is_some_and(|j| t[j].any(&["rep", "repeat", "repeating"]));
    (verb && and && one < two && two < 1000 && ends).then(|| vec![(one, one), (two, two)])
}

/// "rows A and B", "increase row", "row A, then row B".
fn names(t: &[Token<'_>], k: &mut usize) -> Option<Vec<String>> {
    let mut all: Vec<String> = Vec::new();
    let mut j = *k;
    loop {
        let plural = t.get(j).is_some_and(|t| t.any(&ROW));
        let at = j + usize::from(plural);
        let letter = row_letter(t.get(at)).filter(|l| plural || !all.is_empty() && *l != "x");
        let words = if plural { 0 } else { row_name(t, j) };
        if let Some(letter) = letter {
            all.push(letter.to_owned());
            j = at + 1;
        } else if words > 0 && t.get(j + words).is_some_and(|t| t.any(&ROW)) {
            let name: Vec<&str> = t[j..j + words].iter().map(|t| t.text).collect();
            all.push(name.join(" "));
            j += words + 1;
        } else {
            return (!all.is_empty()).then_some(all);
        }
        *k = j;
        while t.get(j).is_some_and(|t| {
            t.any(&["and", "then", "once", "the"])
                || matches!(t.kind, Kind::Stop(',') | Kind::Other('&'))
        }) {
            j += 1;
        }
    }
}

/// "rows 6-13 three more times, then rows 6-9 once": how often a block of a list is worked, and the
/// index after it.
fn block_times(t: &[Token<'_>], k: usize) -> (u32, usize) {
    match t.get(k).map(|t| t.text) {
        Some("once") => return (1, k + 1),
        Some("twice") => return (2, k + 1),
        _ => {}
    }
    if t.get(k).is_some_and(|t| t.kind == Kind::Stop(',')) {
        // "rows 4-11, 7 more times, then rows 4-7 once"
        let (n, after) = block_times(t, k + 1);
        return if after > k + 1 { (n, after) } else { (1, k) };
    }
    let Some((n, used)) = count(t, k) else { return (1, k) };
    let more = usize::from(t.get(k + used).is_some_and(|t| t.is("more")));
    match t.get(k + used + more) {
        Some(word) if word.any(&["times", "time"]) => {
            let late = usize::from(t.get(k + used + more + 1).is_some_and(|t| t.is("more")));
            (n, k + used + more + 1 + late)
        }
        _ => (1, k),
    }
}

fn one_block(t: &[Token<'_>], k: &mut usize) -> Option<Vec<(u32, u32)>> {
    if t.get(*k)?.any(&ROW) {
        let mut j = *k + 1;
        let first = t.get(j)?.number()?;
        j += 1;
        // "Rep R3 - 10", "rep row 71 – 3 sts" print the count of the last row.
        let apart = t.get(j).is_some_and(|t| t.kind == Kind::Dash && !t.glued)
            && t.get(j + 1).is_some_and(|t| !t.glued);
        let ends = t.get(j + 2).is_none_or(|t| {
            t.is_stop() || t.any(&["st", "sts", "stitches", "dc", "sc", "hdc", "tr", "htr"])
        });
        let one = apart && !t[*k].text.ends_with('s') && ends;
        if let Some(n) = backwards(t, j, first).filter(|_| !one) {
            *k = j + 2;
            return Some(vec![(first, n)]);
        }
        let numbers = match one {
            true => Numbers::Listed(vec![first]),
            false => list(t, &mut j, first, true),
        };
        *k = j;
        return Some(blocks(numbers));
    }
    let (first, mut j) = ordinal_number(t, *k)?;
    let mut all = vec![(first, first)];
    while let Some((n, after)) = t
        .get(j)
        .filter(|t| t.is("and") || t.is("to") || t.kind == Kind::Dash)
        .and_then(|_| ordinal_number(t, j + 1))
    {
        if t[j].is("and") {
            all.push((n, n))
        } else {
            all = vec![(first, n)]
        }
        j = after;
    }
    // "As 2nd." leaves the word out.
    let bare =
        t.get(j).is_none_or(|t| t.kind == Kind::Stop('.')) && t[..*k].iter().any(|t| t.is("as"));
    t.get(j).filter(|t| t.any(&ROW)).map(|_| ()).or(bare.then_some(()))?;
    *k = j + usize::from(!bare);
    Some(all)
}

/// "rows 20-1": a list read backwards.
fn backwards(t: &[Token<'_>], k: usize, first: u32) -> Option<u32> {
    t.get(k).filter(|t| t.kind == Kind::Dash || t.is("to"))?;
    t.get(k + 1)?.number().filter(|&n| n < first)
}

fn blocks(numbers: Numbers) -> Vec<(u32, u32)> {
    match numbers {
        Numbers::Range(a, b) => vec![(a, b)],
        Numbers::Listed(all) => all.into_iter().map(|n| (n, n)).collect(),
        _ => Vec::new(),
    }
}
