//! The error falls with the square of the cell size.

use crate::build::{linear, sheet, solve};

/// Where the middle of a unit sheet goes when its border is bent smoothly out of shape.
fn middle(n: usize) -> [f64; 2] {
    let (body, mut x) = sheet(n, n, 1.0, 1.0, 0.4, linear(100.0, 60.0, 0.3, 15.0));
    let edge = |p: &[f64; 2]| p.iter().any(|c| *c < 1e-9 || *c > 1.0 - 1e-9);
    let pins: Vec<usize> =
        (0..x.len()).filter(|i| edge(&x[*i])).flat_map(|i| [2 * i, 2 * i + 1]).collect();
    for p in &mut x {
        let [a, b] = *p;
        *p = [
            a + 0.06 * (2.0 * b + a).sin() + 0.08 * a * a,
            b + 0.05 * (2.5 * a).cos() * b + 0.04 * a,
        ];
    }
    solve(&body, &mut x, &pins);
    x[n / 2 * (n + 1) + n / 2]
}

#[test]
fn planar_error_is_of_second_order() {
    let at: Vec<[f64; 2]> = [8, 16, 32, 64].map(middle).to_vec();
    let change: Vec<f64> =
        at.windows(2).map(|w| (w[1][0] - w[0][0]).hypot(w[1][1] - w[0][1])).collect();
    for w in change.windows(2) {
        let order = (w[0] / w[1]).log2();
        println!(
            "change of the middle {:.3e} then {:.3e} m: order {order:.3} (reference 2)",
            w[0], w[1]
        );
        assert!((order - 2.0).abs() < 0.2);
    }
}
