//! Names of stitches in US and UK terms (Craft Yarn Council conversion chart, from memory).

use crate::pattern::Terms;
use crate::stitches::Craft;
use crate::stitches::Post;
use crate::stitches::Stitch;
use crate::stitches::StitchKind;

/// What names are written in.
#[derive(Debug, Clone, Copy)]
pub(super) struct Names<'a> {
    /// US or UK.
    pub(super) terms: Terms,
    /// Crochet or knit.
    pub(super) craft: Craft,
    /// Text of the page the piece was read from; empty when there is none.
    pub(super) page: &'a str,
}

/// Decreases a page may name; which of them it was does not show in the stitch graph.
const DECREASES: [&str; 16] = [
    "ssk",
    "skp",
    "skpo",
    "sl1, k1, psso",
    "sl 1, k1, psso",
    "k2tog tbl",
    "k2tog-tbl",
    "p2tog tbl",
    "ssp",
    "sssk",
    "sk2p",
    "s2kp",
    "s2kp2",
    "cdd",
    "sl1, k2tog, psso",
    "sl 1, k2tog, psso",
];
/// Increases out of the strand a page may name.
const INCREASES: [&str; 3] = ["m1l", "m1r", "m1p"];

impl Names<'_> {
    /// Name of a post.
    pub(super) fn post(&self, post: Post) -> &'static str {
        match (self.terms, post) {
            (Terms::Us, Post::Single) => "sc",
            (Terms::Us, Post::HalfDouble) => "hdc",
            (Terms::Us, Post::Double) => "dc",
            (Terms::Us, Post::Treble) => "tr",
            (Terms::Us, Post::DoubleTreble) => "dtr",
            (Terms::Us, Post::TripleTreble) => "trtr",
            (Terms::Uk, Post::Single) => "dc",
            (Terms::Uk, Post::HalfDouble) => "htr",
            (Terms::Uk, Post::Double) => "tr",
            (Terms::Uk, Post::Treble) => "dtr",
            (Terms::Uk, Post::DoubleTreble) => "trtr",
            (Terms::Uk, Post::TripleTreble) => "qtr",
        }
    }

    /// Name of one stitch as its maker sees it, `right` when the right side faces.
    pub(super) fn stitch(&self, kind: StitchKind, right: bool) -> String {
        match kind {
            StitchKind::Plain(post) => self.post(post).into(),
            StitchKind::Extended(post) => format!("e{}", self.post(post)),
            StitchKind::Cluster { post, legs } => format!("{legs}-{} cluster", self.post(post)),
            StitchKind::Puff { legs } => format!("{legs}-{} puff", self.post(Post::HalfDouble)),
            StitchKind::Popcorn { post, legs } => format!("{legs}-{} popcorn", self.post(post)),
            StitchKind::ReverseSingle => "crab st".into(),
            StitchKind::SlipStitch => "sl st".into(),
            StitchKind::Chain => "ch".into(),
            StitchKind::CastOn => "cast on".into(),
            StitchKind::Knit { purl, twisted } => {
                let letter = if purl == right { "p" } else { "k" };
                if twisted { format!("{letter}tbl") } else { letter.into() }
            }
            StitchKind::Slipped => "sl".into(),
            StitchKind::YarnOver => "yo".into(),
            StitchKind::MakeOne => "m1".into(),
            StitchKind::BindOff => self.bind_off().into(),
        }
    }

    /// Name of so many together.
    pub(super) fn together(&self, stitch: &Stitch, n: usize, right: bool) -> String {
        if self.craft == Craft::Crochet {
            return format!("{}{n}tog", self.stitch(stitch.kind, right));
        }
        if let Some(said) = self.said(stitch, &DECREASES) {
            return said;
        }
        let purl = matches!(stitch.kind, StitchKind::Knit { purl, .. } if purl == right);
        format!("{}{n}tog", if purl { "p" } else { "k" })
    }

    /// Name of an increase out of the strand.
    pub(super) fn made_one(&self, stitch: &Stitch) -> String {
        self.said(stitch, &INCREASES).unwrap_or_else(|| "m1".into())
    }

    /// The page holds the loops of a cable behind the work; which it was does not show in the stitch graph.
    pub(super) fn held_behind(&self, stitch: &Stitch) -> bool {
        let words = self.page.get(stitch.words.range()).unwrap_or_default().to_ascii_lowercase();
        let words = words.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        words.contains("back")
            || ["b", "r", "rc", "rpc", "rt"].iter().any(|end| words.ends_with(end))
    }

    /// The words of the page, when they are one of `known`.
    fn said(&self, stitch: &Stitch, known: &[&str]) -> Option<String> {
        let words = self.page.get(stitch.words.range())?.to_ascii_lowercase();
        let words = words.trim_matches(|c: char| !c.is_ascii_alphanumeric());
        known.iter().find(|k| **k == words).map(|k| (*k).to_owned())
    }

    /// "Bind off" or "cast off".
    pub(super) fn bind_off(&self) -> &'static str {
        if self.terms == Terms::Uk { "cast off" } else { "bind off" }
    }

    /// "Skip" or "miss".
    pub(super) fn skip(&self) -> &'static str {
        if self.terms == Terms::Uk { "miss" } else { "skip" }
    }
}
