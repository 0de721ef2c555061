//! Pieces built stitch by stitch for tests, without any pattern text.
#![allow(dead_code, reason = "each test target uses its own part of it")]

pub(crate) mod edits;

use slantwise::fabric::{EdgeLaw, Sizes, StitchSize};
use slantwise::mechanics::Membrane;
use slantwise::source::Span;
use slantwise::stitches::{
    Anchor, Craft, LoopTaken, Piece, PieceRow, Place, RowId, RowStart, Side, Stitch, StitchId,
    StitchKind,
};

/// One thing done while working a row.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Op {
    /// One stitch in each of the next n.
    Each(u32),
    /// One stitch in each remaining but the last n.
    EachToLast(u32),
    /// Two in one.
    Two,
    /// Two together.
    Together,
    /// Yarn over.
    Over,
    /// (chain 1, skip 1), so many times.
    Mesh(u32),
    /// So many crossed in front of or behind so many after them.
    Crossed(u32, u32),
}

/// A stitch maker.
pub(crate) struct Maker {
    pub(crate) piece: Piece,
    tops: Vec<StitchId>,
    kind: StitchKind,
    next_left_to_right: bool,
}

impl Maker {
    /// Casts on n.
    pub(crate) fn cast_on(n: u32) -> Self {
        let kind = StitchKind::Knit { purl: false, twisted: false };
        let piece = Piece {
            craft: Craft::Knit,
            stitches: Vec::new(),
            anchors: Vec::new(),
            rows: Vec::new(),
            sections: vec![String::new()],
            colours: vec!["A".into()],
        };
        let mut maker = Self { piece, tops: Vec::new(), kind, next_left_to_right: true };
        let from = maker.begin();
        for _ in 0..n {
            maker.stitch(StitchKind::CastOn, &[]);
        }
        maker.end("cast-on", from, 0);
        maker
    }

    /// Works the following rows in another kind.
    pub(crate) fn kind(&mut self, kind: StitchKind) -> &mut Self {
        self.kind = kind;
        self
    }

    fn begin(&self) -> u32 {
        self.piece.stitches.len() as u32
    }

    fn stitch(&mut self, kind: StitchKind, into: &[StitchId]) -> StitchId {
        let from = self.piece.anchors.len() as u32;
        for &s in into {
            self.piece.anchors.push(Anchor { place: Place::Top(s), taken: LoopTaken::Both });
        }
        self.piece.stitches.push(Stitch {
            kind,
            row: RowId(self.piece.rows.len() as u32),
            legs: (from, self.piece.anchors.len() as u32),
            links: u16::from(kind == StitchKind::Chain),
            overlay: false,
            colour: 0,
            words: Span::default(),
        });
        StitchId(self.piece.stitches.len() as u32 - 1)
    }

    fn end(&mut self, label: &str, from: u32, consumed: u32) {
        let to = self.piece.stitches.len() as u32;
        let left_to_right = self.next_left_to_right;
        self.piece.rows.push(PieceRow {
            section: 0,
            label: label.into(),
            side: if left_to_right { Side::Wrong } else { Side::Right },
            left_to_right,
            round: false,
            stitches: (from, to),
            start: RowStart::Plain,
            finish: false,
            colour: 0,
            consumed,
            made: to - from,
            count_as_written: None,
            unworked: 0,
            placed: true,
            words: Span::default(),
        });
        self.tops = (from..to).map(StitchId).collect();
        self.next_left_to_right = !left_to_right;
    }

    /// Works one row, turning first.
    pub(crate) fn row(&mut self, ops: &[Op]) -> &mut Self {
        let below: Vec<StitchId> = self.tops.iter().rev().copied().collect();
        let from = self.begin();
        let mut at = 0;
        for &op in ops {
            match op {
                Op::Each(n) => at = self.each(&below, at, at + n as usize),
                Op::EachToLast(n) => at = self.each(&below, at, below.len() - n as usize),
                Op::Two => {
                    self.stitch(self.kind, &[below[at]]);
                    self.stitch(self.kind, &[below[at]]);
                    at += 1;
                }
                Op::Together => {
                    self.stitch(self.kind, &[below[at], below[at + 1]]);
                    at += 2;
                }
                Op::Over => {
                    self.stitch(StitchKind::YarnOver, &[]);
                }
                Op::Crossed(held, over) => {
                    let (a, b) = (held as usize, over as usize);
                    self.each(&below, at + a, at + a + b);
                    self.each(&below, at, at + a);
                    at += a + b;
                }
                Op::Mesh(n) => {
                    for _ in 0..n {
                        self.stitch(StitchKind::Chain, &[]);
                        at = self.each(&below, at + 1, at + 2);
                    }
                }
            }
        }
        assert_eq!(at, below.len(), "a test row must use every stitch");
        let label = self.piece.rows.len().to_string();
        self.end(&label, from, below.len() as u32);
        self
    }

    fn each(&mut self, below: &[StitchId], from: usize, to: usize) -> usize {
        for &s in &below[from..to] {
            self.stitch(self.kind, &[s]);
        }
        to
    }
}

/// A bias piece: every row increases at the right edge and decreases at the left edge (as seen from the
/// right side) every `every` rows.
pub(crate) fn bias(stitches: u32, rows: u32, every: u32) -> Piece {
    let mut maker = Maker::cast_on(stitches);
    for r in 0..rows {
        if r % every != 0 {
            maker.row(&[Op::EachToLast(0)]);
        } else if maker.next_left_to_right {
            maker.row(&[Op::Together, Op::EachToLast(1), Op::Two]);
        } else {
            maker.row(&[Op::Two, Op::EachToLast(2), Op::Together]);
        }
    }
    maker.piece
}

/// A plain rectangle.
pub(crate) fn rectangle(stitches: u32, rows: u32) -> Piece {
    let mut maker = Maker::cast_on(stitches);
    for _ in 0..rows {
        maker.row(&[Op::EachToLast(0)]);
    }
    maker.piece
}

/// Every stitch the same size; edge strands as long as the stress-free cells beside them.
pub(crate) fn even_sizes(piece: &Piece, width: f64, height: f64) -> Sizes {
    let edge = EdgeLaw { tightness: 1.0, stiffness: 1.0 };
    Sizes {
        stitches: vec![StitchSize { width, height, lean: 0.0 }; piece.stitches.len()],
        membranes: vec![Membrane {
            e1: 300.0,
            e2: 250.0,
            nu12: 0.3,
            g: 15.0,
            squeeze: 0.3,
            locking: Membrane::FREE,
        }],
        membrane_of: vec![0; piece.stitches.len()],
        open_share: 0.3,
        arch_share: 0.02,
        selvage: edge,
        foundation: edge,
        bind_off: edge,
        selvage_lean: 1.0,
    }
}
