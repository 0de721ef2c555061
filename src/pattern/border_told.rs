//! Borders told in prose, where their words are understood only in part as stitches.

use super::clauses::evenly_spread;
use super::row::Read;
use super::row::RowReader;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Heading;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Reach;
use super::syntax::Target;
use super::token::Token;
use crate::source::Span;

impl RowReader<'_> {
    /// The heading and ops of a border told in words: along three sides, or all the way round.
    pub(super) fn border_told(
        &self,
        heading: &Heading,
        t: &[Token<'_>],
        read: &Read,
        body: Span,
    ) -> Option<(Heading, Vec<Op>)> {
        if let Some(ops) = self.part_border(t) {
            // It is no round, whatever it is called.
            return Some((Heading { round: false, ..heading.clone() }, ops));
        }
        let edging = self.told_edging(t, read)?;
        let mut heading = self.as_round(heading.clone(), t);
        if matches!(heading.numbers, Numbers::Step | Numbers::Next) && heading.name.is_none() {
            heading.numbers = edging.numbers;
        }
        let mut ops = edging.ops;
        if evenly_spread(t) {
            ops.push(Op { act: Do::Along(Reach::Ends, 0), span: body });
        }
        Some((heading, ops))
    }

    /// The border that prose tells of, where `read` understood the words only in part.
    fn told_edging(&self, tokens: &[Token<'_>], read: &Read) -> Option<super::edging::Edging> {
        let corner = |op: &Op| {
            matches!(&op.act, Do::Work { place, .. } | Do::OnePlace(_, place)
                if place.target == super::syntax::Target::Corner)
        };
        let whole = |op: &Op| {
            matches!(&op.act, Do::Work { place, .. }
                if place.extent == Extent::All && !corner(op) || place.extent == Extent::ToSpace)
                || matches!(&op.act, Do::Repeat(_))
        };
        // "49 sc evenly down the side edge" is no 49 in each stitch.
        let crowded = |op: &Op| {
            matches!(&op.act, Do::Work { each, place, .. }
                if *each > 9 && matches!(place.extent, Extent::All | Extent::ToSpace))
        };
        let partly = super::edging::tells_sides(&self.cx, tokens)
            || super::edging::each_block(&self.cx, tokens).is_some()
            || !read.unread.is_empty()
            || read.ops.iter().any(|op| match &op.act {
                Do::Repeat(repeat) => repeat.ops.iter().any(crowded),
                _ => crowded(op),
            })
            || !read.ops.iter().any(|op| corner(op) || matches!(op.act, Do::Repeat(_)))
            || !read.ops.iter().any(whole);
        if partly && !groups_alone(read) { self.edging(tokens) } else { None }
    }
}

/// Every word is understood, and all that is worked is groups into spaces or corners: "ch 3, (2 dc, ch 2, 3 dc) in same
/// sp, (3 dc, ch 2, 3 dc) in each ch-2 sp around" is a round of a motif, and no border that only tells its corners.
fn groups_alone(read: &Read) -> bool {
    let space = |target| matches!(target, Target::Space(_) | Target::Corner);
    let group = |op: &Op| match &op.act {
        Do::Work { act: Act::Slip, .. } => true,
        Do::Work { place, .. } => place.extent == Extent::Same,
        Do::OnePlace(_, place) => place.extent == Extent::Same || space(place.target),
        Do::Repeat(_) | Do::Along(..) | Do::PickUp(..) => false,
        _ => true,
    };
    let begun = |op: &Op| matches!(&op.act, Do::Work { place, .. } | Do::OnePlace(_, place) if place.extent == Extent::Same);
    let each = |op: &Op| matches!(&op.act, Do::OnePlace(_, place) if place.extent == Extent::All && space(place.target));
    read.unread.is_empty()
        && read.ops.iter().all(group)
        && read.ops.iter().any(begun)
        && read.ops.iter().any(each)
}
