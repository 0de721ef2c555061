//! From element buffers to net forces and to the matrix.

use super::analysis::Analysis;
use super::elements::Elements;
use super::linear::Factor;
use rayon::prelude::*;

/// Nodes a task gathers.
const TASK: usize = 512;

/// Net forces: the gradient, and what its size is to be compared with.
#[derive(Debug, Default, Clone)]
pub(super) struct Forces {
    /// Gradient of the energy, flat in node order (N).
    pub(super) gradient: Vec<f64>,
    /// Per node: 2-norm of the net force on free unknowns, sum of absolute element forces (N).
    pub(super) balance: Vec<[f64; 2]>,
}

impl Forces {
    /// Sums the element forces of every node and takes the loads off; `fixed` unknowns get zero.
    pub(super) fn gather<const D: usize>(
        &mut self,
        elements: &Elements,
        analysis: &Analysis,
        forces: &[f64],
        fixed: &[bool],
    ) {
        let nodes = analysis.order.len();
        self.gradient.resize(D * nodes, 0.0);
        self.balance.resize(nodes, [0.0; 2]);
        let tasks = self.gradient.par_chunks_mut(D * TASK).zip(self.balance.par_chunks_mut(TASK));
        tasks.enumerate().for_each(|(task, (gradient, balance))| {
            for (k, (g, b)) in gradient.chunks_exact_mut(D).zip(balance).enumerate() {
                let node = task * TASK + k;
                let load = elements.load::<D>(node);
                let mut sum = load.norm();
                g.copy_from_slice((-load).as_slice());
                for at in analysis.touching.of(node) {
                    let force = &forces[D * *at as usize..][..D];
                    sum += force.iter().map(|f| f * f).sum::<f64>().sqrt();
                    g.iter_mut().zip(force).for_each(|(g, f)| *g += f);
                }
                for d in 0..D {
                    if fixed[D * node + d] {
                        g[d] = 0.0;
                    }
                }
                *b = [g.iter().map(|g| g * g).sum::<f64>().sqrt(), sum];
            }
        });
    }

    /// 2-norms over all nodes: net force, and sum of absolute element forces.
    pub(super) fn norms(&self) -> [f64; 2] {
        [0, 1].map(|k| self.balance.iter().map(|b| b[k] * b[k]).sum::<f64>().sqrt())
    }

    /// The node with the largest net force.
    pub(super) fn worst(&self) -> usize {
        let larger =
            |a: usize, b: usize| if self.balance[b][0] > self.balance[a][0] { b } else { a };
        (0..self.balance.len()).reduce(larger).unwrap_or(0)
    }
}

/// Sums the element blocks into the matrix. Rows and columns of `fixed` unknowns (by place) become
/// those of the unit matrix times `unit`, so that pins may change under one symbolic factor.
pub(super) fn fill_matrix<const D: usize>(
    analysis: &Analysis,
    blocks: &[f64],
    factor: &mut Factor,
    fixed: &[bool],
    unit: f64,
) {
    let mut values = std::mem::take(&mut factor.values);
    let (ptr, row) = factor.pattern();
    let mut rest = &mut values[..];
    let mut tasks = Vec::new();
    for from in (0..analysis.order.len()).step_by(TASK) {
        let to = (from + TASK).min(analysis.order.len());
        let (now, later) =
            std::mem::take(&mut rest).split_at_mut((ptr[D * to] - ptr[D * from]) as usize);
        rest = later;
        tasks.push((from..to, now));
    }
    tasks.into_par_iter().for_each(|(places, values)| {
        let base = ptr[D * places.start] as usize;
        for at in places {
            let range = ptr[D * at] as usize..ptr[D * (at + 1)] as usize;
            let own = &mut values[range.start - base..range.end - base];
            analysis.fill_column::<D>(at, blocks, own);
            for c in D * at..D * (at + 1) {
                for k in ptr[c] as usize..ptr[c + 1] as usize {
                    let r = row[k] as usize;
                    if fixed[c] || fixed[r] {
                        own[k - range.start] = if r == c { unit } else { 0.0 };
                    }
                }
            }
        }
    });
    factor.values = values;
}
