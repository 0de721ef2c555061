//! The fabric: mesh, rest shapes and start positions made from the stitch graph.
//!
//! Nodes are stitch tops, plus a selvage node half a stitch outside each row end; cells lie between
//! neighbouring legs; every row end, foundation and bind-off has an edge strand of its own.

mod arches;
mod begin;
mod bending;
mod blocks;
mod cells;
mod corners;
mod fans;
mod front;
mod ground;
mod legs;
mod mesh;
mod rounds;
mod selvage;
mod sizes;
mod start;
mod weight;

pub use arches::loop_rise;
pub use bending::Rigidity;
pub use blocks::block_stitches;
pub use corners::corners;
pub use ground::worked;
pub use rounds::{Round, hole, rounds};
pub use sizes::{EdgeLaw, Sizes, StitchSize};

use crate::mechanics::Body;
use crate::mechanics::Strand;
use crate::stitches::Piece;
use crate::stitches::RowId;
use crate::stitches::StitchId;

/// Which row and stitch a cell belongs to: those of its right-hand leg.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CellTag {
    /// Row whose work made the cell.
    pub row: RowId,
    /// The stitch.
    pub stitch: StitchId,
}

/// A stitch that adds yarn but no cell because its place is not on the edge of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unplaced {
    /// Which.
    pub stitch: StitchId,
    /// Why.
    pub why: &'static str,
}

/// Mesh, rest shapes and start positions of a piece, SI units.
#[derive(Debug, Clone, PartialEq)]
pub struct Fabric {
    /// Everything that stores energy.
    pub body: Body,
    /// Start positions (m), x to the right and y up the rows as seen from the right side.
    pub start: Vec<[f64; 2]>,
    /// Stitch of each node; `None` for selvage nodes and points on strands.
    pub node_stitch: Vec<Option<StitchId>>,
    /// Tags of `body.quads`.
    pub quad_tags: Vec<CellTag>,
    /// Tags of `body.wedges`.
    pub wedge_tags: Vec<CellTag>,
    /// Tags of `body.polygons`.
    pub polygon_tags: Vec<CellTag>,
    /// Left and right selvage node at the top of each row that has both.
    pub row_ends: Vec<Option<[u32; 2]>>,
    /// Where work runs from corner to corner, lines of blocks across the piece stand in for the first
    /// entries of `row_ends`: the rows that the left and right end of each belong to.
    pub lines: Vec<[RowId; 2]>,
    /// Nodes along the top of each row, right to left.
    pub row_paths: Vec<Vec<u32>>,
    /// Boundary cycles, counter-clockwise, the longest first.
    pub outlines: Vec<Vec<u32>>,
    /// Stitches that found no place on the front.
    pub unplaced: Vec<Unplaced>,
    /// Closed rounds, meshed cut open along their joins.
    pub cut: bool,
    /// The ring that rounds began on.
    pub middle: Option<u32>,
    /// Middles of rings that rounds are worked into.
    pub rings: Vec<u32>,
    /// Rows whose last stitch neighbours their first.
    pub closed: Vec<bool>,
}

impl Fabric {
    /// Builds the mesh of `piece` with the given rest sizes.
    pub fn new(piece: &Piece, sizes: &Sizes) -> Self {
        mesh::Builder::new(piece, sizes).build()
    }

    /// As [`Fabric::new`], with closed rounds left whole: for states in space.
    pub fn whole(piece: &Piece, sizes: &Sizes) -> Self {
        let mut builder = mesh::Builder::new(piece, sizes);
        builder.fabric.cut = false;
        builder.build()
    }

    fn empty(sizes: &Sizes) -> Self {
        let laws = sizes.membranes.iter().flat_map(|&m| [m, m.scaled(sizes.open_share)]);
        Self {
            body: Body { membranes: laws.collect(), ..Body::default() },
            start: Vec::new(),
            node_stitch: Vec::new(),
            quad_tags: Vec::new(),
            wedge_tags: Vec::new(),
            polygon_tags: Vec::new(),
            row_ends: Vec::new(),
            lines: Vec::new(),
            row_paths: Vec::new(),
            outlines: Vec::new(),
            unplaced: Vec::new(),
            cut: false,
            middle: None,
            rings: Vec::new(),
            closed: Vec::new(),
        }
    }

    fn strand(&mut self, a: u32, b: u32, rest: f64, law: EdgeLaw) {
        if rest > 0.0 && law.stiffness > 0.0 {
            self.body.strands.push(Strand {
                nodes: [a, b],
                rest: rest * law.tightness,
                stiffness: law.stiffness,
            });
        }
    }

    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.body.quads.len() + self.body.wedges.len() + self.body.polygons.len()
    }
}
