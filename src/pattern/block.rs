//! Blocks of work from corner to corner that a page defines: "Block: ch 6, dc in 4th ch from hook, dc in
//! next 2 ch".

use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Macro;
use super::syntax::Op;
use super::syntax::Repeat;
use super::syntax::Target;
use super::syntax::Times;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;
use crate::source::Span;

/// Blocks that one word of a row may stand for.
const MOST: u32 = 1000;

/// Last words of names of blocks.
const NAMES: [&str; 9] =
    ["block", "blocks", "bl", "blk", "tile", "tiles", "box", "square", "pixel"];

/// The page's own name is one for a block.
pub(super) fn names_block(name: &str) -> bool {
    name.rsplit(' ').next().is_some_and(|word| NAMES.contains(&word))
}

/// A word for one block.
pub(super) fn is_block(t: &Token<'_>) -> bool {
    t.any(&NAMES)
}

/// The line says what a block is, and is no row: a name that ends in a word for a block, then its foot
/// chain worked back along, or a slip stitch and a chain into a space.
pub(super) fn defines_block(t: &[Token<'_>]) -> bool {
    let mark = t.iter().take(10).position(|t| {
        matches!(t.kind, Kind::Stop(':') | Kind::Other('=')) || t.kind == Kind::Dash && !t.glued
    });
    let Some(mark) = mark else { return false };
    let named = t[..mark].iter().take_while(|t| t.kind != Kind::Open).last();
    let heading =
        t[..mark].iter().any(|t| t.any(&["row", "rows", "rnd", "round", "gauge", "size"]));
    if heading || !named.is_some_and(|t| t.any(&NAMES)) {
        return false;
    }
    let lead = ["to", "make", "begin", "work", "first", "a", "an", "by"];
    let begin = mark + 1 + t[mark + 1..].iter().take_while(|t| t.any(&lead)).count();
    let rest = &t[begin..];
    let says = |w: &[&str]| rest.iter().any(|t| t.any(w));
    let number = rest.first().is_some_and(|t| t.number().is_some());
    let first = rest.get(usize::from(number));
    let foot = first.is_some_and(|t| t.any(&["ch", "chain"])) && says(&["hook", "hk"]);
    let slip = first.is_some_and(|t| t.any(&["sl", "slip", "ss"]));
    foot || slip && says(&["ch", "chain"]) && says(&["same", "sp", "space"])
}

/// "Block: ch 3, 3 dc": what a block is made up of, told before the rows that work it.
pub(super) fn tells_block(t: &[Token<'_>]) -> bool {
    let Some(mark) = t.iter().take(4).position(|t| t.kind == Kind::Stop(':')) else { return false };
    let named = mark > 0 && t[mark - 1].any(&NAMES);
    let rest = &t[mark + 1..];
    let says = |w: &[&str]| rest.iter().any(|t| t.any(w));
    named
        && rest.len() < 9
        && says(&["ch", "chain"])
        && says(&["dc", "hdc", "tr", "htr", "sc"])
        && !says(&["in", "into", "turn"])
        && rest.iter().all(|t| t.number().is_none_or(|n| n < 8))
}

/// Puts the stitches of a block in the place of its name: on its own foot chain, or in the space named.
pub(super) fn spell_out(ops: &mut Vec<Op>, macros: &[Macro]) {
    let mut k = 0;
    while k < ops.len() {
        let span = ops[k].span;
        let spelt = match &mut ops[k].act {
            Do::Repeat(repeat) => {
                spell_out(&mut repeat.ops, macros);
                None
            }
            Do::Work { act: Act::Macro(index), each, place } => {
                macros.get(usize::from(*index)).and_then(|m| match in_space(&m.ops) {
                    Some(own) => in_spaces(own, *each, *place, span),
                    None => on_foot(&m.ops).then(|| block(&m.ops, *each, *place, span)),
                })
            }
            _ => None,
        };
        match spelt {
            Some(block) => {
                let len = block.len();
                ops.splice(k..=k, block);
                k += len;
            }
            None => k += 1,
        }
    }
}

/// "Sl st in ch-2 sp, ch 2, 3 hdc in same sp": what the definition works in one space, and that space.
fn in_space(ops: &[Op]) -> Option<(Vec<Op>, Where)> {
    let [Op { act: Do::Work { act: Act::Slip, place, .. }, span }, rest @ ..] = ops else {
        return None;
    };
    if !matches!(place.target, Target::Space(_)) || rest.is_empty() {
        return None;
    }
    let bare = |act, n, span| Op {
        act: Do::Work { act, each: 1, place: Where::of(Extent::Bare(n)) },
        span,
    };
    let mut inner = vec![bare(Act::Slip, 1, *span)];
    for op in rest {
        inner.push(match &op.act {
            Do::Chain { links, .. } => {
                Op { act: Do::Chain { links: *links, counts: None }, span: op.span }
            }
            Do::Work { act: act @ Act::Post(..), each, place } => match place.extent {
                Extent::Bare(n) => bare(*act, n.saturating_mul(*each), op.span),
                Extent::Same | Extent::Next(1) => bare(*act, *each, op.span),
                _ => return None,
            },
            Do::Turn | Do::NoTurn => continue,
            _ => return None,
        });
    }
    Some((inner, Where { extent: Extent::Next(1), ..*place }))
}

/// Such blocks in the spaces that `place` tells.
fn in_spaces(own: (Vec<Op>, Where), each: u32, place: Where, span: Span) -> Option<Vec<Op>> {
    let (inner, space) = own;
    let one = Op { act: Do::OnePlace(inner, space), span };
    let n = match place.extent {
        Extent::Bare(n) | Extent::Next(n) => n.max(each).clamp(1, MOST),
        Extent::All | Extent::AllBut(_) => {
            let repeat = Repeat {
                ops: vec![one],
                cut: None,
                times: Times::ToEnd,
                ending: Vec::new(),
                within: false,
            };
            return Some(vec![Op { act: Do::Repeat(Box::new(repeat)), span }]);
        }
        _ => return None,
    };
    Some(vec![one; n as usize])
}

/// The definition works back along a chain of its own.
fn on_foot(ops: &[Op]) -> bool {
    matches!(ops.first().map(|op| &op.act), Some(Do::Chain { .. })) && foot_height(ops).is_some()
}

/// Links of the chain beside the posts: those before the hook.
fn foot_height(ops: &[Op]) -> Option<u32> {
    ops.iter().find_map(|op| match &op.act {
        Do::Work { place: Where { extent: Extent::FromHook(n), .. }, .. } => {
            Some(n.saturating_sub(1))
        }
        _ => None,
    })
}

fn block(ops: &[Op], each: u32, place: Where, span: Span) -> Vec<Op> {
    let here = |act| Op { act, span };
    if let (Target::Space(_), Some(links)) = (place.target, foot_height(ops)) {
        let posts = ops.iter().filter_map(|op| match &op.act {
            Do::Work { act, each, place } => match place.extent {
                Extent::Next(n) | Extent::Bare(n) | Extent::Last(n) => Some((*act, n * each)),
                _ => Some((*act, *each)),
            },
            _ => None,
        });
        let bare = |(act, n)| here(Do::Work { act, each: 1, place: Where::of(Extent::Bare(n)) });
        let mut inner = vec![bare((Act::Slip, 1)), here(Do::Chain { links, counts: None })];
        inner.extend(posts.map(bare));
        return vec![here(Do::OnePlace(inner, place))];
    }
    let n = match place.extent {
        Extent::Bare(n) | Extent::Next(n) => n.max(each),
        _ => each,
    };
    let once = || ops.iter().map(|op| here(op.act.clone()));
    (0..n.clamp(1, MOST)).flat_map(|_| once()).collect()
}
