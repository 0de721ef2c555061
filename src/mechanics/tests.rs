//! What is refused, and how a solve that does not settle says so.

use super::*;
use std::ops::ControlFlow;

/// One square cell of 10 mm with an edge strand.
fn cell() -> (Body, Vec<[f64; 2]>) {
    let x = vec![[0.0, 0.0], [0.01, 0.0], [0.01, 0.01], [0.0, 0.01]];
    let law =
        Membrane { e1: 100.0, e2: 50.0, nu12: 0.4, g: 20.0, squeeze: 0.3, locking: Membrane::FREE };
    let quad = Quad { nodes: [0, 1, 2, 3], rest: [x[0], x[1], x[2], x[3]], membrane: 0 };
    let strand = Strand { nodes: [0, 3], rest: 0.01, stiffness: 1.0 };
    let body = Body {
        nodes: 4,
        membranes: vec![law],
        quads: vec![quad],
        strands: vec![strand],
        ..Body::default()
    };
    (body, x)
}

fn fault(change: impl FnOnce(&mut Body)) -> String {
    let (mut body, _) = cell();
    change(&mut body);
    body.validate().expect_err("a fault").to_string()
}

#[test]
fn faults_name_element_value_and_what_fits() {
    let cases = [
        (
            fault(|b| b.membranes[0].e1 = f64::NAN),
            "membrane 0: modulus e1 (N/m) is NaN, a positive number is wanted",
        ),
        (
            fault(|b| b.membranes[0].g = 0.0),
            "membrane 0: shear modulus (N/m) is 0, a positive number is wanted",
        ),
        (fault(|b| b.membranes[0].squeeze = 1.5), "membrane 0: squeeze is 1.5, at most 1 fits"),
        (
            fault(|b| b.membranes[0].nu12 = 2.0),
            "membrane 0: Poisson ratio is 2, its square must stay below e1/e2 = 2",
        ),
        (fault(|b| b.quads[0].nodes[2] = 9), "quad 0: node 9 is out of range, there are 4"),
        (fault(|b| b.quads[0].nodes[2] = 1), "quad 0: node 1 is named twice"),
        (fault(|b| b.quads[0].membrane = 3), "quad 0: membrane 3 is out of range, there are 1"),
        (
            fault(|b| b.strands[0].rest = -0.01),
            "strand 0: rest length (m) is -0.01, a positive number is wanted",
        ),
        (
            fault(|b| b.loads = vec![[0.0; 3]; 3]),
            "load 3: one for each of 4 nodes, or none, is wanted",
        ),
    ];
    for (found, wanted) in cases {
        assert_eq!(found, wanted);
    }
    assert!(
        fault(|b| b.quads[0].rest.reverse()).starts_with("quad 0: turn at rest corner 0 (m²) is -")
    );
}

fn go<const D: usize>(
    body: &Body,
    x: &mut [[f64; D]],
    pins: &[usize],
    settings: &Settings,
) -> Result<Outcome, NotSettled> {
    let mut solver = Solver::<D>::new(body).expect("a sound body");
    solver.pin(pins);
    solver.minimise(x, settings, &mut |_| ControlFlow::Continue(()))
}

#[test]
fn a_start_that_does_not_fit_is_refused() {
    let (body, x) = cell();
    let missing =
        go(&body, &mut x[..3].to_vec(), &[], &Settings::default()).expect_err("three nodes");
    assert_eq!((missing.cause, missing.worst_node), (Cause::Start, 3));
    let mut bad = x;
    bad[2][1] = f64::INFINITY;
    let found = go(&body, &mut bad, &[], &Settings::default()).expect_err("not finite");
    assert_eq!((found.cause, found.worst_node), (Cause::Start, 2));
}

/// Three by three cells.
fn patch() -> (Body, Vec<[f64; 2]>) {
    let (mut body, _) = cell();
    let x: Vec<[f64; 2]> =
        (0..16).map(|k| [0.01 * f64::from(k % 4), 0.01 * f64::from(k / 4)]).collect();
    let quad = body.quads.remove(0);
    body.nodes = 16;
    body.strands.clear();
    for a in [0, 1, 2, 4, 5, 6, 8, 9, 10] {
        body.quads.push(Quad { nodes: [a, a + 1, a + 5, a + 4], ..quad.clone() });
    }
    (body, x)
}

#[test]
fn a_folded_start_unfolds() {
    let (body, mut x) = patch();
    x[5] = [0.024, 0.012];
    assert!(body.energy(&x).is_infinite());
    let found = go(&body, &mut x, &[], &Settings::default()).expect("settles");
    assert!(found.energy < 1e-15 && body.energy(&x).is_finite() && found.minimum);
}

#[test]
fn what_stays_folded_is_said_to() {
    let (body, mut x) = patch();
    x.iter_mut().for_each(|p| p[0] = -p[0]);
    let found = go(&body, &mut x, &[], &Settings::default()).expect_err("laid upside down");
    assert_eq!(found.cause, Cause::Folded);
    assert!(found.iterations < 20);
}

#[test]
fn steps_can_run_out_or_be_interrupted() {
    let (body, mut x) = cell();
    x[2] = [0.02, 0.02];
    let few = Settings { iterations: 1, ..Settings::default() };
    let out = go(&body, &mut x.clone(), &[], &few).expect_err("one step is too few");
    assert_eq!((out.cause.clone(), out.iterations), (Cause::Iterations, 1));
    assert!(out.residual > 1e-8 && out.to_string().contains("worst at node"), "{out}");
    let mut solver = Solver::<2>::new(&body).expect("a sound body");
    let stop = solver.minimise(&mut x, &Settings::default(), &mut |_| ControlFlow::Break(()));
    assert_eq!(stop.expect_err("interrupted").cause, Cause::Interrupted);
}

#[test]
fn what_nothing_holds_falls() {
    let (mut body, x) = cell();
    body.loads = vec![[0.0, 0.0, -1.0]; 4];
    let mut x: Vec<[f64; 3]> = x.iter().map(|p| [p[0], 0.0, p[1]]).collect();
    let found = go(&body, &mut x, &[0, 1], &Settings::default()).expect_err("falls");
    assert_eq!(found.cause, Cause::Falls);
    assert_eq!(
        found.to_string(),
        "did not settle: nothing holds the piece of node 0 against its load, it falls"
    );
}

#[test]
fn pins_stay_and_bear_what_the_rest_pulls() {
    let (body, mut x) = cell();
    // Top edge held a tenth too high.
    x[2][1] = 0.011;
    x[3][1] = 0.011;
    let pins = [1, 3, 5, 7, 0];
    go(&body, &mut x, &pins, &Settings::default()).expect("settles");
    assert_eq!([x[0][0], x[0][1], x[2][1], x[3][1]], [0.0, 0.0, 0.011, 0.011]);
    let strain = body.strain(Cell::Quad(0), &x);
    assert!((strain.columns - 0.1).abs() < 1e-12);
    // The rows are free: they contract by nu21 = nu12 e2/e1 times the stretch.
    assert!((strain.rows + 0.2 * 0.1).abs() < 1e-9, "{strain:?}");
    let mut solver = Solver::<2>::new(&body).expect("a sound body");
    let pull: f64 = solver.net_forces(&x)[2..].iter().map(|f| f[1]).sum();
    // Modulus times strain over the cell, and the strand.
    assert!((pull - (50.0 * 0.1 * 0.01 + 0.1)).abs() < 1e-9, "{pull}");
}
