//! Reading the words of one row: a recursive descent over tokens into [`Op`]s.
//!
//! Separators carry no meaning of their own; what cannot be read is recorded and passed over, so the
//! reader never fails.

use super::syntax::Act;
use super::syntax::CountNote;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Loop;
use super::syntax::Op;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::Context;
use super::vocabulary::Found;
use super::vocabulary::sequence;
use super::vocabulary::stitch_at;
use super::words::FILLER;
use crate::pattern::header::CraftWord;
use crate::source::Span;

/// Brackets nested deeper than this are refused.
pub(super) const DEEPEST: usize = 24;

/// The reading of one row.
pub(crate) struct Reader<'a> {
    /// Tokens of the row.
    pub(super) t: &'a [Token<'a>],
    /// Cursor.
    pub(super) i: usize,
    /// Brackets that belong together.
    pub(super) closes: Vec<(usize, usize)>,
    /// One past the last token to read.
    pub(super) end: usize,
    /// Names.
    pub(super) cx: &'a Context,
    /// The source text in its own case, for yarn letters.
    pub(super) text: &'a str,
    /// Colours named so far.
    pub(super) colours: &'a mut Vec<String>,
    /// Count notes met.
    pub(super) counts: Vec<CountNote>,
    /// Words not read.
    pub(super) unread: Vec<Span>,
    /// Loops the row is worked in, said before its stitches ("working in back loops only").
    pub(super) standing: Loop,
    /// Place where brackets were nested too deep.
    pub(super) too_deep: Option<Span>,
    /// Nesting of brackets.
    pub(super) depth: usize,
    /// The stitch last named, for "inc" and "dec".
    pub(super) last: Option<Act>,
}

/// An open repeat mark.
#[derive(Clone, Copy)]
pub(super) struct Mark {
    /// How many stars.
    pub(super) stars: u8,
    /// Index of the first op after it.
    pub(super) from: usize,
    /// Index of the op after the closing mark, for `*A*`.
    pub(super) to: Option<usize>,
}

impl<'a> Reader<'a> {
    /// A reader over all of `t`.
    pub(super) fn new(
        t: &'a [Token<'a>],
        cx: &'a Context,
        text: &'a str,
        colours: &'a mut Vec<String>,
    ) -> Self {
        Self {
            t,
            i: 0,
            closes: super::repeat::bracket_pairs(t),
            end: t.len(),
            cx,
            text,
            colours,
            counts: Vec::new(),
            unread: Vec::new(),
            standing: Loop::Unsaid,
            too_deep: None,
            depth: 0,
            last: None,
        }
    }

    /// The token `k` after the cursor.
    pub(super) fn at(&self, k: usize) -> Option<&'a Token<'a>> {
        if self.i + k < self.end { self.t.get(self.i + k) } else { None }
    }
    /// The word `k` after the cursor; empty when it is no word.
    pub(super) fn word(&self, k: usize) -> &'a str {
        self.at(k).filter(|t| t.kind == Kind::Word).map_or("", |t| t.text)
    }
    /// The separator `c` stands `k` after the cursor.
    pub(super) fn stop_at(&self, k: usize, c: char) -> bool {
        self.at(k).is_some_and(|t| t.kind == Kind::Stop(c))
    }
    /// Length of the first of `patterns` that stands `k` after the cursor.
    pub(super) fn match_at(&self, k: usize, patterns: &[&[&str]]) -> Option<usize> {
        let len = patterns.iter().find_map(|p| sequence(self.t, self.i + k, p).map(|(n, _)| n))?;
        (self.i + k + len <= self.end).then_some(len)
    }
    /// First offset from `k` on whose word is none of `words`.
    pub(super) fn skip_words(&self, mut k: usize, words: &[&str]) -> usize {
        while words.contains(&self.word(k)) && !self.word(k).is_empty() {
            k += 1;
        }
        k
    }
    /// The number a word spells.
    pub(super) fn number_word(&self, k: usize) -> Option<u32> {
        number_word(self.word(k))
    }
    /// A number in digits or words at `k`, with its tokens.
    pub(super) fn count_at(&self, k: usize) -> Option<(u32, usize)> {
        let token = self.at(k)?;
        token.number().or_else(|| number_word(token.text)).map(|n| (n, 1))
    }
    /// An ordinal in digits ("3rd") at `k`.
    pub(super) fn ordinal_at(&self, k: usize) -> Option<u32> {
        let n = self.at(k)?.number()?;
        let suffix = self.at(k + 1).filter(|t| t.glued && t.kind == Kind::Word)?;
        ordinal_suffix(n, suffix.text).then_some(n)
    }
    /// Span of the tokens from `start` to the cursor.
    pub(super) fn since(&self, start: usize) -> Span {
        let last = self.i.saturating_sub(1).max(start).min(self.t.len().saturating_sub(1));
        match (self.t.get(start), self.t.get(last)) {
            (Some(a), Some(b)) => a.span.to(b.span),
            _ => Span::default(),
        }
    }
    pub(super) fn push(&self, ops: &mut Vec<Op>, act: Do, start: usize) {
        ops.push(Op { act, span: self.since(start) });
    }

    /// Reads instructions up to the end (or the closing bracket the caller set as the end).
    pub(super) fn ops(&mut self) -> Vec<Op> {
        let mut ops = Vec::new();
        let mut marks: Vec<Mark> = Vec::new();
        while let Some(token) = self.at(0) {
            let start = self.i;
            match token.kind {
                Kind::Stop(_) | Kind::Close => self.i += 1,
                Kind::Star(stars) => self.mark(&mut marks, stars, &mut ops),
                Kind::Open => self.bracket(&mut ops),
                Kind::Word if self.repeat_clause(&mut ops, &mut marks) => {}
                Kind::Word | Kind::Number(_) | Kind::Dash | Kind::Other(_) => {
                    let read = self.made_label(&mut ops)
                        || self.name_before_words(&mut ops)
                        || self.count_note()
                        || self.keyword(&mut ops)
                        || self.number_led(&mut ops)
                        || self.work(&mut ops)
                        || self.more_places(&mut ops);
                    if !read {
                        self.pass();
                    }
                }
            }
            if self.i == start {
                self.i += 1;
            }
        }
        ops
    }

    /// Notes a star: the start of a repeat, or its end when one of the same kind is open.
    fn mark(&mut self, marks: &mut Vec<Mark>, stars: u8, ops: &mut Vec<Op>) {
        self.i += 1;
        let at = ops.len();
        if stars == 1
            && let Some(open) = marks.iter_mut().rev().find(|m| m.stars == 1 && m.to.is_none())
            && open.from < at
        {
            open.to = Some(at);
            let from = open.from;
            if let Some(times) = self.times() {
                marks.pop();
                self.wrap(ops, from, at, None, times);
                if times == super::syntax::Times::ToEnd {
                    self.ending_stitch(ops);
                }
            }
            return;
        }
        marks.push(Mark { stars, from: at, to: None });
    }

    /// Passes a token that says nothing; words that ought to say something are recorded.
    fn pass(&mut self) {
        if let Some(token) = self.at(0) {
            let noted = token.kind == Kind::Word && !FILLER.contains(&token.text);
            // "on hook size 6 mm"
            let sized = self.i > 0 && self.t[self.i - 1].is("size");
            if noted || token.number().is_some() && !sized {
                self.unread.push(token.span);
            }
        }
        self.i += 1;
    }

    /// A number and what it belongs to: `2 sc in next st`, `3 ch`.
    fn number_led(&mut self, ops: &mut Vec<Op>) -> bool {
        let Some((n, used)) = self.count_at(0) else { return false };
        if self.ordinal_at(0).is_some() {
            return false;
        }
        if stitch_at(self.cx, self.t, self.i).is_some_and(|f| f.len > 1)
            && self.at(0).is_some_and(|t| t.number().is_some())
        {
            return false;
        }
        if let Some((more, len)) = self.chains_and_more() {
            let start = self.i;
            self.i += len;
            self.chain(ops, n.saturating_add(more), start);
            return true;
        }
        if let Some(sum) = self.sum_of_chains() {
            let (start, n) = (self.i, self.at(sum).and_then(|t| t.number()).unwrap_or(n));
            self.i += sum + 2;
            self.chain(ops, n, start);
            return true;
        }
        let start = self.i;
        let more = usize::from(self.word(used) == "more");
        if matches!(self.word(used), "ch" | "chs" | "chain" | "chains") {
            self.i += used + 1;
            let n = match self.added() {
                Some((extra, used)) => {
                    self.i += used;
                    n.saturating_add(extra)
                }
                None => n,
            };
            self.chain(ops, n, start);
            return true;
        }
        if n == 1 && self.whole_round(ops, used) {
            return true;
        }
        let dash = usize::from(self.at(used).is_some_and(|t| t.kind == Kind::Dash));
        if let Some(found) = stitch_at(self.cx, self.t, self.i + used + more + dash) {
            self.i += used + more + dash;
            self.stitch(ops, found, Some(n), start);
            return true;
        }
        false
    }

    /// "60 + 2 ch" at the cursor: the links added and the tokens.
    fn chains_and_more(&self) -> Option<(u32, usize)> {
        self.at(1).filter(|t| t.kind == Kind::Other('+'))?;
        let more = self.at(2)?.number().filter(|&n| n < 10)?;
        matches!(self.word(3), "ch" | "chs" | "chain" | "chains").then_some((more, 4))
    }

    /// "97 + 3 for turning = 100 ch" at the cursor: where the sum stands.
    fn sum_of_chains(&self) -> Option<usize> {
        self.at(1).filter(|t| t.kind == Kind::Other('+'))?;
        let sum = (2..9).find(|&k| self.at(k).is_some_and(|t| t.kind == Kind::Other('=')))? + 1;
        let chains = matches!(self.word(sum + 1), "ch" | "chs" | "chain" | "chains");
        self.at(sum)?.number().filter(|_| chains).map(|_| sum)
    }

    /// "(counts as dc) and in each ch across": more places of the stitch before.
    fn more_places(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        if self.word(0) != "and" || !matches!(self.word(1), "in" | "into" | "each" | "then") {
            return false;
        }
        let before = ops.iter().rev().take(2).find_map(|op| {
            if let Do::Work { act, each, .. } = op.act { Some((act, each)) } else { None }
        });
        let Some((act, _)) = before else { return false };
        self.i += 1;
        let places = self.places();
        if places.is_empty() {
            self.i = start;
            return false;
        }
        self.finish_stitch(ops, act, 1, places, start);
        true
    }

    /// A stitch name and what follows it.
    fn work(&mut self, ops: &mut Vec<Op>) -> bool {
        let Some(found) = stitch_at(self.cx, self.t, self.i) else { return false };
        if self.i + found.len > self.end {
            return false;
        }
        let start = self.i;
        self.stitch(ops, found, None, start);
        true
    }

    pub(super) fn stitch(
        &mut self,
        ops: &mut Vec<Op>,
        found: Found,
        before: Option<u32>,
        start: usize,
    ) {
        self.i += found.len;
        self.pass_dot();
        let act = found.act;
        let times = self.at(0).filter(|t| t.number().is_some()).and_then(|_| self.times_each());
        let after = if before.is_none() && times.is_none() { self.number_after(act) } else { None };
        if after.is_some() && self.plain_noun() {
            self.i += 1;
        }
        self.pass_modifiers();
        if self.cx.craft == CraftWord::Knit {
            self.pass_wraps();
        }
        if matches!(act, Act::KnitInto(_)) {
            self.pass_of_stitch();
        }
        let over = self.word(0) == "over" || self.word(0) == "across";
        let (act, taken) = self.twisted(act);
        let mut below = self.passes_below(act);
        let all_in = self.word(0) == "all" && matches!(self.word(1), "in" | "into");
        let mut places = match self.slips_to_space(act).or_else(|| self.at_base()) {
            Some(place) => vec![place],
            None => self.places(),
        };
        if matches!(act, Act::Together(..)) && self.word(0) == "and" {
            // "dc2tog over last st and tch"
            let noun = self.skip_words(1, &["top", "of", "the", "turning"]);
            if matches!(self.word(noun), "tch" | "ch" | "t") {
                self.i += self.turning_noun_at(noun).map_or(noun + 1, |len| noun + len);
            }
        }
        if all_in
            && self.all_in_place(ops, act, before.or(after).unwrap_or(found.each), &places, start)
        {
            return;
        }
        if let (Act::Cluster(height, _), true, Some(Extent::Next(n))) =
            (act, over, places.first().map(|p| p.extent))
            && n > 1
        {
            self.finish_stitch(
                ops,
                Act::Together(height, n.min(40) as u8, super::syntax::Style::Plain),
                1,
                places,
                start,
            );
            return;
        }
        below |= self.passes_below(act);
        if taken != Loop::Unsaid {
            places.iter_mut().filter(|p| p.taken == Loop::Unsaid).for_each(|p| p.taken = taken);
        }
        if act == Act::Slip && places.len() == 1 && self.word(0) == "to" {
            // "sl st in next 3 sts to centre tr of fan": where they lead.
            let here = self.i;
            self.i += 1;
            let leads = matches!(self.word(0), "center" | "centre" | "middle" | "the" | "next");
            if !leads || self.bare_phrase().is_none() {
                self.i = here;
            }
        }
        if act == Act::Slip && (self.closes(ops, start) || self.makes_ring(ops, &places, start)) {
            return;
        }
        let count = before.or(after);
        if self.joins_place(ops, act, count.unwrap_or(found.each), &places, start) {
            return;
        }
        if below {
            places.iter_mut().for_each(|p| p.below = p.below.max(1));
        }
        let bare = places.is_empty() || places.iter().all(|p| p.extent == Extent::Bare(0));
        if bare {
            let taken = places.first().map_or(taken, |p| p.taken);
            let extent = self.bare_extent(before, after, times);
            places = vec![Where { taken, below: u8::from(below), ..Where::of(extent) }];
            self.finish_stitch(ops, act, times.unwrap_or(found.each), places, start);
        } else if self.cx.craft == CraftWord::Knit && after.is_some() && spread(&places) {
            self.knit_run(ops, act, count.unwrap_or(1), places[0], start);
        } else {
            let each = times.or(count).unwrap_or(found.each);
            self.finish_stitch(ops, act, each, places, start);
        }
    }

    /// How far a stitch without a place goes: a number before the name is doubtful in crochet.
    fn bare_extent(&self, before: Option<u32>, after: Option<u32>, times: Option<u32>) -> Extent {
        match (before, after) {
            _ if times.is_some() => Extent::Next(1),
            (Some(n), _) if self.cx.craft == CraftWord::Crochet => Extent::Bare(n),
            (Some(n), _) | (_, Some(n)) => Extent::Next(n),
            _ => Extent::Bare(1),
        }
    }

    /// Passes the full stop of an abbreviation before its place ("s.c. in next").
    fn pass_dot(&mut self) {
        let dotted = self.stop_at(0, '.') && self.at(0).is_some_and(|t| t.glued);
        if dotted
            && matches!(
                self.word(1),
                "in" | "into"
                    | "to"
                    | "each"
                    | "next"
                    | "across"
                    | "over"
                    | "around"
                    | "blo"
                    | "flo"
            )
        {
            self.i += 1;
        }
    }

    /// "k1, p1 to end": the ending belongs to the whole run before it.
    fn knit_run(&mut self, ops: &mut Vec<Op>, act: Act, n: u32, place: Where, start: usize) {
        let place_next = Where { extent: Extent::Next(n), ..place };
        self.push(ops, Do::Work { act, each: 1, place: place_next }, start);
        let run = ops.iter().rposition(|op| !is_knit_unit(op)).map_or(0, |k| k + 1);
        let times = match place.extent {
            Extent::AllBut(n) => super::syntax::Times::ToLast(n),
            Extent::ToMarker(n) => super::syntax::Times::ToMarker(n),
            Extent::ToCentre(n) => super::syntax::Times::ToCentre(n),
            Extent::ShortOfSpace(n) => super::syntax::Times::ToSpace(n),
            _ => super::syntax::Times::ToEnd,
        };
        self.wrap(ops, run, ops.len(), None, times);
    }

    fn finish_stitch(
        &mut self,
        ops: &mut Vec<Op>,
        act: Act,
        each: u32,
        places: Vec<Where>,
        start: usize,
    ) {
        let from = ops.len();
        let standing = self.standing;
        let told = self.both_kinds(ops, act, &places, start)
            || each == 1 && self.by_kind(ops, act, &places, start);
        let places = if told { Vec::new() } else { places };
        for mut place in places {
            if place.taken == Loop::Unsaid {
                place.taken = standing;
            }
            self.push(ops, Do::Work { act, each, place }, start);
        }
        if matches!(act, Act::Post(..) | Act::Knit { .. }) {
            self.last = Some(act);
        }
        if let Some((n, used)) = self.plain_times(0) {
            self.i += used;
            self.wrap(ops, from, ops.len(), None, super::syntax::Times::Total(n));
        }
    }

    /// "K1b", "k1 below", "knit next st in the row below": into the stitch under the one on the needle.
    fn passes_below(&mut self, act: Act) -> bool {
        if self.cx.craft != CraftWord::Knit || !matches!(act, Act::Knit { twisted: false, .. }) {
            return false;
        }
        let dash = usize::from(self.at(0).is_some_and(|t| t.kind == Kind::Dash && t.glued));
        let letter = self.word(dash) == "b" && self.at(dash).is_some_and(|t| t.glued);
        let words = self.skip_words(0, &["in", "into", "the", "st", "stitch", "row"]);
        let said = self.word(words) == "below";
        if letter || said {
            self.i += 1 + if letter { dash } else { words };
        }
        letter || said
    }

    /// `tbl` after a knit name.
    fn twisted(&mut self, act: Act) -> (Act, Loop) {
        if self.cx.craft == CraftWord::Knit && self.word(0) == "tbl" {
            self.i += 1;
            if let Act::Knit { purl, .. } = act {
                return (Act::Knit { purl, twisted: true }, Loop::Unsaid);
            }
        }
        (act, Loop::Unsaid)
    }

    /// Words between a knit name and its place that change nothing in the count.
    fn pass_modifiers(&mut self) {
        const MODIFIERS: [&str; 15] = [
            "goes", "worked", "plain", "pwise", "kwise", "purlwise", "knitwise", "wyif", "wyib",
            "wyf", "wyb", "loosely", "tightly", "made", "more",
        ];
        self.i += self.skip_words(0, &MODIFIERS);
        // "k2, p2 rib around"
        let goes = matches!(self.word(1), "around" | "across" | "to" | "for" | "over");
        if self.cx.craft == CraftWord::Knit && matches!(self.word(0), "rib" | "ribbing") && goes {
            self.i += 1;
        }
        if self.word(0) == "as"
            && matches!(self.word(1), "to" | "if")
            && self.word(2).starts_with(['k', 'p', 't'])
        {
            let skip = self.skip_words(1, &["to", "if", "knit", "purl", "k", "p"]);
            self.i += skip;
        }
    }

    /// A number after the name: `k7`, `sc 12`. An ordinal, a repeat count or another stitch's number is none.
    fn number_after(&mut self, act: Act) -> Option<u32> {
        let n = self.at(0)?.number()?;
        if self.ordinal_at(0).is_some() || matches!(act, Act::Macro(_)) && !self.at(0)?.glued {
            return None;
        }
        let next = self.word(1);
        let own = self.at(1).is_some_and(|t| !t.glued)
            && stitch_at(self.cx, self.t, self.i + 1).is_some();
        let knit = self.cx.craft == CraftWord::Knit;
        if next == "times" || next == "x" || (own && !knit && !self.at(0)?.glued) {
            return None;
        }
        self.i += 1;
        Some(n)
    }

    fn plain_noun(&self) -> bool {
        matches!(self.word(0), "st" | "sts" | "stitch" | "stitches")
    }

    /// "3 times in(to) same st": so many into one place.
    fn times_each(&mut self) -> Option<u32> {
        let n = self.at(0)?.number()?;
        if self.word(1) == "times" && matches!(self.word(2), "in" | "into") {
            self.i += 2;
            return Some(n);
        }
        None
    }
}

fn spread(places: &[Where]) -> bool {
    places.len() == 1
        && matches!(
            places[0].extent,
            Extent::All
                | Extent::AllBut(_)
                | Extent::ToMarker(_)
                | Extent::ToCentre(_)
                | Extent::ShortOfSpace(_)
        )
}

fn is_knit_unit(op: &Op) -> bool {
    match &op.act {
        Do::Work { place, .. } => matches!(place.extent, Extent::Next(_) | Extent::Bare(_)),
        _ => false,
    }
}

/// The number a word spells, up to twenty and the round tens.
pub(super) fn number_word(word: &str) -> Option<u32> {
    const WORDS: [&str; 21] = [
        "zero",
        "one",
        "two",
        "three",
        "four",
        "five",
        "six",
        "seven",
        "eight",
        "nine",
        "ten",
        "eleven",
        "twelve",
        "thirteen",
        "fourteen",
        "fifteen",
        "sixteen",
        "seventeen",
        "eighteen",
        "nineteen",
        "twenty",
    ];
    const TENS: [(&str, u32); 5] =
        [("thirty", 30), ("forty", 40), ("fifty", 50), ("sixty", 60), ("hundred", 100)];
    let low = WORDS.iter().position(|w| *w == word).map(|n| n as u32);
    low.or_else(|| TENS.iter().find(|(w, _)| *w == word).map(|&(_, n)| n))
}

/// `2nd`, `3rd`, `21st` and the like, slips such as `3nd` among them.
pub(super) fn ordinal_suffix(n: u32, suffix: &str) -> bool {
    match suffix {
        "st" => n % 10 == 1 && n % 100 != 11,
        // "3nd" is a slip that can mean nothing else.
        "nd" | "rd" => n > 0,
        "d" => matches!(n % 10, 2 | 3),
        "th" => true,
        _ => false,
    }
}
