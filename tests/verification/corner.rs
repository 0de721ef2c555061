//! Work from corner to corner: blocks lie as a rectangle, whatever its size.

use std::fmt::Write;
use std::ops::ControlFlow;

use slantwise::material::PresetOverride;
use slantwise::mechanics::signed_area;
use slantwise::predict::{self, Options, Run};
use slantwise::source::Source;

/// A piece `wide` blocks wide and `tall` blocks tall, in words.
fn pattern(wide: u32, tall: u32) -> String {
    let mut text = String::from("Gauge: 14 dc and 8 rows = 4\"\n");
    for row in 1..wide + tall {
        // The work turns: odd rows end at the left, where the piece has grown to its height first.
        let (begin, end) = if row % 2 == 1 { (wide, tall) } else { (tall, wide) };
        let (grows, stays) = (row <= begin, row <= end);
        write!(text, "Row {row}: ").unwrap();
        let mut on = row.min(wide).min(tall).min(wide + tall - row);
        if grows {
            text += if row > 1 { "Ch 6, turn, " } else { "Ch 6, " };
            text += "dc in 4th ch from hook and in next 2 chs";
            on -= 1;
        } else {
            text += "Turn, sl st in each of next 3 dc, sl st in ch-3 sp, ch 3, 3 dc in same sp";
            on -= 1;
        }
        for _ in 0..on {
            text += ", sl st in next ch-3 sp, ch 3, 3 dc in same sp";
        }
        if !stays {
            text += ", sl st in last ch-3 sp";
        }
        text += ".\n";
    }
    text + "Fasten off.\n"
}

fn laid(wide: u32, tall: u32, overrides: &[PresetOverride]) -> Run {
    let options = Options { overrides: overrides.to_vec(), ..Options::default() };
    let source = Source::new("corner", pattern(wide, tall));
    predict::run(&source, &options, &mut |_| ControlFlow::Continue(()))
        .unwrap_or_else(|r| panic!("{wide} x {tall}: {}\n{}", r.failure, pattern(wide, tall)))
}

/// Lengths of the two diagonals and of the four sides, m.
fn corners(run: &Run, tall: u32) -> ([f64; 2], [f64; 4]) {
    let ends = |k: usize| run.fabric.row_ends[k].expect("lines of blocks have ends");
    let at = |n: u32| run.laid.shape.positions[n as usize];
    let [[a, b], [d, c]] = [ends(0), ends(tall as usize)];
    let length = |p: u32, q: u32| (at(q)[0] - at(p)[0]).hypot(at(q)[1] - at(p)[1]);
    ([length(a, c), length(b, d)], [length(a, b), length(b, c), length(c, d), length(d, a)])
}

const SIZES: [(u32, u32); 6] = [(2, 2), (3, 3), (6, 6), (11, 11), (3, 7), (8, 5)];

#[test]
fn squares_of_blocks_have_equal_diagonals() {
    for (wide, tall) in SIZES {
        let run = laid(wide, tall, &[]);
        let ([one, other], sides) = corners(&run, tall);
        println!("{wide} x {tall}: diagonals {one:.4} and {other:.4} m, sides {sides:.4?}");
        assert!(run.fabric.unplaced.is_empty(), "{wide} x {tall}: a stitch has no place");
        assert!((one / other - 1.0).abs() < 0.005, "{wide} x {tall}: {one} against {other}");
        let x = &run.laid.shape.positions;
        let outline: Vec<_> = run.fabric.outlines[0].iter().map(|n| x[*n as usize]).collect();
        let square = signed_area(&outline) / (sides[0] * sides[1]);
        assert!((square - 1.0).abs() < 0.03, "{wide} x {tall}: area over sides {square}");
    }
}

#[test]
fn blocks_without_tight_edges_are_free_of_stress() {
    let loose = ["edge", "foundation_chain"]
        .map(|edge| PresetOverride { key: format!("strand.{edge}"), value: 0.0 });
    let side = (4.0 * 0.1016 / 14.0 * 0.1016 / 8.0_f64).sqrt();
    for (wide, tall) in SIZES {
        let run = laid(wide, tall, &loose);
        let ([one, other], sides) = corners(&run, tall);
        let want = [wide, tall, wide, tall].map(|n| f64::from(n) * side);
        println!("{wide} x {tall}: sides {sides:.6?} against {want:.6?} m");
        assert!((one / other - 1.0).abs() < 1e-6, "{wide} x {tall}: {one} against {other}");
        for (side, want) in sides.iter().zip(want) {
            assert!((side / want - 1.0).abs() < 1e-6, "{wide} x {tall}: side {side}, {want}");
        }
    }
}
