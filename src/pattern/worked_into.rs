//! The places of the syntax tree: where a stitch is worked, how far, and into which loop.

use super::syntax::Height;

/// Where a stitch is worked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Where {
    /// How many places.
    pub extent: Extent,
    /// Which kind of place.
    pub target: Target,
    /// Which loop.
    pub taken: Loop,
    /// Rows below the usual one.
    pub below: u8,
}

impl Where {
    /// In the next `n` stitches.
    pub const fn next(n: u32) -> Self {
        Self::of(Extent::Next(n))
    }
    /// In stitches, over `extent`.
    pub const fn of(extent: Extent) -> Self {
        Self { extent, target: Target::Any, taken: Loop::Unsaid, below: 0 }
    }
}

/// How many places, and from where.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Extent {
    /// A number and no place ("2 sc"): each of the next N, or all in the next place.
    Bare(u32),
    /// Each of the next N.
    Next(u32),
    /// Each of what is left.
    All,
    /// Each of what is left but the last N.
    AllBut(u32),
    /// The first N.
    First(u32),
    /// The last N.
    Last(u32),
    /// The place just worked.
    Same,
    /// Counted from the hook along the foundation chain.
    FromHook(u32),
    /// All before the next marker but N.
    ToMarker(u32),
    /// All before the last marker but N.
    ToLastMarker(u32),
    /// All before the next chain space or corner.
    ToSpace,
    /// The last stitch before the next chain space or corner.
    BeforeSpace,
    /// The stitch or space just passed over.
    Skipped(u32),
    /// All before the stitch in the middle of the row but N.
    ToCentre(u32),
    /// All before the next chain space but so many.
    ShortOfSpace(u32),
}

/// Which kind of place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Target {
    /// A stitch.
    Any,
    /// A stitch of one height.
    Post(Height),
    /// A space of so many links, when said.
    Space(Option<u32>),
    /// Stitches and spaces alike.
    StitchOrSpace,
    /// The nth link (from 1; 0 is the middle) of a chain run.
    Link(u32),
    /// A foundation chain link, or a chain counted as a stitch.
    Chain,
    /// The top of the turning chain.
    Turning,
    /// The space of the turning chain.
    TurningSpace,
    /// The ring.
    Ring,
    /// Between two stitches.
    Gap,
    /// A designer-defined group (index in [`Pattern::macros`](super::Pattern::macros)): its middle.
    Group(u16),
    /// The nth stitch (from 1) of the next group; beyond its end its last.
    InGroup(u32),
    /// A cluster, puff or bobble.
    Cluster,
    /// A corner.
    Corner,
    /// A marked stitch.
    Marked,
    /// The stitch in the middle of the row.
    Centre,
    /// A row end.
    RowEnd,
    /// A knit stitch that shows purl (`true`) or knit.
    Face(bool),
}

/// Which loop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Loop {
    /// Nothing said.
    #[default]
    Unsaid,
    /// Both, said.
    Both,
    /// Back loop only.
    Back,
    /// Front loop only.
    Front,
    /// The third loop.
    Third,
}

/// An edge of the piece as the words name it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// None named.
    Unsaid,
    /// A side: row ends.
    Side,
    /// The left side, seen from the right side of the work.
    Left,
    /// The right side.
    Right,
    /// The side not picked up yet.
    Other,
    /// The cast-on edge.
    CastOn,
    /// The last row worked, or its bind-off.
    Top,
    /// One of the two longer edges: row ends, or the last row of a piece that is wider than tall.
    Long,
    /// One of the two shorter edges.
    Short,
    /// Row ends of the strip of this number, which was picked up round the piece before.
    Strip(u16),
}

/// The side of four that a border along three leaves out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LeftOut {
    /// The last row.
    Top,
    /// The foundation.
    Bottom,
    /// Row ends on the left, seen from the right side of the work.
    Left,
    /// Row ends on the right.
    Right,
    /// One of the two longer sides.
    Long,
    /// One of the two shorter sides.
    Short,
}

/// The sides of a piece that a border's number of stitches speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// The next of the two sides made of row ends; one number is that of both.
    Ends,
    /// The last row and the foundation, each.
    Across,
    /// The last row.
    Top,
    /// The foundation.
    Bottom,
    /// Each of the two longer sides.
    Long,
    /// Each of the two shorter sides.
    Short,
}
