//! How a stitch sits in the fabric, as far as its size depends on it.

use crate::stitches::Craft;
use crate::stitches::LoopTaken;
use crate::stitches::Post;
use crate::stitches::StitchKind;

/// Knitted ground a stitch belongs to, by which way its neighbours face. Rows of the same loop are
/// only two thirds as tall in garter as in stockinette, so the kind alone does not give a size.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub enum Texture {
    /// All loops face the same way (stockinette, reverse stockinette).
    #[default]
    Stockinette,
    /// Rows face alternately.
    Garter,
    /// Columns face alternately.
    Rib,
    /// Both alternate (seed, moss).
    Seed,
}

impl Texture {
    /// From whether a stitch faces as the one below it and as the one beside it.
    pub const fn of(as_below: bool, as_beside: bool) -> Self {
        match (as_below, as_beside) {
            (true, true) => Self::Stockinette,
            (false, true) => Self::Garter,
            (true, false) => Self::Rib,
            (false, false) => Self::Seed,
        }
    }

    pub(super) const fn key(self) -> &'static str {
        match self {
            Self::Stockinette => "stockinette",
            Self::Garter => "garter",
            Self::Rib => "rib",
            Self::Seed => "seed",
        }
    }
}

/// A stitch with what else its size depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Worked {
    /// What it is.
    pub kind: StitchKind,
    /// Which loop of the stitch below it takes.
    pub taken: LoopTaken,
    /// The knitted ground around it; ignored for crochet.
    pub texture: Texture,
}

impl Worked {
    /// A stitch in both loops, in stockinette where it is knitted.
    pub const fn plain(kind: StitchKind) -> Self {
        Self { kind, taken: LoopTaken::Both, texture: Texture::Stockinette }
    }

    /// The craft it belongs to; a chain belongs to crochet wherever it is worked.
    pub(super) const fn craft(self) -> Craft {
        match self.kind {
            StitchKind::CastOn
            | StitchKind::Knit { .. }
            | StitchKind::Slipped
            | StitchKind::YarnOver
            | StitchKind::MakeOne
            | StitchKind::BindOff => Craft::Knit,
            _ => Craft::Crochet,
        }
    }

    /// In the trade's words, e.g. "double crochet in the back loop", "garter stitch".
    pub fn words(self) -> String {
        let stitch = self.stitch_words();
        match self.taken {
            LoopTaken::Both => stitch,
            LoopTaken::Back => format!("{stitch} in the back loop"),
            LoopTaken::Front => format!("{stitch} in the front loop"),
            LoopTaken::Third => format!("{stitch} in the third loop"),
        }
    }

    /// Preset of its height over its width, for a plain stitch.
    pub fn ratio_key(self) -> Option<String> {
        match (self.craft(), self.kind) {
            (Craft::Knit, _) => Some(format!("knit.ratio.{}", self.texture.key())),
            (_, StitchKind::Plain(post)) => Some(format!("crochet.ratio.{}", post_key(post))),
            _ => None,
        }
    }

    /// Preset of its yarn, for a plain stitch: over its width, or over the stockinette's per area.
    pub fn yarn_key(self) -> Option<String> {
        self.preset_keys(false).into_iter().find(|key| key.contains(".yarn."))
    }

    /// Presets its size, yarn and stiffness come from; the ratio of height to width only when `ratio`.
    pub fn preset_keys(self, ratio: bool) -> Vec<String> {
        let (craft, name) = match (self.craft(), self.kind) {
            (Craft::Knit, _) => ("knit", self.texture.key()),
            (Craft::Crochet, StitchKind::Plain(post)) => ("crochet", post_key(post)),
            (Craft::Crochet, _) => return Vec::new(),
        };
        let yarn = match (self.craft(), self.texture) {
            (Craft::Knit, Texture::Stockinette) => "knit.yarn.ks".to_owned(),
            _ => format!("{craft}.yarn.{name}"),
        };
        let mut keys = vec![yarn];
        if ratio {
            keys.extend([format!("{craft}.ratio.{name}"), format!("{craft}.width.{name}")]);
        }
        let laws = ["membrane.e1", "membrane.e2", "bending.along", "bending.up"];
        keys.extend(laws.map(|law| format!("{craft}.{law}")));
        keys
    }

    fn stitch_words(self) -> String {
        match self.kind {
            StitchKind::Chain => "chain".into(),
            StitchKind::SlipStitch => "slip stitch".into(),
            StitchKind::Plain(post) => post_words(post).into(),
            StitchKind::Extended(post) => format!("extended {}", post_words(post)),
            StitchKind::Cluster { post, legs } => format!("{legs}-{} cluster", post_words(post)),
            StitchKind::Puff { legs } => format!("{legs}-loop puff"),
            StitchKind::Popcorn { post, legs } => format!("{legs}-{} popcorn", post_words(post)),
            StitchKind::ReverseSingle => "reverse single crochet".into(),
            StitchKind::CastOn => "cast-on loop".into(),
            StitchKind::Knit { twisted, .. } => {
                let twist = if twisted { "twisted " } else { "" };
                format!("{twist}{} stitch", self.texture.key())
            }
            StitchKind::Slipped => "slipped stitch".into(),
            StitchKind::YarnOver => "yarn-over".into(),
            StitchKind::MakeOne => "make one".into(),
            StitchKind::BindOff => "bound-off loop".into(),
        }
    }
}

pub(super) const fn post_words(post: Post) -> &'static str {
    match post {
        Post::Single => "single crochet",
        Post::HalfDouble => "half double crochet",
        Post::Double => "double crochet",
        Post::Treble => "treble crochet",
        Post::DoubleTreble => "double treble crochet",
        Post::TripleTreble => "triple treble crochet",
    }
}

pub(super) const fn post_key(post: Post) -> &'static str {
    post.key()
}
