//! Repeats inside a row: how often they are worked, and what is left.

use super::below::Spot;
use super::draft::Fitted;
use super::draft::Mark;
use super::graph::Anchor;
use super::making::height_of;
use super::reading::MOST_TOGETHER;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Op;
use crate::pattern::Repeat;
use crate::pattern::Target;
use crate::pattern::Times;
use crate::pattern::Where;
use crate::source::Span;

/// A state of the row to come back to: its draft, the place last worked and the spots skipped last.
type Close = (Mark, (Option<(Anchor, usize)>, (usize, usize)));

impl Worker<'_> {
    /// Stitches what follows needs at the least, as far as its words say so.
    pub(super) fn needs(&self, ops: &[Op]) -> u32 {
        let mut sum: u32 = 0;
        for (k, op) in ops.iter().enumerate() {
            let n = match &op.act {
                Do::Work { act: Act::Slip, place, .. }
                    if self.round && place.extent == Extent::Bare(1) && ends(&ops[k + 1..]) =>
                {
                    // "..., sl st." closes the round and takes no stitch of its own.
                    Some(0)
                }
                Do::Work { act, place, .. } => self.needs_work(*act, *place),
                Do::Skip(place) if self.skips_turning_links(*place) => Some(0),
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
                Do::BindOff(None) | Do::BindOffToOne => None,
                _ => Some(0),
            };
            match n {
                Some(n) => sum = sum.saturating_add(n),
                None => return sum,
            }
        }
        sum
    }

    pub(super) fn needs_work(&self, act: Act, place: Where) -> Option<u32> {
        let place = self.in_turning_space(place);
        if matches!(place.target, Target::Space(_) | Target::Ring | Target::Gap | Target::Link(_)) {
            return Some(0);
        }
        if place.target == Target::Turning && self.chain_space(act) || self.closes_round(act, place)
        {
            return Some(0);
        }
        let each = self.consumes(act);
        match place.extent {
            Extent::Next(n) => Some(if matches!(act, Act::Together(..) | Act::Decrease) {
                n.max(each)
            } else {
                n.saturating_mul(each)
            }),
            Extent::Bare(n) if self.reading.bare_together && n <= MOST_TOGETHER => {
                Some(each.min(n))
            }
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

    /// Every stitch left, but what `rest` and `keep` need, worked as its kind says.
    pub(super) fn by_kind(&mut self, kinds: &[(Height, Act)], rest: &[Op], keep: u32, span: Span) {
        let stop = self.needs(rest).saturating_add(keep);
        while self.remaining() > stop && !self.full() {
            let below = self.below.spots.get(self.draft.cursor).and_then(|s| height_of(s.kind));
            let act = kinds.iter().find(|k| Some(k.0) == below).or(kinds.first());
            let Some(&(_, act)) = act else { return };
            self.work(act, 1, Where::next(1), &[], 0, span);
        }
    }

    /// A repeat inside the row.
    pub(super) fn repeat(&mut self, repeat: &Repeat, rest: &[Op], keep: u32, span: Span) {
        let outer = (self.keep_spaces, self.keep_groups, self.stop_links, self.stop_corner);
        let within = self.reading.ends_within || repeat.within;
        let ending: &[Op] = if within { &[] } else { &repeat.ending };
        let close = if keep == 0 { ending.iter().chain(rest).rfind(works) } else { None };
        let after = self
            .needs(ending)
            .saturating_add(self.needs(rest))
            .saturating_add(keep)
            .saturating_add(u32::from(close.is_some_and(|op| self.on_turning(op))));
        self.keep_spaces = if self.more_spaces(repeat) { self.spaces_needed(rest) } else { 0 };
        self.keep_groups = if works_groups(&repeat.ops) { groups_needed(rest) } else { None };
        self.stop_links = self.stop_space(&repeat.ops, rest);
        let cornered = self.more_spaces(repeat) && first_place(rest) == Some(Target::Corner);
        self.stop_corner = if cornered { self.seek_corner(self.draft.cursor) } else { None };
        match self.inner.take().unwrap_or(repeat.times) {
            Times::Total(n) => {
                let n = n.saturating_add_signed(self.step.max(0));
                self.passes(repeat, n, after);
            }
            Times::More(n) => self.passes(repeat, n.saturating_add(1), after),
            Times::Open(n) if self.reading.in_all => self.passes(repeat, n, after),
            Times::Open(n) => self.passes(repeat, n.saturating_add(1), after),
            Times::ToEnd => {
                let stop = self.space_ahead(&repeat.ops, rest).map_or(after, |at| self.left[at]);
                self.fit(repeat, stop, 0, span);
            }
            Times::ToSpace(n) => {
                let at = self.next_space(next_space_links(rest));
                self.fit(repeat, self.left[at].saturating_add(n), n, span);
            }
            Times::ToLast(n) => self.fit(repeat, n.saturating_add(keep), n, span),
            Times::ToCentre(n) => {
                let stop = self.left[self.centre()].saturating_add(n);
                self.fit(repeat, stop, n, span);
            }
            Times::ToMarker(n) => {
                let stop = self.marker_left().saturating_add(n);
                self.fit(repeat, stop, n, span);
            }
        }
        (self.keep_spaces, self.keep_groups, self.stop_links, self.stop_corner) = outer;
        self.run(ending, self.needs(rest).saturating_add(keep));
    }

    /// The row's last stitch stands on a link of the turning chain that counts: "in 3rd of 3 ch".
    fn on_turning(&self, op: &Op) -> bool {
        let link = matches!(&op.act, Do::Work { place, .. } | Do::OnePlace(_, place) if matches!(place.target, Target::Link(_)));
        link && self.below.turning && self.below.spots.last().is_some_and(|s| !s.is_space())
    }

    pub(super) fn passes(&mut self, repeat: &Repeat, n: u32, after: u32) {
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
    pub(super) fn fit(&mut self, repeat: &Repeat, stop: u32, keep: u32, span: Span) {
        let (mut passes, mut takes) = (0u32, 0u32);
        let within = !repeat.ending.is_empty() && (self.reading.ends_within || repeat.within);
        let mut last_close = None;
        loop {
            if self.at_stop_space() && (passes > 0 || !self.fits_before_stop(repeat)) {
                break;
            }
            if self.stop_corner.is_some_and(|corner| self.next_space(None) >= corner) {
                break;
            }
            let cornered = first_place(&repeat.ops) == Some(Target::Corner);
            if passes > 0 && cornered && self.corners_done() {
                break;
            }
            if self.keep_spaces > 0 && self.spaces_left() <= self.keep_spaces {
                break;
            }
            if self.keep_groups.is_some_and(|(name, n)| self.groups_left(name) <= n) {
                break;
            }
            if self.full() || (passes > 0 && self.remaining() <= stop && !self.more_spaces(repeat))
            {
                break;
            }
            let mark = self.draft.mark();
            let saved = (self.same, self.passed);
            let gap = self.gap_at;
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
            let body = &repeat.ops[..repeat.ops.len().saturating_sub(usize::from(within))];
            self.run(body, stop);
            let close = (self.draft.mark(), (self.same, self.passed));
            self.run(&repeat.ops[body.len()..], stop);
            if let Some(Do::Skip(place)) = repeat.ops.first().map(|op| &op.act) {
                self.back_into_group(*place);
            }
            let used = had.saturating_sub(self.remaining());
            let failed = self.draft.over > 0
                || self.remaining() < stop
                || self.draft.turning_missed.is_some();
            if failed && within && self.ends_instead(repeat, close, stop) {
                (takes, last_close) = (used, None);
                passes += 1;
                break;
            }
            if failed && (passes > 0 || self.remaining() < stop || self.draft.over > 0) {
                takes = takes.max(used + self.draft.over);
                self.draft.back(mark);
                (self.same, self.passed) = saved;
                break;
            }
            takes = used;
            passes += 1;
            last_close = within.then_some(close);
            let moved = self.draft.cursor;
            if used == 0 && !self.moved(mark, moved) && self.gap_at == gap {
                break;
            }
        }
        if let Some((mark, saved)) = last_close {
            self.draft.back(mark);
            (self.same, self.passed) = saved;
            self.run(&repeat.ending, stop);
        }
        self.run_to_first_corner(repeat, stop);
        let left = self.remaining().saturating_sub(stop);
        self.draft.fitted = Some(Fitted { takes, passes, keep, left, span });
    }

    /// Where only the last instruction of a pass finds no place, the ending does in its stead.
    fn ends_instead(&mut self, repeat: &Repeat, close: Close, stop: u32) -> bool {
        let (mark, saved) = close;
        self.draft.back(mark);
        (self.same, self.passed) = saved;
        if self.draft.over > 0 {
            return false;
        }
        self.run(&repeat.ending, stop);
        self.draft.over == 0 && self.remaining() >= stop && self.draft.turning_missed.is_none()
    }

    /// Where corners are spaces, there are no more of them.
    pub(super) fn corners_done(&self) -> bool {
        let is_space = |k: usize| self.below.spots.get(k).is_some_and(Spot::is_space);
        self.seek_corner(0).is_some_and(is_space) && self.seek_corner(self.draft.cursor).is_none()
    }

    pub(super) fn moved(&self, mark: Mark, cursor: usize) -> bool {
        mark.cursor() != cursor
    }

    /// The repeat works into spaces and there are more of them.
    pub(super) fn more_spaces(&self, repeat: &Repeat) -> bool {
        let spaces = repeat.ops.iter().any(|op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                matches!(place.target, Target::Space(_) | Target::Link(_))
            }
            _ => false,
        });
        let from = self.draft.cursor.min(self.below.spots.len());
        spaces && self.below.spots[from..].iter().any(Spot::is_space)
    }

    /// The way to the first corner, when the round ends on it.
    fn run_to_first_corner(&mut self, repeat: &Repeat, stop: u32) {
        // "*sc in each st to corner, 3 sc in corner; rep from * around" ends on the way to the first corner.
        if let Some(Do::Work { place, .. }) = repeat.ops.first().map(|op| &op.act)
            && place.extent == Extent::ToSpace
            && self.remaining() > stop
        {
            self.run(&repeat.ops[..1], stop);
        }
    }

    /// The next space is the one the words after the repeat go into.
    /// Links of the first space in `rest`, when the spaces of the repeat are of another number of links, or
    /// of no number said while the row below has spaces of both sorts.
    fn stop_space(&self, ops: &[Op], rest: &[Op]) -> Option<u32> {
        let space = |op: &Op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => match place.target {
                Target::Space(links) if !matches!(place.extent, Extent::Last(_)) => Some(links),
                _ => None,
            },
            _ => None,
        };
        let own = ops.iter().find_map(space)?;
        let next = rest.iter().find_map(space)??;
        let ahead = &self.below.spots[self.draft.cursor.min(self.below.spots.len())..];
        let of = |n: u32| ahead.iter().filter(|s| s.is_space() && u32::from(s.links) == n).count();
        let spaces = ahead.iter().filter(|s| s.is_space()).count();
        match own {
            Some(own) => (own != next).then_some(next),
            None => (of(next) == 1 && spaces > 1).then_some(next),
        }
    }

    /// The one space ahead of its number of links that the first place named after a repeat goes into,
    /// where the repeat itself works into stitches only: it ends before that space.
    fn space_ahead(&self, ops: &[Op], rest: &[Op]) -> Option<usize> {
        let into_spaces = |op: &Op| {
            matches!(&op.act, Do::Work { place, .. } | Do::OnePlace(_, place)
                if !matches!(place.target, Target::Any | Target::Post(_)))
        };
        if ops.iter().any(into_spaces) {
            return None;
        }
        let links = next_space_links(rest)?;
        let from = self.draft.cursor.min(self.below.spots.len());
        let ahead = self.below.spots[from..].iter();
        let sized = ahead.filter(|s| s.is_space() && u32::from(s.links) == links).count();
        (sized == 1).then(|| self.next_space(Some(links)))
    }

    /// The next spot that is a space, of so many links when said; one past the row when there is none.
    pub(super) fn next_space(&self, links: Option<u32>) -> usize {
        let from = self.draft.cursor.min(self.below.spots.len());
        let is = |s: &Spot| s.is_space() && links.is_none_or(|n| u32::from(s.links) == n);
        let ahead = self.below.spots[from..].iter().position(is);
        ahead.map_or(self.below.spots.len(), |k| from + k)
    }

    fn at_stop_space(&self) -> bool {
        let Some(links) = self.stop_links else { return false };
        let from = self.draft.cursor.min(self.below.spots.len());
        let next = self.below.spots[from..].iter().find(|s| s.is_space());
        next.is_some_and(|s| u32::from(s.links) == links)
    }

    /// The repeat also works stitches before that space.
    fn fits_before_stop(&self, repeat: &Repeat) -> bool {
        !self.more_spaces(repeat)
    }

    /// Spaces left to work.
    pub(super) fn spaces_left(&self) -> usize {
        self.spaces[self.draft.cursor.min(self.below.spots.len())] as usize
    }

    /// Groups of a name left to work.
    fn groups_left(&self, name: u16) -> usize {
        let named = |g: &&super::below::Group| self.called(g, name);
        let ahead = |g: &&super::below::Group| g.first >= self.draft.cursor;
        self.below.groups.iter().filter(named).filter(ahead).count()
    }

    /// The links skipped are those of the space between the row's last stitch and its turning chain.
    pub(super) fn skips_turning_links(&self, place: Where) -> bool {
        let spots = &self.below.spots;
        let links = matches!(place.target, Target::Chain | Target::Turning);
        let space = spots.len().checked_sub(2).map(|k| spots[k]).filter(Spot::is_space);
        let n = match place.extent {
            Extent::Next(n) | Extent::Bare(n) => n,
            _ => return false,
        };
        links
            && self.below.turning
            && spots.last().is_some_and(|s| !s.is_space())
            && space.is_some_and(|s| u32::from(s.links) == n)
    }

    /// A turning chain that stands for no stitch is the last space of a row worked in spaces.
    pub(super) fn in_turning_space(&self, place: Where) -> Where {
        let spots = &self.below.spots;
        let last = spots.last().is_some_and(Spot::is_space);
        let beside = spots.len().checked_sub(2).is_some_and(|k| spots[k].is_space());
        let space = Where { target: Target::Space(None), extent: Extent::Last(1), ..place };
        match place.target {
            Target::Turning if last && !self.below.turning && !self.below.beside => space,
            // "ch 4 (counts as dc and ch 1)": its space is the one next to its stitch.
            Target::TurningSpace if last || self.below.turning && beside => space,
            Target::TurningSpace => Where { target: Target::Turning, ..place },
            _ => place,
        }
    }

    /// 1 when the words after work into the last space, which work "in each space" then leaves to them.
    pub(super) fn last_space(&self, rest: &[Op]) -> usize {
        let last = |op: &Op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                let place = self.in_turning_space(*place);
                matches!((place.extent, place.target), (Extent::Last(1), Target::Space(_)))
            }
            _ => false,
        };
        usize::from(rest.iter().any(last))
    }

    /// Spaces the ops after a repeat go into one by one.
    fn spaces_needed(&self, ops: &[Op]) -> usize {
        let one = |place: Where| {
            let place = self.in_turning_space(place);
            let single =
                matches!(place.extent, Extent::Next(1) | Extent::Last(1) | Extent::Bare(1));
            usize::from(single && matches!(place.target, Target::Space(_)))
        };
        let of = |op: &Op| match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => one(*place),
            _ => 0,
        };
        ops.iter().map(of).sum()
    }

    /// Stitches after the next marker.
    pub(super) fn marker_left(&self) -> u32 {
        let markers = &self.below.markers;
        let next = match self.slips {
            true => {
                markers.iter().skip(self.draft.markers.len()).find(|&&m| m >= self.draft.cursor)
            }
            false => markers.iter().find(|&&m| m > self.draft.cursor),
        };
        // Where the page marks a stitch in words only, it is the one in the middle.
        if markers.is_empty() && !self.knit {
            return self.left[self.centre()];
        }
        next.map_or(0, |&m| self.left[m.min(self.below.spots.len())])
    }
}

/// The instruction makes or passes something.
fn works(op: &&Op) -> bool {
    !matches!(
        op.act,
        Do::Turn
            | Do::NoTurn
            | Do::Colour(_)
            | Do::FastenOff
            | Do::Along(..)
            | Do::EachRowEnd(_)
            | Do::EachBlock(_)
            | Do::Leaving(_)
    )
}

/// Links of the space that the first place named in `ops` is.
fn next_space_links(ops: &[Op]) -> Option<u32> {
    let place = ops.iter().find_map(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) | Do::Skip(place) => Some(place),
        _ => None,
    })?;
    match (place.target, place.extent) {
        (Target::Space(links), Extent::Next(1)) => links,
        _ => None,
    }
}

/// The first place named in `ops`.
fn first_place(ops: &[Op]) -> Option<Target> {
    ops.iter().find_map(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) | Do::Skip(place) => Some(place.target),
        Do::Repeat(repeat) => first_place(&repeat.ops),
        _ => None,
    })
}

/// Nothing more is worked.
fn ends(ops: &[Op]) -> bool {
    ops.iter().all(|op| matches!(op.act, Do::FastenOff | Do::Turn | Do::NoTurn | Do::Colour(_)))
}

/// The repeat works into groups.
fn works_groups(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => matches!(place.target, Target::Group(_)),
        _ => false,
    })
}

/// The name and number of groups the ops after a repeat go into one by one.
fn groups_needed(ops: &[Op]) -> Option<(u16, usize)> {
    let names = ops.iter().filter_map(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => match (place.target, place.extent) {
            (Target::Group(name), Extent::Next(1) | Extent::Last(1) | Extent::Bare(1)) => {
                Some(name)
            }
            _ => None,
        },
        _ => None,
    });
    let names: Vec<u16> = names.collect();
    let first = *names.first()?;
    Some((first, names.iter().filter(|&&n| n == first).count()))
}
