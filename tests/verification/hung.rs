//! Sheets and chains under their weight, and stored values of other codes.

use crate::build::{linear, sheet, solve, solve_to};
use slantwise::mechanics::{Body, Measure, Strand, signed_area};

const G: f64 = 9.80665;

/// Gives every quad's weight (mass per area in kg/m²) to its corners, along the last axis down.
fn weigh(body: &mut Body, mass: f64, axis: usize) {
    body.loads = vec![[0.0; 3]; body.nodes];
    for q in &body.quads {
        for n in q.nodes {
            body.loads[n as usize][axis] -= 0.25 * mass * G * signed_area(&q.rest);
        }
    }
}

/// Tip stretch over length of a strip hung by its top row, and the force its pins bear over its weight.
fn strip(measure: Measure) -> [f64; 2] {
    let (nx, ny, long) = (8, 120, 1.5);
    let (mut body, mut x) = sheet(nx, ny, 0.1, long, 0.0, linear(100.0, 100.0, 0.0, 40.0));
    body.measure = measure;
    weigh(&mut body, 0.4, 1);
    let top = ny * (nx + 1);
    let pins: Vec<usize> = (2 * top..2 * body.nodes).collect();
    solve(&body, &mut x, &pins);
    let mut solver = slantwise::mechanics::Solver::<2>::new(&body).expect("a sound body");
    let borne: f64 = solver.net_forces(&x)[top..].iter().map(|f| f[1]).sum();
    [-x[0][1] / long, borne / (0.4 * G * 0.1 * long)]
}

#[test]
fn strip_grows_by_half_its_weight_over_its_modulus() {
    let want = 0.4 * G * 1.5 / 200.0;
    let [found, borne] = strip(Measure::Stretch);
    println!(
        "hanging strip: {:.4} % (reference m g L/2E = {:.4} %), pins bear {borne:.12} of the weight (1)",
        100.0 * found,
        100.0 * want
    );
    let [green, _] = strip(Measure::Green);
    println!("  with Green's strain {:.4} % (too stiff, for comparison)", 100.0 * green);
    assert!((found / want - 1.0).abs() < 1e-3 && (borne - 1.0).abs() < 1e-9);
    assert!(green < 0.97 * want);
}

/// Triangle hung by its wide edge, m g L/4E: stress at depth y is m g (L - y)/2 however wide, which
/// holds while it is slender (half-width at most a tenth of its length).
#[test]
fn triangle_grows_by_half_as_much() {
    let (nx, ny, long, half) = (12, 120, 1.0, 0.05);
    let (mut body, mut x) = sheet(nx, ny, 1.0, 1.0, 0.0, linear(100.0, 100.0, 0.0, 50.0));
    for p in &mut x {
        let wide = half * (0.002 + 0.998 * p[1]);
        *p = [(2.0 * p[0] - 1.0) * wide, long * (p[1] - 1.0)];
    }
    for q in &mut body.quads {
        q.rest = q.nodes.map(|n| x[n as usize]);
    }
    weigh(&mut body, 0.4, 1);
    let pins: Vec<usize> = (2 * ny * (nx + 1)..2 * body.nodes).collect();
    solve(&body, &mut x, &pins);
    let (found, want) = (-x[nx / 2][1] / long - 1.0, 0.4 * G * long / 400.0);
    println!(
        "hanging triangle: {:.4} % (reference m g L/4E = {:.4} %)",
        100.0 * found,
        100.0 * want
    );
    assert!((found / want - 1.0).abs() < 0.02);
}

/// Sag over span of a chain: y = a cosh(x/a).
#[test]
fn chain_hangs_as_a_catenary() {
    for (ratio, want) in [(1.05, 0.13930), (1.1, 0.20030), (1.5, 0.50263), (2.0, 0.79639)] {
        let n = 200;
        let rest = ratio / f64::from(n);
        let nodes = n as usize + 1;
        let mut body = Body { nodes, ..Body::default() };
        body.strands =
            (0..n as u32).map(|i| Strand { nodes: [i, i + 1], rest, stiffness: 1e6 }).collect();
        body.loads = vec![[0.0, -0.1, 0.0]; nodes];
        // Two straight halves: free of strain.
        let depth = (f64::powi(ratio, 2) - 1.0f64).sqrt();
        let mut x: Vec<[f64; 2]> = (0..nodes)
            .map(|i| i as f64 / f64::from(n))
            .map(|s| [s, -depth * s.min(1.0 - s)])
            .collect();
        let last = 2 * (nodes - 1);
        let found = solve(&body, &mut x, &[0, 1, last, last + 1]);
        let sag = -x[nodes / 2][1];
        println!(
            "chain {ratio} spans long: sag {sag:.5} spans (reference {want}), {} steps",
            found.iterations
        );
        assert!((sag / want - 1.0).abs() < 1e-3 && found.minimum);
    }
}

/// The same sheet hung in space and in the plane.
#[test]
fn space_and_plane_agree_where_nothing_leaves_the_plane() {
    let (mut body, mut x) = sheet(6, 18, 0.2, 0.6, 0.3, linear(100.0, 60.0, 0.3, 15.0));
    weigh(&mut body, 0.4, 1);
    let top: Vec<usize> = (18 * 7..19 * 7).collect();
    let mut y: Vec<[f64; 3]> = x.iter().map(|p| [p[0], p[1], 0.0]).collect();
    solve_to(
        1e-12,
        &body,
        &mut x,
        &top.iter().flat_map(|n| [2 * n, 2 * n + 1]).collect::<Vec<_>>(),
    );
    let (mut all, hold) = (body.clone(), top.iter().flat_map(|n| [3 * n, 3 * n + 1, 3 * n + 2]));
    let mut pins: Vec<usize> = hold.collect();
    pins.extend((0..body.nodes).map(|n| 3 * n + 2));
    all.measure = body.measure;
    solve_to(1e-12, &all, &mut y, &pins);
    let off = x.iter().zip(&y).fold(0.0f64, |m, (a, b)| m.max((a[0] - b[0]).hypot(a[1] - b[1])));
    println!("plane and space differ by {off:.1e} m (reference 0)");
    assert!(off < 1e-10);
}
