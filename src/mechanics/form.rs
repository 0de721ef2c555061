//! A quadratic form over the cells of a body, factorised: what rough arrangements are made with.

use super::Body;
use super::analysis::Analysis;
use super::arrange::Piece;
use super::assembly::fill_matrix;
use super::elements::Elements;
use super::linear::Factor;

/// Holds the piece where it is; far too weak to bend it.
pub(super) const HOLD: f64 = 1e-9;

/// `Σ_cells Σ_corners |x - x̄|²` with its Cholesky factor, the same for both axes.
pub(super) struct Form {
    order: Vec<u32>,
    factor: Factor,
}

impl Form {
    /// Factorises the form of `pieces`, the cells of `body` in its order. None where the numbers fail.
    pub(super) fn new(body: &Body, pieces: &[Piece]) -> Option<Self> {
        let elements = Elements::new(body);
        let analysis = Analysis::new(&elements, body.nodes);
        // Cells come before all other elements, whose pairs stay zero.
        let mut blocks = Vec::with_capacity(elements.links.pairs[elements.len()] as usize);
        for piece in pieces {
            let n = piece.nodes.len();
            let one = |i, j| f64::from(u8::from(i == j)) - 1.0 / n as f64;
            blocks.extend((0..n).flat_map(|i| (i..n).map(move |j| one(i, j))));
        }
        blocks.resize(elements.links.pairs[elements.len()] as usize, 0.0);
        let (ptr, row) = analysis.pattern::<1>();
        let mut factor = Factor::new(ptr, row);
        fill_matrix::<1>(&analysis, &blocks, &mut factor, &vec![false; body.nodes], 1.0);
        factor.shift(HOLD);
        factor.factorise().ok()?;
        Some(Self { order: analysis.order, factor })
    }

    /// Solves in place for both axes, `q` lying node by node.
    pub(super) fn solve(&mut self, q: &mut [f64]) {
        let n = self.order.len();
        let mut sides = vec![0.0; 2 * n];
        for (at, node) in self.order.iter().enumerate() {
            (0..2).for_each(|d| sides[n * d + at] = q[2 * *node as usize + d]);
        }
        self.factor.solve_many(&mut sides, 2);
        for (at, node) in self.order.iter().enumerate() {
            (0..2).for_each(|d| q[2 * *node as usize + d] = sides[n * d + at]);
        }
    }
}
