//! Slip stitches along the top of a block to the space they lead to: "sl st across to ch-3 sp", "ss across 3 tr to
//! 3-ch sp", "sl st across top of block".

use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Target;
use super::token::Kind;
use super::token::Token;

/// Words between "across" and the space at most.
const FAR: usize = 8;

/// The words without those that only say where slip stitches across lead to: what is worked next says it too.
pub(super) fn without_goal(t: Vec<Token<'_>>) -> Vec<Token<'_>> {
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(t.len());
    let mut k = 0;
    while k < t.len() {
        kept.push(t[k]);
        k += 1;
        if k > 1 && slips(&t[..k - 1]) && t[k - 1].any(&["across", "over", "along"]) {
            let end = k + t[k..].iter().take(FAR).position(Token::is_stop).unwrap_or(0);
            let goal = (k..end).find(|&j| t[j].is("to") && is_space(&t[j + 1..end]));
            let top = t[k..end].iter().take_while(|t| t.any(&TOP)).count();
            let block =
                k + top < end && t[k + top].any(&["block", "blocks", "tile", "tiles", "square"]);
            let told = goal.unwrap_or(end);
            if (block || goal.is_some()) && slips_next(&t[end..]) {
                kept.extend(t[k..told].iter().filter(|_| !block));
                k = end;
            }
        }
    }
    kept
}

/// The words go on with a slip stitch, which goes into the space; else these go into it themselves.
fn slips_next(t: &[Token<'_>]) -> bool {
    let mark = |t: &&Token<'_>| {
        t.is_stop() || matches!(t.kind, Kind::Star(_) | Kind::Open) || t.any(&["then", "and"])
    };
    let next = &t[t.iter().take_while(mark).count()..];
    slips(&next[..next.len().min(1)]) || slips(&next[..next.len().min(2)])
}

/// What stands before the block that slip stitches lie on.
const TOP: [&str; 8] = ["top", "of", "the", "first", "last", "previous", "this", "next"];

/// The words end in a slip stitch.
fn slips(t: &[Token<'_>]) -> bool {
    match t {
        [.., sl, st] if sl.any(&["sl", "slip"]) && st.any(&["st", "sts", "stitch"]) => true,
        [.., one] => one.any(&["ss", "slst"]),
        [] => false,
    }
}

/// "next ch-3 sp", "3-ch space": nothing but a space.
fn is_space(t: &[Token<'_>]) -> bool {
    let word = |t: &Token<'_>| {
        t.any(&["next", "the", "first", "following", "ch", "sp", "space", "loop"])
            || t.kind == Kind::Dash
            || t.number().is_some()
    };
    t.iter().all(word) && t.iter().any(|t| t.any(&["sp", "space", "loop"]))
}

/// "Sl st across, (sl st, ch 3, 3 dc) in next ch-3 sp": the slip stitches end at that space.
pub(super) fn to_space(ops: &mut [Op]) {
    let into_space = |op: &Op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => matches!(place.target, Target::Space(_)),
        Do::Repeat(repeat) => repeat.ops.iter().any(|op| {
            matches!(&op.act, Do::Work { place, .. } | Do::OnePlace(_, place)
                if matches!(place.target, Target::Space(_)))
        }),
        _ => false,
    };
    for k in 0..ops.len() {
        let leads = ops[k + 1..].first().is_some_and(into_space);
        if let Do::Work { act: Act::Slip, place, .. } = &mut ops[k].act
            && leads
            && place.extent == Extent::All
            && place.target == Target::Any
        {
            place.extent = Extent::ToSpace;
        }
    }
}
