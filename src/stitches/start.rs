//! How a row begins: turning chains that count or do not, and the first row on a foundation chain.

use super::below::Below;
use super::below::Spot;
use super::graph::RowStart;
use super::graph::StitchId;
use super::kind::StitchKind;
use super::making::post;
use super::reading::Reading;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Counts;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Height;
use crate::pattern::Op;
use crate::pattern::Rules;
use crate::pattern::Target;
use crate::pattern::Where;
use crate::source::Span;

/// A turning chain as a row's words give it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Turning {
    /// Links.
    pub(super) links: u32,
    /// What was said about it, here or in the notes.
    pub(super) said: Option<Counts>,
    /// Its words.
    pub(super) span: Span,
}

/// The chain a row begins with, and the ops after it. Joins, turns and colours before it are passed.
pub(super) fn leading_chain(ops: &[Op]) -> Option<(usize, Turning)> {
    for (k, op) in ops.iter().enumerate() {
        match &op.act {
            Do::Chain { links, counts } => {
                return Some((k, Turning { links: *links, said: *counts, span: op.span }));
            }
            Do::Turn | Do::NoTurn | Do::Join | Do::Colour(_) | Do::Marker | Do::SlipMarker => {}
            Do::Work { act: Act::Slip, .. } | Do::OtherSide => {}
            _ => return None,
        }
    }
    None
}

/// "(Ch 3, 2 dc, ch 2, 3 dc) in same sp" where the row begins: the chain taken out of the group, before it. A space
/// or corner that slip stitches have just led to is the one the group goes into.
pub(super) fn chain_out_of_group(ops: &[Op]) -> Option<Vec<Op>> {
    let passed = |op: &Op| {
        matches!(op.act, Do::Turn | Do::NoTurn | Do::Join | Do::Colour(_) | Do::Marker)
            || matches!(op.act, Do::Work { act: Act::Slip, .. })
    };
    let k = ops.iter().position(|op| !passed(op))?;
    let led = ops[..k].last();
    let up_to = led.is_some_and(slips_up_to);
    let (chain, inner, place, end) = match &ops[k..] {
        [chain, group, ..] if up_to && matches!(chain.act, Do::Chain { .. }) => {
            let Do::OnePlace(inner, place) = &group.act else { return None };
            (chain, &inner[..], place, k + 2)
        }
        [group, ..] => {
            let Do::OnePlace(inner, place) = &group.act else { return None };
            let (chain, rest) = inner.split_first()?;
            let works = |op: &Op| matches!(op.act, Do::Work { .. });
            if !matches!(chain.act, Do::Chain { .. }) || !rest.first().is_some_and(works) {
                return None;
            }
            (chain, rest, place, k + 1)
        }
        [] => return None,
    };
    let space = |place: &Where| matches!(place.target, Target::Space(_) | Target::Corner);
    let there = |op: &Op| matches!(&op.act, Do::Work { place, .. } if space(place)) || up_to;
    let here = space(place)
        && matches!(place.extent, Extent::Next(1) | Extent::Bare(1))
        && led.is_some_and(there);
    let place = if here { Where { extent: Extent::Same, ..*place } } else { *place };
    let group = Op { act: Do::OnePlace(inner.to_vec(), place), ..ops[end - 1].clone() };
    let mut out = ops[..k].to_vec();
    out.extend([chain.clone(), group]);
    out.extend_from_slice(&ops[end..]);
    Some(out)
}

/// Slip stitches that end before a space or corner.
pub(super) fn slips_up_to(op: &Op) -> bool {
    matches!(op.act, Do::Work { act: Act::Slip, place, .. } if place.extent == Extent::ToSpace)
}

/// The chain a row ends with that belongs to the next row ("ch 3, turn"), and the ops before it.
pub(super) fn trailing_chain(ops: &[Op]) -> Option<(usize, Turning)> {
    let mut turned = false;
    for (k, op) in ops.iter().enumerate().rev() {
        match &op.act {
            Do::Turn => turned = true,
            Do::Colour(_) => {}
            Do::Chain { links, counts } if turned && k > 0 => {
                let works = ops[..k]
                    .iter()
                    .any(|op| matches!(op.act, Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..)));
                return works
                    .then_some((k, Turning { links: *links, said: *counts, span: op.span }));
            }
            Do::Chain { links, counts }
                if k > 0 && !turned && k + 1 < ops.len() && matches!(ops[k + 1].act, Do::Turn) =>
            {
                return Some((k, Turning { links: *links, said: *counts, span: op.span }));
            }
            _ => return None,
        }
    }
    None
}

/// The height of the first post stitch of a row.
pub(super) fn first_height(ops: &[Op]) -> Option<Height> {
    ops.iter().find_map(|op| match &op.act {
        Do::Work { act, .. } => match act {
            Act::Post(h, _) | Act::Together(h, ..) | Act::Cluster(h, _) | Act::Popcorn(h, _) => {
                Some(*h)
            }
            Act::Puff(_) => Some(Height::HalfDouble),
            _ => None,
        },
        Do::Repeat(repeat) => first_height(&repeat.ops),
        Do::OnePlace(ops, _) => first_height(ops),
        Do::ByKind(kinds) => kinds.iter().find_map(|(_, act)| match act {
            Act::Post(h, _) => Some(*h),
            _ => None,
        }),
        _ => None,
    })
}

/// The statement that holds for a chain of `links`: said in the row, else in the notes.
pub(super) fn said(turning: Turning, rules: &Rules) -> Option<Counts> {
    turning.said.or_else(|| {
        let exact = rules.turning.iter().find(|r| r.links == turning.links);
        exact.or_else(|| rules.turning.iter().find(|r| r.links == 0)).map(|r| r.counts)
    })
}

/// What a silent turning chain is by the house rule: whether it counts, and links beyond the stitch.
/// Majority of published turning-chain tables: 1 before sc and 2 before hdc or dc do not count; 3 before
/// dc, 4 before tr, 5 before dtr do; a longer chain is the stitch and a space. "In first st" after a chain
/// of the stitch's height makes the chain none, unless the page works into the `tops` of such chains.
pub(super) fn house_rule(links: u32, height: Height, rest: &[Op], tops: bool) -> (bool, u32) {
    let tall = height.chains();
    let first =
        rest.iter().find(|op| !matches!(op.act, Do::Turn | Do::NoTurn | Do::Colour(_) | Do::Join));
    if let Some(Do::Skip(place)) = first.map(|op| &op.act)
        && matches!(place.extent, Extent::First(_) | Extent::Same)
        && links > 1
    {
        return (true, links.saturating_sub(tall));
    }
    let first = rest.iter().find_map(|op| match &op.act {
        Do::Work { each, place, .. } => Some((*each, place.extent)),
        Do::OnePlace(_, place) => Some((2, place.extent)),
        _ => None,
    });
    if matches!(first, Some((1, Extent::First(1)))) && links <= tall && !(tops && links >= 3) {
        return (false, 0);
    }
    match height {
        Height::Single if links >= 3 => (true, links - 2),
        Height::Single => (false, 0),
        Height::HalfDouble if links <= 2 => (false, 0),
        _ if links < tall => (false, 0),
        _ => (true, links - tall),
    }
}

/// The chain is a loop like those that follow: "ch 5, sc in first loop, *ch 5, sc in next loop".
pub(super) fn loops_on(links: u32, rest: &[Op]) -> bool {
    fn first_place(ops: &[Op]) -> Option<Target> {
        ops.iter().find_map(|op| match &op.act {
            Do::Work { place, .. } => Some(place.target),
            Do::Repeat(repeat) => first_place(&repeat.ops),
            _ => None,
        })
    }
    fn long_chain(ops: &[Op]) -> bool {
        ops.iter().any(|op| match &op.act {
            Do::Chain { links, .. } => *links >= 3,
            Do::Repeat(repeat) => long_chain(&repeat.ops),
            _ => false,
        })
    }
    let loops = matches!(first_place(rest), Some(Target::Space(_) | Target::Link(_)));
    links >= 3 && loops && long_chain(rest)
}

/// The stitch that a row begun with `links` ends in, where it ends as it begins: "ch 5, sc in first loop, ... ch 2,
/// dc in last st".
fn mirrored(links: u32, rest: &[Op]) -> Option<Height> {
    let last = rest.iter().rposition(|op| matches!(op.act, Do::Work { .. }))?;
    let Do::Work { act: Act::Post(height, _), .. } = rest[last].act else { return None };
    let Do::Chain { links: space, .. } = rest[last.checked_sub(1)?].act else { return None };
    (height > Height::Single && height.chains() + space == links).then_some(height)
}

/// Stitches taller than single crochet are among them.
fn holds_tall(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Work { act: Act::Post(height, _), .. } => *height > Height::Single,
        Do::Repeat(repeat) => holds_tall(&repeat.ops),
        Do::OnePlace(ops, _) => holds_tall(ops),
        _ => false,
    })
}

/// The height whose turning chain is `links` long.
fn height_of_chain(links: u32) -> Height {
    match links {
        0 | 1 => Height::Single,
        2 => Height::HalfDouble,
        3 => Height::Double,
        4 => Height::Treble,
        5 => Height::DoubleTreble,
        _ => Height::TripleTreble,
    }
}

impl Worker<'_> {
    /// Begins the first row on a foundation chain.
    pub(super) fn stand(&mut self, foot: Footing, height: Height, ops: &[Op], blocks: bool) {
        let links = foot.skipped.min(u32::from(u16::MAX)) as u16;
        let span = ops.first().map(|op| op.span).unwrap_or_default();
        if blocks {
            return self.chain(foot.skipped, span);
        }
        if !foot.counts {
            if height == Height::Single && links >= 4 && opens_loops(ops) {
                self.chain(foot.skipped, span);
            } else if links > 0 {
                self.draft.start = RowStart::ChainBeside(links);
            }
            return;
        }
        let own = (foot.skipped - foot.space - foot.bare).max(1).min(u32::from(u16::MAX)) as u16;
        self.draft.start = RowStart::ChainCounts(own);
        if let Some(spot) = self.take_spot(Target::Any, span) {
            let leg = spot.anchor(super::kind::LoopTaken::Both);
            self.draft.push(StitchKind::Plain(post(height)), &[leg], own, false, span);
            self.same = Some((leg, self.draft.cursor));
        }
        self.space_beside(foot, span);
    }

    /// Makes the space at the start of a first row over the links that lie under it.
    pub(super) fn space_beside(&mut self, foot: Footing, span: Span) {
        if foot.space > 0 {
            self.chain(foot.space, span);
        }
        for _ in 0..foot.bare {
            self.take_spot(Target::Any, span);
            self.draft.consumed -= 1;
            self.draft.skipped += 1;
        }
    }

    /// Begins the row with its turning chain; `rest` is what follows it.
    pub(super) fn begin(&mut self, turning: Turning, rest: &[Op]) {
        let height = first_height(rest).unwrap_or(height_of_chain(turning.links));
        let said = said(turning, &self.pattern.rules);
        // A loop is no stitch: notes that turning chains are none leave it a loop, whatever the row ends in.
        let none = turning.said.is_none() && said == Some(Counts::No);
        let silent = said.is_none() && !holds_tall(rest);
        if (none || silent) && height == Height::Single && loops_on(turning.links, rest) {
            return self.chain(turning.links, turning.span);
        }
        let open = said.is_none() && height == Height::Single;
        let mirrored = open.then(|| mirrored(turning.links, rest)).flatten();
        let (counts, height, space) = self.decide(turning, mirrored.unwrap_or(height), rest);
        let links = turning.links.min(u32::from(u16::MAX)) as u16;
        if !counts || self.below.spots.is_empty() && self.below.ring.is_none() {
            self.draft.start = RowStart::ChainBeside(links);
            return;
        }
        let own = (turning.links.saturating_sub(space)).max(1).min(u32::from(u16::MAX)) as u16;
        self.draft.start = RowStart::ChainCounts(own);
        let spaced = matches!(rest.iter().find(|op| !matches!(op.act, Do::Turn | Do::Colour(_))).map(|op| &op.act),
            Some(Do::Work { place, .. } | Do::OnePlace(_, place)) if place.extent == Extent::Same && matches!(place.target, Target::Space(_)));
        let target = if self.below.ring.is_some() {
            Target::Ring
        } else if spaced {
            Target::Space(None)
        } else {
            Target::StitchOrSpace
        };
        let anchor = self.take(target, crate::pattern::Loop::Unsaid, 0, turning.span);
        let legs: Vec<_> = anchor.into_iter().collect();
        self.draft.in_spaces = self.below.ring.is_some();
        self.draft.push(StitchKind::Plain(post(height)), &legs, own, false, turning.span);
        self.same = legs.first().map(|&a| (a, self.draft.cursor));
        if space > 0 {
            self.chain(space, turning.span);
        }
    }

    /// Whether the chain counts, as which height, and the links of a space beside it.
    fn decide(&self, turning: Turning, height: Height, rest: &[Op]) -> (bool, Height, u32) {
        match said(turning, &self.pattern.rules) {
            Some(Counts::No) => (false, height, 0),
            Some(Counts::Stitch(stated)) => (true, stated.unwrap_or(height), 0),
            Some(Counts::StitchAndSpace(stated, n)) => (true, stated.unwrap_or(height), n),
            None => {
                let (usual, space) =
                    house_rule(turning.links, height, rest, self.pattern.rules.tops);
                match self.reading.turning {
                    // One link is no stitch, whatever the page's longer chains are.
                    Some(counts) if counts != usual && turning.links > 1 => (counts, height, 0),
                    _ => (usual, height, if usual { space } else { 0 }),
                }
            }
        }
    }
}

/// The first row on a foundation chain: which links it stands on and what the skipped ones are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Footing {
    /// Links that end up under the row.
    pub(super) base: u32,
    /// Links skipped at the hook end.
    pub(super) skipped: u32,
    /// The skipped links count as a stitch.
    pub(super) counts: bool,
    /// Links of a space beside that stitch.
    pub(super) space: u32,
    /// Base links passed under that space.
    pub(super) bare: u32,
}

impl Footing {
    /// The skipped links as a space at the row's end, which the page may call a stitch and a chain: the first of
    /// them lies under it.
    pub(super) fn as_space(self) -> Self {
        let under = if self.counts { self.base - 1 - self.bare } else { self.base };
        Self { base: under + 1, counts: false, space: self.skipped - 1, bare: 1, ..self }
    }
}

/// How a row that begins "in the nth chain from the hook" stands on `links` chain links.
pub(super) fn footing(links: u32, ops: &[Op], height: Height, reading: Reading) -> Footing {
    let (nth, turning) = (first_link(ops, true), reading.turning);
    let skipped = nth.map_or(reading.passed, |n| n.saturating_sub(1)).min(links);
    let said =
        ops.iter().find_map(|op| if let Do::Stated(counts) = op.act { Some(counts) } else { None });
    let tall = height.chains();
    let usual = skipped >= tall && tall >= 3 || skipped >= 3 && tall == 2;
    let counts = match said {
        Some(Counts::No) => false,
        Some(_) => true,
        None => turning.unwrap_or(usual) && skipped > 1,
    };
    if !counts {
        return Footing { base: links - skipped, skipped, counts, space: 0, bare: 0 };
    }
    let beyond = skipped.saturating_sub(tall);
    let stated = if let Some(Counts::StitchAndSpace(_, n)) = said { Some(n) } else { None };
    let first_space = ops.iter().find_map(|op| match &op.act {
        Do::Chain { links, .. } => Some(*links),
        Do::Repeat(r) => r
            .ops
            .iter()
            .find_map(|op| if let Do::Chain { links, .. } = op.act { Some(links) } else { None }),
        _ => None,
    });
    let space = if beyond == 0 {
        0
    } else {
        // One link more than the stitch is the link its neighbour passes, and no space; nor do short stitches
        // without chains among them begin with one.
        let half = if beyond == 1 || tall == 1 { 0 } else { beyond.div_ceil(2) };
        stated.or(first_space).unwrap_or(half).min(beyond)
    };
    let bare = beyond - space;
    Footing { base: links - skipped + 1 + bare, skipped, counts, space, bare }
}

/// The n of the first "in nth ch from hook".
pub(super) fn from_hook(ops: &[Op]) -> Option<u32> {
    first_link(ops, false)
}

/// The link the first stitch goes into, counted from the hook; with `skips`, "skip n ch" says it too.
fn first_link(ops: &[Op], skips: bool) -> Option<u32> {
    for op in ops {
        match &op.act {
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                return if let Extent::FromHook(n) = place.extent { Some(n) } else { None };
            }
            Do::Skip(place) if skips => {
                return match place.extent {
                    Extent::Next(n) | Extent::Bare(n) => Some(n.saturating_add(1)),
                    Extent::First(n) => Some(n.saturating_add(1)),
                    _ => None,
                };
            }
            Do::Repeat(repeat) => return first_link(&repeat.ops, skips),
            Do::Chain { .. } | Do::Turn | Do::Colour(_) | Do::Stated(_) | Do::Join => {}
            _ => return None,
        }
    }
    None
}

/// A foundation chain of `base` links as the first row meets it, its first link being `first`.
pub(super) fn chain_below(base: u32, first: u32) -> Below {
    let spots = (0..base).map(|k| Spot {
        id: StitchId(first + k),
        kind: StitchKind::Chain,
        links: 0,
        link: 0,
        edge: None,
    });
    Below { spots: spots.collect(), ..Below::default() }
}

/// The first row makes loops, so that a long chain skipped at its start is one too.
fn opens_loops(ops: &[Op]) -> bool {
    ops.iter().any(|op| match &op.act {
        Do::Chain { links, .. } => *links >= 3,
        Do::Repeat(repeat) => opens_loops(&repeat.ops),
        _ => false,
    })
}
