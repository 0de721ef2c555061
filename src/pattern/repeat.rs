//! Repeats inside a row: stars, brackets, "rep from * to last 3 sts", and how often.

use super::reader::DEEPEST;
use super::reader::Mark;
use super::reader::Reader;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Repeat;
use super::syntax::Target;
use super::syntax::Times;
use super::syntax::Where;
use super::token::Kind;

impl Reader<'_> {
    /// Puts `ops[from..to]` into a repeat.
    pub(super) fn wrap(
        &self,
        ops: &mut Vec<Op>,
        from: usize,
        to: usize,
        cut: Option<usize>,
        times: Times,
    ) {
        let to = to.min(ops.len());
        if from >= to {
            return;
        }
        let mut body: Vec<Op> = ops.drain(from..to).collect();
        body.iter_mut().for_each(centre_of_group);
        let span = body[0].span.to(body[body.len() - 1].span);
        let repeat = Repeat { ops: body, cut, times, ending: Vec::new(), within: false };
        ops.insert(from, Op { act: Do::Repeat(Box::new(repeat)), span });
    }

    /// "rep from * ...", "repeat to end": wraps what is repeated. False when no such clause stands here.
    pub(super) fn repeat_clause(&mut self, ops: &mut Vec<Op>, marks: &mut Vec<Mark>) -> bool {
        let start = self.i;
        if !matches!(self.word(0), "rep" | "repeat" | "rpt" | "reps" | "repeating" | "work") {
            return false;
        }
        if self.word(0) == "work" && !(self.word(1) == "from" && self.at(2).is_some_and(is_star)) {
            return false;
        }
        if matches!(self.word(1), "row" | "rows" | "rnd" | "rnds" | "round" | "rounds") {
            return false;
        }
        if self.announces_omission() {
            self.i += 1;
            return true;
        }
        self.i += 1;
        let stars = self.stars_named();
        let times = self.times().unwrap_or(Times::ToEnd);
        let ends_at = self.ending_mark();
        let found = match stars {
            Some(n) => marks
                .iter()
                .rposition(|m| m.stars == n)
                .or_else(|| marks.iter().rposition(|m| m.to.is_none()))
                // "*dc in next 2 sts, FPdc* repeat ** across": what stands between the two stars.
                .or_else(|| marks.iter().rposition(|m| n == 2 && m.stars == 1)),
            None => marks.iter().rposition(|m| m.stars == 1),
        };
        let Some(k) = found else { return self.markless(ops, stars, times, start) };
        let mark = marks[k];
        let cut = ends_at.and_then(|n| {
            marks
                .iter()
                .find(|m| m.stars == n && m.from > mark.from && n != mark.stars)
                .map(|m| m.from - mark.from)
        });
        let cut = cut.filter(|&c| c > 0);
        marks.truncate(k);
        self.wrap(ops, mark.from, mark.to.unwrap_or(ops.len()), cut, times);
        if times == Times::ToEnd {
            self.ending_stitch(ops);
        }
        true
    }

    /// A repeat of no marked part: the last bracket group, or everything since the row began.
    fn markless(
        &mut self,
        ops: &mut Vec<Op>,
        stars: Option<u8>,
        times: Times,
        start: usize,
    ) -> bool {
        if ops.is_empty() {
            self.i = start;
            return false;
        }
        if stars.is_some() {
            self.unread.push(self.since(start));
        }
        if let Some(Do::Repeat(last)) = ops.last_mut().map(|op| &mut op.act)
            && last.times == Times::Total(1)
        {
            last.times = times;
            return true;
        }
        let from = ops
            .iter()
            .position(|op| !matches!(op.act, Do::Chain { .. } | Do::Turn | Do::Colour(_)));
        self.wrap(ops, from.unwrap_or(0), ops.len(), None, times);
        true
    }

    /// The star a clause names: "from *", "between *s", "from * to *".
    fn stars_named(&mut self) -> Option<u8> {
        let mut found = None;
        loop {
            match self.at(0).map(|t| t.kind) {
                Some(Kind::Star(n)) => {
                    found = found.or(Some(n));
                    self.i += 1;
                    if self.word(0) == "s" {
                        self.i += 1;
                    }
                }
                Some(Kind::Word)
                    if matches!(
                        self.word(0),
                        "from" | "bet" | "between" | "first" | "instructions" | "the"
                    ) || (self.word(0) == "to" && self.at(1).is_some_and(is_star))
                        || (self.word(0) == "and" && self.at(1).is_some_and(is_star)) =>
                {
                    self.i += 1;
                }
                Some(Kind::Dash) if found.is_some() && self.at(1).is_some_and(is_star) => {
                    self.i += 1
                }
                Some(Kind::Open) if self.at(1).is_some_and(|t| t.kind == Kind::Close) => {
                    self.i += 2
                }
                Some(Kind::Open) if self.word(1) == "to" || self.at(1).is_some_and(is_star) => {
                    self.i += 1
                }
                Some(Kind::Close) => {
                    if found.is_none() || self.depth > 0 {
                        return found;
                    }
                    self.i += 1;
                }
                _ => return found,
            }
        }
    }

    /// "ending last rep at **" after a repeat.
    fn ending_mark(&mut self) -> Option<u8> {
        let save = self.i;
        while self.stop_at(0, ',')
            || self.stop_at(0, ';')
            || matches!(
                self.word(0),
                "end"
                    | "ending"
                    | "last"
                    | "rep"
                    | "repeat"
                    | "at"
                    | "the"
                    | "and"
                    | "on"
                    | "final"
                    | "finish"
                    | "finishing"
            )
        {
            self.i += 1;
        }
        if self.i > save
            && self.at(0).is_some_and(is_star)
            && let Some(Kind::Star(n)) = self.at(0).map(|t| t.kind)
        {
            self.i += 1;
            return Some(n);
        }
        self.i = save;
        None
    }

    /// How often: "3 more times", "to last 2 sts", "twice", "across".
    pub(super) fn times(&mut self) -> Option<Times> {
        let save = self.i;
        while self.stop_at(0, ',') || matches!(self.word(0), "for" | "a" | "another") {
            self.i += 1;
        }
        if self.word(0) == "total" && self.word(1) == "of" {
            self.i += 2;
            if let Some((n, used)) = self.plain_times(0).or_else(|| self.count_at(0)) {
                self.i += used;
                return Some(Times::Total(n));
            }
        }
        if let Some((n, used)) = self.plain_times(0) {
            self.i += used;
            return Some(self.more_or_total(n));
        }
        if let Some(place) = self.phrase_extent() {
            match place {
                Extent::All => return Some(Times::ToEnd),
                Extent::AllBut(n) => return Some(Times::ToLast(n)),
                Extent::ToMarker(n) => return Some(Times::ToMarker(n)),
                Extent::ToCentre(n) => return Some(Times::ToCentre(n)),
                Extent::ShortOfSpace(n) => return Some(Times::ToSpace(n)),
                _ => {}
            }
        }
        self.i = save;
        while self.stop_at(0, ',') {
            self.i += 1;
        }
        self.i += self.skip_words(0, &["across", "along"]);
        if matches!(self.word(0), "to" | "until") && self.stretch_before() {
            return Some(Times::ToEnd);
        }
        self.i = save;
        None
    }

    /// "to ch-2 sp", "to corner": what follows says where the repeat stops.
    fn stretch_before(&mut self) -> bool {
        self.i += 1;
        let centre = self.skip_words(0, &["the"]);
        if matches!(self.word(centre), "centre" | "center" | "middle" | "point" | "spine")
            && self.at(centre + 1).is_none_or(|t| t.is_stop())
        {
            self.i += centre + 1;
            return true;
        }
        const WHICH: [&str; 8] =
            ["the", "centre", "center", "middle", "next", "point", "you", "reach"];
        self.i += self.skip_words(0, &WHICH);
        let place = self.bare_phrase();
        matches!(place, Some(place)
            if matches!((place.extent, place.target),
                (Extent::Next(1) | Extent::First(1), Target::Space(_) | Target::Corner | Target::Group(_))
                | (Extent::Last(1), Target::Turning)))
    }

    fn phrase_extent(&mut self) -> Option<Extent> {
        let save = self.i;
        let place = self.places();
        match place.first() {
            Some(p)
                if matches!(
                    p.extent,
                    Extent::All
                        | Extent::AllBut(_)
                        | Extent::ToMarker(_)
                        | Extent::ToCentre(_)
                        | Extent::ShortOfSpace(_)
                ) =>
            {
                Some(p.extent)
            }
            _ => {
                self.i = save;
                None
            }
        }
    }

    fn more_or_total(&mut self, n: u32) -> Times {
        if self.word(0) == "more" {
            self.i += 1;
            return Times::More(n);
        }
        let previous =
            self.i.checked_sub(1).and_then(|k| self.t.get(k)).is_some_and(|t| t.is("times"))
                && self.i >= 2
                && self.t[self.i - 2].is("more");
        if previous {
            return Times::More(n);
        }
        if self.word(0) == "in" && matches!(self.word(1), "all" | "total") {
            self.i += 2;
            return Times::Total(n);
        }
        if self.word(0) == "total" || self.word(0) == "altogether" {
            self.i += 1;
            return Times::Total(n);
        }
        Times::Open(n)
    }

    /// "twice", "3 times", "3x", "x 3", "3 more times", "once" at `k`: the number and its tokens.
    pub(super) fn plain_times(&self, k: usize) -> Option<(u32, usize)> {
        match self.word(k) {
            "once" => return Some((1, 1)),
            "twice" => return Some((2, 1)),
            "thrice" => return Some((3, 1)),
            "x" => return self.at(k + 1).and_then(|t| t.number()).map(|n| (n, 2)),
            _ => {}
        }
        let (n, used) = self.count_at(k).or_else(|| {
            let tens = self.number_word(k)?;
            let dash = self.at(k + 1).is_some_and(|t| t.kind == Kind::Dash);
            let ones = self.number_word(k + 2).filter(|_| dash)?;
            Some((tens + ones, 3))
        })?;
        let (n, used) = match (self.at(k + 1).map(|t| t.kind), self.number_word(k + 2)) {
            (Some(Kind::Dash), Some(ones)) if n >= 20 && n % 10 == 0 && ones < 10 => (n + ones, 3),
            _ => (n, used),
        };
        match self.word(k + used) {
            "times" | "time" | "x" => Some((n, used + 1)),
            "more" if matches!(self.word(k + used + 1), "times" | "time") => Some((n, used + 2)),
            _ => None,
        }
    }

    /// A bracket: repeat, one-place group, count note, statement or tag, by what it holds and what follows.
    pub(super) fn bracket(&mut self, ops: &mut Vec<Op>) {
        let start = self.i;
        let Some(close) = self.closing() else {
            self.i += 1;
            return;
        };
        if self.depth >= DEEPEST {
            self.too_deep = self.too_deep.or(Some(self.t[start].span));
            self.i = close + 1;
            return;
        }
        const ASIDE: [&str; 8] =
            ["per", "approximately", "approx", "incl", "including", "includes", "should", "these"];
        // "(this is your increase)"
        let remark = matches!(self.word(1), "this" | "that" | "these" | "you" | "your");
        let number = (start..close).any(|k| self.t[k].number().is_some_and(|n| n > 9));
        let rate = !number && (start..close).any(|k| self.t[k].any(&ASIDE));
        let measure = !self.followed(close)
            && (start + 2..close).any(|k| {
                self.t[k].any(&["cm", "cms", "mm", "ins", "inch", "inches"])
                    && self.t[k - 1].number().is_some()
            });
        // "ch 3, sl st in 3rd ch from hook (picot)" names what was just worked.
        let hook = |op: &Op| matches!(op.act, Do::Work { place, .. } if matches!(place.extent, Extent::FromHook(_)));
        let named = self.word(1) == "picot" && ops.last().is_some_and(hook);
        let made_by = named || matches!(self.word(1), "made" | "formed") && self.word(2) == "by";
        if rate
            || remark
            || measure
            || made_by
            || matches!(self.word(1), "or" | "if" | "optional" | "optionally")
        {
            self.i = close + 1;
            return;
        }
        if self.bracketed_ending(ops, close)
            || self.bracketed_omission(ops, close)
            || self.statement(ops, close)
            || self.bracket_label(close, ops)
            || self.tag(close)
        {
            return;
        }
        let followed = self.followed(close);
        if !followed && self.bracket_count(close) {
            return;
        }
        let prefix = ops_prefix_times(self, start);
        let (end, notes, unread) = (self.end, self.counts.len(), self.unread.len());
        (self.i, self.end) = (start + 1, close);
        self.depth += 1;
        let mut inner = self.ops();
        self.depth -= 1;
        (self.i, self.end) = (close + 1, end);
        if inner.is_empty() {
            self.unread.truncate(unread);
            return;
        }
        if self.unread.len() - unread > inner.len() {
            self.unread.truncate(unread);
            self.counts.truncate(notes);
            return;
        }
        if let Some(n) = prefix {
            self.close_group(ops, inner, Do::Turn, Some(Times::Total(n)), start);
            return;
        }
        if let Some(times) = self.group_times() {
            let placed =
                matches!(self.word(0), "in" | "into").then(|| self.group_place(&inner)).flatten();
            if let (Some(place), Some(n)) = (placed, so_often(times))
                && one_place(place)
            {
                // "(1 tr, 1 ch) 4 times into next ch": all into that one.
                let passes = inner.len() * n as usize;
                let inner: Vec<Op> = inner.iter().cycle().take(passes).cloned().collect();
                return self.push(ops, Do::OnePlace(inner, place), start);
            }
            if let Some(place) = placed {
                let span = self.since(start);
                inner = vec![Op { act: Do::OnePlace(inner, place), span }];
            }
            self.close_group(ops, inner, Do::Turn, Some(times), start);
            if times == Times::ToEnd {
                self.ending_stitch(ops);
            }
        } else if followed && let Some((last, before)) = self.group_places(&inner) {
            for place in before {
                self.push(ops, Do::OnePlace(inner.clone(), place), start);
            }
            self.close_group(ops, inner, Do::OnePlace(Vec::new(), last), None, start);
        } else {
            ops.append(&mut inner);
        }
    }

    /// "to the end (last dc in 3rd ch of ch-4)": where the last stitch of the repeat goes.
    fn bracketed_ending(&mut self, ops: &mut Vec<Op>, close: usize) -> bool {
        let repeat = matches!(ops.last().map(|op| &op.act),
            Some(Do::Repeat(repeat)) if repeat.times == Times::ToEnd && repeat.ending.is_empty());
        if !repeat || !matches!(self.word(1), "last" | "working" | "placing" | "ending") {
            return false;
        }
        let (start, end, before) = (self.i, self.end, ops.len());
        (self.i, self.end) = (start + 1, close);
        self.ending_stitch(ops);
        self.end = end;
        let ended = matches!(&ops[before - 1].act, Do::Repeat(r) if !r.ending.is_empty());
        self.i = if ended { close + 1 } else { start };
        ended
    }

    fn close_group(
        &mut self,
        ops: &mut Vec<Op>,
        inner: Vec<Op>,
        act: Do,
        times: Option<Times>,
        start: usize,
    ) {
        let from = ops.len();
        match (act, times) {
            (Do::OnePlace(_, place), _) => self.push(ops, Do::OnePlace(inner, place), start),
            (_, Some(times)) => {
                ops.extend(inner);
                self.wrap(ops, from, ops.len(), None, times);
            }
            _ => ops.extend(inner),
        }
        if let Some((n, used)) = self.plain_times(0) {
            self.i += used;
            self.wrap(ops, from, ops.len(), None, Times::Total(n));
        }
    }

    /// Times after a closing bracket; "3 times more" repeats the bracket three times.
    fn group_times(&mut self) -> Option<Times> {
        let save = self.i;
        let all = self.word(0) == "all" && matches!(self.word(1), "in" | "into");
        if all || matches!(self.word(0), "in" | "into" | "under") {
            return None;
        }
        if self.at(0).is_some_and(|t| matches!(t.kind, Kind::Star(1)) && t.glued)
            && let Some(n) = self.at(1).and_then(|t| t.number())
        {
            self.i += 2;
            return Some(Times::Total(n));
        }
        self.i += self.skip_words(0, &["rep", "repeat", "work", "worked", "repeated"]);
        let repeated = self.i > save;
        // "[...] repeat [ ] across": the empty bracket stands for the one before.
        if repeated
            && self.at(0).is_some_and(|t| t.kind == Kind::Open)
            && self.at(1).is_some_and(|t| t.kind == Kind::Close)
        {
            self.i += 2;
        }
        match self.times() {
            Some(Times::Open(n) | Times::More(n)) if !repeated => Some(Times::Total(n)),
            Some(times) => Some(times),
            None => {
                self.i = save;
                None
            }
        }
    }

    fn group_place(&mut self, inner: &[Op]) -> Option<Where> {
        let save = self.i;
        let places = self.group_places(inner);
        let one = places.filter(|(_, before)| before.is_empty()).map(|(place, _)| place);
        self.i = if one.is_none() { save } else { self.i };
        one
    }

    /// The places a group is worked in, the last apart: "in next ch-1 sp and in each ch-1 sp across".
    fn group_places(&mut self, inner: &[Op]) -> Option<(Where, Vec<Where>)> {
        let save = self.i;
        if self.word(0) == "all" && matches!(self.word(1), "in" | "into" | "over" | "under") {
            self.i += 1;
        }
        let mut places = self.places();
        match places.pop() {
            Some(last) if !inner.is_empty() => Some((last, places)),
            _ => {
                self.i = save;
                None
            }
        }
    }

    /// Index of the bracket that closes the one at the cursor.
    pub(super) fn closing(&self) -> Option<usize> {
        let close = self.closes.binary_search_by_key(&self.i, |&(open, _)| open).ok()?;
        Some(self.closes[close].1).filter(|&k| k < self.end)
    }

    /// Something after the bracket gives it a job: a number of times or a place.
    pub(super) fn followed(&self, close: usize) -> bool {
        let k = close + 1 - self.i;
        let opens = [
            "in", "into", "all", "under", "over", "across", "around", "to", "twice", "once", "x",
            "rep", "repeat", "until", "each", "thrice", "evenly",
        ];
        let star = self.at(k).is_some_and(|t| t.glued && is_star(t))
            && self.at(k + 1).is_some_and(|t| t.number().is_some());
        opens.contains(&self.word(k)) || self.plain_times(k).is_some() || star
    }
}

/// A number of times that is as good as written out.
fn so_often(times: Times) -> Option<u32> {
    match times {
        Times::Total(n) | Times::Open(n) => Some(n).filter(|n| (1..20).contains(n)),
        _ => None,
    }
}

/// One stitch or space, whatever it is called.
fn one_place(place: Where) -> bool {
    matches!(place.extent, Extent::Next(1) | Extent::First(1) | Extent::Last(1) | Extent::Same)
}

/// A row has one centre; the one that comes again and again is that of every group.
fn centre_of_group(op: &mut Op) {
    if let Do::Work { place, .. } | Do::OnePlace(_, place) = &mut op.act
        && place.target == Target::Centre
    {
        place.target = Target::Group(u16::MAX);
    }
}

/// "3 x (A)" before the bracket at `start`.
fn ops_prefix_times(reader: &mut Reader<'_>, start: usize) -> Option<u32> {
    let x = start.checked_sub(1)?;
    let n = x.checked_sub(1)?;
    if !reader.t[x].is("x") {
        return None;
    }
    let number = reader.t[n].number()?;
    if reader.unread.last() == Some(&reader.t[n].span) {
        reader.unread.pop();
    }
    Some(number)
}

pub(super) fn is_star(token: &super::token::Token<'_>) -> bool {
    matches!(token.kind, Kind::Star(_))
}

/// Pairs of opening and closing brackets, by opening index.
pub(super) fn bracket_pairs(t: &[super::token::Token<'_>]) -> Vec<(usize, usize)> {
    let (mut open, mut pairs) = (Vec::new(), Vec::new());
    for (k, token) in t.iter().enumerate() {
        match token.kind {
            Kind::Open => open.push(k),
            Kind::Close => pairs.extend(open.pop().map(|o| (o, k))),
            _ => {}
        }
    }
    pairs.sort_unstable();
    pairs
}
