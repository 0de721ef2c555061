//! A piece lies at the gauge its page states over its own pattern: so many stitches, spaces or loops and rows
//! over a length.

use std::ops::ControlFlow;

use slantwise::predict::{Options, lay};
use slantwise::source::Source;

const INCH: f64 = 25.4;

/// Width and height (mm) of a page laid flat beside `wide` and `high`, as shares of them.
fn over(page: &str, [wide, high]: [f64; 2]) -> [f64; 2] {
    let source = Source::new("page", page);
    let done = lay(&source, &Options::default(), &mut |_| ControlFlow::Continue(()));
    let found = done.unwrap_or_else(|refused| panic!("{}", refused.failure));
    let measured = &found.measured;
    let [w, h] = [measured.along_rows.mean, measured.square_to_rows].map(|l| l.to_mm());
    println!("{w:.0} by {h:.0} mm (reference {wide:.0} by {high:.0})");
    [w / wide, h / high]
}

/// Open mesh of 4 stitches and 2 rows an inch: chains have no height that would take up part of the row gauge.
#[test]
fn open_mesh_lies_at_its_row_gauge() {
    let page = "Mesh\nGauge: 16 sts and 8 rows = 4 in in pattern\nCh 64.\n\
        Row 1: Dc in 6th ch from hook, *ch 1, skip next ch, dc in next ch; rep from * across. (31 dc, 30 ch-1 sps)\n\
        Row 2: Ch 4 (counts as dc and ch 1), turn, skip ch-1 sp, *dc in next dc, ch 1, skip ch-1 sp; rep from * \
        across, dc in 3rd ch of turning ch.\nRows 3-40: Rep Row 2.\nFasten off.\n";
    let [w, h] = over(page, [61.0 / 4.0 * INCH, 20.0 * INCH]);
    assert!((w - 1.0).abs() < 0.02 && (h - 1.0).abs() < 0.02);
}

/// Filet of 5 spaces over 4 in, where a space is a double crochet and two chains.
#[test]
fn spaces_lie_at_a_gauge_by_spaces() {
    let page = "Filet\nGauge: 5 ch-2 sps = 4 in, 8 rows = 4 in.\nCh 65.\n\
        Row 1: Dc in 8th ch from hook, *ch 2, skip next 2 ch, dc in next ch; rep from * across.\n\
        Row 2: Ch 5 (counts as dc and ch 2), turn, skip first sp, *dc in next dc, ch 2, skip next sp; rep from * \
        to last sp, dc in 3rd ch of turning ch.\nRows 3-24: Rep Row 2.\nFasten off.\n";
    let [w, h] = over(page, [61.0 / 3.0 / 5.0 * 4.0 * INCH, 12.0 * INCH]);
    assert!((w - 1.0).abs() < 0.03 && (h - 1.0).abs() < 0.03);
}

/// A net of 5 loops over 4 in, every row begun with a loop: it lies straight and, though its ends draw it in, near
/// its gauge. Its rows had stood twice as high, and its ends, shorter than its middle, had rolled it up.
#[test]
fn a_net_lies_near_its_gauge_by_loops() {
    let page = "Net\nTurning chains do not count as sts.\nGauge: 5 ch-5 loops = 4 in, 8 rows = 4 in.\nCh 98.\n\
        Row 1: Sc in 2nd ch from hook, *ch 5, skip next 3 ch, sc in next ch; rep from * across. (24 loops)\n\
        Row 2: Ch 5, turn, sc in first ch-5 loop, *ch 5, sc in next ch-5 loop; rep from * across, ch 2, dc in last \
        sc.\nRow 3: Ch 1, turn, sc in dc, *ch 5, sc in next ch-5 loop; rep from * to end, working last sc in turning \
        loop.\nRep Rows 2 and 3 until piece measures 20 in.\nFasten off.\n";
    let [w, h] = over(page, [24.0 / 5.0 * 4.0 * INCH, 20.0 * INCH]);
    assert!((w - 1.0).abs() < 0.15 && (h - 1.0).abs() < 0.2);
}

/// Blocks of work from corner to corner lie as large as the gauge counts them.
#[test]
fn blocks_lie_as_large_as_their_gauge() {
    for gauge in ["4 blocks = 3 in", "each block = 3/4 in", "4 blocks x 4 rows = 3 in"] {
        let page = format!(
            "Cloth\nUS terms.\nGauge: {gauge}.\n\
            Row 1: Ch 6, dc in 4th ch from hook and in next 2 ch, turn. (1 block)\n\
            Row 2: Ch 6, dc in 4th ch from hook and in next 2 ch, sl st in ch-3 sp, ch 3, 3 dc in same sp, turn.\n\
            Row 3: Ch 6, dc in 4th ch from hook and in next 2 ch, *sl st in next ch-3 sp, ch 3, 3 dc in same sp; \
            rep from * across, turn. (3 blocks)\nRows 4-8: Rep Row 3. (8 blocks)\n\
            Row 9: Sl st in first 3 dc and in next ch-3 sp, ch 3, 3 dc in same sp, *sl st in next ch-3 sp, ch 3, \
            3 dc in same sp; rep from * to last ch-3 sp, sl st in last ch-3 sp, turn. (7 blocks)\n\
            Rows 10-15: Rep Row 9. (1 block)\nFasten off.\n"
        );
        let [w, h] = over(&page, [6.0 * INCH; 2]);
        assert!((w - 1.0).abs() < 0.01 && (h - 1.0).abs() < 0.01, "{gauge}");
    }
}
