//! The syntax tree of a written pattern: what the words say, before anything is worked.

pub use super::bands::RowColour;
pub use super::bands::Stripes;
use super::header::Header;
pub use super::worked_into::Edge;
pub use super::worked_into::Extent;
pub use super::worked_into::LeftOut;
pub use super::worked_into::Loop;
pub use super::worked_into::Reach;
pub use super::worked_into::Target;
pub use super::worked_into::Where;
use crate::source::Span;

/// A pattern as written.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pattern {
    /// Title, gauge, sizes, yarns and the rest of what stands around the instructions.
    pub header: Header,
    /// The instructions in page order.
    pub items: Vec<Item>,
    /// Stitches the designer defines ("Shell: 5 dc in indicated st").
    pub macros: Vec<Macro>,
    /// Standing rules from the notes.
    pub rules: Rules,
    /// Yarn or colour letters as the instructions name them; [`Act`]s refer to these by index.
    pub colours: Vec<String>,
}

/// Rules that hold throughout.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Rules {
    /// Statements about turning chains: so many links (0 = any) count, or do not.
    pub turning: Vec<TurningRule>,
    /// Loops taken throughout, when stated.
    pub loops: Option<Loop>,
    /// Stripe sequences in page order.
    pub stripes: Vec<Stripes>,
    /// Yarns told for rows by their numbers.
    pub row_colours: Vec<RowColour>,
    /// Stitches are worked into the top of a turning chain, so that it is one itself.
    pub tops: bool,
}

/// "Ch 3 counts as a dc throughout."
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TurningRule {
    /// Links of the chain spoken of; 0 when the note speaks of every turning chain.
    pub links: u32,
    /// What was said.
    pub counts: Counts,
    /// Where.
    pub span: Span,
}

/// What a statement says about a turning chain.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// It does not count as a stitch.
    No,
    /// It counts as a stitch.
    Stitch(Option<Height>),
    /// It counts as a stitch and a chain space of so many links.
    StitchAndSpace(Option<Height>, u32),
}

/// A designer-defined stitch.
#[derive(Debug, Clone, PartialEq)]
pub struct Macro {
    /// Its name, lower case, words parted by one space, hyphens as spaces.
    pub name: String,
    /// What it stands for.
    pub ops: Vec<Op>,
    /// Where it is defined.
    pub span: Span,
}

/// One thing on the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// A named section; row numbers start afresh.
    Section {
        /// Its name as written.
        name: String,
        /// Copies to make.
        copies: u32,
        /// Where.
        span: Span,
    },
    /// A row, a round, several alike, or an unnumbered step such as the foundation.
    Row(Row),
    /// Words that instruct nothing; kept in place.
    Remark(Span),
}

/// One written row (or several alike).
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// How it is announced.
    pub heading: Heading,
    /// What is to be done.
    pub content: Content,
    /// Worked again and again until then.
    pub until: Option<Until>,
    /// Stitches more or fewer spread over the row, or over the last of several.
    pub evenly: Option<Evenly>,
    /// Count notes in the order written; a range may print one per row.
    pub counts: Vec<CountNote>,
    /// Words in the row that could not be read, if any.
    pub unread: Vec<Span>,
    /// The whole row.
    pub span: Span,
}

/// A change of the count spread evenly over one row.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Evenly {
    /// So many stitches more (or fewer).
    By(i32),
    /// To so many stitches.
    To(u32),
}

/// How a row is announced.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Heading {
    /// Which rows.
    pub numbers: Numbers,
    /// Announced as a round.
    pub round: bool,
    /// Side facing, when stated: `true` for the right side.
    pub right_side: Option<bool>,
    /// Its name, when it has one instead of a number ("Set-up row").
    pub name: Option<String>,
    /// A yarn set in brackets beside it: `Row 1 (RS) [CC1]:`.
    pub yarn: Option<Span>,
    /// A star before it marks where "repeat from *" below goes back to.
    pub starred: bool,
    /// The heading's words.
    pub span: Span,
}

/// Which rows a heading announces.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Numbers {
    /// No number: the next row ("Next row", "Foundation row", "Knit 10 rows": ten of them).
    #[default]
    Next,
    /// An unnumbered line outside rows: foundation, join, fasten off.
    Step,
    /// So many unnumbered rows alike.
    Several(u32),
    /// These numbers, rising.
    Listed(Vec<u32>),
    /// From the first to the second number.
    Range(u32, u32),
    /// Every second row from this number on, where the page does not say otherwise.
    Parity {
        /// First number.
        from: u32,
    },
}

/// What a row's words ask for.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// Stitch by stitch.
    Work(Vec<Op>),
    /// Rows given before, worked again.
    Again(Again),
    /// A fabric by name, in another colour when one is named.
    Fabric(Fabric, Until, Option<u16>),
    /// A fabric with shaping by a schedule.
    Shaped(Shaped),
}

/// Rows worked again.
#[derive(Debug, Clone, PartialEq)]
pub struct Again {
    /// Which rows.
    pub rows: AgainRows,
    /// How often or until what.
    pub until: Until,
    /// Colour to work them in, when another is named.
    pub colour: Option<u16>,
    /// Stitches (or, above zero, repeats) more at each time: "working 1 st fewer every time".
    pub step: i32,
    /// Plain stitches more between increases at each time: "working 1 more st between increases".
    pub between: u8,
    /// The rows are those of an earlier section ("of first half").
    pub elsewhere: bool,
    /// How often the part repeated inside those rows is worked, when said anew ("repeating from * twice
    /// more").
    pub inner: Option<Times>,
    /// The row named comes every so many rows, with plain rows between; 1 is every row.
    pub every: u32,
    /// Shaping changes ends: each row is worked back to front.
    pub mirrored: bool,
    /// A star before these words marks where "repeat from *" goes back to.
    pub starred: bool,
    /// Worked on "in this way", so that what grew from row to row goes on growing.
    pub way: bool,
    /// One yarn in the place of another: "using CC2 in place of CC1".
    pub instead: Option<(u16, u16)>,
}

impl Again {
    /// Rows worked again as they stand.
    pub const fn of(rows: AgainRows, until: Until) -> Self {
        Self {
            rows,
            until,
            colour: None,
            step: 0,
            between: 0,
            elsewhere: false,
            inner: None,
            every: 1,
            mirrored: false,
            starred: false,
            way: false,
            instead: None,
        }
    }
}

/// Rows of one fabric with shaping at their ends by a schedule: "inc 1 st each end of 3rd and every
/// foll 4th row until there are 41 sts".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shaped {
    /// The fabric.
    pub fabric: Fabric,
    /// Stitches more (or fewer) at the beginning and at the end of a shaping row.
    pub change: (i32, i32),
    /// The first shaping row, counted from the next row as 1.
    pub first: u32,
    /// Shaping begins at the next row of this side instead (the right side?), where the words say no more.
    pub side: Option<bool>,
    /// Rows from one shaping row to the next.
    pub every: u32,
    /// When it ends; a number of times counts the shaping rows.
    pub until: Until,
}

/// Rows referred to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum AgainRows {
    /// Blocks of numbers in the order named; each `(from, to)` may run backwards.
    Numbers(Vec<(u32, u32)>),
    /// The last so many rows.
    Last(u32),
    /// Rows by their names without the word "row", lower case: "a", "increase".
    Named(Vec<String>),
    /// The last so many sections, whole.
    Sections(u32),
    /// From this number to the last row written.
    From(u32),
    /// All rows of the section so far.
    All,
    /// Parts of sections worked before, in this order.
    Parts(Vec<Part>),
    /// All rows since the star that was set before a sentence.
    FromStar,
    /// What was last picked up and worked, along another edge.
    Edge(Edge),
}

/// A section worked again, or some of its rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Part {
    /// The section's name as written.
    pub name: String,
    /// From the first to the second of its rows; none for all of it.
    pub rows: Option<(u32, u32)>,
    /// How often, one after another.
    pub times: u32,
    /// The count printed for its last row.
    pub count: Option<CountNote>,
}

/// When a repetition of rows ends.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Until {
    /// As the heading's numbers say; once when it has none.
    Heading,
    /// So many times in all.
    Times(u32),
    /// So many times more than already worked.
    More(u32),
    /// So many rows.
    Rows(u32),
    /// Until the section has so many rows.
    RowsInAll(u32),
    /// Until a row has so many stitches.
    Stitches(u32),
    /// Until a row has so many groups (blocks, shells, spaces).
    Groups(u32),
    /// Until a row has so many chain spaces.
    Spaces(u32),
    /// Until the row of this number is worked.
    Numbered(u32),
    /// Until the piece has this length (raw unit of [`crate::units::Length`], mm).
    Millimetres(f64),
    /// Until the piece is longer by this (mm): "work even for 2 inches".
    MoreMillimetres(f64),
    /// Until the piece is as long as its last row.
    Square,
    /// Until an edge of the piece, which may slant, has this length (mm).
    AlongEdge(f64),
    /// Until no loop of the row below is left: an edging that takes them up.
    UsedUp,
    /// As long as the maker likes.
    Open,
}

/// Fabrics known by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fabric {
    /// Knit every row.
    Garter,
    /// Purl every row.
    Purled,
    /// As the rows before, without shaping.
    Established,
    /// Knit on the right side, purl on the wrong side.
    Stockinette,
    /// Purl on the right side, knit on the wrong side.
    ReverseStockinette,
    /// Knit one, purl one, changed places every row.
    Seed,
    /// Rib: so many knit, so many purl.
    Rib(u8, u8),
}

/// A printed count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountNote {
    /// Numbers with what they count.
    pub parts: Vec<(u32, Noun)>,
    /// Where.
    pub span: Span,
}

/// What a printed count counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Noun {
    /// Stitches, or nothing named.
    Stitches,
    /// Stitches of one height.
    Posts(Height),
    /// Chain spaces.
    Spaces,
    /// Chains.
    Chains,
    /// Another word (shells, points, V-stitches).
    Word(String),
}

/// One instruction with its words.
#[derive(Debug, Clone, PartialEq)]
pub struct Op {
    /// What to do.
    pub act: Do,
    /// The words.
    pub span: Span,
}

/// What one instruction does.
#[derive(Debug, Clone, PartialEq)]
pub enum Do {
    /// Work a stitch.
    Work {
        /// Which.
        act: Act,
        /// So many into each place.
        each: u32,
        /// Where.
        place: Where,
    },
    /// Make chain links.
    Chain {
        /// How many.
        links: u32,
        /// Statement whether they count as a stitch.
        counts: Option<Counts>,
    },
    /// Each stitch of the row below as its kind says: "sc in each dc and dc in each sc".
    ByKind(Vec<(Height, Act)>),
    /// Pass stitches over.
    Skip(Where),
    /// Work all of it into one place.
    OnePlace(Vec<Op>, Where),
    /// Work it again and again.
    Repeat(Box<Repeat>),
    /// Turn the work.
    Turn,
    /// Stay on the same side.
    NoTurn,
    /// Close the round with a slip stitch, or chains to a ring.
    Join,
    /// An adjustable ring.
    MagicRing,
    /// Go on in another colour.
    Colour(u16),
    /// Cast on so many loops.
    CastOn(u32),
    /// Cast on so many loops more beside those on the needle.
    CastOnMore(u32),
    /// Bind off so many loops; `None` is all.
    BindOff(Option<u32>),
    /// Cut the yarn.
    FastenOff,
    /// Put a marker here.
    Marker,
    /// Come to the next marker.
    SlipMarker,
    /// Leave the rest of the row.
    LeaveRest,
    /// Let go the yarn-overs of the row below.
    DropWraps,
    /// Go to the other side of the foundation chain, its free loops.
    OtherSide,
    /// Bind off all but the last loop.
    BindOffToOne,
    /// Pick up loops along an edge: how many, when said.
    PickUp(Option<u32>, Edge),
    /// What the chains skipped at the start of the foundation count as.
    Stated(Counts),
    /// In a border's first round: so many stitches along these sides; 0 says that the stitches are spread
    /// evenly, over spaces as over stitches.
    Along(Reach, u32),
    /// In a border's first row or round: so many stitches in each row end.
    EachRowEnd(u32),
    /// In a border's first round on work from corner to corner: so many stitches along each block.
    EachBlock(u32),
    /// In a border's first row: it goes along three sides of the piece and leaves this one out.
    Leaving(LeftOut),
}

/// A repeat inside a row.
#[derive(Debug, Clone, PartialEq)]
pub struct Repeat {
    /// What is repeated.
    pub ops: Vec<Op>,
    /// The last time ends before this index of `ops` ("ending last repeat at **").
    pub cut: Option<usize>,
    /// How often.
    pub times: Times,
    /// "Ending with ...": worked after the last whole pass, or else what the last pass ends in; the fit
    /// decides.
    pub ending: Vec<Op>,
    /// The words say that the ending takes the place of the last instruction of the last pass ("ending
    /// last rep with 2 tr in last ch").
    pub within: bool,
}

/// How often a part of a row is worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Times {
    /// So many times in all.
    Total(u32),
    /// Once and so many times more.
    More(u32),
    /// "Repeat from * N times": N more, or N in all; the fit decides.
    Open(u32),
    /// As often as fits.
    ToEnd,
    /// As often as fits, leaving so many stitches.
    ToLast(u32),
    /// As often as fits before the next marker, leaving so many stitches.
    ToMarker(u32),
    /// As often as fits before the stitch in the middle of the row, leaving so many stitches.
    ToCentre(u32),
    /// As often as fits before the chain space the words after it go into, leaving so many stitches.
    ToSpace(u32),
}

/// The height of a crochet post (US names).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Height {
    /// Single.
    Single,
    /// Half double.
    HalfDouble,
    /// Double.
    Double,
    /// Treble.
    Treble,
    /// Double treble.
    DoubleTreble,
    /// Triple treble.
    TripleTreble,
}

impl Height {
    /// Chain links as high as the stitch (common practice; Craft Yarn Council, turning-chain table).
    pub const fn chains(self) -> u32 {
        match self {
            Self::Single => 1,
            Self::HalfDouble => 2,
            Self::Double => 3,
            Self::Treble => 4,
            Self::DoubleTreble => 5,
            Self::TripleTreble => 6,
        }
    }
    /// US abbreviation.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Single => "sc",
            Self::HalfDouble => "hdc",
            Self::Double => "dc",
            Self::Treble => "tr",
            Self::DoubleTreble => "dtr",
            Self::TripleTreble => "trtr",
        }
    }
}

/// How a post stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Style {
    /// On a top.
    Plain,
    /// One chain taller.
    Extended,
    /// Round the post below, from the front.
    FrontPost,
    /// Round the post below, from the back.
    BackPost,
}

/// A stitch by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Act {
    /// A post stitch.
    Post(Height, Style),
    /// Slip stitch.
    Slip,
    /// So many posts closed together, each in its own place.
    Together(Height, u8, Style),
    /// Several unfinished posts in one place.
    Cluster(Height, u8),
    /// Several long loops in one place.
    Puff(u8),
    /// Several posts in one place, tops drawn together.
    Popcorn(Height, u8),
    /// Reverse single crochet.
    Reverse,
    /// Chain link and stitch together.
    Foundation(Height),
    /// "inc": two of the stitch last named.
    Increase,
    /// "dec": two together of the stitch last named.
    Decrease,
    /// Knit or purl, as it faces the maker.
    Knit {
        /// Purl.
        purl: bool,
        /// Through the back loop.
        twisted: bool,
    },
    /// So many loops together.
    KnitTogether {
        /// How many loops.
        of: u8,
        /// Purled together.
        purl: bool,
    },
    /// So many stitches out of one loop.
    KnitInto(u8),
    /// Slip a loop unworked.
    SlipLoop,
    /// Yarn over.
    YarnOver,
    /// Make one from the running strand.
    MakeOne {
        /// Purlwise.
        purl: bool,
    },
    /// Knit the knits and purl the purls, as they face.
    AsFaces,
    /// Cable: so many loops crossed over the other so many.
    Cable(u8, u8),
    /// A loose decoration (picot).
    Picot(u8),
    /// A designer-defined stitch (index in [`Pattern::macros`]).
    Macro(u16),
}
