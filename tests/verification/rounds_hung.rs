//! Pieces in closed rounds under their weight.

use std::ops::ControlFlow;

use slantwise::fabric::{Fabric, Rigidity, corners};
use slantwise::predict::read;
use slantwise::source::Source;
use slantwise::state::{Hang, Hung, InSpace, Laid, Rim, Settings, SideOf, hang_rounds, lay_rounds};

use super::rounds_blocked::{disc, flat, square};
use crate::common::even_sizes;

const G: f64 = 9.80665;
const WIDE: f64 = 0.005;

struct Round {
    fabric: Fabric,
    laid: Laid,
    rim: Rim,
    space: InSpace,
    weight: f64,
}

impl Round {
    /// Of `mass` kg/m² and rigidity `b`.
    fn new(page: &str, tall: f64, mass: f64, b: f64) -> Self {
        let reading = read(&Source::new("round", page.to_owned()));
        let piece = &reading.piece;
        let fabric = Fabric::whole(piece, &even_sizes(piece, WIDE, tall));
        let laid = lay_rounds(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()));
        let laid = laid.expect("rounds lie");
        let rim = Rim::of(&fabric, &laid.shape, corners(piece)).expect("an edge");
        let stitches = vec![mass * WIDE * tall; piece.stitches.len()];
        let rigidity = Rigidity { bending: vec![[b, b]; stitches.len()], twist: 1.0 };
        let masses = fabric.node_masses(piece, &stitches);
        let weight = G * stitches.iter().sum::<f64>();
        Self { fabric, laid, rim, space: InSpace { rigidity, masses }, weight }
    }

    fn hang(&self, how: Hang) -> Hung {
        let (go, still) = (&mut |_| ControlFlow::Continue(()), Settings::default());
        let done = hang_rounds(&self.fabric, &self.laid, &self.rim, &self.space, how, &still, go);
        done.unwrap_or_else(|fault| panic!("{how:?}: {fault}"))
    }
}

const SIDE: SideOf = SideOf::Foundation;

/// However a round or a square is held, what holds it and what it lies on bear its weight and nothing sideways,
/// and it rests in a minimum.
#[test]
fn what_holds_a_round_bears_its_weight() {
    for (name, piece) in [
        ("disc", Round::new(&disc(6, 14), flat(6), 0.3, 2e-5)),
        ("square", Round::new(&square(10), WIDE, 0.3, 2e-5)),
    ] {
        for how in [
            Hang::Point { side: SIDE },
            Hang::Edge { side: SIDE, spacing: 0.03 },
            Hang::Corners { side: SIDE, apart: 0.9 },
            Hang::Rail { radius: 0.01, at: 0.5 },
            Hang::TableEdge { side: SIDE, over: 0.05 },
            Hang::Disc { radius: 0.03 },
        ] {
            let hung = piece.hang(how);
            let borne =
                [0, 1, 2].map(|d| hung.borne.iter().map(|f| f[d]).sum::<f64>() + hung.carried[d]);
            println!(
                "{name}, {how:?}: {} held bear {:.9} of {:.9} N, sideways {:.1e} and {:.1e}; {:?}",
                hung.held.len(),
                borne[2],
                piece.weight,
                borne[0],
                borne[1],
                hung.outcome
            );
            assert!((borne[2] / piece.weight - 1.0).abs() < 1e-6);
            assert!(borne[0].hypot(borne[1]) < 1e-5 * piece.weight);
            assert!(hung.outcome.minimum);
        }
    }
}

/// A square hung by a corner is mirrored in the vertical through it, and one pegged by a side in that through the
/// side's middle.
#[test]
fn a_square_hangs_mirrored() {
    let piece = Round::new(&square(10), WIDE, 0.05, 2e-4);
    let (n, second) = (piece.rim.nodes.len(), piece.rim.corners[1]);
    for (how, sum) in
        [(Hang::Point { side: SIDE }, n), (Hang::Edge { side: SIDE, spacing: 1.0 }, n + second)]
    {
        let hung = piece.hang(how);
        let at = |i: usize| hung.positions[piece.rim.nodes[i % n] as usize];
        let tall = (0..n).map(|i| at(i)[2]).fold(0.0_f64, |low, z| low.min(z)).abs();
        let worst = (0..n).map(|i| (at(i)[2] - at(sum - i)[2]).abs()).fold(0.0, f64::max);
        println!(
            "{how:?}: heights differ from their mirror's by at most {:.2e} of {tall:.4} m; {:?}",
            worst / tall,
            hung.outcome
        );
        assert!(worst < 1e-3 * tall);
    }
}

/// Lighter and lighter, a square hung by a side grows in proportion to its weight.
#[test]
fn growth_is_proportional_to_a_small_weight() {
    let grows = |mass: f64| {
        let piece = Round::new(&square(10), WIDE, mass, 2e-3);
        let hung = piece.hang(Hang::Edge { side: SIDE, spacing: 1e-3 });
        let low = |x: &[[f64; 3]]| -x.iter().map(|p| p[2]).fold(0.0, f64::min);
        low(&hung.positions) - low(&hung.unstretched)
    };
    let (half, whole) = (grows(0.01), grows(0.02));
    println!("grows {:.4} and {:.4} um at half and whole weight", 1e6 * half, 1e6 * whole);
    assert!(half > 0.0 && (whole / half - 2.0).abs() < 0.05);
}
