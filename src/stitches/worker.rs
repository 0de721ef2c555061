//! Working one row: a cursor over the row below, moved by the row's instructions.

use super::below::Below;
use super::below::Spot;
use super::draft::Draft;
use super::draft::Fitted;
use super::graph::Anchor;
use super::graph::RowStart;
use super::graph::Stitch;
use super::kind::LoopTaken;
use super::kind::StitchKind;
use super::reading::MOST_TOGETHER;
use super::reading::Reading;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Loop;
use crate::pattern::Op;
use crate::pattern::Pattern;
use crate::pattern::Target;
use crate::pattern::Times;
use crate::pattern::Where;
use crate::source::Span;

/// Stitches one row may have before its working is stopped.
pub(super) const WIDEST: usize = 200_000;
/// Steps one row may take: ten for each stitch of the widest row.
const MOST_STEPS: u32 = 2_000_000;
/// A run at least this long is what "1 st fewer each time" speaks of; shorter ones are edges.
const LONG_RUN: u32 = 4;

/// The working of one row.
pub(super) struct Worker<'a> {
    /// The pattern, for its definitions.
    pub(super) pattern: &'a Pattern,
    /// The row below as this row meets it.
    pub(super) below: &'a Below,
    /// How ambiguous words are taken.
    pub(super) reading: Reading,
    /// The right side faces the maker.
    pub(super) right_side: bool,
    /// Rows before the last, for stitches worked rows below: spots as this row meets them.
    pub(super) older: &'a [Below],
    /// Knit work.
    pub(super) knit: bool,
    /// The row.
    pub(super) draft: Draft,
    /// Stitches at or after each spot.
    pub(super) left: Vec<u32>,
    /// Spaces at or after each spot.
    pub(super) spaces: Vec<u32>,
    /// The place last worked, for "in same st".
    pub(super) same: Option<(Anchor, usize)>,
    /// After work into the middle of a group: the spot that follows, and the one past the group.
    pub(super) left_group: Option<(usize, usize)>,
    /// Slip stitches have just led to the round's start.
    pub(super) arrived: bool,
    /// The stitch last named.
    pub(super) last: Option<Act>,
    /// Spots skipped last, for "in skipped st".
    pub(super) passed: (usize, usize),
    /// Depth of definitions being worked.
    pub(super) calls: u8,
    /// Where the row below has groups.
    pub(super) seams: super::gaps::Seams,
    /// The gap between groups last worked into.
    pub(super) gap_at: Option<usize>,
    /// The row slips the markers it comes to, so that they can be counted.
    pub(super) slips: bool,
    /// Links of the space the words after the repeat go into, when its own spaces are others.
    pub(super) stop_links: Option<u32>,
    /// Groups of a name the words after the repeat being worked need.
    pub(super) keep_groups: Option<(u16, usize)>,
    /// Spaces the words after the repeat being worked need.
    pub(super) keep_spaces: usize,
    /// The corner of the row below that the words after a repeat into spaces go into.
    pub(super) stop_corner: Option<usize>,
    /// Repeats more, or stitches fewer in long runs, than written.
    pub(super) step: i32,
    /// How often the row's repeat is worked, when it is called again with other words.
    pub(super) inner: Option<Times>,
    /// A round is being worked.
    pub(super) round: bool,
    /// Links of the spaces of the row below, each once, in order.
    pub(super) space_links: Vec<u16>,
    /// Steps taken: stitches worked and spots looked at.
    steps: std::cell::Cell<u32>,
    /// Loops taken throughout.
    pub(super) loops: Loop,
    /// Id the first stitch of the draft will have.
    pub(super) first: u32,
    /// What is worked into each corner on the way round, and the spots that are corners.
    pub(super) corner: Option<(&'a Op, Vec<usize>)>,
    /// The row works chain spaces or corners in words of their own, apart from the gaps between groups.
    pub(super) corners_apart: bool,
    /// A chain run being worked back along: its stitch in the draft and links left.
    pub(super) spur: Option<(usize, u32)>,
    /// Stitches more or fewer to spread over the row.
    pub(super) spread: Option<super::spread::Spread>,
}

impl<'a> Worker<'a> {
    /// A worker at the start of a row on `below`.
    pub(super) fn new(
        pattern: &'a Pattern,
        below: &'a Below,
        older: &'a [Below],
        reading: Reading,
        right_side: bool,
        knit: bool,
    ) -> Self {
        let mut left = vec![0; below.spots.len() + 1];
        let mut spaces = left.clone();
        for (k, spot) in below.spots.iter().enumerate().rev() {
            left[k] = left[k + 1] + u32::from(!spot.is_space());
            spaces[k] = spaces[k + 1] + u32::from(spot.is_space());
        }
        let mut space_links: Vec<u16> =
            below.spots.iter().filter(|s| s.is_space()).map(|s| s.links).collect();
        space_links.sort_unstable();
        space_links.dedup();
        let loops = pattern.rules.loops.unwrap_or_default();
        Self {
            pattern,
            below,
            reading,
            right_side,
            older,
            knit,
            draft: Draft::default(),
            left,
            spaces,
            same: None,
            arrived: false,
            left_group: None,
            last: None,
            passed: (0, 0),
            calls: 0,
            seams: super::gaps::Seams::of(below),
            gap_at: None,
            slips: false,
            stop_links: None,
            keep_groups: None,
            keep_spaces: 0,
            stop_corner: None,
            step: 0,
            inner: None,
            round: false,
            space_links,
            steps: std::cell::Cell::new(0),
            loops,
            first: 0,
            corner: None,
            corners_apart: false,
            spur: None,
            spread: None,
        }
    }

    /// Stitches left to work.
    pub(super) fn remaining(&self) -> u32 {
        self.left[self.draft.cursor.min(self.below.spots.len())]
    }

    /// Counts `n` spots looked at towards what a row may cost.
    pub(super) fn look(&self, n: usize) {
        let n = u32::try_from(n).unwrap_or(u32::MAX);
        self.steps.set(self.steps.get().saturating_add(n));
    }

    /// What the row has cost so far: the spots it met and the steps taken.
    pub(super) fn cost(&self) -> u64 {
        self.below.spots.len() as u64 + u64::from(self.steps.get())
    }

    pub(super) fn full(&mut self) -> bool {
        self.look(1);
        if self.steps.get() > MOST_STEPS
            || self.draft.stitches.len() > WIDEST
            || self.draft.over > WIDEST as u32
        {
            self.draft.too_large = true;
        }
        self.draft.too_large
    }

    /// Works `ops`, leaving at least `keep` stitches for what comes after them.
    pub(super) fn run(&mut self, ops: &[Op], keep: u32) {
        for (k, op) in ops.iter().enumerate() {
            if self.full() {
                return;
            }
            let rest = &ops[k + 1..];
            self.one(op, rest, keep);
        }
    }

    fn one(&mut self, op: &Op, rest: &[Op], keep: u32) {
        match &op.act {
            Do::Work { act, each, place } => self.work(*act, *each, *place, rest, keep, op.span),
            Do::Chain { links, .. } => self.chain(*links, op.span),
            Do::ByKind(kinds) => self.by_kind(kinds, rest, keep, op.span),
            Do::Skip(place) => self.skip(*place, op.span),
            Do::OnePlace(ops, place) => self.one_place(ops, *place, rest, keep, op.span),
            Do::Repeat(repeat) => self.repeat(repeat, rest, keep, op.span),
            Do::Turn => self.draft.turn = Some(true),
            Do::NoTurn => self.draft.turn = Some(false),
            Do::Join => self.join(op.span),
            Do::Colour(index) => {
                // The chain a row begins with is laid before the words ahead of it are worked.
                let turning = usize::from(matches!(self.draft.start, RowStart::ChainCounts(_)));
                let laid = |s: &Stitch| s.kind == StitchKind::Chain && !s.overlay;
                if self.draft.stitches.iter().skip(turning).all(laid) {
                    self.draft.first_colour = Some(*index);
                }
                self.draft.colour = Some(*index);
            }
            Do::CastOn(n) | Do::CastOnMore(n) => {
                for _ in 0..(*n).min(WIDEST as u32) {
                    self.draft.push(StitchKind::CastOn, &[], 0, false, op.span);
                }
            }
            Do::BindOff(n) => self.bind_off(*n, op.span),
            Do::FastenOff => self.draft.fastened = true,
            Do::Marker | Do::SlipMarker => self.draft.markers.push(self.draft.stitches.len()),
            Do::LeaveRest => self.draft.left_rest = true,
            Do::BindOffToOne => {
                let n = self.remaining().saturating_sub(1);
                self.bind_off(Some(n), op.span);
                self.work(
                    Act::Knit { purl: false, twisted: false },
                    1,
                    Where::next(1),
                    &[],
                    0,
                    op.span,
                );
            }
            Do::OtherSide
            | Do::MagicRing
            | Do::PickUp(..)
            | Do::Stated(_)
            | Do::Along(..)
            | Do::EachRowEnd(_)
            | Do::EachBlock(_)
            | Do::Leaving(_)
            | Do::DropWraps => {}
        }
    }

    /// A run of chain links.
    pub(super) fn chain(&mut self, links: u32, span: Span) {
        let links = links.min(u32::from(u16::MAX)) as u16;
        if let Some(last) = self.draft.stitches.last_mut()
            && last.kind == StitchKind::Chain
            && !last.overlay
            && last.legs.0 == last.legs.1
        {
            last.links = last.links.saturating_add(links);
            return;
        }
        self.draft.push(StitchKind::Chain, &[], links, false, span);
    }

    fn join(&mut self, span: Span) {
        self.draft.joined = true;
        if !self.draft.stitches.is_empty() {
            self.draft.push(StitchKind::SlipStitch, &[], 0, true, span);
        }
    }

    fn bind_off(&mut self, n: Option<u32>, span: Span) {
        let n = n.unwrap_or_else(|| self.remaining()).min(WIDEST as u32);
        for _ in 0..n {
            match self.take(Target::Any, Loop::Unsaid, 0, span) {
                Some(anchor) => {
                    self.draft.push(StitchKind::BindOff, &[anchor], 0, false, span);
                    self.draft.bound += 1;
                }
                None => return,
            }
        }
    }

    /// A slip stitch to the first stitch, or the top of the chain, that a round began with closes it.
    pub(super) fn closes_round(&self, act: Act, place: Where) -> bool {
        let to_first = place.extent == Extent::First(1) && !self.draft.stitches.is_empty();
        let at_end = place.extent == Extent::Bare(1) && self.remaining() == 0 && self.round;
        act == Act::Slip
            && (place.target == Target::Turning || to_first || at_end)
            && (self.round || self.below.ring.is_some())
    }

    /// A long run is shorter by so many stitches each time the row is worked again.
    fn stepped(&self, act: Act, n: u32) -> u32 {
        let long = self.step < 0 && n >= LONG_RUN;
        let runs = matches!(act, Act::Knit { .. } | Act::Post(..));
        if long && runs { n.saturating_add_signed(self.step) } else { n }
    }

    /// Works an act at all the places of `place`.
    pub(super) fn work(
        &mut self,
        act: Act,
        each: u32,
        place: Where,
        rest: &[Op],
        keep: u32,
        span: Span,
    ) {
        if self.closes_round(act, place) {
            return self.join(span);
        }
        let place = self.in_turning_space(place);
        let act = self.resolve(act);
        let (act, each) = match act {
            (act, 0) => (act, each),
            (act, twice) => (act, each.max(1).saturating_mul(twice)),
        };
        if matches!(act, Act::Post(..) | Act::Knit { .. } | Act::Cluster(..)) {
            self.last = Some(act);
        }
        let takes = self.consumes(act).max(1);
        let free = self.consumes(act) == 0;
        match place.extent {
            Extent::Bare(n)
                if self.reading.bare_together && n > 1 && n <= MOST_TOGETHER && !free =>
            {
                self.stitch(act, each.saturating_mul(n), place, span);
            }
            Extent::Bare(n) | Extent::Next(n) => {
                let n = self.stepped(act, n);
                let together = takes > 1 && matches!(place.extent, Extent::Next(_)) && !self.knit;
                let times = if together { (n / takes).max(1) } else { n };
                for _ in 0..times {
                    if self.full() {
                        return;
                    }
                    self.spread_stitch(act, each, place, span);
                }
            }
            Extent::All if place.target == Target::Chain && self.spur.is_some_and(|s| s.1 > 0) => {
                // "Ch 40, sl st in 2nd ch from hook and in each ch back"
                for _ in 0..self.spur.map_or(0, |(_, left)| left) {
                    self.stitch(act, each, place, span);
                }
            }
            Extent::All if self.on_the_way(place) => {}
            Extent::All
            | Extent::AllBut(_)
            | Extent::ToMarker(_)
            | Extent::ToLastMarker(_)
            | Extent::ToCentre(_)
            | Extent::ShortOfSpace(_)
            | Extent::ToSpace => {
                let after = self.needs(rest).saturating_add(keep);
                let outer = self.keep_spaces;
                self.keep_spaces = outer.max(self.last_space(rest));
                self.work_along(act, each, place, (after, keep), span);
                self.keep_spaces = outer;
            }
            Extent::First(_) if place.target == Target::Gap => self.stitch(act, each, place, span),
            Extent::First(n) => {
                self.go_to_first();
                for _ in 0..(n / takes).max(1) {
                    if self.full() {
                        return;
                    }
                    self.stitch(act, each, place, span);
                }
            }
            Extent::Last(1) if self.in_gaps(place) => self.stitch(act, each, place, span),
            Extent::Last(n) => {
                if !(place.target == Target::Turning && self.chain_space(act)) {
                    self.go_to_last(n.max(takes), place.target, span);
                }
                for _ in 0..(n / takes).max(1) {
                    if self.full() {
                        return;
                    }
                    self.stitch(act, each, place, span);
                }
            }
            Extent::BeforeSpace => {
                self.go_before_space();
                self.stitch(act, each, place, span);
            }
            Extent::Same | Extent::FromHook(_) | Extent::Skipped(_) => {
                self.stitch(act, each, place, span)
            }
        }
    }

    /// An act over a stretch of the row: to its end, a number before it, a marker or a space.
    fn work_along(&mut self, act: Act, each: u32, place: Where, stops: (u32, u32), span: Span) {
        let (after, keep) = stops;
        match place.extent {
            Extent::All => {
                self.while_left(act, each, place, after, span);
            }
            Extent::AllBut(n) => self.while_left(act, each, place, n.saturating_add(keep), span),
            Extent::ToMarker(n) => {
                let stop = self.marker_left().saturating_add(n);
                self.while_left(act, each, place, stop, span);
            }
            Extent::ToCentre(n) => {
                let stop = self.left[self.centre()].saturating_add(n);
                self.while_left(act, each, place, stop, span);
            }
            Extent::ShortOfSpace(n) => {
                let stop = self.left[self.next_space(None)].saturating_add(n);
                self.while_left(act, each, place, stop, span);
            }
            Extent::ToLastMarker(n) => {
                let last = self.below.markers.last().copied().unwrap_or_default();
                let stop = self.left[last.min(self.below.spots.len())].saturating_add(n);
                self.while_left(act, each, place, stop, span);
                let met: &Below = self.below;
                let passed = met.markers.iter().rev().skip(1).rev().skip(self.draft.markers.len());
                for &marker in passed {
                    let at = self.draft.at.partition_point(|&at| at as usize <= marker);
                    self.draft.markers.push(at);
                }
            }
            Extent::ToSpace if self.in_gaps(place) && !self.below.groups.is_empty() => {
                self.along_gaps((act, each), place, true, span);
            }
            Extent::ToSpace if matches!(place.target, Target::Space(_)) => {
                while self.space_before_corner(place.target) && !self.full() {
                    self.stitch(act, each, place, span);
                }
            }
            Extent::ToSpace => {
                while self.before_space() && !self.full() {
                    let at = self.draft.cursor;
                    self.stitch(act, each, place, span);
                    if self.draft.cursor == at {
                        return;
                    }
                }
            }
            _ => {}
        }
    }

    fn while_left(&mut self, act: Act, each: u32, place: Where, stop: u32, span: Span) {
        let takes = self.consumes(act);
        if takes == 0 {
            return self.stitch(act, each, place, span);
        }
        if self.in_gaps(place) {
            if self.below.groups.is_empty() {
                return self.every_gap(act, each, place, span);
            }
            return self.along_gaps((act, each), place, false, span);
        }
        if matches!(place.target, Target::Space(_) | Target::StitchOrSpace) {
            return self.while_spaces(act, each, place, stop, span);
        }
        while self.remaining() >= stop.saturating_add(takes) && !self.full() {
            let before = self.draft.cursor;
            if !self.at_corner() {
                self.spread_stitch(act, each, place, span);
            }
            if self.draft.cursor == before {
                return;
            }
        }
        // A round may end on the corner it began beside.
        if stop == 0 && self.round && self.remaining() == 0 {
            self.at_corner();
        }
        if takes > 1 && self.remaining() > stop {
            let left = self.remaining() - stop;
            self.draft.fitted = Some(Fitted { takes, passes: 0, keep: stop, left, span });
        }
    }

    /// The next spot is a stitch, and neither space nor corner.
    fn before_space(&self) -> bool {
        let at = self.draft.cursor;
        let spaces = self.spaces[0] > 0;
        self.look(self.below.groups.len());
        let corner_of = |g: &super::below::Group| {
            g.last > g.first + 1 || g.name == super::below::CORNER && at > 0
        };
        let mut wide = self.below.groups.iter().filter(|g| corner_of(g));
        let corner = !spaces && wide.any(|g| (g.first + g.last) / 2 == at);
        self.below.spots.get(at).is_some_and(|s| !s.is_space()) && !corner
    }

    /// The cursor forward to the last stitch before the next space or corner.
    fn go_before_space(&mut self) {
        let from = self.draft.cursor.min(self.below.spots.len());
        while self.before_space() {
            self.draft.cursor += 1;
        }
        self.draft.cursor = self.draft.cursor.saturating_sub(1).max(from);
        self.draft.jumped += self.left[from] - self.left[self.draft.cursor];
    }

    /// The place is worked on the way through the row's stitches.
    pub(super) fn on_the_way(&self, place: Where) -> bool {
        let own = |op: &Op| super::corner::place_of(op).is_some_and(|p| p.target == place.target);
        self.corner.as_ref().is_some_and(|(op, _)| own(op))
    }

    /// Works the corner when the next spot is one.
    pub(super) fn at_corner(&mut self) -> bool {
        let Some((op, corners)) = &self.corner else { return false };
        // Spaces on the way to a corner are passed as on the way to any stitch; the corner may be one of them.
        let from = self.draft.cursor.min(self.below.spots.len());
        let passed = self.below.spots[from..].iter().take_while(|s| s.is_space()).count();
        let Some(at) = (from..=from + passed).find(|k| corners.contains(k)) else { return false };
        self.draft.cursor = at;
        let space = self.below.spots.get(at).is_some_and(Spot::is_space);
        let target = if space { Target::StitchOrSpace } else { Target::Any };
        let (op, here) = (*op, Where { target, ..Where::next(1) });
        match &op.act {
            Do::Work { act, each, .. } => {
                let (act, twice) = self.resolve(*act);
                self.stitch(act, each.saturating_mul(twice.max(1)), here, op.span);
            }
            Do::OnePlace(ops, _) => self.group(ops, here, u16::MAX, op.span),
            _ => return false,
        }
        true
    }

    fn while_spaces(&mut self, act: Act, each: u32, place: Where, stop: u32, span: Span) {
        loop {
            let from = self.draft.cursor.min(self.below.spots.len());
            let either = place.target == Target::StitchOrSpace;
            let more = self.spaces[from] > 0 || either && from < self.below.spots.len();
            let kept = self.keep_spaces > 0 && self.spaces_left() <= self.keep_spaces;
            if !more
                || kept
                || self.full()
                || (place.target == Target::StitchOrSpace && self.remaining() <= stop && stop > 0)
            {
                return;
            }
            self.stitch(act, each, place, span);
            if self.draft.cursor == from {
                return;
            }
        }
    }

    /// Definitions and "inc", "dec" made plain; a second number other than 0 multiplies what goes into one place.
    pub(super) fn resolve(&self, act: Act) -> (Act, u32) {
        let last_height = match self.last {
            Some(Act::Post(height, _)) => height,
            _ => Height::Single,
        };
        match act {
            Act::Increase if self.knit => (Act::KnitInto(2), 0),
            Act::Decrease if self.knit => (Act::KnitTogether { of: 2, purl: false }, 0),
            Act::Increase => (Act::Post(last_height, crate::pattern::Style::Plain), 2),
            Act::Decrease => (Act::Together(last_height, 2, crate::pattern::Style::Plain), 0),
            act => (act, 0),
        }
    }

    /// The loop a leg takes.
    pub(super) fn taken(&self, said: Loop) -> LoopTaken {
        match if said == Loop::Unsaid { self.loops } else { said } {
            Loop::Unsaid | Loop::Both => LoopTaken::Both,
            Loop::Back => LoopTaken::Back,
            Loop::Front => LoopTaken::Front,
            Loop::Third => LoopTaken::Third,
        }
    }
}
