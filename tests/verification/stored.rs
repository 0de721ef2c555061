//! The reference sheet against values three independent codes agreed on.

use crate::reference_sheet::{Found, Task, solve};

fn run(problem: &str, n: usize) -> Found {
    let task = Task { problem: problem.to_owned(), n, tol: 1e-9, threads: 1, csv: None };
    solve(&task).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn planar_width_and_energy() {
    for (n, width, energy) in
        [(32, 458.738, 8.60765), (58, 458.385, 8.23539), (100, 458.457, 8.09282)]
    {
        let found = run("planar", n);
        let (w, e) = (found.edge_width.expect("a planar width"), 1e3 * found.outcome.energy);
        println!("planar {n}: width {w:.4} mm (reference {width}), energy {e:.5} mJ ({energy})");
        assert!((w - width).abs() < 6e-4 && (e / energy - 1.0).abs() < 1e-6);
        assert!(found.outcome.minimum && found.outcome.residual <= 1e-9);
    }
}

#[test]
fn hung_by_its_top_row() {
    let sag = run("hang", 32).tip_sag.expect("a sag");
    println!("hung by the top row: tip sag {sag:.4} mm (reference 13.5505)");
    assert!((sag - 13.5505).abs() < 6e-5);
}

#[test]
fn hung_by_two_corners() {
    for (n, want) in [(32, 43.353), (58, 44.935)] {
        let found = run("swag", n);
        let sag = found.tip_sag.expect("a sag");
        println!(
            "hung by two corners, {n}: tip sag {sag:.4} mm (reference {want}), {} steps",
            found.outcome.iterations
        );
        assert!((sag - want).abs() < 6e-4 && found.outcome.minimum);
    }
}
