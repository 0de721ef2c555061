//! Contact of nodes with solids that do not move: no friction, no tunnelling.
//!
//! A solid is a box rounded by a radius (a capsule, a slab, a ball, a long rail are such boxes). A node
//! at depth `s` under its surface stores `k s³/6δ` within a soft layer of depth `δ` and
//! `k (s²/2 - δ s/2 + δ²/6)` below it: a penalty with continuous curvature. No step may carry a node
//! further than half the least radius, so none passes through a solid unnoticed.

use super::Want;
use nalgebra::{Matrix3, SVector, Vector3};

/// A box with half sides `half` along `axes`, rounded by `radius`: all points within `radius` of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solid {
    /// Its middle, m.
    pub centre: [f64; 3],
    /// Orthonormal directions of its sides.
    pub axes: [[f64; 3]; 3],
    /// Half sides of the box inside, m; may be zero.
    pub half: [f64; 3],
    /// Rounding, m, above zero.
    pub radius: f64,
}

/// Solids that nodes rest on.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Support {
    /// The solids.
    pub solids: Vec<Solid>,
    /// Stiffness of a node's contact, N/m.
    pub stiffness: f64,
    /// Depth of the soft layer, m.
    pub layer: f64,
}

impl Solid {
    /// A level bar along x with its top line at height zero.
    pub fn rail(radius: f64, half_length: f64) -> Self {
        Self {
            centre: [0.0, 0.0, -radius],
            axes: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            half: [half_length, 0.0, 0.0],
            radius,
        }
    }

    /// A level slab with its top face at height zero, `thick` deep.
    pub fn table(half_side: f64, thick: f64) -> Self {
        Self {
            centre: [0.0, 0.0, -thick],
            axes: [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
            half: [half_side, half_side, 0.0],
            radius: thick,
        }
    }

    /// Vector from the nearest point of the inner box, and the axes in which that point is held.
    fn out(&self, x: &Vector3<f64>) -> (Vector3<f64>, Matrix3<f64>) {
        let d = x - Vector3::from(self.centre);
        let (mut out, mut held) = (Vector3::zeros(), Matrix3::zeros());
        for (axis, half) in self.axes.iter().zip(self.half) {
            let axis = Vector3::from(*axis);
            let along = d.dot(&axis);
            let over = along - along.clamp(-half, half);
            if over != 0.0 || half == 0.0 {
                out += axis * over;
                held += axis * axis.transpose();
            }
        }
        (out, held)
    }

    /// Depth of a point under the surface, m; negative outside.
    pub fn depth(&self, x: [f64; 3]) -> f64 {
        self.radius - self.out(&Vector3::from(x)).0.norm()
    }
}

impl Support {
    /// Longest step of a node that cannot pass through a solid, m.
    pub(super) fn reach(&self) -> f64 {
        0.5 * self.solids.iter().fold(f64::INFINITY, |r, s| r.min(s.radius))
    }

    /// Force of the solids on a node at `x`, N.
    pub fn force(&self, x: [f64; 3]) -> [f64; 3] {
        let mut g = [0.0; 3];
        self.add::<3>(&SVector::from(x), Want::Gradient, &mut g, &mut []);
        g.map(|c| -c)
    }

    /// Energy of a node at `x`; in the plane there is none.
    pub(super) fn add<const D: usize>(
        &self,
        x: &SVector<f64, D>,
        want: Want,
        g: &mut [f64],
        h: &mut [f64],
    ) -> f64 {
        if D != 3 {
            return 0.0;
        }
        let x = Vector3::new(x[0], x[1], x[2]);
        self.solids.iter().map(|solid| self.push(solid, &x, want, g, h)).sum()
    }

    fn push(
        &self,
        solid: &Solid,
        x: &Vector3<f64>,
        want: Want,
        g: &mut [f64],
        h: &mut [f64],
    ) -> f64 {
        let (out, held) = solid.out(x);
        let far = out.norm();
        let s = solid.radius - far;
        if s <= 0.0 || far < 1e-12 {
            return 0.0;
        }
        let n = out / far;
        let (k, layer) = (self.stiffness, self.layer);
        let [energy, force, stiff] = if s < layer {
            [k * s.powi(3) / (6.0 * layer), 0.5 * k * s * s / layer, k * s / layer]
        } else {
            [k * (0.5 * s * (s - layer) + layer * layer / 6.0), k * (s - 0.5 * layer), k]
        };
        if want >= Want::Forces {
            (0..3).for_each(|d| g[d] -= force * n[d]);
        }
        if want >= Want::Clamped {
            let nn = n * n.transpose();
            let mut block = nn * stiff;
            if want == Want::Exact {
                block -= (held - nn) * (force / far);
            }
            super::cell::add_block(&mut h[..9], &block);
        }
        energy
    }
}
