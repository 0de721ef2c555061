//! The kinds of stitch, in US terms.

/// Crochet or knitting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Craft {
    /// Worked with a hook, one live loop.
    Crochet,
    /// Worked with needles, a row of live loops.
    Knit,
}

/// The height class of a crochet post, by its yarn-overs (US names).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Post {
    /// Single crochet (UK double crochet).
    Single,
    /// Half double crochet (UK half treble).
    HalfDouble,
    /// Double crochet (UK treble).
    Double,
    /// Treble (UK double treble).
    Treble,
    /// Double treble (UK triple treble).
    DoubleTreble,
    /// Triple treble (UK quadruple treble).
    TripleTreble,
}

impl Post {
    /// The word for it in the keys of presets.
    pub const fn key(self) -> &'static str {
        match self {
            Self::Single => "single",
            Self::HalfDouble => "half_double",
            Self::Double => "double",
            Self::Treble => "treble",
            Self::DoubleTreble => "double_treble",
            Self::TripleTreble => "triple_treble",
        }
    }
}

/// What a stitch is, whatever it is worked into. Increases and decreases are not kinds: they show in
/// how many stitches share a parent and how many parents a stitch has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum StitchKind {
    /// One or more chain links worked in a run; see [`super::Stitch::links`].
    Chain,
    /// Slip stitch that makes fabric (slip-stitch fabric); travelling slip stitches make none.
    SlipStitch,
    /// A plain post stitch.
    Plain(Post),
    /// Post stitch one chain taller (extended).
    Extended(Post),
    /// Several unfinished posts closed at once in one place (cluster, bobble): one top.
    Cluster {
        /// Height of its legs.
        post: Post,
        /// Number of legs.
        legs: u8,
    },
    /// Several long loops closed at once (puff).
    Puff {
        /// Number of loops drawn up.
        legs: u8,
    },
    /// Several finished posts whose tops are drawn together (popcorn).
    Popcorn {
        /// Height of its posts.
        post: Post,
        /// Number of posts.
        legs: u8,
    },
    /// Reverse single crochet (crab stitch).
    ReverseSingle,
    /// A loop of the cast-on.
    CastOn,
    /// Knit as seen from the right side of the fabric when `purl` is false.
    Knit {
        /// The loop's head lies towards the right side (a purl as seen from the right side).
        purl: bool,
        /// Worked through the back loop.
        twisted: bool,
    },
    /// Slipped stitch: the loop of the row below lifted unworked.
    Slipped,
    /// Yarn over: a loop on the strand, with no stitch below it.
    YarnOver,
    /// Made from the running strand (make one).
    MakeOne,
    /// A bound-off (cast-off) loop.
    BindOff,
}

/// Which part of the stitch below is taken up.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub enum LoopTaken {
    /// Both loops of the top (crochet), the whole loop (knit).
    #[default]
    Both,
    /// Back loop only.
    Back,
    /// Front loop only.
    Front,
    /// The third loop (half doubles).
    Third,
}
