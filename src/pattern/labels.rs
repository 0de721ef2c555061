//! Lines told apart by how they begin: titles, names of parts, foundations, words that begin something anew.

use super::section::only_part;
use super::token::Kind;
use super::token::Token;

/// A first line of a few words without numbers is the title, even with a stitch name in it.
pub(super) fn names_piece(t: &[Token<'_>]) -> bool {
    const VERBS: [&str; 12] = [
        "ch", "chain", "cast", "co", "with", "make", "join", "row", "rnd", "knit", "work", "using",
    ];
    t.len() < 9
        && t.iter().all(|t| t.number().is_none())
        && !t[0].any(&VERBS)
        && !t.iter().any(|t| matches!(t.kind, Kind::Stop(':' | ',')))
}

/// "Edging rnd 1": the part that the heading of its first row names.
pub(super) fn edging_name<'t>(heading: &[Token<'t>]) -> Option<&'t str> {
    heading.first().filter(|t| t.any(&super::heading::EDGINGS)).map(|t| t.text)
}

/// "3." or "3)" at `at`, with no word for a row.
pub(super) fn bare_number(t: &[Token<'_>], at: usize) -> bool {
    let marked = t.get(at + 1).is_some_and(|t| matches!(t.kind, Kind::Close | Kind::Stop(_)));
    t[at].number().is_some() && marked
}

/// Two lines or more begin with "Row" and a number.
pub(super) fn words_rows(lower: &str) -> bool {
    let numbered = |line: &&str| {
        let words = line.trim_start_matches(|c: char| !c.is_ascii_alphanumeric());
        let rest = ["rows", "row", "rnds", "rnd", "rounds", "round"]
            .iter()
            .find_map(|word| words.strip_prefix(word));
        rest.is_some_and(|r| {
            r.trim_start_matches([' ', '.']).starts_with(|c: char| c.is_ascii_digit())
        })
    };
    lower.lines().filter(numbered).nth(1).is_some()
}

/// "Edging: ch 1, ...": the colon after the name of a part.
pub(super) fn part_label(t: &[Token<'_>]) -> Option<usize> {
    let mark = |t: &Token<'_>| matches!(t.kind, Kind::Stop(':') | Kind::Other('|'));
    let colon = t.iter().take(4).position(mark);
    // Leaflets set the name off by a full stop and a dash: "Edging.--1 d.c. into corner".
    let dashed = || {
        let dash = t.iter().take(4).position(|t| t.kind == Kind::Dash && t.glued)?;
        (dash > 1 && t[dash - 1].kind == Kind::Stop('.')).then_some(dash)
    };
    if let Some(k) = numbered_part(t) {
        return Some(k);
    }
    let colon = colon.or_else(dashed).filter(|&k| k > 0)?;
    let words = t[..colon].iter().all(|t| t.kind == Kind::Word || t.is_stop());
    let last = t[..colon].iter().rposition(|t| t.kind == Kind::Word)?;
    (words && only_part(&t[last..=colon.min(last + 1)])).then_some(colon)
}

/// "First Half", "Main Section": nothing but the name of a part, even straight below the gauge.
pub(super) fn names_part(t: &[Token<'_>]) -> bool {
    const WHICH: [&str; 8] =
        ["first", "second", "third", "left", "right", "main", "upper", "lower"];
    t.len() == 2 && t[0].any(&WHICH) && only_part(&t[1..])
}

/// "Log 2: with C, ...", "Strip B: ...": the colon after the number of a part.
pub(super) fn numbered_part(t: &[Token<'_>]) -> Option<usize> {
    const NUMBERED: [&str; 16] = [
        "log", "strip", "wedge", "stripe", "band", "block", "piece", "panel", "square", "triangle",
        "section", "part", "tier", "centre", "step", "stage",
    ];
    const SEVERAL: [&str; 7] = ["strips", "panels", "squares", "blocks", "pieces", "bands", "logs"];
    if t.first()?.any(&SEVERAL) && t.get(1)?.number().is_some() {
        let colon = 1 + super::copied::numbers_at(&t[1..]).1;
        return (t.get(colon)?.kind == Kind::Stop(':')).then_some(colon);
    }
    let named = t.first()?.any(&NUMBERED);
    let number = t.get(1)?.number().is_some() || t[1].kind == Kind::Word && t[1].text.len() == 1;
    (named && number && t.get(2)?.kind == Kind::Stop(':')).then_some(2)
}

/// "Increase (dc)", "Decreasing": a part by what it does, and no stitch of it.
pub(super) fn names_shaping(t: &[Token<'_>]) -> bool {
    const SHAPES: [&str; 6] = ["increase", "increasing", "inc", "decrease", "decreasing", "dec"];
    t.len() < 6
        && t[0].any(&SHAPES)
        && t.iter().all(|t| {
            t.kind == Kind::Word || matches!(t.kind, Kind::Open | Kind::Close | Kind::Stop(':'))
        })
        && !t.iter().any(|t| t.any(&["in", "into", "each", "across", "around"]))
}

/// "Ch 42", "Cast on 20": too long for a part of a definition.
pub(super) fn lays_foundation(t: &[Token<'_>]) -> bool {
    let number = |k: usize| t.get(k).and_then(|t| t.number()).unwrap_or(0);
    let chain = |k: usize| t.get(k).is_some_and(|t| t.any(&["ch", "chain", "chains"]));
    let verb = usize::from(t[0].any(&["make", "work", "crochet", "begin", "commence"]));
    (chain(0) && (number(1) > 7 || t.get(1).is_some_and(|t| t.any(&["a", "any"]))))
        || (number(verb) > 7 && chain(verb + 1))
        || (t[0].any(&["cast", "co"]) && number(1).max(number(2)) > 0)
}

/// "Repeat rows ...", "Bind off ..." begin something of their own.
pub(super) fn starts_again(t: &[Token<'_>]) -> bool {
    let rows = t.iter().take(6).any(|t| t.any(&["row", "rows", "rnds", "rnd", "round", "rounds"]));
    (t[0].any(&["rep", "repeat", "continue", "cont"]) && rows)
        || (t[0].any(&["bind", "cast"]) && t.get(1).is_some_and(|t| t.any(&["off", "on"])))
        || t[0].any(&["bo", "co", "fasten", "finish", "finishing"])
}

/// "Join short ends: whip stitch together": making up.
pub(super) fn sews_up(t: &[Token<'_>]) -> bool {
    const SEWS: [&str; 8] =
        ["sew", "seam", "whip", "whipstitch", "whipstitching", "graft", "mattress", "seaming"];
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    let lays = t[0].any(&["place", "lay", "hold", "with"])
        && has(&["together"])
        && has(&["join", "sew", "seam"]);
    lays || t[0].any(&["join", "sew", "seam", "whipstitch", "graft"]) && has(&SEWS)
}

/// `Baby: 32" x 36" - chain 107`: a size of the piece among others, which works nothing.
pub(super) fn lists_size(t: &[Token<'_>]) -> bool {
    let length = |k: usize| {
        t.get(k).and_then(|t| t.number()).and_then(|n| super::until::length_mm(t, k, n)).is_some()
    };
    let labelled = t.iter().take(5).any(|t| t.kind == Kind::Stop(':'));
    let by = |k: usize| t[k].any(&["x", "by"]);
    labelled
        && (1..t.len()).any(|k| by(k) && length(k + 1) && (1..4).any(|d| k >= d && length(k - d)))
}
