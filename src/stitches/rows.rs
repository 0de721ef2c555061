//! One row after another: foundations, the readings of a row tried, the best one kept.

use super::asks::first_skip;
use super::asks::slips_markers;
use super::asks::without_first_skip;
use super::below::Below;
use super::border::leaving;
use super::corner::corner_op;
use super::corner::names_corners;
use super::corner::spots_of;
use super::draft::Draft;
use super::draft::UNCHANGED;
use super::draft::slip_fabric;
use super::fault::Words;
use super::graph::PieceRow;
use super::graph::RowId;
use super::graph::Side;
use super::maker::Body;
use super::maker::MOST_STITCHES;
use super::maker::MakerAtWork;
use super::needle::drops;
use super::reading::Reading;
use super::reading::readings;
use super::ready::Ready;
use super::start::Footing;
use super::start::chain_below;
use super::start::first_height;
use super::start::footing;
use super::start::from_hook;
use super::start::said;
use super::worker::Worker;
use crate::diagnostic::Severity;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Height;
use crate::pattern::Op;
use crate::pattern::Where;

/// A draft with what it was worked on.
pub(super) struct Attempt {
    pub(super) draft: Draft,
    pub(super) reading: Reading,
    pub(super) footing: Option<Footing>,
    pub(super) unworked: u32,
    /// Places at the end of the row below that nothing was worked into, told or not.
    pub(super) untouched: usize,
    pub(super) had: u32,
    /// What working it has cost, in spots met and looked at.
    pub(super) cost: u64,
}

impl Attempt {
    /// All used, nothing missing.
    pub(super) fn exact(&self) -> bool {
        self.unworked == 0
            && self.draft.over == 0
            && self.draft.jumped == 0
            && self.draft.turning_missed.is_none()
    }
}

impl<'a> MakerAtWork<'a> {
    /// Moves a draft's stitches into the piece as row `row`, which begins in the colour in work.
    pub(super) fn take_stitches(&mut self, draft: Draft, row: RowId) {
        let legs = self.piece.anchors.len() as u32;
        let mut colours: Vec<(u16, u16)> = vec![(UNCHANGED, self.piece_colour())];
        for stitch in &draft.stitches {
            if !colours.iter().any(|(own, _)| *own == stitch.colour) {
                colours.push((stitch.colour, self.colour_in_piece(Some(stitch.colour))));
            }
        }
        let of = |own: u16| colours.iter().find(|(c, _)| *c == own).map_or(0, |(_, c)| *c);
        self.piece.anchors.extend(draft.anchors);
        self.piece.stitches.extend(draft.stitches.into_iter().map(|mut s| {
            s.row = row;
            s.colour = of(s.colour);
            s.legs = (s.legs.0 + legs, s.legs.1 + legs);
            s
        }));
    }

    /// Works the next row and takes it into the piece.
    pub(super) fn next_row(&mut self, body: Body<'a>) {
        if self.stopped {
            return;
        }
        if super::pickup::picks_up(body.ops) {
            return self.pick_up(body);
        }
        self.history.push(body);
        let body = self.own_foundation(body);
        let closed = self.below.as_ref().is_some_and(|b| b.ring.is_some())
            || self.piece.rows.last().is_some_and(|r| r.round);
        let joins = body.ops.iter().any(|op| op.act == Do::Join)
            || closed && super::asks::closes_with_slip(body.ops);
        // A border with corners that is joined goes round, whatever it is called.
        let closes = joins && (closed || super::asks::turns_corners(body.ops));
        let body = Body { round: body.round || closes && self.foundation.is_none(), ..body };
        if let Some(colour) = body.colour {
            self.colour = Some(colour);
        }
        if body.ops.is_empty() && body.fabric.is_none() {
            self.next += 1;
            return;
        }
        if self.foundation_stitches(body) {
            return;
        }
        self.go_to_other_side(body.ops);
        if let Some((links, span)) =
            self.foundation.filter(|&(n, _)| n as usize > super::worker::WIDEST)
        {
            let _ = links;
            self.stopped = true;
            return self.too_large(span);
        }
        let ready = self.ready(body);
        let starts =
            self.foundation.is_some() && (self.below.is_none() || from_hook(&ready.ops).is_some());
        if self.below.is_none() && !starts {
            return self.no_foundation(body);
        }
        let striped = if body.colour.is_none() { self.stripe() } else { None };
        let told = || self.row_colour().filter(|_| body.colour.is_none());
        self.colour = striped.or_else(told).or(self.colour);
        let (mut side, mut left_to_right, turned) = self.face(body, starts);
        let along = body.round || leaving(&ready.ops).is_some();
        if along && !starts && self.edge(&ready.ops, body).is_some() {
            (side, left_to_right) = (Side::Right, false);
        }
        let mut attempts = self.attempts(body, &ready, side, turned, starts);
        if !attempts.iter().any(|a| a.exact() && self.count_fits(&a.draft, body)) {
            self.by_claim(&mut attempts, body, &ready, (side, turned), starts);
        }
        self.cost += attempts.iter().map(|a| a.cost).sum::<u64>();
        let best = self.choose(&mut attempts, body);
        let chosen = attempts.swap_remove(best);
        if !chosen.exact() {
            self.ask_which(body, &chosen, &attempts, names_corners(&ready.ops));
        }
        self.commit(body, &ready, chosen, (side, left_to_right, turned), starts);
    }

    /// Side, direction, and whether the work is turned before this row.
    fn face(&mut self, body: Body<'a>, starts: bool) -> (Side, bool, bool) {
        let side_of = |right| if right { Side::Right } else { Side::Wrong };
        let round = body.round;
        let Some((last, last_direction)) = self.facing.filter(|_| !starts) else {
            let first = self.first_side.take().unwrap_or(true);
            let side = side_of(body.right_side.unwrap_or(first));
            return (side, side == Side::Wrong, !round);
        };
        let mut turned = self.turn.unwrap_or(!round);
        let stated = body.right_side.map(side_of);
        let flip = |s: Side| if s == Side::Right { Side::Wrong } else { Side::Right };
        let mut side = if turned { flip(last) } else { last };
        if let Some(stated) = stated
            && stated != side
            && !round
        {
            if self.fresh {
                turned = !turned;
                side = stated;
            } else {
                self.side_disagrees(body, side);
            }
        }
        (side, if turned { !last_direction } else { last_direction }, turned)
    }

    fn side_disagrees(&mut self, body: Body<'a>, side: Side) {
        let name = |s: Side| if s == Side::Right { "RS" } else { "WS" };
        let other = if side == Side::Right { Side::Wrong } else { Side::Right };
        self.say(
            "side-disagrees",
            Severity::Warning,
            body.span,
            Words {
                message: format!(
                    "the row is marked {}, but the rows before it make it {}",
                    name(other),
                    name(side)
                ),
                expected: name(side).into(),
                found: name(other).into(),
                fit: "a row is missing or doubled before it, or the mark is wrong".into(),
            },
        );
    }

    /// The row worked under every reading its words allow, until one fits.
    pub(super) fn attempts(
        &mut self,
        body: Body<'a>,
        ready: &Ready<'_>,
        side: Side,
        turned: bool,
        starts: bool,
    ) -> Vec<Attempt> {
        let spaces = self.below.as_ref().is_some_and(|b| b.spaces() > 0) && !starts && !self.knit;
        let silent = self.silent_turning(ready, starts);
        let led = ready.led > 0 && !body.round;
        let under = ready.turning.is_some()
            && !starts
            && (led || first_skip(&ready.ops[ready.led..]).is_some());
        let endings = super::reading::Doubts::of(&ready.ops).endings;
        let choices = self.pattern.header.readings;
        // A row worked again is read as its printed count had it read the first time.
        let preferred = self.settled.get(&body.span.start).copied().unwrap_or(self.preferred);
        let list = readings(&ready.ops, spaces, silent, under, preferred, choices);
        let mut attempts: Vec<Attempt> = Vec::new();
        for reading in list {
            let attempt = self.attempt(ready, reading, (side, turned), starts, body);
            let fits = attempt.exact() && self.count_fits(&attempt.draft, body);
            let whole = attempt.untouched == 0 || !endings;
            attempts.push(attempt);
            if fits && whole {
                return attempts;
            }
        }
        // "Ch 21, sc 20": the chain for the turn is passed without a word.
        let left = attempts[0].unworked;
        if starts && (1..=4).contains(&left) && from_hook(&ready.ops).is_none() {
            let reading = Reading { passed: left, ..self.preferred };
            let attempt = self.attempt(ready, reading, (side, turned), starts, body);
            if attempt.exact() {
                attempts.push(attempt);
            }
        }
        attempts
    }

    /// What the house rule says of a silent turning chain; `None` when it is stated or there is none.
    fn silent_turning(&self, ready: &Ready<'_>, starts: bool) -> Option<bool> {
        if starts {
            let height = first_height(&ready.ops)?;
            let stated = ready.ops.iter().any(|op| matches!(op.act, Do::Stated(_)));
            let foot = footing(100, &ready.ops, height, Reading::default());
            return (!stated && foot.skipped > 1).then_some(foot.counts);
        }
        let turning = ready.turning?;
        if said(turning, &self.pattern.rules).is_some() || turning.links == 1 {
            return None;
        }
        let height = first_height(&ready.ops).unwrap_or(Height::Double);
        let tops = self.pattern.rules.tops;
        Some(super::start::house_rule(turning.links, height, &ready.ops, tops).0)
    }

    fn attempt(
        &self,
        ready: &Ready<'_>,
        reading: Reading,
        face: (Side, bool),
        starts: bool,
        body: Body<'a>,
    ) -> Attempt {
        let ((side, turned), round) = (face, body.round);
        let height = first_height(&ready.ops).unwrap_or(Height::Single);
        let foot = self
            .foundation
            .filter(|_| starts)
            .map(|(links, _)| footing(links, &ready.ops, height, reading))
            .map(|foot| {
                if self.spaced.take_skipped(foot, height, &ready.ops) {
                    foot.as_space()
                } else {
                    foot
                }
            });
        let along = round || leaving(&ready.ops).is_some();
        let edge = if along && !starts && !self.knit { self.edge(&ready.ops, body) } else { None };
        let met = match foot {
            _ if edge.is_some() => edge.clone().unwrap_or_default(),
            Some(foot) => {
                chain_below(foot.base, self.piece.stitches.len() as u32).met(!round, false)
            }
            None => self.below.as_ref().map(|b| b.met(turned, reading.links)).unwrap_or_default(),
        };
        let met = if drops(&ready.ops) { met.without_wraps() } else { met };
        let older: Vec<Below> = self.older_met(turned);
        let right = side == Side::Right;
        let closed = round && !self.knit && edge.is_none() && foot.is_none() && met.ring.is_none();
        let moved = closed.then(|| {
            let mut ahead = Worker::new(self.pattern, &met, &older, reading, right, self.knit);
            ahead.first = self.piece.stitches.len() as u32;
            ahead.round = round;
            super::round::moved(&mut ahead, &ready.ops)
        });
        let (met, way) = match moved.flatten() {
            Some(moved) => (moved.below, Some((moved.ops, moved.way))),
            None => (met, None),
        };
        let mut worker = Worker::new(self.pattern, &met, &older, reading, right, self.knit);
        if turned && foot.is_none() && edge.is_none() {
            worker.draft.cursor = met.behind;
        }
        worker.first = self.piece.stitches.len() as u32 + foot.map_or(0, |f| f.base);
        worker.step = body.step;
        worker.inner = body.inner;
        worker.spread =
            body.evenly.and_then(|evenly| super::spread::Spread::over(evenly, met.stitches()));
        worker.round = round;
        worker.slips = slips_markers(&ready.ops);
        worker.corner = corner_op(&ready.ops).map(|op| (op, spots_of(op, &met, round)));
        worker.corners_apart = names_corners(&ready.ops);
        let mut lead = way.map_or(0, |(ops, way)| {
            worker.arrive(way, &ready.ops[..ops]);
            ops
        });
        if let Some(foot) = foot {
            if self.spaced.take_skipped(foot, height, &ready.ops) {
                worker.space_beside(foot, body.span);
            } else {
                worker.stand(foot, height, &ready.ops, self.blocks);
            }
        } else if let Some(turning) = ready.turning {
            if self.spaced.take(turning.links, height, &ready.ops) {
                worker.chain(turning.links, turning.span);
            } else if ready.led > 0 && !round && !self.blocks {
                worker.rise(turning, &ready.ops, ready.led);
                lead = ready.led;
            } else {
                worker.begin(turning, &ready.ops);
            }
        }
        let counted = matches!(worker.draft.start, super::graph::RowStart::ChainCounts(_));
        let passes = foot.is_some() || reading.under_chain && counted && ready.turning.is_some();
        let ops = super::slips::past_base(&ready.ops[lead..], counted && ready.turning.is_some());
        let skipped = if passes { without_first_skip(&ops, foot.is_some()) } else { ops };
        let far =
            foot.filter(|_| round).map(|foot| super::oval::far_side(foot, worker.first_link(foot)));
        let turn = far.as_ref().and_then(|_| super::oval::turns_the_end(&skipped));
        let (near, back) = skipped.split_at(turn.unwrap_or(skipped.len()));
        self.run_ready(&mut worker, near, edge.is_some());
        let mut had = met.stitches();
        if let (Some(far), Some(_)) = (&far, turn) {
            worker = worker.onto(far);
            worker.run(back, 0);
            had += far.stitches();
        }
        let unworked = match turn {
            _ if self.blocks => 0,
            Some(_) => worker.left_on_far_side(),
            None => worker.unworked(round),
        };
        let untouched = worker.below.spots.len().saturating_sub(worker.draft.cursor)
            + worker.draft.passed_spaces
            + worker.draft.passed_groups;
        let cost = worker.cost();
        let mut draft = worker.draft;
        if !draft.in_spaces {
            draft.jumped += draft.named;
        }
        if !self.blocks && lead == 0 {
            slip_fabric(&mut draft);
        }
        draft.carry_markers(&met);
        Attempt { draft, reading, footing: foot, unworked, untouched, had, cost }
    }

    /// Rows further down as this row meets them: every second one runs the same way.
    fn older_met(&self, turned: bool) -> Vec<Below> {
        let met = |(k, b): (usize, &Below)| b.met(turned && k % 2 == 1, false);
        self.older.iter().take(2).enumerate().map(met).collect()
    }

    /// Works the row; on the way round a piece, slip stitches only travel to the start.
    fn run_ready(&self, worker: &mut Worker<'_>, ops: &[Op], around: bool) {
        if around {
            let travels = |op: &&Op| !matches!(op.act, Do::Work { act: Act::Slip, .. });
            // "Join with sc in any st": the first stitch of those told after it.
            let standing = |op: &&Op| {
                matches!(op.act, Do::Work { act: Act::Post(..), each: 1, place }
                    if place == Where::next(1))
            };
            let first = ops.iter().position(|op| travels(&op) && matches!(op.act, Do::Work { .. }));
            let kept = ops
                .iter()
                .enumerate()
                .filter(|(k, op)| travels(op) && !(Some(*k) == first && standing(op)));
            let kept: Vec<Op> = kept.map(|(_, op)| op.clone()).collect();
            worker.run(&kept, 0);
        } else {
            worker.run(ops, 0);
        }
    }

    /// The first attempt that fits all evidence, else the first that is exact, else the first.
    fn choose(&mut self, attempts: &mut [Attempt], body: Body<'a>) -> usize {
        let last = attempts.len() - 1;
        let fits = |a: &Attempt| a.exact() && self.count_fits(&a.draft, body);
        if fits(&attempts[last]) && attempts[last].untouched == 0 {
            return last;
        }
        let fitting = (0..=last).filter(|&k| fits(&attempts[k]));
        if let Some(k) = fitting.min_by_key(|&k| attempts[k].untouched) {
            return k;
        }
        let counted = attempts.iter().position(|a| {
            body.count.is_some() && self.count_fits(&a.draft, body) && a.draft.over == 0
        });
        let exact = attempts.iter().position(Attempt::exact);
        exact.or(counted).unwrap_or(0)
    }

    /// Takes the row into the piece, checks it and makes ready for the next.
    pub(super) fn commit(
        &mut self,
        body: Body<'a>,
        ready: &Ready<'_>,
        chosen: Attempt,
        face: (Side, bool, bool),
        starts: bool,
    ) {
        let (side, left_to_right, _) = face;
        // The chain under the row keeps the colour it was made in, when one was named for it.
        self.colour = self.colour.or(chosen.draft.first_colour);
        if let (Some(foot), Some((_, span))) = (chosen.footing, self.foundation) {
            self.lay_chain(foot.base, span, !left_to_right);
            self.foundation = None;
            self.older.clear();
        }
        self.colour = chosen.draft.first_colour.or(self.colour);
        if let Some(colour) = self.colour {
            self.worked_in.entry(body.span.start).or_insert(colour);
        }
        if chosen.draft.too_large
            || self.piece.stitches.len() + chosen.draft.stitches.len() > MOST_STITCHES
        {
            self.stopped = true;
            return self.too_large(body.span);
        }
        self.check(body, &chosen, ready);
        self.report_reading(body, ready, &chosen, starts);
        let row = RowId(self.piece.rows.len() as u32);
        let first = self.piece.stitches.len() as u32;
        let record = self.record(body, &chosen, side, left_to_right, first);
        let below = chosen.draft.below(first, row);
        let below = self.left_over(below, &chosen, face.2);
        self.shaping.note(&chosen, left_to_right, self.piece.rows.len() as u32, self.next, &record);
        let (turn, fastened, colour) =
            (chosen.draft.turn, chosen.draft.fastened, chosen.draft.colour);
        if drops(&ready.ops) {
            self.let_go_wraps();
        }
        self.take_stitches(chosen.draft, row);
        self.piece.rows.push(record);
        if let Some(old) = self.below.replace(below) {
            self.older.insert(0, old);
            self.older.truncate(3);
        }
        self.facing = Some((side, left_to_right));
        self.turn = turn;
        self.fresh = fastened;
        if let Some(colour) = colour {
            self.colour = Some(colour);
        }
        self.next += 1;
    }

    fn record(
        &mut self,
        body: Body<'a>,
        chosen: &Attempt,
        side: Side,
        left_to_right: bool,
        first: u32,
    ) -> PieceRow {
        let draft = &chosen.draft;
        let made = draft.made();
        PieceRow {
            section: self.section,
            label: self.label.clone().unwrap_or_else(|| self.next.to_string()),
            side,
            left_to_right,
            round: body.round
                || draft.joined && self.below.as_ref().is_some_and(|b| b.ring.is_some()),
            stitches: (first, first + draft.stitches.len() as u32),
            start: draft.start,
            finish: draft.bound > 0 && draft.bound >= made,
            colour: self.piece_colour(),
            consumed: draft.consumed,
            made,
            count_as_written: body.count.map(super::count::printed),
            unworked: chosen.unworked,
            placed: draft.over == 0,
            words: body.span,
        }
    }
}

impl Worker<'_> {
    /// Stitches left unworked that ought to have been worked.
    fn unworked(&self, round: bool) -> u32 {
        if self.draft.left_rest {
            return 0;
        }
        let left = self.remaining();
        let from = self.draft.cursor.min(self.below.spots.len());
        let spaces = self.spaces[from] > 0;
        // Links taken for stitches leave no spaces that could say so.
        let linked = self.reading.links && self.spaces[0] == 0;
        let lacy = (self.draft.in_spaces || self.draft.by_space) && (!spaces || round) && !linked;
        if lacy || self.below.ring.is_some() { 0 } else { left }
    }
}
