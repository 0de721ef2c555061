//! Stitches a page defines in passing, where it first works them: "(3 dc, ch 1, 3 dc) in next ch (shell
//! made)", "a fan (5 tr) in next sp".

use super::reader::Reader;
use super::repeat::bracket_pairs;
use super::repeat::is_star;
use super::row::RowReader;
use super::rows_named::rows_forming;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Macro;
use super::syntax::Op;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::macro_at;

/// Words that stand for no stitch though they are "made".
const NO_NAMES: [&str; 25] = [
    "center",
    "centre",
    "middle",
    "corner",
    "inc",
    "increase",
    "dec",
    "decrease",
    "ring",
    "row",
    "round",
    "rnd",
    "loop",
    "sp",
    "space",
    "point",
    "stitch",
    "st",
    "sts",
    "chain",
    "ch",
    "square",
    "shawl",
    "piece",
    "foundation",
];

/// Group names that a bare label in brackets may give.
const GROUPS: [&str; 12] = [
    "shell", "fan", "cluster", "puff", "bobble", "popcorn", "scallop", "petal", "leaf", "block",
    "box", "tulip",
];

/// What may stand before the name in a label.
const LEAD: [&str; 6] = ["a", "an", "the", "one", "first", "1"];

impl RowReader<'_> {
    /// Learns what `t`, the whole page, defines in passing.
    pub(super) fn learn_in_passing(&mut self, t: &[Token<'_>]) {
        let pairs = bracket_pairs(t);
        for k in 0..t.len() {
            if let Some(rows) = rows_forming(t, k) {
                self.forms.push((t[k].span.start, rows));
            }
            if let Some((name, from)) = made_label(t, k)
                && let Some(at) = work_before(t, &pairs, from)
            {
                self.keep(name, &t[at..from]);
            }
            if let Some((name, from, to)) = explained(t, k)
                && super::vocabulary::stitch_at(&self.cx, t, from + 1).is_some()
            {
                self.keep(name, &t[from..to]);
            }
            if let Some((name, open)) = name_before_bracket(t, &pairs, k)
                && let Some(&(_, close)) = pairs.iter().find(|p| p.0 == open)
            {
                let placed = t[close + 1..].iter().take(6).take_while(|t| t.kind == Kind::Word);
                self.keep(name, &t[open..=close + placed.count()]);
            }
        }
    }

    /// Keeps one definition, unless the page or the trade has the name already.
    fn keep(&mut self, name: String, words: &[Token<'_>]) {
        if self.names(&name) || words.len() > 40 {
            return;
        }
        let read = self.trial(words);
        let works = read
            .ops
            .iter()
            .filter(|op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_)))
            .count();
        if works == 0 || !read.unread.is_empty() {
            return;
        }
        let span = words[0].span.to(words[words.len() - 1].span);
        self.cx.macros.push(name.clone());
        self.macros.push(Macro { name, ops: read.ops, span });
    }
}

impl Reader<'_> {
    /// "(shell made)", "- V st made -": a label, which names what was worked last.
    pub(super) fn made_label(&mut self, ops: &mut [Op]) -> bool {
        let lead = self.skip_words(0, &LEAD);
        let lead = lead + usize::from(self.at(lead).is_some_and(|t| t.number() == Some(1)));
        let Some(found) = macro_at(self.cx, self.t, self.i + lead) else { return false };
        if self.word(lead + found.len) != "made" {
            return false;
        }
        self.i += lead + found.len + 1;
        adopt(ops, found.act);
        true
    }

    /// "(shell made)", "(shell)" as a bracket of its own.
    pub(super) fn bracket_label(&mut self, close: usize, ops: &mut [Op]) -> bool {
        let start = self.i;
        self.i += 1;
        let label = self.made_label(ops) && self.i == close;
        self.i = if label { close + 1 } else { start };
        label
    }

    /// "a shell (3 tr, 1 ch, 3 tr) in next sp", "shell of 5 dc in next st": the name before the words
    /// that say what it is.
    pub(super) fn name_before_words(&mut self, ops: &mut Vec<Op>) -> bool {
        let Some(found) = macro_at(self.cx, self.t, self.i) else { return false };
        let open = self.i + self.skip_words(found.len, &["of"]);
        let Some(&(_, close)) = self.closes.iter().find(|p| p.0 == open && open < self.end) else {
            return false;
        };
        if !defines(&self.t[open + 1..close]) {
            return false;
        }
        self.i = open;
        self.bracket(ops);
        adopt(ops, found.act);
        true
    }
}

/// What was worked last into one place is the stitch named `act`.
///
/// A turning chain just before it is one of its stitches, so that "ch 3, 2 dc in first st (half shell made)" stays
/// spelt out.
fn adopt(ops: &mut [Op], act: Act) {
    let begun = ops
        .len()
        .checked_sub(2)
        .is_some_and(|k| matches!(ops[k].act, Do::Chain { links: 2.., .. } | Do::Stated(_)));
    let Some(op) = ops.last_mut().filter(|_| !begun) else { return };
    let place = match &op.act {
        Do::OnePlace(inner, place) if !matches!(inner[0].act, Do::Chain { .. }) => *place,
        Do::Work { act: Act::Post(..), each, place } if *each > 1 => *place,
        _ => return,
    };
    if !single(place) {
        return;
    }
    op.act = Do::Work { act, each: 1, place };
}

/// One place, by whatever words.
fn single(place: super::syntax::Where) -> bool {
    matches!(
        place.extent,
        Extent::Next(1) | Extent::First(1) | Extent::Last(1) | Extent::FromHook(_)
    )
}

/// Stitches spelt out one after another into the same place, or in brackets, that are a group the page has
/// a name for: "dc in next ch, ch 1, dc in same ch" where a V-st is (dc, ch 1, dc).
pub(super) fn name_spelt_out(ops: &mut Vec<Op>, macros: &[Macro]) {
    for (index, named) in macros.iter().enumerate() {
        let parts = match named.ops.as_slice() {
            [Op { act: Do::OnePlace(inner, _), .. }] => inner.as_slice(),
            ops => ops,
        };
        if parts.len() < 3 || parts.len() > 12 {
            continue;
        }
        bracketed(ops, parts, index);
        let mut k = 0;
        while k + parts.len() <= ops.len() {
            let Some(place) = spelt_out(&ops[k..k + parts.len()], parts) else {
                k += 1;
                continue;
            };
            let span = ops[k].span.to(ops[k + parts.len() - 1].span);
            let act = Act::Macro(index.min(usize::from(u16::MAX)) as u16);
            ops.splice(k..k + parts.len(), [Op { act: Do::Work { act, each: 1, place }, span }]);
            k += 1;
        }
    }
}

/// Groups in brackets that hold just `parts`.
fn bracketed(ops: &mut [Op], parts: &[Op], index: usize) {
    let number = |place: &super::syntax::Where| match place.extent {
        Extent::Bare(n) => n,
        _ => 1,
    };
    let alike = |(a, b): (&Op, &Op)| match (&a.act, &b.act) {
        (Do::Chain { links, .. }, Do::Chain { links: n, .. }) => links == n,
        (Do::Work { act, each, place }, Do::Work { act: b, each: e, place: p }) => {
            act == b && each.saturating_mul(number(place)) == e.saturating_mul(number(p))
        }
        _ => false,
    };
    for op in ops {
        if let Do::OnePlace(inner, place) = &op.act
            && single(*place)
            && place.target != super::syntax::Target::Corner
            && inner.len() == parts.len()
            && inner.iter().zip(parts).all(alike)
        {
            let act = Act::Macro(index.min(usize::from(u16::MAX)) as u16);
            op.act = Do::Work { act, each: 1, place: *place };
        }
    }
}

/// The place of the first of `ops`, when the others are the rest of `parts` into the same.
fn spelt_out(ops: &[Op], parts: &[Op]) -> Option<super::syntax::Where> {
    let (first, rest) = ops.split_first()?;
    let (head, tail) = parts.split_first()?;
    let number = |place: super::syntax::Where| match place.extent {
        Extent::Bare(n) => n,
        _ => 1,
    };
    let alike = |op: &Op, part: &Op, first: bool| match (&op.act, &part.act) {
        (Do::Chain { links, counts: None }, Do::Chain { links: n, .. }) => links == n && !first,
        (Do::Work { act, each, place }, Do::Work { act: a, each: e, place: p }) => {
            act == a
                && *each == e.saturating_mul(number(*p))
                && (first || place.extent == Extent::Same)
        }
        _ => false,
    };
    let whole = rest.iter().zip(tail).all(|(op, part)| alike(op, part, false));
    let Do::Work { place, .. } = &first.act else { return None };
    (single(*place) && whole && alike(first, head, true)).then_some(*place)
}

/// Words in a bracket that make up a group: two stitches or more, or a number of one kind.
fn defines(inside: &[Token<'_>]) -> bool {
    let number = |k: usize| inside[k].number().is_some();
    let word = |k: usize| inside.get(k).is_some_and(|t| t.kind == Kind::Word);
    let parts = (0..inside.len()).filter(|&k| number(k) && (word(k + 1) || k > 0 && word(k - 1)));
    let told = inside.iter().any(|t| t.any(&["made", "times", "see", "sts", "stitches", "shells"]));
    parts.count() > 0 && inside.len() > 1 && !told
}

/// The label that ends at `k` with "made" or a closing bracket: the name and where the label begins.
fn made_label(t: &[Token<'_>], k: usize) -> Option<(String, usize)> {
    let made = t[k].is("made") && !t.get(k + 1).is_some_and(|t| t.is("by"));
    let bare = t[k].kind == Kind::Close;
    if !made && !bare {
        return None;
    }
    let mut from = k;
    while from > 0
        && k - from < 4
        && (t[from - 1].kind == Kind::Word
            || t[from - 1].number() == Some(1)
            || t[from - 1].kind == Kind::Dash && t[from - 1].glued)
    {
        from -= 1;
    }
    let first =
        from + t[from..k].iter().take_while(|t| t.any(&LEAD) || t.number() == Some(1)).count();
    let words: Vec<&str> =
        t[first..k].iter().filter(|t| t.kind == Kind::Word).map(|t| t.text).collect();
    let last = words.last()?;
    let placed = words.iter().any(|w| matches!(*w, "in" | "into" | "to"));
    if placed || NO_NAMES.contains(last) && words.len() < 2 || NO_NAMES.contains(&words[0]) {
        return None;
    }
    let opened = from > 0 && t[from - 1].kind == Kind::Open;
    // "(1 box)" counts.
    let numbered = t[from..k].iter().any(|t| t.number().is_some());
    if bare
        && !(opened && !numbered && (GROUPS.contains(last) || words.len() == 2 && words[1] == "st"))
    {
        return None;
    }
    let apart = from > 0 && (t[from - 1].is_stop() || t[from - 1].kind == Kind::Dash);
    let label = if opened || apart { from - 1 } else { return None };
    Some((words.join(" "), label))
}

/// Where the work begins that a label at `end` names: a bracket and its place, or the last clause.
fn work_before(t: &[Token<'_>], pairs: &[(usize, usize)], end: usize) -> Option<usize> {
    let mut k = end;
    while k > 0 && end - k < 40 {
        let token = &t[k - 1];
        if token.kind == Kind::Close {
            let &(open, _) = pairs.iter().find(|p| p.1 == k - 1)?;
            return Some(open);
        }
        if token.is_stop() || is_star(token) || token.kind == Kind::Open {
            break;
        }
        k -= 1;
    }
    (k < end).then_some(k)
}

/// "What's a shell? It's 5 double crochets in the same stitch.": the name, and where the words begin and end
/// that say what it is.
fn explained(t: &[Token<'_>], k: usize) -> Option<(String, usize, usize)> {
    let group = GROUPS.contains(&t[k].text) && !matches!(t[k].text, "block" | "box");
    let says = |t: &Token<'_>| t.any(&["s", "is", "means", "equals"]) || t.kind == Kind::Other('=');
    let number = |t: &Token<'_>| t.number().is_some_and(|n| (2..12).contains(&n));
    let from = (k + 1..t.len().min(k + 12)).find(|&j| number(&t[j]) && t[k..j].iter().any(says))?;
    let same = (from + 1..t.len().min(from + 6)).find(|&j| t[j].is("same"))?;
    let place = t.get(same + 1)?.any(&["st", "stitch", "place", "sp", "space"]);
    let plain = t[k..from].iter().all(|t| !t.any(&super::again::ROW) && !is_star(t));
    (group && place && plain).then(|| (t[k].text.to_owned(), from, same + 2))
}

/// A name at `k` followed by a bracket that says what it is: the name and the bracket.
fn name_before_bracket(
    t: &[Token<'_>],
    pairs: &[(usize, usize)],
    k: usize,
) -> Option<(String, usize)> {
    let group = GROUPS.iter().any(|g| t[k].is(g));
    let stitch = t[k].any(&["st", "stitch"])
        && k > 0
        && (t[k - 1].kind == Kind::Word && t[k - 1].text.len() == 1
            || k > 1 && t[k - 1].kind == Kind::Dash && t[k - 2].text.len() == 1);
    if !group && !stitch {
        return None;
    }
    // "V-st: (tr, ch 1, tr) in same place" in the midst of a list.
    let colon = t.get(k + 1).is_some_and(|t| matches!(t.kind, Kind::Stop(':') | Kind::Other('=')));
    let open = k + 1 + usize::from(colon || t.get(k + 1).is_some_and(|t| t.is("of")));
    t.get(open).filter(|t| t.kind == Kind::Open)?;
    let &(_, close) = pairs.iter().find(|p| p.0 == open)?;
    let placed = t.get(close + 1).is_some_and(|t| t.any(&["in", "into", "all", "under", "over"]))
        || t[open + 1..close].iter().any(|t| t.any(&["in", "into"]));
    if !placed || !defines(&t[open + 1..close]) {
        return None;
    }
    let name = if stitch {
        let letter = if t[k - 1].kind == Kind::Dash { k - 2 } else { k - 1 };
        format!("{} {}", t[letter].text, t[k].text)
    } else {
        t[k].text.to_owned()
    };
    Some((name, open))
}
