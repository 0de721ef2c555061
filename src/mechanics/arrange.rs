//! A rough arrangement of the cells in the plane, as a start for the solver.
//!
//! Every cell pulls its corners towards its rest shape, turned to fit as well as it can; turning the
//! cells and moving the nodes take turns. Each half lowers the same energy
//! `Σ_cells w Σ_corners |x - x̄ - R (X - X̄)|²`, whose quadratic form never changes, so one
//! factorisation serves all rounds (Sorkine and Alexa, "As-rigid-as-possible surface modeling", SGP 2007,
//! with whole cells for neighbourhoods). It knows no law and no tolerance worth the name: what it
//! arranges is only where Newton's method begins.

use faer::linalg::solvers::Solve;
use faer::sparse::{SparseColMat, Triplet};
use faer::{Mat, Side};

use super::Body;

type Point = [f64; 2];

/// A cell's nodes and the rest corners it fits to them.
struct Piece {
    nodes: Vec<u32>,
    rest: Vec<Point>,
    /// Height of a wedge's apex: its place along the strand is free.
    apex: Option<f64>,
}

fn pieces(body: &Body) -> Vec<Piece> {
    let quads = body.quads.iter().map(|q| Piece {
        nodes: q.nodes.to_vec(),
        rest: q.rest.to_vec(),
        apex: None,
    });
    let polygons = body.polygons.iter().map(|p| Piece {
        nodes: p.nodes.clone(),
        rest: p.rest.clone(),
        apex: None,
    });
    let wedges = body.wedges.iter().map(|w| Piece {
        nodes: w.nodes.to_vec(),
        rest: vec![[0.0, 0.0], [w.strand, 0.0], [w.strand / 2.0, w.height]],
        apex: Some(w.height),
    });
    quads.chain(polygons).chain(wedges).collect()
}

fn mean(points: &[Point]) -> Point {
    let n = points.len() as f64;
    let sum = points.iter().fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]]);
    [sum[0] / n, sum[1] / n]
}

impl Piece {
    /// Rest corners about their mean, turned to fit the corners as they are.
    fn target(&mut self, x: &[Point]) -> Vec<Point> {
        let now: Vec<Point> = self.nodes.iter().map(|&n| x[n as usize]).collect();
        if let Some(height) = self.apex {
            let along = [now[1][0] - now[0][0], now[1][1] - now[0][1]];
            let length = along[0].hypot(along[1]);
            if length > 0.0 {
                let apex = [now[2][0] - now[0][0], now[2][1] - now[0][1]];
                let share = (apex[0] * along[0] + apex[1] * along[1]) / (length * length);
                self.rest[2] = [self.rest[1][0] * share.clamp(-1.0, 2.0), height];
            }
        }
        let (m, c) = (mean(&self.rest), mean(&now));
        let (mut dot, mut cross) = (0.0, 0.0);
        for (p, q) in self.rest.iter().zip(&now) {
            let (p, q) = ([p[0] - m[0], p[1] - m[1]], [q[0] - c[0], q[1] - c[1]]);
            dot += p[0] * q[0] + p[1] * q[1];
            cross += p[0] * q[1] - p[1] * q[0];
        }
        let length = dot.hypot(cross).max(f64::MIN_POSITIVE);
        let (cos, sin) = (dot / length, cross / length);
        self.rest
            .iter()
            .map(|p| {
                let d = [p[0] - m[0], p[1] - m[1]];
                [cos * d[0] - sin * d[1], sin * d[0] + cos * d[1]]
            })
            .collect()
    }
}

/// Moves `x` (m) towards a plane arrangement in which every cell has nearly its rest shape, in at most
/// `rounds` rounds. Returns the number of rounds taken; `x` is left alone when the cells do not hang
/// together.
pub fn arrange(body: &Body, x: &mut [[f64; 2]], rounds: usize) -> usize {
    let mut pieces = pieces(body);
    let mut triplets: Vec<Triplet<u32, u32, f64>> = Vec::new();
    for piece in &pieces {
        let n = piece.nodes.len() as f64;
        for &i in &piece.nodes {
            for &j in piece.nodes.iter().filter(|&&j| j <= i) {
                let own = if i == j { 1.0 - 1.0 / n } else { -1.0 / n };
                triplets.push(Triplet::new(i, j, own));
            }
        }
    }
    // Holds the piece where it is; far too weak to bend it.
    triplets.extend((0..x.len() as u32).map(|i| Triplet::new(i, i, 1e-9)));
    let n = x.len();
    let Ok(matrix) = SparseColMat::try_new_from_triplets(n, n, &triplets) else { return 0 };
    let Ok(factor) = matrix.sp_cholesky(Side::Lower) else { return 0 };
    let size = body.quads.iter().map(|q| (q.rest[1][0] - q.rest[0][0]).abs()).fold(0.0, f64::max);
    for round in 0..rounds {
        let mut sum = Mat::<f64>::zeros(n, 2);
        for (i, p) in x.iter().enumerate() {
            (sum[(i, 0)], sum[(i, 1)]) = (1e-9 * p[0], 1e-9 * p[1]);
        }
        for piece in &mut pieces {
            let target = piece.target(x);
            for (&node, t) in piece.nodes.iter().zip(&target) {
                sum[(node as usize, 0)] += t[0];
                sum[(node as usize, 1)] += t[1];
            }
        }
        let moved = factor.solve(&sum);
        let mut furthest = 0.0_f64;
        for (i, p) in x.iter_mut().enumerate() {
            let to = [moved[(i, 0)], moved[(i, 1)]];
            furthest = furthest.max((to[0] - p[0]).hypot(to[1] - p[1]));
            *p = to;
        }
        if furthest < 1e-3 * size {
            return round + 1;
        }
    }
    rounds
}
