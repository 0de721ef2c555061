//! Curvatures of a sheet from its nodes.
//!
//! The energy per area is `(B1 k1² + B2 k2² + 2 sqrt(B1 B2) k12²)/2` at zero Poisson ratio, with `k1`,
//! `k2` the curvatures along rows and columns and `k12` the twist; with `B1 = B2` it does not depend
//! on direction. Curvatures along lines come from three nodes in a row, the twist from the four
//! corners of a cell, or all three from a patch of nodes.

use super::Bend;
use nalgebra::{DMatrix, DVector};

impl Bend {
    /// Curvature at the middle of three nodes of a line whose links rest `before` and `after` long
    /// (m), of a strip `width` wide (m, half a cell at an edge) and rigidity `b` (N m).
    pub fn line(nodes: [u32; 3], [before, after]: [f64; 2], width: f64, b: f64) -> Self {
        let half = 0.5 * (before + after);
        let (p, q) = (1.0 / (before * half), 1.0 / (after * half));
        Self { nodes: nodes.to_vec(), weights: vec![p, -p - q, q], stiffness: b * width * half }
    }

    /// Twist of a cell with rest corners `rest` (m) and mean rigidity `b = sqrt(B1 B2)` (N m).
    ///
    /// The four-corner pattern (1, -1, 1, -1) with its affine part taken off (Flanagan, Belytschko,
    /// Int. J. Numer. Meth. Engng 17 (1981) 679), over the area.
    pub fn twist(nodes: [u32; 4], rest: &[[f64; 2]; 4], b: f64) -> Self {
        let (gradient, quarter) = super::cell::quad_gradient(rest, [0.0, 0.0]);
        let area = 4.0 * quarter;
        let sign = [1.0, -1.0, 1.0, -1.0];
        let part = |d: usize| (0..4).map(|i| sign[i] * rest[i][d]).sum::<f64>();
        let [along, up] = [part(0), part(1)];
        let weights = (0..4)
            .map(|i| (sign[i] - along * gradient[i][0] - up * gradient[i][1]) / area)
            .collect();
        Self { nodes: nodes.to_vec(), weights, stiffness: 2.0 * b * area }
    }

    /// Twist of a cell of any number of corners, of mean rigidity `b = sqrt(B1 B2)` (N m): what its corners
    /// at `flat` (m) leave of the product of the rest coordinates `rest` (m) once affine maps are taken
    /// off. None for corners that know no twist: three, or all on two lines along the axes.
    pub fn open_twist(nodes: &[u32], rest: &[[f64; 2]], flat: &[[f64; 2]], b: f64) -> Option<Self> {
        let n = rest.len();
        let middle =
            |p: &[[f64; 2]]| [0, 1].map(|d| p.iter().map(|p| p[d]).sum::<f64>() / n as f64);
        let (m, o) = (middle(rest), middle(flat));
        let area = super::signed_area(flat);
        let size = area.abs().sqrt();
        let product =
            DVector::from_fn(n, |i, _| (rest[i][0] - m[0]) * (rest[i][1] - m[1]) / (size * size));
        let affine =
            DMatrix::from_fn(
                n,
                3,
                |i, k| {
                    if k == 0 { 1.0 } else { (flat[i][k - 1] - o[k - 1]) / size }
                },
            );
        let fit = affine.tr_mul(&affine).try_inverse()? * affine.transpose();
        let left = &product - &affine * (fit * &product);
        let square = left.norm_squared();
        (square > 1e-9 && area > 0.0).then(|| {
            let mut weights: Vec<f64> = left.iter().map(|w| w / square / (size * size)).collect();
            // Constants must go to the last digit.
            weights[0] -= weights.iter().sum::<f64>();
            Self { nodes: nodes.to_vec(), weights, stiffness: 2.0 * b * area }
        })
    }

    /// Both curvatures and the twist at the middle of a patch of six or more nodes with rest coordinates
    /// `rest` (m, rows along component 0): second derivatives of the quadratic that fits them best,
    /// for rigidities `[b1, b2]` and `twist` times their geometric mean (N m), over `area` (m²).
    ///
    /// # Panics
    /// If the nodes fix no quadratic: fewer than six, or all on a conic.
    pub fn patch(
        nodes: &[u32],
        rest: &[[f64; 2]],
        area: f64,
        [b1, b2]: [f64; 2],
        twist: f64,
    ) -> [Self; 3] {
        let n = rest.len();
        let mean = [0, 1].map(|d| rest.iter().map(|p| p[d]).sum::<f64>() / n as f64);
        let size = area.sqrt();
        let basis = DMatrix::from_fn(n, 6, |i, k| {
            let [x, y] = [0, 1].map(|d| (rest[i][d] - mean[d]) / size);
            [1.0, x, y, 0.5 * x * x, 0.5 * y * y, x * y][k]
        });
        let fit =
            (basis.tr_mul(&basis)).try_inverse().expect("six nodes off any conic fix a quadratic")
                * basis.transpose();
        let shares = [b1, b2, 2.0 * twist * (b1 * b2).sqrt()];
        [0, 1, 2].map(|k| {
            let mut weights: DVector<f64> = fit.row(3 + k).transpose() / area;
            // A constant has no second derivative; rounding must not give it one.
            let off = weights.sum() / n as f64;
            weights.add_scalar_mut(-off);
            let weights = weights.as_slice().to_vec();
            Self { nodes: nodes.to_vec(), weights, stiffness: shares[k] * area }
        })
    }

    /// Quadratic bending across the edge of two triangles, rigidity `b` (N m): nodes are the edge's
    /// ends, then the apexes; `rest` their rest coordinates (m).
    ///
    /// The formula of Bergou et al. (SGP 2006), `3 B/(A0 + A1) |K x|²/2` with cotangent weights `K`.
    /// On a right-angled grid it gives up to three times the rigidity of a plate: it is here for
    /// comparison with codes that use it, [`Bend::line`] and [`Bend::twist`] are for predictions.
    pub fn hinge(nodes: [u32; 4], rest: &[[f64; 2]; 4], b: f64) -> Self {
        let arms = |o: usize, p: usize, q: usize| {
            let [o, p, q] = [rest[o], rest[p], rest[q]];
            let (u, v) = ([p[0] - o[0], p[1] - o[1]], [q[0] - o[0], q[1] - o[1]]);
            (u[0] * v[0] + u[1] * v[1], (u[0] * v[1] - u[1] * v[0]).abs())
        };
        let cot = |o, p, q| arms(o, p, q).0 / arms(o, p, q).1;
        let [c01, c02] = [cot(0, 1, 2), cot(0, 1, 3)];
        let [c03, c04] = [cot(1, 0, 2), cot(1, 0, 3)];
        let weights = vec![c03 + c04, c01 + c02, -c01 - c03, -c02 - c04];
        let area = 0.5 * (arms(0, 1, 2).1 + arms(0, 1, 3).1);
        Self { nodes: nodes.to_vec(), weights, stiffness: 3.0 * b / area }
    }
}
