//! What work begins with: chains, rings, cast-ons, rows of chain and stitch in one; and fabrics by name.

use super::below::Below;
use super::draft::Draft;
use super::fault::Words;
use super::graph::Place;
use super::graph::RowId;
use super::graph::Side;
use super::graph::StitchId;
use super::kind::StitchKind;
use super::maker::Body;
use super::maker::MOST_STITCHES;
use super::maker::MakerAtWork;
use super::ready::Ready;
use super::rows::Attempt;
use super::start::Turning;
use super::start::from_hook;
use super::start::leading_chain;
use super::start::trailing_chain;
use crate::diagnostic::Severity;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;

/// A joined chain of so many links is no ring about a middle; rings of doilies have up to a dozen.
const TUBE: u32 = 18;

impl<'a> MakerAtWork<'a> {
    /// An unnumbered step: a foundation, a colour, binding off.
    pub(super) fn step(&mut self, body: Body<'a>) {
        if super::pickup::picks_up(body.ops) {
            return self.pick_up(body);
        }
        let works = body.ops.iter().any(|op| {
            matches!(op.act, Do::Work { act, .. } if act != Act::Slip)
                || matches!(
                    op.act,
                    Do::Repeat(_) | Do::OnePlace(..) | Do::BindOff(_) | Do::BindOffToOne
                )
        });
        if works {
            return self.next_row(body);
        }
        self.go_to_other_side(body.ops);
        let mut chain = None;
        for op in body.ops {
            match &op.act {
                Do::Chain { links, .. }
                    if chain.is_none_or(|(n, _)| *links > 1 && (n < 8 || *links > 7)) =>
                {
                    chain = Some((*links, op.span))
                }
                Do::Join if chain.is_some_and(|(n, _)| n < 40) && self.below.is_none() => {
                    let (links, span) = chain.take().unwrap_or_default();
                    self.ring(links, span);
                }
                Do::MagicRing => self.ring(0, op.span),
                Do::CastOn(n) => self.cast_on(*n, op),
                Do::CastOnMore(n) => self.cast_on_more(*n, op),
                Do::Colour(index) => self.colour = Some(*index),
                Do::FastenOff => self.fresh = true,
                Do::Turn => self.turn = Some(true),
                Do::NoTurn => self.turn = Some(false),
                _ => {}
            }
        }
        if let Some((links, span)) = chain {
            if self.below.is_none() || links > 7 || self.fresh && self.laid_for_next(body.span) {
                self.foundation = Some((links, span));
            } else {
                self.pending = Some(Turning { links, said: None, span });
            }
        }
    }

    /// Goes to the underside of the foundation chain, the right side facing, where the words say so.
    pub(super) fn go_to_other_side(&mut self, ops: &[Op]) {
        if self.foundation.is_some() || !ops.iter().any(|op| op.act == Do::OtherSide) {
            return;
        }
        let base = self.piece.rows.iter().rposition(|r| r.label == "foundation" && !r.round);
        let Some(base) = base else { return };
        let row = &self.piece.rows[base];
        let mut spots: Vec<_> = (row.stitches.0..row.stitches.1)
            .map(|k| super::perimeter::edge(StitchId(k), Place::Underside(StitchId(k))))
            .collect();
        // Upside down, the hook comes to the end that was at the left.
        if !row.left_to_right {
            spots.reverse();
        }
        let below = Below { spots, row: RowId(base as u32), ..Below::default() };
        self.below = Some(below);
        (self.older, self.pending, self.turn) = (Vec::new(), None, Some(false));
        // The hook goes round the outside as a border does: leftwards, whichever way up the piece is held.
        self.facing = Some((Side::Right, false));
    }

    pub(super) fn ring(&mut self, links: u32, span: crate::source::Span) {
        // A long chain joined is the foundation of a tube, whose rounds stand on its links.
        if links >= TUBE {
            self.foundation = Some((links, span));
            return;
        }
        let id = self.lay_ring(links, span);
        self.below = Some(Below {
            ring: Some(id),
            row: RowId(self.piece.rows.len() as u32 - 1),
            ..Below::default()
        });
        self.foundation = None;
    }

    /// Loops cast on beside those on the needle stand at the end of the last row.
    fn cast_on_more(&mut self, n: u32, op: &Op) {
        let live = self.below.as_ref().is_some_and(|b| !b.spots.is_empty() && b.ring.is_none());
        if !live || n as usize > super::worker::WIDEST {
            return self.cast_on(n, op);
        }
        let row = RowId(self.piece.rows.len() as u32 - 1);
        let first = self.piece.stitches.len() as u32;
        let mut draft = Draft::default();
        for _ in 0..n {
            draft.push(StitchKind::CastOn, &[], 0, false, op.span);
        }
        let more = draft.below(first, row);
        self.take_stitches(draft, row);
        if let (Some(last), Some(below)) = (self.piece.rows.last_mut(), self.below.as_mut()) {
            last.stitches.1 += n;
            // A worked row is counted before loops are cast on beside it.
            last.made += if last.label == "foundation" { n } else { 0 };
            below.spots.extend(more.spots);
        }
    }

    pub(super) fn cast_on(&mut self, n: u32, op: &Op) {
        if n as usize > super::worker::WIDEST {
            self.stopped = true;
            return self.too_large(op.span);
        }
        let first = self.piece.stitches.len() as u32;
        let row = RowId(self.piece.rows.len() as u32);
        let mut draft = Draft::default();
        for _ in 0..n {
            draft.push(StitchKind::CastOn, &[], 0, false, op.span);
        }
        let below = draft.below(first, row);
        self.take_stitches(draft, row);
        self.foundation_row(first, op.span, true, false);
        self.older.clear();
        (self.body_end, self.sides_taken) = (None, [false; 2]);
        self.below = Some(below);
        self.facing = None;
        self.turn = None;
    }

    pub(super) fn too_large(&mut self, span: crate::source::Span) {
        self.say(
            "too-large",
            Severity::Error,
            span,
            Words {
                message: "the piece grows beyond all bounds".into(),
                expected: format!(
                    "at most {MOST_STITCHES} stitches in a piece and {} in a row",
                    super::worker::WIDEST
                ),
                found: "more".into(),
                fit: "check the number of stitches and of repeats".into(),
            },
        );
    }

    /// Lays what a first row needs when the row's own words contain it ("Ch 21, sc in 2nd ch ...").
    pub(super) fn own_foundation(&mut self, body: Body<'a>) -> Body<'a> {
        let needs = self.below.is_none() && self.foundation.is_none();
        let again = !self.blocks
            && from_hook(body.ops).is_some()
            && leading_chain(body.ops).is_some_and(|(_, t)| t.links > 3);
        if !(needs || again) {
            return body;
        }
        for (k, op) in body.ops.iter().enumerate() {
            match &op.act {
                Do::Chain { links, .. }
                    if body.ops.get(k + 1).is_some_and(|op| op.act == Do::Join) =>
                {
                    self.ring(*links, op.span);
                    return Body { ops: &body.ops[k + 2..], ..body };
                }
                Do::Chain { .. } if first_in_ring(&body.ops[k + 1..]) => {
                    self.ring(0, op.span);
                    return Body { ops: &body.ops[k..], ..body };
                }
                Do::Chain { links, .. } => {
                    self.foundation = Some((*links, op.span));
                    return Body { ops: &body.ops[k + 1..], ..body };
                }
                Do::MagicRing => {
                    self.ring(0, op.span);
                    return Body { ops: &body.ops[k + 1..], ..body };
                }
                Do::CastOn(n) | Do::CastOnMore(n) => {
                    self.cast_on(*n, op);
                    return Body { ops: &body.ops[k + 1..], ..body };
                }
                Do::Colour(index) => self.colour = Some(*index),
                Do::Turn => {}
                Do::Work { place, .. } | Do::OnePlace(_, place)
                    if place.target == Target::Ring && needs =>
                {
                    self.ring(0, op.span);
                    return body;
                }
                _ => return body,
            }
        }
        body
    }

    /// The row after these words counts its first stitch from the hook: a chain so short begins a piece all the same.
    fn laid_for_next(&self, words: crate::source::Span) -> bool {
        let mut rows = self.pattern.items.iter().filter_map(|item| match item {
            crate::pattern::Item::Row(row) => Some(row),
            _ => None,
        });
        rows.find(|row| row.span == words);
        matches!(rows.next().map(|row| &row.content), Some(crate::pattern::Content::Work(ops)) if from_hook(ops).is_some())
    }

    /// The piece is cast on after these words: rows before that say what a pattern is and work nothing.
    fn founded_later(&self, words: crate::source::Span) -> bool {
        let founds = |op: &Op| match op.act {
            Do::CastOn(_) => true,
            Do::Chain { links, .. } => links > 7,
            _ => false,
        };
        self.piece.rows.is_empty() && self.pattern.items.iter().any(|item| match item {
            crate::pattern::Item::Row(row) if row.span.start > words.start => {
                matches!(&row.content, crate::pattern::Content::Work(ops) if ops.iter().any(founds))
            }
            _ => false,
        })
    }

    pub(super) fn no_foundation(&mut self, body: Body<'a>) {
        if body.loose || self.founded_later(body.span) {
            return;
        }
        if self.faults.told("no-foundation") {
            // Every row after it lacks the same.
            self.next += 1;
            return;
        }
        self.say(
            "no-foundation",
            Severity::Error,
            body.span,
            Words {
                message: "this row has nothing to be worked on".into(),
                expected: "a foundation chain, a cast-on or a ring before it".into(),
                found: "none".into(),
                fit: if self.knit {
                    "begin with `Cast on 20 sts`".into()
                } else {
                    "begin with `Ch 21`".into()
                },
            },
        );
        self.next += 1;
    }

    /// Rows of chain and stitch in one: lays the base links and the stitches on them.
    pub(super) fn foundation_stitches(&mut self, body: Body<'a>) -> bool {
        let Some((height, n, op)) = body.ops.iter().find_map(|op| match &op.act {
            Do::Work { act: Act::Foundation(height), each, place } => {
                let n = match place.extent {
                    Extent::Next(n) | Extent::Bare(n) => n,
                    _ => 1,
                };
                Some((*height, n.max(1).saturating_mul((*each).max(1)), op))
            }
            _ => None,
        }) else {
            return false;
        };
        if n as usize > super::worker::WIDEST {
            self.stopped = true;
            self.too_large(op.span);
            return true;
        }
        let side = if body.right_side.unwrap_or(true) { Side::Right } else { Side::Wrong };
        let left_to_right = side == Side::Wrong;
        let base = self.piece.stitches.len() as u32;
        // The row turns back along its chain.
        self.lay_chain(n, op.span, !left_to_right);
        let mut draft = Draft::default();
        for k in 0..n {
            // The chain runs towards the row's first stitch, as one made beforehand does.
            let leg = super::draft::top(super::graph::StitchId(base + n - 1 - k));
            draft.push(StitchKind::Plain(super::making::post(height)), &[leg], 0, false, op.span);
        }
        draft.consumed = n;
        draft.turn = body.ops.iter().any(|op| op.act == Do::Turn).then_some(true);
        let attempt = Attempt {
            draft,
            reading: self.preferred,
            footing: None,
            unworked: 0,
            untouched: 0,
            had: n,
            cost: u64::from(n),
        };
        self.pending = trailing_chain(body.ops).map(|(_, t)| t);
        self.below = None;
        let ready = Ready { ops: body.ops.into(), turning: None, led: 0 };
        self.commit(body, &ready, attempt, (side, left_to_right, false), false);
        true
    }
}

/// The first stitch after the chain goes into a ring that is made with it.
fn first_in_ring(ops: &[Op]) -> bool {
    let place = ops.iter().find_map(|op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => Some(place.target),
        Do::Repeat(repeat) => {
            Some(if first_in_ring(&repeat.ops) { Target::Ring } else { Target::Any })
        }
        _ => None,
    });
    place == Some(Target::Ring)
}
