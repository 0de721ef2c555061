//! Membrane cells: energy, gradient and Hessian at a point where the map's gradient is known.
//!
//! With `f1`, `f2` the images of the unit vectors along rows and columns, the energy per rest area is
//! `W(e1, e2) + G/2 (f1·f2)²`. The strains are `e_i = |f_i| - 1` ([`Measure::Stretch`]) or Green's
//! `e_i = (|f_i|² - 1)/2` ([`Measure::Green`], with which the law is St. Venant-Kirchhoff's).
//! Everything depends on lengths and inner products only, so the same code serves the plane and space.

use super::law::Law;
use super::{Measure, Want};
use nalgebra::{SMatrix, SVector};

/// First and second derivatives of the energy density with respect to `f1` and `f2`.
struct Response<const D: usize> {
    energy: f64,
    p: [SVector<f64, D>; 2],
    m11: SMatrix<f64, D, D>,
    /// Row index belongs to `f1`, column index to `f2`.
    m12: SMatrix<f64, D, D>,
    m22: SMatrix<f64, D, D>,
}

/// Direction of the strain's first derivative and factor of its second one.
struct Direction<const D: usize> {
    strain: f64,
    d: SVector<f64, D>,
    /// Second derivative of the strain is `curve (I - along d d^T)`.
    curve: f64,
    along: f64,
}

impl<const D: usize> Direction<D> {
    #[inline(always)]
    fn new(f: &SVector<f64, D>, measure: Measure) -> Self {
        match measure {
            Measure::Stretch => {
                let length = f.norm();
                let curve = 1.0 / length;
                Self { strain: length - 1.0, d: f * curve, curve, along: 1.0 }
            }
            Measure::Green => {
                Self { strain: 0.5 * (f.norm_squared() - 1.0), d: *f, curve: 1.0, along: 0.0 }
            }
        }
    }

    /// `c d d^T + n * second derivative of the strain`.
    #[inline]
    fn block(&self, c: f64, n: f64) -> SMatrix<f64, D, D> {
        let k = n * self.curve;
        self.d * self.d.transpose() * (c - k * self.along) + SMatrix::identity() * k
    }
}

/// In [`Want::Clamped`] the compressive part of the geometric stiffness and the indefinite part of
/// the shear are left out, which makes the block positive semidefinite (Gauss-Newton).
#[inline(always)]
fn response<const D: usize>(
    f: &[SVector<f64, D>; 2],
    law: &Law,
    measure: Measure,
    want: Want,
) -> Response<D> {
    let (a, b) = (Direction::new(&f[0], measure), Direction::new(&f[1], measure));
    let t = law.respond([a.strain, b.strain], want != Want::Forces);
    let s = f[0].dot(&f[1]);
    let g = law.shear;
    let p = [a.d * t.n[0] + f[1] * (g * s), b.d * t.n[1] + f[0] * (g * s)];
    let energy = t.energy + 0.5 * g * s * s;
    if want < Want::Clamped {
        let zero = SMatrix::zeros();
        return Response { energy, p, m11: zero, m12: zero, m22: zero };
    }
    let exact = want == Want::Exact;
    let n = if exact { t.n } else { t.n.map(|n| n.max(0.0)) };
    let turn = if exact { g * s } else { 0.0 };
    Response {
        energy,
        p,
        m11: a.block(t.c[0], n[0]) + f[1] * f[1].transpose() * g,
        m12: a.d * b.d.transpose() * t.c[1]
            + f[1] * f[0].transpose() * g
            + SMatrix::identity() * turn,
        m22: b.block(t.c[2], n[1]) + f[0] * f[0].transpose() * g,
    }
}

/// Share of its rest area below which a cell of the plane is jammed.
///
/// Squeezed loops lock long before they vanish (round yarn jams at 4 diameters by 3.364: Peirce, Text.
/// Res. J. 17 (1947) 123, from memory); a bound of a fifth stays clear of every state a law is tested
/// in and keeps equilibria off the border where cells fold over.
const JAM: f64 = 0.2;

/// Barrier `(JAM - j)³/j` below [`JAM`] with its first and second derivative; zero above, joined with
/// two continuous derivatives, infinite at `j = 0`.
#[inline]
pub(super) fn jam(j: f64) -> Option<[f64; 3]> {
    if j >= JAM {
        return None;
    }
    let a = JAM - j;
    let first = -3.0 * a * a / j - a * a * a / (j * j);
    let second = 6.0 * a / j + 6.0 * a * a / (j * j) + 2.0 * a * a * a / (j * j * j);
    Some([a * a * a / j, first, second])
}

/// Adds the barrier of a jammed cell, scaled by the law's largest modulus.
#[inline]
fn add_jam<const D: usize>(f: &[SVector<f64, D>; 2], law: &Law, want: Want, r: &mut Response<D>) {
    let Some(b) = jam(f[0][0] * f[1][1] - f[0][1] * f[1][0]) else { return };
    let [value, first, second] = b.map(|b| b * law.scale());
    let turned = |v: &SVector<f64, D>, sign: f64| {
        let mut t = SVector::<f64, D>::zeros();
        (t[0], t[1]) = (sign * v[1], -sign * v[0]);
        t
    };
    let (d1, d2) = (turned(&f[1], 1.0), turned(&f[0], -1.0));
    r.energy += value;
    r.p[0] += d1 * first;
    r.p[1] += d2 * first;
    if want < Want::Clamped {
        return;
    }
    r.m11 += d1 * d1.transpose() * second;
    r.m12 += d1 * d2.transpose() * second;
    r.m22 += d2 * d2.transpose() * second;
    if want == Want::Exact {
        r.m12[(0, 1)] += first;
        r.m12[(1, 0)] -= first;
    }
}

/// True where the map folds over (never in space, where a fold cannot be told from a turn).
#[inline]
pub(super) fn folded<const D: usize>(f1: &SVector<f64, D>, f2: &SVector<f64, D>) -> bool {
    D == 2 && f1[0] * f2[1] - f1[1] * f2[0] <= 0.0
}

/// Adds one integration point of a cell with corners `x`, gradients `b` (1/m) and rest area `weight`
/// (m²) to the force buffer `g` and to the blocks `h` of the corner pairs `i <= j`; returns its
/// energy, +inf where `guard` is set and the map is folded.
#[inline(always)]
#[expect(
    clippy::too_many_arguments,
    reason = "the kernel of every membrane cell, inlined into each"
)]
pub(super) fn add_point<const D: usize>(
    x: &[SVector<f64, D>],
    b: &[[f64; 2]],
    weight: f64,
    law: &Law,
    measure: Measure,
    want: Want,
    guard: bool,
    g: &mut [f64],
    h: &mut [f64],
) -> f64 {
    let mut f = [SVector::<f64, D>::zeros(); 2];
    for (x, b) in x.iter().zip(b) {
        f[0] += x * b[0];
        f[1] += x * b[1];
    }
    if guard && folded(&f[0], &f[1]) {
        return f64::INFINITY;
    }
    let mut r = response(&f, law, measure, want);
    if guard && D == 2 {
        add_jam(&f, law, want, &mut r);
    }
    if want >= Want::Forces {
        for (i, b) in b.iter().enumerate() {
            let force = (r.p[0] * b[0] + r.p[1] * b[1]) * weight;
            for d in 0..D {
                g[D * i + d] += force[d];
            }
        }
    }
    if want >= Want::Clamped {
        let mut at = 0;
        for i in 0..b.len() {
            let [b1, b2] = [b[i][0] * weight, b[i][1] * weight];
            let left = r.m11 * b1 + r.m12.transpose() * b2;
            let right = r.m12 * b1 + r.m22 * b2;
            for bj in &b[i..] {
                let block = left * bj[0] + right * bj[1];
                add_block(&mut h[at..at + D * D], &block);
                at += D * D;
            }
        }
    }
    if want == Want::Forces { 0.0 } else { r.energy * weight }
}

/// Adds a matrix to a row-major block.
#[inline(always)]
pub(super) fn add_block<const D: usize>(to: &mut [f64], m: &SMatrix<f64, D, D>) {
    for r in 0..D {
        for c in 0..D {
            to[D * r + c] += m[(r, c)];
        }
    }
}

/// Gradients of the bilinear shape functions at the 2 x 2 Gauss points of a rest quadrilateral:
/// per point the four corners' gradients (1/m) and the rest area it stands for (m²).
pub(super) fn quad_points(rest: &[[f64; 2]; 4]) -> [([[f64; 2]; 4], f64); 4] {
    let q = 1.0 / 3f64.sqrt();
    [[-q, -q], [q, -q], [q, q], [-q, q]].map(|at| quad_gradient(rest, at))
}

/// Corner gradients (1/m) and Jacobian determinant (m² per unit of the parent square) at a parent
/// position in `[-1, 1]²`.
pub(super) fn quad_gradient(rest: &[[f64; 2]; 4], [u, v]: [f64; 2]) -> ([[f64; 2]; 4], f64) {
    const CORNER: [[f64; 2]; 4] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];
    let d = CORNER.map(|[cu, cv]| [0.25 * cu * (1.0 + cv * v), 0.25 * cv * (1.0 + cu * u)]);
    let mut j = [[0.0; 2]; 2];
    for (d, x) in d.iter().zip(rest) {
        for (row, d) in j.iter_mut().zip(d) {
            row[0] += d * x[0];
            row[1] += d * x[1];
        }
    }
    let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
    let b = d
        .map(|[du, dv]| [(j[1][1] * du - j[0][1] * dv) / det, (j[0][0] * dv - j[1][0] * du) / det]);
    (b, det)
}
