//! A tight edge held flat bends the piece.

use crate::build::{curvature, linear, sheet, solve};
use slantwise::mechanics::{Membrane, Strand};

/// Curvature of a strip `wide` by 1 m whose first rows of cells, `band` wide, are `factor` times as
/// stiff and rest `short` shorter, and of one with an edge strand of stiffness `strand` (N) instead.
fn bent(wide: f64, band: f64, factor: f64, short: f64, strand: Option<f64>) -> f64 {
    let law = linear(100.0, 100.0, 0.0, 40.0);
    let cell = band / 4.0;
    let (nx, ny) = (160, (wide / cell).round() as usize);
    let (mut body, mut x) = sheet(nx, ny, 1.0, wide, 0.0, law);
    let tight = Membrane { e1: factor * law.e1, e2: factor * law.e2, g: factor * law.g, ..law };
    body.membranes.push(tight);
    match strand {
        None => {
            for q in &mut body.quads[..4 * nx] {
                q.membrane = 1;
                q.rest.iter_mut().for_each(|p| p[0] *= 1.0 - short);
            }
        }
        Some(stiffness) => body.strands.extend((0..nx as u32).map(|i| Strand {
            nodes: [i, i + 1],
            rest: (1.0 - short) / nx as f64,
            stiffness,
        })),
    }
    solve(&body, &mut x, &[]);
    let row = ny / 2 * (nx + 1);
    -curvature(&x[row + nx / 4..=row + 3 * nx / 4])
}

/// kappa = 6 e (1+p)² / {H [3(1+p)² + (1+pn)(p² + 1/(pn))]} (Timoshenko, J. Opt. Soc. Am. 11 (1925)
/// 233, from memory), used in the plane.
fn timoshenko(a1: f64, a2: f64, n: f64, e: f64) -> f64 {
    let (p, h) = (a1 / a2, a1 + a2);
    let q = (1.0 + p) * (1.0 + p);
    6.0 * e * q / (h * (3.0 * q + (1.0 + p * n) * (p * p + 1.0 / (p * n))))
}

/// The mismatch strain is reckoned on the band's own rest length, as every strain here is. Small
/// mismatches are compared with the formula; for large ones the section is integrated exactly: with
/// stretches `a + b y` the band pulls `E1 (stretch/(1 - short) - 1)`, which is the formula's band with
/// modulus E1/(1 - short) and mismatch `short`, and the curvature is `b` over the stretch of the line
/// it is measured on.
#[test]
fn a_tight_band_bends_the_strip_as_two_metals_do() {
    let cases = [
        (0.010, 0.190, 2.0, 0.05 / 1.05, 0.1202),
        (0.010, 0.190, 2.0, 0.002, 0.1202 * 0.04 / 0.998),
        (0.020, 0.280, 3.0, 0.002, 0.2518 * 0.02 / 0.998),
        (0.050, 0.050, 1.0, 0.002, 0.15 * 0.2 / 0.998),
    ];
    for (a1, a2, n, short, table) in cases {
        let want = timoshenko(a1, a2, n, short / (1.0 - short));
        let found = bent(a1 + a2, a1, n, short, None);
        println!(
            "band {a1} m on {a2} m, {n} x stiff, {short:.4} short: curvature {found:.4} /m (reference {want:.4}, tabled {table:.4})"
        );
        assert!((want / table - 1.0).abs() < 2e-3, "the formula gives the table");
        assert!((found / want - 1.0).abs() < 0.03);
    }
    for (a1, a2, n, short) in [(0.010, 0.190, 2.0, 0.05), (0.020, 0.280, 3.0, 0.1)] {
        let (stiff, wide) = (n / (1.0 - short), a1 + a2);
        let b = timoshenko(a1, a2, stiff, short);
        // No net pull: n' a1 (stretch - 1 + short) + a2 (stretch - 1) summed over the section is zero.
        let (total, moment) =
            (stiff * a1 + a2, (stiff * a1 * 0.5 * a1 + a2 * (a1 + 0.5 * a2)) / (stiff * a1 + a2));
        let middle = 1.0 - stiff * a1 * short / total + b * (0.5 * wide - moment);
        let (want, found) = (b / middle, bent(wide, a1, n, short, None));
        println!(
            "band {a1} m on {a2} m, {n} x stiff, {short} short: curvature {found:.4} /m (exact section {want:.4})"
        );
        assert!((found / want - 1.0).abs() < 0.01);
    }
}

/// A strand of stiffness K at the edge of a strip of width a and modulus E carries P, shortening the
/// edge by 4P/(E a) (thrust P/(E a), bending three times that) and so pulls with
/// P = K e/(1 + 4s), s = K/(E a): curvature 6 s e/(a (1 + 4s)).
#[test]
fn a_tight_strand_bends_the_strip() {
    for (k, a, e) in [(2.0, 0.2, 0.05), (1.0, 0.1, 0.02), (10.0, 0.2, 0.02)] {
        let s = k / (100.0 * a);
        let mismatch = e / (1.0 - e);
        let want = 6.0 * s * mismatch / (a * (1.0 + 4.0 * s));
        let found = bent(a, 0.02, 1.0, e, Some(k));
        println!("strand {k} N on {a} m, {e} short: curvature {found:.4} /m (reference {want:.4})");
        assert!((found / want - 1.0).abs() < 0.03);
    }
}
