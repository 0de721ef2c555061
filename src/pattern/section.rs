//! Section headings and the topics of header lines.

use super::heading::count;
use super::syntax::AgainRows;
use super::token::Kind;
use super::token::Token;

/// What the lines under a heading are about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Topic {
    /// Before anything was announced.
    Opening,
    /// Gauge.
    Gauge,
    /// Sizes.
    Size,
    /// Yarn and tools.
    Materials,
    /// Abbreviations.
    Abbreviations,
    /// Designer-defined stitches.
    Special,
    /// Notes with standing rules.
    Notes,
    /// Title line.
    Title,
    /// Which terms.
    Terms,
    /// Instructions.
    Rows,
    /// Questions, comments and links below the pattern.
    Talk,
}

/// Announcements, longer ones first where one begins another.
const TOPICS: [(&[&str], Topic); 79] = [
    (&["faq"], Topic::Talk),
    (&["faqs"], Topic::Talk),
    (&["frequently", "asked", "questions"], Topic::Talk),
    (&["common", "questions"], Topic::Talk),
    (&["questions", "and", "answers"], Topic::Talk),
    (&["leave", "a", "comment"], Topic::Talk),
    (&["leave", "a", "reply"], Topic::Talk),
    (&["comments"], Topic::Talk),
    (&["related", "posts"], Topic::Talk),
    (&["related", "patterns"], Topic::Talk),
    (&["more", "free", "patterns"], Topic::Talk),
    (&["you", "need"], Topic::Materials),
    (&["knitting", "tension"], Topic::Gauge),
    (&["crochet", "tension"], Topic::Gauge),
    (&["knitting", "gauge"], Topic::Gauge),
    (&["crochet", "gauge"], Topic::Gauge),
    (&["sizing"], Topic::Size),
    (&["finished"], Topic::Size),
    (&["blocked", "size"], Topic::Size),
    (&["blocked", "measurements"], Topic::Size),
    (&["size", "after", "blocking"], Topic::Size),
    (&["knitted", "measurements"], Topic::Size),
    (&["measurement"], Topic::Size),
    (&["gauge"], Topic::Gauge),
    (&["tension"], Topic::Gauge),
    (&["finished", "size"], Topic::Size),
    (&["finished", "sizes"], Topic::Size),
    (&["finished", "measurements"], Topic::Size),
    (&["finished", "dimensions"], Topic::Size),
    (&["approximate", "size"], Topic::Size),
    (&["final", "size"], Topic::Size),
    (&["size"], Topic::Size),
    (&["sizes"], Topic::Size),
    (&["measurements"], Topic::Size),
    (&["dimensions"], Topic::Size),
    (&["materials", "needed"], Topic::Materials),
    (&["materials"], Topic::Materials),
    (&["material"], Topic::Materials),
    (&["supplies"], Topic::Materials),
    (&["shopping", "list"], Topic::Materials),
    (&["stuff", "you", "need"], Topic::Materials),
    (&["you", "will", "need"], Topic::Materials),
    (&["what", "you", "need"], Topic::Materials),
    (&["yarn", "weight"], Topic::Materials),
    (&["yarn"], Topic::Materials),
    (&["yarns"], Topic::Materials),
    (&["hook", "size"], Topic::Materials),
    (&["hook"], Topic::Materials),
    (&["crochet", "hook"], Topic::Materials),
    (&["needles"], Topic::Materials),
    (&["needle"], Topic::Materials),
    (&["notions"], Topic::Materials),
    (&["abbreviations", "used"], Topic::Abbreviations),
    (&["abbreviations", "us"], Topic::Abbreviations),
    (&["abbreviations", "uk"], Topic::Abbreviations),
    (&["stitch", "abbreviations"], Topic::Abbreviations),
    (&["us", "abbreviations"], Topic::Abbreviations),
    (&["uk", "abbreviations"], Topic::Abbreviations),
    (&["abbreviations"], Topic::Abbreviations),
    (&["abbreviation"], Topic::Abbreviations),
    (&["stitches", "used"], Topic::Abbreviations),
    (&["stitch", "key"], Topic::Abbreviations),
    (&["special", "stitches", "used"], Topic::Special),
    (&["special", "stitches"], Topic::Special),
    (&["special", "stitch"], Topic::Special),
    (&["special", "sts"], Topic::Special),
    (&["special", "stitches", "and", "abbreviations"], Topic::Special),
    (&["special", "abbreviations"], Topic::Special),
    (&["stitch", "explanation"], Topic::Special),
    (&["stitch", "guide"], Topic::Special),
    (&["stitch", "definitions"], Topic::Special),
    (&["pattern", "notes"], Topic::Notes),
    (&["notes"], Topic::Notes),
    (&["note"], Topic::Notes),
    (&["title"], Topic::Title),
    (&["terms"], Topic::Terms),
    (&["instructions"], Topic::Rows),
    (&["directions"], Topic::Rows),
    (&["pattern"], Topic::Rows),
];

/// The topic a line announces, with the tokens of the announcement.
pub(super) fn topic(t: &[Token<'_>]) -> Option<(Topic, usize)> {
    let lead = t.iter().take_while(|t| t.kind != Kind::Word).count();
    // "3. Materials" in a list of contents.
    let listed = lead == 2 && t[1].glued && matches!(t[1].kind, Kind::Stop('.') | Kind::Close);
    if lead > 2 || !(listed && t.len() < 7) && t[..lead].iter().any(|t| t.number().is_some()) {
        return None;
    }
    for (words, topic) in TOPICS {
        let matches =
            words.iter().enumerate().all(|(k, w)| t.get(lead + k).is_some_and(|t| t.is(w)));
        if !matches {
            continue;
        }
        let mut k = lead + words.len();
        // "Special stitches used in this pattern:"
        const WHERE: [&str; 9] =
            ["used", "in", "this", "the", "pattern", "for", "project", "needed", "design"];
        let said = t[k.min(t.len())..].iter().take_while(|t| t.any(&WHERE)).count();
        let ends = t.get(k + said).is_none_or(|t| t.kind == Kind::Stop(':'));
        k += if ends && topic != Topic::Rows { said } else { 0 };
        let marked = t.get(k).is_none_or(|t| {
            matches!(t.kind, Kind::Stop(':' | '.') | Kind::Dash | Kind::Other('='))
                || lead > 0 && matches!(t.kind, Kind::Star(_))
        });
        let bracketed = t.get(k).is_some_and(|t| t.kind == Kind::Open);
        let letter =
            topic == Topic::Materials && t.get(k + 1).is_some_and(|t| t.kind == Kind::Stop(':'));
        let sides = |t: &Token<'_>| t.any(&["x", "by", "wide"]) || t.kind == Kind::Other('×');
        let sized = topic == Topic::Size
            && t.get(k).is_some_and(|t| {
                t.number().is_some() || t.any(&["approx", "approximately", "about", "is"])
            })
            && t[k..].iter().take(9).any(sides);
        let numbered = sized
            || matches!(topic, Topic::Gauge)
                && t.get(k).is_some_and(|t| t.number().is_some() || t.any(&["is"]));
        if !(marked || numbered || letter || (bracketed && topic != Topic::Rows)) {
            continue;
        }
        let mark = |t: &Token<'_>| {
            matches!(t.kind, Kind::Stop(':' | '.') | Kind::Dash)
                || lead > 0 && matches!(t.kind, Kind::Star(_))
        };
        while t.get(k).is_some_and(mark) {
            k += 1;
        }
        return Some((topic, k));
    }
    None
}

/// A section heading.
pub(super) struct Section {
    /// As written, without its colon.
    pub(super) name: String,
    /// Copies to make.
    pub(super) copies: u32,
    /// Instructions follow.
    pub(super) instructs: bool,
}

/// Words that name parts of a piece.
const PARTS: [&str; 61] = [
    "strips",
    "squares",
    "blocks",
    "body",
    "border",
    "edging",
    "edge",
    "shawl",
    "scarf",
    "wrap",
    "blanket",
    "throw",
    "panel",
    "panels",
    "square",
    "motif",
    "motifs",
    "block",
    "half",
    "section",
    "main",
    "center",
    "centre",
    "increase",
    "increasing",
    "decrease",
    "decreasing",
    "finishing",
    "fringe",
    "band",
    "ribbing",
    "foundation",
    "strip",
    "triangle",
    "part",
    "piece",
    "yoke",
    "hood",
    "strap",
    "top",
    "bottom",
    "side",
    "pattern",
    "lace",
    "eyelet",
    "mesh",
    "garter",
    "instructions",
    "directions",
    "cowl",
    "afghan",
    "shell",
    "beginning",
    "start",
    "end",
    "shaping",
    "trim",
    "corner",
    "base",
    "tassels",
    "assembly",
];

/// The section a line names, if it names one.
pub(super) fn section_name(t: &[Token<'_>], written: &str, free: bool) -> Option<Section> {
    let words: Vec<&Token<'_>> = t.iter().filter(|t| t.kind == Kind::Word).collect();
    let last = t.last()?;
    let colon = last.kind == Kind::Stop(':');
    let sentence = matches!(last.kind, Kind::Stop('.' | ',' | ';') | Kind::Other('!' | '?'));
    let aside = t[0].kind == Kind::Open
        || t.windows(2).any(|w| w[0].kind == Kind::Other('/') && w[1].kind == Kind::Other('/'));
    const SAYS: [&str; 8] = ["is", "uses", "by", "jump", "made", "multiple", "are", "available"];
    let says = words.iter().any(|t| t.any(&SAYS)) && !colon
        || t.iter().any(|t| t.kind == Kind::Other('='));
    // "– 2 x 100 g lace yarn"
    let listed = t[0].kind == Kind::Dash && t.get(1).is_some_and(|t| t.number().is_some());
    let numbered = t[0].any(&["section", "part", "step", "chapter", "stage"])
        && t.get(1).is_some_and(|t| t.number().is_some() || t.text.len() == 1)
        && t.get(2).is_none_or(|t| matches!(t.kind, Kind::Dash | Kind::Stop(':')));
    // A bracket at its end only says more of the part.
    let open = t.iter().rposition(|t| t.kind == Kind::Open).filter(|&k| k > 0);
    let closed = matches!(last.kind, Kind::Close) || colon && t[t.len() - 2].kind == Kind::Close;
    let head = &t[..open.filter(|_| closed).unwrap_or(t.len())];
    let said = head.iter().filter(|t| t.kind == Kind::Word).count();
    let long = (said > 6 || head.len() > 14) && !(numbered && t.len() < 24);
    if says || aside || listed || words.is_empty() || long || (sentence && !colon) {
        return None;
    }
    if words[0].any(&[
        "repeat", "rep", "work", "ch", "chain", "sc", "dc", "knit", "k", "p", "row", "rows",
        "with", "cast", "fasten", "join",
    ]) {
        return None;
    }
    if tells_of_page(&words) {
        return None;
    }
    let part = words.iter().any(|t| t.any(&PARTS));
    let letters: Vec<char> = written.chars().filter(|c| c.is_alphabetic()).collect();
    let capitals = letters.len() >= 3 && letters.iter().all(|c| c.is_uppercase());
    let copies = copies(t).or_else(|| several(t, written));
    if !(numbered
        || part && (colon || free || said <= 3)
        || capitals
        || (colon && words.len() <= 3)
        || copies.is_some())
    {
        return None;
    }
    let name = written
        .trim()
        .trim_end_matches([':', '-', '–', '—', '.', ' ', '*', '='])
        .trim_start_matches(['*', '-', '=', '#', ' '])
        .to_owned();
    let instructs = part || copies.is_some();
    Some(Section { name, copies: copies.unwrap_or(1), instructs })
}

/// "UK terms", "Knitting pattern", "Skill level: easy": about the page, and no part of the piece.
fn tells_of_page(words: &[&Token<'_>]) -> bool {
    const ABOUT: [&str; 24] = [
        "us",
        "uk",
        "usa",
        "american",
        "british",
        "english",
        "terms",
        "terminology",
        "abbreviations",
        "crochet",
        "knitting",
        "knit",
        "pattern",
        "written",
        "in",
        "using",
        "used",
        "stitches",
        "stitch",
        "details",
        "free",
        "the",
        "s",
        "k",
    ];
    let level = words[0].any(&["skill", "level", "difficulty"])
        || words.len() > 1 && words[0].is("pattern") && words[1].any(&["type", "details"]);
    const SAYS: [&str; 9] = [
        "us",
        "uk",
        "usa",
        "terms",
        "terminology",
        "abbreviations",
        "crochet",
        "knitting",
        "details",
    ];
    let page = words.iter().any(|t| t.any(&SAYS));
    level
        || page && words.len() > 1 && words.iter().all(|t| t.any(&ABOUT))
        || words[0].is("stitches") && words.len() == 1
}

/// The line is one word that names a part of a piece.
pub(super) fn only_part(t: &[Token<'_>]) -> bool {
    t[0].any(&PARTS) && t[1..].iter().all(|t| t.is_stop())
}

/// "(make 3)".
fn copies(t: &[Token<'_>]) -> Option<u32> {
    t.windows(2).find_map(|w| {
        if w[0].any(&["make", "work"]) {
            w[1].number().or_else(|| super::reader::number_word(w[1].text))
        } else {
            None
        }
    })
}

/// "Strips 2, 4 and 6": as many as it names.
fn several(t: &[Token<'_>], written: &str) -> Option<u32> {
    const ALIKE: [&str; 6] = ["strips", "panels", "squares", "motifs", "blocks", "pieces"];
    let named = t.windows(2).any(|w| w[0].any(&ALIKE) && w[1].number().is_some());
    let numbers = super::copied::numbers_of(written).len();
    (named && numbers > 1).then_some(numbers as u32)
}

/// "Repeat these two sections 3 times more", "work the last section again", "rep sections 1 and 2":
/// whole sections worked before. Without `repeated` only those pointed at, since "work section 2" may
/// as well announce it.
pub(super) fn sections_again(t: &[Token<'_>], k: &mut usize, repeated: bool) -> Option<AgainRows> {
    const POINTS: [&str; 9] =
        ["last", "previous", "preceding", "both", "all", "above", "whole", "entire", "of"];
    let section = |k: usize| t.get(k).is_some_and(|t| t.any(&["section", "sections"]));
    let mut j = *k;
    while t.get(j).is_some_and(|t| t.any(&POINTS) || t.any(&["the", "these"])) {
        j += 1;
    }
    let number = count(t, j).filter(|(_, used)| section(j + used));
    j += number.map_or(0, |(_, used)| used);
    if !section(j) {
        return None;
    }
    let plural = t[j].is("sections");
    j += 1;
    if let Some(names) = section_list(t, &mut j).filter(|_| repeated && number.is_none()) {
        *k = j;
        return Some(AgainRows::Named(names));
    }
    let said = t[..j].iter().any(|t| t.any(&POINTS) || t.any(&["this", "these", "those"]));
    if !(said || number.is_some()) {
        return None;
    }
    *k = j;
    let all = t[..j].iter().any(|t| t.is("all"));
    let unsaid = if all { u32::MAX } else { 1 + u32::from(plural) };
    Some(AgainRows::Sections(number.map_or(unsaid, |(n, _)| n)))
}

/// "1 and 2", "A-C" after "sections": the names of those sections.
fn section_list(t: &[Token<'_>], k: &mut usize) -> Option<Vec<String>> {
    let mut names: Vec<String> = Vec::new();
    let mut range = false;
    while let Some(token) = t.get(*k) {
        let times = t.get(*k + 1).is_some_and(|t| t.any(&["more", "times", "time", "x"]));
        let letter = token.kind == Kind::Word && token.text.len() == 1 && !token.is("x");
        if (token.number().is_some() && !times) || letter {
            let first = names.last().filter(|_| range).and_then(|n| n.chars().last());
            if let (Some(first), Some(last)) = (first, token.text.chars().last())
                && token.text.len() == 1
            {
                names.extend((first..last).skip(1).map(|c| format!("section {c}")));
            }
            names.push(format!("section {}", token.text));
        } else if !(token.any(&["and", "then", "to"])
            || matches!(token.kind, Kind::Stop(',') | Kind::Dash | Kind::Other('&')))
            || names.is_empty()
        {
            break;
        }
        range = token.kind == Kind::Dash || token.is("to");
        *k += 1;
    }
    (!names.is_empty()).then_some(names)
}
