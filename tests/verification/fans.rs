//! Groups of stitches in one place, beside stitches alone in theirs.

use std::ops::ControlFlow;

use slantwise::fabric::Fabric;
use slantwise::mechanics::Settings;
use slantwise::pattern::parse;
use slantwise::source::Source;
use slantwise::state::lay;
use slantwise::stitches::work;

use crate::common::even_sizes;

const WIDE: f64 = 0.006;
const TALL: f64 = 0.012;

/// Shells of five over five, a stitch alone between them: of stitches all one size they make straight rows as wide
/// as their stitches, the outer posts of a shell slanting by two widths, the stitch between two shells upright,
/// and nothing is strained.
#[test]
fn shells_make_rows_as_wide_as_their_stitches() {
    let page = "Shells\nUS terms\n\nCh 38.\nRow 1: Sc in 2nd ch from hook, *skip next 2 ch, 5 dc in next ch, \
        skip next 2 ch, sc in next ch; rep from * across. (37 sts)\nRow 2: Ch 3 (counts as dc), turn, 2 dc in \
        same st, *skip next 2 dc, sc in next dc, skip next 2 dc, 5 dc in next sc; rep from * to last 6 sts, \
        skip next 2 dc, sc in next dc, skip next 2 dc, 3 dc in last sc.\nRow 3: Ch 1, turn, sc in first dc, \
        *skip next 2 dc, 5 dc in next sc, skip next 2 dc, sc in next dc; rep from * across.\nRows 4-9: Rep \
        Rows 2 and 3.\n";
    let (pattern, _) = parse(&Source::new("shells", page));
    let (piece, faults) = work(&pattern);
    let fabric = Fabric::new(&piece, &even_sizes(&piece, WIDE, TALL));
    let laid = lay(&fabric, &Settings::default(), &mut |_| ControlFlow::Continue(()));
    let laid = laid.unwrap_or_else(|fault| panic!("{fault} {faults:?}"));
    let at = |n: u32| laid.shape.positions[n as usize];
    let width = |row: usize| {
        let [left, right] = fabric.row_ends[row].expect("rows have ends").map(at);
        (right[0] - left[0]).hypot(right[1] - left[1])
    };
    for row in 1..fabric.row_ends.len() {
        let share = width(row) / (37.0 * WIDE);
        println!("row {row}: {share:.4} of its stitches' widths (reference 1)");
        assert!((share - 1.0).abs() < 1e-6);
    }
    let worst = laid.shape.strains.iter().flatten().fold(0.0_f64, |m, s| m.max(s.abs()));
    println!("largest strain {worst:.1e} (reference 0), energy {:.1e} J (0)", laid.outcome.energy);
    assert!(laid.outcome.minimum && worst < 1e-6);
}
