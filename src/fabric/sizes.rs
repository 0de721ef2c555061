//! What the mesh builder needs to know of each stitch, in SI: resolved once per piece.

use std::collections::BTreeMap;

use super::ground::worked;
use crate::material::EdgeStrand;
use crate::material::Hand;
use crate::material::Material;
use crate::material::Worked;
use crate::mechanics::Membrane;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::stitches::RowId;
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
    /// Stiffness share along the row that an open cell under an arched loop keeps until the loop is straight.
    pub arch_share: f64,
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
    /// Sizes of every stitch of `piece` in `material`, as `hand` works them.
    pub fn new(piece: &Piece, material: &Material, hand: &Hand) -> Self {
        let grounds = worked(piece);
        let mut stitches = Vec::with_capacity(piece.stitches.len());
        let mut membranes: Vec<Membrane> = Vec::new();
        let mut membrane_of = Vec::with_capacity(piece.stitches.len());
        // A piece has thousands of stitches of a few kinds.
        let mut known: BTreeMap<(Worked, bool), (StitchSize, u32)> = BTreeMap::new();
        for (index, row) in piece.rows.iter().enumerate() {
            let factors = hand.row(index as u32, (row.stitches.1 - row.stitches.0) as usize);
            for (k, i) in (row.stitches.0..row.stitches.1).enumerate() {
                let ground = grounds[i as usize];
                let [wider, taller] = factors[k];
                let turned = !row.round;
                let (even, law) = *known.entry((ground, turned)).or_insert_with(|| {
                    (even(material, ground, turned), law(material, ground, &mut membranes))
                });
                stitches.push(StitchSize {
                    width: even.width * wider,
                    height: even.height * taller,
                    lean: even.lean,
                });
                membrane_of.push(law);
            }
        }
        // A strand is some stitches' worth of fabric: its stiffness grows with the stitch, and gauge
        // scales every length alike.
        let scale = mean_width(&stitches) / PRESET_WIDTH;
        let edge = |strand| {
            let law = material.strand(strand);
            EdgeLaw { tightness: 1.0 + law.tightness, stiffness: law.stiffness * scale }
        };
        Self {
            stitches,
            membranes,
            membrane_of,
            open_share: material.open_share(),
            arch_share: material.arch_share(),
            selvage: edge(EdgeStrand::RowEnd),
            foundation: edge(foundation_strand(piece)),
            bind_off: edge(EdgeStrand::BindOff),
            selvage_lean: material.selvage_lean(),
        }
    }

    /// Size of stitch `id`.
    pub fn of(&self, id: StitchId) -> StitchSize {
        self.stitches[id.0 as usize]
    }
}

/// Size of a stitch in an even hand.
fn even(material: &Material, ground: Worked, turned: bool) -> StitchSize {
    StitchSize {
        width: material.width_of(ground).to_m(),
        height: material.height_of(ground).to_m(),
        lean: material.lean(ground.kind, ground.taken, turned).to_m(),
    }
}

/// Index of the law of a stitch in `membranes`, added where it is new.
fn law(material: &Material, ground: Worked, membranes: &mut Vec<Membrane>) -> u32 {
    let m = material.membrane(ground);
    let law = Membrane {
        e1: m.e1,
        e2: m.e2,
        nu12: m.nu12,
        g: m.g,
        squeeze: m.squeeze,
        locking: m.locking,
    };
    let at = membranes.iter().position(|&l| l == law).unwrap_or_else(|| {
        membranes.push(law);
        membranes.len() - 1
    });
    at as u32
}

/// Stitch width for which the presets state the stiffness of strands, m.
const PRESET_WIDTH: f64 = 0.005;

fn mean_width(stitches: &[StitchSize]) -> f64 {
    stitches.iter().map(|s| s.width).sum::<f64>() / stitches.len().max(1) as f64
}

fn foundation_strand(piece: &Piece) -> EdgeStrand {
    let together = piece.made_with_chain(RowId(1));
    match piece.craft {
        Craft::Knit => EdgeStrand::CastOn,
        Craft::Crochet if together => EdgeStrand::FoundationStitches,
        Craft::Crochet => EdgeStrand::FoundationChain,
    }
}
