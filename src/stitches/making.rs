//! Making the stitch once its place is found.

use super::graph::Anchor;
use super::graph::Place;
use super::graph::StitchId;
use super::kind::Post;
use super::kind::StitchKind;
use super::worker::Worker;
use crate::pattern::Act;
use crate::pattern::Height;
use crate::pattern::Style;
use crate::source::Span;

impl Worker<'_> {
    /// Makes the stitch `each` times, as far as a row may go.
    pub(super) fn put_each(&mut self, each: u32, act: Act, legs: &[Anchor], span: Span) {
        for _ in 0..each.max(1) {
            if self.full() {
                return;
            }
            self.put(act, legs, span);
        }
    }

    /// Makes the stitch.
    pub(super) fn put(&mut self, act: Act, legs: &[Anchor], span: Span) {
        let overlay = matches!(act, Act::Picot(_) | Act::Slip);
        match act {
            Act::KnitInto(n) => {
                for _ in 0..n {
                    self.draft.push(self.kind(act), legs, 0, false, span);
                }
            }
            Act::Picot(links) => {
                self.draft.push(StitchKind::Chain, &[], u16::from(links), true, span)
            }
            Act::Cable(a, b) => self.cable(a, b, legs, span),
            _ => {
                let kind = match (act, legs.first()) {
                    (Act::AsFaces, Some(leg)) => self.as_faces(leg),
                    _ => self.kind(act),
                };
                self.draft.push(kind, legs, 0, overlay, span);
            }
        }
    }

    fn cable(&mut self, a: u8, b: u8, legs: &[Anchor], span: Span) {
        let (a, n) = (usize::from(a), legs.len().min(usize::from(a) + usize::from(b)));
        for k in 0..n {
            let from = (k + a) % n;
            self.draft.push(
                self.kind(Act::Knit { purl: false, twisted: false }),
                &legs[from..=from],
                0,
                false,
                span,
            );
        }
    }

    fn as_faces(&self, leg: &Anchor) -> StitchKind {
        let kind = match leg.place {
            Place::Top(StitchId(id)) => {
                self.below.spots.iter().find(|s| s.id.0 == id).map(|s| s.kind)
            }
            _ => None,
        };
        match kind {
            Some(kind @ StitchKind::Knit { .. }) => kind,
            _ => StitchKind::Knit { purl: false, twisted: false },
        }
    }

    /// The kind of stitch an act makes, seen from the right side.
    pub(super) fn kind(&self, act: Act) -> StitchKind {
        let seen =
            |purl: bool, twisted| StitchKind::Knit { purl: purl == self.right_side, twisted };
        match act {
            Act::Post(h, Style::Extended) => StitchKind::Extended(post(h)),
            Act::Post(h, _) | Act::Together(h, ..) | Act::Foundation(h) => {
                StitchKind::Plain(post(h))
            }
            Act::Slip => StitchKind::SlipStitch,
            Act::Cluster(h, legs) => StitchKind::Cluster { post: post(h), legs },
            Act::Puff(legs) => StitchKind::Puff { legs },
            Act::Popcorn(h, legs) => StitchKind::Popcorn { post: post(h), legs },
            Act::Reverse => StitchKind::ReverseSingle,
            Act::Knit { purl, twisted } => seen(purl, twisted),
            Act::KnitTogether { purl, .. } => seen(purl, false),
            Act::SlipLoop => StitchKind::Slipped,
            Act::YarnOver => StitchKind::YarnOver,
            Act::MakeOne { .. } => StitchKind::MakeOne,
            Act::Picot(_) => StitchKind::Chain,
            _ if self.knit => seen(false, false),
            _ => StitchKind::Plain(Post::Single),
        }
    }
}

/// The post of a height.
pub(super) fn post(height: Height) -> Post {
    match height {
        Height::Single => Post::Single,
        Height::HalfDouble => Post::HalfDouble,
        Height::Double => Post::Double,
        Height::Treble => Post::Treble,
        Height::DoubleTreble => Post::DoubleTreble,
        Height::TripleTreble => Post::TripleTreble,
    }
}

/// The height of a kind, when it is a post.
pub(super) fn height_of(kind: StitchKind) -> Option<Height> {
    let post = match kind {
        StitchKind::Plain(post) | StitchKind::Extended(post) => post,
        _ => return None,
    };
    Some(match post {
        Post::Single => Height::Single,
        Post::HalfDouble => Height::HalfDouble,
        Post::Double => Height::Double,
        Post::Treble => Height::Treble,
        Post::DoubleTreble => Height::DoubleTreble,
        Post::TripleTreble => Height::TripleTreble,
    })
}
