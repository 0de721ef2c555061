//! Fabrics by name: "Knit 10 rows", "work in garter stitch for 60 rows".

use super::colour::colour_index;
use super::colour::is_letter_code;
use super::heading::count;
use super::syntax::Content;
use super::syntax::Fabric;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;
use super::until::adds_length;
use super::until::length_mm;
use super::until::until;

/// Fabrics by name and "knit 10 rows".
pub(super) fn fabric(t: &[Token<'_>], text: &str, colours: &mut Vec<String>) -> Option<Content> {
    let own = fabric_colour(t, text);
    let t = own.map_or(t, |(_, rest)| &t[rest..]);
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    let first = t.iter().find(|t| t.kind == Kind::Word)?;
    if !first.any(&[
        "knit",
        "k",
        "purl",
        "p",
        "work",
        "cont",
        "continue",
        "beginning",
        "begin",
        "in",
        "garter",
        "then",
        "now",
        "change",
        "switch",
        "starting",
        "working",
    ]) || super::clauses::equates(t)
    {
        return None;
    }
    let rows = rows_said(t);
    let every = has(&["every", "all", "each"]) && has(&["row", "rows", "rnd", "rnds"]);
    let until = until(t, 0).filter(|u| !matches!(u, Until::Times(_) | Until::More(_)));
    // "Knit until piece measures 25 cm": every row is knitted.
    let long = matches!(until, Some(Until::Millimetres(_) | Until::MoreMillimetres(_)));
    let fabric = named_fabric(t, rows.is_some() || every || long)?;
    let length = || {
        let numbers = t.iter().enumerate().filter_map(|(k, t)| t.number().map(|n| (k, n)));
        let mm = numbers.filter_map(|(k, n)| length_mm(t, k, n)).next();
        mm.map(if adds_length(t) { Until::MoreMillimetres } else { Until::Millimetres })
    };
    let until = rows.map(Until::Rows).or(until).or_else(length)?;
    let name = own.map(|(name, _)| name).or_else(|| colour_after_rows(t, text, colours));
    let colour = name.map(|name| colour_index(colours, name));
    Some(Content::Fabric(fabric, until, colour))
}

/// "Knit 2 rows B", "knit 2 rows with B": a yarn named after the rows.
fn colour_after_rows<'t>(t: &[Token<'_>], text: &'t str, known: &[String]) -> Option<&'t str> {
    let rows = t.iter().position(|t| t.any(&["rows", "row"]))?;
    let lead = ["with", "using", "in", "of", "color", "colour", "yarn"];
    let at = rows + 1 + t[rows + 1..].iter().take_while(|t| t.any(&lead)).count();
    let ends = t.get(at + 1).is_none_or(Token::is_stop);
    let written = text.get(t.get(at)?.span.range())?;
    let named = is_letter_code(written) || known.iter().any(|c| c.eq_ignore_ascii_case(written));
    (ends && named).then_some(written)
}

/// "With B, knit 2 rows", "knit 2 rows": a step told in rows begins here.
pub(super) fn begins_rows(t: &[Token<'_>]) -> bool {
    let yarn = t.first().is_some_and(|t| t.any(&["with", "using", "in"]));
    let name =
        if yarn { 1 + usize::from(t.get(1).is_some_and(|t| t.any(&["color", "yarn"]))) } else { 0 };
    let verb = name + usize::from(yarn);
    let verb = verb + usize::from(yarn && t.get(verb).is_some_and(Token::is_stop));
    t.get(verb).is_some_and(|t| t.any(&["knit", "purl", "k", "p", "work"]))
        && t.get(verb + 1).is_some_and(|t| t.number().is_some())
        && t.get(verb + 2).is_some_and(|t| t.any(&["row", "rows"]))
}

/// "With A, knit 2 rows": the colour and where the rest begins.
fn fabric_colour<'t>(t: &[Token<'_>], text: &'t str) -> Option<(&'t str, usize)> {
    if !t.first()?.any(&["with", "using", "in"]) {
        return None;
    }
    let name = 1 + usize::from(t.get(1)?.any(&["colour", "color", "yarn"]));
    let written = text.get(t.get(name)?.span.range())?;
    let comma = usize::from(t.get(name + 1).is_some_and(|t| t.is_stop()));
    is_letter_code(written).then_some((written, name + 1 + comma))
}

/// Words that may stand between a number and its rows: "1 WS row".
const BETWEEN: [&str; 4] = ["more", "further", "ws", "rs"];

/// "10 rows", "three more rows".
pub(super) fn rows_said(t: &[Token<'_>]) -> Option<u32> {
    let at = (1..t.len()).find(|&k| {
        let before = usize::from(t[k - 1].any(&BETWEEN)) + 1;
        t[k].any(&["rows", "rnds", "rounds", "row", "rnd"])
            && k >= before
            && count(t, k - before).is_some()
    })?;
    let before = usize::from(t[at - 1].any(&BETWEEN)) + 1;
    count(t, at - before).map(|(n, _)| n)
}

/// "Work 1 round of sc evenly around the outer edge" is a border, and not "evenly" for "even".
const EDGES: [&str; 9] =
    ["corner", "corners", "around", "round", "along", "edge", "edges", "side", "sides"];

pub(super) fn named_fabric(t: &[Token<'_>], many: bool) -> Option<Fabric> {
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    let pair = |a: &[&str], b: &[&str]| t.windows(2).any(|w| w[0].any(a) && w[1].any(b));
    let first = t.iter().find(|t| t.kind == Kind::Word)?;
    let knits = first.any(&["knit", "k"]);
    let plain = t.iter().filter(|t| t.kind == Kind::Word).count() < 9;
    let short = t.windows(3).any(|w| {
        w[0].is("g")
            && matches!(w[1].kind, Kind::Dash | Kind::Stop('.'))
            && w[1].glued
            && w[2].any(&["st", "stitch"])
    });
    Some(if has(&["garter", "gst"]) || short || pair(&["g"], &["st", "stitch"]) {
        Fabric::Garter
    } else if has(&["stockinette", "stocking"]) || pair(&["st"], &["st", "stitch"]) {
        if has(&["reverse", "rev"]) { Fabric::ReverseStockinette } else { Fabric::Stockinette }
    } else if has(&["seed", "moss"]) && has(&["st", "stitch"]) {
        Fabric::Seed
    } else if has(&["rib", "ribbing"]) && !pair(&["in"], &["rib"]) || rib_named(t) {
        rib(t)
    } else if pair(&["work", "knit", "continue", "cont"], &["even", "straight"])
        || pair(&["without"], &["shaping"])
        || has(&["straight", "even", "evenly"]) && many && first.any(&["work"]) && !has(&EDGES)
        || pair(&["in"], &["pattern", "patt", "pat", "rib"]) && first.any(&["work"])
    {
        Fabric::Established
    } else if knits && many {
        Fabric::Garter
    } else if first.any(&["purl", "p"]) && many && plain {
        Fabric::Purled
    } else {
        return None;
    })
}

/// "work in k2, p2 rib": both numbers stand before the word.
pub(super) fn rib_named(t: &[Token<'_>]) -> bool {
    t.windows(2).any(|w| w[0].number().is_some() && w[1].any(&["rib", "ribbing"]))
}

pub(super) fn rib(t: &[Token<'_>]) -> Fabric {
    let after = |w: &str| t.windows(2).find_map(|p| if p[0].is(w) { p[1].number() } else { None });
    let by = |c: usize| {
        let x = t
            .windows(3)
            .find(|w| w[1].is("x") && w[0].number().is_some() && w[2].number().is_some())?;
        x[c].number()
    };
    let width = |n: Option<u32>| n.unwrap_or(1).clamp(1, 20) as u8;
    Fabric::Rib(
        width(after("k").or_else(|| by(0))),
        width(after("p").or_else(|| by(2)).or(after("k"))),
    )
}
