//! Stitch names: from tokens to [`Act`]s, in US and UK terms, crochet and knit.
//!
//! Names: Craft Yarn Council abbreviation lists (crochet, knit) and its US/UK conversion chart, from
//! memory; older spellings are common practice without a source.

use super::header::CraftWord;
use super::header::Terms;
use super::syntax::Act;
use super::syntax::Height;
use super::syntax::Style;
use super::token::Kind;
use super::token::Token;

/// What decides how words are read.
#[derive(Debug, Clone, Default)]
pub(crate) struct Context {
    /// Crochet or knit.
    pub(crate) craft: CraftWord,
    /// US or UK.
    pub(crate) terms: Terms,
    /// Names of designer-defined stitches, in the words of [`super::syntax::Macro::name`].
    pub(crate) macros: Vec<String>,
    /// Yarn letters and names, lower case.
    pub(crate) colours: Vec<String>,
    /// Stitch patterns whose rows are called by name.
    pub(crate) called: Vec<super::called::Called>,
    /// The page writes "m" for "miss".
    pub(crate) misses: bool,
    /// The stitch that "inc" puts two of into one place, where the page says it.
    pub(crate) inc: Option<Height>,
    /// The stitch that "dec" works two of together, where the page says it.
    pub(crate) dec: Option<Height>,
}

/// A stitch name found in the text.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Found {
    /// The stitch.
    pub(crate) act: Act,
    /// Tokens its name takes.
    pub(crate) len: usize,
    /// Stitches into one place that the name itself says ("sc inc").
    pub(crate) each: u32,
}

const fn plain(act: Act, len: usize) -> Option<Found> {
    Some(Found { act, len, each: 1 })
}

/// Length of a word match of `pattern` at `i`: `#` is any number, digits that number; dashes, commas
/// and full stops between are passed over. Returns tokens used and the first number.
pub(crate) fn sequence(t: &[Token<'_>], i: usize, pattern: &[&str]) -> Option<(usize, u32)> {
    let (mut j, mut number) = (i, None);
    for (k, want) in pattern.iter().enumerate() {
        while k > 0 && t.get(j).is_some_and(joins) && t.get(j + 1).is_some() {
            j += 1;
        }
        let token = t.get(j)?;
        match token.kind {
            Kind::Number(n) if *want == "#" => number = number.or(Some(n)),
            Kind::Number(_) | Kind::Word if token.text == *want => {}
            Kind::Word if token.text.strip_suffix('s') == Some(want) && want.len() > 1 => {}
            Kind::Other('&') if *want == "&" => {}
            _ => return None,
        }
        j += 1;
    }
    Some((j - i, number.unwrap_or(0)))
}

fn joins(token: &Token<'_>) -> bool {
    matches!(token.kind, Kind::Dash | Kind::Stop(',' | '.'))
        || matches!(token.kind, Kind::Other('/'))
}

/// The first of `patterns` that stands at `i`.
pub(crate) fn first_of(t: &[Token<'_>], i: usize, patterns: &[&[&str]]) -> Option<(usize, u32)> {
    patterns.iter().find_map(|p| sequence(t, i, p))
}

/// The stitch named at `i`, if any.
pub(crate) fn stitch_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    if let Some(found) = macro_at(cx, t, i) {
        return Some(found);
    }
    match cx.craft {
        CraftWord::Knit => knit_at(t, i).or_else(|| common_at(cx, t, i)),
        CraftWord::Crochet => crochet_at(cx, t, i).or_else(|| common_at(cx, t, i)),
    }
}

/// A designer-defined stitch at `i`; the longest name wins.
pub(crate) fn macro_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    let mut best: Option<Found> = None;
    for (index, name) in cx.macros.iter().enumerate() {
        let words: Vec<&str> = name.split(' ').collect();
        if let Some((len, _)) = sequence(t, i, &words)
            && best.is_none_or(|b| b.len <= len)
        {
            best = plain(Act::Macro(index as u16), len);
        }
    }
    best
}

/// The height of one crochet word under the page's terms.
fn height_word(terms: Terms, word: &str) -> Option<Height> {
    let us = match word {
        "sc" | "s.c" => Height::Single,
        "hdc" | "h.d.c" | "htr" | "h.tr" => Height::HalfDouble,
        "dc" | "d.c" => Height::Double,
        "tr" | "trc" | "treble" | "triple" => Height::Treble,
        "dtr" | "d.tr" => Height::DoubleTreble,
        "trtr" | "ttr" => Height::TripleTreble,
        "qtr" | "quadtr" => Height::TripleTreble,
        _ => return None,
    };
    Some(if terms == Terms::Uk { lower(us, word) } else { us })
}

/// US height of a UK name: one step lower from double crochet up (Craft Yarn Council conversion chart).
fn lower(us: Height, word: &str) -> Height {
    match us {
        Height::Double => Height::Single,
        Height::Treble => Height::Double,
        Height::DoubleTreble => Height::Treble,
        Height::TripleTreble if word != "qtr" && word != "quadtr" => Height::DoubleTreble,
        other => other,
    }
}

/// A height written at `i` in one word or several, with its tokens.
pub(crate) fn height_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<(Height, usize)> {
    const LONG: [(&[&str], &str); 16] = [
        (&["half", "double", "crochet"], "hdc"),
        (&["half", "double"], "hdc"),
        (&["half", "treble", "crochet"], "htr"),
        (&["half", "treble"], "htr"),
        (&["half", "dc"], "hdc"),
        (&["half", "tr"], "htr"),
        (&["double", "treble", "crochet"], "dtr"),
        (&["double", "treble"], "dtr"),
        (&["triple", "treble"], "trtr"),
        (&["single", "crochet"], "sc"),
        (&["double", "crochet"], "dc"),
        (&["treble", "crochet"], "tr"),
        (&["triple", "crochet"], "tr"),
        (&["treble"], "tr"),
        (&["triple"], "tr"),
        (&["tc"], "tr"),
    ];
    let token = t.get(i)?;
    if token.kind != Kind::Word {
        return None;
    }
    let word = token.text;
    let single = word.strip_suffix('s').filter(|w| w.len() > 1).unwrap_or(word);
    if let Some(height) = height_word(cx.terms, single) {
        let spelt = word.len() > 3 && t.get(i + 1).is_some_and(|t| t.is("crochet"));
        return Some((height, 1 + usize::from(spelt)));
    }
    if !matches!(word.as_bytes()[0], b'h' | b'd' | b't' | b's') {
        return None;
    }
    let (name, len) =
        LONG.iter().find_map(|(p, name)| sequence(t, i, p).map(|(len, _)| (*name, len)))?;
    Some((height_word(cx.terms, name)?, len))
}

/// A post stitch with its prefixes (`fpdc`, `edc`, `front post dc`) at `i`.
fn post_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<(Height, Style, usize)> {
    if let Some((height, len)) = height_at(cx, t, i) {
        return Some(suffix_style(t, i, height, len));
    }
    let word = t.get(i).filter(|t| t.kind == Kind::Word)?.text;
    let word = word.strip_suffix('s').unwrap_or(word);
    let prefixed = |p: &str| word.strip_prefix(p).and_then(|w| height_word(cx.terms, w));
    let suffixed = |p: &str| word.strip_suffix(p).and_then(|w| height_word(cx.terms, w));
    for (mark, style) in [
        ("fp", Style::FrontPost),
        ("bp", Style::BackPost),
        ("rf", Style::FrontPost),
        ("rb", Style::BackPost),
        ("e", Style::Extended),
    ] {
        if let Some(height) = prefixed(mark) {
            return Some((height, style, 1));
        }
    }
    for (mark, style) in [
        ("fp", Style::FrontPost),
        ("bp", Style::BackPost),
        ("rf", Style::FrontPost),
        ("rb", Style::BackPost),
    ] {
        if let Some(height) = suffixed(mark) {
            return Some((height, style, 1));
        }
    }
    if let Some((height, style)) = raised_word(cx, word) {
        return Some((height, style, 1));
    }
    if let Some(found) = raised_spelt(cx, t, i) {
        return Some(found);
    }
    const SPELT: [(&[&str], Style); 8] = [
        (&["front", "post"], Style::FrontPost),
        (&["back", "post"], Style::BackPost),
        (&["fp"], Style::FrontPost),
        (&["bp"], Style::BackPost),
        (&["raised", "front"], Style::FrontPost),
        (&["raised", "back"], Style::BackPost),
        (&["extended"], Style::Extended),
        (&["linked"], Style::Plain),
    ];
    let (style, used) = SPELT.iter().find_map(|(p, s)| sequence(t, i, p).map(|(n, _)| (*s, n)))?;
    let used = used + usize::from(t.get(i + used).is_some_and(|t| t.kind == Kind::Dash));
    height_at(cx, t, i + used).map(|(height, len)| (height, style, used + len))
}

/// `rtrf`, `rtrb`: raised round the post, with the side last.
fn raised_word(cx: &Context, word: &str) -> Option<(Height, Style)> {
    let inner = word.strip_prefix('r')?;
    let (name, style) = match inner.strip_suffix('f') {
        Some(name) => (name, Style::FrontPost),
        None => (inner.strip_suffix('b')?, Style::BackPost),
    };
    Some((height_word(cx.terms, name)?, style))
}

/// "raised treble front".
fn raised_spelt(cx: &Context, t: &[Token<'_>], i: usize) -> Option<(Height, Style, usize)> {
    t.get(i).filter(|t| t.is("raised"))?;
    let (height, len) = height_at(cx, t, i + 1)?;
    let style = match t.get(i + 1 + len)?.text {
        "front" => Style::FrontPost,
        "back" => Style::BackPost,
        _ => return None,
    };
    Some((height, style, len + 2))
}

/// `dc fp`, `tr/rf` after a height.
fn suffix_style(t: &[Token<'_>], i: usize, height: Height, len: usize) -> (Height, Style, usize) {
    let style = |word: &str| match word {
        "fp" | "rf" => Some(Style::FrontPost),
        "bp" | "rb" => Some(Style::BackPost),
        _ => None,
    };
    let slash = usize::from(t.get(i + len).is_some_and(|t| t.kind == Kind::Other('/')));
    match t.get(i + len + slash).and_then(|t| style(t.text)) {
        Some(style) => (height, style, len + slash + 1),
        None => (height, Style::Plain, len),
    }
}

fn crochet_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    let token = t.get(i)?;
    if let Kind::Number(n) = token.kind {
        return numbered_crochet(cx, t, i, n);
    }
    if token.kind != Kind::Word {
        return None;
    }
    if let Some((height, style, len)) = post_at(cx, t, i) {
        return after_height(t, i, height, style, len);
    }
    foundation_at(cx, t, i).or_else(|| crochet_word(cx, t, i))
}

/// `3-dc cluster`, `2 dc tog`, `3dc bobble`: a number that belongs to the name.
fn numbered_crochet(cx: &Context, t: &[Token<'_>], i: usize, n: u32) -> Option<Found> {
    let dash = usize::from(t.get(i + 1).is_some_and(|t| t.kind == Kind::Dash));
    let count = n.min(20) as u8;
    let start = i + 1 + dash;
    let (height, len) = match post_at(cx, t, start) {
        Some((height, _, len)) => (height, len),
        None => (Height::Double, 0),
    };
    let end = start + len + usize::from(t.get(start + len).is_some_and(|t| t.kind == Kind::Dash));
    let word = t.get(end).filter(|t| t.kind == Kind::Word)?.text;
    let used = end + 1 - i;
    match word {
        "tog" | "together" if len > 0 => plain(Act::Together(height, count, Style::Plain), used),
        "cluster" | "cl" | "bobble" | "cls" | "clusters" if len > 0 || dash > 0 => {
            plain(Act::Cluster(height, count), with_stitch(t, i, used))
        }
        "popcorn" | "pc" if len > 0 || dash > 0 => {
            plain(Act::Popcorn(height, count), with_stitch(t, i, used))
        }
        "puff" if dash > 0 || len > 0 => plain(Act::Puff(count), with_stitch(t, i, used)),
        _ => None,
    }
}

/// Takes a following "st" or "stitch" into the name ("puff st").
fn with_stitch(t: &[Token<'_>], i: usize, len: usize) -> usize {
    len + usize::from(t.get(i + len).is_some_and(|t| t.any(&["st", "sts", "stitch", "stitches"])))
}

/// What follows a height: `2tog`, `dec`, `inc`, `cluster`.
fn after_height(
    t: &[Token<'_>],
    i: usize,
    height: Height,
    style: Style,
    len: usize,
) -> Option<Found> {
    let dash = usize::from(
        t.get(i + len).is_some_and(|t| t.kind == Kind::Dash)
            && t.get(i + len + 1).is_some_and(|t| t.any(&["dec", "inc", "cluster", "tog"])),
    );
    let next = i + len + dash;
    const TOGETHER: [&[&str]; 5] = [
        &["#", "tog"],
        &["#", "together"],
        &["#", "dec"],
        &["#", "st", "together"],
        &["#", "st", "tog"],
    ];
    // "Sc the first 2 sts together"
    const WHICH: [&str; 4] = ["the", "first", "next", "last"];
    let which = t[next.min(t.len())..].iter().take_while(|t| t.any(&WHICH)).count();
    if which > 0
        && let Some((n, count)) = first_of(t, next + which, &TOGETHER[3..])
    {
        return plain(Act::Together(height, count.min(40) as u8, style), len + dash + which + n);
    }
    for pattern in TOGETHER {
        if let Some((n, count)) = sequence(t, next, pattern) {
            if pattern[1] == "dec" && (n > 2 || !t.get(next).is_some_and(|t| t.glued)) {
                continue;
            }
            return plain(Act::Together(height, count.min(40) as u8, style), len + dash + n);
        }
    }
    let word = t.get(next).filter(|t| t.kind == Kind::Word).map_or("", |t| t.text);
    match word {
        "tog" | "together" | "dec" | "decrease" | "decs" => {
            plain(Act::Together(height, 2, style), len + dash + 1)
        }
        "inc" | "increase" => {
            Some(Found { act: Act::Post(height, style), len: len + dash + 1, each: 2 })
        }
        "cluster" | "cl" | "bobble" => plain(Act::Cluster(height, 3), len + dash + 1),
        _ => plain(Act::Post(height, style), len),
    }
}

fn foundation_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    let word = t[i].text;
    if let Some(height) = word.strip_prefix('f').and_then(|w| height_word(cx.terms, w)) {
        return plain(Act::Foundation(height), 1);
    }
    if word == "foundation" || word == "chainless" {
        let skip = 1 + usize::from(t.get(i + 1).is_some_and(|t| t.is("foundation")));
        let (height, len) = height_at(cx, t, i + skip)?;
        return plain(Act::Foundation(height), skip + len);
    }
    None
}

fn crochet_word(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    const SLIP: [&[&str]; 9] = [
        &["sl", "st"],
        &["slst"],
        &["slip", "stitch"],
        &["slip", "st"],
        &["ss"],
        &["s.s"],
        &["slipstitch"],
        &["sl", "stitch"],
        &["slstitch"],
    ];
    if let Some((len, _)) = first_of(t, i, &SLIP) {
        return plain(Act::Slip, len);
    }
    const REVERSE: [&[&str]; 7] = [
        &["rsc"],
        &["revsc"],
        &["rev", "sc"],
        &["reverse", "sc"],
        &["reverse", "single", "crochet"],
        &["crab", "stitch"],
        &["crab", "st"],
    ];
    if let Some((len, _)) = first_of(t, i, &REVERSE) {
        return plain(Act::Reverse, len);
    }
    let beginning = usize::from(t[i].any(&["beg", "beginning"]));
    let word = t.get(i + beginning).filter(|t| t.kind == Kind::Word).map_or("", |t| t.text);
    let word = word.strip_suffix('s').unwrap_or(word);
    let len = |n: usize| with_stitch(t, i, beginning + n);
    match word {
        "puff" | "puffst" => plain(Act::Puff(3), len(1)),
        "bobble" | "cluster" | "cl" | "bo" => {
            plain(Act::Cluster(Height::Double, if word == "bobble" { 5 } else { 3 }), len(1))
        }
        "popcorn" | "pc" => plain(Act::Popcorn(Height::Double, 5), len(1)),
        "picot" => plain(Act::Picot(3), beginning + 1),
        _ if beginning > 0 => None,
        "inv" | "invisible" if t.get(i + 1).is_some_and(|t| t.any(&["dec", "decrease"])) => {
            plain(Act::Decrease, 2)
        }
        "dctog" => plain(Act::Together(height_word(cx.terms, "dc")?, 2, Style::Plain), 1),
        "sctog" => plain(Act::Together(Height::Single, 2, Style::Plain), 1),
        _ => None,
    }
}

/// "Work the last 2 sts together": a decrease of the stitch in work.
fn worked_together(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    const WHICH: [&str; 4] = ["the", "first", "next", "last"];
    let which = t[i + 1..].iter().take_while(|t| t.any(&WHICH)).count();
    let (n, _) = first_of(t, i + 1 + which, &[&["2", "st", "together"], &["2", "st", "tog"]])?;
    let act = cx.dec.map_or(Act::Decrease, |height| Act::Together(height, 2, Style::Plain));
    plain(act, 1 + which + n)
}

/// "inc" and "dec", in both crafts.
fn common_at(cx: &Context, t: &[Token<'_>], i: usize) -> Option<Found> {
    let token = t.get(i).filter(|t| t.kind == Kind::Word)?;
    if token.is("work") {
        return worked_together(cx, t, i);
    }
    match (token.text, cx.inc, cx.dec) {
        ("inc" | "increase" | "incs", Some(height), _) => {
            Some(Found { act: Act::Post(height, Style::Plain), len: 1, each: 2 })
        }
        ("dec" | "decrease" | "decs", _, Some(height)) => {
            plain(Act::Together(height, 2, Style::Plain), 1)
        }
        ("inc" | "increase" | "incs", ..) => plain(Act::Increase, 1),
        ("dec" | "decrease" | "decs", ..) => plain(Act::Decrease, 1),
        _ => None,
    }
}

/// Knit names that take several words, longest first.
const KNIT: [(&[&str], Act); 77] = [
    (&["knit", "into", "the", "front", "and", "back"], Act::KnitInto(2)),
    (&["knit", "into", "front", "and", "back"], Act::KnitInto(2)),
    (&["knit", "in", "front", "and", "back"], Act::KnitInto(2)),
    (&["k", "into", "front", "and", "back"], Act::KnitInto(2)),
    (&["k", "in", "front", "and", "back"], Act::KnitInto(2)),
    (&["knit", "twice", "into"], Act::KnitInto(2)),
    (&["sl", "1", "k", "2", "tog", "psso"], Act::KnitTogether { of: 3, purl: false }),
    (&["sl", "1", "knit", "2", "tog", "psso"], Act::KnitTogether { of: 3, purl: false }),
    (&["sl", "1", "k", "2", "together", "psso"], Act::KnitTogether { of: 3, purl: false }),
    (&["sl", "2", "k", "1", "p", "2", "sso"], Act::KnitTogether { of: 3, purl: false }),
    (&["sl", "2", "k", "1", "psso"], Act::KnitTogether { of: 3, purl: false }),
    (&["sl", "1", "k", "1", "psso"], Act::KnitTogether { of: 2, purl: false }),
    (&["s", "1", "k", "2", "tog", "psso"], Act::KnitTogether { of: 3, purl: false }),
    (&["s", "1", "k", "1", "psso"], Act::KnitTogether { of: 2, purl: false }),
    (&["s", "1"], Act::SlipLoop),
    (
        &["sl", "1", "k", "1", "pass", "slipped", "stitch", "over"],
        Act::KnitTogether { of: 2, purl: false },
    ),
    (&["k", "#", "tog", "tbl"], Act::KnitTogether { of: 0, purl: false }),
    (&["k", "#", "together"], Act::KnitTogether { of: 0, purl: false }),
    (&["k", "#", "tog"], Act::KnitTogether { of: 0, purl: false }),
    (&["knit", "#", "tog"], Act::KnitTogether { of: 0, purl: false }),
    (&["knit", "#", "together"], Act::KnitTogether { of: 0, purl: false }),
    (&["p", "#", "tog", "tbl"], Act::KnitTogether { of: 0, purl: true }),
    (&["p", "#", "together"], Act::KnitTogether { of: 0, purl: true }),
    (&["p", "#", "tog"], Act::KnitTogether { of: 0, purl: true }),
    (&["purl", "#", "tog"], Act::KnitTogether { of: 0, purl: true }),
    (&["purl", "#", "together"], Act::KnitTogether { of: 0, purl: true }),
    (&["k", "2", "t"], Act::KnitTogether { of: 2, purl: false }),
    (&["k", "1", "f", "&", "b"], Act::KnitInto(2)),
    (&["k", "1", "fb"], Act::KnitInto(2)),
    (&["k", "f", "&", "b"], Act::KnitInto(2)),
    (&["p", "1", "f", "&", "b"], Act::KnitInto(2)),
    (&["knit", "front", "and", "back"], Act::KnitInto(2)),
    (&["kfbf"], Act::KnitInto(3)),
    (&["kbfb"], Act::KnitInto(3)),
    (&["kyok"], Act::KnitInto(3)),
    (&["kpk"], Act::KnitInto(3)),
    (&["kfb"], Act::KnitInto(2)),
    (&["pfb"], Act::KnitInto(2)),
    (&["sssk"], Act::KnitTogether { of: 3, purl: false }),
    (&["sk", "2", "po"], Act::KnitTogether { of: 3, purl: false }),
    (&["sk", "2", "p"], Act::KnitTogether { of: 3, purl: false }),
    (&["s", "2", "kp", "2"], Act::KnitTogether { of: 3, purl: false }),
    (&["s", "2", "kp"], Act::KnitTogether { of: 3, purl: false }),
    (&["cdd"], Act::KnitTogether { of: 3, purl: false }),
    (&["dd"], Act::KnitTogether { of: 3, purl: false }),
    (&["ssk"], Act::KnitTogether { of: 2, purl: false }),
    (&["ssp"], Act::KnitTogether { of: 2, purl: true }),
    (&["skpo"], Act::KnitTogether { of: 2, purl: false }),
    (&["skp"], Act::KnitTogether { of: 2, purl: false }),
    (&["m", "1", "l"], Act::MakeOne { purl: false }),
    (&["m", "1", "r"], Act::MakeOne { purl: false }),
    (&["m", "1", "p"], Act::MakeOne { purl: true }),
    (&["m", "1"], Act::MakeOne { purl: false }),
    (&["make", "1"], Act::MakeOne { purl: false }),
    (&["make", "one"], Act::MakeOne { purl: false }),
    (&["yarn", "over"], Act::YarnOver),
    (&["yarn", "forward"], Act::YarnOver),
    (&["wool", "forward"], Act::YarnOver),
    (&["wool", "fwd"], Act::YarnOver),
    (&["wool", "over"], Act::YarnOver),
    (&["wl", "fwd"], Act::YarnOver),
    (&["wl", "fd"], Act::YarnOver),
    (&["w", "fwd"], Act::YarnOver),
    (&["thread", "over"], Act::YarnOver),
    (&["yarn", "round", "needle"], Act::YarnOver),
    (&["wool", "round", "needle"], Act::YarnOver),
    (&["k", "tbl"], Act::Knit { purl: false, twisted: true }),
    (&["k", "1", "tbl"], Act::Knit { purl: false, twisted: true }),
    (&["p", "tbl"], Act::Knit { purl: true, twisted: true }),
    (&["p", "1", "tbl"], Act::Knit { purl: true, twisted: true }),
    // A brioche stitch is worked together with its yarn-over, with which it counts once.
    (&["slyo"], Act::SlipLoop),
    (&["brk", "1"], Act::Knit { purl: false, twisted: false }),
    (&["brk"], Act::Knit { purl: false, twisted: false }),
    (&["brp", "1"], Act::Knit { purl: true, twisted: false }),
    (&["brp"], Act::Knit { purl: true, twisted: false }),
    (&["inc", "1"], Act::KnitInto(2)),
    (&["dec", "1"], Act::KnitTogether { of: 2, purl: false }),
];

/// "sl1yo", "sl1-yof" as one word: slipped with its yarn-over, and counted once with it.
fn slipped_with_over(t: &[Token<'_>], i: usize) -> Option<Found> {
    let word = |k: usize| t.get(k).filter(|t| t.glued);
    let one = t.get(i).is_some_and(|t| t.is("sl")) && word(i + 1)?.number() == Some(1);
    let over = i + 2 + usize::from(word(i + 2)?.kind == Kind::Dash);
    let named = one && word(over)?.any(&["yo", "yof"]);
    if named { plain(Act::SlipLoop, over + 1 - i) } else { None }
}

fn knit_at(t: &[Token<'_>], i: usize) -> Option<Found> {
    if let Some(found) = super::special::cable_at(t, i) {
        return Some(found);
    }
    if let Some(found) = slipped_with_over(t, i) {
        return Some(found);
    }
    let token = t.get(i).filter(|t| t.kind == Kind::Word)?;
    for (pattern, act) in &KNIT {
        if pattern[0] != token.text {
            continue;
        }
        if let Some((len, n)) = sequence(t, i, pattern) {
            let act = match *act {
                Act::KnitTogether { of: 0, purl } => {
                    Act::KnitTogether { of: n.clamp(1, 40) as u8, purl }
                }
                act => act,
            };
            return plain(act, len);
        }
    }
    match token.text {
        "k" | "knit" | "knits" => plain(Act::Knit { purl: false, twisted: false }, 1),
        "p" | "purl" | "purls" => plain(Act::Knit { purl: true, twisted: false }, 1),
        "ktbl" | "kb" => plain(Act::Knit { purl: false, twisted: true }, 1),
        "ptbl" => plain(Act::Knit { purl: true, twisted: true }, 1),
        "yo" | "yfwd" | "yon" | "yrn" | "yfrn" | "yf" | "o" | "yos" | "m" => {
            plain(Act::YarnOver, 1)
        }
        "over" if super::special::old_over(t, i) => plain(Act::YarnOver, 1),
        "narrow" => plain(Act::KnitTogether { of: 2, purl: false }, 1),
        "sl" | "slip" => {
            let stitch = t.get(i + 1).is_some_and(|t| t.any(&["st"]));
            plain(Act::SlipLoop, 1 + usize::from(stitch))
        }
        _ => None,
    }
}
