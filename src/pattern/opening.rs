//! Stitches of the page's own that begin a row with a chain, "Beg half shell: ch 3, 2 dc in same st", and whole
//! rows that it gives a name.

use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Macro;
use super::syntax::Op;
use super::syntax::Times;
use super::syntax::Where;

/// Puts what such a stitch stands for in the place of its name where a row begins with it, so that its chain is
/// the turning chain it is meant as.
pub(super) fn spell_out(ops: &mut Vec<Op>, macros: &[Macro]) {
    let passes = |op: &Op| matches!(op.act, Do::Turn | Do::NoTurn | Do::Colour(_) | Do::Marker);
    let Some(k) = ops.iter().position(|op| !passes(op)) else { return };
    let Do::Work { act: Act::Macro(index), each: 1, place } = ops[k].act else { return };
    let Some(own) = macros.get(usize::from(index)) else { return };
    let alone = ops[k + 1..].iter().all(passes);
    if alone && own.ops.iter().any(spans_row) {
        // "SC INC ROW: ch 1, 2 sc in first st, sc in each st to last 2 sts, sc2tog"
        let span = ops[k].span;
        ops.splice(
            k..=k,
            own.ops.iter().map(|op| Op { act: op.act.clone(), span }).collect::<Vec<_>>(),
        );
        return;
    }
    let begins = matches!(own.ops.first().map(|op| &op.act), Some(Do::Chain { links, .. }) if (2..8).contains(links));
    let posts = own.ops.iter().skip(1).all(|op| {
        matches!(
            &op.act,
            Do::Work { act: Act::Post(..) | Act::Together(..), .. }
                | Do::Chain { .. }
                | Do::Stated(_)
        )
    });
    let at_first = matches!(place.extent, Extent::First(1) | Extent::Next(1) | Extent::Bare(1));
    if !(begins && posts && at_first && own.ops.len() > 1) {
        return;
    }
    let span = ops[k].span;
    let spelt = own.ops.iter().map(|op| Op { act: in_same(&op.act, place), span });
    ops.splice(k..=k, spelt.collect::<Vec<_>>());
}

/// It goes on to the end of a row, or to some stitches before it.
fn spans_row(op: &Op) -> bool {
    match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => {
            matches!(place.extent, Extent::All | Extent::AllBut(_))
        }
        Do::Repeat(repeat) => matches!(repeat.times, Times::ToEnd | Times::ToLast(_)),
        _ => false,
    }
}

/// The posts of the stitch stand in the place its chain stands in.
fn in_same(act: &Do, place: Where) -> Do {
    match act {
        // "Beg dec: ch 2, dc2tog" takes stitches of its own.
        Do::Work { act: Act::Together(..), .. } => act.clone(),
        Do::Work { act, each, place: own } => {
            let n = if let Extent::Bare(n) = own.extent { n.max(1) } else { 1 };
            Do::Work {
                act: *act,
                each: each.saturating_mul(n),
                place: Where { extent: Extent::Same, ..place },
            }
        }
        other => other.clone(),
    }
}
