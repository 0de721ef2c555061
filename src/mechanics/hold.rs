//! What the mean map of an open cell cannot see: moves of its corners that no affine map makes.
//!
//! With `x` the corners, `q` a matrix that annihilates affine maps, `c = f1 × f2` the normal of the mean
//! map and `N = Σ q_ij (x_i·c)(x_j·c)`, the cell stores `1/2 (Σ q_ij x_i·x_j - N/(c·c))` in space: what
//! its corners move within its own plane, as in the plane itself. Out of it a cell warps as freely as
//! stitches do; what resists there is bending.

use super::Want;
use super::cell::add_block;
use nalgebra::{Matrix3, SVector, Vector3};

/// Adds the energy of corners `x` under the symmetric row-major matrix `q` (N/m), for corner weights `b`
/// (1/m) of the mean map; returns it.
///
/// Corners are taken relative to the first, which keeps digits.
pub(super) fn add<const D: usize>(
    x: &[SVector<f64, D>],
    q: &[f64],
    b: &[[f64; 2]],
    want: Want,
    g: &mut [f64],
    h: &mut [f64],
) -> f64 {
    let pull = pulls(x, q);
    let held = (0..x.len()).map(|i| 0.5 * pull[i].dot(&(x[i] - x[0]))).sum::<f64>();
    let warp = (D == 3).then(|| Warp::new(x, &pull, b));
    let free = warp.as_ref().map_or(0.0, |w| 0.5 * w.share);
    if want >= Want::Forces {
        for (i, pull) in pull.iter().enumerate() {
            let out = warp.as_ref().map_or(Vector3::zeros(), |w| w.force(i));
            (0..D).for_each(|d| g[D * i + d] += pull[d] + out[d]);
        }
    }
    if want >= Want::Clamped {
        let mut at = 0;
        for i in 0..x.len() {
            for j in i..x.len() {
                let k = q[x.len() * i + j];
                (0..D).for_each(|d| h[at + (D + 1) * d] += k);
                if let Some(warp) = &warp {
                    add_block(&mut h[at..at + 9], &warp.block(i, j, k, want));
                }
                at += D * D;
            }
        }
    }
    held - free
}

/// `Σ_j q_ij x_j` of every corner.
fn pulls<const D: usize>(x: &[SVector<f64, D>], q: &[f64]) -> Vec<SVector<f64, D>> {
    let n = x.len();
    let of = |i: usize| (1..n).map(|j| (x[j] - x[0]) * q[n * i + j]).sum();
    (0..n).map(of).collect()
}

/// The part of the form that lies along the normal, taken off again.
struct Warp<'a> {
    b: &'a [[f64; 2]],
    /// `Σ_j q_ij x_j`.
    pull: Vec<Vector3<f64>>,
    f: [Vector3<f64>; 2],
    /// The normal, not of unit length.
    c: Vector3<f64>,
    /// Its squared length.
    m: f64,
    /// `N/m`.
    share: f64,
    /// Derivative of `-share/2` by `c`, and the second one.
    w: Vector3<f64>,
    curve: Matrix3<f64>,
}

impl<'a> Warp<'a> {
    fn new<const D: usize>(
        x: &[SVector<f64, D>],
        pull: &[SVector<f64, D>],
        b: &'a [[f64; 2]],
    ) -> Self {
        let spatial = |v: SVector<f64, D>| Vector3::from_fn(|d, _| v[d]);
        let x: Vec<Vector3<f64>> = x.iter().map(|p| spatial(p - x[0])).collect();
        let pull: Vec<Vector3<f64>> = pull.iter().map(|p| spatial(*p)).collect();
        let f = [0, 1].map(|a| x.iter().zip(b).map(|(x, b)| x * b[a]).sum::<Vector3<f64>>());
        let c = f[0].cross(&f[1]);
        let m = c.norm_squared().max(f64::MIN_POSITIVE);
        let s: Matrix3<f64> = x.iter().zip(&pull).map(|(x, p)| x * p.transpose()).sum();
        let share = c.dot(&(s * c)) / m;
        let w = (c * share - s * c) / m;
        let cross = w * c.transpose();
        let curve = (Matrix3::identity() * share - s - (cross + cross.transpose()) * 2.0) / m;
        Self { b, pull, f, c, m, share, w, curve }
    }

    fn force(&self, i: usize) -> Vector3<f64> {
        self.turn(i).tr_mul(&self.w) - self.c * (self.pull[i].dot(&self.c) / self.m)
    }

    /// Derivative of the normal by corner `i`.
    fn turn(&self, i: usize) -> Matrix3<f64> {
        let [b1, b2] = self.b[i];
        self.f[0].cross_matrix() * b2 - self.f[1].cross_matrix() * b1
    }

    /// Derivative of corner `i`'s own force, the normal held, by the normal.
    fn lean(&self, i: usize) -> Matrix3<f64> {
        let t = self.pull[i].dot(&self.c);
        (self.c * (self.c * (2.0 * t / self.m) - self.pull[i]).transpose()
            - Matrix3::identity() * t)
            / self.m
    }

    /// Second derivative by corners `i` and `j`, whose entry of the form is `k`.
    fn block(&self, i: usize, j: usize, k: f64, want: Want) -> Matrix3<f64> {
        let along = self.c * self.c.transpose() * (-k / self.m);
        if want == Want::Clamped {
            return along;
        }
        let (a, b) = (self.turn(i), self.turn(j));
        let both = self.b[i][0] * self.b[j][1] - self.b[j][0] * self.b[i][1];
        along
            + self.lean(i) * b
            + a.transpose() * self.lean(j).transpose()
            + a.transpose() * self.curve * b
            - self.w.cross_matrix() * both
    }
}
