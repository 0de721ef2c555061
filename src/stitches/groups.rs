//! Groups worked into one place, and the page's own stitches.

use super::graph::Anchor;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Do;
use crate::pattern::Extent;
use crate::pattern::Op;
use crate::pattern::Target;
use crate::pattern::Times;
use crate::pattern::Where;
use crate::source::Span;

/// Definitions may call each other this deep.
const DEEPEST_CALL: u8 = 8;

impl Worker<'_> {
    /// A group of stitches worked into one place.
    pub(super) fn one_place(
        &mut self,
        ops: &[Op],
        place: Where,
        rest: &[Op],
        keep: u32,
        span: Span,
    ) {
        let place = self.in_turning_space(place);
        let first = self.draft.stitches.len();
        match place.extent {
            Extent::Next(n) | Extent::Bare(n) => {
                for _ in 0..n.max(1) {
                    if self.full() {
                        return;
                    }
                    self.group(ops, place, u16::MAX, span);
                }
            }
            Extent::All if self.on_the_way(place) => {}
            Extent::All | Extent::AllBut(_) => {
                let stop = match place.extent {
                    Extent::AllBut(n) => n.saturating_add(keep),
                    _ => self.needs(rest).saturating_add(keep),
                };
                loop {
                    let from = self.draft.cursor.min(self.below.spots.len());
                    let space = matches!(place.target, Target::Space(_));
                    let more = if space {
                        let kept = self.keep_spaces.max(self.last_space(rest));
                        self.spaces_left() > kept
                    } else {
                        self.remaining() > stop
                            && !(place.target == Target::Corner && self.corners_done())
                    };
                    if !more || self.full() {
                        break;
                    }
                    self.group(ops, place, u16::MAX, span);
                    if self.draft.cursor == from {
                        break;
                    }
                }
            }
            Extent::ToSpace if matches!(place.target, Target::Space(_)) => {
                while self.space_before_corner(place.target) && !self.full() {
                    self.group(ops, place, u16::MAX, span);
                }
            }
            Extent::First(_) => {
                self.go_to_first();
                self.group(ops, place, u16::MAX, span);
            }
            Extent::Last(1) if place.target != Target::Gap && self.in_gaps(place) => {
                self.group(ops, place, u16::MAX, span);
            }
            Extent::Last(n) => {
                self.go_to_last(n, place.target, span);
                self.group(ops, place, u16::MAX, span);
            }
            _ => self.group(ops, place, u16::MAX, span),
        }
        debug_assert!(self.draft.stitches.len() >= first);
    }

    /// The next space is one that `target` names, and not that of a corner, which has more links.
    pub(super) fn space_before_corner(&self, target: Target) -> bool {
        let at = self.next_space(None);
        let Some(next) = self.below.spots.get(at) else { return false };
        let widest = self.space_links.last().copied().filter(|_| self.space_links.len() > 1);
        match target {
            Target::Space(Some(links)) => u32::from(next.links) == links,
            _ => widest.is_none_or(|links| next.links != links),
        }
    }

    /// Works `ops` into the one place that `place` finds, as a group called `name`.
    pub(super) fn group(&mut self, ops: &[Op], place: Where, name: u16, span: Span) {
        let Some(anchor) = self.find(place, span) else {
            self.same = None;
            return;
        };
        let first = self.draft.stitches.len();
        self.fill_place(ops, anchor);
        let last = self.draft.stitches.len().saturating_sub(1).max(first);
        self.draft.groups.push(super::below::Group { name, first, last });
        self.same = Some((anchor, self.draft.cursor));
    }

    /// All of `ops` into `anchor`.
    fn fill_place(&mut self, ops: &[Op], anchor: Anchor) {
        for op in ops {
            if self.full() {
                return;
            }
            match &op.act {
                Do::Work { act, each, place } => {
                    let n = match place.extent {
                        Extent::Bare(n) | Extent::Next(n) => n.max(1),
                        _ => 1,
                    };
                    let (act, twice) = self.resolve(*act);
                    let each = n.saturating_mul((*each).max(1)).saturating_mul(twice.max(1));
                    self.put_each(each, act, &[anchor], op.span);
                }
                Do::Chain { links, .. } => self.chain(*links, op.span),
                Do::Repeat(repeat) => {
                    let n = match repeat.times {
                        Times::Total(n) | Times::Open(n) => n,
                        Times::More(n) => n.saturating_add(1),
                        _ => 1,
                    };
                    for _ in 0..n {
                        if self.full() {
                            return;
                        }
                        self.fill_place(&repeat.ops, anchor);
                    }
                }
                Do::OnePlace(ops, _) => self.fill_place(ops, anchor),
                _ => {}
            }
        }
    }

    /// One definition worked at `place`.
    pub(super) fn call(&mut self, index: u16, each: u32, place: Where, span: Span) {
        let Some(definition) = self.pattern.macros.get(usize::from(index)) else { return };
        if self.calls >= DEEPEST_CALL {
            self.draft.too_large = true;
            return;
        }
        self.calls += 1;
        let ops = &definition.ops;
        for _ in 0..each.max(1) {
            if self.full() {
                break;
            }
            if moves(ops) {
                let first = self.draft.stitches.len();
                self.run(ops, 0);
                let last = self.draft.stitches.len().saturating_sub(1).max(first);
                self.draft.groups.push(super::below::Group { name: index, first, last });
            } else {
                self.group(ops, Where { extent: Extent::Next(1), ..place }, index, span);
            }
        }
        self.calls -= 1;
    }
}

/// The definition walks along the row rather than standing in one place.
fn moves(ops: &[Op]) -> bool {
    let mut places = 0;
    for op in ops {
        match &op.act {
            Do::Skip(_) => return true,
            Do::Work {
                act: Act::Cable(..) | Act::KnitTogether { .. } | Act::Together(..), ..
            } => {
                return true;
            }
            Do::Work { place, .. } | Do::OnePlace(_, place) => {
                places += u32::from(matches!(place.extent, Extent::Next(_)));
                if matches!(place.extent, Extent::Next(n) if n > 1) {
                    return true;
                }
            }
            Do::Repeat(repeat) if moves(&repeat.ops) => return true,
            _ => {}
        }
    }
    places > 1
}
