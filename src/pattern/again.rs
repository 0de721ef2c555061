//! Rows worked again: "Rep rows 2-3 ten more times", "as 2nd row", "work rows A and B until ...".

use super::colour::colour_at;
use super::colour::colour_index;
use super::each_time::decreasing;
use super::each_time::step;
use super::fabric::fabric;
use super::heading::count;
use super::heading::ordinal_number;
use super::heading::row_letter;
use super::heading::row_name;
use super::rows_named::rows_named;
use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Edge;
use super::syntax::Times;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;
use super::until::until;

/// What rows of blocks, shells and meshes are counted in.
pub(super) const GROUPS: [&str; 24] = [
    "tile", "tiles", "block", "blocks", "square", "squares", "box", "boxes", "shell", "shells",
    "cluster", "clusters", "group", "groups", "fan", "fans", "loop", "loops", "spaces", "sps",
    "puffs", "vs", "mesh", "meshes",
];
pub(super) const ROW: [&str; 9] =
    ["row", "rows", "rnd", "rnds", "round", "rounds", "rd", "rds", "r"];

/// What the body of a row asks for when it is not stitch by stitch.
pub(super) fn content(
    t: &[Token<'_>],
    text: &str,
    known: &[String],
    colours: &mut Vec<String>,
) -> Option<Content> {
    if let Some((rows, _)) = super::shaping::shaped_on(t) {
        return Some(Content::Again(Again::of(AgainRows::Last(2), Until::Rows(rows))));
    }
    super::shaping::shaped(t)
        .map(Content::Shaped)
        .or_else(|| again(t, text, known, colours))
        .or_else(|| fabric(t, text, colours))
}

/// Passes opening words that do not matter.
fn lead(t: &[Token<'_>]) -> usize {
    let mut k = 0;
    while t.get(k).is_some_and(|word| {
        word.any(&[
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
            "keep",
            "keeping",
            "simply",
            "just",
            "carry",
            "on",
            "going",
            "go",
        ]) || word.is_stop()
            || word.kind == Kind::Open
            || k > 0 && super::kept::shapes_on(&t[k - 1..])
    }) {
        k += 1;
    }
    k
}

/// What the words at a verb ask for.
struct Asked {
    repeated: bool,
    same: bool,
    rows_first: bool,
    /// "Continue", "work" stands before the verb.
    cont: bool,
    /// "as before".
    before: bool,
    /// "in this way", "as before".
    way: bool,
    /// "like this".
    like_this: bool,
    these: bool,
    /// To go on decreasing.
    set: bool,
    /// To go on as so far.
    on: bool,
}

impl Asked {
    fn of(t: &[Token<'_>], k: usize) -> Option<Self> {
        let verb = t.get(k)?;
        let repeated = verb.any(&[
            "rep",
            "repeat",
            "rpt",
            "repeating",
            "repeated",
            "alternate",
            "alternating",
        ]);
        let same = verb.any(&["as", "same", "like", "match"]);
        let name = row_name(t, k);
        let rows_first = verb.any(&ROW)
            && (t.get(k + 1)?.number().is_some() || k > 0 && row_letter(t.get(k + 1)).is_some())
            || k > 0
                && ordinal_number(t, k).is_some()
                && t[k..].iter().take(6).any(|t| t.any(&["rows", "rnds", "rounds"]))
            || k > 0 && name > 0 && t.get(k + name).is_some_and(|t| t.any(&ROW));
        let cont = t[..k].iter().any(|t| t.any(&["cont", "continue", "work"]))
            || t[..k]
                .windows(2)
                .any(|w| w[0].any(&["carry", "keep", "go"]) && w[1].any(&["on", "going"]))
            || t[..k]
                .windows(2)
                .any(|w| w[0].is("keep") && w[1].any(&["increasing", "decreasing", "working"]));
        let before = verb.is("as") && t.get(k + 1).is_some_and(|t| t.is("before"));
        let set = cont && verb.any(&["to"]) && decreasing(t);
        let set_up = t.get(k + 1).is_some_and(|t| t.any(&["established", "est", "set"]));
        let on = set
            || cont
                && verb.any(&["pattern", "patt", "pat", "est", "established", "rib", "ribbing"])
            || cont
                && t[..k].iter().any(|t| t.any(&["cont", "continue", "carry", "keep"]))
                && verb.any(&["until", "till"])
            || cont && verb.is("as") && set_up;
        // "Work through Row 180"
        let onwards = cont
            && verb.any(&["through", "thru", "to"])
            && t.get(k + 1).is_some_and(|t| t.any(&ROW))
            && t.get(k + 2).is_some_and(|t| t.number().is_some());
        let on = on || onwards;
        let way = cont && (verb.any(&["this", "same", "way", "manner"]) || before);
        let these = cont && verb.any(&["these", "last"]);
        let like_this = cont && verb.is("like") && t.get(k + 1).is_some_and(|t| t.is("this"));
        Some(Self { repeated, same, rows_first, cont, before, way, like_this, these, set, on })
    }

    fn anything(&self) -> bool {
        let Self { repeated, same, rows_first, way, these, on, .. } = *self;
        repeated || same || rows_first || way || these || on
    }

    /// The rows that are meant, named from `k` on; `from`: those that begin there.
    fn rows(&self, t: &[Token<'_>], k: &mut usize, from: bool) -> Option<AgainRows> {
        let Self { repeated, same, cont, before, set, on, .. } = *self;
        let way = t.get(*k).is_some_and(|t| t.any(&["way", "manner", "fashion", "this"]));
        if cont && (way || before) || set || self.like_this {
            // "In the same way, adding one tile each row" speaks of every row.
            let tiles = t.iter().any(|t| t.any(&GROUPS));
            return Some(AgainRows::Last(
                if step(t) == 0 || super::kept::more_between(t) > 0 || set || !tiles {
                    2
                } else {
                    1
                },
            ));
        }
        if same && t[*k..].iter().all(|t| t.is_stop()) {
            return Some(AgainRows::Last(1));
        }
        if repeated && from && t.get(*k).is_some_and(|t| matches!(t.kind, Kind::Star(_))) {
            *k += 1;
            return Some(AgainRows::FromStar);
        }
        let named = super::section::sections_again(t, k, repeated).or_else(|| rows_named(t, k));
        if let Some(rows) = named {
            return Some(match rows {
                AgainRows::Numbers(blocks)
                    if from && blocks.len() == 1 && blocks[0].0 == blocks[0].1 =>
                {
                    AgainRows::From(blocks[0].0)
                }
                rows => rows,
            });
        }
        if on
            || repeated
                && t.get(*k)?.any(&["until", "till", "pattern", "patt", "rows", "them", "it"])
        {
            return Some(AgainRows::All);
        }
        let half = if same || repeated { half_named(t, k) } else { None };
        half.or_else(|| {
            let edge = if repeated { other_edge(&t[*k..]) } else { None };
            edge.map(AgainRows::Edge)
        })
        .or_else(|| if repeated { section_named(t, k) } else { None })
    }

    /// How often `rows` are meant, told from `k` on, or from `begun`; `None` where words without an end say
    /// nothing by themselves. `from` as for [`Self::rows`].
    fn until(
        &self,
        t: &[Token<'_>],
        k: usize,
        begun: usize,
        from: bool,
        rows: &AgainRows,
    ) -> Option<Until> {
        let first = t[..k].iter().any(|t| t.is("first")).then_some(Until::Times(1));
        let told =
            until(t, if self.on { begun } else { k }).or_else(|| to_stitches(t, k)).or(first);
        let half = |n: &String| n.ends_with("half") || n.ends_with("side");
        let once = match rows {
            AgainRows::Numbers(all) => all.len() > 2 && all[1..].contains(&all[0]),
            AgainRows::Named(names) => names.iter().any(half),
            _ => false,
        };
        let until = match told {
            Some(until) if until != Until::Heading => until,
            _ if once => Until::Times(1),
            _ => Until::Heading,
        };
        let again = matches!(rows, AgainRows::Sections(_)) && t.iter().any(|t| t.is("again"));
        let waits = (self.rows_first || self.these || self.on || (self.same && from)) && !again;
        if waits && until == Until::Heading {
            return None;
        }
        Some(in_total(until, rows, t))
    }
}

fn again(
    t: &[Token<'_>],
    text: &str,
    known: &[String],
    colours: &mut Vec<String>,
) -> Option<Content> {
    const PARTS: [&str; 11] = [
        "half", "side", "section", "panel", "strip", "square", "motif", "part", "piece", "body",
        "end",
    ];
    if announces(t) {
        return None;
    }
    let starred = matches!(t.first().map(|t| t.kind), Some(Kind::Star(_)));
    let t = if starred { &t[1..] } else { t };
    let t = &t[..outcome_told(t).unwrap_or(t.len())];
    let mut k = after_clause(t).unwrap_or_else(|| lead(t));
    let shapes = t.get(k).is_some_and(|t| t.any(&["increasing", "decreasing"]));
    let told = |t: &Token<'_>| t.any(&["way", "manner", "fashion", "this"]);
    if shapes && t[k + 1..].iter().take(3).any(told) {
        // "Continue increasing in this way", "keep increasing like this"
        k += 1 + lead(&t[k + 1..]);
    }
    k = part_first(t, k);
    let changes = t.get(k).is_some_and(|t| t.any(&["change", "switch"]))
        && t.get(k + 1).is_some_and(|t| t.is("to"));
    k += usize::from(changes);
    if changes || t.get(k).is_some_and(|t| t.any(&["with", "using", "in"])) {
        k = yarn_first(t, k, text, known).unwrap_or(k);
    }
    // "R8 - B, repeat R2 and R3"
    let yarn = colour_at(t, 0, text, known).filter(|(_, len)| {
        k == 0 && t.get(*len).is_some_and(|t| matches!(t.kind, Kind::Stop(',' | ':')))
    });
    if let Some((_, len)) = &yarn {
        k = len + 1;
    }
    if let Some(again) = pattern_rows(t, k) {
        return Some(again);
    }
    let asked = Asked::of(t, k)?;
    if !asked.anything() {
        return work_rows(t, k, colour(t, 0, text, known, colours));
    }
    k += usize::from(asked.repeated || asked.same);
    let begun = k;
    let from = opening(t, &mut k);
    let rows = asked.rows(t, &mut k, from)?;
    let until = asked.until(t, k, begun, from, &rows)?;
    let until = ended_with(until, &rows, t);
    let inner = inner_times(t, k);
    let until = if inner.is_some() { Until::Heading } else { until };
    let colour = colour(t, k, text, known, colours).or_else(|| colour(t, 0, text, known, colours));
    let instead = super::copied::instead(t, text, known, colours);
    let colour = colour.filter(|_| instead.is_none());
    let colour = yarn.map(|(name, _)| colour_index(colours, &name)).or(colour);
    let elsewhere =
        t.iter().any(|t| t.any(&["as", "of", "for"])) && t.iter().any(|t| t.any(&PARTS));
    let named = matches!(rows, AgainRows::Named(_));
    let every = super::shaping::every(t).filter(|_| named).map_or(1, |(n, _)| n);
    let (mirrored, between) = (mirrored(t), super::kept::more_between(t));
    let step = if between > 0 { 0 } else { step(t) };
    Some(Content::Again(Again {
        rows,
        until,
        colour,
        step,
        between,
        every,
        mirrored,
        elsewhere,
        inner,
        starred,
        way: asked.way || asked.like_this,
        instead,
    }))
}

/// "Patt 7 rows": so many rows more of the pattern.
fn pattern_rows(t: &[Token<'_>], k: usize) -> Option<Content> {
    t.get(k).filter(|t| t.any(&["patt", "pat", "pattern"]))?;
    let (n, used) = count(t, k + 1)?;
    t.get(k + 1 + used).filter(|t| t.any(&["rows", "row"]))?;
    Some(Content::Again(Again::of(AgainRows::All, Until::Rows(n))))
}

/// "Working in stripe pattern throughout, rep rows 1 and 2 ...": where the verb stands.
fn after_clause(t: &[Token<'_>]) -> Option<usize> {
    if !t.first()?.any(&[
        "working",
        "keeping",
        "continuing",
        "maintaining",
        "alternating",
        "following",
        "carrying",
    ]) {
        return None;
    }
    (1..t.len().min(16)).find(|&k| {
        t[k].any(&["rep", "repeat", "rpt"])
            && (t[k - 1].is_stop() || t[k - 1].is("and"))
            && t.get(k + 1).is_none_or(|t| !matches!(t.kind, Kind::Star(_)))
    })
}

/// "Repeat the wedge 5 more times": a section by its name.
fn section_named(t: &[Token<'_>], k: &mut usize) -> Option<AgainRows> {
    let words = t
        .get(*k..)?
        .iter()
        .take_while(|t| t.kind == Kind::Word && super::reader::number_word(t.text).is_none());
    let name: Vec<&str> = words
        .map(|t| t.text)
        .take_while(|w| {
            !matches!(*w, "once" | "twice" | "until" | "for" | "from" | "to" | "a" | "another")
        })
        .collect();
    let said = until(t, *k + name.len());
    if name.is_empty() || name.len() > 3 || !matches!(said, Some(Until::Times(_) | Until::More(_)))
    {
        return None;
    }
    *k += name.len();
    Some(AgainRows::Named(vec![name.join(" ")]))
}

/// "(Work) the second half as given for the first half", "complete second side to match the first":
/// where the words that point back stand.
fn part_first(t: &[Token<'_>], k: usize) -> usize {
    let mut j = k;
    let completes = t.get(j).is_some_and(|t| t.any(&["complete", "finish", "make"]));
    j += usize::from(completes);
    while t.get(j).is_some_and(|t| t.any(&["the", "second", "other", "left", "right", "remaining"]))
    {
        j += 1;
    }
    let part =
        t.get(j).is_some_and(|t| t.any(&["half", "side", "end", "section", "panel", "piece"]));
    j += usize::from(part);
    match t.get(j) {
        Some(next) if next.is("to") && t.get(j + 1).is_some_and(|t| t.is("match")) => j + 1,
        Some(next) if part && next.any(&["as", "same", "like"]) => j,
        _ => k,
    }
}

/// "As first half", "same as right side": a part worked before.
fn half_named(t: &[Token<'_>], k: &mut usize) -> Option<AgainRows> {
    let part = |t: &Token<'_>| t.any(&["half", "side", "end", "section", "panel", "piece"]);
    let which = |t: &Token<'_>| t.any(&["first", "left", "right", "increase", "front"]);
    if !(which(t.get(*k)?) && part(t.get(*k + 1)?)) {
        return None;
    }
    let name = format!("{} {}", t[*k].text, t[*k + 1].text);
    *k += 2;
    Some(AgainRows::Named(vec![name]))
}

/// "Reversing shaping", "reversing all shapings", "mirror image".
fn mirrored(t: &[Token<'_>]) -> bool {
    t.iter()
        .any(|t| t.any(&["reversing", "reverse", "reversed", "mirror", "mirroring", "mirrored"]))
}

/// "Repeat on the other side", "rep for the bind off edge".
fn other_edge(t: &[Token<'_>]) -> Option<Edge> {
    let has = |w: &[&str]| t.iter().any(|t| t.any(w));
    if t.len() > 9 || !has(&["side", "edge", "end", "sides"]) {
        return None;
    }
    if has(&["other", "opposite", "second", "remaining"]) {
        Some(Edge::Other)
    } else if has(&["bind", "bound", "bo", "top", "upper"]) || has(&["cast"]) && has(&["off"]) {
        Some(Edge::Top)
    } else if has(&["cast", "co", "bottom", "lower"]) {
        Some(Edge::CastOn)
    } else {
        None
    }
}

/// "Work 8 rows total", "work 8 seed rows" of a row named before.
fn work_rows(t: &[Token<'_>], k: usize, colour: Option<u16>) -> Option<Content> {
    let worked = t[..k].iter().any(|t| t.is("work"));
    let further = k + t[k..].iter().take_while(|t| t.any(&["a", "another", "further"])).count();
    if let Some((n, used)) = count(t, further).filter(|_| worked) {
        // "Work a further 56 patts"
        let more =
            further + used + usize::from(t.get(further + used).is_some_and(|t| t.is("more")));
        let patterns = ["patts", "patterns", "repeats", "reps", "pattern", "patt"];
        let noun = t[more.min(t.len())..].iter().take_while(|t| t.any(&patterns)).count();
        let said = more > further + used || further > k;
        if noun > 0 && said && t[more + noun..].iter().all(|t| t.is_stop()) {
            return Some(Content::Again(Again::of(AgainRows::All, Until::More(n))));
        }
    }
    let (n, used) = count(t, k).filter(|_| worked)?;
    let k = k + used;
    let again = |rows, n| {
        let until = Until::Rows(n);
        Some(Content::Again(Again { colour, ..Again::of(rows, until) }))
    };
    let total = t.iter().any(|t| t.any(&["total", "altogether"]));
    if t.get(k)?.any(&ROW) && total && t.len() < k + 5 {
        return again(AgainRows::Last(1), n.saturating_sub(1));
    }
    let more = k + usize::from(t[k].is("more"));
    let late = t.get(more + 1).is_some_and(|t| t.any(&["more", "further"]));
    let alone = t.get(more).is_some_and(|t| t.any(&ROW))
        && t[more + 1 + usize::from(late)..].iter().all(|t| t.is_stop());
    if alone && colour.is_some() {
        // "With B, work 10 rows": on in the pattern as it stands.
        return again(AgainRows::All, n);
    }
    let len =
        (1..4).find(|&j| t.get(more + j).is_some_and(|t| t.any(&["rows", "rnds", "rounds"])))?;
    let words: Vec<&str> =
        t[more..more + len].iter().filter(|t| t.kind == Kind::Word).map(|t| t.text).collect();
    let ends = t.get(more + len + 1).is_none_or(|t| t.is_stop());
    (ends && words.len() == len).then(|| again(AgainRows::Named(vec![words.join(" ")]), n))?
}

/// Passes the words before the rows; whether "from" was among them.
fn opening(t: &[Token<'_>], k: &mut usize) -> bool {
    let start = *k;
    while t.get(*k).is_some_and(|t| {
        t.any(&[
            "as",
            "for",
            "the",
            "from",
            "these",
            "those",
            "same",
            "pattern",
            "patt",
            "pat",
            "in",
            "of",
            "instructions",
            "given",
            "directed",
            "described",
            "this",
        ]) || t.kind == Kind::Stop('.')
            || t.is("short")
    }) {
        *k += 1;
    }
    let to = t.get(*k + 2).is_some_and(|t| t.kind == Kind::Dash || t.is("to"));
    t[start..*k].iter().any(|t| t.is("from")) && !to
}

/// "Rep last 2 rows to 3 sts".
fn to_stitches(t: &[Token<'_>], k: usize) -> Option<Until> {
    let w = t
        .get(k..)?
        .windows(3)
        .find(|w| w[0].any(&["to", "until"]) && w[2].any(&["sts", "st", "stitches"]))?;
    w[1].number().map(Until::Stitches)
}

/// "Rep row 1 for 8 rows total", "rows 1-2 a total of 8 times": the rows written are among them.
fn in_total(until: Until, rows: &AgainRows, t: &[Token<'_>]) -> Until {
    let total = t.iter().any(|t| t.any(&["total", "altogether"]))
        || t.windows(2).any(|w| w[0].is("in") && w[1].is("all"));
    match (until, rows) {
        (Until::Rows(n), AgainRows::Numbers(blocks)) if total => {
            let own: u32 = blocks.iter().map(|&(a, b)| a.abs_diff(b) + 1).sum();
            Until::Rows(n.saturating_sub(own))
        }
        (Until::Rows(n), AgainRows::Last(own)) if total => Until::Rows(n.saturating_sub(*own)),
        (Until::Times(n), AgainRows::Numbers(_) | AgainRows::Last(_)) if total && n > 1 => {
            Until::Times(n - 1)
        }
        _ => until,
    }
}

/// "Rep rows 1-12 thirty times, ending with row 10": the last time stops there.
fn ended_with(until: Until, rows: &AgainRows, t: &[Token<'_>]) -> Until {
    let (Until::Times(n) | Until::More(n), AgainRows::Numbers(blocks)) = (until, rows) else {
        return until;
    };
    let last = (1..t.len()).find_map(|k| {
        let ends = t[k - 1].is_stop() && t[k].any(&["ending", "end", "finishing", "finish"]);
        let row =
            (k + 1..k + 5).find(|&j| t.get(j).is_some_and(|t| t.any(&ROW))).filter(|_| ends)?;
        t.get(row + 1)?.number()
    });
    match (blocks.as_slice(), last) {
        ([(from, to)], Some(last)) if *from < *to && (*from..*to).contains(&last) => {
            Until::Rows(n.saturating_mul(to - from + 1).saturating_sub(to - last))
        }
        _ => until,
    }
}

/// "Work in stripes as follows:": what follows says how, and these words work nothing themselves.
pub(super) fn announces(t: &[Token<'_>]) -> bool {
    let words: Vec<&Token<'_>> = t.iter().filter(|t| t.kind == Kind::Word).collect();
    matches!(words.as_slice(), [.., a, b]
        if a.is("as") && b.any(&["follows", "follow", "foll", "folls", "below", "set"]))
        && super::until::until_times(t, 0).is_none()
        && !t.iter().any(|t| t.any(&["until", "till"]))
}

/// "With B, as 1st row": one past the yarn and its comma.
fn yarn_first(t: &[Token<'_>], k: usize, text: &str, known: &[String]) -> Option<usize> {
    let mut j = k + 1;
    while t.get(j).is_some_and(|t| t.any(&["yarn", "color", "colour", "col", "contrast"])) {
        j += 1;
    }
    j += usize::from(t[j - 1].is("col") && t.get(j).is_some_and(|t| t.is_stop()));
    j += colour_at(t, j, text, known)?.1;
    const ON: [&str; 6] = ["and", "work", "working", "cont", "continue", "continuing"];
    while t.get(j).is_some_and(|t| t.is_stop() || t.any(&ON)) {
        j += 1;
    }
    Some(j)
}

/// "except repeat from * 2 more times": how often the marked part of the rows is worked.
fn inner_times(t: &[Token<'_>], k: usize) -> Option<Times> {
    let star = (k..t.len()).find(|&j| {
        matches!(t[j].kind, Kind::Star(_)) && j > 0 && t[j - 1].any(&["from", "between"])
            || t[j].any(&["brackets", "parentheses", "bracketed"])
    })?;
    for j in star + 1..t.len() {
        let (n, used) = match t[j].text {
            "once" => (1, 1),
            "twice" => (2, 1),
            _ => match count(t, j) {
                Some(found) => found,
                None => continue,
            },
        };
        let near = &t[(j + used).min(t.len())..t.len().min(j + used + 2)];
        let more = near.iter().any(|t| t.is("more"));
        let times = used == 1 && matches!(t[j].text, "once" | "twice");
        if times || near.iter().any(|t| t.any(&["times", "time", "x"])) {
            return Some(if more { Times::More(n) } else { Times::Open(n) });
        }
    }
    None
}

fn colour(
    t: &[Token<'_>],
    k: usize,
    text: &str,
    known: &[String],
    colours: &mut Vec<String>,
) -> Option<u16> {
    let lead = (k..t.len()).find(|&j| {
        t[j].any(&["in", "with", "using"])
            || t[j].is("to") && j == 1 && t[0].any(&["change", "switch"])
    })?;
    let mut at = lead + 1;
    while t
        .get(at)
        .is_some_and(|t| t.any(&["yarn", "colour", "color", "col"]) || t.kind == Kind::Stop('.'))
    {
        at += 1;
    }
    let (name, _) = colour_at(t, at, text, known)?;
    Some(colour_index(colours, &name))
}

/// Where ", each row having 6 more tr than the last" begins: what comes of the rows, and nothing to do.
fn outcome_told(t: &[Token<'_>]) -> Option<usize> {
    let row = |t: &Token<'_>| t.any(&["row", "rnd", "round"]);
    t.windows(4).position(|w| {
        w[0].is_stop() && w[1].any(&["each", "every"]) && row(&w[2]) && w[3].is("having")
    })
}
