//! The weight of the yarn, carried to the nodes.

use super::{CellTag, Fabric};
use crate::mechanics::signed_area;
use crate::stitches::Piece;
use crate::stitches::StitchId;

/// A cell's nodes, rest area (m²), tag and law.
pub(super) struct Patch<'a> {
    pub(super) nodes: &'a [u32],
    pub(super) area: f64,
    pub(super) tag: CellTag,
    pub(super) law: u32,
}

impl Fabric {
    /// All cells: quads, wedges, polygons.
    pub(super) fn patches(&self) -> impl Iterator<Item = Patch<'_>> {
        let body = &self.body;
        let quads = body.quads.iter().zip(&self.quad_tags).map(|(q, &tag)| Patch {
            nodes: &q.nodes,
            area: signed_area(&q.rest),
            tag,
            law: q.membrane,
        });
        let wedges = body.wedges.iter().zip(&self.wedge_tags).map(|(w, &tag)| Patch {
            nodes: &w.nodes,
            area: 0.5 * w.strand * w.height,
            tag,
            law: w.membrane,
        });
        let polygons = body.polygons.iter().zip(&self.polygon_tags).map(|(p, &tag)| Patch {
            nodes: &p.nodes,
            area: signed_area(&p.rest),
            tag,
            law: p.membrane,
        });
        quads.chain(wedges).chain(polygons)
    }

    /// Rest areas of all cells, m²: quads, wedges, polygons.
    pub fn rest_areas(&self) -> Vec<f64> {
        self.patches().map(|patch| patch.area).collect()
    }

    /// Mass of every node (kg), from the mass of every stitch of `piece` (kg).
    ///
    /// A stitch's yarn lies in the cells of its row around its top, by their area (half of a cell that
    /// it shares with its neighbour, all of a row end's half cell), and goes to their corners in equal
    /// parts. Yarn without a cell stays at its stitch's node, or along its row. The masses' sum is kept.
    pub fn node_masses(&self, piece: &Piece, stitches: &[f64]) -> Vec<f64> {
        let mut nodes = vec![0.0; self.body.nodes];
        let mut of_stitch = vec![0.0; stitches.len()];
        let mut shares: Vec<(usize, StitchId, f64)> = Vec::new();
        let patches: Vec<Patch<'_>> = self.patches().collect();
        for (k, patch) in patches.iter().enumerate() {
            for stitch in self.stitches_of(piece, patch) {
                shares.push((k, stitch, patch.area));
            }
        }
        let mut owners = vec![0.0; patches.len()];
        shares.iter().for_each(|s| owners[s.0] += 1.0);
        for (k, stitch, area) in &shares {
            of_stitch[stitch.0 as usize] += area / owners[*k];
        }
        for (k, stitch, area) in &shares {
            let at = stitch.0 as usize;
            let mass = stitches[at] * area / owners[*k] / of_stitch[at];
            let corners = patches[*k].nodes;
            corners.iter().for_each(|n| nodes[*n as usize] += mass / corners.len() as f64);
        }
        for (at, mass) in stitches.iter().enumerate().filter(|(at, _)| of_stitch[*at] <= 0.0) {
            self.strew(piece, StitchId(at as u32), *mass, &mut nodes);
        }
        nodes
    }

    /// Stitches of the cell's row whose tops are corners of it.
    fn stitches_of(&self, piece: &Piece, patch: &Patch<'_>) -> Vec<StitchId> {
        let tops = patch.nodes.iter().filter_map(|n| self.node_stitch[*n as usize]);
        let mut own: Vec<StitchId> =
            tops.filter(|s| piece.stitch(*s).row == patch.tag.row).collect();
        own.sort_unstable();
        own.dedup();
        if own.is_empty() {
            own.push(patch.tag.stitch);
        }
        own
    }

    /// Mass of a stitch that no cell carries.
    fn strew(&self, piece: &Piece, stitch: StitchId, mass: f64, nodes: &mut [f64]) {
        let row = piece.stitch(stitch).row.0 as usize;
        let own: Vec<u32> = (0..self.body.nodes as u32)
            .filter(|n| self.node_stitch[*n as usize] == Some(stitch))
            .collect();
        // A bind-off has no nodes: it closes the last row that has.
        let path = self.row_paths[..=row].iter().rev().find(|p| !p.is_empty());
        let to = match path {
            _ if !own.is_empty() => &own,
            Some(path) => path,
            None => {
                let share = mass / nodes.len().max(1) as f64;
                nodes.iter_mut().for_each(|n| *n += share);
                return;
            }
        };
        to.iter().for_each(|n| nodes[*n as usize] += mass / to.len() as f64);
    }
}
