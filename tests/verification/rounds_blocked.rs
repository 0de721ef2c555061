//! Blocking of pieces in closed rounds: what dries in, what the next wash takes back, how the strain spreads from
//! the pins, and how the edge falls back between them.

use std::f64::consts::PI;
use std::f64::consts::TAU;
use std::fmt::Write as _;
use std::ops::ControlFlow;

use slantwise::fabric::{EdgeLaw, Fabric, corners};
use slantwise::mechanics::Membrane;
use slantwise::predict::read;
use slantwise::source::Source;
use slantwise::state::{
    Hold, Laid, Rim, RimBlocked, RimBlocking, RimTarget, Settings, Shape, block_rounds, lay_rounds,
    soak,
};

use crate::common::even_sizes;

const GO: ControlFlow<()> = ControlFlow::Continue(());

/// Width of a stitch, m.
const WIDE: f64 = 0.005;

/// A disc of so many more stitches a round, shifted: the more, the rounder.
pub(crate) fn disc(more: u32, rounds: u32) -> String {
    let mut page = format!(
        "Rnd 1: {more} sc in magic ring. ({more} sc)\nRnd 2: 2 sc in each st around. ({} sc)\n",
        2 * more
    );
    for round in 3..=rounds {
        let plain = match round - 2 {
            1 => "sc in next st".to_owned(),
            n => format!("sc in next {n} sts"),
        };
        let repeat = match round % 2 {
            0 => format!("2 sc in next st, {plain}"),
            _ => format!("{plain}, 2 sc in next st"),
        };
        let _ = writeln!(page, "Rnd {round}: [{repeat}] {more} times. ({} sc)", more * round);
    }
    page
}

/// Height at which so many stitches more a round lie flat.
pub(crate) fn flat(more: u32) -> f64 {
    f64::from(more) * WIDE / TAU
}

/// A square of single crochet as tall as wide: eight more a round, in four corners.
pub(crate) fn square(rounds: u32) -> String {
    let mut page = "Rnd 1: 8 sc in magic ring. (8 sc)\nRnd 2: *Sc in next st, 3 sc in next st; rep from * around. \
                    (16 sc)\n"
        .to_owned();
    for round in 3..=rounds {
        let _ = writeln!(
            page,
            "Rnd {round}: *Sc in next {} sts, 3 sc in next st, sc in next {}; rep from * around. ({} sc)",
            round - 1,
            if round == 3 { "st".to_owned() } else { format!("{} sts", round - 2) },
            8 * round
        );
    }
    page
}

struct Round {
    fabric: Fabric,
    laid: Laid,
    rim: Rim,
}

impl Round {
    /// Stitches of `tall` m; a law in the place of the usual one.
    fn new(page: &str, tall: f64, law: Option<Membrane>) -> Self {
        let reading = read(&Source::new("round", page.to_owned()));
        assert!(reading.diagnostics.is_empty(), "{:?}", reading.diagnostics);
        let mut sizes = even_sizes(&reading.piece, WIDE, tall);
        if let Some(law) = law {
            sizes.membranes.fill(law);
            let none = EdgeLaw { tightness: 1.0, stiffness: 1e-6 };
            (sizes.selvage, sizes.foundation, sizes.bind_off) = (none, none, none);
        }
        let fabric = Fabric::whole(&reading.piece, &sizes);
        let laid = lay_rounds(&fabric, &Settings::default(), &mut |_| GO).expect("rounds lie");
        let rim = Rim::of(&fabric, &laid.shape, corners(&reading.piece)).expect("an edge");
        Self { fabric, laid, rim }
    }

    fn block(&self, stretch: f64, hold: Hold, set: f64) -> RimBlocked {
        let way = RimBlocking { target: RimTarget::Stretch(stretch), hold, set };
        let go = &mut |_| GO;
        let done =
            block_rounds(&self.fabric, &self.laid, &self.rim, &way, &Settings::default(), go);
        done.unwrap_or_else(|fault| panic!("{fault}"))
    }

    /// Mean distance of the edge, or of its corners where it has any, from the middle, m.
    fn radius(&self, shape: &Shape) -> f64 {
        let every: Vec<usize> = (0..self.rim.nodes.len()).collect();
        let of = if self.rim.corners.is_empty() { &every } else { &self.rim.corners };
        of.iter().map(|i| self.out(shape, self.rim.nodes[*i])).sum::<f64>() / of.len() as f64
    }

    /// Distance of a node from the middle, m.
    fn out(&self, shape: &Shape, node: u32) -> f64 {
        let (p, o) = (shape.positions[node as usize], shape.positions[self.rim.middle as usize]);
        (p[0] - o[0]).hypot(p[1] - o[1])
    }
}

const EVERY: Hold = Hold::Pins(1e-3);

/// A piece pinned out by 1 + e all round keeps 1 + f e, whether the strain is even or not and whether or not it
/// was free of stress before: rest shapes move along one field of displacements (closed form of the setting law,
/// for a law linear in the strain).
#[test]
fn an_even_stretch_of_the_edge_keeps_its_set_fraction() {
    let linear = law(100.0, 60.0);
    for (name, piece, hold) in [
        ("disc", Round::new(&disc(18, 8), flat(18), Some(linear)), EVERY),
        ("square", Round::new(&square(10), WIDE, Some(linear)), Hold::Wires),
    ] {
        let before = piece.radius(&piece.laid.shape);
        for set in [0.0, 0.5, 0.8, 1.0] {
            let done = piece.block(0.03, hold, set);
            let kept = piece.radius(&done.released.shape) / before;
            let reference = 1.0 + set * 0.03;
            println!("{name}, set {set}: keeps {kept:.5}, law {reference:.5}");
            assert!((kept / reference - 1.0).abs() < 1e-3);
        }
    }
}

/// The next soak returns the piece to its washed size, the one after changes nothing.
#[test]
fn the_next_wash_returns_a_round_and_the_second_changes_nothing() {
    for (page, tall) in [(disc(6, 12), flat(6)), (square(8), WIDE)] {
        let piece = Round::new(&page, tall, None);
        let done = piece.block(0.08, Hold::Pins(0.03), 0.8);
        let wash = |from: &Shape| {
            soak(&piece.fabric, from, &Settings::default(), &mut |_| GO).expect("washed").shape
        };
        let once = wash(&done.released.shape);
        let twice = wash(&once);
        let [before, once, twice] = [&piece.laid.shape, &once, &twice].map(|s| piece.radius(s));
        println!("washed {before:.6} m, blocked and washed {once:.6}, washed again {twice:.6}");
        assert!((once / before - 1.0).abs() < 1e-6 && (twice / once - 1.0).abs() < 1e-6);
    }
}

fn law(e1: f64, e2: f64) -> Membrane {
    let g = e1.min(e2) / 2.0;
    Membrane { e1, e2, nu12: 0.0, g, squeeze: 1.0, locking: Membrane::FREE }
}

/// An orthotropic disc whose edge is moved out by e R everywhere: u = e R (r/R)^k, k² the modulus along the rounds
/// over that up the columns (Euler's equation of the disc, plane stress, no Poisson contraction; Lekhnitskii,
/// "Anisotropic plates", from memory). Pinned to one circle and to another, so that only the move counts.
#[test]
fn the_strain_of_a_pinned_disc_follows_the_orthotropic_closed_form() {
    for (e1, e2) in [(100.0, 100.0), (100.0, 25.0), (40.0, 90.0)] {
        let piece = Round::new(&disc(12, 20), flat(12), Some(law(e1, e2)));
        let (e, k) = (0.01, f64::sqrt(e1 / e2));
        let [before, after] = [0.02, 0.02 + e].map(|e| piece.block(e, EVERY, 0.0).pinned);
        let mean = |shape: &Shape, round: usize| {
            let path = &piece.fabric.row_paths[round];
            path.iter().map(|n| piece.out(shape, *n)).sum::<f64>() / path.len() as f64
        };
        let last = piece.fabric.row_paths.len() - 1;
        let moved = |round: usize| mean(&after, round) - mean(&before, round);
        for round in [last / 2, 3 * last / 4, last - 1] {
            let share = mean(&before, round) / mean(&before, last);
            let (found, reference) = (moved(round) / moved(last), share.powf(k));
            println!(
                "moduli {e1}, {e2}, at {share:.3} R: {found:.4} of the edge's move (reference {reference:.4})"
            );
            assert!((found - reference).abs() < 0.02);
        }
    }
}

/// The edge falls back between pins: less the nearer they stand, not at all where every stitch is pinned. Far
/// from each other by stitches and near by the radius, each pin is a force P = N s on a half plane, N the tension
/// inside, s the distance: the edge sinks by (2 N s/π E) ln(s/a) between them, a fixed by the pin (Flamant, plane
/// stress), so that sink over s N/E grows by (2/π) ln 2 each time the distance doubles. Pinned to one circle and to
/// another, so that only the move counts.
#[test]
fn scallops_vanish_as_pins_close_up_and_grow_as_flamants_forces() {
    let piece = Round::new(&disc(12, 24), flat(12), Some(law(100.0, 100.0)));
    let stitches = piece.rim.nodes.len();
    let whole = TAU * piece.radius(&piece.laid.shape);
    let mut before: Option<(f64, f64)> = None;
    for pins in [18_u32, 36, 72] {
        let spacing = whole / f64::from(pins);
        let both = [0.0, 0.01].map(|e| piece.block(e, Hold::Pins(spacing * 1.02), 0.0));
        let many = both[0].pins.len();
        assert_eq!(many, both[1].pins.len());
        // Strain of the inner half, along the rounds: N/E.
        let inner = |done: &RimBlocked| {
            let strains = piece.fabric.quad_tags.iter().zip(&done.pinned.strains);
            let inner = strains.filter(|(tag, _)| tag.row.0 < 12).map(|(_, s)| s[0]);
            let all: Vec<f64> = inner.collect();
            all.iter().sum::<f64>() / all.len() as f64
        };
        let tension = inner(&both[1]) - inner(&both[0]);
        let moved = |n: u32| piece.out(&both[1].pinned, n) - piece.out(&both[0].pinned, n);
        // The stitch that falls back most between each pin and the next.
        let held: Vec<usize> = (0..stitches)
            .filter(|i| both[0].pins.iter().any(|p| p.node == piece.rim.nodes[*i]))
            .collect();
        let sink = |k: usize| {
            let to = held.get(k + 1).copied().unwrap_or(stitches + held[0]);
            let between = (held[k]..to).map(|i| moved(piece.rim.nodes[i % stitches]));
            moved(piece.rim.nodes[held[k]]) - between.fold(f64::INFINITY, f64::min)
        };
        let deep = (0..held.len()).map(sink).sum::<f64>() / held.len() as f64;
        let sinks = deep / spacing / tension;
        print!(
            "{many} pins on {stitches} stitches: sinks {:.3} mm, over s N/E {sinks:.4}",
            1e3 * deep
        );
        if let Some((deeper, sank)) = before {
            let reference = 2.0 / PI * 2.0_f64.ln();
            println!(", less by {:.4} (reference {reference:.4})", sank - sinks);
            assert!(deep < deeper && ((sank - sinks) / reference - 1.0).abs() < 0.1);
        } else {
            println!();
        }
        before = Some((deep, sinks));
    }
    let done = piece.block(0.01, EVERY, 0.0);
    println!("{} pins: {:.1e} m deep", done.pins.len(), done.scallop);
    assert!(done.pins.len() == stitches && done.scallop < 1e-9);
}

/// Pins of a square: its corners, and the same many on each side, all on straight lines.
#[test]
fn a_square_is_pinned_to_straight_sides() {
    let piece = Round::new(&square(10), WIDE, None);
    assert_eq!(piece.rim.corners.len(), 4);
    let done = piece.block(0.05, Hold::Pins(0.02), 0.8);
    let many: Vec<usize> =
        (0..4).map(|side| done.pins.iter().filter(|p| p.side == side).count()).collect();
    println!("pins a side {many:?}, scallop {:.2} mm", 1e3 * done.scallop);
    assert!(many.iter().all(|n| *n == many[0] && *n >= 4));
    let o = piece.laid.shape.positions[piece.rim.middle as usize];
    for side in 0..4 {
        let on: Vec<[f64; 2]> = done.pins.iter().filter(|p| p.side == side).map(|p| p.at).collect();
        let (a, b) =
            (on[0], done.pins.iter().find(|p| p.side == (side + 1) % 4).expect("a corner").at);
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        for p in &on {
            let off = ((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / length;
            assert!(off.abs() < 1e-3, "{off} m off the side");
        }
        let turned = (a[0] - o[0]) * (b[0] - o[0]) + (a[1] - o[1]) * (b[1] - o[1]);
        assert!(turned.abs() < 1e-3 * length * length, "corners a quarter turn apart");
    }
}
