//! The stitch graph: every stitch of the worked piece, in working order, and what it is worked into.

use super::kind::{Craft, LoopTaken, StitchKind};
use crate::source::Span;

/// Index of a stitch in [`Piece::stitches`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct StitchId(pub u32);

/// Index of a row (or round) in [`Piece::rows`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct RowId(pub u32);

/// One place a leg of a stitch is worked into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Place {
    /// The top of a stitch (for knitting: its loop), or of a single foundation chain link.
    Top(StitchId),
    /// Round the post of a stitch, from the front (`true`) or the back.
    Post {
        /// The stitch whose post is taken.
        of: StitchId,
        /// From the front.
        front: bool,
    },
    /// The space under a chain run (the whole run taken), or under a yarn-over.
    Space(StitchId),
    /// The `nth` link (from 0, in the order worked) of a chain run.
    Link {
        /// The chain run.
        run: StitchId,
        /// Which link.
        nth: u16,
    },
    /// Between two neighbouring stitches of the row below.
    Gap(StitchId, StitchId),
    /// The underside of a foundation link or cast-on loop.
    Underside(StitchId),
    /// A row end: the side of a row, picked up for a border.
    RowEnd {
        /// The row whose end is taken.
        row: RowId,
        /// At the left edge as seen from the right side.
        left: bool,
        /// Which of `of` evenly spread points along that row end, from its base.
        nth: u8,
        /// Number of points on that row end.
        of: u8,
    },
    /// A ring (chain ring or adjustable ring), named by its first chain stitch.
    Ring(StitchId),
    /// The running strand before a stitch of the row below (make one).
    Strand(StitchId),
}

/// A leg: where it is worked and which loop it takes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Anchor {
    /// Where.
    pub place: Place,
    /// Which loop.
    pub taken: LoopTaken,
}

/// One stitch (or one chain run).
#[derive(Debug, Clone, PartialEq)]
pub struct Stitch {
    /// What it is.
    pub kind: StitchKind,
    /// Row it belongs to.
    pub row: RowId,
    /// Range in [`Piece::anchors`]: its legs in working order; empty for chains, yarn-overs, cast-on.
    pub legs: (u32, u32),
    /// Number of links of a chain run; number of chains a counted turning chain is built from; else 0.
    pub links: u16,
    /// Adds yarn but no fabric: a travelling slip stitch, a join, a surface decoration (picot).
    pub overlay: bool,
    /// Its yarn: index in [`Piece::colours`]. A row may change it on the way.
    pub colour: u16,
    /// Words it was read from.
    pub words: Span,
}

/// Which side faces the maker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Side {
    /// Right side.
    Right,
    /// Wrong side.
    Wrong,
}

/// How a row begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum RowStart {
    /// Straight into the first stitch (knitting, a fresh join).
    #[default]
    Plain,
    /// A turning chain of so many links that counts as the first stitch (it is that stitch).
    ChainCounts(u16),
    /// A turning chain of so many links that does not count: an edge strand.
    ChainBeside(u16),
}

/// One worked row or round. The foundation chain or cast-on is a row too (number 0).
#[derive(Debug, Clone, PartialEq)]
pub struct PieceRow {
    /// Index in [`Piece::sections`].
    pub section: u16,
    /// What the pattern calls it: "12", "Border 2", "foundation".
    pub label: String,
    /// Side facing while it is worked.
    pub side: Side,
    /// Worked from the left edge to the right edge *as seen from the right side of the piece*.
    pub left_to_right: bool,
    /// A round: its last stitch neighbours its first.
    pub round: bool,
    /// Range of its stitches in [`Piece::stitches`], in working order.
    pub stitches: (u32, u32),
    /// How it begins.
    pub start: RowStart,
    /// Bind-off or fasten-off row: closes loops, makes no new row of fabric.
    pub finish: bool,
    /// The yarn it begins with: index in [`Piece::colours`].
    pub colour: u16,
    /// Stitches (and spaces worked) of the row below used up.
    pub consumed: u32,
    /// Stitches made, as the row below is counted (`stitches`); bound-off loops are not made.
    pub made: u32,
    /// The count as the page counts it (chains or spaces in or out), when it prints one.
    pub count_as_written: Option<u32>,
    /// Stitches of the row below left unworked.
    pub unworked: u32,
    /// All its stitches found their place; `false` marks a row that could only be worked in part.
    pub placed: bool,
    /// Words of the row.
    pub words: Span,
}

/// A worked piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Crochet or knit.
    pub craft: Craft,
    /// All stitches in working order.
    pub stitches: Vec<Stitch>,
    /// All legs, sliced by [`Stitch::legs`].
    pub anchors: Vec<Anchor>,
    /// All rows in working order; the first is the foundation.
    pub rows: Vec<PieceRow>,
    /// Section names ("" when the pattern has none).
    pub sections: Vec<String>,
    /// Colour names as the pattern gives them ("A", "MC"); index 0 is the first used.
    pub colours: Vec<String>,
}

impl Piece {
    /// The stitch `id`.
    pub fn stitch(&self, id: StitchId) -> &Stitch {
        &self.stitches[id.0 as usize]
    }
    /// The legs of `stitch`, in working order.
    pub fn legs(&self, stitch: &Stitch) -> &[Anchor] {
        &self.anchors[stitch.legs.0 as usize..stitch.legs.1 as usize]
    }
    /// The first round that goes along a foundation chain and back along its free loops, as ovals begin.
    pub fn round_a_chain(&self) -> Option<RowId> {
        let both = |row: &PieceRow, base: &PieceRow| {
            let mut sides = [false; 2];
            for leg in self.row_stitches(row).flat_map(|(_, s)| self.legs(s)) {
                match leg.place {
                    Place::Underside(_) => sides[1] = true,
                    Place::Top(id) => {
                        sides[0] |= (base.stitches.0..base.stitches.1).contains(&id.0)
                    }
                    _ => {}
                }
            }
            row.round && base.label == "foundation" && sides == [true; 2]
        };
        let found = self.rows.windows(2).position(|w| both(&w[1], &w[0]))?;
        Some(RowId(found as u32 + 1))
    }

    /// Every row worked is a closed round: the piece has no row ends.
    pub fn all_rounds(&self) -> bool {
        let mut worked =
            self.rows.iter().filter(|r| r.label != "foundation" && !r.finish).peekable();
        worked.peek().is_some() && worked.all(|r| r.round)
    }

    /// The row is of foundation stitches, made together with the chain below them.
    pub fn made_with_chain(&self, row: RowId) -> bool {
        let Some(below) = row.0.checked_sub(1).and_then(|r| self.rows.get(r as usize)) else {
            return false;
        };
        let words = |row: &PieceRow| self.row_stitches(row).next().map(|(_, s)| s.words);
        let own = self.rows.get(row.0 as usize).and_then(words);
        below.label == "foundation" && own.is_some() && own == words(below)
    }

    /// Ids and stitches of a row, in working order.
    pub fn row_stitches(&self, row: &PieceRow) -> impl Iterator<Item = (StitchId, &Stitch)> {
        (row.stitches.0..row.stitches.1).map(|i| (StitchId(i), &self.stitches[i as usize]))
    }
}
