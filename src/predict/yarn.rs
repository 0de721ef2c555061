//! Yarn by colour.

use crate::fabric::worked;
use crate::material::Material;
use crate::measure::YarnUse;
use crate::stitches::LoopTaken;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::RowId;
use crate::stitches::RowStart;
use crate::stitches::StitchKind;
use crate::units::Length;

/// What the stitches of each colour use, without margin, in the order of the piece's colours. A stitch takes
/// yarn in proportion to its `size` against the gauge (D. L. Munden, J. Text. Inst. 50, 1959: loop length times
/// courses or wales per length is constant).
pub(super) fn by_colour(piece: &Piece, material: &Material, size: f64) -> Vec<YarnUse> {
    let mut lengths = vec![Length::mm(0.0); piece.colours.len().max(1)];
    for (stitch, own) in piece.stitches.iter().zip(by_stitch(piece, material)) {
        let colour = usize::from(stitch.colour).min(lengths.len() - 1);
        lengths[colour] = lengths[colour] + own;
    }
    for row in &piece.rows {
        let colour = usize::from(row.colour).min(lengths.len() - 1);
        lengths[colour] = lengths[colour] + beside(row, material);
    }
    let name = |i: usize| piece.colours.get(i).cloned().unwrap_or_default();
    lengths
        .into_iter()
        .enumerate()
        .map(|(i, length)| (i, length * size))
        .map(|(i, length)| YarnUse { colour: name(i), length, mass: material.yarn_mass(length) })
        .collect()
}

/// Yarn of a turning chain that stands beside its row and is no stitch.
pub(super) fn beside(row: &PieceRow, material: &Material) -> Length {
    match row.start {
        RowStart::ChainBeside(links) => {
            material.yarn_length(StitchKind::Chain, LoopTaken::Both) * f64::from(links)
        }
        _ => Length::mm(0.0),
    }
}

/// What each stitch uses.
pub(super) fn by_stitch(piece: &Piece, material: &Material) -> Vec<Length> {
    let grounds = worked(piece);
    let own = piece.stitches.iter().zip(grounds).map(|(stitch, ground)| {
        // A link made together with its stitch is counted there.
        if piece.made_with_chain(stitch.row) {
            return material.foundation_yarn(ground);
        }
        if piece.made_with_chain(RowId(stitch.row.0 + 1)) {
            return Length::mm(0.0);
        }
        // A counted turning chain is built from its links, not drawn up like the stitch it stands for.
        let links = f64::from(stitch.links.max(1));
        if stitch.links > 0 {
            material.yarn_length(StitchKind::Chain, ground.taken) * links
        } else {
            material.yarn_of(ground)
        }
    });
    own.collect()
}
