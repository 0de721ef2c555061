//! Bars and curvatures.

use super::Want;
use super::cell::add_block;
use nalgebra::{SMatrix, SVector};

/// Adds a bar of energy `K/2 * rest * (|ab|/rest - 1)²` (K in N); returns its energy.
#[inline]
pub(super) fn add<const D: usize>(
    x: &[SVector<f64, D>; 2],
    rest: f64,
    stiffness: f64,
    want: Want,
    g: &mut [f64],
    h: &mut [f64],
) -> f64 {
    let u = x[1] - x[0];
    let length = u.norm();
    let t = u / length;
    let strain = length / rest - 1.0;
    let force = stiffness * strain;
    if want >= Want::Forces {
        for d in 0..D {
            g[d] -= force * t[d];
            g[D + d] += force * t[d];
        }
    }
    if want >= Want::Clamped {
        let pull = if want == Want::Exact { force } else { force.max(0.0) };
        let tt = t * t.transpose();
        let block =
            tt * (stiffness / rest) + (SMatrix::<f64, D, D>::identity() - tt) * (pull / length);
        add_block(&mut h[..D * D], &block);
        add_block(&mut h[D * D..2 * D * D], &-block);
        add_block(&mut h[2 * D * D..], &block);
    }
    0.5 * stiffness * rest * strain * strain
}

/// Adds `stiffness/2 |Σ a_i x_i|²` with `weights` a of sum zero (1/m², N m³); returns its energy.
///
/// Corners are taken relative to the first, which keeps digits.
pub(super) fn add_bend<const D: usize>(
    x: &[SVector<f64, D>],
    weights: &[f64],
    stiffness: f64,
    want: Want,
    g: &mut [f64],
    h: &mut [f64],
) -> f64 {
    let mut curvature = SVector::<f64, D>::zeros();
    for (x_i, a) in x.iter().zip(weights).skip(1) {
        curvature += (x_i - x[0]) * *a;
    }
    let moment = curvature * stiffness;
    if want >= Want::Forces {
        for (g, a) in g.chunks_exact_mut(D).zip(weights) {
            g.iter_mut().zip(moment.iter()).for_each(|(g, m)| *g += m * a);
        }
    }
    if want >= Want::Clamped {
        let mut at = 0;
        for (i, a) in weights.iter().enumerate() {
            for b in &weights[i..] {
                for d in 0..D {
                    h[at + (D + 1) * d] += a * b * stiffness;
                }
                at += D * D;
            }
        }
    }
    0.5 * curvature.dot(&moment)
}
