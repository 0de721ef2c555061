//! Virtual strips pulled at an angle to their rows, against the orthotropic formulas
//! 1/E(t) = c^4/E1 + s^4/E2 + c^2 s^2 (1/G - 2 nu12/E1) and its companions for contraction and shear
//! (R. M. Jones, Mechanics of Composite Materials, from memory; Kilby, J. Text. Inst. 54 (1963) T9).

use crate::build::{linear, sheet, solve};
use slantwise::mechanics::Membrane;

/// Modulus (N/m), contraction ratio and shear per stretch of a strip whose rows lie `degrees`
/// anticlockwise of the pull.
fn strip(law: Membrane, degrees: f64) -> [f64; 3] {
    let (nx, ny, w, h) = (24, 6, 0.2, 0.05);
    let (mut body, mut x) = sheet(nx, ny, w, h, degrees.to_radians(), law);
    let start = x.clone();
    let pull = 1e-5 * law.e1;
    body.loads = vec![[0.0; 3]; body.nodes];
    for j in 0..=ny {
        let share = if j == 0 || j == ny { 0.5 } else { 1.0 };
        let force = pull * share * h / ny as f64;
        body.loads[j * (nx + 1)][0] = -force;
        body.loads[j * (nx + 1) + nx][0] = force;
    }
    solve(&body, &mut x, &[0, 1, 2 * nx + 1]);
    let (right, top) = (nx, ny * (nx + 1));
    let along = (x[right][0] - x[0][0]) / (start[right][0] - start[0][0]) - 1.0;
    let up = [x[top][0] - x[0][0], x[top][1] - x[0][1]];
    let across = up[1] / h - 1.0;
    [pull / along, -across / along, up[0] / up[1] / along]
}

fn formula(m: Membrane, degrees: f64) -> [f64; 3] {
    let (s, c) = degrees.to_radians().sin_cos();
    let shear = 1.0 / m.g - 2.0 * m.nu12 / m.e1;
    let e = 1.0 / (c.powi(4) / m.e1 + s.powi(4) / m.e2 + c * c * s * s * shear);
    let nu = e
        * (m.nu12 / m.e1 * (c.powi(4) + s.powi(4))
            - (1.0 / m.e1 + 1.0 / m.e2 - 1.0 / m.g) * c * c * s * s);
    let eta = e
        * ((2.0 / m.e1 + 2.0 * m.nu12 / m.e1 - 1.0 / m.g) * s * c.powi(3)
            - (2.0 / m.e2 + 2.0 * m.nu12 / m.e1 - 1.0 / m.g) * s.powi(3) * c);
    [e, nu, eta]
}

#[test]
fn moduli_contraction_and_shear_follow_the_angle() {
    let table = [100.0, 87.567, 67.797, 55.556, 50.633, 49.801, 50.0];
    for squeeze in [1.0, 0.3] {
        let law = Membrane { squeeze, ..linear(100.0, 50.0, 0.4, 20.0) };
        for (k, modulus) in table.iter().enumerate() {
            let degrees = 15.0 * k as f64;
            let (found, want) = (strip(law, degrees), formula(law, degrees));
            println!(
                "squeeze {squeeze}, {degrees:2} degrees: E {:.3} (reference {modulus}), contraction {:.4} ({:.4}), shear per stretch {:.4} ({:.4})",
                found[0], found[1], want[1], found[2], want[2]
            );
            assert!((want[0] / modulus - 1.0).abs() < 1e-4, "the formula gives the table");
            if squeeze == 1.0 {
                assert!((found[0] / modulus - 1.0).abs() < 1e-3);
                assert!((found[1] - want[1]).abs() < 1e-3 && (found[2] - want[2]).abs() < 1e-3);
            } else if k == 0 || k == 6 {
                assert!((found[0] / modulus - 1.0).abs() < 1e-3, "pull is untouched by squeeze");
            }
        }
    }
}

#[test]
fn a_soft_shear_governs_the_bias() {
    let found = strip(linear(200.0, 200.0, 0.2, 2.0), 45.0);
    println!(
        "E(45) {:.4} (reference 7.874, limit 4G = 8), contraction {:.4} (0.969)",
        found[0], found[1]
    );
    assert!((found[0] / 7.874 - 1.0).abs() < 2e-3 && (found[1] - 0.969).abs() < 2e-3);
}
