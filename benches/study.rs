//! What comes after the solve: many makers of one piece, and the page. `cargo bench --bench study`;
//! `-- figure` for the figures only.
//!
//! Must: a small change in at most 2 factorisations and solves of the laid piece's own matrix, to within
//! a fiftieth of what it moves, with the factor at hand; 200 makers of a piece of 10 000 stitches in at most the time of 25 solves from scratch; the page
//! of a piece of 25 000 stitches in at most 3 s after the solve, at most 5 MB.

#![expect(clippy::print_stdout, reason = "a bench's figures")]

mod clock;

use clock::timed;
use criterion::Criterion;
use slantwise::fabric::{Fabric, Sizes};
use slantwise::material::Hand;
use slantwise::mechanics::Solver;
use slantwise::predict::{self, Makers, Options, Run};
use slantwise::report;
use slantwise::source::Source;
use slantwise::state::{Nearby, Settings, lay};
use slantwise::study;
use slantwise::units::Length;
use std::hint::black_box;
use std::ops::ControlFlow;

/// A bias piece of two stitches.
fn piece(stitches: u32, rows: u32) -> Run {
    let page = format!(
        "gauge: 20 sts and 22 rows over 10 cm in sc\nUS terms\nCh {}.\n\
         Row 1: Sc in 2nd ch from hook and in each ch across, turn. ({stitches} sc)\n\
         Row 2: Ch 3, dc2tog, dc in each st to last st, 2 dc in last st, turn. ({stitches} dc)\n\
         Row 3: Ch 1, sc in each st across, turn. ({stitches} sc)\n\
         Rep Rows 2-3 until {rows} rows are done.\n",
        stitches + 1
    );
    let options = Options { sure: true, ..Options::default() };
    let go = &mut |_| ControlFlow::Continue(());
    match predict::run(&Source::new("bench", page), &options, go) {
        Ok(run) => run,
        Err(refused) => panic!("{}", refused.failure),
    }
}

/// One row in fifty worked a fiftieth wider.
fn again(run: &Run) {
    let hand = Hand::new(run.hand, 0, run.piece.rows.len() as u32).expect("the even hand");
    let mut sizes = Sizes::new(&run.piece, &run.material, &hand);
    let rows = run.piece.stitches.iter().map(|s| s.row.0);
    for (size, _) in sizes.stitches.iter_mut().zip(rows).filter(|(_, row)| row % 50 == 25) {
        size.width *= 1.02;
    }
    let fabrics = [(Fabric::new(&run.piece, &sizes), 1.0)];
    let mut nearby = Nearby::new(&run.fabric, &run.laid.shape).expect("a stable piece");
    let (settled, spent) = timed(|| nearby.settle(&fabrics, 0.02).expect("it settles"));
    let mut solver = Solver::<2>::new(&run.fabric.body).expect("a sound body");
    solver.assemble(&run.laid.shape.positions);
    let unit = (0..5)
        .map(|_| timed(|| black_box(solver.factorise_and_solve())).1)
        .fold(f64::INFINITY, f64::min);
    println!(
        "{} stitches: a small change in {} steps, {:.2} U (must 2; U {unit:.4} s)",
        run.prediction.stitches,
        settled[0].steps,
        spent / unit
    );
}

fn makers(run: &Run, number: u32) -> f64 {
    let usual = Makers::usual(run, number, 1, false);
    let spread = study::spread(run, &usual, Length::mm(10.0), &|| ());
    spread.expect("every maker's piece lies flat").samples.len() as f64
}

fn figure() {
    let run = piece(100, 100);
    let go = &mut |_| ControlFlow::Continue(());
    // Of what repeats itself the least time is the one least disturbed.
    let (mut single, mut all, mut number) = (f64::INFINITY, f64::INFINITY, 0.0);
    for _ in 0..3 {
        let once = timed(|| lay(&run.fabric, &Settings::default(), go).expect("it settles")).1;
        let (laid, spent) = timed(|| makers(&run, 200));
        (single, all, number) = (single.min(once), all.min(spent), laid);
    }
    println!(
        "{} stitches: {number} makers in {all:.2} CPU s = {:.1} solves (must 25) of {single:.3} s",
        run.prediction.stitches,
        all / single
    );
    again(&run);
    let run = piece(250, 100);
    let (page, spent) = timed(|| report::html(&run.prediction));
    println!(
        "{} stitches: page of {:.2} MB (must 5) in {spent:.2} CPU s (must 3)",
        run.prediction.stitches,
        page.len() as f64 / 1e6
    );
}

fn main() {
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().expect("first pool");
    figure();
    if std::env::args().any(|a| a == "figure") {
        return;
    }
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let small = piece(50, 50);
    criterion.bench_function("20 makers of 2500 stitches", |b| b.iter(|| makers(&small, 20)));
    criterion.bench_function("page of 2500 stitches", |b| {
        b.iter(|| black_box(report::html(&small.prediction)).len());
    });
    criterion.final_summary();
}
