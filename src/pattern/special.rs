//! Idioms of their own kind: places said before the stitch, cables, short rows, dropped wraps, two
//! stitches joined into one place, and the last stitch of a repeat.

use super::reader::Reader;
use super::repeat::is_star;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Loop;
use super::syntax::Op;
use super::syntax::Target;
use super::syntax::Times;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::Found;
use super::vocabulary::macro_at;
use super::vocabulary::stitch_at;

/// Words before the number a designer made of all those possible.
pub(super) const OWN_NUMBER: [&str; 9] =
    ["did", "used", "made", "chained", "sample", "started", "have", "began", "mine"];

impl Reader<'_> {
    /// "In magic ring, work 8 sc", "in next ch-2 sp work (2 dc, ch 2, 2 dc)".
    pub(super) fn place_first(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let magic = (0..5).any(|k| matches!(self.word(k), "magic" | "mr" | "adjustable"));
        let places = self.places();
        let [place] = places.as_slice() else {
            self.i = start;
            return false;
        };
        let single = match place.extent {
            Extent::Next(n) | Extent::First(n) | Extent::Last(n) => n == 1,
            Extent::Same | Extent::FromHook(_) => true,
            _ => place.target == Target::Ring,
        };
        let comma = usize::from(self.stop_at(0, ',') || self.stop_at(0, ':'));
        let verb = self.skip_words(comma, &["work", "make", "place"]);
        let told = verb > comma;
        let ring_chain = place.target == Target::Ring && matches!(self.word(verb), "ch" | "chain");
        let opens = self.at(verb).is_some_and(|t| t.kind == Kind::Open);
        let works = opens
            || ring_chain
            || self.at(verb).is_some_and(|t| t.number().is_some())
            || stitch_at(self.cx, self.t, self.i + verb).is_some();
        let hooked = matches!(place.extent, Extent::FromHook(_));
        let led = told || place.target == Target::Ring || hooked;
        if !single || !works || !(told || comma > 0) || !led {
            self.i = start;
            return false;
        }
        self.i += verb;
        let ring = place.target == Target::Ring && !opens;
        let clause = if ring { self.ring_end() } else { self.clause_end(opens) };
        let end = std::mem::replace(&mut self.end, clause);
        let inner = self.ops();
        self.end = end;
        let of_place = |op: &Op| {
            matches!(&op.act, Do::Work { .. } | Do::Chain { .. } | Do::Repeat(_) | Do::OnePlace(..))
        };
        if inner.is_empty() || !inner.iter().all(of_place) {
            self.i = start;
            return false;
        }
        let place = *place;
        let mut inner = inner;
        if let (Extent::FromHook(_), [Op { act: Do::Work { each, place: own, .. }, .. }]) =
            (place.extent, inner.as_mut_slice())
            && let Extent::Bare(n) = own.extent
        {
            // "In the 3rd ch from the hook: 1 hdc."
            (*each, *own) = ((*each).max(n), place);
            ops.append(&mut inner);
            return true;
        }
        if magic && place.target == Target::Ring {
            self.push(ops, Do::MagicRing, start);
        }
        if matches!(inner[0].act, Do::Chain { links, .. } if links > 1) {
            ops.push(inner.remove(0));
        }
        self.push(ops, Do::OnePlace(inner, place), start);
        true
    }

    /// One past the words that go into a ring said first: to the end of the sentence.
    fn ring_end(&self) -> usize {
        let stop = |k: usize| {
            matches!(self.t[k].kind, Kind::Stop('.' | ';' | '\n'))
                || self.t[k].any(&["join", "turn", "do", "sl"])
        };
        (self.i..self.end).find(|&k| stop(k)).unwrap_or(self.end)
    }

    /// One past the clause at the cursor: its bracket, or the words up to a separator.
    fn clause_end(&self, bracket: bool) -> usize {
        if bracket && let Some(close) = self.closing() {
            return close + 1;
        }
        self.clause_from(self.i)
    }

    /// One past the words from token `from` up to a separator.
    pub(super) fn clause_from(&self, from: usize) -> usize {
        let stop = |t: &Token<'_>| matches!(t.kind, Kind::Stop(_) | Kind::Open) || is_star(t);
        (from..self.end).find(|&k| stop(&self.t[k]) && !self.abbreviates(k)).unwrap_or(self.end)
    }

    /// The full stop at `k` belongs to an abbreviation: "d.c.", "s.s.".
    pub(super) fn abbreviates(&self, k: usize) -> bool {
        let dot = |k: usize| self.t.get(k).is_some_and(|t| t.kind == Kind::Stop('.'));
        let letter =
            |k: usize| self.t.get(k).is_some_and(|t| t.kind == Kind::Word && t.text.len() < 3);
        let before = k > 1 && letter(k - 1) && dot(k - 2);
        let after = letter(k + 1) && dot(k + 2) && self.t[k + 1].glued;
        // "1 tr. into next ch.": the sentence goes on.
        const SHORT: [&str; 9] = ["tr", "htr", "dtr", "dc", "sc", "hdc", "ch", "st", "sp"];
        const ON: [&str; 6] = ["in", "into", "of", "from", "on", "over"];
        let goes_on =
            k > 0 && self.t[k - 1].any(&SHORT) && self.t.get(k + 1).is_some_and(|t| t.any(&ON));
        dot(k) && self.t[k].glued && (before || after || goes_on)
    }

    /// "2 dc and 1 tr in last st", "(dc, ch 1) ..." without brackets: both go into the one place.
    pub(super) fn joins_place(
        &mut self,
        ops: &mut Vec<Op>,
        act: Act,
        each: u32,
        places: &[Where],
        start: usize,
    ) -> bool {
        let [place] = places else { return false };
        let single = match place.extent {
            Extent::Last(1) | Extent::First(1) | Extent::Same => true,
            Extent::Next(1) => {
                matches!(place.target, Target::Space(_) | Target::Turning | Target::TurningSpace)
            }
            _ => false,
        };
        let joined = start.checked_sub(1).is_some_and(|k| self.t[k].is("and"));
        let post = matches!(act, Act::Post(..));
        if !single || !joined || !post || self.depth > 0 {
            return false;
        }
        let Some(Do::Work { act: Act::Post(..), place: before, .. }) = ops.last().map(|op| &op.act)
        else {
            return false;
        };
        let Extent::Bare(n) = before.extent else { return false };
        let (first, span) = (ops.pop(), self.since(start));
        let Some(Op { act: Do::Work { act: lead, .. }, span: lead_span }) = first else {
            return false;
        };
        let inside = |act, n, span| Op {
            act: Do::Work { act, each: 1, place: Where::of(Extent::Bare(n)) },
            span,
        };
        let inner = vec![inside(lead, n, lead_span), inside(act, each, span)];
        ops.push(Op { act: Do::OnePlace(inner, *place), span: lead_span.to(span) });
        true
    }

    /// "Ch any even number (I did 80, plus 2 for turning)": the number the designer made.
    pub(super) fn open_number(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let lead = self.skip_words(0, &["ch", "chain", "a", "an", "any", "odd", "even"]);
        if !matches!(self.word(lead), "multiple" | "multiples" | "number") {
            return false;
        }
        let mut own: Option<u32> = None;
        while let Some(token) = self.at(0).filter(|t| !matches!(t.kind, Kind::Stop('.' | '\n'))) {
            let next = self.at(1 + self.skip_words(1, &["a", "with", "of", "on", "about"]) - 1);
            let number = next.and_then(|t| t.number());
            let plus = token.is("plus") || token.kind == Kind::Other('+');
            let result = token.any(&["so", "total"]) || token.kind == Kind::Other('=');
            own = match (own, number) {
                (Some(n), Some(more)) if plus => Some(n.saturating_add(more)),
                (Some(_), Some(n)) if result => Some(n),
                (_, Some(n)) if token.any(&OWN_NUMBER) => Some(n),
                _ => own,
            };
            self.i += 1;
        }
        if let Some(n) = own {
            self.push(ops, Do::Chain { links: n, counts: None }, start);
        }
        true
    }

    /// "Starting in 2nd ch from hook, hdc in each ch across": the first stitch stands there.
    pub(super) fn starts_in_chain(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        self.i += 1 + usize::from(self.word(1) == "with");
        let places = self.places();
        let hook = matches!(places.as_slice(), [p] if matches!(p.extent, Extent::FromHook(_)));
        let before = ops.len();
        if let Some(close) = self.closing().filter(|_| hook) {
            // "(the skipped chs count as a st)"
            self.statement(ops, close);
        }
        self.i += usize::from(self.stop_at(0, ','));
        let lead = self.skip_words(0, &["and", "then", "work", "make"]);
        let one = self.count_at(lead).map_or(0, |(n, used)| if n == 1 { used } else { 0 });
        let found = stitch_at(self.cx, self.t, self.i + lead + one).filter(|_| hook);
        let Some(found) = found else {
            ops.truncate(before);
            self.i = start;
            return false;
        };
        self.i += lead;
        self.push(ops, Do::Work { act: found.act, each: 1, place: places[0] }, start);
        true
    }

    /// "Work 1 rnd of reverse sc": the stitch all the way.
    pub(super) fn whole_round(&mut self, ops: &mut Vec<Op>, used: usize) -> bool {
        if !matches!(self.word(used), "rnd" | "round" | "row") {
            return false;
        }
        let lead = used + 1 + usize::from(self.word(used + 1) == "of");
        let Some(found) = stitch_at(self.cx, self.t, self.i + lead) else { return false };
        let (start, before) = (self.i, ops.len());
        self.i += lead;
        self.stitch(ops, found, None, start);
        if let [Op { act: Do::Work { place, .. }, .. }] = &mut ops[before..]
            && place.extent == Extent::Bare(1)
        {
            place.extent = Extent::All;
        }
        true
    }

    /// "Sc in each dc and dc in each sc across": what each stitch is worked as depends on its kind.
    pub(super) fn by_kind(&self, ops: &mut [Op], act: Act, places: &[Where], start: usize) -> bool {
        let joined =
            start.checked_sub(1).is_some_and(|k| self.t[k].is("and") || self.t[k].is_stop());
        let [Where { extent: Extent::All, target: Target::Post(on), .. }] = places else {
            return false;
        };
        let Some(last) = ops.last_mut().filter(|_| joined) else { return false };
        match &mut last.act {
            Do::Work {
                act: first,
                each: 1,
                place: Where { extent: Extent::All, target: Target::Post(under), .. },
            } if under != on && *first != act => {
                let kinds = vec![(*under, *first), (*on, act)];
                last.act = Do::ByKind(kinds);
                true
            }
            Do::ByKind(kinds) if kinds.iter().all(|k| k.0 != *on) => {
                kinds.push((*on, act));
                true
            }
            _ => false,
        }
    }

    /// "1 dc in each dc and 1 dc in each ch-sp to end": both kinds as they come.
    pub(super) fn both_kinds(
        &self,
        ops: &mut [Op],
        act: Act,
        places: &[Where],
        start: usize,
    ) -> bool {
        let joined = start.checked_sub(1).is_some_and(|k| self.t[k].is("and"));
        let [place] = places else { return false };
        let whole = |e: Extent| matches!(e, Extent::All | Extent::AllBut(_));
        let chains = matches!(place.target, Target::Space(_) | Target::Chain);
        if !joined || !whole(place.extent) || !chains {
            return false;
        }
        match ops.last_mut().map(|op| &mut op.act) {
            Some(Do::Work { act: before, place: first, .. })
                if *before == act
                    && first.extent == Extent::All
                    && matches!(first.target, Target::Any | Target::Post(_)) =>
            {
                *first = Where { target: Target::StitchOrSpace, ..*place };
                true
            }
            _ => false,
        }
    }

    /// "3 dc, ch 2, 3 dc all in next sp": the whole run before it goes into the one place.
    pub(super) fn all_in_place(
        &mut self,
        ops: &mut Vec<Op>,
        act: Act,
        n: u32,
        places: &[Where],
        start: usize,
    ) -> bool {
        let [place] = places else { return false };
        let inside = |op: &Op| match &op.act {
            Do::Work { place, .. } => matches!(place.extent, Extent::Bare(_)),
            Do::Chain { counts, .. } => counts.is_none(),
            _ => false,
        };
        let mut from = ops.iter().rposition(|op| !inside(op)).map_or(0, |k| k + 1);
        from += ops[from..].iter().take_while(|op| matches!(op.act, Do::Chain { .. })).count();
        if from >= ops.len() {
            return false;
        }
        let mut inner = ops.split_off(from);
        let span = inner[0].span.to(self.since(start));
        let place_here = Where::of(Extent::Bare(n));
        let work = Do::Work { act, each: 1, place: place_here };
        inner.push(Op { act: work, span: self.since(start) });
        ops.push(Op { act: Do::OnePlace(inner, *place), span });
        true
    }

    /// "w&t", "wrap and turn": a short row ends here.
    pub(super) fn wraps_and_turns(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let len = self.match_at(
            0,
            &[&["w", "&", "t"], &["wrap", "and", "turn"], &["wrap", "&", "turn"], &["wt"]],
        );
        let next = ["next", "st", "stitch", "and", "turn", "the"];
        let len = len.or_else(|| {
            let k = self.skip_words(1, &next);
            (self.word(0) == "wrap" && k > 1 && self.word(k - 1) == "turn").then_some(k)
        });
        let Some(len) = len else { return false };
        self.i += len;
        self.push(ops, Do::Turn, start);
        true
    }

    /// "slip next 3 sts to cn and hold in front, k3, k3 from cn".
    pub(super) fn held_cable(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let needle = |k: usize| self.word(k) == "cn" || self.word(k) == "cable";
        let Some(first) = (1..12).find(|&k| needle(k)) else { return false };
        let number = |from: usize, to: usize| {
            (from..to).find_map(|k| self.count_at(k).map(|(n, _)| n)).filter(|&n| n < 40)
        };
        let Some(held) = number(1, first) else { return false };
        let Some(last) = (first + 2..first + 28).find(|&k| needle(k)) else { return false };
        let over = number(first + 1, last).unwrap_or(held);
        self.i += last + 1 + usize::from(self.word(last + 1) == "needle");
        let act = Act::Cable(held as u8, over as u8);
        self.push(ops, Do::Work { act, each: 1, place: Where::of(Extent::Bare(1)) }, start);
        true
    }

    /// "knit the knit sts and purl the purl sts (as they face)", "work sts as they appear".
    pub(super) fn as_they_face(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        let knits = |k: usize| matches!(self.word(k), "k" | "knit" | "knits");
        let purls = |k: usize| matches!(self.word(k), "p" | "purl" | "purls");
        let filler = ["the", "all", "sts", "st", "stitches", "and", "&", "as", "they"];
        let second = self.skip_words(1, &["the", "all"]);
        let kinds = (knits(0) && knits(second) || purls(0) && purls(second)) && second > 1
            || (knits(0) && knits(1) || purls(0) && purls(1));
        let appear = (1..8).find(|&k| {
            matches!(self.word(k), "appear" | "face" | "present" | "set" | "established")
        });
        let works = self.word(0) == "work" && appear.is_some_and(|k| self.word(k - 1) != "in");
        let as_said = works && (1..4).any(|k| matches!(self.word(k), "sts" | "stitches"));
        let bare = matches!(self.word(0), "sts" | "stitches")
            && self.word(1) == "as"
            && appear.is_some_and(|k| k < 5);
        if !(kinds || as_said || bare) {
            return false;
        }
        self.i += 1;
        let words = ["k", "knit", "knits", "p", "purl", "purls", "appear", "face", "present"];
        while self.at(0).is_some_and(|t| {
            t.any(&filler)
                || t.any(&words)
                || t.kind == Kind::Other('&')
                || t.any(&["you", "set", "to", "them", "across"])
        }) && !(self.word(0) == "to" && matches!(self.word(1), "last" | "marker" | "m"))
        {
            self.i += 1;
        }
        let extent = match self.times() {
            Some(Times::ToLast(n)) => Extent::AllBut(n),
            Some(Times::ToMarker(n)) => Extent::ToMarker(n),
            _ => Extent::All,
        };
        let place = Where::of(extent);
        self.push(ops, Do::Work { act: Act::AsFaces, each: 1, place }, start);
        true
    }

    /// "BLO sc 80": the loop said before the stitch holds for the row.
    pub(super) fn loop_first(&mut self) -> bool {
        if stitch_at(self.cx, self.t, self.i + 1).is_none()
            && self.at(1).is_none_or(|t| t.number().is_none())
        {
            return false;
        }
        self.standing = if self.word(0) == "blo" { Loop::Back } else { Loop::Front };
        self.i += 1;
        true
    }

    /// "dropping all yos", "let the extra wraps drop": the yarn-overs of the row below are let go.
    pub(super) fn drops(&mut self, ops: &mut Vec<Op>) -> bool {
        const WRAPS: [&str; 9] =
            ["yo", "yos", "overs", "wraps", "wrap", "loops", "over", "yarnovers", "yarnover"];
        let start = self.i;
        let k = self.skip_words(1, &["all", "the", "both", "extra", "off", "each", "of", "yarn"]);
        if !WRAPS.contains(&self.word(k)) {
            return false;
        }
        let lets = matches!(self.word(0), "let" | "letting");
        let dropped = (k..k + 6).any(|j| matches!(self.word(j), "drop" | "go" | "fall"));
        if lets && !dropped {
            return false;
        }
        self.i += k + 1;
        if self.at(0).is_some_and(|t| matches!(t.kind, Kind::Other('\'' | '’'))) {
            self.i += 1 + usize::from(self.word(1) == "s");
        }
        while self.at(0).is_some_and(|t| t.kind == Kind::Word)
            && !matches!(self.word(0), "turn" | "and")
        {
            self.i += 1;
        }
        self.push(ops, Do::DropWraps, start);
        true
    }

    /// "k1 wrapping yarn twice round needle": a long loop, once its wraps are dropped.
    pub(super) fn pass_wraps(&mut self) -> bool {
        let comma = usize::from(self.stop_at(0, ','));
        if !matches!(self.word(comma), "wrapping" | "winding") {
            return false;
        }
        self.i += comma;
        while self.at(0).is_some_and(|t| t.kind == Kind::Word || t.number().is_some())
            && !matches!(self.word(0), "to" | "across" | "in" | "for")
        {
            self.i += 1;
        }
        true
    }

    /// "of the next stitch" after a stitch whose name says how many come out of one.
    pub(super) fn pass_of_stitch(&mut self) {
        if self.word(0) == "of" {
            self.i += self.skip_words(
                0,
                &["of", "the", "next", "first", "last", "same", "st", "stitch", "each"],
            );
        } else if matches!(self.word(0), "next" | "first") && !self.word(1).is_empty() {
            let k = self.skip_words(0, &["next", "first"]);
            if matches!(self.word(k), "st" | "stitch") {
                self.i += k + 1;
            }
        }
    }

    /// "to last shell": what follows says how many stitches that is.
    pub(super) fn pass_group_noun(&mut self) -> bool {
        let named = macro_at(self.cx, self.t, self.i).map(|f| f.len);
        let word = matches!(
            self.word(0),
            "shell"
                | "shells"
                | "group"
                | "groups"
                | "block"
                | "blocks"
                | "fan"
                | "cluster"
                | "box"
                | "tile"
                | "square"
        );
        const SPACES: [&str; 11] = [
            "sp", "sps", "space", "spaces", "loop", "loops", "lp", "lps", "arch", "arches", "mesh",
        ];
        let space = (self.word(0) == "ch" || SPACES.contains(&self.word(0)))
            && !(self.word(0) == "ch" && self.at(1).is_none_or(|t| t.kind != Kind::Dash));
        let Some(len) = named.or(word.then_some(1)).or(space.then_some(0)) else { return false };
        self.i += len;
        if space {
            let dash = usize::from(self.at(1).is_some_and(|t| t.kind == Kind::Dash));
            let number = usize::from(self.at(1 + dash).is_some_and(|t| t.number().is_some()));
            let chain = if self.word(0) == "ch" { 1 + dash + number } else { 0 };
            self.i += chain;
            self.i += self.skip_words(0, &SPACES);
        }
        true
    }
}

/// `C6F`, `C4B`, `3/3 LC`, `2/1 RPC`.
pub(super) fn cable_at(t: &[Token<'_>], i: usize) -> Option<Found> {
    let token = t.get(i)?;
    if token.is("c")
        && let Some(n) = t.get(i + 1).filter(|t| t.glued).and_then(|t| t.number())
        && t.get(i + 2).is_some_and(|t| t.glued && t.any(&["f", "b", "l", "r"]))
        && (2..40).contains(&n)
    {
        let held = (n / 2) as u8;
        return Some(Found { act: Act::Cable(held, n as u8 - held), len: 3, each: 1 });
    }
    let (a, b) = (token.number()?, t.get(i + 2).and_then(|t| t.number())?);
    t.get(i + 1).filter(|t| t.kind == Kind::Other('/'))?;
    t.get(i + 3).filter(|t| t.any(&["lc", "rc", "lpc", "rpc", "lt", "rt"]))?;
    let fits = (1..20).contains(&a) && (1..20).contains(&b);
    fits.then_some(Found { act: Act::Cable(a as u8, b as u8), len: 4, each: 1 })
}

/// "over, narrow": the old name of a yarn over stands alone between separators.
pub(super) fn old_over(t: &[Token<'_>], i: usize) -> bool {
    let apart = |t: Option<&Token<'_>>| {
        t.is_none_or(|t| matches!(t.kind, Kind::Stop(_) | Kind::Star(_) | Kind::Open | Kind::Close))
    };
    apart(i.checked_sub(1).and_then(|k| t.get(k)))
        && (apart(t.get(i + 1)) || t.get(i + 1).is_some_and(|t| t.any(&["twice"])))
}

/// "along the opposite side of foundation ch", "in free loops of beginning chain": its tokens. In a row that begins
/// `on_chain`, "working along the other side" speaks of the chain as well.
pub(super) fn other_side(t: &[Token<'_>], on_chain: bool) -> Option<usize> {
    const LEAD: [&str; 12] = [
        "on", "in", "into", "along", "across", "working", "work", "now", "the", "from", "to",
        "back",
    ];
    let lead = t.iter().take_while(|t| t.any(&LEAD)).count();
    let mut k = lead;
    let side = t.get(k)?.any(&["opposite", "other"]) && t.get(k + 1)?.any(&["side", "edge"]);
    let free = t[k].any(&["free", "unused", "remaining"]) && t.get(k + 1)?.any(&["loops", "lps"]);
    if !(side || free) {
        return None;
    }
    k += 2;
    let chain = ["ch", "chain", "foundation"];
    let of = ["of", "the", "beg", "beginning", "starting", "base", "original", "your", "first"];
    let of = k + t[k..].iter().take_while(|t| t.any(&of)).count();
    let end = of + t[of..].iter().take_while(|t| t.any(&chain) || t.any(&["row"])).count();
    let alone = side && on_chain && t[..lead].iter().any(|t| t.any(&["working", "work", "along"]));
    if end > of { Some(end) } else { alone.then_some(k) }
}
