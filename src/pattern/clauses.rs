//! What the clauses of a row that has been read say about each other.

use super::header::CraftWord;
use super::syntax::Act;
use super::syntax::Do;
use super::syntax::Extent;
use super::syntax::Op;
use super::syntax::Target;
use super::syntax::Times;
use super::syntax::Where;
use super::token::Kind;
use super::token::Token;

/// "Knit." alone means the whole row.
pub(super) fn whole_row(craft: CraftWord, ops: &mut [Op]) {
    let mut works = ops.iter().filter_map(|op| {
        if let Do::Work { act, place, .. } = &op.act { Some((*act, *place)) } else { None }
    });
    let (Some((act, place)), None) = (works.next(), works.next()) else { return };
    let whole = matches!(act, Act::Knit { .. } | Act::AsFaces)
        || craft == CraftWord::Crochet && matches!(act, Act::Post(..));
    if whole
        && place.extent == Extent::Bare(1)
        && ops.iter().all(|op| !matches!(op.act, Do::Repeat(_) | Do::OnePlace(..) | Do::Skip(_)))
    {
        for op in ops {
            if let Do::Work { place, .. } = &mut op.act {
                place.extent = Extent::All;
            }
        }
    }
}

/// "Sc in each st across, 3 sc in point": what stands alone after the whole row is worked on the way.
pub(super) fn corner_clause(ops: &mut [Op]) {
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_));
    let all: Vec<usize> = (0..ops.len()).filter(|&k| works(&ops[k])).collect();
    let [.., before, last] = all[..] else { return };
    let whole = matches!(&ops[before].act, Do::Work { place, .. } if place.extent == Extent::All);
    if let Do::Work { place, .. } | Do::OnePlace(_, place) = &mut ops[last].act
        && whole
        && place.target == Target::Corner
        && place.extent == Extent::Next(1)
    {
        place.extent = Extent::All;
    }
}

/// "2 sc in each ch-1 sp and 5 sc in the centre ch-2 sp": what stands alone after all spaces of one sort and
/// goes into one of another is worked on the way.
pub(super) fn space_on_the_way(ops: &mut Vec<Op>) {
    let place = |op: &Op| match &op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => Some(*place),
        _ => None,
    };
    let found = (1..ops.len()).find(|&k| {
        let (Some(all), Some(one)) = (place(&ops[k - 1]), place(&ops[k])) else { return false };
        let sized = matches!((all.target, one.target),
            (Target::Space(Some(a)), Target::Space(Some(b))) if a != b);
        let rest = ops[k + 1..].iter().filter_map(place);
        let closes = rest.into_iter().all(|p| matches!(p.extent, Extent::Last(_)));
        sized && closes && all.extent == Extent::All && one.extent == Extent::Next(1)
    });
    let Some(k) = found else { return };
    let rest = ops[k - 1].clone();
    if let Do::Work { place, .. } | Do::OnePlace(_, place) = &mut ops[k - 1].act {
        place.extent = Extent::ToSpace;
    }
    ops.insert(k + 1, rest);
}

/// "Ch 3, sl st in 3rd ch from hook" after a stitch is a picot on it; `begun` when a stitch stands before `ops`.
pub(super) fn picots(ops: &mut Vec<Op>, begun: bool) {
    picots_in(ops, begun, false);
}

/// As [`picots`]; within a repeat or a group, "ch 3, sl st in last sc made" is one too: the row's last stitch is out of
/// its reach.
fn picots_in(ops: &mut Vec<Op>, begun: bool, within: bool) {
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_));
    let mut begun = begun;
    let mut k = 0;
    while k < ops.len() {
        let folded = match (&ops[k].act, ops.get(k + 1).map(|op| &op.act)) {
            (
                Do::Chain { links, counts: None },
                Some(Do::Work { act: Act::Slip, each: 1, place }),
            ) if begun && (2..9).contains(links) => {
                let back = |n: u32| n == *links || n + 1 == *links;
                let from_hook = matches!(place.extent, Extent::FromHook(n) if back(n));
                let last = within
                    && k > 0
                    && place.extent == Extent::Last(1)
                    && !matches!(place.target, Target::Space(_) | Target::Corner | Target::Turning);
                (from_hook || last).then_some(*links)
            }
            _ => None,
        };
        if let Some(links) = folded {
            let act = Act::Picot(links as u8);
            ops[k].span = ops[k].span.to(ops[k + 1].span);
            ops[k].act = Do::Work { act, each: 1, place: Where::of(Extent::Bare(1)) };
            ops.remove(k + 1);
        }
        match &mut ops[k].act {
            // A repeat's later passes follow its own stitches.
            Do::Repeat(repeat) => {
                let inner = begun || repeat.ops.iter().any(works);
                picots_in(&mut repeat.ops, inner, true);
            }
            Do::OnePlace(inner, _) => picots_in(inner, begun, true),
            _ => {}
        }
        begun |= works(&ops[k]);
        k += 1;
    }
}

/// "*dc in next sc, sc in next dc; rep from * across, sc in top of turning ch": the last stitch of the repeat said
/// once more, or one after it; the fit decides.
pub(super) fn maybe_overlapping(ops: &mut Vec<Op>) {
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_));
    let Some(last) = ops.iter().rposition(works).filter(|&k| k > 0) else { return };
    let turning = matches!(&ops[last].act, Do::Work { act: Act::Post(..), each: 1, place }
        if place.target == Target::Turning);
    let Do::Repeat(repeat) = &mut ops[last - 1].act else { return };
    let open = repeat.times == Times::ToEnd && repeat.ending.is_empty() && repeat.cut.is_none();
    let plain = repeat.ops.len() > 1
        && repeat.ops.iter().all(|op| {
            matches!(&op.act, Do::Work { act: Act::Post(..), each: 1, place }
                if place.extent == Extent::Next(1))
        });
    let again = match (repeat.ops.last().map(|op| &op.act), repeat.ops.first().map(|op| &op.act)) {
        (Some(Do::Work { act, .. }), Some(Do::Work { act: other, .. })) => act != other,
        _ => false,
    };
    if turning && open && plain && again && {
        let same = |op: &Op| {
            matches!((&op.act, &ops[last].act),
            (Do::Work { act: a, .. }, Do::Work { act: b, .. }) if a == b)
        };
        matches!(&ops[last - 1].act, Do::Repeat(repeat) if repeat.ops.last().is_some_and(same))
    } {
        let ending = ops.remove(last);
        if let Do::Repeat(repeat) = &mut ops[last - 1].act {
            repeat.ending = vec![ending];
        }
    }
}

/// "(tr, ch 1) 4 times in next ch, tr in same ch": one group.
pub(super) fn one_group(ops: &mut Vec<Op>) {
    let mut k = 0;
    while k < ops.len() {
        if let Do::Repeat(repeat) = &mut ops[k].act {
            one_group(&mut repeat.ops);
        }
        let more = match (&ops[k].act, ops.get(k + 1).map(|op| &op.act)) {
            (Do::OnePlace(_, at), Some(Do::Work { act: act @ Act::Post(..), each, place }))
                if place.extent == Extent::Same && matches!(at.extent, Extent::Next(1)) =>
            {
                Some((*act, *each))
            }
            _ => None,
        };
        let Some((act, each)) = more else {
            k += 1;
            continue;
        };
        let span = ops.remove(k + 1).span;
        if let Do::OnePlace(inner, _) = &mut ops[k].act {
            let place = Where::of(Extent::Bare(each));
            inner.push(Op { act: Do::Work { act, each: 1, place }, span });
        }
    }
}

/// A chain, and no stitch on it.
pub(super) fn lays_chain(ops: &[Op]) -> bool {
    let chain = ops.iter().any(|op| matches!(op.act, Do::Chain { links, .. } if links > 1));
    let works = |op: &Op| matches!(op.act, Do::Work { .. } | Do::OnePlace(..) | Do::Repeat(_));
    chain && !ops.iter().any(works)
}

/// "Hdc in 3rd ch" at the start of the first row counts from the hook, and so does "dc in 4th ch" after a chain
/// of the row's own that has more links.
pub(super) fn from_hook_unsaid(ops: &mut [Op], laid: bool) {
    let own = ops.iter().find_map(|op| match op.act {
        Do::Chain { links, .. } => Some(links),
        _ => None,
    });
    let first = ops.iter_mut().find_map(|op| match &mut op.act {
        Do::Work { place, .. } | Do::OnePlace(_, place) => Some(Some(place)),
        Do::Repeat(_) => Some(None),
        _ => None,
    });
    if let Some(place) = first.flatten()
        && let Target::Link(n @ 2..) = place.target
        && place.extent == Extent::Next(1)
        && (laid || own.is_some_and(|links| links > n))
    {
        (place.extent, place.target) = (Extent::FromHook(n), Target::Chain);
    }
}

/// "Ch 4, dc in first ch" where a piece begins: the link made first is the last from the hook.
pub(super) fn first_made(ops: &mut [Op]) {
    let [Op { act: Do::Chain { links: links @ 2..8, .. }, .. }, rest @ ..] = ops else { return };
    let first = rest.iter_mut().find_map(|op| match &mut op.act {
        Do::Work { act: Act::Post(..), place, .. } | Do::OnePlace(_, place) => Some(Some(place)),
        Do::Stated(_) => None,
        _ => Some(None),
    });
    if let Some(Some(place)) = first
        && place.extent == Extent::First(1)
        && matches!(place.target, Target::Chain | Target::Link(0 | 1))
    {
        (place.extent, place.target) = (Extent::FromHook(*links), Target::Chain);
    }
}

/// "Sc evenly around", and not "in each st": a border takes what the edge needs.
pub(super) fn evenly_spread(t: &[Token<'_>]) -> bool {
    let each = t.windows(2).any(|w| {
        w[0].any(&["each", "every"]) && !w[1].any(&["corner", "side", "edge", "row", "end"])
    });
    let spaces = t.windows(2).any(|w| {
        (w[0].is("and") || w[0].kind == Kind::Other('&'))
            && w[1].any(&["ch", "sp", "sps", "space", "spaces"])
    });
    let corners = t.iter().any(|t| t.any(&["corner", "corners"]));
    t.iter().any(|t| t.is("evenly")) && !each || spaces && corners
}

/// An equals sign outside brackets: "ch 159 (12 x 13 + 3 = 159)" is as prompt as without its sum.
pub(super) fn equates(t: &[Token<'_>]) -> bool {
    let mut depth = 0i32;
    // "pick up and knit 3 sts = 9 sts" counts.
    let counts = |k: usize| {
        t.get(k + 1).and_then(|t| t.number()).is_some_and(|n| n > 3)
            && t.get(k + 2).is_some_and(|t| t.any(&["sts", "stitches"]))
    };
    t.iter().enumerate().any(|(k, t)| {
        depth += i32::from(t.kind == Kind::Open) - i32::from(t.kind == Kind::Close);
        depth <= 0 && t.kind == Kind::Other('=') && !counts(k)
    })
}
