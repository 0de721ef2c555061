//! Working the rows: from the written instructions to the stitch graph.
//!
//! A maker keeps a cursor over the row below and moves it as the words say. Ambiguous words are tried
//! in the order of evidence (what is stated, what uses the row below up exactly, what the printed count
//! says, the house rule), and the reading that fits is kept and reported once.

mod asks;
mod below;
mod block_edge;
mod blocks;
mod border;
mod check;
mod claims;
mod corner;
mod count;
mod draft;
mod fabrics;
mod fault;
mod fitting;
mod foundation;
mod gaps;
mod graph;
mod groups;
mod growth;
mod kind;
mod lengths;
mod maker;
mod making;
mod mirror;
mod needle;
mod oval;
mod perimeter;
mod pickup;
mod placing;
mod ranges;
mod reading;
mod ready;
mod round;
mod rows;
mod schedule;
mod sections;
mod shaped;
mod shaping;
mod slips;
mod spaces;
mod spread;
mod start;
mod turning_space;
mod until;
mod whole;
mod worker;

pub use block_edge::of_blocks;
pub use graph::{Anchor, Piece, PieceRow, Place, RowId, RowStart, Side, Stitch, StitchId};
pub use kind::{Craft, LoopTaken, Post, StitchKind};
pub use maker::{MOST_COST, MOST_ROWS, MOST_STITCHES, RowHeights, work, work_by, work_counted};
pub use perimeter::{BorderPlace, border_places};
