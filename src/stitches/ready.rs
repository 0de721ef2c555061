//! A row's words made ready to be worked: as called again, and with the chains at its ends taken out.

use std::borrow::Cow;

use super::asks::chain_after_slips;
use super::maker::Body;
use super::maker::MakerAtWork;
use super::needle::trailing_double;
use super::needle::with_double;
use super::start::Turning;
use super::start::chain_out_of_group;
use super::start::from_hook;
use super::start::leading_chain;
use super::start::trailing_chain;
use crate::pattern::Do;
use crate::pattern::Op;

/// A row's words made ready: its turning chain apart.
pub(super) struct Ready<'a> {
    pub(super) ops: Cow<'a, [Op]>,
    pub(super) turning: Option<Turning>,
    /// Ops that stand before the turning chain: slip stitches to where it rises; 0 where there are none.
    pub(super) led: usize,
}

impl<'a> MakerAtWork<'a> {
    /// The row's words with the turning chain taken out, wherever it was written.
    pub(super) fn ready(&mut self, body: Body<'a>) -> Ready<'a> {
        let mut ops = self.called_ops(body);
        let on_flat = self.piece.rows.last().is_some_and(|row| !row.round);
        if self.blocks
            && body.round
            && on_flat
            && let Some(told) = super::block_edge::along_blocks(&ops)
        {
            ops = told.into();
        }
        if self.knit {
            ops = self.without_doubles(body, ops);
            let turning = self.pending.take();
            return self.stated(Ready { ops, turning, led: 0 });
        }
        let next = trailing_chain(&ops);
        if let Some((k, _)) = next {
            ops = match ops {
                Cow::Borrowed(ops) => ops[..k].into(),
                Cow::Owned(mut ops) => {
                    ops.truncate(k);
                    ops.into()
                }
            };
        }
        if !self.blocks
            && self.below.is_some()
            && let Some(out) = chain_out_of_group(&ops)
        {
            ops = out.into();
        }
        let mut turning = self.pending.take();
        self.pending = next.map(|(_, turning)| turning);
        let mut led = 0;
        let spur =
            self.blocks && !body.round && (from_hook(&ops).is_some() || chain_after_slips(&ops));
        let on_chain = self.below.is_none() || from_hook(&ops).is_some();
        if !spur
            && (!on_chain || self.foundation.is_some())
            && let Some((k, own)) = leading_chain(&ops)
        {
            turning = Some(own);
            led = if super::slips::lead(&ops[..k]) { k } else { 0 };
            let mut rest = ops.into_owned();
            rest.remove(k);
            ops = rest.into();
        }
        self.stated(Ready { ops, turning, led })
    }

    /// The row's words as they are called: mirrored, grown, as a fabric, or in another colour.
    fn called_ops(&mut self, body: Body<'a>) -> Cow<'a, [Op]> {
        if let Some(fabric) = body.fabric {
            return self.fabric_ops(fabric, body).into();
        }
        let ops: Cow<'a, [Op]> = if body.mirrored {
            super::mirror::mirrored(body.ops).into()
        } else if let Some(before) = body.before {
            super::growth::grown(before, body.ops, self.worked(body.span)).into()
        } else if body.between > 0 {
            let more = body.between.saturating_mul(self.worked(body.span));
            super::growth::wider(body.ops, more).into()
        } else {
            body.ops.into()
        };
        if body.colour.is_some() { without_own_colour(ops) } else { ops }
    }

    /// A double stitch made after the turn at a row's end begins the next row.
    fn without_doubles(&mut self, body: Body<'a>, mut ops: Cow<'a, [Op]>) -> Cow<'a, [Op]> {
        if let Some(double) = self.double.take() {
            ops = with_double(&ops, double).into();
        }
        if let Some(k) = trailing_double(&ops) {
            self.double = body.ops.get(body.ops.len().saturating_sub(2)..);
            ops = ops[..k].to_vec().into();
        }
        ops
    }

    /// Takes note of what the row states of its chain, and takes over what was stated before.
    fn stated(&mut self, mut ready: Ready<'a>) -> Ready<'a> {
        let said = |op: &Op| if let Do::Stated(said) = op.act { Some(said) } else { None };
        if let (Some(nth), Some(said)) = (from_hook(&ready.ops), ready.ops.iter().find_map(said)) {
            self.stated.entry(nth.saturating_sub(1)).or_insert(said);
        }
        if let Some(turning) = &mut ready.turning {
            match turning.said {
                Some(counts) => {
                    self.stated.insert(turning.links, counts);
                }
                None => turning.said = self.stated.get(&turning.links).copied(),
            }
        }
        ready
    }
}

/// Called again in another colour, the row's own at its beginning does not hold.
fn without_own_colour(ops: Cow<'_, [Op]>) -> Cow<'_, [Op]> {
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..));
    let colour = |op: &Op| matches!(op.act, Do::Colour(_));
    let begun = ops.iter().position(works).unwrap_or(ops.len());
    if !ops[..begun].iter().any(colour) {
        return ops;
    }
    let kept = ops.iter().enumerate().filter(|&(k, op)| k >= begun || !colour(op));
    kept.map(|(_, op)| op.clone()).collect()
}
