//! Instructions that are not stitches: chains, skips, turns, joins, colours, binding off; and the
//! notes between them: statements, tags and counts.

use super::reader::Reader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Loop;
use super::syntax::Op;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::height_at;
use super::vocabulary::stitch_at;
use crate::pattern::header::CraftWord;

impl Reader<'_> {
    /// An idiom of several words at the cursor.
    fn idiom(&mut self, ops: &mut Vec<Op>) -> bool {
        let knit = self.cx.craft == CraftWord::Knit;
        let on_chain = self.t[..self.i].iter().any(|t| t.is("hook"));
        if !knit && let Some(len) = super::special::other_side(&self.t[self.i..self.end], on_chain)
        {
            let start = self.i;
            self.i += len;
            self.push(ops, Do::OtherSide, start);
            return true;
        }
        if self.strands(ops)
            || self.omits(ops)
            || self.called_row(ops)
            || self.chart_within(ops)
            || knit && self.fabric_stretch(ops)
            || knit
                && (ops.is_empty() && self.yarn_to_side()
                    || self.double_stitch(ops)
                    || self.pulled_double(ops))
        {
            return true;
        }
        match self.word(0) {
            "w" | "wrap" | "wt" => self.wraps_and_turns(ops),
            "seed" | "moss" if knit => self.seed(ops),
            "work" if knit && self.so_many_in(ops) => true,
            "in" | "into" => self.place_first(ops),
            "starting" | "beginning" | "begin" | "start" => self.starts_in_chain(ops),
            "slip" | "sl" if knit => self.held_cable(ops),
            "k" | "knit" | "p" | "purl" | "work" | "sts" | "stitches" if knit => {
                self.as_they_face(ops)
            }
            "drop" | "dropping" | "letting" | "let" => self.drops(ops),
            "wrapping" | "winding" if knit => self.pass_wraps(),
            "pick" | "picking" | "hide" | "hiding" | "working" if knit && self.names_wraps() => {
                self.pass_clause()
            }
            "remove" | "undo" | "unzip" | "unravel" | "release" | "unpick" => self.frees(ops),
            "turn" | "rotate" | "turning" | "rotating" => self.rotates(),
            "blo" | "flo" => self.loop_first(),
            _ => false,
        }
    }

    /// "Seed 5": so many in seed stitch, knit first.
    fn seed(&mut self, ops: &mut Vec<Op>) -> bool {
        let n = self.at(1).and_then(|t| t.number()).filter(|n| (1..200).contains(n));
        let rows = matches!(self.word(2), "rows" | "row" | "rnds" | "rounds" | "times");
        let Some(n) = n.filter(|_| !rows) else { return false };
        let start = self.i;
        self.i += 2;
        self.skip_noun();
        for k in 0..n {
            let act = Act::Knit { purl: k % 2 == 1, twisted: false };
            self.push(ops, Do::Work { act, each: 1, place: Where::next(1) }, start);
        }
        true
    }

    /// "Work 5 sts in seed st", "work next 8 sts in pattern".
    fn so_many_in(&mut self, ops: &mut Vec<Op>) -> bool {
        let lead = self.skip_words(1, &["the", "next", "first", "last"]);
        let Some(n) = self.at(lead).and_then(|t| t.number()).filter(|n| (1..200).contains(n))
        else {
            return false;
        };
        let noun = self.skip_words(lead + 1, &["st", "sts", "stitches"]);
        if noun == lead + 1 || self.word(noun) != "in" {
            return false;
        }
        let fabric = self.skip_words(noun + 1, &["the", "est", "established"]);
        let act = match self.word(fabric) {
            "seed" | "moss" => None,
            "garter" => Some(Act::Knit { purl: false, twisted: false }),
            "pattern" | "pat" | "patt" | "rib" | "ribbing" | "st" | "stocking" | "stockinette" => {
                Some(Act::AsFaces)
            }
            _ => return false,
        };
        let start = self.i;
        self.i += self.skip_words(fabric + 1, &["st", "stitch", "as", "established", "set"]);
        for k in 0..n {
            let act = act.unwrap_or(Act::Knit { purl: k % 2 == 1, twisted: false });
            self.push(ops, Do::Work { act, each: 1, place: Where::next(1) }, start);
        }
        true
    }

    /// An instruction that is no stitch, at the cursor.
    pub(super) fn keyword(&mut self, ops: &mut Vec<Op>) -> bool {
        let start = self.i;
        if self.colour_label(ops) || self.idiom(ops) {
            return true;
        }
        let knit = self.cx.craft == CraftWord::Knit;
        match self.word(0) {
            "ch" | "chs" | "chain" | "chains" | "chained" | "chaining" => {
                self.make_chain(ops, start)
            }
            "sk" | "skip" | "miss" | "skipping" | "missing" if !self.knit_skip() => {
                self.skip(ops, start)
            }
            "turn" | "turning" if self.word(1) != "ch" && self.word(1) != "chain" => {
                self.simple(ops, Do::Turn, 1)
            }
            "do" if self.word(1) == "not" && self.word(2) == "turn" => {
                self.simple(ops, Do::NoTurn, 3)
            }
            "don" if self.at(3).is_some_and(|t| t.is("turn")) => self.simple(ops, Do::NoTurn, 4),
            "do" if self.word(1) == "not" && self.word(2) == "join" => {
                self.i += 3;
                true
            }
            "without" if self.word(1) == "joining" => {
                self.i += 2;
                true
            }
            "do" if self.word(1) == "not" && !self.word(2).is_empty() => self.pass_clause(),
            "without" if self.word(1) == "turning" => self.simple(ops, Do::NoTurn, 2),
            "join" | "joining" | "connect" => self.join(ops, start),
            "form" if matches!(self.word(1), "ring" | "a") => self.forms_ring(ops, start),
            "fasten" | "finish" | "tie" | "end" if self.word(1) == "off" => {
                let colour = self.colour_name(2).map_or(0, |(_, len)| len);
                self.simple(ops, Do::FastenOff, 2 + colour)
            }
            "fo" => self.simple(ops, Do::FastenOff, 1),
            "break" | "cut" => self.cut_yarn(ops),
            "bind" | "cast" if self.word(1) == "off" => self.bind_off(ops, 2, start),
            "picot" if knit && matches!(self.word(1), "bind" | "cast" | "bo") => {
                self.i += 1;
                true
            }
            "bo" if knit => self.bind_off(ops, 1, start),
            "cast" if self.word(1) == "on" => self.cast_on(ops, 2, start),
            "co" if knit => self.cast_on(ops, 1, start),
            "pm" => self.simple(ops, Do::Marker, 1),
            "place" if self.word(1) == "a" && matches!(self.word(2), "marker" | "m") => {
                self.simple(ops, Do::Marker, 3)
            }
            "move" if (1..5).any(|k| matches!(self.word(k), "it" | "marker" | "up")) => {
                self.pass_clause()
            }
            "place" if matches!(self.word(1), "marker" | "a" | "m" | "markers") => {
                self.simple(ops, Do::Marker, 2)
            }
            "drop" if self.colour_name(1).is_some() => self.pass_clause(),
            "working" if self.word(1) == "from" && matches!(self.word(2), "left" | "right") => {
                self.pass_clause()
            }
            // "Working over ch-1 sp, dc in skipped st below": past which strand.
            "working" if self.past_space() => self.pass_clause(),
            "slipping" if (1..4).any(|k| matches!(self.word(k), "marker" | "markers")) => {
                self.pass_clause()
            }
            "sm" | "slm" => self.simple(ops, Do::SlipMarker, 1),
            "slip" if matches!(self.word(1), "marker" | "m") => self.simple(ops, Do::SlipMarker, 2),
            "mr" | "mc" if !knit && self.magic() > 0 => self.simple(ops, Do::MagicRing, 1),
            "magic" | "adjustable" if matches!(self.word(1), "ring" | "circle" | "loop") => {
                self.simple(ops, Do::MagicRing, 2)
            }
            "any" | "an" | "even" | "odd" | "multiple" | "multiples" | "a" if !knit => {
                self.open_number(ops)
            }
            "leave" | "leaving" if (1..8).any(|k| self.word(k) == "tail") => self.pass_clause(),
            "leave" | "leaving" => self.leave(ops, start),
            "pick" | "picking" if self.word(1) == "up" => self.pick_up(ops, start),
            "pu" if self.cx.craft == CraftWord::Knit => self.pick_up(ops, start),
            "with" | "using" | "change" | "switch" | "changing" | "colour" | "color" | "attach"
            | "in" | "yarn" => self.colour(ops, start),
            "working" | "work" | "worked" if self.stands() => true,
            "counts" | "count" | "counting" => self.loose_statement(ops),
            "does" | "not" => self.loose_statement(ops),
            "all" if matches!(self.word(1), "in" | "into") => self.all_in_ring(),
            "sew" | "weave" | "darn" => self.pass_clause(),
            "slip" if self.word(1) == "knot" => self.pass_slip_knot(),
            "block"
                if matches!(
                    self.word(1),
                    "lightly" | "gently" | "to" | "if" | "as" | "firmly" | "hard" | "well" | "it"
                ) =>
            {
                self.pass_clause()
            }
            "pull" if matches!(self.word(1), "loop" | "ring" | "tail" | "tight" | "closed") => {
                self.pass_clause()
            }
            _ => false,
        }
    }

    /// "working over ch-1 sp", "working in front of ch-3": a clause of its own that names a strand and no work.
    fn past_space(&self) -> bool {
        let over = matches!(self.word(1), "over" | "around" | "behind" | "enclosing")
            || matches!(self.word(1), "in") && matches!(self.word(2), "front" | "back");
        let clause = (1..10).take_while(|&k| self.at(k).is_some_and(|t| !t.is_stop()));
        let mut words = clause.filter(|&k| matches!(self.word(k), "ch" | "chain" | "sp" | "space"));
        let ends = (1..10).any(|k| self.stop_at(k, ','));
        over && ends && words.next().is_some()
    }

    /// "picking up wraps": the stitches of short rows are closed by the row that works them, told or not.
    fn names_wraps(&self) -> bool {
        let clause = (1..6).take_while(|&k| self.at(k).is_some_and(|t| !t.is_stop()));
        clause.into_iter().any(|k| matches!(self.word(k), "wrap" | "wraps"))
    }

    /// "Make a slip knot and chain 4": what every chain begins with.
    fn pass_slip_knot(&mut self) -> bool {
        self.i += 2 + usize::from(self.word(2) == "and");
        true
    }

    /// Passes the words up to the next comma or full stop.
    fn pass_clause(&mut self) -> bool {
        while self
            .at(0)
            .is_some_and(|t| matches!(t.kind, Kind::Word | Kind::Number(_) | Kind::Dash))
        {
            self.i += 1;
        }
        true
    }

    fn simple(&mut self, ops: &mut Vec<Op>, act: Do, len: usize) -> bool {
        let start = self.i;
        self.i += len;
        self.push(ops, act, start);
        true
    }

    /// "working in back loops only" holds for the rest of the row.
    fn stands(&mut self) -> bool {
        let start = self.i;
        self.i += 1;
        let loops = self.loops();
        if loops == Loop::Unsaid
            || !matches!(self.at(0).map(|t| t.kind), None | Some(Kind::Stop(_)))
        {
            self.i = start;
            return false;
        }
        self.standing = loops;
        true
    }

    /// `sk2p` is a knit decrease, not a skip.
    fn knit_skip(&self) -> bool {
        self.cx.craft == CraftWord::Knit && stitch_at(self.cx, self.t, self.i).is_some()
    }

    fn magic(&self) -> usize {
        usize::from(
            self.word(0) == "mr"
                || self.at(0).is_some_and(|t| self.text.get(t.span.range()) == Some("mc")),
        )
    }

    fn skip(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        self.i += 1;
        // "Skip [first dc and ch 1]"
        let bracket = self.closing();
        self.i += usize::from(bracket.is_some());
        let places = self.skip_places();
        if let Some(close) = bracket {
            // "first dc and ch 1": the chain is the space beside it.
            self.i = close + 1;
        }
        if self.word(0) == "behind"
            && ops.last().is_some_and(|op| matches!(op.act, Do::Work { .. }))
        {
            self.pass_behind();
            return true;
        }
        if places.is_empty() {
            self.push(ops, Do::Skip(Where::next(1)), start);
        }
        for place in places {
            self.push(ops, Do::Skip(place), start);
        }
        true
    }

    /// "Skip st behind the FPdc": the stitch that the one on its front took the place of, whether told or not.
    fn pass_behind(&mut self) {
        self.i += 1;
        self.i += self.skip_words(0, &["the", "this", "that", "each", "same", "post"]);
        self.i += match stitch_at(self.cx, self.t, self.i) {
            Some(found) => found.len,
            None => self.skip_words(0, &["it", "st", "sts", "stitch", "stitches", "post"]),
        };
    }

    /// What is skipped: a phrase without a preposition ("next 2 sts", "1", "ch-1 sp", "first dc and ch-1 sp").
    fn skip_places(&mut self) -> Vec<Where> {
        let mut places = Vec::new();
        while let Some(place) = self.bare_phrase() {
            places.push(place);
            let and = self.word(0) == "and" && !matches!(self.word(1), "work" | "turn");
            let more = and && matches!(self.word(1), "next" | "ch" | "sp" | "the");
            if !more {
                break;
            }
            self.i += 1;
        }
        places
    }

    fn cut_yarn(&mut self, ops: &[Op]) -> bool {
        self.i += 1;
        if self.colour_name(0).is_some() || (self.word(0) == "yarn" && ops.is_empty()) {
            self.i += 1;
        }
        true
    }

    fn bind_off(&mut self, ops: &mut Vec<Op>, len: usize, start: usize) -> bool {
        self.i += len;
        self.i += self.skip_words(
            0,
            &[
                "loosely",
                "next",
                "the",
                "in",
                "pattern",
                "knitwise",
                "purlwise",
                "kwise",
                "pwise",
                "rem",
                "remaining",
            ],
        );
        let n = self.count_at(0).map(|(n, used)| {
            self.i += used;
            n
        });
        self.i += self.skip_words(
            0,
            &[
                "all",
                "the",
                "rem",
                "remaining",
                "sts",
                "st",
                "stitches",
                "loosely",
                "in",
                "pattern",
                "pat",
                "patt",
                "kwise",
                "knitwise",
                "moss",
                "seed",
                "garter",
                "rib",
                "ribbing",
                "stitch",
                "est",
                "established",
                "evenly",
                "purlwise",
                "your",
                "favourite",
                "favorite",
                "a",
                "very",
                "nice",
                "stretchy",
                "elastic",
                "way",
                "method",
                "of",
                "choice",
            ],
        );
        // "Cast off loosely in C2"
        let led = self.t[self.i - 1].any(&["in", "with", "using"]);
        let here = usize::from(!led && matches!(self.word(0), "with" | "using"));
        if (led || here > 0) && self.colour_name(here).is_some() {
            let from = self.i;
            self.i += here;
            self.take_colour(ops, from);
        }
        let kept = self.keeps_last();
        let told = self.stop_at(0, ':') && self.at(1).is_some();
        if n.is_none() && (told || matches!(self.word(0), "using" | "with" | "by")) {
            // How it is bound off: "BO using a stretchy bind off: K2, *return ...".
            let stops = |t: &Token<'_>| matches!(t.kind, Kind::Stop('.' | '\n'));
            self.i = (self.i..self.end).find(|&k| stops(&self.t[k])).unwrap_or(self.end);
        }
        let act = if kept && n.is_none() { Do::BindOffToOne } else { Do::BindOff(n) };
        self.push(ops, act, start);
        true
    }

    /// "but leave the last loop on the needle", "until one st remains".
    fn keeps_last(&mut self) -> bool {
        let comma =
            usize::from(self.stop_at(0, ',') && matches!(self.word(1), "leave" | "leaving"));
        let lead = self.skip_words(
            comma,
            &["but", "except", "leaving", "leave", "until", "the", "last", "one", "only"],
        );
        let one = self.skip_words(lead, &["for"])
            + usize::from(self.at(lead).is_some_and(|t| t.number() == Some(1)));
        let noun = matches!(self.word(one), "loop" | "st" | "stitch" | "lp");
        if lead == 0 || !noun {
            return false;
        }
        self.i += one + 1;
        self.i += self.skip_words(
            0,
            &[
                "remain", "remains", "left", "live", "on", "the", "your", "needle", "right", "rh",
                "is", "unworked",
            ],
        );
        true
    }

    fn cast_on(&mut self, ops: &mut Vec<Op>, len: usize, start: usize) -> bool {
        self.i += len;
        self.i += usize::from(self.stop_at(0, ':'));
        self.i += self.skip_words(0, &["loosely", "a", "total", "of", "about"]);
        let Some((n, used)) = self.count_at(0) else {
            // "C/O." at the end of the work stands for cast off.
            if self.at(0).is_none_or(|t| t.is_stop()) && len == 1 {
                self.push(ops, Do::BindOff(None), start);
            }
            return true;
        };
        self.i += used;
        self.skip_noun();
        if self.word(0) == "using" {
            while self.at(0).is_some_and(|t| t.kind == Kind::Word || t.kind == Kind::Dash) {
                self.i += 1;
            }
        }
        let beside = |k: usize| {
            let begins = matches!(self.word(k), "beg" | "beginning" | "start" | "end");
            begins && (k..k + 4).any(|j| matches!(self.word(j), "row" | "rnd" | "needle"))
        };
        let more = matches!(self.word(0), "more" | "additional") || (0..5).any(beside);
        // "With A, CO 36 sts; with B, CO 36 sts": one cast-on in parts.
        let more = more || ops.iter().any(|op| matches!(op.act, Do::CastOn(_)));
        self.push(ops, if more { Do::CastOnMore(n) } else { Do::CastOn(n) }, start);
        true
    }

    fn leave(&mut self, ops: &mut Vec<Op>, start: usize) -> bool {
        let skip = self.skip_words(
            1,
            &["rem", "remaining", "the", "rest", "of", "last", "sts", "st", "stitches", "row"],
        );
        let used = self.count_at(skip).map_or(0, |(_, used)| used);
        let k = self
            .skip_words(skip + used, &["sts", "st", "stitches", "sp", "sps", "space", "spaces"]);
        let k = k + height_at(self.cx, self.t, self.i + k).map_or(0, |(_, len)| len);
        if self.word(k) != "unworked" {
            return false;
        }
        self.i += k + 1;
        self.push(ops, Do::LeaveRest, start);
        true
    }

    /// "turn the work 90 degrees (clockwise)": the work is rotated, not turned over.
    fn rotates(&mut self) -> bool {
        let degrees = (1..9)
            .find(|&k| matches!(self.word(k), "degrees" | "degree" | "quarter" | "clockwise"))
            .or_else(|| (1..7).find(|&k| self.at(k).is_some_and(|t| t.kind == Kind::Other('°'))));
        let Some(k) = degrees else { return false };
        if (1..k).any(|j| self.at(j).is_none_or(|t| t.is_stop())) {
            return false;
        }
        self.i += k + 1;
        self.i += self.skip_words(
            0,
            &[
                "turn",
                "clockwise",
                "counterclockwise",
                "anticlockwise",
                "to",
                "the",
                "right",
                "left",
            ],
        );
        true
    }

    /// A bracket with a side or a shape in it.
    pub(super) fn tag(&mut self, close: usize) -> bool {
        const TAGS: [&str; 31] = [
            "half",
            "cluster",
            "fan",
            "block",
            "completed",
            "formed",
            "v",
            "st",
            "stitch",
            "group",
            "picot",
            "bobble",
            "complete",
            "rs",
            "ws",
            "inc",
            "dec",
            "right",
            "wrong",
            "side",
            "facing",
            "made",
            "shell",
            "corner",
            "row",
            "increase",
            "decrease",
            "first",
            "point",
            "see",
            "multiple",
        ];
        let words = &self.t[self.i + 1..close];
        let middle = words.first().is_some_and(|t| t.any(&["center", "centre", "middle"]))
            && words.len() > 1
            && words.iter().all(|t| t.kind == Kind::Word)
            && !self.followed(close);
        // "(the dc at the base of the turning ch-3)", "(the base ch)": which place was meant.
        let base = words.first().is_some_and(|t| t.is("the")) && words.iter().any(|t| t.is("base"));
        let tag = middle
            || base
            || !words.is_empty()
                && words.iter().all(|t| t.any(&TAGS) || t.is_stop() || t.kind == Kind::Dash);
        if tag {
            self.i = close + 1;
        }
        tag
    }
}
