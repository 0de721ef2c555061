//! How long rows are worked again: "10 more times", "until there are 42 sts", "for 60 cm".

use super::again::GROUPS;
use super::again::ROW;
use super::fabric::rows_said;
use super::heading::count;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;

/// When a repetition ends, as said from `k` on.
pub(super) fn until(t: &[Token<'_>], k: usize) -> Option<Until> {
    const MARKS: [&str; 9] =
        ["until", "till", "til", "for", "measures", "to", "is", "through", "thru"];
    let mut marked = (k..t.len()).filter(|&j| t[j].any(&MARKS));
    let said = marked.find_map(|j| until_words(t, j));
    if said.is_some_and(|said| said != Until::Open) {
        return said;
    }
    let rows = || {
        let done = t.iter().any(|t| t.any(&["until", "till", "til"])) && said.is_some();
        rows_said(t).filter(|_| done).map(Until::RowsInAll)
    };
    until_times(t, k).or_else(rows).or(said)
}

/// "twice", "5 times more".
pub(super) fn until_times(t: &[Token<'_>], k: usize) -> Option<Until> {
    for j in k..t.len() {
        // "Repeat R8-R15 x3"
        if let (true, Some(n)) = (t[j].is("x"), t.get(j + 1).and_then(|t| t.number()))
            && t.get(j + 2).is_none_or(|t| t.is_stop())
        {
            return Some(Until::Times(n));
        }
        let times = match t[j].text {
            "once" => Some((1, 1)),
            "twice" => Some((2, 1)),
            _ => count(t, j),
        };
        let Some((n, used)) = times else { continue };
        // "[2 ch, 1 tr] 14 times" repeats the bracket, not the rows, when it opened after their number.
        let bracket = j > k && t[j - 1].kind == Kind::Close;
        let open = t[k..j].iter().rposition(|t| t.kind == Kind::Open);
        if bracket && open.is_some_and(|open| !t[k + open..j].iter().any(|t| t.any(&ROW))) {
            continue;
        }
        let more = t.get(j + used).is_some_and(|t| t.is("more"));
        let word = t.get(j + used + usize::from(more));
        let more = more
            || (word.is_some_and(|t| t.any(&["times", "time"]))
                && t.get(j + used + 1).is_some_and(|t| t.is("more")));
        let total = j > 1 && t[j - 1].is("of") && t[j - 2].is("total");
        if word.is_some_and(|t| t.any(&["times", "time", "x"]))
            || total && word.is_some_and(|t| t.any(&["repeats", "reps"]))
            || matches!(t[j].text, "once" | "twice")
        {
            return Some(if more { Until::More(n) } else { Until::Times(n) });
        }
    }
    None
}

pub(super) fn until_words(t: &[Token<'_>], j: usize) -> Option<Until> {
    let rest = &t[j..t.len().min(j + 16)];
    let the = usize::from(rest.get(1).is_some_and(|t| t.is("the")));
    if t[j].is("for") && rest.get(1 + the).is_some_and(|t| t.is("last")) {
        // "changing to B for the last 20 rows" is no length.
        return None;
    }
    if let Some(n) = rows_in_all(rest) {
        return Some(Until::RowsInAll(n));
    }
    if rest.iter().any(|t| t.is("square")) {
        let rows = (1..rest.len()).find(|&k| rest[k].any(&["rows", "rnds", "rounds"]));
        let about = rows.and_then(|k| rest[k - 1].number());
        if let Some(n) = about.filter(|_| t[j].any(&["until", "till", "til"])) {
            return Some(Until::RowsInAll(n));
        }
        if rest.iter().all(|t| t.number().is_none()) {
            return Some(Until::Square);
        }
    }
    // "Until you have just enough yarn for 2 rows": the maker's yarn ends it.
    let clause = rest.iter().take_while(|t| !t.is("or") && t.kind != Kind::Stop('.'));
    let spent = clause.into_iter().any(|t| t.is("enough"));
    if spent && t[j].any(&["until", "till", "til"]) {
        return Some(until_told(t, j).unwrap_or(Until::Open));
    }
    let has = |w: &[&str]| rest.iter().any(|t| t.any(w));
    if has(&["used", "consumed", "bound", "eaten", "joined"]) && has(&["all", "no"]) {
        return Some(Until::UsedUp);
    }
    // "until one tile is left", "until there's one block left"
    let one = rest.windows(2).take(5).any(|w| w[0].is("one") && w[1].any(&GROUPS));
    if one && t[j].any(&["until", "till", "til"]) {
        return Some(Until::Groups(1));
    }
    let open = || {
        let wish = ["desired", "wish", "want", "like", "wanted", "out", "done"];
        let open = rest.iter().any(|t| t.any(&wish));
        open.then(|| until_told(t, j).unwrap_or(Until::Open))
    };
    let or = rest.iter().position(|t| t.is("or")).unwrap_or(rest.len());
    let numbers = rest[..or].iter().enumerate().filter_map(|(k, t)| t.number().map(|n| (k, n)));
    for (k, n) in numbers {
        let after = rest.get(k + 1);
        if after.is_some_and(|t| t.any(&["sts", "st", "stitches", "dc", "sc", "hdc", "tr"]))
            && t[j].any(&["until", "till", "til"])
        {
            return Some(Until::Stitches(n));
        }
        let past_more =
            rest.get(k + 1 + usize::from(after.is_some_and(|t| t.any(&["more", "further"]))));
        // "for pattern until 300 rows are complete" is no "for 300 rows".
        let ends = |t: &Token<'_>| t.is_stop() || t.any(&["until", "till", "til"]);
        let clause = rest[..k].iter().skip(1).all(|t| !ends(t));
        if past_more.is_some_and(|t| t.any(&["rows", "rnds", "rounds"])) && t[j].is("for") && clause
        {
            return Some(Until::Rows(n));
        }
        let garter = usize::from(after.is_some_and(|t| t.is("garter")));
        if rest.get(k + 1 + garter).is_some_and(|t| t.any(&["ridge", "ridges"])) && clause {
            // A ridge is two rows.
            let rows = n.saturating_mul(2);
            match t[j].text {
                "until" | "till" | "til" => return Some(Until::RowsInAll(rows)),
                "for" => return Some(Until::Rows(rows)),
                _ => {}
            }
        }
        let row_before = k > 0 && rest[k - 1].any(&["row", "rnd", "round"]);
        if row_before && clause && t[j].any(&["until", "till", "til", "through", "thru", "to"]) {
            return Some(Until::Numbered(n));
        }
        let range_before = k > 1 && rest[k - 1].kind == Kind::Dash && t[j].is("for");
        if range_before && rest.iter().take(k).any(|t| t.any(&ROW)) {
            return Some(Until::Numbered(n));
        }
        // "60 ch-3 spaces" counts spaces, of whatever size.
        let sized = after.is_some_and(|t| t.any(&["ch", "chain"]))
            && rest[k..].iter().take(6).any(|t| t.any(&["sp", "sps", "space", "spaces", "loops"]));
        let spaced = after.is_some_and(|t| t.any(&["mesh", "meshes", "spaces", "sps"]));
        if (sized || spaced) && t[j].any(&["until", "till", "til"]) {
            return Some(Until::Spaces(n));
        }
        if after.is_some_and(|t| t.any(&GROUPS)) && t[j].any(&["until", "till", "til"]) {
            return Some(Until::Groups(n));
        }
        if let Some(mm) = length_mm(rest, k, n) {
            let near = &t[j..t.len().min(j + 24)];
            return Some(if names_edge(near) {
                Until::AlongEdge(mm)
            } else if t[j].is("for") && adds_length(t) {
                Until::MoreMillimetres(mm)
            } else {
                Until::Millimetres(mm)
            });
        }
    }
    open()
}

/// "Work even for 2 inches" goes on for so long; "until it measures", "rep row 2 for 60 inches" tells the whole.
pub(super) fn adds_length(t: &[Token<'_>]) -> bool {
    const WHOLE: [&str; 12] = [
        "rep",
        "repeat",
        "repeating",
        "until",
        "till",
        "measure",
        "measures",
        "measuring",
        "total",
        "beg",
        "beginning",
        "altogether",
    ];
    !t.iter().any(|t| t.any(&WHOLE))
}

/// "Measured along the slanted edge", "longer edge measures": not square to the rows.
pub(super) fn names_edge(t: &[Token<'_>]) -> bool {
    let edge = |t: &Token<'_>| t.any(&["edge", "side"]);
    let slant = |t: &Token<'_>| {
        t.any(&["long", "longer", "longest", "slanted", "slanting", "bias", "diagonal", "sloping"])
    };
    // "Along the side edge": the same on a straight piece, and longer where the rows lean.
    let own = |w: &[Token<'_>]| {
        let k = usize::from(w[1].is("the"));
        w[0].is("along")
            && (w[1 + k].is("side") && w[2 + k].any(&["edge", "selvedge", "selvage"])
                || w[1 + k].any(&["selvedge", "selvage"]))
    };
    t.windows(2).any(|w| slant(&w[0]) && edge(&w[1]))
        || t.windows(4).any(own)
        || t.windows(4).any(|w| w[0].is("along") && w[2].any(&["slant", "bias", "diagonal"]))
}

/// "Until you have 30 rows", "for a total of 30 rows".
pub(super) fn rows_in_all(t: &[Token<'_>]) -> Option<u32> {
    let k = t.iter().position(|t| t.number().is_some())?;
    let row = |t: &Token<'_>| t.any(&["rows", "rnds", "rounds"]);
    let rows = t.get(k + 1).is_some_and(row)
        || t.get(k + 1).is_some_and(|t| t.any(&["total"])) && t.get(k + 2).is_some_and(row);
    let total = t[..k].iter().any(|t| t.any(&["total"]));
    let whole = t[0].any(&["until", "till", "til"]) || t[0].any(&["for", "to"]) && total;
    let begun = t[..k].iter().skip(1).all(|t| {
        matches!(t.kind, Kind::Other('\'' | '’'))
            || t.any(&[
                "ve",
                "got",
                "reached",
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
pub(super) fn until_told(t: &[Token<'_>], j: usize) -> Option<Until> {
    let own = (j..t.len()).find(|&k| t[k].any(&["mine", "my", "sample", "about", "approx"]))?;
    let numbers = (own..t.len().min(own + 12)).filter_map(|k| t[k].number().map(|n| (k, n)));
    let told = |(k, n): (usize, u32)| {
        let after = t.get(k + 1)?;
        if after.any(&["rows", "rnds", "rounds"]) {
            return Some(Until::RowsInAll(n));
        }
        if after.any(&["repeats", "reps", "times"]) {
            // The first time is written out.
            return Some(Until::Times(n.saturating_sub(1)));
        }
        length_mm(t, k, n).map(Until::Millimetres)
    };
    numbers.into_iter().find_map(told)
}

/// The rest of a row's words says until when it is worked again: "... k to end until 3 sts remain".
/// The index where that begins.
pub(super) fn row_until(t: &[Token<'_>]) -> Option<(usize, Until)> {
    let at = t.iter().rposition(|t| t.any(&["until", "till", "til"])).filter(|&k| k > 0)?;
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
    // "... across until 2 sts remain. Dc in last 2 sts.": the row goes on, so that its repeat ends there.
    let last = rest[k + 2..].iter().take_while(|t| t.kind != Kind::Open).all(|t| {
        t.is_stop()
            || t.any(&[
                "remain",
                "remains",
                "rem",
                "remaining",
                "left",
                "on",
                "the",
                "your",
                "needle",
                "needles",
                "hook",
                "in",
                "row",
                "total",
                "altogether",
                "turn",
            ])
    });
    (whole && ended && noun && last).then_some((at, Until::Stitches(n)))
}

/// A length at `k`: "60 cm", `24"`, "24.5 in", "24 1/2 inches".
pub(super) fn length_mm(t: &[Token<'_>], k: usize, n: u32) -> Option<f64> {
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
    // "40 (60) inches": the first size.
    if t.get(j).is_some_and(|t| t.kind == Kind::Open)
        && let Some(close) = (j + 1..t.len().min(j + 12)).find(|&k| t[k].kind == Kind::Close)
        && t[j + 1..close].iter().all(|t| t.number().is_some() || t.is_stop())
    {
        j = close + 1;
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
