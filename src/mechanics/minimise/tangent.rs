//! The linear response of a body at an equilibrium: one factorisation of the exact Hessian, many
//! right-hand sides.

use super::{Solver, Want, fill_matrix};

impl<const D: usize> Solver<D> {
    /// Factorises the exact Hessian at `x`, pins held, for [`Self::respond`]. False if it is not
    /// positive definite: `x` is then no stable equilibrium.
    pub fn hold_tangent(&mut self, x: &[[f64; D]]) -> bool {
        self.assemble(x);
        self.factor.factorise().is_ok()
    }

    /// Factorises the Hessian at `x` without its parts that may be indefinite, for [`Self::respond`]: a
    /// matrix to step with, not the linear response. False where even that is singular.
    pub fn hold_stiffness(&mut self, x: &[[f64; D]]) -> bool {
        let flat = x.as_flattened();
        self.hold(flat);
        self.elements.evaluate::<D>(flat, Want::Clamped, false, &mut self.buffers);
        let unit = self.unit();
        fill_matrix::<D>(&self.analysis, &self.buffers.blocks, &mut self.factor, &self.fixed, unit);
        self.factor.shift(1e-10 * unit);
        self.factor.factorise().is_ok()
    }

    /// Solves `H y = b` with the Hessian of the last [`Self::hold_tangent`], at the same `x`: the moves
    /// (m) that balance the added net forces `b` (N). Of a piece that nothing holds, `b` must have no
    /// resultant and no moment, and `y` is the answer without rigid part.
    pub fn respond(&mut self, x: &[[f64; D]], b: &[[f64; D]]) -> Vec<[f64; D]> {
        self.respond_to_all(x, &[b]).pop().unwrap_or_default()
    }

    /// [`Self::respond`] to several `b` at once.
    pub fn respond_to_all(&mut self, x: &[[f64; D]], all: &[&[[f64; D]]]) -> Vec<Vec<[f64; D]>> {
        let unknowns = D * x.len();
        let mut rhs = vec![0.0; unknowns * all.len()];
        for (b, rhs) in all.iter().zip(rhs.chunks_exact_mut(unknowns.max(1))) {
            for (at, node) in self.analysis.order.iter().enumerate() {
                for d in 0..D {
                    if !self.fixed[D * at + d] {
                        rhs[D * at + d] = b[*node as usize][d];
                    }
                }
            }
        }
        self.factor.solve_many(&mut rhs, all.len());
        let one = |rhs: &[f64]| {
            let mut y = vec![0.0; unknowns];
            for (at, node) in self.analysis.order.iter().enumerate() {
                y[D * *node as usize..][..D].copy_from_slice(&rhs[D * at..][..D]);
            }
            if D == 2 {
                self.rigid.project(x.as_flattened(), &mut y);
            }
            y.as_chunks::<D>().0.to_vec()
        };
        rhs.chunks_exact(unknowns.max(1)).map(one).collect()
    }

    /// Work (J) of each element's own forces at `x` over small moves `y`, elements in the order quads,
    /// polygons, wedges, strands, bends: the change of its energy along `y`.
    pub fn work(&mut self, x: &[[f64; D]], y: &[[f64; D]]) -> Vec<f64> {
        self.elements.evaluate::<D>(x.as_flattened(), Want::Forces, false, &mut self.buffers);
        let of = |e: usize| {
            let first = self.elements.links.start[e] as usize;
            let nodes = self.elements.nodes_of(e).iter().enumerate();
            nodes
                .map(|(k, node)| {
                    let force = &self.buffers.forces[D * (first + k)..][..D];
                    force.iter().zip(&y[*node as usize]).map(|(f, y)| f * y).sum::<f64>()
                })
                .sum()
        };
        (0..self.elements.len()).map(of).collect()
    }
}
