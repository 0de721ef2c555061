//! Placement phrases: "in each of next 3 sts", "in top of turning ch", "to last 2 sts".

use super::header::CraftWord;
use super::reader::Reader;
use super::syntax::Extent;
use super::syntax::Loop;
use super::syntax::Target;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::stitch_at;

/// What a phrase has said so far.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Phrase {
    pub(super) each: bool,
    pub(super) next: bool,
    pub(super) all: bool,
    pub(super) first: bool,
    pub(super) last: bool,
    pub(super) same: bool,
    pub(super) skipped: bool,
    pub(super) middle: bool,
    /// "center", said of the place itself and not read off a group's size.
    pub(super) centre: bool,
    pub(super) between: bool,
    pub(super) before: bool,
    pub(super) top: bool,
    pub(super) turning: bool,
    pub(super) number: Option<u32>,
    pub(super) ordinal: Option<u32>,
    pub(super) from_hook: bool,
    pub(super) but: Option<u32>,
    pub(super) to_marker: Option<u32>,
    pub(super) to_last_marker: Option<u32>,
    /// All before the centre stitch but so many.
    pub(super) to_centre: Option<u32>,
    pub(super) to_space: bool,
    /// All before the next space but so many.
    pub(super) short_of_space: Option<u32>,
    /// The stitch is the last before a space.
    pub(super) at_space: bool,
    pub(super) taken: Loop,
    pub(super) below: u8,
    pub(super) target: Option<Target>,
    /// Links in the chain named, for "ch-4".
    pub(super) links: Option<u32>,
}

/// Words that may open a phrase.
const OPEN: [&str; 27] = [
    "in",
    "into",
    "to",
    "on",
    "over",
    "through",
    "around",
    "under",
    "across",
    "each",
    "ea",
    "next",
    "all",
    "same",
    "along",
    "every",
    "evenly",
    "between",
    "inside",
    "onto",
    "until",
    "thru",
    "rem",
    "remaining",
    "from",
    "down",
    "up",
];
/// Words that say nothing in a phrase.
const FILLER: &[&str] = &[
    "in",
    "into",
    "on",
    "over",
    "through",
    "under",
    "of",
    "the",
    "a",
    "an",
    "along",
    "inside",
    "onto",
    "thru",
    "any",
    "magic",
    "adjustable",
    "indicated",
    "given",
    "specified",
    "designated",
    "that",
    "this",
    "your",
    "top",
    "tops",
    "both",
    "work",
    "ea",
    "prev",
    "previous",
    "those",
    "its",
];

impl Reader<'_> {
    /// The places named at the cursor, joined by "and"; none when no phrase stands there.
    pub(super) fn places(&mut self) -> Vec<Where> {
        let mut places = Vec::new();
        if let Some(run) = self.links_in_turn() {
            return run;
        }
        let loops = self.loops();
        if !self.opens() {
            if loops != Loop::Unsaid && places.is_empty() {
                places.push(Where { taken: loops, ..Where::of(Extent::Bare(0)) });
            }
            return places;
        }
        loop {
            let start = self.i;
            let Some(mut place) = self.phrase() else {
                self.i = start;
                break;
            };
            if place.taken == Loop::Unsaid {
                place.taken = loops;
            }
            places.push(place);
            if !self.and_place() {
                break;
            }
        }
        merge_spaces(&mut places);
        places
    }

    /// "in 3rd, 4th and 5th chs (from hook)": the first link counted from the hook, and those after it.
    fn links_in_turn(&mut self) -> Option<Vec<Where>> {
        let start = self.i;
        self.i += self.skip_words(0, &["in", "into", "the", "each", "of"]);
        let first = self.ordinal_at(0).filter(|_| self.i > start);
        let mut n = 0;
        while let Some(link) = self.ordinal_at(0).filter(|&l| Some(l) == first.map(|f| f + n)) {
            n += u32::from(link > 0);
            self.i += 2;
            while self.stop_at(0, ',')
                || self.word(0) == "and"
                || self.at(0).is_some_and(|t| t.kind == Kind::Other('&'))
            {
                self.i += 1;
            }
        }
        let chain = matches!(self.word(0), "ch" | "chs" | "chain" | "chains");
        let (Some(first), true) = (first.filter(|&f| f > 1), chain && n > 1) else {
            self.i = start;
            return None;
        };
        self.i += 1;
        let hook = self.skip_words(0, &["from", "the"]);
        self.i += if matches!(self.word(hook), "hook" | "hk") { hook + 1 } else { 0 };
        let of = |extent| Where { target: Target::Chain, ..Where::of(extent) };
        Some(vec![of(Extent::FromHook(first)), of(Extent::Next(n - 1))])
    }

    fn opens(&self) -> bool {
        let word = self.word(0);
        // UK pages work "round" a post.
        let post = word == "round" && matches!(self.word(1), "next" | "each" | "post" | "the");
        (OPEN.contains(&word) || post)
            && !(word == "to" && matches!(self.word(1), "form" | "join" | "make" | "close"))
            && (word != "from" || matches!(self.word(1), "hook" | "hk"))
    }

    /// Passes an "and" (or a comma) that joins another place of the same stitch.
    fn and_place(&mut self) -> bool {
        let comma = usize::from(self.stop_at(0, ','));
        let and = self.at(comma).is_some_and(|t| t.is("and") || t.kind == Kind::Other('&'));
        if !and {
            return false;
        }
        let next = self.word(comma + 1);
        let again = ["in", "into", "each", "every", "next", "last", "top", "on", "same"]
            .contains(&next)
            || next == "the" && matches!(self.word(comma + 2), "last" | "next")
            || (next == "ch" || next == "sp" || next == "space")
            || matches!(next, "across" | "around") && self.i > 0
            || self.at(comma + 1).is_some_and(|t| t.number().is_some())
                && matches!(self.word(comma + 2), "ch" | "chain")
                && matches!(self.word(comma + 3), "sp" | "space" | "loop" | "lp" | "arch")
            || self.at(comma + 1).is_some_and(|t| t.number().is_some())
                && self.at(comma + 2).is_some_and(|t| t.kind == Kind::Dash)
                && matches!(self.word(comma + 3), "ch" | "chain");
        if again
            && !(next == "ch"
                && self.at(comma + 2).is_some_and(|t| t.number().is_some() && !t.glued))
        {
            self.i += comma + 1;
            return true;
        }
        false
    }

    /// Loop words at the cursor: `blo`, `in back loops only`, `tbl`.
    pub(super) fn loops(&mut self) -> Loop {
        const BACK: [&[&str]; 4] = [&["blo"], &["bl", "only"], &["bl"], &["tbl"]];
        const FRONT: [&[&str]; 3] = [&["flo"], &["fl", "only"], &["fl"]];
        let lead = self.skip_words(
            0,
            &["in", "into", "through", "thru", "the", "working", "work", "of", "under"],
        );
        let found = self
            .match_at(lead, &BACK)
            .map(|n| (Loop::Back, n))
            .or_else(|| self.match_at(lead, &FRONT).map(|n| (Loop::Front, n)))
            .or_else(|| self.spelt_loop(lead));
        let Some((taken, len)) = found else { return Loop::Unsaid };
        self.i += lead + len;
        if self.word(0) == "only" {
            self.i += 1;
        }
        if self.word(0) == "throughout" {
            self.i += 1;
        }
        if self.word(0) == "of" {
            self.i += 1;
        }
        taken
    }

    fn spelt_loop(&self, lead: usize) -> Option<(Loop, usize)> {
        let taken = match self.word(lead) {
            "back" => Loop::Back,
            "front" => Loop::Front,
            "both" => Loop::Both,
            "third" => Loop::Third,
            "horizontal" if self.word(lead + 1) == "bar" => return Some((Loop::Third, 2)),
            _ => return None,
        };
        match self.word(lead + 1) {
            "loop" | "loops" | "lp" | "lps" => Some((taken, 2)),
            "bump" | "bumps" | "ridge" | "ridges" if taken == Loop::Back => Some((Loop::Back, 2)),
            _ => None,
        }
    }

    /// A place without a preposition: "next 2 sts", "1", "ch-1 sp".
    pub(super) fn bare_phrase(&mut self) -> Option<Where> {
        let start = self.i;
        let place = self.phrase();
        if place.is_none() {
            self.i = start;
        }
        place
    }

    fn phrase(&mut self) -> Option<Where> {
        let mut said = Phrase::default();
        let start = self.i;
        while self.phrase_word(&mut said) {}
        if self.i == start {
            return None;
        }
        self.tail(&mut said);
        said.compile()
    }

    /// Takes one token into the phrase; false when the phrase is over.
    fn phrase_word(&mut self, said: &mut Phrase) -> bool {
        let Some(token) = self.at(0).copied() else { return false };
        match token.kind {
            Kind::Number(n) => return self.phrase_number(said, n),
            Kind::Word => {}
            _ => return false,
        }
        if said.taken == Loop::Unsaid {
            let loops = self.loops();
            if loops != Loop::Unsaid {
                said.taken = loops;
                return true;
            }
        }
        if token.any(&["around", "round"])
            && matches!(
                self.word(1),
                "post" | "the" | "next" | "each" | "ch" | "posts" | "same" | "that"
            )
        {
            self.i += 1 + usize::from(matches!(self.word(1), "post" | "posts"));
            return true;
        }
        let onward = matches!(token.text, "across" | "over" | "along")
            && self.word(1) == "to"
            && !matches!(self.word(2), "end" | "the" | "last");
        // "sl st across first 3 dc", "across the tops of the first 3 tr"
        let lead = self.skip_words(1, &["the", "top", "tops", "of", "first", "next"]);
        let stretch = token.any(&["across", "over", "along"])
            && self.at(lead).is_some_and(|t| t.number().is_some())
            && (stitch_at(self.cx, self.t, self.i + lead + 1).is_some()
                || matches!(self.word(lead + 1), "st" | "sts" | "stitch" | "stitches"));
        if onward || stretch {
            // "sl st across to next ch-2 sp"
            self.i += self.skip_words(1, &["the", "top", "tops", "of"]);
            return true;
        }
        if self.ending(said) {
            return false;
        }
        match token.text {
            "each" | "every" | "evenly" | "ea" => said.each = true,
            "next" | "following" | "foll" | "nxt" => said.next = true,
            "all" if matches!(self.word(1), "in" | "into" | "over" | "under") => {}
            "all" | "remaining" | "rem" | "rest" => said.all = true,
            "first" | "beginning" | "beg" if !self.beginning_chain() => said.first = true,
            "last" => said.last = true,
            "same" | "base" => said.same = true,
            // "next 10 unworked sts" are those the short row left behind.
            "unworked" if said.next => {}
            "skipped" | "unworked" | "missed" => said.skipped = true,
            "center" | "centre" | "middle" => (said.middle, said.centre) = (true, true),
            "between" if matches!(said.target, Some(Target::Post(_))) => {
                self.i += self.skip_words(1, &["the", "two", "next"]);
                let len = super::vocabulary::macro_at(self.cx, self.t, self.i).map(|f| f.len);
                self.i += len.unwrap_or_else(|| self.skip_words(0, &["shells", "groups", "fans"]));
                return true;
            }
            "between" | "betw" | "bet" | "btwn" if self.beside_edge_group(said) => return true,
            "between" | "betw" | "bet" | "btwn" => said.between = true,
            "before" if matches!(said.target, Some(Target::Post(_) | Target::Any)) => {
                return self.before_space(said);
            }
            "before" => (said.between, said.before) = (true, true),
            "after" if matches!(said.target, Some(Target::Space(_))) && self.word(1) == "last" => {
                // "in sp after last group": the gap at the edge.
                (said.between, said.before) = (true, true);
            }
            "top" => said.top = true,
            "at" if self.base_len().is_some() => {
                self.i += self.base_len().unwrap_or(1);
                said.same = true;
                return true;
            }
            "second" => said.ordinal = Some(2),
            "third" => said.ordinal = Some(3),
            "fourth" => said.ordinal = Some(4),
            "two" | "three" | "four" | "five" | "six" => said.number = self.number_word(0),
            "to" if matches!(
                self.word(1),
                "first" | "next" | "top" | "last" | "the" | "same" | "each" | "beg"
            ) || self.at(1).is_some_and(|t| t.number().is_some())
                && matches!(self.word(2), "ch" | "chain")
                // "join to 3rd ch"
                || super::heading::ordinal_number(self.t, self.i + 1).is_some_and(|(_, after)| {
                    self.t.get(after).is_some_and(|t| t.any(&["ch", "chain"]))
                }) => {}
            word if FILLER.contains(&word) => {}
            _ => return self.noun(said),
        }
        self.i += 1;
        true
    }

    /// Tokens of "at (the) base of (the) (turning) (3) ch(-3)" at the cursor: the place of the turning chain.
    pub(super) fn base_len(&self) -> Option<usize> {
        let base = 1 + usize::from(self.word(1) == "the");
        let of = (self.word(base) == "base").then_some(base + 1)?;
        let mut k = self.skip_words(of, &["of", "the", "turning", "beg", "beginning", "starting"]);
        let number = |k: usize| usize::from(self.at(k).is_some_and(|t| t.number().is_some()));
        let dash = |k: usize| {
            let ends = |t: &super::token::Token<'_>| t.number().is_some() || t.is("ch");
            let links = self.at(k + 1).is_some_and(ends);
            usize::from(links && self.at(k).is_some_and(|t| t.kind == Kind::Dash))
        };
        k += number(k);
        k += dash(k);
        if matches!(self.word(k), "ch" | "chain" | "chains" | "chs" | "tch") {
            k += 1;
            k += dash(k);
            k += number(k);
        }
        Some(k)
    }

    /// "in sp between tch and first group", "between the last group and the end st": the gap at the edge.
    fn beside_edge_group(&mut self, said: &mut Phrase) -> bool {
        const EDGE: [&str; 8] = ["tch", "turning", "edge", "end", "beg", "beginning", "t", "ch"];
        const GROUP: [&str; 7] = ["group", "grp", "cluster", "shell", "fan", "granny", "block"];
        let words = |k: usize| self.t.get(self.i + k).filter(|t| !t.is_stop());
        let phrase = (1..9).map_while(words).take_while(|t| t.kind != Kind::Close);
        let phrase: Vec<_> = phrase.collect();
        let Some(and) = phrase.iter().position(|t| t.is("and")) else { return false };
        let (one, other) = phrase.split_at(and);
        let has = |part: &[&Token<'_>], list: &[&str]| part.iter().any(|t| t.any(list));
        let group = |part: &[&Token<'_>], nth: &str| has(part, &[nth]) && has(part, &GROUP);
        let first = has(one, &EDGE) && group(other, "first");
        let last = group(one, "last") && has(other, &EDGE);
        if first == last {
            return false;
        }
        const ENDS: [&str; 6] = ["tch", "st", "ch", "chain", "stitch", "edge"];
        let ends: &[&str] = if first { &GROUP } else { &ENDS };
        let Some(end) = other.iter().rposition(|t| t.any(ends)) else { return false };
        (said.between, said.before) = (true, true);
        (said.first, said.last) = (first, last);
        self.i += 1 + and + end + 1;
        true
    }

    /// "last tr before ch-2 sp": the stitch next to that space.
    fn before_space(&mut self, said: &mut Phrase) -> bool {
        let start = self.i;
        self.i += self.skip_words(1, &["the", "next"]);
        let mut space = Phrase::default();
        while self.phrase_word(&mut space) {}
        if !matches!(space.target, Some(Target::Space(_) | Target::Corner)) {
            self.i = start;
            return false;
        }
        said.at_space = said.last;
        true
    }

    fn phrase_number(&mut self, said: &mut Phrase, n: u32) -> bool {
        if self.ordinal_at(0).is_some() {
            self.i += 2;
            if n == 3 && matches!(self.word(0), "loop" | "loops" | "lp" | "lps") {
                said.taken = Loop::Third;
                self.i += 1 + usize::from(self.word(1) == "only");
                self.i += self.skip_words(0, &["of", "the"]);
                return true;
            }
            said.ordinal = Some(n);
            return true;
        }
        let dash = usize::from(self.at(1).is_some_and(|t| t.kind == Kind::Dash));
        let spaced = |k: usize| {
            let dash = usize::from(self.at(k).is_some_and(|t| t.kind == Kind::Dash));
            let dash = dash + usize::from(self.word(k + dash) == "corner");
            matches!(
                self.word(k + dash),
                "sp" | "sps" | "space" | "spaces" | "loop" | "lp" | "arch"
            )
        };
        if matches!(self.word(1), "ch" | "chain") && spaced(2) {
            self.i += 1;
            said.links = Some(n);
            return self.noun(said);
        }
        let of_chain = (said.ordinal.is_some() || said.top)
            && matches!(self.word(1), "ch" | "chain" | "chs" | "chains");
        if of_chain || dash > 0 && matches!(self.word(2), "ch" | "chain") {
            self.i += 1 + dash;
            said.links = Some(n);
            return self.noun(said);
        }
        if let Some(found) = stitch_at(self.cx, self.t, self.i + 1 + dash) {
            let group = self.word(1 + dash + found.len);
            let grouped = matches!(group, "group" | "groups" | "grp" | "shell" | "cluster" | "fan");
            if grouped || dash > 0 {
                self.i += 1 + dash + if grouped { found.len } else { 0 };
                said.middle = true;
                return true;
            }
        }
        if matches!(self.word(1), "row" | "rows" | "rnd" | "rnds" | "round" | "rounds")
            && matches!(self.word(2), "below" | "down")
        {
            // A knit stitch one row below is that under the one on the needle.
            let up = u32::from(self.cx.craft != CraftWord::Knit);
            said.below = n.saturating_sub(up).min(200) as u8;
            self.i += 3;
            return true;
        }
        if said.number.is_some() || said.target.is_some() && !said.between {
            return false;
        }
        said.number = Some(n);
        self.i += 1;
        true
    }
}

impl Phrase {
    fn compile(mut self) -> Option<Where> {
        if self.between {
            // "between first 2 groups" is the next gap; "before first group" is the one at the edge.
            self.first &= self.before || !matches!(self.target, Some(Target::Group(_)));
            self.target = Some(Target::Gap);
            self.number = None;
            self.all |= self.each;
        }
        let target = match self.target {
            _ if self.below > 0 => Target::Any,
            Some(Target::Link(_)) if self.turning => Target::Turning,
            Some(Target::Any | Target::Post(_)) if self.alone_in_middle() => Target::Centre,
            Some(target) => target,
            None => Target::Any,
        };
        let target = match (self.ordinal, self.number, target) {
            (Some(n), Some(of), Target::Post(_) | Target::Any) if n <= of && of > 2 => {
                self.number = None;
                Target::InGroup(n)
            }
            _ => target,
        };
        if matches!(target, Target::InGroup(_)) {
            (self.target, self.first, self.last) = (Some(target), false, false);
        }
        let extent = self.extent()?;
        Some(Where { extent, target, taken: self.taken, below: self.below })
    }

    /// "3 dc in center dc": the one stitch in the middle of the row.
    fn alone_in_middle(&self) -> bool {
        let other = self.all || self.each || self.first || self.last || self.same || self.next;
        self.centre && !other && self.number.is_none() && self.ordinal.is_none()
    }

    fn extent(&self) -> Option<Extent> {
        let n = self.number.unwrap_or(1);
        Some(if self.from_hook {
            Extent::FromHook(self.ordinal.or(self.number).unwrap_or(2))
        } else if let Some(but) = self.but {
            Extent::AllBut(but)
        } else if let Some(before) = self.to_last_marker {
            Extent::ToLastMarker(before)
        } else if let Some(before) = self.to_marker {
            Extent::ToMarker(before)
        } else if let Some(before) = self.to_centre {
            Extent::ToCentre(before)
        } else if let Some(before) = self.short_of_space {
            Extent::ShortOfSpace(before)
        } else if self.to_space {
            Extent::ToSpace
        } else if self.same {
            Extent::Same
        } else if self.skipped {
            Extent::Skipped(n)
        } else if self.first
            || self.ordinal == Some(1)
                && !matches!(self.target, Some(Target::Link(_) | Target::InGroup(_)))
        {
            Extent::First(n)
        } else if self.at_space {
            Extent::BeforeSpace
        } else if self.last {
            Extent::Last(n)
        } else if self.next || self.number.is_some() {
            Extent::Next(n)
        } else if matches!(self.target, Some(Target::Turning | Target::TurningSpace)) {
            Extent::Last(1)
        } else if self.all || self.each {
            Extent::All
        } else if self.target.is_some() {
            Extent::Next(1)
        } else {
            return None;
        })
    }
}

/// "in each st and ch-1 sp across" names both kinds at once.
fn merge_spaces(places: &mut Vec<Where>) {
    let mut k = 0;
    while k + 1 < places.len() {
        let (a, b) = (places[k], places[k + 1]);
        let whole = |e: Extent| matches!(e, Extent::All | Extent::AllBut(_));
        let spaces = matches!(b.target, Target::Space(_)) || matches!(a.target, Target::Space(_));
        let open = whole(a.extent) && (whole(b.extent) || b.extent == Extent::Next(1));
        if spaces && open && a.target != b.target {
            let extent = if whole(b.extent) { b.extent } else { a.extent };
            places[k] = Where { extent, target: Target::StitchOrSpace, ..a };
            places.remove(k + 1);
        } else {
            k += 1;
        }
    }
}
