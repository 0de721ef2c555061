//! Lengths to spare: the blister of a squeezed heavy strip against quadrature and limits, flat pieces left
//! alone, and an over-fed band let up off a table.

use std::f64::consts::{PI, TAU};
use std::ops::{ControlFlow, RangeInclusive};

use crate::common::{bias, even_sizes, rectangle};
use slantwise::fabric::{EdgeLaw, Fabric, Rigidity, Sizes};
use slantwise::mechanics::{Settings, Solver};
use slantwise::predict::{self, Options, Stand, Tables};
use slantwise::source::Source;
use slantwise::state::{
    Blister, InSpace, Laid, OverFed, Place, Strip, lay, let_go, over_fed, rise,
};
use slantwise::stitches::{Piece, RowId, StitchKind};

const STRIP: Strip = Strip { length: 0.4, squeeze: 1.2, modulus: 90.0, bending: 2e-5, weight: 3.0 };

/// The energy of `z = a/2 (1 - cos 2πx/l)` by the midpoint rule, exact for its harmonics.
#[test]
fn a_blister_has_the_energy_of_its_shape() {
    for (l, a) in [(0.05, 0.004), (0.1, 0.02), (0.3, 0.001)] {
        let n = 64;
        let sum = |f: &dyn Fn(f64) -> f64| {
            (0..n).map(|i| f((f64::from(i) + 0.5) * l / f64::from(n))).sum::<f64>() * l
                / f64::from(n)
        };
        let k = TAU / l;
        let taken = sum(&|x| 0.5 * (0.5 * a * k * (k * x).sin()).powi(2));
        let bent = sum(&|x| 0.5 * STRIP.bending * (0.5 * a * k * k * (k * x).cos()).powi(2));
        let lifted = sum(&|x| STRIP.weight * 0.5 * a * (1.0 - (k * x).cos()));
        let eased = 0.5 * STRIP.modulus * taken * taken / STRIP.length;
        let reference = bent + lifted + eased - STRIP.squeeze * taken;
        let found = STRIP.energy(l, a);
        println!("l {l}, a {a}: {found:.6e} J/m (reference {reference:.6e})");
        assert!((found - reference).abs() < 1e-12 * (bent + lifted + eased));
    }
}

/// Free of weight and stiffness a blister takes all there is to spare: `a = 2/π √(l N L/C)`. Weight keeps
/// it down from where lifting costs more than the squeeze gives: `p l/2 = (2/3) α √(α/3β)`.
#[test]
fn blisters_take_what_is_spare_and_heavy_strips_stay_down() {
    let l = 0.08;
    let light = Strip { bending: 0.0, weight: 0.0, ..STRIP };
    let found = light.blister(l).expect("nothing keeps it down").height;
    let reference = 2.0 / PI * (l * light.squeeze / light.modulus * light.length).sqrt();
    println!("height {found:.6} m (reference {reference:.6})");
    assert!((found / reference - 1.0).abs() < 1e-9);
    let gain = STRIP.squeeze * PI.powi(2) / (4.0 * l) - STRIP.bending * PI.powi(4) / l.powi(3);
    let eased = STRIP.modulus * PI.powi(4) / (32.0 * l * l * STRIP.length);
    let heaviest = 2.0 / l * 2.0 / 3.0 * gain * (gain / (3.0 * eased)).sqrt();
    println!("stays down from {heaviest:.3} N/m²");
    let at = |share: f64| Strip { weight: share * heaviest, ..STRIP }.blister(l);
    assert!(at(0.999).is_some() && at(1.001).is_none());
}

struct Made {
    fabric: Fabric,
    laid: Laid,
    space: InSpace,
}

fn made(piece: &Piece, sizes: &Sizes) -> Made {
    let fabric = Fabric::new(piece, sizes);
    let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()))
        .expect("a plain piece lies flat");
    let kilos = piece.stitches.iter().map(|s| match s.kind {
        StitchKind::CastOn => 0.0,
        _ => 0.3 * 0.005 * 0.005,
    });
    let masses = fabric.node_masses(piece, &kilos.collect::<Vec<f64>>());
    let rigidity = Rigidity { bending: vec![[2e-5, 2e-5]; piece.stitches.len()], twist: 1.0 };
    Made { fabric, laid, space: InSpace { rigidity, masses } }
}

/// A straight flat piece is left alone: nothing is found that could rise, so nothing is solved in space.
#[test]
fn flat_pieces_have_nothing_to_spare() {
    for piece in [rectangle(60, 40), bias(40, 60, 1), bias(40, 60, 2)] {
        let made = made(&piece, &even_sizes(&piece, 0.005, 0.005));
        assert!(over_fed(&made.fabric, &made.laid, &made.space).is_empty());
    }
}

/// A foundation 5 % tight squeezes the rows on it and is itself pulled: across any part that holds both there is
/// little squeeze left, and the piece stays down. Told to look, the table says the same: released, it stands
/// nowhere off by as much as it is thick.
#[test]
fn a_tight_foundation_keeps_the_rows_on_it_down() {
    let piece = rectangle(60, 40);
    let mut sizes = even_sizes(&piece, 0.005, 0.005);
    sizes.foundation.tightness = 0.95;
    let made = made(&piece, &sizes);
    let squeezed = made.laid.shape.strains.iter().map(|s| s[0]).fold(0.0, f64::min);
    println!("rows squeezed by up to {:.1} %", -100.0 * squeezed);
    assert!(squeezed < -0.01);
    assert!(over_fed(&made.fabric, &made.laid, &made.space).is_empty());
    let looked_for = OverFed {
        at: Place::Rows(RowId(1), RowId(3), None),
        spare: 0.01,
        blister: Blister { length: 0.08, height: 0.005, energy: 0.0 },
    };
    let settings = Settings { iterations: 2000, ..Settings::default() };
    let go = &mut |_| ControlFlow::Continue(());
    let risen = rise(&made.fabric, &made.laid, &made.space, &[looked_for], &settings, go);
    let risen = risen.unwrap_or_else(|fault| panic!("{fault}"));
    println!("stands off by {:.3} mm", 1e3 * risen.rise);
    assert!(risen.outcome.minimum && risen.rise < 0.001);
}

/// The first `band` rows worked wider by `share`, edges free.
fn banded(piece: &Piece, band: u32, share: f64) -> Made {
    banded_between(piece, band, share, 0.0..=1.0)
}

/// The same between two shares of their lengths, counted the way each row is worked.
fn banded_between(piece: &Piece, band: u32, share: f64, part: RangeInclusive<f64>) -> Made {
    let mut sizes = even_sizes(piece, 0.005, 0.005);
    let free = EdgeLaw { tightness: 1.0, stiffness: 1e-6 };
    (sizes.selvage, sizes.foundation, sizes.bind_off) = (free, free, free);
    for row in piece.rows.iter().take(band as usize + 1) {
        let (from, to) = row.stitches;
        for i in from..to {
            let along = (f64::from(i - from) + 0.5) / f64::from(to - from);
            let from_left = if row.left_to_right { along } else { 1.0 - along };
            if part.contains(&from_left) {
                sizes.stitches[i as usize].width *= 1.0 + share;
            }
        }
    }
    made(piece, &sizes)
}

/// A border too long over a quarter of its length only: its mean over whole rows would be kept down, and it is
/// found where it is, however many rows and stitches lie beside it.
#[test]
fn a_border_over_fed_in_part_is_found_there() {
    let piece = rectangle(160, 20);
    let made = banded_between(&piece, 4, 0.12, 0.5..=0.75);
    let found = over_fed(&made.fabric, &made.laid, &made.space);
    for one in &found {
        println!("{:?}: {:.2} mm to spare, {:?}", one.at, 1e3 * one.spare, one.blister);
    }
    let parts: Vec<[f64; 2]> = found
        .iter()
        .filter_map(|f| match f.at {
            Place::Rows(from, to, part) if from.0 <= 1 && to.0 >= 2 => part,
            _ => None,
        })
        .collect();
    assert_eq!(parts.len(), 1, "one part of the border's rows");
    let [from, to] = parts[0];
    // Blisters that pay reach over the ends of what feeds them, by a fraction of their length.
    assert!((0.35..0.55).contains(&from) && (0.7..0.9).contains(&to), "{from} to {to}");
    assert!(found.iter().all(|f| !matches!(f.at, Place::Rows(_, _, None))));
}

/// A border a fifth too long stretches the body and has the rest to spare: it rises off the table in waves: a minimum of lower
/// energy than the piece held flat. A border 0.2 % too long is kept down.
#[test]
fn an_over_fed_border_rises_in_waves() {
    let piece = rectangle(50, 20);
    let slight = banded(&piece, 4, 0.002);
    assert!(over_fed(&slight.fabric, &slight.laid, &slight.space).is_empty());
    let made = banded(&piece, 4, 0.2);
    let found = over_fed(&made.fabric, &made.laid, &made.space);
    let first = found.first().expect("the border has length to spare");
    assert!(
        matches!(first.at, Place::Rows(from, to, None) if from.0 <= 1 && (2..=5).contains(&to.0))
    );
    let settings = Settings { iterations: 2000, ..Settings::default() };
    let go = &mut |_| ControlFlow::Continue(());
    let risen = rise(&made.fabric, &made.laid, &made.space, &found, &settings, go);
    let risen = risen.unwrap_or_else(|fault| panic!("{fault}"));
    let ripple = risen.ripple.expect("it has rows");
    println!(
        "{:.1} mm to spare of {:.1}: {} waves, up to {:.1} mm off, {} steps, residual {:.1e}",
        1e3 * first.spare,
        50.0 * 5.0 * 0.2,
        ripple.waves,
        1e3 * risen.rise,
        risen.outcome.iterations,
        risen.outcome.residual
    );
    assert!(first.spare > 0.01 && first.spare < 0.05);
    assert!(risen.outcome.minimum && risen.outcome.residual <= 1e-8);
    assert!(ripple.waves >= 1 && risen.rise > 0.01);
    let flat = made.laid.outcome.energy;
    assert!(risen.outcome.energy < flat, "{} of {flat} J", risen.outcome.energy);
}

/// A border over-fed on a long piece is let go first with what lies near it. What is told is a minimum of the whole
/// piece all the same, below the flat state, and on the table away from the border. Let go everywhere at once, from
/// waves set out everywhere, it may come to another of its rests: both are printed, their energies not held equal.
#[test]
fn a_part_let_go_first_ends_in_a_rest_of_the_whole() {
    let piece = rectangle(40, 90);
    let made = banded(&piece, 4, 0.15);
    let found = over_fed(&made.fabric, &made.laid, &made.space);
    let first = *found.first().expect("the border has length to spare");
    let everywhere = OverFed { at: Place::Rows(RowId(0), RowId(90), None), ..first };
    let all = [found.clone(), vec![everywhere]].concat();
    let nodes = made.fabric.body.nodes;
    let many = |found: &[OverFed]| let_go(&made.fabric, &made.laid, found);
    println!("{} of {nodes} nodes are let go first", many(&found));
    assert!(many(&found) < nodes && many(&all) == nodes);
    let settings = Settings { iterations: 2000, ..Settings::default() };
    let risen = |found: &[OverFed]| {
        let go = &mut |_| ControlFlow::Continue(());
        let risen = rise(&made.fabric, &made.laid, &made.space, found, &settings, go);
        let risen = risen.unwrap_or_else(|fault| panic!("{fault}"));
        println!("{:.2} mm, {:?}", 1e3 * risen.rise, risen.outcome);
        assert!(risen.outcome.minimum && risen.outcome.residual <= 1e-8);
        risen
    };
    let (part, whole) = (risen(&found), risen(&all));
    println!("energies as {:.4} to 1", part.outcome.energy / whole.outcome.energy);
    let flat = made.laid.outcome.energy;
    assert!(part.outcome.energy < flat && part.rise > 0.005, "{} of {flat} J", part.outcome.energy);
    let far = made.fabric.row_paths[60..].iter().flatten();
    let most = far.map(|n| part.positions[*n as usize][2]).fold(f64::NEG_INFINITY, f64::max);
    println!("beyond row 60 it lies up to {:.3} mm off", 1e3 * most);
    assert!(most < 0.001);
}

/// Steps held back by a trusted length end where whole Newton steps do.
#[test]
fn trusted_steps_reach_the_same_equilibrium() {
    let piece = rectangle(30, 20);
    let made = banded(&piece, 6, 0.05);
    let solved = |trust: f64| {
        let mut x = made.fabric.start.clone();
        let mut solver = Solver::<2>::new(&made.fabric.body).expect("a sound body");
        let settings = Settings { trust, ..Settings::default() };
        let done = solver.minimise(&mut x, &settings, &mut |_| ControlFlow::Continue(()));
        (x, done.unwrap_or_else(|fault| panic!("{fault}")))
    };
    let (whole, held) = (solved(f64::INFINITY), solved(1e-3));
    let apart = |(p, q): (&[f64; 2], &[f64; 2])| (p[0] - q[0]).hypot(p[1] - q[1]);
    let most = whole.0.iter().zip(&held.0).map(apart).fold(0.0, f64::max);
    println!("{} and {} steps, {most:.1e} m apart", whole.1.iterations, held.1.iterations);
    assert!(held.1.minimum && held.1.iterations > whole.1.iterations);
    assert!(most < 1e-5);
}

/// A square on its corner, begun with one stitch, and its border: the cells of the tip are far stiffer than the
/// mean of the piece, by which shifts of the matrix had been bounded, so that the solver never came to an end.
#[test]
fn a_piece_begun_with_one_stitch_comes_to_rest_on_a_table() {
    let page = "Square on its corner\nUS terms\nGauge: 14 sc = 4 in, 16 rows = 4 in.\nCh 2.\n\
        Row 1: Sc in 2nd ch from hook. (1 sc)\nRow 2: Ch 1, turn. 3 sc in sc. (3 sc)\n\
        Row 3: Ch 1, turn. 2 sc in first sc, sc in each sc to last sc, 2 sc in last sc. (5 sc)\n\
        Rows 4-12: Rep Row 3. (23 sc)\n\
        Row 13: Ch 1, turn. Sc2tog, sc in each sc to last 2 sc, sc2tog. (21 sc)\n\
        Rows 14-22: Rep Row 13. (3 sc)\nRow 23: Ch 1, turn. Sc3tog. (1 sc)\n\
        Border: Ch 1, sc evenly around all 4 sides, working 3 sc in each corner. Sl st in first sc. Fasten off.\n";
    let options = Options { tables: Tables::Small, ..Options::default() };
    let go = &mut |_| ControlFlow::Continue(());
    let found = predict::lay(&Source::new("page", page), &options, go);
    let found = found.unwrap_or_else(|refused| panic!("{}", refused.failure));
    let rising =
        found.rising.expect("a border of three stitches in each corner has length to spare");
    let Stand::Settled(stands) = rising.stands else { panic!("{:?}", rising.stands) };
    println!("stands off by {:.1} mm", stands.rise.to_mm());
    assert!(stands.solution.minimum && stands.rise.to_mm() > 0.0);
}
