//! Working the rows: from the written instructions to the stitch graph.

mod graph;
mod kind;

pub use graph::{Anchor, Piece, PieceRow, Place, RowId, RowStart, Side, Stitch, StitchId};
pub use kind::{Craft, LoopTaken, Post, StitchKind};
