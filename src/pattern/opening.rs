//! Stitches of the page's own that begin a row with a chain: "Beg half shell: ch 3, 2 dc in same st".

use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Macro;
use super::syntax::Op;
use super::syntax::Where;

/// Puts what such a stitch stands for in the place of its name where a row begins with it, so that its chain is
/// the turning chain it is meant as.
pub(super) fn spell_out(ops: &mut Vec<Op>, macros: &[Macro]) {
    let passes = |op: &Op| matches!(op.act, Do::Turn | Do::NoTurn | Do::Colour(_) | Do::Marker);
    let Some(k) = ops.iter().position(|op| !passes(op)) else { return };
    let Do::Work { act: Act::Macro(index), each: 1, place } = ops[k].act else { return };
    let Some(own) = macros.get(usize::from(index)) else { return };
    let begins = matches!(own.ops.first().map(|op| &op.act), Some(Do::Chain { links, .. }) if (2..8).contains(links));
    let posts = own.ops.iter().skip(1).all(|op| {
        matches!(&op.act, Do::Work { act: Act::Post(..), .. } | Do::Chain { .. } | Do::Stated(_))
    });
    let at_first = matches!(place.extent, Extent::First(1) | Extent::Next(1) | Extent::Bare(1));
    if !(begins && posts && at_first && own.ops.len() > 1) {
        return;
    }
    let span = ops[k].span;
    let spelt = own.ops.iter().map(|op| Op { act: in_same(&op.act, place), span });
    ops.splice(k..=k, spelt.collect::<Vec<_>>());
}

/// The posts of the stitch stand in the place its chain stands in.
fn in_same(act: &Do, place: Where) -> Do {
    match act {
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
