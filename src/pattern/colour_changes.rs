//! Stripes told by when the colour changes, with the yarns named elsewhere on the page: "changing colour every 3
//! rows", "alternate the two colours every 2 rows", "work 4 rows in each colour".

use super::again::ROW;
use super::colour::colour_at;
use super::colour::is_letter_code;
use super::colour::plain;
use super::heading::count;
use super::heading::ordinal_number;
use super::row::RowReader;
use super::section::Topic;
use super::section::topic;
use super::stripes::Band;
use super::token::Kind;
use super::token::Token;

/// Yarns of one page at most.
const MOST_YARNS: usize = 40;

/// What yarns are called.
pub(super) const COLOURS: [&str; 10] = [
    "colour",
    "colours",
    "color",
    "colors",
    "shade",
    "shades",
    "yarn",
    "yarns",
    "col",
    "colourway",
];

/// Words for going from one colour to another.
const CHANGE: [&str; 16] = [
    "change",
    "changing",
    "changes",
    "alternate",
    "alternating",
    "alternates",
    "switch",
    "switching",
    "swap",
    "swapping",
    "rotate",
    "rotating",
    "cycle",
    "cycling",
    "join",
    "joining",
];

/// Words between the change and how often it comes.
const BETWEEN: [&str; 30] = [
    "to",
    "the",
    "your",
    "a",
    "an",
    "new",
    "next",
    "between",
    "through",
    "two",
    "three",
    "four",
    "all",
    "both",
    "different",
    "other",
    "another",
    "of",
    "in",
    "turn",
    "order",
    "sequence",
    "listed",
    "given",
    "above",
    "after",
    "at",
    "start",
    "beginning",
    "end",
];

/// Colours change every `rows` rows.
pub(super) struct Change {
    pub(super) rows: u32,
    /// One past the last of its words.
    pub(super) end: usize,
}

/// "every 3 rows", "after every two rows", "each row", "every other row", "every 4th round" at `k`: the rows of one
/// colour, and one past the last word. Two rows of garter make a ridge.
fn every(t: &[Token<'_>], k: usize) -> Option<(u32, usize)> {
    t.get(k).filter(|t| t.any(&["every", "each"]))?;
    let k = k + 1;
    let (n, k) = match t.get(k)? {
        other if other.any(&["other", "second", "alternate"]) => (2, k + 1),
        side if side.any(&["rs"]) => (2, k + 1),
        _ => match ordinal_number(t, k).or_else(|| count(t, k).map(|(n, used)| (n, k + used))) {
            Some((n, after)) => (n, after),
            None => (1, k),
        },
    };
    let noun = t.get(k)?;
    let ridges = noun.any(&["ridge", "ridges"]);
    (n > 0 && (ridges || noun.any(&ROW))).then_some((if ridges { 2 * n } else { n }, k + 1))
}

/// When colours change, as told at `k`.
pub(super) fn change_at(t: &[Token<'_>], k: usize) -> Option<Change> {
    let names = |t: &Token<'_>| t.any(&COLOURS);
    let fill = |from: usize| t[from.min(t.len())..].iter().take_while(|t| t.any(&BETWEEN)).count();
    if t[k].any(&CHANGE) {
        // "changing to the next colour after every 4 rows"
        let noun = k + 1 + fill(k + 1);
        t.get(noun).filter(|t| names(t))?;
        let (rows, end) = every(t, noun + 1 + fill(noun + 1))?;
        return Some(Change { rows, end });
    }
    if let Some((rows, end)) = every(t, k) {
        // "every 4 rows, change to the next colour"
        let verb = end + usize::from(t.get(end).is_some_and(|t| t.kind == Kind::Stop(',')));
        t.get(verb).filter(|t| t.any(&CHANGE))?;
        let noun = verb + 1 + fill(verb + 1);
        t.get(noun).filter(|t| names(t))?;
        return Some(Change { rows, end: noun + 1 });
    }
    each_colour(t, k)
}

/// "work 2 rows in each colour", "4 rows per colour", "using each colour for 3 rows".
fn each_colour(t: &[Token<'_>], k: usize) -> Option<Change> {
    let each = |k: usize| {
        let word = t.get(k).is_some_and(|t| t.any(&["each", "every"]));
        let of = usize::from(word && t.get(k + 1).is_some_and(|t| t.is("of")));
        let the = usize::from(of == 1 && t.get(k + 2).is_some_and(|t| t.any(&["the", "your"])));
        let noun = k + 1 + of + the;
        let per = t.get(k).is_some_and(|t| t.is("per"));
        ((word || per) && t.get(noun).is_some_and(|t| t.any(&COLOURS))).then_some(noun + 1)
    };
    if let Some((n, used)) = count(t, k).filter(|&(n, _)| n > 0)
        && t.get(k + used).is_some_and(|t| t.any(&ROW))
    {
        let at = k + used + 1;
        let at = at + usize::from(t.get(at).is_some_and(|t| t.any(&["in", "of", "with"])));
        return each(at).map(|end| Change { rows: n, end });
    }
    if t[k].any(&["use", "using", "work", "working", "with"]) {
        let after = each(k + 1)?;
        t.get(after).filter(|t| t.is("for"))?;
        let (n, used) = count(t, after + 1).filter(|&(n, _)| n > 0)?;
        let rows = after + 1 + used;
        return t.get(rows)?.any(&ROW).then_some(Change { rows: n, end: rows + 1 });
    }
    None
}

impl RowReader<'_> {
    /// "alternating A and B every 2 rows" from `k` on.
    pub(super) fn bands_between(&mut self, t: &[Token<'_>], k: usize) -> Vec<Band> {
        let fill = |t: &&Token<'_>| (t.any(&BETWEEN) || t.any(&COLOURS)) && !self.names_colour(t);
        if !t[k].any(&CHANGE) {
            return Vec::new();
        }
        let names = k + 1 + t[k + 1..].iter().take_while(fill).count();
        let listed = self.bands_listed(t, names, 1);
        let Some(after) = listed.last().map(|b| b.2) else { return Vec::new() };
        let often = after + t[after..].iter().take_while(fill).count();
        let Some((rows, end)) = every(t, often) else { return Vec::new() };
        self.changes.push(t[k].span.to(t[end - 1].span));
        listed.into_iter().map(|(_, name, _)| (rows, name, end)).collect()
    }

    /// The words without those that say when colours change, which tell nothing of the stitches.
    pub(super) fn without_changes<'t>(&self, t: Vec<Token<'t>>) -> Vec<Token<'t>> {
        let told = |t: &Token<'_>| {
            self.changes.iter().any(|s| s.start <= t.span.start && t.span.end <= s.end)
        };
        if t.iter().all(|t| told(t) || t.is_stop()) {
            return t;
        }
        t.into_iter().filter(|t| !told(t)).collect()
    }

    /// The yarns that colours change between, in the order they are taken up; `t` is the whole page, the words
    /// about the change begin at `k`, and `own` are the yarns of the front matter.
    pub(super) fn yarns_to_change(&self, t: &[Token<'_>], k: usize, own: &[String]) -> Vec<String> {
        let (mut names, from) = match own.len() {
            0 | 1 => self.yarns_listed(&t[..k]),
            _ => (own.to_vec(), 0),
        };
        if let Some(at) = (from..t.len()).find_map(|k| {
            let led = k > 0 && t[k - 1].any(&["with", "using", "join", "in"]);
            names.iter().position(|n| led && self.is_called(t, k, n))
        }) {
            names.rotate_left(at);
        }
        names
    }

    /// The yarn at `k` is called `name`.
    fn is_called(&self, t: &[Token<'_>], k: usize, name: &str) -> bool {
        let found = colour_at(t, k, self.text, &self.cx.colours).map(|(found, _)| found);
        let word = || self.text.get(t[k].span.range()).unwrap_or_default().to_owned();
        found.unwrap_or_else(word).eq_ignore_ascii_case(name)
    }

    /// The yarns that the materials of the page list, and the token after the last of them.
    fn yarns_listed(&self, t: &[Token<'_>]) -> (Vec<String>, usize) {
        let (mut names, mut end) = (Vec::new(), 0);
        let (mut under, mut at) = (Topic::Opening, 0);
        for line in t.split(|t| t.kind == Kind::Stop('\n')) {
            let from = at;
            at += line.len() + 1;
            if line.is_empty() {
                continue;
            }
            under = topic(line).map_or(under, |(topic, _)| topic);
            if under == Topic::Materials || under == Topic::Opening && tells_yarns(line) {
                for clause in line.split(|t| matches!(t.kind, Kind::Stop('.' | ';'))) {
                    let found = self.yarns_in(clause);
                    end = if found.is_empty() { end } else { from + line.len() };
                    for name in found {
                        if !names.iter().any(|n: &String| n.eq_ignore_ascii_case(&name)) {
                            names.push(name);
                        }
                    }
                }
            }
        }
        names.truncate(MOST_YARNS);
        (names, end)
    }

    /// The yarns of one clause of the materials: by their letters or numbers, else by their names.
    fn yarns_in(&self, clause: &[Token<'_>]) -> Vec<String> {
        const OTHER: [&str; 12] = [
            "hook", "hooks", "needle", "needles", "border", "edging", "fringe", "tassels",
            "marker", "markers", "scissors", "gauge",
        ];
        if clause.iter().any(|t| t.any(&OTHER)) {
            return Vec::new();
        }
        let written = |t: &Token<'_>| self.text.get(t.span.range()).unwrap_or_default();
        let mut lettered = Vec::new();
        for (k, token) in clause.iter().enumerate() {
            let after = clause.get(k + 1).filter(|t| t.number().is_some());
            let unit = k > 0 && clause[k - 1].number().is_some();
            let code = written(token);
            if token.kind == Kind::Word
                && is_letter_code(code)
                && !unit
                && !matches!(code, "DK" | "US" | "UK")
            {
                let n = after.filter(|t| t.glued).map_or(String::new(), |t| t.text.to_owned());
                lettered.push(format!("{code}{n}"));
            } else if let Some(n) = after.filter(|_| token.any(&COLOURS[..4])) {
                lettered.push(format!("{} {}", token.text, n.text));
            }
        }
        if !lettered.is_empty() {
            return lettered;
        }
        let named = |k: &usize| {
            let token = &clause[*k];
            let known = self.cx.colours.iter().any(|c| c == token.text);
            token.kind == Kind::Word
                && (plain(token.text) || known || named_after(clause, *k, written))
        };
        (0..clause.len()).filter(named).map(|k| written(&clause[k]).to_owned()).collect()
    }
}

/// "in Moss", "in Moss and Chalk": words in capitals after "in", or after another one of them.
fn named_after<'a>(
    clause: &[Token<'a>],
    k: usize,
    written: impl Fn(&Token<'a>) -> &'a str + Copy,
) -> bool {
    let capital = |k: usize| {
        let word = written(&clause[k]);
        let fibre =
            clause[k].any(&["wool", "cotton", "linen", "merino", "acrylic", "alpaca", "aran"]);
        word.len() > 2 && word.starts_with(char::is_uppercase) && !fibre
    };
    if k == 0 || !capital(k) || super::words::known(clause[k].text) {
        return false;
    }
    let joined = clause[k - 1].any(&["and"]) || clause[k - 1].kind == Kind::Stop(',');
    clause[k - 1].any(&["in", "of"]) || joined && k > 1 && named_after(clause, k - 2, written)
}

/// A line above the instructions that speaks of yarns: "Colours: A (navy), B (cream)".
fn tells_yarns(line: &[Token<'_>]) -> bool {
    line.iter().any(|t| t.any(&COLOURS)) && (0..line.len()).all(|k| change_at(line, k).is_none())
}
