//! The stitch mesh itself under its weight, against the closed forms of a strip and a heavy cantilever.

use std::ops::ControlFlow;

use crate::common::{bias, even_sizes, rectangle};
use slantwise::fabric::{EdgeLaw, Fabric, Rigidity};
use slantwise::state::{Hang, Hung, InSpace, Laid, Settings, Shoulders, SideOf, hang, lay};
use slantwise::stitches::{Piece, StitchKind};

const G: f64 = 9.80665;

/// A mesh of one kind of stitch with edges of next to no stiffness, laid flat, of `mass` kg/m² and
/// rigidity `b`.
struct Strip {
    fabric: Fabric,
    laid: Laid,
    space: InSpace,
    weight: f64,
}

impl Strip {
    fn new(piece: &Piece, width: f64, height: f64, mass: f64, b: f64) -> Self {
        let mut sizes = even_sizes(piece, width, height);
        let edge = EdgeLaw { tightness: 1.0, stiffness: 1e-6 };
        (sizes.selvage, sizes.foundation, sizes.bind_off) = (edge, edge, edge);
        let fabric = Fabric::new(piece, &sizes);
        let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()))
            .expect("a plain piece lies flat");
        let stitches: Vec<f64> = piece
            .stitches
            .iter()
            .map(|s| if s.kind == StitchKind::CastOn { 0.0 } else { mass * width * height })
            .collect();
        let rigidity = Rigidity { bending: vec![[b, b]; piece.stitches.len()], twist: 1.0 };
        let masses = fabric.node_masses(piece, &stitches);
        let weight = G * stitches.iter().sum::<f64>();
        Self { fabric, laid, space: InSpace { rigidity, masses }, weight }
    }

    fn hang(&self, how: Hang) -> Hung {
        let go = &mut |_| ControlFlow::Continue(());
        match hang(&self.fabric, &self.laid, &self.space, how, &Settings::default(), go) {
            Ok(hung) => hung,
            Err(fault) => panic!("{fault}"),
        }
    }
}

fn mean(nodes: &[u32], x: &[[f64; 3]], axis: usize) -> f64 {
    nodes.iter().map(|n| x[*n as usize][axis]).sum::<f64>() / nodes.len() as f64
}

/// The flat body stays free of bending and weight, which are added only where a piece leaves the
/// plane: planar answers cannot change by a bit.
#[test]
fn the_planar_body_knows_no_weight() {
    let strip = Strip::new(&bias(12, 20, 2), 0.005, 0.004, 0.4, 4e-5);
    let body = &strip.fabric.body;
    assert!(body.bends.is_empty() && body.loads.is_empty() && body.support.is_none());
    let total: f64 = strip.space.masses.iter().sum::<f64>() * G;
    println!("loads sum to {total:.12} N (reference {:.12})", strip.weight);
    assert!((total / strip.weight - 1.0).abs() < 1e-12);
    assert!(strip.space.masses.iter().all(|m| *m >= 0.0));
}

/// Bending must neither pull nor turn the flat piece, shaped edges included.
#[test]
fn bending_leaves_the_flat_piece_alone() {
    let strip = Strip::new(&bias(12, 20, 2), 0.005, 0.004, 0.4, 4e-5);
    let flat = &strip.laid.shape.positions;
    let bends = strip.fabric.bends(&strip.space.rigidity, flat);
    let worst = bends.iter().fold(0.0_f64, |worst, b| {
        let sum = [0, 1].map(|d| {
            b.nodes.iter().zip(&b.weights).map(|(n, w)| w * flat[*n as usize][d]).sum::<f64>()
        });
        worst.max(sum[0].hypot(sum[1]))
    });
    println!("{} bends, largest curvature seen in the flat piece {worst:.1e} 1/m", bends.len());
    assert!(bends.len() > 300 && worst < 1e-6);
}

/// m g L/2E for a strip of the stitch mesh hung by its foundation.
#[test]
fn stitch_mesh_strip_grows_as_the_closed_form_says() {
    let (mass, rows) = (0.4, 120);
    let strip = Strip::new(&rectangle(20, rows), 0.005, 0.005, mass, 4e-5);
    let hung = strip.hang(Hang::Edge { side: SideOf::Foundation, spacing: 0.001 });
    let long = 0.005 * f64::from(rows);
    let path = &strip.fabric.row_paths[rows as usize];
    let found = mean(path, &hung.unstretched, 2) - mean(path, &hung.positions, 2);
    let want = mass * G * long * long / (2.0 * 250.0);
    let borne: f64 = hung.borne.iter().map(|f| f[2]).sum();
    println!(
        "strip of stitches: grows {:.4} mm (reference m g L2/2E = {:.4}); pegs bear {:.9} of {:.9} N; {:?}",
        found * 1e3,
        want * 1e3,
        borne,
        strip.weight,
        hung.outcome
    );
    assert!((found / want - 1.0).abs() < 0.01);
    assert!((borne / strip.weight - 1.0).abs() < 1e-6);
}

/// Heavy elastica at K = 1 and 8 (x/L, y/L recomputed by collocation; Bickley 1934, Wang 1986). The
/// clamp lies half a row before the last held one.
#[test]
fn stitch_mesh_strip_bends_as_a_heavy_cantilever() {
    let (mass, height, over) = (0.4, 0.0025, 0.1);
    for (k, x, y) in [(1.0, 0.99125, 0.12347), (8.0, 0.72443, 0.64063)] {
        let long: f64 = over + 0.5 * height;
        let b = mass * G * long.powi(3) / k;
        let strip = Strip::new(&rectangle(8, 46), 0.005, height, mass, b);
        let hung =
            strip.hang(Hang::TableEdge { side: SideOf::LastRow, over: over - 0.01 * height });
        let tip = &strip.fabric.row_paths[46];
        let found = [1, 2].map(|d| -mean(tip, &hung.positions, d) / long);
        let found = [found[0] + 0.5 * height / long, found[1]];
        println!(
            "stitch cantilever K {k}: x {:.5} (reference {x}), y {:.5} ({y}); {:?}",
            found[0], found[1], hung.outcome
        );
        assert!((found[0] / x - 1.0).abs() < 0.01 && (found[1] / y - 1.0).abs() < 0.01);
    }
}

/// A strip over a rail: both halves hang, nothing sinks in, held stitches and rail bear the weight.
#[test]
fn a_rail_carries_without_letting_through() {
    let strip = Strip::new(&rectangle(16, 80), 0.005, 0.005, 0.4, 4e-5);
    let hung = strip.hang(Hang::Rail { radius: 0.015, at: 0.5 });
    let ends = [0, 80].map(|r| mean(&strip.fabric.row_paths[r], &hung.positions, 2));
    println!(
        "over a rail: ends at {:.3} and {:.3} mm, sunk {:.4} mm, {:?}",
        ends[0] * 1e3,
        ends[1] * 1e3,
        hung.sunk * 1e3,
        hung.outcome
    );
    assert!(hung.outcome.minimum && hung.sunk < 5e-4);
    assert!((ends[0] - ends[1]).abs() < 2e-3);
    let borne: f64 = hung.borne.iter().map(|f| f[2]).sum();
    // A belt presses with T/R, so a row of height h on top would take h/2R of the weight. The soft layer
    // shares that out among the rows in a way no closed form gives: printed beside it, not demanded.
    let belt = 0.005 / (2.0 * 0.015) * strip.weight;
    println!("held row bears {borne:.4} N (a belt on a pulley: {belt:.4})");
    assert!(borne > 0.0 && borne < 0.5 * strip.weight);
}

/// Over shoulders: what the held stitches and the body bear adds up to the weight and to nothing sideways,
/// nothing sinks into the body, and a symmetric piece hangs alike on both sides.
#[test]
fn shoulders_and_held_stitches_bear_the_weight() {
    let strip = Strip::new(&rectangle(60, 24), 0.01, 0.01, 0.4, 4e-5);
    let body = Shoulders { breadth: 0.36, neck: 0.34, slope: 0.38, depth: 0.2 };
    let hung = strip.hang(Hang::Shoulders { side: SideOf::LastRow, body });
    let sum = |d: usize| hung.borne.iter().map(|f| f[d]).sum::<f64>();
    let total = [0, 1, 2].map(|d| sum(d) + hung.carried[d]);
    println!(
        "over shoulders: held stitches bear {:.6} N, the body {:.6} N, in all {:.9} N (reference {:.9}); sideways \
         {:.1e} and {:.1e} N; sunk {:.3} mm; {:?}",
        sum(2),
        hung.carried[2],
        total[2],
        strip.weight,
        total[0],
        total[1],
        hung.sunk * 1e3,
        hung.outcome
    );
    assert!((total[2] / strip.weight - 1.0).abs() < 1e-6);
    assert!(total[0].abs() < 1e-6 * strip.weight && total[1].abs() < 1e-6 * strip.weight);
    assert!(hung.carried[2] > 0.05 * strip.weight, "the body carries a share");
    assert!(hung.sunk < 1e-3);
    let low = |side: f64| {
        let on = hung.positions.iter().filter(|p| p[0] * side > 0.0);
        on.map(|p| p[2]).fold(f64::INFINITY, f64::min)
    };
    let [left, right] = [low(-1.0), low(1.0)];
    println!("lowest on the left {:.1} mm, on the right {:.1} mm", left * 1e3, right * 1e3);
    assert!((left - right).abs() < 0.03, "{left} {right}");
}

/// A bias strip shears under its own weight (off-axis coupling), far more than a square one.
#[test]
fn a_bias_piece_shears_when_hung() {
    let lean = |piece: &Piece| {
        let strip = Strip::new(piece, 0.005, 0.005, 0.4, 4e-5);
        let hung = strip.hang(Hang::Edge { side: SideOf::Left, spacing: 0.01 });
        let quads = strip.fabric.body.quads.len();
        let shear = |s: &[[f64; 3]]| s[..quads].iter().map(|s| s[2]).sum::<f64>() / quads as f64;
        (shear(&hung.strains) - shear(&strip.laid.shape.strains)).to_degrees()
    };
    let [bias, plain] = [lean(&bias(16, 60, 1)), lean(&rectangle(16, 60))];
    println!("mean shear under load: on the bias {bias:.3} degrees, square {plain:.3}");
    assert!(bias.abs() > 5.0 * plain.abs());
}
