//! Sheets lying flat: stress-free shapes, patch test, zero modes, trellis.

use crate::build::{Bias, Dice, linear, sheet, solve, solve_to};
use slantwise::mechanics::{Body, Cell, Measure, Polygon, Quad, Solver};

fn largest_strain(body: &Body, x: &[[f64; 2]]) -> f64 {
    let quads = (0..body.quads.len()).map(Cell::Quad);
    let cells = quads.chain((0..body.wedges.len()).map(Cell::Wedge));
    cells
        .map(|c| body.strain(c, x))
        .fold(0.0, |m, s| m.max(s.rows.abs()).max(s.columns.abs()).max(s.shear.abs()))
}

#[test]
fn bias_parallelogram_is_free_of_stress_and_slants_by_its_stitches() {
    // tan(slant) = stitches gained per row times w/h: plain geometry. Garter h/w 0.5, stockinette
    // 0.75, double crochet 1.91 with one stitch gained each row, here each second row of half height.
    for (h, expected) in [(0.5, 45.0), (0.75, 33.690), (0.955, 27.635)] {
        for n in [8, 23, 60] {
            let w = 0.005;
            let bias = Bias::new(n, 40, w, h * w, linear(60.0, 40.0, 0.4, 20.0));
            let mut x = bias.start.clone();
            Dice::new(n as u64).shake(&mut x, 0.2 * w * h);
            let found = solve(&bias.body, &mut x, &[]);
            let strain = largest_strain(&bias.body, &x);
            let [lean, across] = [bias.rows[40][0], bias.rows[0][n + 1]].map(|i| {
                let (o, p) = (x[bias.rows[0][0] as usize], x[i as usize]);
                (p[1] - o[1]).atan2(p[0] - o[0])
            });
            let slant = 90.0 - (lean - across).to_degrees();
            println!(
                "{n} stitches, h/w {h}: slant {slant:.5} (reference {expected}), strain {strain:.1e} (0), {} steps",
                found.iterations
            );
            assert!((slant - expected).abs() < 0.01);
            assert!(strain < 1e-9 && found.minimum);
        }
    }
}

#[test]
fn rectangle_is_free_of_stress() {
    let (body, start) = sheet(30, 20, 0.15, 0.12, 0.0, linear(300.0, 250.0, 0.3, 15.0));
    let mut x = start.clone();
    Dice::new(1).shake(&mut x, 0.001);
    let found = solve(&body, &mut x, &[]);
    let strain = largest_strain(&body, &x);
    println!("rectangle: strain {strain:.1e} (reference 0), energy {:.1e} J (0)", found.energy);
    assert!(strain < 1e-9 && found.minimum);
}

/// Zero eigenvalues of the Hessian, relative to the largest.
fn zero_modes(body: &Body, x: &[[f64; 2]]) -> (usize, f64) {
    let n = 2 * x.len();
    let dense = Solver::<2>::new(body).expect("a sound body").hessian(x);
    let mut values =
        nalgebra::DMatrix::from_vec(n, n, dense).symmetric_eigenvalues().as_slice().to_vec();
    values.sort_by(f64::total_cmp);
    let top = values[n - 1];
    let zeros = values.iter().filter(|v| v.abs() < 1e-10 * top).count();
    (zeros, values[zeros] / top)
}

#[test]
fn edge_strands_leave_the_three_rigid_modes() {
    let mut bias = Bias::new(8, 12, 0.005, 0.0025, linear(60.0, 40.0, 0.4, 20.0));
    let (zeros, next) = zero_modes(&bias.body, &bias.start);
    println!(
        "bias parallelogram with 1 N edge strands: {zeros} zero modes (reference 3), next {next:.1e}"
    );
    assert_eq!(zeros, 3);
    // Without half cells and strands the last stitch gained is held by its wedge alone, where it may
    // turn about the wedge's strand: the height is stationary there.
    let selvage = |n: u32| n.is_multiple_of(10) || n % 10 == 9;
    bias.body.strands.clear();
    bias.body.quads.retain(|q| !q.nodes.iter().any(|n| selvage(*n)));
    let bare = zero_modes(&bias.body, &bias.start).0
        - 2 * bias.start.iter().enumerate().filter(|(i, _)| selvage(*i as u32)).count();
    println!("without selvages: {bare} zero modes (reference 4)");
    assert_eq!(bare, 4);
}

/// A patch of irregular quads, one of them replaced by a polygon, under an affine map of its border.
#[test]
fn patch_under_an_affine_border_is_affine() {
    for measure in [Measure::Stretch, Measure::Green] {
        let (mut body, mut rest) = sheet(6, 6, 1.0, 1.0, 0.0, linear(100.0, 50.0, 0.4, 20.0));
        let edge = |p: &[f64; 2]| p.iter().any(|c| *c < 1e-9 || *c > 1.0 - 1e-9);
        let mut dice = Dice::new(3);
        for p in rest.iter_mut().filter(|p| !edge(p)) {
            p.iter_mut().for_each(|c| *c += 0.04 * dice.roll());
        }
        for q in &mut body.quads {
            q.rest = q.nodes.map(|n| rest[n as usize]);
        }
        body.measure = measure;
        let Quad { nodes, rest: corners, .. } = body.quads.remove(14);
        body.polygons.push(Polygon { nodes: nodes.to_vec(), rest: corners.to_vec(), membrane: 0 });
        let map = |p: [f64; 2]| [1.04 * p[0] + 0.05 * p[1], -0.02 * p[0] + 0.97 * p[1]];
        let pins: Vec<usize> =
            (0..rest.len()).filter(|i| edge(&rest[*i])).flat_map(|i| [2 * i, 2 * i + 1]).collect();
        let mut x: Vec<[f64; 2]> = rest.iter().map(|p| map(*p)).collect();
        let exact = x.clone();
        for (i, p) in x.iter_mut().enumerate().filter(|(i, _)| !edge(&rest[*i])) {
            *p = [rest[i][0] + 0.01 * dice.roll(), rest[i][1] + 0.01 * dice.roll()];
        }
        solve_to(1e-12, &body, &mut x, &pins);
        let off = x
            .as_flattened()
            .iter()
            .zip(exact.as_flattened())
            .fold(0.0f64, |m, (a, b)| m.max((a - b).abs()));
        println!("patch, {measure:?}: off by {off:.1e} m (reference 0)");
        assert!(off < 1e-10);
    }
}

/// A net of all but inextensible bars at 45 degrees, pulled by two opposite corners:
/// stretch cos(b/2)/cos 45, lateral sin(b/2)/sin 45 with b = 90 - shear (plain geometry).
#[test]
fn trellis_keeps_its_bars() {
    let (mut body, start) = sheet(8, 8, 0.1, 0.1, 0.0, linear(1e4, 1e4, 0.0, 1e-2));
    body.loads = vec![[0.0; 3]; body.nodes];
    for (shear, stretch, lateral) in [
        (10.0f64, 1.08335, 0.90904),
        (20.0, 1.15846, 0.81116),
        (30.0, 1.22474, std::f64::consts::FRAC_1_SQRT_2),
    ] {
        let half = (45.0 - 0.5 * shear).to_radians();
        let mut x: Vec<[f64; 2]> = start
            .iter()
            .map(|p| {
                let [a, b] = [(p[0] + p[1]) * half.cos(), (p[1] - p[0]) * half.sin()];
                [a + 0.0002 * (300.0 * b).sin(), b]
            })
            .collect();
        let (first, last, side) = (0, 80, 8);
        x[first] = [0.0, 0.0];
        x[last] = [0.2 * half.cos(), 0.0];
        let found = solve(&body, &mut x, &[0, 1, 2 * last, 2 * last + 1]);
        let diagonal = 0.1 * 2f64.sqrt();
        let [long, across] =
            [(x[last][0] - x[first][0]) / diagonal, (x[72][1] - x[side][1]) / diagonal];
        println!(
            "trellis {shear}: stretch {long:.5} (reference {stretch}), lateral {across:.5} (reference {lateral}), {} steps",
            found.iterations
        );
        assert!((long / stretch - 1.0).abs() < 1e-4 && (across / lateral - 1.0).abs() < 5e-3);
    }
}
