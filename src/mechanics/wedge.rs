//! Shaping triangles: a strand with an apex that may slide along it.
//!
//! Energy `W(|ab|/strand - 1, height/rest height - 1) * strand * rest height / 2`, where the height is
//! the distance of the apex from the strand's line, signed in the plane. There is no shear term: where
//! the apex stands along the strand is for the neighbours to decide.

use super::Want;
use super::cell::{add_block, jam};
use super::law::Law;
use nalgebra::{SMatrix, SVector};

/// Height of apex over the strand (m), its unit direction, and the foot's share of the strand.
struct Height<const D: usize> {
    strand: f64,
    along: SVector<f64, D>,
    height: f64,
    up: SVector<f64, D>,
    foot: f64,
}

#[inline]
fn height<const D: usize>(x: &[SVector<f64, D>; 3]) -> Height<D> {
    let (u, v) = (x[1] - x[0], x[2] - x[0]);
    let strand = u.norm();
    let along = u / strand;
    let d = v.dot(&along);
    let (height, up) = if D == 2 {
        let mut up = SVector::zeros();
        up[0] = -along[1];
        up[1] = along[0];
        (v.dot(&up), up)
    } else {
        let q = v - along * d;
        let h = q.norm();
        (h, q / h)
    };
    Height { strand, along, height, up, foot: d / strand }
}

/// Strains of strand and height.
pub(super) fn strains<const D: usize>(x: &[SVector<f64, D>; 3], rest: [f64; 2]) -> [f64; 2] {
    let k = height(x);
    [k.strand / rest[0] - 1.0, k.height / rest[1] - 1.0]
}

/// Adds the wedge with rest strand and height `rest` (m) to the buffers; returns its energy, +inf
/// where `guard` is set and its area is not positive.
#[inline]
pub(super) fn add<const D: usize>(
    x: &[SVector<f64, D>; 3],
    rest: [f64; 2],
    law: &Law,
    want: Want,
    guard: bool,
    g: &mut [f64],
    h: &mut [f64],
) -> f64 {
    let k = height(x);
    if guard && k.height <= 0.0 {
        return f64::INFINITY;
    }
    let stretch = [k.strand / rest[0], k.height / rest[1]];
    let mut t = law.tension(stretch.map(|s| s - 1.0));
    if guard && D == 2 {
        for (axis, c) in [(0, 0), (1, 2)] {
            if let Some(b) = jam(stretch[axis]) {
                let [value, first, second] = b.map(|b| b * law.scale());
                t.energy += value;
                t.n[axis] += first;
                t.c[c] += second;
            }
        }
    }
    let area = 0.5 * rest[0] * rest[1];
    // Derivatives of the energy with respect to strand length and height.
    let d = [t.n[0] * area / rest[0], t.n[1] * area / rest[1]];
    let cu = [-1.0, 1.0, 0.0];
    let cw = [k.foot - 1.0, -k.foot, 1.0];
    if want >= Want::Forces {
        for i in 0..3 {
            let force = k.along * (d[0] * cu[i]) + k.up * (d[1] * cw[i]);
            for c in 0..D {
                g[D * i + c] += force[c];
            }
        }
    }
    if want >= Want::Clamped {
        let c = [
            t.c[0] * area / (rest[0] * rest[0]),
            t.c[1] * area / (rest[0] * rest[1]),
            t.c[2] * area / (rest[1] * rest[1]),
        ];
        add_hessian(&k, c, d, [cu, cw], want == Want::Exact, h);
    }
    t.energy * area
}

/// Second derivatives. The length's is `(I - t t^T)/L` on the ends' difference `u`; the height's, from
/// `up · u = 0` kept through the variation, is
/// `-(1/L)(u·m)(w·t) - (1/L)(w·t)(u·m) - (h/L²)(u·m)² + (1/h) |w off the plane of t and m|²`,
/// `w` being the apex' motion against the foot.
fn add_hessian<const D: usize>(
    k: &Height<D>,
    c: [f64; 3],
    d: [f64; 2],
    [cu, cw]: [[f64; 3]; 2],
    exact: bool,
    h: &mut [f64],
) {
    let (t, m, length) = (k.along, k.up, k.strand);
    let one = SMatrix::<f64, D, D>::identity();
    let (tt, mm, tm) = (t * t.transpose(), m * m.transpose(), t * m.transpose());
    let pull = if exact { d } else { [d[0].max(0.0), d[1].max(0.0)] };
    let bend = if exact { d[1] } else { 0.0 };
    let off = if D == 2 { SMatrix::zeros() } else { (one - tt - mm) * (pull[1] / k.height) };
    let uu =
        tt * c[0] + (one - tt) * (pull[0] / length) - mm * (bend * k.height / (length * length));
    let uw = tm * c[1] - tm.transpose() * (bend / length);
    let ww = mm * c[2] + off;
    let mut at = 0;
    for i in 0..3 {
        for j in i..3 {
            let block = uu * (cu[i] * cu[j])
                + uw * (cu[i] * cw[j])
                + uw.transpose() * (cw[i] * cu[j])
                + ww * (cw[i] * cw[j]);
            add_block(&mut h[at..at + D * D], &block);
            at += D * D;
        }
    }
}
