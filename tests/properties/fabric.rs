//! The mesh tiles the piece exactly once, whatever the shaping.

use proptest::prelude::*;
use slantwise::fabric::Fabric;
use slantwise::measure::rest_area_mm2;
use slantwise::stitches::Piece;
use std::collections::BTreeMap;

use crate::common::{Maker, Op, even_sizes};

/// Corner lists of all cells, counter-clockwise.
fn cells(fabric: &Fabric) -> Vec<Vec<u32>> {
    let body = &fabric.body;
    let quads = body.quads.iter().map(|q| q.nodes.to_vec());
    let wedges = body.wedges.iter().map(|w| w.nodes.to_vec());
    quads.chain(wedges).chain(body.polygons.iter().map(|p| p.nodes.clone())).collect()
}

/// How often each edge is used by a cell.
fn edges(fabric: &Fabric) -> BTreeMap<(u32, u32), u32> {
    let mut uses = BTreeMap::new();
    for cell in cells(fabric) {
        for k in 0..cell.len() {
            let (a, b) = (cell[k], cell[(k + 1) % cell.len()]);
            *uses.entry((a.min(b), a.max(b))).or_insert(0) += 1;
        }
    }
    uses
}

/// Euler's number of the mesh.
fn euler(fabric: &Fabric) -> i64 {
    fabric.start.len() as i64 - edges(fabric).len() as i64 + fabric.cells() as i64
}

fn signed_area(points: &[[f64; 2]]) -> f64 {
    let n = points.len();
    (0..n)
        .map(|i| {
            let (p, q) = (points[i], points[(i + 1) % n]);
            (p[0] * q[1] - p[1] * q[0]) / 2.0
        })
        .sum()
}

/// A piece of random rows: plain, shaped at the edges or inside, with yarn-overs or chain mesh.
fn piece() -> impl Strategy<Value = Piece> {
    (12u32..40, proptest::collection::vec(0u8..7, 1..14)).prop_map(|(n, rows)| {
        let mut maker = Maker::cast_on(n);
        let mut count = n;
        for row in rows {
            let (ops, change): (Vec<Op>, i32) = match row {
                1 => (vec![Op::Two, Op::EachToLast(0)], 1),
                2 => (vec![Op::EachToLast(2), Op::Together], -1),
                3 => (vec![Op::Together, Op::EachToLast(1), Op::Two], 0),
                4 => (vec![Op::Each(2), Op::Over, Op::Together, Op::EachToLast(0)], 0),
                5 => (vec![Op::Each(1), Op::Mesh(3), Op::EachToLast(0)], 0),
                6 => (vec![Op::Each(3), Op::Two, Op::EachToLast(3), Op::Two, Op::Each(2)], 2),
                _ => (vec![Op::EachToLast(0)], 0),
            };
            maker.row(&ops);
            count = (count as i32 + change) as u32;
            assert_eq!(maker.piece.rows.last().unwrap().made, count);
        }
        maker.piece
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, ..ProptestConfig::default() })]

    #[test]
    fn cells_tile_the_piece(piece in piece()) {
        let fabric = Fabric::new(&piece, &even_sizes(&piece, 0.005, 0.006));
        prop_assert!(fabric.unplaced.is_empty(), "unplaced: {:?}", fabric.unplaced);
        // No edge in more than two cells; the boundary is one closed loop.
        let uses = edges(&fabric);
        prop_assert!(uses.values().all(|&n| n <= 2));
        let boundary = uses.values().filter(|&&n| n == 1).count();
        prop_assert_eq!(fabric.outlines.len(), 1);
        prop_assert_eq!(fabric.outlines[0].len(), boundary);
        prop_assert_eq!(euler(&fabric), 1);
    }

    #[test]
    fn cells_start_with_positive_area_and_add_up_to_the_outline(piece in piece()) {
        let fabric = Fabric::new(&piece, &even_sizes(&piece, 0.005, 0.006));
        let at = |nodes: &[u32]| nodes.iter().map(|&n| fabric.start[n as usize]).collect::<Vec<_>>();
        let areas: Vec<f64> = cells(&fabric).iter().map(|c| signed_area(&at(c))).collect();
        prop_assert!(areas.iter().all(|&a| a > 0.0), "{areas:?}");
        let whole = signed_area(&at(&fabric.outlines[0]));
        prop_assert!((areas.iter().sum::<f64>() - whole).abs() < 1e-12);
    }

    #[test]
    fn rest_areas_add_up_to_the_stitches(n in 4u32..60, rows in 1u32..30) {
        // For a piece whose rows all keep their count: sum of stitches of width times height.
        let piece = crate::common::bias(n, rows, 2);
        let fabric = Fabric::new(&piece, &even_sizes(&piece, 0.005, 0.006));
        let stitches = f64::from(n * rows) * 5.0 * 6.0;
        prop_assert!((rest_area_mm2(&fabric) - stitches).abs() < 1e-9 * stitches);
    }
}

/// Lays a bias pattern at a gauge of `stitches` over `cm` and returns its sizes in mm and its slant.
fn laid_at(stitches: f64, cm: f64) -> [f64; 4] {
    let page = format!(
        "+++\ncraft = \"crochet\"\ngauge = {{ stitches = {stitches}, rows = 12, over = \"{cm} cm\", in = \"dc\" }}\n+++\n\
         Ch 22.\nRow 1 (RS): Dc in 4th ch from hook (counts as 2 dc) and in each ch across. (20 dc)\n\
         Row 2: Ch 1, sc2tog, sc in each st to last st, 2 sc in last st. (20 sc)\n\
         Row 3: Ch 3 (counts as dc), dc in same st, dc in each st to last 2 sts, dc2tog. (20 dc)\n\
         Rows 4-21: Rep Rows 2 and 3.\n"
    );
    let source = slantwise::source::Source::new("page", page);
    let go = &mut |_| std::ops::ControlFlow::Continue(());
    let laid =
        slantwise::predict::lay(&source, &slantwise::predict::Options::default(), go).unwrap();
    let m = laid.measured;
    let [left, _] = &m.edges;
    [
        m.along_rows.mean.to_mm(),
        left.chord.to_mm(),
        left.minimum_zone.to_mm(),
        left.slant.to_degrees(),
    ]
}

/// Gauge scaled by k scales every length by k, and no angle: the model has no length of its own.
#[test]
fn gauge_scales_every_length_and_no_angle() {
    let one = laid_at(16.0, 10.0);
    for k in [0.4, 1.7, 3.0] {
        let scaled = laid_at(16.0, 10.0 * k);
        for i in 0..3 {
            assert!((scaled[i] / (k * one[i]) - 1.0).abs() < 1e-6, "{i}: {scaled:?} for {one:?}");
        }
        assert!((scaled[3] - one[3]).abs() < 1e-6);
    }
}

/// Double moss alternates from the second row on with itself: its stitches are of one size, so a gauge taken in
/// it comes out again.
#[test]
fn double_moss_lies_as_wide_as_its_own_gauge() {
    let page = "Double moss\nGauge 14 sts x 20 rows = 10cm in pattern\n\nCO 28 stitches.\nR1: (k1, p1) to end\n\
        R2: (k1, p1) to end\nR3: (p1, k1) to end\nR4: (p1, k1) to end\nRepeat R1-4 10 times more.\n";
    let source = slantwise::source::Source::new("moss", page);
    let go = &mut |_| std::ops::ControlFlow::Continue(());
    let laid = slantwise::predict::lay(&source, &slantwise::predict::Options::default(), go);
    let wide = laid.unwrap().measured.rows[20].width.to_mm();
    // The first rows, on a cast-on, still count as rib, and the cast-on is a little tight.
    assert!((wide - 200.0).abs() < 8.0, "{wide} mm");
}
