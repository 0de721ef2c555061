//! A row back to front: what was worked at its beginning is worked at its end.

use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Repeat;
use crate::pattern::Times;
use crate::pattern::Where;

/// `ops` in the other order. A stretch "to the last 3 sts" becomes one that leaves what comes after it.
pub(super) fn mirrored(ops: &[Op]) -> Vec<Op> {
    let closing = |op: &&Op| matches!(op.act, Do::Turn | Do::NoTurn | Do::FastenOff | Do::Join);
    let worked = ops.iter().filter(|op| !closing(op)).rev().map(one);
    worked.chain(ops.iter().filter(closing).cloned()).collect()
}

fn one(op: &Op) -> Op {
    let place = |place: Where| match place.extent {
        Extent::AllBut(_) => Where { extent: Extent::All, ..place },
        Extent::First(n) => Where { extent: Extent::Last(n), ..place },
        Extent::Last(n) => Where { extent: Extent::First(n), ..place },
        _ => place,
    };
    let act = match &op.act {
        Do::Work { act, each, place: at } => Do::Work { act: *act, each: *each, place: place(*at) },
        Do::OnePlace(ops, at) => Do::OnePlace(mirrored(ops), place(*at)),
        Do::Repeat(repeat) => {
            let times = match repeat.times {
                Times::ToLast(_) => Times::ToEnd,
                times => times,
            };
            Do::Repeat(Box::new(Repeat { ops: mirrored(&repeat.ops), times, ..(**repeat).clone() }))
        }
        other => other.clone(),
    };
    Op { act, span: op.span }
}
