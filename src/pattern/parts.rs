//! Sections called by name, one after another: "work Band 1 and Band 2 a further 20 times, then Band 1 once
//! more", "work Garter Section again, rows 1-2 a total of 20 times".

use super::heading::count;
use super::row::RowReader;
use super::syntax::Again;
use super::syntax::AgainRows;
use super::syntax::Content;
use super::syntax::Part;
use super::syntax::Until;
use super::token::Kind;
use super::token::Token;
use super::token::cut;

/// Parts that one sentence may ask for.
const MOST: usize = 5000;
/// Words between the parts that say nothing.
const GLUE: [&str; 25] = [
    "then",
    "now",
    "next",
    "the",
    "and",
    "work",
    "repeat",
    "rep",
    "rpt",
    "knit",
    "do",
    "all",
    "of",
    "over",
    "with",
    "pattern",
    "both",
    "end",
    "ending",
    "finish",
    "finishing",
    "one",
    "more",
    "another",
    "a",
];
/// What ends such a sentence.
const REST: [&str; 8] = ["sts", "st", "stitches", "total", "in", "all", "you", "have"];

impl RowReader<'_> {
    /// The sections `t` calls by their names, if it calls some and says how often.
    pub(super) fn parts_again(&self, t: &[Token<'_>]) -> Option<Content> {
        const VERBS: [&str; 8] = ["work", "repeat", "rep", "rpt", "knit", "do", "then", "now"];
        let first = t.iter().find(|t| t.kind == Kind::Word)?;
        if self.sections.is_empty() || !(first.any(&VERBS) || first.is("next")) {
            return None;
        }
        let (mut parts, mut group): (Vec<Part>, Vec<Part>) = (Vec::new(), Vec::new());
        let (mut k, mut told) = (0, false);
        while k < t.len() {
            let glue = |t: &Token<'_>| {
                t.any(&GLUE) || t.is_stop() || matches!(t.kind, Kind::Other('&' | '+'))
            };
            if let Some((name, used)) = self.section_at(t, k) {
                k += used;
                k += usize::from(t.get(k).is_some_and(|t| t.any(&["section", "sections"])));
                group.push(Part { name, rows: None, times: 1, count: None });
            } else if let Some((rows, used)) = rows_of(t, k).filter(|_| !group.is_empty()) {
                k += used;
                group.last_mut()?.rows = Some(rows);
            } else if let Some((n, used)) = times(t, k).filter(|_| !group.is_empty()) {
                let total = t[k..k + used].iter().any(|t| t.is("total"));
                k += used;
                let own = group.iter().all(|p| p.rows.is_none());
                take(&mut parts, &mut group, if total && own { n.saturating_sub(1) } else { n });
                told = true;
            } else if let Some(used) = bracketed_count(&t[k..]) {
                let last = if group.is_empty() { parts.last_mut() } else { group.last_mut() };
                last?.count = self.trial(&t[k..k + used]).counts.pop();
                k += used;
            } else if t[k].is("again") {
                told |= !group.is_empty();
                k += 1;
            } else if glue(&t[k]) {
                k += 1;
            } else if told && closes(&t[k..]) {
                break;
            } else {
                return None;
            }
        }
        take(&mut parts, &mut group, 1);
        let some = !parts.is_empty() && parts.len() <= MOST && told;
        some.then(|| Content::Again(Again::of(AgainRows::Parts(parts), Until::Times(1))))
    }

    /// The longest section name at `k`, and its tokens. Sections are called by their whole name or by what
    /// stands before a colon, a dash or a bracket in it.
    pub(super) fn section_at(&self, t: &[Token<'_>], k: usize) -> Option<(String, usize)> {
        let named = |name: &String| {
            let lower = name.to_ascii_lowercase();
            let words = cut(&lower, 0);
            let whole = matches(&words, t, k);
            let mark = words.iter().position(|t| {
                matches!(t.kind, Kind::Stop(':') | Kind::Open) || t.kind == Kind::Dash && !t.glued
            });
            let short = mark.filter(|&m| m > 0).and_then(|m| matches(&words[..m], t, k));
            whole.or(short).map(|used| (name.clone(), used))
        };
        self.sections.iter().filter_map(named).max_by_key(|(_, used)| *used)
    }
}

/// `words` stand at `k` of `t`: the tokens they take. A lone short word names nothing.
fn matches(words: &[Token<'_>], t: &[Token<'_>], k: usize) -> Option<usize> {
    let said = |t: &&Token<'_>| matches!(t.kind, Kind::Word | Kind::Number(_));
    let wanted: Vec<&Token<'_>> = words.iter().filter(said).collect();
    if wanted.is_empty() || wanted.len() == 1 && wanted[0].text.len() < 4 {
        return None;
    }
    let mut j = k;
    for want in wanted {
        while j > k && t.get(j).is_some_and(|t| t.kind == Kind::Dash) {
            j += 1;
        }
        t.get(j).filter(|t| t.text == want.text)?;
        j += 1;
    }
    Some(j - k)
}

/// "rows 1-2", "r1-r4" at `k`, and its tokens.
fn rows_of(t: &[Token<'_>], k: usize) -> Option<((u32, u32), usize)> {
    let row = |k: usize| usize::from(t.get(k).is_some_and(|t| t.any(&super::again::ROW)));
    (row(k) > 0).then_some(())?;
    let from = t.get(k + 1)?.number()?;
    let ranged = t.get(k + 2).is_some_and(|t| t.kind == Kind::Dash || t.any(&["to", "and"]));
    if !ranged {
        return Some(((from, from), 2));
    }
    let at = k + 3 + row(k + 3);
    let to = t.get(at)?.number().filter(|&n| n > from)?;
    Some(((from, to), at + 1 - k))
}

/// "a further 20 times", "once more", "twice", "5 more times", "a total of 6 times" at `k`, and its tokens.
fn times(t: &[Token<'_>], k: usize) -> Option<(u32, usize)> {
    let lead = ["a", "another", "further", "total", "of", "for", "in", "all"];
    let begin = k + t[k..].iter().take_while(|t| t.any(&lead)).count();
    let word = t.get(begin)?;
    let late = |j: usize| {
        t[j.min(t.len())..].iter().take_while(|t| t.any(&["more", "again", "time"])).count()
    };
    if word.any(&["once", "twice"]) {
        let n = if word.is("once") { 1 } else { 2 };
        return Some((n, begin + 1 - k + late(begin + 1)));
    }
    let (n, used) = count(t, begin)?;
    let more = begin + used + usize::from(t.get(begin + used).is_some_and(|t| t.is("more")));
    t.get(more).filter(|t| t.any(&["times", "time", "x"]))?;
    Some((n, more + 1 - k + late(more + 1)))
}

/// Puts the group among the parts, so often.
fn take(parts: &mut Vec<Part>, group: &mut Vec<Part>, times: u32) {
    if let [only] = group.as_mut_slice() {
        only.times = times;
        parts.append(group);
        return;
    }
    for _ in 0..(times as usize).min(MOST) {
        parts.extend(group.iter().cloned());
    }
    group.clear();
}

/// "(47 sts)": its tokens.
fn bracketed_count(t: &[Token<'_>]) -> Option<usize> {
    t.first().filter(|t| t.kind == Kind::Open)?;
    let close = t.iter().position(|t| t.kind == Kind::Close)?;
    let inside = &t[1..close];
    let number = inside.iter().any(|t| t.number().is_some());
    (number && inside.iter().all(|t| t.kind != Kind::Word || t.any(&REST))).then_some(close + 1)
}

/// Nothing but a count of stitches is left.
fn closes(t: &[Token<'_>]) -> bool {
    t.iter().all(|t| t.kind != Kind::Word || t.any(&REST))
}
