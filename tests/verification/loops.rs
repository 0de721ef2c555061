//! Loops of chain longer than their room: arches that leave the row as wide as the one below; mesh, whose chain
//! is its width, as before.

use std::ops::ControlFlow;

use slantwise::fabric::{Fabric, Sizes};
use slantwise::mechanics::{Membrane, Settings};
use slantwise::pattern::parse;
use slantwise::source::Source;
use slantwise::state::lay;
use slantwise::stitches::{Piece, StitchId, StitchKind, work};

use crate::common::even_sizes;

const WIDE: f64 = 0.005;
const TALL: f64 = 0.005;

fn worked(page: &str) -> (Piece, Sizes) {
    let (pattern, _) = parse(&Source::new("page", page));
    let (piece, _) = work(&pattern);
    let sizes = even_sizes(&piece, WIDE, TALL);
    (piece, sizes)
}

fn chain(piece: &Piece, stitch: Option<StitchId>) -> bool {
    stitch.is_some_and(|s| piece.stitch(s).kind == StitchKind::Chain)
}

/// A body of 41 single crochets and rows of loops over it.
fn edged(loops: &str) -> String {
    format!(
        "A strip\nUS terms\n\nCh 42.\nRow 1: Sc in 2nd ch from hook and in each ch across. (41 sc)\nRows 2-10: Ch 1, \
         turn, sc in each st across. (41 sc)\n{loops}"
    )
}

/// Loops of three and of five links over one and four stitches lie no wider than what they stand on, settle in
/// steps as few as plain rows, and stand off the edge: their middles by the rise `f` of an arch of
/// four widths over one (9.5 mm of 20 mm) or of six over four (10.3 mm).
#[test]
fn loops_longer_than_their_room_arch() {
    for (loops, rise) in [
        ("Row 11: Ch 1, turn, sc in first st, *ch 3, sc in next st; rep from * across.\n", 0.0095),
        (
            "Row 11: Ch 1, turn, sc in first st, *ch 5, skip next 3 sts, sc in next st; rep from * across. (11 sc)\n",
            0.0103,
        ),
    ] {
        let (piece, sizes) = worked(&edged(loops));
        let fabric = Fabric::new(&piece, &sizes);
        let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()));
        let laid = laid.unwrap_or_else(|fault| panic!("{fault}"));
        let at = |n: u32| laid.shape.positions[n as usize];
        let width = |row: usize| {
            let [left, right] = fabric.row_ends[row].expect("rows have ends").map(at);
            (right[0] - left[0]).hypot(right[1] - left[1])
        };
        let [body, edge] = [width(10), width(11)];
        // Heights over the row's own single crochets, in the middle third: ends turn.
        let path = &fabric.row_paths[11];
        let middle = &path[path.len() / 3..2 * path.len() / 3];
        let mean = |chains: bool| {
            let of =
                middle.iter().filter(|n| chain(&piece, fabric.node_stitch[**n as usize]) == chains);
            let (sum, n) = of.fold((0.0, 0.0), |(s, n), k| (s + at(*k)[1], n + 1.0));
            sum / n
        };
        let off = mean(true) - mean(false);
        println!(
            "body {:.1} mm, loops {:.1} mm (reference {:.1}), standing off by {:.2} mm, {} steps",
            1e3 * body,
            1e3 * edge,
            41e3 * WIDE,
            1e3 * off,
            laid.outcome.iterations
        );
        assert!((edge / body - 1.0).abs() < 0.02 && (body / (41.0 * WIDE) - 1.0).abs() < 0.02);
        assert!(laid.outcome.minimum && (off / rise - 1.0).abs() < 0.02);
    }
}

/// Between tall stitches, and where it has as many links as it skips, a chain is as wide as its links: cells
/// keep the plain and open laws, and the piece is free of stress.
#[test]
fn chains_as_long_as_their_room_lie_straight() {
    for row in [
        "Row 11: Ch 3 (counts as dc), turn, *skip next st, ch 1, dc in next st; rep from * across.\n",
        "Row 11: Ch 1, turn, sc in first st, *ch 1, skip next st, sc in next st; rep from * across.\n",
        "Row 11: Ch 1, turn, sc in first 2 sts, *ch 2, skip next 2 sts, sc in next st; rep from * across.\n",
    ] {
        let (piece, sizes) = worked(&edged(row));
        let fabric = Fabric::new(&piece, &sizes);
        let last = fabric.row_paths.last().expect("it has rows");
        assert!(last.iter().any(|n| chain(&piece, fabric.node_stitch[*n as usize])));
        let known: Vec<Membrane> =
            sizes.membranes.iter().flat_map(|m| [*m, m.scaled(sizes.open_share)]).collect();
        assert_eq!(fabric.body.membranes, known);
        let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()));
        let laid = laid.unwrap_or_else(|fault| panic!("{fault}"));
        let worst = laid.shape.strains.iter().flatten().fold(0.0_f64, |m, s| m.max(s.abs()));
        println!("largest strain {worst:.1e} (reference 0)");
        assert!(worst < 1e-6);
    }
}
