//! Strains of cells at given positions.

use super::elements::{Buffers, Elements};
use super::{Body, Want, cell, wedge};
use nalgebra::SVector;

/// Names a membrane cell of a [`Body`] by its list and index.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cell {
    /// Index in [`Body::quads`].
    Quad(usize),
    /// Index in [`Body::wedges`].
    Wedge(usize),
    /// Index in [`Body::polygons`].
    Polygon(usize),
}

/// Strain of a cell: stretch less one along rows and along columns, and the change of the right
/// angle between them (rad, positive where it closes). A wedge has no shear: its angle is free.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Strain {
    /// Along rows (in a wedge: along its strand).
    pub rows: f64,
    /// Along columns (in a wedge: of its height).
    pub columns: f64,
    /// Shear angle, rad.
    pub shear: f64,
}

impl Body {
    /// Strain at the middle of a quad, of a wedge, or of a polygon's mean map.
    ///
    /// # Panics
    /// If the cell or one of its nodes does not exist; see [`Body::validate`].
    pub fn strain<const D: usize>(&self, which: Cell, x: &[[f64; D]]) -> Strain {
        let at = |n: u32| SVector::from(x[n as usize]);
        match which {
            Cell::Quad(i) => {
                let q = &self.quads[i];
                let (b, _) = cell::quad_gradient(&q.rest, [0.0, 0.0]);
                mapped(q.nodes.iter().map(|n| at(*n)).zip(b))
            }
            Cell::Polygon(i) => {
                let p = &self.polygons[i];
                mapped(p.nodes.iter().map(|n| at(*n)).zip(super::elements::mean_gradient(&p.rest)))
            }
            Cell::Wedge(i) => {
                let w = &self.wedges[i];
                let [rows, columns] = wedge::strains(&w.nodes.map(at), [w.strand, w.height]);
                Strain { rows, columns, shear: 0.0 }
            }
        }
    }

    /// Stored energy less the work of the loads (J), +inf where a cell is folded over in the plane.
    ///
    /// # Panics
    /// If `x` holds fewer nodes than the body; see [`Body::validate`].
    pub fn energy<const D: usize>(&self, x: &[[f64; D]]) -> f64 {
        Elements::new(self).evaluate::<D>(
            x.as_flattened(),
            Want::Energy,
            true,
            &mut Buffers::default(),
        )
    }
}

fn mapped<const D: usize>(corners: impl Iterator<Item = (SVector<f64, D>, [f64; 2])>) -> Strain {
    let mut f = [SVector::<f64, D>::zeros(); 2];
    for (x, b) in corners {
        f[0] += x * b[0];
        f[1] += x * b[1];
    }
    let [a, b] = [f[0].norm(), f[1].norm()];
    Strain {
        rows: a - 1.0,
        columns: b - 1.0,
        shear: (f[0].dot(&f[1]) / (a * b)).clamp(-1.0, 1.0).asin(),
    }
}
