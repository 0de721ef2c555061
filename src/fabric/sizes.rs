//! What the mesh builder needs to know of each stitch, in SI: resolved once per piece.

use crate::mechanics::Membrane;
use crate::stitches::StitchId;

/// Rest size of one stitch, m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StitchSize {
    /// Width along the row.
    pub width: f64,
    /// Height of the row it makes.
    pub height: f64,
    /// Sideways offset of its top from its base, in the working direction.
    pub lean: f64,
}

/// An edge strand: its length against the stress-free cell beside it, and its stiffness.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeLaw {
    /// Rest length over stress-free length; below 1 draws in.
    pub tightness: f64,
    /// Force per unit strain, N; never zero, else a row end is a free hinge.
    pub stiffness: f64,
}

/// Rest sizes and laws for a whole piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Sizes {
    /// Per stitch, indexed like `Piece::stitches`.
    pub stitches: Vec<StitchSize>,
    /// Laws in use.
    pub membranes: Vec<Membrane>,
    /// Index in `membranes` per stitch.
    pub membrane_of: Vec<u32>,
    /// Stiffness share of open cells (over chains and yarn-overs).
    pub open_share: f64,
    /// Row ends.
    pub selvage: EdgeLaw,
    /// Foundation chain or cast-on.
    pub foundation: EdgeLaw,
    /// Bind-off.
    pub bind_off: EdgeLaw,
    /// 1: selvage stitches outside the shaping lean with the body's shift; 0: they stand square.
    pub selvage_lean: f64,
}

impl Sizes {
    /// Size of stitch `id`.
    pub fn of(&self, id: StitchId) -> StitchSize {
        self.stitches[id.0 as usize]
    }
}
