//! Fabrics by name: garter, stockinette, seed, ribs, and "work even", on the stitches there are.

use super::graph::PieceRow;
use super::graph::Side;
use super::kind::StitchKind;
use super::maker::Body;
use super::maker::MakerAtWork;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Fabric;
use crate::pattern::Op;
use crate::pattern::Repeat;
use crate::pattern::Times;
use crate::pattern::Where;
use crate::source::Span;

/// Share of a row's stitches that must look alike for the row to be called plain.
const PLAIN: f64 = 0.8;

impl<'a> MakerAtWork<'a> {
    /// Instructions for a fabric by name on the row about to be worked.
    pub(super) fn fabric_ops(&self, fabric: Fabric, body: Body<'a>) -> Vec<Op> {
        let right = self.facing.is_none_or(|(side, _)| side == Side::Wrong) || body.round;
        if body.change != (0, 0) {
            return self.shaped_ops(fabric, body, right);
        }
        let all = |act| vec![work(act, Extent::All, body.span)];
        match fabric {
            Fabric::Garter => all(knit(body.round && !right)),
            Fabric::Purled => all(knit(true)),
            Fabric::Stockinette => all(knit(!right)),
            Fabric::ReverseStockinette => all(knit(right)),
            Fabric::Seed => self.alternating((1, 1), !self.meets_purl(right), body.span),
            Fabric::Rib(..) if self.in_rib() => all(Act::AsFaces),
            Fabric::Rib(a, b) => self.alternating((a, b), false, body.span),
            Fabric::Established => match self.established() {
                Some(fabric) => self.fabric_ops(fabric, body),
                None => all(Act::AsFaces),
            },
        }
    }

    /// The fabric with increases or decreases in its first and last stitches.
    fn shaped_ops(&self, fabric: Fabric, body: Body<'a>, right: bool) -> Vec<Op> {
        let fabric = match fabric {
            Fabric::Established => self.established(),
            other => Some(other),
        };
        let inside = match fabric {
            Some(Fabric::Garter) => knit(false),
            Some(Fabric::Purled) => knit(true),
            Some(Fabric::Stockinette) => knit(!right),
            Some(Fabric::ReverseStockinette) => knit(right),
            _ => Act::AsFaces,
        };
        let edge = |n: i32| {
            let act =
                if n > 0 { Act::KnitInto(2) } else { Act::KnitTogether { of: 2, purl: false } };
            (n != 0).then(|| work(act, Extent::Next(n.unsigned_abs()), body.span))
        };
        let (first, last) = body.change;
        let kept = if last < 0 { 2 * last.unsigned_abs() } else { last.unsigned_abs() };
        let mut ops: Vec<Op> = edge(first).into_iter().collect();
        ops.push(work(inside, Extent::AllBut(kept), body.span));
        ops.extend(edge(last));
        ops
    }

    /// `a` knit, `b` purl (or the other way about) over all stitches, the last pass as far as it goes.
    fn alternating(&self, (a, b): (u8, u8), purl_first: bool, span: Span) -> Vec<Op> {
        let (a, b) = (u32::from(a), u32::from(b));
        let n = self.below.as_ref().map_or(0, |b| b.stitches());
        let one = |purl, n| work(knit(purl), Extent::Next(n), span);
        let pass = vec![one(purl_first, a), one(!purl_first, b)];
        let (times, left) = (n / (a + b), n % (a + b));
        let repeat = Repeat {
            ops: pass,
            cut: None,
            times: Times::Total(times),
            ending: Vec::new(),
            within: false,
        };
        let mut ops = Vec::new();
        if times > 0 {
            ops.push(Op { act: Do::Repeat(Box::new(repeat)), span });
        }
        if left > 0 {
            ops.push(one(purl_first, left.min(a)));
        }
        if left > a {
            ops.push(one(!purl_first, left - a));
        }
        ops
    }

    /// The first stitch met looks like a purl to the maker; the right side faces when `right`.
    fn meets_purl(&self, right: bool) -> bool {
        let last = self.below.as_ref().and_then(|b| b.spots.last()).map(|s| s.kind);
        match last {
            Some(StitchKind::Knit { purl, .. }) => purl == right,
            _ => true,
        }
    }

    /// The row below holds both knits and purls.
    fn in_rib(&self) -> bool {
        let Some(below) = &self.below else { return false };
        let has = |p| {
            below.spots.iter().any(|s| matches!(s.kind, StitchKind::Knit { purl, .. } if purl == p))
        };
        self.facing.is_some() && has(true) && has(false)
    }

    /// The plain fabric of the last rows, when they are plain.
    fn established(&self) -> Option<Fabric> {
        let last = self.history.iter().rev().find_map(|b| b.fabric);
        let here = self.history.iter().rev().nth(1).and_then(|b| b.fabric);
        if let Some(fabric) = here.filter(|f| *f != Fabric::Established) {
            return Some(fabric);
        }
        let rows: Vec<bool> =
            self.piece.rows.iter().rev().take(2).map_while(|r| self.purl_row(r)).collect();
        match rows.as_slice() {
            [false, false] => Some(Fabric::Stockinette),
            [true, true] => Some(Fabric::ReverseStockinette),
            [_, _] => Some(Fabric::Garter),
            _ => last.filter(|f| *f != Fabric::Established),
        }
    }

    /// The row shows purls (or knits) on the right side nearly all along; `None` when it is mixed.
    fn purl_row(&self, row: &PieceRow) -> Option<bool> {
        let stitches = &self.piece.stitches[row.stitches.0 as usize..row.stitches.1 as usize];
        let purl = |s: &super::graph::Stitch| {
            if let StitchKind::Knit { purl, .. } = s.kind { Some(purl) } else { None }
        };
        let seen: Vec<bool> = stitches.iter().filter_map(purl).collect();
        let purls = seen.iter().filter(|&&p| p).count() as f64;
        let share = purls / seen.len().max(1) as f64;
        if seen.is_empty() || share > 1.0 - PLAIN && share < PLAIN {
            return None;
        }
        Some(share >= PLAIN)
    }
}

fn knit(purl: bool) -> Act {
    Act::Knit { purl, twisted: false }
}

fn work(act: Act, extent: Extent, span: Span) -> Op {
    Op { act: Do::Work { act, each: 1, place: Where::of(extent) }, span }
}
