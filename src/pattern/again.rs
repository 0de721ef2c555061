//! Rows worked again and fabrics by name: "Rep rows 2-3 ten more times", "Knit 10 rows",
//! "work in garter stitch for 60 rows", "until there are 42 sts".

use super::heading::count;
use super::heading::list;
use super::heading::ordinal_number;
use super::heading::row_letter;
use super::heading::row_name;
use super::keyword::colour_index;
use super::keyword::is_letter_code;
use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Fabric;
use super::syntax::Numbers;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;

const ROW: [&str; 9] = ["row", "rows", "rnd", "rnds", "round", "rounds", "rd", "rds", "r"];

/// What the body of a row asks for when it is not stitch by stitch.
pub(super) fn content(t: &[Token<'_>], text: &str, colours: &mut Vec<String>) -> Option<Content> {
    again(t, text, colours).or_else(|| fabric(t))
}

/// Passes opening words that do not matter.
fn lead(t: &[Token<'_>]) -> usize {
    let mut k = 0;
    while t.get(k).is_some_and(|t| {
        t.any(&[
            "then",
            "now",
            "work",
            "work",
            "cont",
            "continue",
            "and",
            "by",
            "in",
            "continuing",
            "working",
            "the",
            "all",
        ]) || t.is_stop()
            || t.kind == Kind::Open
    }) {
        k += 1;
    }
    k
}

fn again(t: &[Token<'_>], text: &str, colours: &mut Vec<String>) -> Option<Content> {
    let mut k = lead(t);
    let verb = t.get(k)?;
    let repeated =
        verb.any(&["rep", "repeat", "rpt", "repeating", "repeated", "alternate", "alternating"]);
    let same = verb.any(&["as", "same", "like"]);
    let name = row_name(t, k);
    let rows_first = verb.any(&ROW)
        && (t.get(k + 1)?.number().is_some() || k > 0 && row_letter(t.get(k + 1)).is_some())
        || k > 0 && name > 0 && t.get(k + name).is_some_and(|t| t.any(&ROW));
    let cont = t[..k].iter().any(|t| t.any(&["cont", "continue"]));
    let way = cont && verb.any(&["this", "same", "way", "manner"]);
    if !(repeated || same || rows_first || way) {
        return None;
    }
    if repeated || same {
        k += 1;
    }
    while t.get(k).is_some_and(|t| {
        t.any(&[
            "as",
            "for",
            "the",
            "from",
            "these",
            "same",
            "pattern",
            "in",
            "of",
            "instructions",
            "this",
        ]) || t.kind == Kind::Stop('.')
    }) {
        k += 1;
    }
    let way = t.get(k).is_some_and(|t| t.any(&["way", "manner", "fashion"]))
        || t.get(k).is_some_and(|t| t.any(&["this", "way"]));
    let rows = if cont && way { AgainRows::Last(2) } else { rows_named(t, &mut k)? };
    let until = until(t, k).unwrap_or(Until::Heading);
    if rows_first && until == Until::Heading {
        return None;
    }
    Some(Content::Again(Again { rows, until, colour: colour(t, k, text, colours), step: step(t) }))
}

/// "one more block in every row", "1 st fewer before and after the decrease": the change each time.
fn step(t: &[Token<'_>]) -> i32 {
    let each = t.iter().any(|t| t.any(&["every", "each"]));
    let change = t.windows(3).find_map(|w| {
        let n = |t: &Token<'_>| t.number().or_else(|| super::reader::number_word(t.text));
        if w[1].any(&["more", "additional"]) && !w[2].any(&["time", "times", "row", "rows"]) {
            n(&w[0]).map(|n| n.min(99) as i32)
        } else if w[2].any(&["fewer", "less"]) {
            n(&w[0]).map(|n| -(n.min(99) as i32))
        } else {
            None
        }
    });
    change.filter(|_| each).unwrap_or(0)
}

/// The rows named from `k` on: "rows 2 and 3", "last 2 rows", "2nd row", "Row 4 - 9", "row 6 once, then row 4".
fn rows_named(t: &[Token<'_>], k: &mut usize) -> Option<AgainRows> {
    if t.get(*k)?.any(&["last", "previous", "prev", "two", "2", "both"]) || t[*k].number().is_some()
    {
        let last = usize::from(t[*k].any(&["last", "previous", "prev"]));
        // "3rd row" is not three "rd"s.
        if ordinal_number(t, *k).is_none()
            && let Some((n, used)) = count(t, *k + last)
            && t.get(*k + last + used).is_some_and(|t| t.any(&ROW))
        {
            *k += last + used + 1;
            return Some(AgainRows::Last(n));
        }
        if last > 0 && t.get(*k + 1).is_some_and(|t| t.any(&ROW)) {
            *k += 2;
            return Some(AgainRows::Last(1));
        }
    }
    let lettered = row_letter(t.get(*k + 1)).is_some();
    if t[*k].any(&["row", "rnd", "round"])
        && !lettered
        && t.get(*k + 1).is_none_or(|t| t.number().is_none())
    {
        *k += 1;
        return Some(AgainRows::Last(1));
    }
    if let Some(names) = names(t, k) {
        return Some(AgainRows::Named(names));
    }
    let mut blocks = Vec::new();
    while let Some(block) = one_block(t, k) {
        blocks.extend(block);
        let mut j = *k;
        while t
            .get(j)
            .is_some_and(|t| t.any(&["once", "then", "and", "once"]) || t.kind == Kind::Stop(','))
        {
            j += 1;
        }
        if t.get(j).is_some_and(|t| t.any(&ROW)) || ordinal_number(t, j).is_some() {
            *k = j;
        } else {
            break;
        }
    }
    (!blocks.is_empty()).then_some(AgainRows::Numbers(blocks))
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

fn one_block(t: &[Token<'_>], k: &mut usize) -> Option<Vec<(u32, u32)>> {
    if t.get(*k)?.any(&ROW) {
        let mut j = *k + 1;
        let first = t.get(j)?.number()?;
        j += 1;
        if let Some(n) = backwards(t, j, first) {
            *k = j + 2;
            return Some(vec![(first, n)]);
        }
        let numbers = list(t, &mut j, first, true);
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
    t.get(j).filter(|t| t.any(&ROW))?;
    *k = j + 1;
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

fn colour(t: &[Token<'_>], k: usize, text: &str, colours: &mut Vec<String>) -> Option<u16> {
    let at = (k..t.len()).find(|&j| t[j].any(&["in", "with", "using"]))?;
    let written = text.get(t.get(at + 1)?.span.range())?;
    is_letter_code(written).then(|| colour_index(colours, written))
}

/// When a repetition ends, as said from `k` on.
pub(super) fn until(t: &[Token<'_>], k: usize) -> Option<Until> {
    let marked = (k..t.len()).find(|&j| t[j].any(&["until", "till", "for", "measures", "to"]));
    if let Some(until) = marked.and_then(|j| until_words(t, j)) {
        return Some(until);
    }
    for j in k..t.len() {
        let times = match t[j].text {
            "once" => Some((1, 1)),
            "twice" => Some((2, 1)),
            _ => count(t, j),
        };
        let Some((n, used)) = times else { continue };
        let more = t.get(j + used).is_some_and(|t| t.is("more"));
        let word = t.get(j + used + usize::from(more));
        let more = more
            || (word.is_some_and(|t| t.any(&["times", "time"]))
                && t.get(j + used + 1).is_some_and(|t| t.is("more")));
        if word.is_some_and(|t| t.any(&["times", "time", "x"]))
            || matches!(t[j].text, "once" | "twice")
        {
            return Some(if more { Until::More(n) } else { Until::Times(n) });
        }
    }
    None
}

fn until_words(t: &[Token<'_>], j: usize) -> Option<Until> {
    let rest = &t[j..t.len().min(j + 16)];
    if let Some(n) = rows_in_all(rest) {
        return Some(Until::RowsInAll(n));
    }
    if rest.iter().any(|t| t.is("square")) && rest.iter().all(|t| t.number().is_none()) {
        return Some(Until::Square);
    }
    if rest.iter().any(|t| t.any(&["desired", "wish", "want", "like", "wanted", "out"])) {
        return Some(until_told(t, j).unwrap_or(Until::Open));
    }
    let numbers = rest.iter().enumerate().filter_map(|(k, t)| t.number().map(|n| (k, n)));
    for (k, n) in numbers {
        let after = rest.get(k + 1);
        if after.is_some_and(|t| t.any(&["sts", "st", "stitches", "dc", "sc", "hdc", "tr"]))
            && t[j].any(&["until", "till"])
        {
            return Some(Until::Stitches(n));
        }
        if after.is_some_and(|t| t.any(&["rows", "rnds", "rounds"])) && t[j].is("for") {
            return Some(Until::Rows(n));
        }
        if let Some(mm) = length_mm(rest, k, n) {
            return Some(Until::Millimetres(mm));
        }
    }
    None
}

/// "Until you have 30 rows", "for a total of 30 rows".
fn rows_in_all(t: &[Token<'_>]) -> Option<u32> {
    let k = t.iter().position(|t| t.number().is_some())?;
    let row = |t: &Token<'_>| t.any(&["rows", "rnds", "rounds"]);
    let rows = t.get(k + 1).is_some_and(row)
        || t.get(k + 1).is_some_and(|t| t.any(&["total"])) && t.get(k + 2).is_some_and(row);
    let total = t[..k].iter().any(|t| t.any(&["total"]));
    let whole = t[0].any(&["until", "till"]) || t[0].any(&["for", "to"]) && total;
    let begun = t[..k].iter().skip(1).all(|t| {
        t.any(&[
            "you",
            "have",
            "there",
            "are",
            "a",
            "total",
            "of",
            "the",
            "piece",
            "work",
            "scarf",
            "has",
            "is",
            "done",
            "completed",
            "worked",
        ])
    });
    let more = t[k..].iter().take(6).any(|t| t.any(&["more", "remain", "left"]));
    if rows && whole && begun && !more { t[k].number() } else { None }
}

/// "As long as you like; mine is 64 inches": the length told after an open end.
fn until_told(t: &[Token<'_>], j: usize) -> Option<Until> {
    let own = (j..t.len()).find(|&k| t[k].any(&["mine", "my", "sample", "about", "approx"]))?;
    let numbers = (own..t.len().min(own + 12)).filter_map(|k| t[k].number().map(|n| (k, n)));
    numbers.into_iter().find_map(|(k, n)| length_mm(t, k, n)).map(Until::Millimetres)
}

/// The rest of a row's words says until when it is worked again: "... k to end until 3 sts remain".
/// The index where that begins.
pub(super) fn row_until(t: &[Token<'_>]) -> Option<(usize, Until)> {
    let at = t.iter().rposition(|t| t.any(&["until", "till"])).filter(|&k| k > 0)?;
    let whole = t[at - 1].any(&["end", "across", "row", "around", "rnd", "round", "repeat", "rep"])
        || matches!(t[at - 1].kind, Kind::Stop(_) | Kind::Close);
    let ended = t[at..].iter().all(|t| t.kind != Kind::Stop(',') && t.kind != Kind::Stop(';'));
    let rest = &t[at + 1..];
    let mut k = 0;
    while rest.get(k).is_some_and(|t| {
        t.any(&["there", "are", "you", "have", "only", "a", "total", "of", "the", "row", "has"])
    }) {
        k += 1;
    }
    let n = rest.get(k)?.number()?;
    let noun = rest.get(k + 1)?.any(&["sts", "st", "stitches", "stitch", "dc", "sc", "hdc", "tr"]);
    (whole && ended && noun).then_some((at, Until::Stitches(n)))
}

/// A length at `k`: "60 cm", `24"`, "24.5 in", "24 1/2 inches".
fn length_mm(t: &[Token<'_>], k: usize, n: u32) -> Option<f64> {
    let (mut value, mut j) = (f64::from(n), k + 1);
    if t.get(j).is_some_and(|t| t.kind == Kind::Stop('.') && t.glued)
        && let Some(part) = t.get(j + 1).filter(|t| t.glued && t.number().is_some())
    {
        value = format!("{n}.{}", part.text).parse().ok()?;
        j += 2;
    }
    if let (Some(a), Some(Kind::Other('/')), Some(b)) = (
        t.get(j).and_then(|t| t.number()),
        t.get(j + 1).map(|t| t.kind),
        t.get(j + 2).and_then(|t| t.number()),
    ) && b > 0
    {
        value += f64::from(a) / f64::from(b);
        j += 3;
    }
    while t.get(j).is_some_and(|t| t.kind == Kind::Dash) {
        j += 1;
    }
    let unit = t.get(j)?;
    if unit.any(&["in", "ins", "inch", "inches"])
        || matches!(unit.kind, Kind::Other('"' | '”' | '″' | '“'))
    {
        Some(value * 25.4)
    } else if unit.any(&["cm", "cms", "centimetres", "centimeters"]) {
        Some(value * 10.0)
    } else if unit.any(&["mm"]) {
        Some(value)
    } else if unit.any(&["yds", "yards", "yd"]) {
        Some(value * 914.4)
    } else {
        None
    }
}

/// Fabrics by name and "knit 10 rows".
fn fabric(t: &[Token<'_>]) -> Option<Content> {
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    let first = t.iter().find(|t| t.kind == Kind::Word)?;
    let rows = t.windows(2).find_map(|w| {
        w[1].any(&["rows", "rnds", "rounds", "row"])
            .then(|| w[0].number().or_else(|| super::reader::number_word(w[0].text)))?
    });
    let every = has(&["every", "all"]) && has(&["row", "rows"]);
    let fabric = if has(&["garter"]) {
        Fabric::Garter
    } else if has(&["stockinette", "stocking"])
        || t.windows(2).any(|w| w[0].is("st") && w[1].is("st"))
    {
        if has(&["reverse", "rev"]) { Fabric::ReverseStockinette } else { Fabric::Stockinette }
    } else if has(&["seed", "moss"]) && has(&["st", "stitch"]) {
        Fabric::Seed
    } else if has(&["rib", "ribbing"]) {
        rib(t)
    } else if first.any(&["knit", "k"]) && (rows.is_some() || every) {
        Fabric::Garter
    } else {
        return None;
    };
    if !first.any(&[
        "knit",
        "k",
        "work",
        "cont",
        "continue",
        "beginning",
        "begin",
        "in",
        "garter",
        "then",
        "now",
    ]) {
        return None;
    }
    let until = until(t, 0).filter(|u| !matches!(u, Until::Times(_) | Until::More(_)));
    let until = rows.map(Until::Rows).or(until)?;
    Some(Content::Fabric(fabric, until))
}

fn rib(t: &[Token<'_>]) -> Fabric {
    let after = |w: &str| t.windows(2).find_map(|p| if p[0].is(w) { p[1].number() } else { None });
    let width = |n: Option<u32>| n.unwrap_or(1).clamp(1, 20) as u8;
    Fabric::Rib(width(after("k")), width(after("p").or(after("k"))))
}
