//! Working one row: a cursor over the row below, moved by the row's instructions.

use super::below::Below;
use super::below::Spot;
use super::draft::Draft;
use super::draft::Fitted;
use super::graph::Anchor;
use super::graph::RowStart;
use super::kind::LoopTaken;
use super::kind::StitchKind;
use super::reading::Reading;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Loop;
use crate::pattern::Op;
use crate::pattern::Pattern;
use crate::pattern::Repeat;
use crate::pattern::Target;
use crate::pattern::Times;
use crate::pattern::Where;
use crate::source::Span;

/// Stitches one row may have before its working is stopped.
pub(super) const WIDEST: usize = 200_000;
/// Steps one row may take: ten for each stitch of the widest row.
const MOST_STEPS: u32 = 2_000_000;
/// Definitions may call each other this deep.
const DEEPEST_CALL: u8 = 8;

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
    /// The place last worked, for "in same st".
    pub(super) same: Option<(Anchor, usize)>,
    /// The stitch last named.
    pub(super) last: Option<Act>,
    /// Spots skipped last, for "in skipped st".
    pub(super) passed: (usize, usize),
    /// Depth of definitions being worked.
    pub(super) calls: u8,
    /// Steps taken.
    steps: u32,
    /// Loops taken throughout.
    pub(super) loops: Loop,
    /// Id the first stitch of the draft will have.
    pub(super) first: u32,
    /// What is worked into each corner on the way round, and the spots that are corners.
    pub(super) corner: Option<(&'a Op, Vec<usize>)>,
    /// A chain run being worked back along: its stitch in the draft and links left.
    pub(super) spur: Option<(usize, u32)>,
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
        for (k, spot) in below.spots.iter().enumerate().rev() {
            left[k] = left[k + 1] + u32::from(!spot.is_space());
        }
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
            same: None,
            last: None,
            passed: (0, 0),
            calls: 0,
            steps: 0,
            loops,
            first: 0,
            corner: None,
            spur: None,
        }
    }

    /// Stitches left to work.
    pub(super) fn remaining(&self) -> u32 {
        self.left[self.draft.cursor.min(self.below.spots.len())]
    }

    fn full(&mut self) -> bool {
        self.steps += 1;
        if self.steps > MOST_STEPS
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
            Do::Skip(place) => self.skip(*place, op.span),
            Do::OnePlace(ops, place) => self.one_place(ops, *place, rest, keep, op.span),
            Do::Repeat(repeat) => self.repeat(repeat, rest, keep, op.span),
            Do::Turn => self.draft.turn = Some(true),
            Do::NoTurn => self.draft.turn = Some(false),
            Do::Join => self.join(op.span),
            Do::Colour(index) => {
                // A turning chain that counts is laid before the words ahead of it are worked.
                let turning = matches!(self.draft.start, RowStart::ChainCounts(_));
                if self.draft.stitches.len() <= usize::from(turning) {
                    self.draft.first_colour = Some(*index);
                }
                self.draft.colour = Some(*index);
            }
            Do::CastOn(n) => {
                for _ in 0..(*n).min(WIDEST as u32) {
                    self.draft.push(StitchKind::CastOn, &[], 0, false, op.span);
                }
            }
            Do::BindOff(n) => self.bind_off(*n, op.span),
            Do::FastenOff => self.draft.fastened = true,
            Do::Marker | Do::SlipMarker => self.draft.markers.push(self.draft.stitches.len()),
            Do::LeaveRest => self.draft.left_rest = true,
            Do::MagicRing | Do::PickUp(_) | Do::Stated(_) => {}
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

    /// Stitches what follows needs at the least, as far as its words say so.
    pub(super) fn needs(&self, ops: &[Op]) -> u32 {
        let mut sum: u32 = 0;
        for op in ops {
            let n = match &op.act {
                Do::Work { act, place, .. } => self.needs_work(*act, *place),
                Do::Skip(place) => self.needs_work(Act::Slip, *place),
                Do::OnePlace(_, place) => self.needs_work(Act::Slip, *place),
                Do::Repeat(repeat) => match repeat.times {
                    Times::Total(n) => Some(n.saturating_mul(self.needs(&repeat.ops))),
                    Times::More(n) => {
                        Some(n.saturating_add(1).saturating_mul(self.needs(&repeat.ops)))
                    }
                    _ => None,
                },
                Do::BindOff(Some(n)) => Some(*n),
                Do::BindOff(None) => None,
                _ => Some(0),
            };
            match n {
                Some(n) => sum = sum.saturating_add(n),
                None => return sum,
            }
        }
        sum
    }

    fn needs_work(&self, act: Act, place: Where) -> Option<u32> {
        if matches!(place.target, Target::Space(_) | Target::Ring | Target::Gap | Target::Link(_)) {
            return Some(0);
        }
        let each = self.consumes(act);
        match place.extent {
            Extent::Next(n) => Some(if matches!(act, Act::Together(..) | Act::Decrease) {
                n.max(each)
            } else {
                n.saturating_mul(each)
            }),
            Extent::Bare(n) if self.reading.bare_together => Some(each.min(n)),
            Extent::Bare(n) => Some(n.saturating_mul(each)),
            Extent::Last(n) => Some(n.max(each)),
            Extent::Same | Extent::First(_) | Extent::Skipped(_) => Some(0),
            _ => None,
        }
    }

    /// Stitches of the row below that one `act` uses.
    pub(super) fn consumes(&self, act: Act) -> u32 {
        match act {
            Act::Together(_, n, _) => u32::from(n),
            Act::KnitTogether { of, .. } => u32::from(of),
            Act::Decrease => 2,
            Act::Cable(a, b) => u32::from(a) + u32::from(b),
            Act::YarnOver | Act::MakeOne { .. } | Act::Picot(_) | Act::Foundation(_) => 0,
            _ => 1,
        }
    }

    /// A repeat inside the row.
    fn repeat(&mut self, repeat: &Repeat, rest: &[Op], keep: u32, span: Span) {
        let after = self.needs(rest).saturating_add(keep);
        match repeat.times {
            Times::Total(n) => self.passes(repeat, n, after),
            Times::More(n) => self.passes(repeat, n.saturating_add(1), after),
            Times::Open(n) if self.reading.in_all => self.passes(repeat, n, after),
            Times::Open(n) => self.passes(repeat, n.saturating_add(1), after),
            Times::ToEnd => self.fit(repeat, after, 0, span),
            Times::ToLast(n) => self.fit(repeat, n.saturating_add(keep), n, span),
            Times::ToMarker(n) => {
                let stop = self.marker_left().saturating_add(n);
                self.fit(repeat, stop, n, span);
            }
        }
    }

    fn passes(&mut self, repeat: &Repeat, n: u32, after: u32) {
        for pass in 0..n {
            let ops = match repeat.cut {
                Some(cut) if pass + 1 == n => &repeat.ops[..cut.min(repeat.ops.len())],
                _ => &repeat.ops[..],
            };
            let (before, over) = (self.draft.stitches.len(), self.draft.over);
            self.run(ops, after);
            let stuck =
                self.draft.stitches.len() == before && self.draft.over == over && pass > 1000;
            if self.full() || stuck {
                return;
            }
        }
    }

    /// Works the repeat as often as fits, leaving `stop` stitches.
    fn fit(&mut self, repeat: &Repeat, stop: u32, keep: u32, span: Span) {
        let (mut passes, mut takes) = (0u32, 0u32);
        loop {
            if self.full() || (passes > 0 && self.remaining() <= stop && !self.more_spaces(repeat))
            {
                break;
            }
            let mark = self.draft.mark();
            let saved = (self.same, self.passed);
            if let Some(cut) = repeat.cut {
                self.run(&repeat.ops[..cut.min(repeat.ops.len())], stop);
                if self.draft.over == 0 && self.remaining() == stop {
                    passes += 1;
                    break;
                }
                self.draft.back(mark);
                (self.same, self.passed) = saved;
            }
            let had = self.remaining();
            self.run(&repeat.ops, stop);
            let used = had.saturating_sub(self.remaining());
            let failed = self.draft.over > 0
                || self.remaining() < stop
                || self.draft.turning_missed.is_some();
            if failed && (passes > 0 || self.remaining() < stop || self.draft.over > 0) {
                takes = takes.max(used + self.draft.over);
                self.draft.back(mark);
                (self.same, self.passed) = saved;
                break;
            }
            takes = used;
            passes += 1;
            let moved = self.draft.cursor;
            if used == 0 && !self.moved(mark, moved) {
                break;
            }
        }
        // "*sc in each st to corner, 3 sc in corner; rep from * around" ends on the way to the first corner.
        if let Some(Do::Work { place, .. }) = repeat.ops.first().map(|op| &op.act)
            && place.extent == Extent::ToSpace
            && self.remaining() > stop
        {
            self.run(&repeat.ops[..1], stop);
        }
        let left = self.remaining().saturating_sub(stop);
        self.draft.fitted = Some(Fitted { takes, passes, keep, left, span });
    }

    fn moved(&self, mark: super::draft::Mark, cursor: usize) -> bool {
        mark.cursor() != cursor
    }

    /// The repeat works into spaces and there are more of them.
    fn more_spaces(&self, repeat: &Repeat) -> bool {
        let spaces = repeat.ops.iter().any(|op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                matches!(place.target, Target::Space(_) | Target::Link(_))
            }
            _ => false,
        });
        let from = self.draft.cursor.min(self.below.spots.len());
        spaces && self.below.spots[from..].iter().any(Spot::is_space)
    }

    /// Stitches after the next marker.
    pub(super) fn marker_left(&self) -> u32 {
        let next = self.below.markers.iter().find(|&&m| m > self.draft.cursor);
        next.map_or(0, |&m| self.left[m.min(self.below.spots.len())])
    }

    /// Works an act at all the places of `place`.
    fn work(&mut self, act: Act, each: u32, place: Where, rest: &[Op], keep: u32, span: Span) {
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
            Extent::Bare(n) if self.reading.bare_together && n > 1 && !free => {
                self.stitch(act, each.saturating_mul(n), place, span);
            }
            Extent::Bare(n) | Extent::Next(n) => {
                let together = takes > 1 && matches!(place.extent, Extent::Next(_)) && !self.knit;
                let times = if together { (n / takes).max(1) } else { n };
                for _ in 0..times {
                    if self.full() {
                        return;
                    }
                    self.stitch(act, each, place, span);
                }
            }
            Extent::All if place.target == Target::Corner && self.corner.is_some() => {}
            Extent::All => {
                let after = self.needs(rest).saturating_add(keep);
                self.while_left(act, each, place, after, span);
            }
            Extent::AllBut(n) => self.while_left(act, each, place, n.saturating_add(keep), span),
            Extent::ToMarker(n) => {
                let stop = self.marker_left().saturating_add(n);
                self.while_left(act, each, place, stop, span);
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
            Extent::First(n) => {
                self.go_to_first();
                for _ in 0..(n / takes).max(1) {
                    self.stitch(act, each, place, span);
                }
            }
            Extent::Last(n) => {
                self.go_to_last(n.max(takes), place.target, span);
                for _ in 0..(n / takes).max(1) {
                    self.stitch(act, each, place, span);
                }
            }
            Extent::Same | Extent::FromHook(_) | Extent::Skipped(_) => {
                self.stitch(act, each, place, span)
            }
        }
    }

    fn while_left(&mut self, act: Act, each: u32, place: Where, stop: u32, span: Span) {
        let takes = self.consumes(act);
        if takes == 0 {
            return self.stitch(act, each, place, span);
        }
        if matches!(place.target, Target::Space(_) | Target::StitchOrSpace) {
            return self.while_spaces(act, each, place, stop, span);
        }
        while self.remaining() >= stop.saturating_add(takes) && !self.full() {
            let before = self.draft.cursor;
            if !self.at_corner() {
                self.stitch(act, each, place, span);
            }
            if self.draft.cursor == before {
                return;
            }
        }
        if takes > 1 && self.remaining() > stop {
            let left = self.remaining() - stop;
            self.draft.fitted = Some(Fitted { takes, passes: 0, keep: stop, left, span });
        }
    }

    /// The next spot is a stitch, and neither space nor corner.
    fn before_space(&self) -> bool {
        let at = self.draft.cursor;
        let spaces = self.below.spots.iter().any(Spot::is_space);
        let mut wide = self.below.groups.iter().filter(|g| g.last > g.first + 1);
        let corner = !spaces && wide.any(|g| (g.first + g.last) / 2 == at);
        self.below.spots.get(at).is_some_and(|s| !s.is_space()) && !corner
    }

    /// Works the corner when the next spot is one.
    fn at_corner(&mut self) -> bool {
        let Some((op, corners)) = &self.corner else { return false };
        if !corners.contains(&self.draft.cursor) {
            return false;
        }
        let (op, here) = (*op, Where::next(1));
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
            let more = self.below.spots[from..]
                .iter()
                .any(|s| s.is_space() || place.target == Target::StitchOrSpace);
            if !more
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
    fn resolve(&self, act: Act) -> (Act, u32) {
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

    /// A group of stitches worked into one place.
    fn one_place(&mut self, ops: &[Op], place: Where, rest: &[Op], keep: u32, span: Span) {
        let first = self.draft.stitches.len();
        match place.extent {
            Extent::Next(n) | Extent::Bare(n) => {
                for _ in 0..n.max(1) {
                    if self.full() {
                        return;
                    }
                    self.group(ops, place, u16::MAX, span);
                }
            }
            Extent::All if place.target == Target::Corner && self.corner.is_some() => {}
            Extent::All | Extent::AllBut(_) => {
                let stop = match place.extent {
                    Extent::AllBut(n) => n.saturating_add(keep),
                    _ => self.needs(rest).saturating_add(keep),
                };
                loop {
                    let from = self.draft.cursor.min(self.below.spots.len());
                    let space = matches!(place.target, Target::Space(_));
                    let more = if space {
                        self.below.spots[from..].iter().any(Spot::is_space)
                    } else {
                        self.remaining() > stop
                    };
                    if !more || self.full() {
                        break;
                    }
                    self.group(ops, place, u16::MAX, span);
                    if self.draft.cursor == from {
                        break;
                    }
                }
            }
            Extent::First(_) => {
                self.go_to_first();
                self.group(ops, place, u16::MAX, span);
            }
            Extent::Last(n) => {
                self.go_to_last(n, place.target, span);
                self.group(ops, place, u16::MAX, span);
            }
            _ => self.group(ops, place, u16::MAX, span),
        }
        debug_assert!(self.draft.stitches.len() >= first);
    }

    /// Works `ops` into the one place that `place` finds, as a group called `name`.
    pub(super) fn group(&mut self, ops: &[Op], place: Where, name: u16, span: Span) {
        let Some(anchor) = self.find(place, span) else {
            self.same = None;
            return;
        };
        let first = self.draft.stitches.len();
        self.fill_place(ops, anchor);
        let last = self.draft.stitches.len().saturating_sub(1).max(first);
        self.draft.groups.push(super::below::Group { name, first, last });
        self.same = Some((anchor, self.draft.cursor));
    }

    /// All of `ops` into `anchor`.
    fn fill_place(&mut self, ops: &[Op], anchor: Anchor) {
        for op in ops {
            if self.full() {
                return;
            }
            match &op.act {
                Do::Work { act, each, place } => {
                    let n = match place.extent {
                        Extent::Bare(n) | Extent::Next(n) => n.max(1),
                        _ => 1,
                    };
                    let (act, twice) = self.resolve(*act);
                    for _ in 0..n.saturating_mul((*each).max(1)).saturating_mul(twice.max(1)) {
                        if self.full() {
                            return;
                        }
                        self.put(act, &[anchor], op.span);
                    }
                }
                Do::Chain { links, .. } => self.chain(*links, op.span),
                Do::Repeat(repeat) => {
                    let n = match repeat.times {
                        Times::Total(n) | Times::Open(n) => n,
                        Times::More(n) => n.saturating_add(1),
                        _ => 1,
                    };
                    for _ in 0..n {
                        if self.full() {
                            return;
                        }
                        self.fill_place(&repeat.ops, anchor);
                    }
                }
                Do::OnePlace(ops, _) => self.fill_place(ops, anchor),
                _ => {}
            }
        }
    }

    /// One definition worked at `place`.
    pub(super) fn call(&mut self, index: u16, each: u32, place: Where, span: Span) {
        let Some(definition) = self.pattern.macros.get(usize::from(index)) else { return };
        if self.calls >= DEEPEST_CALL {
            self.draft.too_large = true;
            return;
        }
        self.calls += 1;
        let ops = &definition.ops;
        for _ in 0..each.max(1) {
            if self.full() {
                break;
            }
            if moves(ops) {
                let first = self.draft.stitches.len();
                self.run(ops, 0);
                let last = self.draft.stitches.len().saturating_sub(1).max(first);
                self.draft.groups.push(super::below::Group { name: index, first, last });
            } else {
                self.group(ops, Where { extent: Extent::Next(1), ..place }, index, span);
            }
        }
        self.calls -= 1;
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

/// The definition walks along the row rather than standing in one place.
fn moves(ops: &[Op]) -> bool {
    let mut places = 0;
    for op in ops {
        match &op.act {
            Do::Skip(_) => return true,
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                places += u32::from(matches!(place.extent, Extent::Next(_)));
                if matches!(place.extent, Extent::Next(n) if n > 1) {
                    return true;
                }
            }
            Do::Repeat(repeat) if moves(&repeat.ops) => return true,
            _ => {}
        }
    }
    places > 1
}
