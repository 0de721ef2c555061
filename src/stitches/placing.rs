//! Finding the place of a stitch and putting the stitch there.

use super::below::Spot;
use super::graph::Anchor;
use super::graph::Place;
use super::graph::StitchId;
use super::kind::StitchKind;
use super::making::height_of;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Loop;
use crate::pattern::Style;
use crate::pattern::Target;
use crate::pattern::Where;
use crate::source::Span;

/// A stitch named for its kind is looked for this far ahead.
const NAMED_AHEAD: usize = 12;

impl Worker<'_> {
    /// One act at one place, `each` times into it.
    pub(super) fn stitch(&mut self, act: Act, each: u32, place: Where, span: Span) {
        if let Act::Macro(index) = act {
            return self.call(index, each, place, span);
        }
        match act {
            Act::YarnOver | Act::Picot(_) => {
                return self.put_each(each, act, &[], span);
            }
            Act::MakeOne { .. } => return self.make_one(act, span),
            _ => {}
        }
        if place.target == Target::Turning && self.chain_space(act) {
            let end = Place::RowEnd { row: self.below.row, left: self.right_side, nth: 0, of: 1 };
            let leg = Anchor { place: end, taken: self.taken(place.taken) };
            self.draft.cursor = self.below.spots.len();
            return self.put_each(each, act, &[leg], span);
        }
        let takes = self.consumes(act).max(1);
        let mut legs: [Option<Anchor>; 40] = [None; 40];
        let mut found = 0usize;
        for _ in 0..takes.min(40) {
            if let Some(anchor) = self.find(place, span) {
                legs[found] = Some(anchor);
                found += 1;
            }
        }
        let anchors: Vec<Anchor> = legs.iter().flatten().copied().map(|a| posted(a, act)).collect();
        if found < takes as usize {
            return;
        }
        self.same = anchors.last().map(|&a| (a, self.draft.cursor));
        if each >= 3 && !self.knit {
            let first = self.draft.stitches.len();
            let last = first + each.min(99) as usize - 1;
            self.draft.groups.push(super::below::Group { name: u16::MAX, first, last });
        }
        self.put_each(each, act, &anchors, span);
    }

    /// A single crochet "in turning ch-sp" of a mesh goes round an uncounted turning chain.
    pub(super) fn chain_space(&self, act: Act) -> bool {
        matches!(act, Act::Post(Height::Single, _))
            && self.below.beside
            && !self.below.turning
            && self.below.spaces() > 0
    }

    fn make_one(&mut self, act: Act, span: Span) {
        let at = self.draft.cursor.min(self.below.spots.len().saturating_sub(1));
        if let Some(spot) = self.below.spots.get(at) {
            let leg = Anchor { place: Place::Strand(spot.id), taken: super::kind::LoopTaken::Both };
            self.put(act, &[leg], span);
        }
    }

    /// The place `place` means, the cursor moved past it.
    pub(super) fn find(&mut self, place: Where, span: Span) -> Option<Anchor> {
        if let Some(anchor) = self.on_spur(place) {
            return Some(anchor);
        }
        match place.extent {
            Extent::Same => {
                if let Some((anchor, _)) = self.same {
                    if std::mem::take(&mut self.arrived) && self.draft.cursor == 0 {
                        (self.draft.cursor, self.draft.consumed) = (1, 1);
                    }
                    return Some(anchor);
                }
                self.take(place.target, place.taken, place.below, span)
            }
            Extent::Skipped(_) if place.below > 0 => {
                // "dc in skipped sc 2 rows below": over the chain that passed it.
                let spot = self.below.spots.get(self.draft.cursor);
                let over = spot.is_some_and(Spot::is_space);
                let target = if over { Target::StitchOrSpace } else { place.target };
                self.take(target, place.taken, place.below, span)
            }
            Extent::Skipped(_) => {
                let (from, to) = self.passed;
                let spot = self.below.spots.get(from).filter(|_| from < to).copied()?;
                self.passed.0 += 1;
                self.draft.consumed += 1;
                self.draft.skipped = self.draft.skipped.saturating_sub(1);
                Some(spot.anchor(self.taken(place.taken)))
            }
            Extent::First(_) | Extent::Last(1) => match self.edge_gap(place, span) {
                Some(found) => found,
                None => self.take(place.target, place.taken, place.below, span),
            },
            _ => self.take(place.target, place.taken, place.below, span),
        }
    }

    /// A link of a chain run made in this row and worked back along (a block's foot).
    fn on_spur(&mut self, place: Where) -> Option<Anchor> {
        if let Extent::FromHook(n) = place.extent {
            let run = self.draft.stitches.len().checked_sub(1)?;
            let links = u32::from(self.draft.stitches[run].links);
            if self.draft.stitches[run].kind != StitchKind::Chain || links < n || n < 2 {
                return None;
            }
            let foot = links - (n - 1);
            self.draft.stitches[run].links = foot as u16;
            self.draft.spurs.push(run);
            let span = self.draft.stitches[run].words;
            self.draft.push(StitchKind::Chain, &[], (n - 1) as u16, false, span);
            self.draft.in_spaces = true;
            self.spur = Some((run, foot));
        } else if place.target != Target::Chain {
            self.spur = None;
        }
        let (run, left) = self.spur.filter(|&(_, left)| left > 0)?;
        self.spur = Some((run, left - 1));
        let id = StitchId(self.first + run as u32);
        Some(Anchor {
            place: Place::Link { run: id, nth: (left - 1) as u16 },
            taken: self.taken(place.taken),
        })
    }

    /// The next place of a kind.
    pub(super) fn take(
        &mut self,
        target: Target,
        said: Loop,
        below: u8,
        span: Span,
    ) -> Option<Anchor> {
        let taken = self.taken(said);
        match target {
            Target::Ring => {
                if let Some(ring) = self.below.ring {
                    self.draft.in_spaces = true;
                    return Some(Anchor { place: Place::Ring(ring), taken });
                }
                return self.take_spot(Target::Space(None), span).map(|s| s.anchor(taken));
            }
            Target::Gap => {
                if let Some(anchor) = self.between_groups(taken) {
                    return Some(anchor);
                }
                if self.below.groups.len() > 1 && self.gap_at.is_some() {
                    self.missing(span);
                    return None;
                }
                return self.gap(taken, span);
            }
            Target::Space(_) if self.no_spaces() => {
                if let Some(anchor) = self.between_groups(taken) {
                    return Some(anchor);
                }
            }
            Target::Space(None) if self.gap_before_space().is_some() => {
                return self.between_groups(taken);
            }
            Target::Corner if self.closing_corner() => {
                return self.below.spots.first().map(|s| s.anchor(taken));
            }
            Target::Link(_) if self.only_turning_left() => {
                return self.take_spot(Target::Any, span).map(|s| s.anchor(taken));
            }
            Target::Link(_) if self.turning_next() => {
                // A mesh worked stitch on stitch passes every space.
                self.draft.passed_spaces += usize::from(self.draft.in_spaces);
                return self.take_spot(Target::Any, span).map(|s| s.anchor(taken));
            }
            Target::Link(nth) => return self.link(nth, taken, span),
            _ => {}
        }
        if let (Some(ring), Target::Any | Target::Space(_), true) =
            (self.below.ring, target, self.below.spots.is_empty())
        {
            // Nothing but the ring is there to work into.
            self.draft.in_spaces = true;
            return Some(Anchor { place: Place::Ring(ring), taken });
        }
        let at = self.draft.cursor;
        let spot = self.take_spot(target, span)?;
        if below > 0
            && let Some(older) = self.older.get(usize::from(below) - 1)
            && !older.spots.is_empty()
        {
            let scale = older.spots.len() as f64 / self.below.spots.len().max(1) as f64;
            let k = ((at as f64 + 0.5) * scale) as usize;
            return Some(older.spots[k.min(older.spots.len() - 1)].anchor(taken));
        }
        Some(spot.anchor(taken))
    }

    /// The `nth` link (0: the middle one) of the next chain run.
    fn link(&mut self, nth: u32, taken: super::kind::LoopTaken, span: Span) -> Option<Anchor> {
        let spot = self.take_spot(Target::Space(None), span)?;
        let nth = if nth == 0 {
            spot.links.max(1).div_ceil(2)
        } else {
            (nth.min(u32::from(spot.links.max(1)))) as u16
        };
        let place = if spot.links > 0 {
            Place::Link { run: spot.id, nth: nth - 1 }
        } else {
            Place::Top(spot.id)
        };
        Some(Anchor { place, taken })
    }

    /// The row below has a space of so many links, so that others are not meant.
    pub(super) fn has_space(&self, links: Option<u32>) -> bool {
        let links = links.and_then(|n| u16::try_from(n).ok());
        links.is_some_and(|n| self.space_links.binary_search(&n).is_ok())
    }

    /// No space is left: "in 3rd ch of ch-4" means the turning chain that counts.
    fn only_turning_left(&self) -> bool {
        let from = self.draft.cursor.min(self.below.spots.len());
        let left = from < self.below.spots.len();
        self.below.turning && left && self.spaces[from] == 0
    }

    /// What is left is the space of the turning chain and its stitch.
    fn turning_next(&self) -> bool {
        let from = self.draft.cursor.min(self.below.spots.len());
        let last = matches!(&self.below.spots[from..], [a, b] if a.is_space() && !b.is_space());
        self.below.turning && last && self.below.ring.is_none()
    }

    pub(super) fn missing(&mut self, span: Span) {
        self.draft.over = self.draft.over.saturating_add(1);
        self.draft.over_at = self.draft.over_at.or(Some(span));
    }

    /// The next spot of a kind; the cursor moves past it.
    pub(super) fn take_spot(&mut self, target: Target, span: Span) -> Option<Spot> {
        let from = self.draft.cursor.min(self.below.spots.len());
        let found = self.seek(target, from);
        self.look(found.unwrap_or(self.below.spots.len()) - from);
        let Some(k) = found else {
            self.missing(span);
            return None;
        };
        if let Target::Space(Some(links)) = target {
            self.note_name(links, k, span);
        }
        let spot = self.below.spots[k];
        let passed = self.left[from] - self.left[k];
        let grouped = matches!(target, Target::Group(_) | Target::InGroup(_) | Target::Corner);
        let spacious = spot.is_space() || grouped;
        if passed > 0 && spacious {
            self.draft.by_space = true;
        } else {
            if matches!(target, Target::Post(_) | Target::Cluster | Target::Face(_)) {
                // Links on the way to the next post are its chain, passed as a space would be.
                let links = self.below.spots[from..k].iter().filter(|s| s.link > 0).count() as u32;
                self.draft.named += passed.saturating_sub(links);
            } else {
                self.draft.jumped += passed;
            }
        }
        self.draft.in_spaces |= spot.is_space() || matches!(target, Target::InGroup(_));
        self.draft.consumed += 1;
        self.draft.cursor = k + 1;
        if let Target::Group(_) = target {
            self.look(self.below.groups.len() / 16);
        }
        if let Target::Group(_) = target
            && let Some(group) = self.below.groups.iter().find(|g| (g.first..=g.last).contains(&k))
        {
            self.left_group = Some((k + 1, group.last + 1));
            self.draft.cursor = group.last + 1;
            self.draft.in_spaces = true;
        }
        Some(spot)
    }

    /// Index of the next spot of a kind from `from` on.
    fn seek(&self, target: Target, from: usize) -> Option<usize> {
        let spots = &self.below.spots;
        let first = |test: &dyn Fn(&Spot) -> bool| (from..spots.len()).find(|&k| test(&spots[k]));
        let stitch = || first(&|s: &Spot| !s.is_space());
        match target {
            Target::Any | Target::Marked => stitch(),
            Target::StitchOrSpace => (from < spots.len()).then_some(from),
            Target::Space(links) if self.knit => {
                let _ = links;
                first(&|s: &Spot| s.kind == StitchKind::YarnOver)
            }
            Target::Space(links) => {
                let exact = links.and_then(|n| first(&|s: &Spot| s.is_space() && u32::from(s.links) == n));
                exact.or_else(|| if self.has_space(links) { None } else { first(&Spot::is_space) }).or_else(|| if self.below.ring.is_some() { stitch() } else { None })
            }
            Target::Post(height) => self.ahead(from, &|s| height_of(s.kind) == Some(height)).or_else(stitch),
            Target::Cluster => self
                .ahead(from, &|s| is_cluster(s.kind))
                .or_else(stitch),
            Target::Face(purl) => self
                .ahead(from, &|s| matches!(s.kind, StitchKind::Knit { purl: p, .. } if (p != purl) != self.right_side))
                .or_else(stitch),
            Target::Chain => {
                let here = spots.get(from).filter(|s| !s.is_space()).map(|_| from);
                here.or_else(|| (from < spots.len()).then_some(from))
            }
            Target::Turning => spots.len().checked_sub(1).filter(|&k| k >= from).or_else(stitch),
            Target::Group(name) => self
                .seek_group(name, from)
                .or_else(|| if self.has_groups(name) { None } else { stitch() }),
            Target::InGroup(n) if !self.below.groups.is_empty() => self.seek_in_group(n, from),
            Target::Centre => Some(self.centre()).filter(|&k| k >= from && k < spots.len()).or_else(stitch),
            // A row's corner that was passed does not come again; a round may end in the one it began in.
            Target::Corner if !self.round && self.seek_corner(0).is_some_and(|k| spots[k].is_space()) => {
                self.seek_corner(from)
            }
            Target::Corner => self.seek_corner(from).or_else(|| first(&Spot::is_space)).or_else(stitch),
            _ => stitch(),
        }
    }

    fn ahead(&self, from: usize, test: &dyn Fn(&Spot) -> bool) -> Option<usize> {
        let to = (from + NAMED_AHEAD).min(self.below.spots.len());
        (from..to).find(|&k| !self.below.spots[k].is_space() && test(&self.below.spots[k]))
    }

    /// The middle of the next group: its middle space, else its middle stitch.
    fn seek_group(&self, name: u16, from: usize) -> Option<usize> {
        let group = self
            .below
            .groups
            .iter()
            .filter(|g| g.last >= from && self.called(g, name))
            .find(|g| g.first >= from || self.middle(g.first, g.last) >= from)?;
        Some(self.middle(group.first, group.last))
    }

    /// The row below has groups of a name, worked or not.
    fn has_groups(&self, name: u16) -> bool {
        self.below.groups.iter().any(|g| self.called(g, name))
    }

    /// The group is one of that name. Where the row below has none, any group is meant: a page that
    /// defines `shell` may write its stitches out all the same.
    pub(super) fn called(&self, group: &super::below::Group, name: u16) -> bool {
        name == u16::MAX
            || group.name == name
            || group.name == u16::MAX && !self.below.groups.iter().any(|g| g.name == name)
    }

    /// On the way round a flat piece, the last corner is the one the round began at.
    fn closing_corner(&self) -> bool {
        let from = self.draft.cursor;
        let edge = self.below.spots.iter().any(|s| s.edge.is_some());
        edge && self.seek_corner(from).is_none()
    }

    /// The nth stitch of the next group that has it from `from` on.
    fn seek_in_group(&self, n: u32, from: usize) -> Option<usize> {
        let nth = |g: &super::below::Group| {
            let stitches = (g.first..=g.last).filter(|&k| !self.below.spots[k].is_space());
            stitches.take(n.min(200) as usize).last()
        };
        self.below.groups.iter().filter(|g| g.last >= from).filter_map(nth).find(|&k| k >= from)
    }

    fn middle(&self, first: usize, last: usize) -> usize {
        let half = (first + last) / 2;
        let spaces = (first..=last).filter(|&k| self.below.spots[k].is_space());
        spaces.min_by_key(|&k| k.abs_diff(half)).unwrap_or(half)
    }

    pub(super) fn seek_corner(&self, from: usize) -> Option<usize> {
        let groups = &self.below.groups;
        let middle = |g: &super::below::Group| self.middle(g.first, g.last);
        let ahead = || groups.iter().filter(|g| middle(g) >= from);
        let spaced =
            |g: &&super::below::Group| self.below.spots.get(middle(g)).is_some_and(Spot::is_space);
        let space = ahead().find(spaced);
        let wide = || ahead().find(|g| g.last > g.first + 1 || g.name == super::below::CORNER);
        // Groups between the spaces of a motif's corners are none.
        let cornered = self.long_space(0).is_some() || groups.iter().any(|g| spaced(&g));
        let plain = || if cornered { None } else { wide() };
        let grouped = space.or_else(plain).map(middle);
        match (grouped, self.long_space(from)) {
            (Some(k), Some(j)) => Some(k.min(j)),
            (found, long) => found.or(long),
        }
    }

    /// The next of a round's longest spaces, when they are as many as a motif has corners; links of their own are
    /// none where there are others of them.
    fn long_space(&self, from: usize) -> Option<usize> {
        const CORNERS: std::ops::RangeInclusive<usize> = 3..=8;
        let spots = &self.below.spots;
        let alone = self.space_links.len() == 1;
        let &links = self.space_links.last().filter(|&&n| n > 1 || alone)?;
        let long = |k: &usize| spots[*k].is_space() && spots[*k].links == links;
        let all = (0..spots.len()).filter(long).count();
        (self.round && CORNERS.contains(&all)).then(|| (from..spots.len()).find(long))?
    }

    /// The cursor back to the first stitch.
    pub(super) fn go_to_first(&mut self) {
        if self.draft.cursor <= 1 {
            self.draft.cursor = 0;
            self.draft.consumed = 0;
        }
    }

    /// The cursor forward to the last `n` places.
    pub(super) fn go_to_last(&mut self, n: u32, target: Target, span: Span) {
        let spots = &self.below.spots;
        if target == Target::Turning && self.below.beside && !self.below.turning {
            self.draft.turning_missed = self.draft.turning_missed.or(Some(span));
        }
        let from = self.draft.cursor.min(spots.len());
        let k = match target {
            Target::Space(_) => (from..spots.len())
                .rev()
                .filter(|&k| spots[k].is_space())
                .nth(n.saturating_sub(1) as usize),
            Target::Group(name) => self
                .below
                .groups
                .iter()
                .rev()
                .filter(|g| g.first >= from && self.called(g, name))
                .nth(n.saturating_sub(1) as usize)
                .map(|g| g.first),
            Target::Corner if n == 1 && self.seek_corner(from).is_some() => {
                let mut last = self.seek_corner(from);
                while let Some(next) = last.and_then(|k| self.seek_corner(k + 1)) {
                    last = Some(next);
                }
                last
            }
            _ => {
                let named = |k: usize| match target {
                    Target::Post(height) => height_of(spots[k].kind) == Some(height),
                    Target::Cluster => is_cluster(spots[k].kind),
                    _ => true,
                };
                let exact =
                    (from..spots.len()).find(|&k| self.left[k] == n && !spots[k].is_space());
                let last = (from..spots.len())
                    .rev()
                    .filter(|&k| !spots[k].is_space() && named(k))
                    .nth(n.saturating_sub(1) as usize);
                let by_name = self.draft.in_spaces || target == Target::Cluster;
                if by_name { last.or(exact) } else { exact }
            }
        };
        if let Some(k) = k {
            let spaces = spots[from..k.max(from)].iter().filter(|s| s.is_space()).count();
            self.draft.passed_spaces += if self.draft.in_spaces { spaces } else { 0 };
            let whole = |g: &&super::below::Group| g.first >= from && g.last < k;
            let wide = |g: &&super::below::Group| g.last > g.first + 1;
            self.draft.passed_groups += self.below.groups.iter().filter(whole).filter(wide).count();
            let passed = self.left[from] - self.left[k];
            // "until you reach the last sc": over what is skipped beside every shell.
            let to_named = matches!(target, Target::Post(_))
                && !self.below.groups.is_empty()
                && self.draft.skipped > 0
                && passed <= 3;
            if matches!(target, Target::Space(_) | Target::Group(_))
                || to_named
                || self.draft.in_spaces
            {
                self.draft.by_space |= passed > 0;
            } else {
                self.draft.jumped += passed;
            }
            self.draft.cursor = k;
        }
    }

    /// "dc in centre dc of shell, skip 2": the rest of the shell is what is skipped.
    pub(super) fn back_into_group(&mut self, skip: Where) {
        if let (Some((inside, end)), Extent::Next(n)) = (self.left_group.take(), skip.extent)
            && end == self.draft.cursor
            && n as usize == end - inside
            && !matches!(skip.target, Target::Space(_))
        {
            self.draft.cursor = inside;
        }
    }

    /// Passes over stitches or spaces as told.
    pub(super) fn skip(&mut self, place: Where, span: Span) {
        self.back_into_group(place);
        let (from, in_spaces) = (self.draft.cursor, self.draft.in_spaces);
        let at_end = self.next_space(None) + 2 >= self.below.spots.len();
        if at_end && self.skips_turning_links(place) {
            // "ch 2, skip 2 ch, dc in next ch" at the end of a mesh: the links of the turning chain's space.
            self.draft.cursor = self.below.spots.len() - 1;
            self.draft.by_space = true;
            return;
        }
        match place.extent {
            Extent::First(n) => self.skip_first(n, place.target, span),
            Extent::Next(n) | Extent::Bare(n) | Extent::Last(n) => {
                for _ in 0..n {
                    let before = self.draft.consumed;
                    if self.take_spot(place.target, span).is_none() {
                        break;
                    }
                    self.draft.consumed = before;
                    self.draft.skipped += 1;
                }
            }
            _ => {
                let before = self.draft.consumed;
                if self.take_spot(place.target, span).is_some() {
                    self.draft.skipped += 1;
                }
                self.draft.consumed = before;
            }
        }
        if matches!(place.target, Target::Space(_) | Target::Chain) {
            // Spaces passed over as told make no row that is worked in spaces.
            self.draft.in_spaces = in_spaces;
        }
        self.passed = (from, self.draft.cursor);
    }

    /// Passes over the first `n`, the one under a counted turning chain among them.
    fn skip_first(&mut self, n: u32, target: Target, span: Span) {
        let before = self.draft.consumed;
        for _ in (self.draft.cursor as u32)..n.min(super::worker::WIDEST as u32) {
            if self.take_spot(target, span).is_none() {
                break;
            }
            self.draft.skipped += 1;
        }
        self.draft.consumed = before;
    }
}

/// Several legs in one place, closed together.
fn is_cluster(kind: StitchKind) -> bool {
    matches!(
        kind,
        StitchKind::Cluster { .. } | StitchKind::Puff { .. } | StitchKind::Popcorn { .. }
    )
}

/// A post stitch goes round the post, not into the top.
fn posted(anchor: Anchor, act: Act) -> Anchor {
    let front = match act {
        Act::Post(_, Style::FrontPost) | Act::Together(_, _, Style::FrontPost) => true,
        Act::Post(_, Style::BackPost) | Act::Together(_, _, Style::BackPost) => false,
        _ => return anchor,
    };
    match anchor.place {
        Place::Top(of) => Anchor { place: Place::Post { of, front }, ..anchor },
        _ => anchor,
    }
}
