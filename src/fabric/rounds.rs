//! Closed rounds as their stitches alone would have them: how long and how far out.

use super::Sizes;
use crate::stitches::Piece;
use crate::stitches::PieceRow;
use crate::stitches::Place;
use crate::stitches::RowId;
use crate::stitches::Stitch;
use crate::stitches::StitchId;

/// A round at rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Round {
    /// Its row.
    pub row: RowId,
    /// Stitches along its top; a chain counts its links.
    pub stitches: u32,
    /// Chain links among them: spaces.
    pub links: u32,
    /// Length along its top, m.
    pub circumference: f64,
    /// Mean height of its stitches, m.
    pub height: f64,
}

/// Radius (m) of the ring that a stitch is worked into: its links lie in a circle. Zero where it is
/// worked into no ring, or into one that is drawn shut.
pub(super) fn ring_radius(piece: &Piece, sizes: &Sizes, stitch: &Stitch) -> f64 {
    let ring = piece.legs(stitch).iter().find_map(|leg| match leg.place {
        Place::Ring(first) => Some(first),
        _ => None,
    });
    ring.map_or(0.0, |first| {
        f64::from(piece.stitch(first).links) * sizes.of(first).width / std::f64::consts::TAU
    })
}

/// Radius (m) of the hole in the middle that the first round leaves.
pub fn hole(piece: &Piece, sizes: &Sizes) -> f64 {
    let first = piece.rows.iter().find(|r| r.round && r.label != "foundation" && !r.finish);
    let radii = first.into_iter().flat_map(|row| piece.row_stitches(row));
    radii.map(|(_, stitch)| ring_radius(piece, sizes, stitch)).fold(0.0, f64::max)
}

/// Every worked round of `piece`, from the middle or the foundation outwards.
pub fn rounds(piece: &Piece, sizes: &Sizes) -> Vec<Round> {
    let one = |(index, row): (usize, &PieceRow)| round(piece, sizes, RowId(index as u32), row);
    piece.rows.iter().enumerate().filter(|(_, r)| r.round && !r.finish).filter_map(one).collect()
}

fn round(piece: &Piece, sizes: &Sizes, id: RowId, row: &PieceRow) -> Option<Round> {
    let legged = |s: &Stitch| s.legs.0 != s.legs.1;
    let (mut stitches, mut chained, mut circumference) = (0, 0, 0.0);
    let mut heights = Vec::new();
    for i in (row.stitches.0..row.stitches.1).map(StitchId) {
        let (stitch, size) = (piece.stitch(i), sizes.of(i));
        if stitch.overlay {
            continue;
        }
        let links = if legged(stitch) { 1 } else { stitch.links.max(1) };
        stitches += u32::from(links);
        chained += if legged(stitch) { 0 } else { u32::from(links) };
        circumference += size.width * f64::from(links);
        if legged(stitch) {
            heights.push(size.height);
        }
    }
    let height = heights.iter().sum::<f64>() / heights.len() as f64;
    (!heights.is_empty()).then_some(Round {
        row: id,
        stitches,
        links: chained,
        circumference,
        height,
    })
}
