//! Pieces whose lying shape follows from plain geometry. These identities of the rest shapes verify the
//! mesh and the solver; they say nothing about real fabric.

use slantwise::fabric::Fabric;
use slantwise::measure::{EdgeShape, edges};
use slantwise::state::{Laid, Settings, lay};
use slantwise::stitches::Piece;
use std::ops::ControlFlow;

use crate::common::{Maker, Op, bias, even_sizes, rectangle};

fn laid(fabric: &Fabric) -> Laid {
    lay(fabric, &Settings::default(), &mut |_| ControlFlow::Continue(())).expect("it settles")
}

/// Solves a piece of even stitches and measures its edges.
fn solved(piece: &Piece, width: f64, height: f64) -> (Fabric, Laid, [EdgeShape; 2]) {
    let fabric = Fabric::new(piece, &even_sizes(piece, width, height));
    let laid = laid(&fabric);
    let edges = edges(piece, &fabric, &laid.shape).expect("it has edges");
    (fabric, laid, edges)
}

fn largest_strain(laid: &Laid) -> f64 {
    laid.shape.strains.iter().flatten().map(|s| s.abs()).fold(0.0, f64::max)
}

/// Edge angle of bias work, atan(a w / h) with `a` stitches per row (plane geometry): garter 45.00,
/// stockinette 33.69, double crochet at h/w 1.91 27.63 degrees, within 0.5 at any width.
#[test]
fn bias_edges_have_the_angle_of_plain_geometry() {
    for (name, ratio, every, expected) in [
        ("garter", 0.5, 2, 45.0),
        ("stockinette", 0.75, 2, 33.690),
        ("double crochet", 1.91, 1, 27.635),
    ] {
        for stitches in [8, 23, 60, 300] {
            let piece = bias(stitches, 40, every);
            let (_, laid, edges) = solved(&piece, 0.005, 0.005 * ratio);
            for edge in &edges {
                let angle = edge.slant.to_degrees().abs();
                println!("{name}, {stitches} stitches: {angle:.3} degrees, expected {expected:.3}");
                assert!((angle - expected).abs() < 0.5);
            }
            assert!(largest_strain(&laid) < 1e-9, "{}", largest_strain(&laid));
        }
    }
}

/// A plain rectangle and a plain parallelogram are stress-free, and measure n w by rows h.
#[test]
fn plain_pieces_are_stress_free() {
    for piece in [rectangle(40, 30), bias(40, 30, 1)] {
        let (fabric, laid, _) = solved(&piece, 0.005, 0.006);
        assert!(largest_strain(&laid) < 1e-9, "{}", largest_strain(&laid));
        assert!(laid.outcome.minimum);
        let measured =
            slantwise::measure::measure(&piece, &fabric, &laid.shape, Vec::new()).unwrap();
        assert!((measured.along_rows.mean.to_mm() - 200.0).abs() < 1e-6);
        assert!((measured.square_to_rows.to_mm() - 180.0).abs() < 1e-6);
        assert!((measured.area_mm2 - 200.0 * 180.0).abs() < 1e-3);
    }
}

/// Tall rows that shape alternate with short rows that do not: the edge climbs w per h1 + h2, and its
/// steps have the height w h2 / sqrt(w^2 + (h1 + h2)^2) (plane geometry).
#[test]
fn rows_of_different_height_step_the_edge() {
    let (w, tall, short) = (0.0075, 0.015, 0.007);
    let piece = bias(30, 40, 2);
    let mut sizes = even_sizes(&piece, w, tall);
    for (stitch, size) in piece.stitches.iter().zip(&mut sizes.stitches) {
        // Row 1 and every second row after it shape.
        if stitch.row.0 % 2 == 0 {
            size.height = short;
        }
    }
    let fabric = Fabric::new(&piece, &sizes);
    let laid = laid(&fabric);
    for edge in edges(&piece, &fabric, &laid.shape).unwrap() {
        let slope = edge.slant.to_radians().tan().abs();
        let expected = w / (tall + short);
        let zigzag = edge.zigzag.expect("the edge steps");
        let height = w * short / w.hypot(tall + short) * 1000.0;
        println!("slope {slope:.5}, expected {expected:.5}");
        println!("step {:.4} mm, expected {height:.4} mm", zigzag.height.to_mm());
        assert!((slope / expected - 1.0).abs() < 0.005);
        assert!((zigzag.height.to_mm() / height - 1.0).abs() < 0.02);
        assert_eq!(zigzag.rows, 2);
        assert!((zigzag.period.to_mm() / (w.hypot(tall + short) * 1000.0) - 1.0).abs() < 0.005);
    }
}

/// A lost row puts the shaping of the following rows on the other side, and the slant turns over.
#[test]
fn a_lost_row_turns_the_slant_over() {
    let rows = |lost: bool| {
        let mut maker = Maker::cast_on(30);
        let mut written: Vec<&[Op]> = Vec::new();
        for _ in 0..20 {
            written.push(&[Op::Two, Op::EachToLast(2), Op::Together]);
            written.push(&[Op::EachToLast(0)]);
        }
        if lost {
            written.remove(1);
        }
        for ops in written {
            maker.row(ops);
        }
        solved(&maker.piece, 0.005, 0.005).2
    };
    let (whole, lost) = (rows(false), rows(true));
    let slant = |e: &[EdgeShape; 2]| e[0].slant.to_degrees();
    println!("whole {:.2}, a row lost {:.2}", slant(&whole), slant(&lost));
    assert!(slant(&whole) > 20.0);
    assert!(slant(&lost) < -20.0);
}

/// Stitches along the slanted edge of a knit mesh of (yarn-over, k2tog) on right-side rows with plain
/// rows between: shift per mesh row in stitches, positive to the right.
fn mesh_lean(stitches: u32, selvage: u32, mirrored: bool, every_row: bool) -> f64 {
    let mut maker = Maker::cast_on(stitches);
    let pairs = (stitches - 2 * selvage) / 2;
    let mut ops = vec![Op::Each(selvage)];
    for _ in 0..pairs {
        ops.extend(if mirrored { [Op::Together, Op::Over] } else { [Op::Over, Op::Together] });
    }
    ops.push(Op::Each(selvage));
    let pairs_of_rows = 20;
    for _ in 0..pairs_of_rows {
        maker.row(&ops);
        maker.row(if every_row { &ops } else { &[Op::EachToLast(0)] });
    }
    let mut sizes = even_sizes(&maker.piece, 0.005, 0.005);
    for m in &mut sizes.membranes {
        m.g = m.e1 / 20.0;
    }
    let fabric = Fabric::new(&maker.piece, &sizes);
    let laid = laid(&fabric);
    let at = |n: u32| laid.shape.positions[n as usize];
    let ends = |r: usize| fabric.row_ends[r].unwrap().map(at);
    let (from, to) = (6, 2 * pairs_of_rows as usize - 6);
    let mesh_rows = if every_row { to - from } else { (to - from) / 2 };
    // The piece is free to turn: measure along its own rows.
    let ([l0, r0], [l1, r1]) = (ends(from), ends(to));
    let along = [r0[0] + r1[0] - l0[0] - l1[0], r0[1] + r1[1] - l0[1] - l1[1]];
    let shift = [(l1[0] + r1[0] - l0[0] - r0[0]) / 2.0, (l1[1] + r1[1] - l0[1] - r0[1]) / 2.0];
    let shift = (shift[0] * along[0] + shift[1] * along[1]) / along[0].hypot(along[1]);
    shift / (0.005 * mesh_rows as f64)
}

/// An unbalanced mesh leans toward the side of its yarn-overs (common practice, no source), by half a
/// stitch per mesh row (plane geometry) less what the selvages hold back; the mirrored pair leans the
/// other way; worked on every turned row, the leans cancel.
#[test]
fn an_unbalanced_mesh_leans_toward_its_yarn_overs() {
    // Right-side rows run right to left, so a yarn-over before its decrease lies on the right of it.
    let narrow = mesh_lean(22, 1, false, false);
    let wide = mesh_lean(42, 1, false, false);
    let held = mesh_lean(42, 5, false, false);
    let mirrored = mesh_lean(42, 1, true, false);
    let every = mesh_lean(42, 1, false, true);
    println!(
        "half a stitch expected; 22 stitches {narrow:.3}, 42 {wide:.9}, selvages of 5 {held:.3}"
    );
    println!("mirrored {mirrored:.9}, every turned row {every:.4}");
    assert!(narrow > 0.35 && narrow < 0.5);
    assert!(wide > narrow && wide < 0.5);
    assert!(held < wide && held > 0.25);
    assert!((mirrored + wide).abs() < 1e-6);
    assert!(every.abs() < 0.02);
}

/// Without selvages the lean is half a stitch (plane geometry). What the two selvages hold back falls
/// off with the width as 1/n, so the widths 82 and 162 extrapolate to the mesh without end: within 2 %.
#[test]
fn a_mesh_without_end_leans_by_half_a_stitch() {
    let (n, m) = (mesh_lean(82, 1, false, false), mesh_lean(162, 1, false, false));
    let endless = (162.0 * m - 82.0 * n) / 80.0;
    println!("82 stitches {n:.4}, 162 stitches {m:.4}, without end {endless:.4}, expected 0.5");
    assert!((endless / 0.5 - 1.0).abs() < 0.02);
}

/// A face-and-back balanced fabric does not spiral (by symmetry): within 0.1 degrees.
#[test]
fn a_balanced_fabric_stands_straight() {
    let (_, _, edges) = solved(&rectangle(50, 60), 0.005, 0.0037);
    assert!(edges.iter().all(|e| e.slant.to_degrees().abs() < 0.1));
}
