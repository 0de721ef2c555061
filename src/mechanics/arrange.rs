//! A rough arrangement of the cells in the plane, as a start for the solver.
//!
//! Every cell pulls its corners towards its rest shape, turned to fit as well as it can; turning the
//! cells and moving the nodes take turns. Each half lowers the same energy
//! `Σ_cells Σ_corners |x - x̄ - R (X - X̄)|²`, whose quadratic form never changes, so one
//! factorisation serves all rounds (Sorkine and Alexa, "As-rigid-as-possible surface modeling", SGP 2007,
//! with whole cells for neighbourhoods). It knows no law and no tolerance worth the name: what it
//! arranges is only where Newton's method begins.

use super::Body;
use super::form::{Form, HOLD};

type Point = [f64; 2];

/// A cell's nodes and the rest corners it fits to them.
pub(super) struct Piece {
    pub(super) nodes: Vec<u32>,
    pub(super) rest: Vec<Point>,
    /// Height of a wedge's apex: its place along the strand is free.
    apex: Option<f64>,
}

/// All cells of a body: quads, polygons, wedges.
pub(super) fn pieces(body: &Body) -> Vec<Piece> {
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
    /// Puts a wedge's rest apex where it stands along the strand now.
    pub(super) fn slide(&mut self, x: &[Point]) {
        let Some(height) = self.apex else { return };
        let at = |k: usize| x[self.nodes[k] as usize];
        let along = [at(1)[0] - at(0)[0], at(1)[1] - at(0)[1]];
        let length = along[0].hypot(along[1]);
        if length > 0.0 {
            let apex = [at(2)[0] - at(0)[0], at(2)[1] - at(0)[1]];
            let share = (apex[0] * along[0] + apex[1] * along[1]) / (length * length);
            self.rest[2] = [self.rest[1][0] * share.clamp(-1.0, 2.0), height];
        }
    }

    /// Rest corners about their mean, turned to fit the corners as they are.
    fn target(&mut self, x: &[Point]) -> Vec<Point> {
        self.slide(x);
        let now: Vec<Point> = self.nodes.iter().map(|&n| x[n as usize]).collect();
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

    /// Sum of squares (m²) by which the corners miss the rest shape, and of the rest shape itself.
    fn misfit(&mut self, x: &[Point]) -> [f64; 2] {
        let target = self.target(x);
        let now: Vec<Point> = self.nodes.iter().map(|&n| x[n as usize]).collect();
        let c = mean(&now);
        let off =
            |(t, q): (&Point, &Point)| (q[0] - c[0] - t[0]).powi(2) + (q[1] - c[1] - t[1]).powi(2);
        let own = target.iter().map(|t| t[0] * t[0] + t[1] * t[1]).sum();
        [target.iter().zip(&now).map(off).sum(), own]
    }
}

/// How far the corners of the cells at `x` are from their rest shapes, in shares of the cells' size:
/// root of the mean square.
pub fn misfit(body: &Body, x: &[[f64; 2]]) -> f64 {
    let sums = pieces(body).into_iter().map(|mut p| p.misfit(x));
    let [off, own] = sums.fold([0.0; 2], |s, m| [s[0] + m[0], s[1] + m[1]]);
    if own > 0.0 { (off / own).sqrt() } else { 0.0 }
}

/// Moves `x` (m) towards a plane arrangement in which every cell has nearly its rest shape, in at most
/// `rounds` rounds. Returns the number of rounds taken; `x` is left alone when the cells do not hang
/// together.
pub fn arrange(body: &Body, x: &mut [[f64; 2]], rounds: usize) -> usize {
    let mut pieces = pieces(body);
    let Some(mut form) = Form::new(body, &pieces) else { return 0 };
    let size = body.quads.iter().map(|q| (q.rest[1][0] - q.rest[0][0]).abs()).fold(0.0, f64::max);
    for round in 0..rounds {
        let mut sum: Vec<f64> = x.as_flattened().iter().map(|x| HOLD * x).collect();
        for piece in &mut pieces {
            let target = piece.target(x);
            for (&node, t) in piece.nodes.iter().zip(&target) {
                sum[2 * node as usize] += t[0];
                sum[2 * node as usize + 1] += t[1];
            }
        }
        form.solve(&mut sum);
        let mut furthest = 0.0_f64;
        for (p, to) in x.iter_mut().zip(sum.as_chunks::<2>().0) {
            furthest = furthest.max((to[0] - p[0]).hypot(to[1] - p[1]));
            *p = *to;
        }
        if furthest < 1e-3 * size {
            return round + 1;
        }
    }
    rounds
}
