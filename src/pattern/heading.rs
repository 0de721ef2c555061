//! Row and round headings in all their forms: `Row 3:`, `R03`, `3rd row -`, `Rows 4-87:`, `Next row`.

use super::mended::garbled_heading;
use super::reader::number_word;
use super::reader::ordinal_suffix;
use super::section::Topic;
use super::syntax::Heading;
use super::syntax::Numbers;
use super::tags::side;
use super::tags::tags;
use super::token::Kind;
use super::token::Token;

/// Words for a row and for a round.
const ROWS: [&str; 4] = ["row", "rows", "r", "rw"];
const ROUNDS: [&str; 7] = ["rnd", "rnds", "round", "rounds", "rd", "rds", "rn"];
/// Names an unnumbered row may carry.
const NAMES: [&str; 32] = [
    "next",
    "setup",
    "set",
    "up",
    "foundation",
    "base",
    "pattern",
    "last",
    "final",
    "dec",
    "decrease",
    "inc",
    "increase",
    "border",
    "edging",
    "beginning",
    "starting",
    "start",
    "plain",
    "mesh",
    "eyelet",
    "joining",
    "turning",
    "first",
    "preparation",
    "decreasing",
    "increasing",
    "rs",
    "ws",
    "following",
    "every",
    "each",
];
/// Parts whose rounds are numbered apart: "Edging rnd 1".
pub(super) const EDGINGS: [&str; 4] = ["border", "edging", "trim", "edge"];
/// Words that make a mention of a row a reference, not a heading, when they stand before it.
const REFERS: [&str; 31] = [
    "rep",
    "repeat",
    "rpt",
    "repeating",
    "as",
    "of",
    "to",
    "on",
    "from",
    "in",
    "and",
    "with",
    "work",
    "after",
    "end",
    "ending",
    "than",
    "until",
    "per",
    "every",
    "for",
    "the",
    "last",
    "through",
    "follow",
    "like",
    "before",
    "at",
    "each",
    "this",
    "see",
];
/// Words that make it prose when they stand after it.
const PROSE: [&str; 25] = [
    "form",
    "forms",
    "set",
    "sets",
    "establish",
    "establishes",
    "of",
    "is",
    "are",
    "was",
    "has",
    "have",
    "will",
    "should",
    "from",
    "you",
    "again",
    "only",
    "until",
    "can",
    "below",
    "above",
    "makes",
    "creates",
    "gives",
];

/// Headings in a line: index of the first token, heading, tokens it takes.
pub(super) fn headings(t: &[Token<'_>], at: Topic) -> Vec<(usize, Heading, usize)> {
    let mut found: Vec<(usize, Heading, usize)> = Vec::new();
    let mut depth = 0i32;
    let mut k = 0;
    while k < t.len() {
        match t[k].kind {
            Kind::Open => depth += 1,
            Kind::Close => depth -= 1,
            _ => {}
        }
        let start =
            k == 0 || (k == 1 && matches!(t[0].kind, Kind::Other(_) | Kind::Star(_) | Kind::Dash));
        let sentence = k > 0
            && matches!(
                t[k - 1].kind,
                Kind::Stop('.' | ':' | ';') | Kind::Close | Kind::Other('!')
            );
        let numbered_note =
            start && t[0].number().is_some() && !matches!(at, Topic::Rows | Topic::Opening);
        if (start || (sentence && depth <= 0))
            && !numbered_note
            && let Some((heading, len)) = heading_at(t, k, start)
            && len > 0
        {
            found.push((k, heading, len));
            k += len;
            continue;
        }
        k += 1;
    }
    found
}

/// A heading at `i`, with the tokens it takes. `line_start` allows the forms without a colon.
pub(super) fn heading_at(t: &[Token<'_>], i: usize, line_start: bool) -> Option<(Heading, usize)> {
    if !line_start && i > 0 && t[i - 1].any(&REFERS) {
        return None;
    }
    let mut k = i;
    let spoken = if line_start { spoken(t, &mut k) } else { None };
    let (numbers, round) = spoken
        .or_else(|| numbered(t, &mut k))
        .or_else(|| ordinal(t, &mut k))
        .or_else(|| all_rows(t, &mut k))
        .or_else(|| named(t, &mut k))
        .or_else(|| lettered(t, &mut k))
        .or_else(|| if line_start { own_name(t, &mut k) } else { None })
        .or_else(|| if line_start { bare(t, &mut k) } else { None })?;
    let numbers = match (and_all(t, k), &numbers) {
        (Some(after), Numbers::Listed(all)) => {
            k = after;
            Numbers::Parity { from: all[0] }
        }
        _ => numbers,
    };
    let name = (numbers == Numbers::Next).then(|| {
        let words: Vec<&str> = t[i..k]
            .iter()
            .filter(|t| matches!(t.kind, Kind::Word | Kind::Number(_)))
            .map(|t| t.text)
            .collect();
        words.join(" ")
    });
    let mut heading =
        Heading { numbers, round, right_side: None, name, span: t[i].span, ..Heading::default() };
    side(&t[i..k], &mut heading);
    let tagged = tags(t, &mut k, &mut heading);
    if let (Some(after), Numbers::Listed(all)) = (and_all(t, k), &heading.numbers) {
        // "Row 2 (WS) and all following WS rows"
        (k, heading.numbers) = (after, Numbers::Parity { from: all[0] });
    }
    let marked = punctuation(t, &mut k);
    let told = marked || tagged || line_start && works(t, k);
    let lone_r = t[i].is("r") && !told;
    // "Rows 2 and 3 make the slant."
    let makes = t.get(k).is_some_and(|t| t.any(&["make", "create", "give"]))
        && t.get(k + 1).is_some_and(|t| t.any(&["the", "a", "up", "one", "this"]));
    let next_prose = makes || t.get(k).is_some_and(|t| t.any(&PROSE));
    let plain_ok = line_start && !next_prose && !matches!(heading.numbers, Numbers::Next);
    // "Next row K5, p to end": as good as a mark.
    let next = t[i].is("next") && works(t, k);
    let named_ok = line_start && (tagged || next);
    if lone_r || !(marked || plain_ok || named_ok) || (next_prose && !marked) {
        return None;
    }
    heading.span = t[i].span.to(t[k - 1].span);
    Some((heading, k - i))
}

pub(super) fn row_word(token: Option<&Token<'_>>) -> Option<bool> {
    let token = token?;
    if token.any(&ROWS) {
        Some(false)
    } else if token.any(&ROUNDS) {
        Some(true)
    } else {
        None
    }
}

/// `Rows 3-6`, `Rnd 2-Rnd 5`, `R03`, `Rows 1 and 2`, `Row 2 and all even rows`.
fn numbered(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    // "Short row 1", "Pattern row 3".
    let called = t.get(*k)?.any(&["short", "pattern", "patt", "pat", "chart", "stripe"]);
    let lead = *k + usize::from(called && t.get(*k + 2).is_some_and(|t| t.number().is_some()));
    let round = row_word(t.get(lead)).or_else(|| garbled_heading(t, lead))?;
    let plural = t[lead].text.ends_with('s');
    let mut j = lead + 1;
    if t.get(j).is_some_and(|t| t.kind == Kind::Other('/')) && row_word(t.get(j + 1)).is_some() {
        j += 2;
    }
    if t.get(j).is_some_and(|t| t.kind == Kind::Stop('.') && t.glued) {
        j += 1;
    }
    // "R 1:", apart, only at the start of a line.
    let marked = |t: &Token<'_>| matches!(t.kind, Kind::Stop(':') | Kind::Dash | Kind::Other('&'));
    let apart = lead == 0 && t.get(j + 1).is_some_and(marked);
    if t[lead].is("r") && !apart && !t.get(j).is_some_and(|t| t.glued) {
        return None;
    }
    let first = t.get(j)?.number()?;
    j += 1;
    let numbers = list(t, &mut j, first, plural);
    *k = and_on(t, j);
    Some((numbers, round))
}

/// "onwards", "and on", "and up", "+" after a row's number: the index after it.
fn and_on(t: &[Token<'_>], k: usize) -> usize {
    if let Some(after) = and_all_after(t, k) {
        return after;
    }
    let and = k + usize::from(t.get(k).is_some_and(|t| t.is("and")));
    let on = t.get(and).is_some_and(|t| {
        t.any(&["onwards", "onward", "on", "up", "beyond"]) || t.kind == Kind::Other('+')
    });
    if on { and + 1 } else { k }
}

/// "and all rows after", "and all following rows", "and every row thereafter": the index after it.
fn and_all_after(t: &[Token<'_>], k: usize) -> Option<usize> {
    const ON: [&str; 7] =
        ["after", "thereafter", "onwards", "afterwards", "following", "subsequent", "remaining"];
    t.get(k).filter(|t| t.is("and") || t.kind == Kind::Other('&'))?;
    t.get(k + 1).filter(|t| t.any(&["all", "every", "each"]))?;
    let before = usize::from(t.get(k + 2).is_some_and(|t| t.any(&ON)));
    row_word(t.get(k + 2 + before))?;
    let end = k + 3 + before;
    let late = usize::from(t.get(end).is_some_and(|t| t.any(&ON)));
    (before + late > 0).then_some(end + late)
}

/// The heading holds for all rows from its own on.
pub(super) fn goes_on(t: &[Token<'_>]) -> bool {
    (1..t.len()).any(|k| and_on(t, k) > k)
}

/// The rest of a list of row numbers that begins with `first`; `k` stands after it.
pub(super) fn list(t: &[Token<'_>], k: &mut usize, first: u32, commas: bool) -> Numbers {
    let mut all = vec![first];
    loop {
        let link = t.get(*k);
        let mut j = *k + 1;
        while row_word(t.get(j)).is_some() && t.get(j + 1).is_some_and(|t| t.number().is_some()) {
            j += 1;
        }
        let number = t.get(j).and_then(|t| t.number());
        // "rows 2 and 3, 210 more times": a number of times, not of a row.
        let times = ["more", "times", "time", "further", "x"];
        let counted = ["sts", "st", "stitches", "dc", "sc", "hdc", "tr", "htr", "dtr"];
        // "R8-R15 x3"
        let times_after = t.get(j + 1).is_some_and(|t| t.is("x"))
            && t.get(j + 2).is_some_and(|t| t.number().is_some());
        let stuck = t
            .get(j + 1)
            .filter(|_| !times_after)
            .is_some_and(|t| (t.glued && t.kind == Kind::Word) || t.any(&times) || t.any(&counted));
        let ranged =
            link.is_some_and(|t| t.kind == Kind::Dash || t.any(&["to", "through", "thru"]));
        let listed = link.is_some_and(|t| {
            matches!(t.kind, Kind::Other('&' | '+'))
                || t.is("and")
                || (commas && t.kind == Kind::Stop(','))
        });
        match number {
            Some(n) if ranged && !stuck && all.len() == 1 && n > first => {
                *k = j + 1;
                return Numbers::Range(first, n);
            }
            Some(n) if listed && !stuck && all.len() < 1000 => {
                *k = j + 1;
                all.push(n);
            }
            _ if listed && and_all_after(t, *k).is_some() => return Numbers::Listed(all),
            _ if listed && parity_words(t, *k + 1).is_some() => {
                *k = parity_words(t, *k + 1).unwrap_or(*k);
                return Numbers::Parity { from: first };
            }
            _ => return Numbers::Listed(all),
        }
    }
}

/// "(and all WS rows)", "and every alternate row" after a row's number: the index after it.
fn and_all(t: &[Token<'_>], k: usize) -> Option<usize> {
    let open = usize::from(t.get(k).is_some_and(|t| t.kind == Kind::Open));
    let comma = usize::from(t.get(k + open).is_some_and(|t| t.kind == Kind::Stop(',')));
    let and = k + open + comma;
    t.get(and).filter(|t| t.is("and") || t.kind == Kind::Other('&'))?;
    let other = |t: &Token<'_>| {
        t.any(&["even", "odd", "ws", "rs", "wrong", "right", "alternate", "alt", "other", "second"])
            || t.any(&["following", "foll", "remaining", "subsequent"])
    };
    let after = parity_words(t, and + 1)
        .or_else(|| alternate_rows(t, and + 1))
        .filter(|&j| t[and..j].iter().any(other))?;
    let close = usize::from(t.get(after).is_some_and(|t| t.kind == Kind::Close));
    (open == close).then_some(after + close)
}

/// "foll alt rows", "alternate rows" after "and": the index after it.
fn alternate_rows(t: &[Token<'_>], from: usize) -> Option<usize> {
    const WHICH: [&str; 9] =
        ["foll", "following", "alt", "alternate", "even", "odd", "ws", "rs", "other"];
    let words = t.get(from..)?.iter().take_while(|t| t.any(&WHICH)).count();
    (words > 0 && row_word(t.get(from + words)).is_some()).then_some(from + words + 1)
}

/// "all even rows", "every right side row": the index after it.
fn parity_words(t: &[Token<'_>], from: usize) -> Option<usize> {
    if !t.get(from)?.any(&["all", "every", "each"]) {
        return None;
    }
    (from + 1..from + 7).find(|&j| row_word(t.get(j)).is_some()).map(|j| j + 1)
}

/// "For the third row, ..." at the start of a line.
fn spoken(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let led = t.get(*k)?.any(&["for", "on", "in"]) && t.get(*k + 1)?.any(&["the", "your"]);
    let mut j = *k + 2;
    let (numbers, round) = ordinal(t, &mut j).filter(|_| led)?;
    t.get(j).filter(|t| matches!(t.kind, Kind::Stop(',' | ':')))?;
    *k = j;
    Some((numbers, round))
}

/// `3rd row`, `2nd to 5th rows`, `Third row`.
fn ordinal(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let (first, mut j) = ordinal_number(t, *k)?;
    let mut all = vec![first];
    let mut range = None;
    while let Some(link) = t.get(j) {
        let joined =
            link.is("and") || link.kind == Kind::Other('&') || link.kind == Kind::Stop(',');
        let ranged = link.is("to") || link.kind == Kind::Dash;
        let Some((n, after)) = ordinal_number(t, j + 1).filter(|_| joined || ranged) else { break };
        if ranged && n > first {
            range = Some((first, n));
        }
        all.push(n);
        j = after;
    }
    if let Some(after) = t.get(j).filter(|t| t.is("and")).and_then(|_| parity_words(t, j + 1)) {
        // "2nd and every foll alt row"
        let round = row_word(t.get(after - 1))?;
        *k = after;
        return Some((Numbers::Parity { from: first }, round));
    }
    let round = row_word(t.get(j))?;
    *k = j + 1;
    Some((range.map_or(Numbers::Listed(all), |(a, b)| Numbers::Range(a, b)), round))
}

/// An ordinal in digits or letters at `k`, and the index after it.
pub(super) fn ordinal_number(t: &[Token<'_>], k: usize) -> Option<(u32, usize)> {
    const SPELT: [&str; 12] = [
        "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth",
        "tenth", "eleventh", "twelfth",
    ];
    let token = t.get(k)?;
    if let Some(n) = token.number() {
        let suffix = t.get(k + 1).filter(|t| t.glued && t.kind == Kind::Word)?;
        return ordinal_suffix(n, suffix.text).then_some((n, k + 2));
    }
    SPELT.iter().position(|w| token.is(w)).map(|n| (n as u32 + 1, k + 1))
}

/// "All even rows:", "All WS rows:".
fn all_rows(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let after = parity_words(t, *k)?;
    let round = row_word(t.get(after - 1))?;
    let said = |words: &[&str]| t[*k..after].iter().any(|t| t.any(words));
    let odd = said(&["odd", "rs", "right"]);
    let numbers = match odd || said(&["even", "ws", "wrong", "other", "alternate", "alt", "second"])
    {
        true => Numbers::Parity { from: if odd { 1 } else { 2 } },
        // "Every row:" is one row, to be worked again.
        false => Numbers::Next,
    };
    *k = after;
    Some((numbers, round))
}

/// "Next row", "Set-up row", "Foundation rnd".
fn named(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let mut j = *k;
    while t.get(j).is_some_and(|t| t.any(&NAMES) || (j > *k && t.kind == Kind::Dash)) && j < *k + 5
    {
        j += 1;
    }
    if j == *k {
        return None;
    }
    // "Next: k1, kfb, ..."
    if j == *k + 1 && t[*k].is("next") && t.get(j).is_some_and(|t| t.kind == Kind::Stop(':')) {
        *k = j;
        return Some((Numbers::Next, false));
    }
    if let Some(n) =
        t.get(j).filter(|_| t[j - 1].is("next") || t[j - 1].is("last")).and_then(|t| t.number())
        && t.get(j + 1).is_some_and(|t| t.any(&["rows", "rnds", "rounds"]))
    {
        let round = row_word(t.get(j + 1))?;
        *k = j + 2;
        return Some((Numbers::Several(n), round));
    }
    let round = row_word(t.get(j))?;
    let sided = t[*k..j].iter().find(|t| t.any(&["rs", "ws"])).filter(|_| j == *k + 1);
    let numbers = match sided {
        // "RS rows:" are all of them, from the next row of that side on.
        Some(_) if t[j].text.ends_with('s') => Numbers::Parity { from: 0 },
        _ => Numbers::Next,
    };
    let number = t.get(j + 1).filter(|t| t.number().is_some() && numbers == Numbers::Next);
    let told = number.and_then(|t| t.number()).filter(|_| marks_heading(t.get(j + 2)));
    if let Some(n) = told.filter(|_| t[*k].any(&EDGINGS)) {
        *k = j + 2;
        return Some((Numbers::Listed(vec![n]), round));
    }
    *k = j + 1 + usize::from(number.is_some() && marks_heading(t.get(j + 2)));
    Some((numbers, round))
}

/// The token ends a heading or opens its tag.
fn marks_heading(token: Option<&Token<'_>>) -> bool {
    token.is_some_and(|t| matches!(t.kind, Kind::Stop(':' | '.') | Kind::Open | Kind::Dash))
}

/// "Seed st row:", "Ridge rows:": a name of the page's own, up to three words, at the start of a line.
fn own_name(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    const NONE: [&str; 14] =
        ["k", "p", "knit", "purl", "ch", "sc", "dc", "hdc", "tr", "sl", "yo", "for", "by", "make"];
    let word = |j: usize| t.get(j).filter(|t| t.kind == Kind::Word);
    let len = (1..4).find(|&n| row_word(word(*k + n)).is_some())?;
    let plain = (*k..*k + len).all(|j| {
        t[j].kind == Kind::Dash || word(j).is_some_and(|t| !t.any(&REFERS) && !t.any(&NONE))
    });
    // "Rib row 1:" carries its number in its name.
    let end = *k + len + 1;
    let end = end + usize::from(t.get(end).is_some_and(|t| t.number().is_some()));
    let colon = t.get(end).is_some_and(|t| t.kind == Kind::Stop(':'));
    let tag = t.get(end).is_some_and(|t| t.kind == Kind::Open)
        && t.get(end + 1).is_some_and(|t| t.any(&["rs", "ws", "right", "wrong"]));
    if !plain || !(colon || tag) {
        return None;
    }
    let round = row_word(t.get(*k + len))?;
    *k = end;
    Some((Numbers::Next, round))
}

/// `Row A`, `Rnd B`.
fn lettered(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let round = row_word(t.get(*k)).filter(|_| !t[*k].is("r"))?;
    row_letter(t.get(*k + 1))?;
    *k += 2;
    Some((Numbers::Next, round))
}

/// A lone letter that names a row.
pub(super) fn row_letter<'a>(token: Option<&Token<'a>>) -> Option<&'a str> {
    let token = token.filter(|t| t.kind == Kind::Word && !t.glued)?;
    (token.text.len() == 1 && token.text.as_bytes()[0].is_ascii_lowercase()).then_some(token.text)
}

/// Tokens of a name an unnumbered row may carry, at `k`: "increase", "set-up".
pub(super) fn row_name(t: &[Token<'_>], k: usize) -> usize {
    let named = |t: &Token<'_>| t.any(&NAMES) && !t.any(&["next", "last", "first", "following"]);
    (k..k + 3).take_while(|&j| t.get(j).is_some_and(named)).count()
}

/// `3.` or `3)` at the start of a line, `3 |` or `7-20 |` in a table.
fn bare(t: &[Token<'_>], k: &mut usize) -> Option<(Numbers, bool)> {
    let n = t.get(*k)?.number()?;
    let mut after = *k + 1;
    let numbers = list(t, &mut after, n, false);
    if t.get(after).is_some_and(|t| t.kind == Kind::Other('|')) && n < 5000 {
        *k = after;
        return Some((numbers, false));
    }
    let ends = t.get(after).filter(|t| t.glued);
    let closed = ends.is_some_and(|t| matches!(t.kind, Kind::Close | Kind::Stop(':')));
    if closed && matches!(numbers, Numbers::Range(..)) && t.get(after + 1).is_some() {
        // "4-120) repeat rows 2 & 3"
        *k = after;
        return Some((numbers, false));
    }
    let mark = t.get(*k + 1)?;
    let closes = mark.glued && matches!(mark.kind, Kind::Close | Kind::Stop('.' | ':'));
    let decimal = t.get(*k + 2).is_some_and(|t| t.glued && t.number().is_some());
    if !closes || decimal || n > 5000 || t.get(*k + 2).is_none() {
        return None;
    }
    *k += 1;
    Some((Numbers::Listed(vec![n]), false))
}

/// Words of work follow a heading without a mark: "R2 ch 2, turn", "R4-R10 repeat R2".
fn works(t: &[Token<'_>], k: usize) -> bool {
    const WORK: [&str; 22] = [
        "ch", "chain", "sc", "dc", "hdc", "tr", "dtr", "htr", "sl", "ss", "k", "knit", "p", "purl",
        "rep", "repeat", "work", "turn", "sk", "skip", "yo", "with",
    ];
    t.get(k).is_some_and(|t| {
        t.any(&WORK) || matches!(t.kind, Kind::Star(_)) || t.number().is_some() && !t.glued
    })
}

/// The mark that ends a heading: `:` `.` `-` `:-` `)` `,`.
fn punctuation(t: &[Token<'_>], k: &mut usize) -> bool {
    let start = *k;
    while t.get(*k).is_some_and(|t| {
        matches!(
            t.kind,
            Kind::Stop(':' | '.' | ';')
                | Kind::Dash
                | Kind::Close
                | Kind::Other('=' | '_' | '|' | '~' | '»' | '>' | '→')
        )
    }) {
        *k += 1;
    }
    if *k == start && t.get(*k).is_some_and(|t| t.kind == Kind::Stop(',')) {
        *k += 1;
    }
    *k > start
}

/// A count of rows in words or digits at `k`, with its length.
pub(super) fn count(t: &[Token<'_>], k: usize) -> Option<(u32, usize)> {
    let token = t.get(k)?;
    token.number().or_else(|| number_word(token.text)).map(|n| (n, 1))
}
