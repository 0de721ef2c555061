//! Curvatures of a sheet from its nodes.
//!
//! The energy per area is `(B1 k1² + B2 k2² + 2 sqrt(B1 B2) k12²)/2` at zero Poisson ratio, with `k1`,
//! `k2` the curvatures along rows and columns and `k12` the twist; with `B1 = B2` it does not depend
//! on direction. Curvatures along lines come from three nodes in a row, the twist from the four
//! corners of a cell.

use super::Bend;

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
}
