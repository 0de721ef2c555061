//! How long a large sheet takes to lie flat, in units of one factorisation and solve of its own
//! final matrix, with memory and growth. `cargo bench --bench relax`; `-- figure` for the figures only.
//!
//! Must and aim at 100 000 stitches: 17 and 8 units, 4 KiB a stitch; growth exponent from 10 000 to
//! 100 000 stitches 1.40 and 1.25.

#![expect(clippy::print_stdout, reason = "a bench's figures")]

mod clock;

use clock::timed;
use criterion::{BenchmarkId, Criterion};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, StandardNormal};
use slantwise::mechanics::{Body, Membrane, Outcome, Quad, Settings, Solver, Strand, Wedge};
use std::hint::black_box;
use std::ops::ControlFlow;

/// Stitch size, m.
const SIZE: [f64; 2] = [0.005, 0.006];
/// Stitches and rows of the tight border, and its gauge against the body's.
const BORDER: usize = 6;
const TIGHT: f64 = 0.9;
/// Spread of stitch sizes.
const NOISE: f64 = 0.05;

/// A sheet of `wide * rows` stitches. Every fourth row of the middle holds one increase and one
/// decrease at random places, so that the count stays.
fn sheet(wide: usize, rows: usize, seed: u64) -> (Body, Vec<[f64; 2]>) {
    let mut dice = rand_pcg::Pcg64::seed_from_u64(seed);
    let law = Membrane {
        e1: 300.0,
        e2: 250.0,
        nu12: 0.3,
        g: 15.0,
        squeeze: 0.3,
        locking: Membrane::FREE,
    };
    let node = |r: usize, i: usize| (r * (wide + 1) + i) as u32;
    let mut body = Body { nodes: (rows + 1) * (wide + 1), membranes: vec![law], ..Body::default() };
    let start = (0..=rows)
        .flat_map(|r| (0..=wide).map(move |i| [SIZE[0] * i as f64, SIZE[1] * r as f64]))
        .collect();
    for r in 0..rows {
        let tight = |i: usize| {
            let inside = r.min(rows - 1 - r).min(i).min((wide - 1).saturating_sub(i)) >= BORDER;
            if inside { 1.0 } else { TIGHT }
        };
        let mut size = |i: usize, d: usize| {
            let noise: f64 = StandardNormal.sample(&mut dice);
            SIZE[d] * tight(i) * (1.0 + NOISE * noise.clamp(-3.0, 3.0))
        };
        let w: Vec<f64> = (0..wide).map(|i| size(i, 0)).collect();
        let h: Vec<f64> = (0..=wide).map(|i| size(i, 1)).collect();
        let shaped = r % 4 == 2 && r > BORDER && r + BORDER < rows;
        let mut place = || dice.random_range(BORDER..wide - BORDER);
        let at = if shaped { Some((place(), place())) } else { None };
        work_row(&mut body, &w, &h, at, |row, i| node(r + row, i));
        for i in [0, wide] {
            let nodes = [node(r, i), node(r + 1, i)];
            body.strands.push(Strand { nodes, rest: h[i], stiffness: 1.0 });
        }
    }
    (body, start)
}

/// Cells between two rows: widths `w` and heights `h` of the stitches, places of an increase and a
/// decrease, and the node of row 0 (below) or 1 (above) at a place.
fn work_row(
    body: &mut Body,
    w: &[f64],
    h: &[f64],
    shaping: Option<(usize, usize)>,
    node: impl Fn(usize, usize) -> u32,
) {
    let wide = w.len();
    let (up, down) = shaping.unwrap_or((wide, wide));
    let (mut p, mut q, mut gained, mut lost) = (0, 0, shaping.is_none(), shaping.is_none());
    while p < wide || q < wide {
        let (strand, height) = (w[p.min(q)], h[p.min(q)]);
        if !gained && q == up {
            let nodes = [node(1, q + 1), node(1, q), node(0, p)];
            body.wedges.push(Wedge { nodes, strand, height, membrane: 0 });
            (q, gained) = (q + 1, true);
        } else if !lost && p == down {
            let nodes = [node(0, p), node(0, p + 1), node(1, q)];
            body.wedges.push(Wedge { nodes, strand, height, membrane: 0 });
            (p, lost) = (p + 1, true);
        } else {
            let nodes = [node(0, p), node(0, p + 1), node(1, q + 1), node(1, q)];
            let rest = [[0.0, 0.0], [strand, 0.0], [strand, h[p.min(q) + 1]], [0.0, height]];
            body.quads.push(Quad { nodes, rest, membrane: 0 });
            (p, q) = (p + 1, q + 1);
        }
    }
}

struct Run {
    outcome: Outcome,
    solve: f64,
    /// After a small change, from where it lay.
    again: f64,
    unit: f64,
    /// Peak memory before that change, KiB.
    peak: f64,
    analyse: f64,
    fill: usize,
}

fn lay(wide: usize, rows: usize) -> Run {
    let (body, start) = sheet(wide, rows, 7);
    let (mut solver, analyse) = timed(|| Solver::<2>::new(&body).expect("a sound body"));
    let mut x = start;
    let (outcome, solve) = timed(|| settle(&mut solver, &mut x));
    solver.assemble(&x);
    let unit = (0..5)
        .map(|_| timed(|| black_box(solver.factorise_and_solve())).1)
        .fold(f64::INFINITY, f64::min);
    let peak = peak();
    let (_, again) = timed(|| {
        solver.set_rest(&changed(&body, wide as u32 + 1)).expect("the same connections");
        settle(&mut solver, &mut x)
    });
    Run { outcome, solve, again, unit, analyse, peak, fill: solver.fill() }
}

fn settle(solver: &mut Solver<2>, x: &mut [[f64; 2]]) -> Outcome {
    let go = &mut |_| ControlFlow::Continue(());
    solver.minimise(x, &Settings::default(), go).expect("the sheet settles")
}

/// The sheet with one row in fifty worked a fiftieth wider.
fn changed(body: &Body, wide: u32) -> Body {
    let mut other = body.clone();
    for quad in &mut other.quads {
        if quad.nodes[0] / wide % 50 == 25 {
            quad.rest.iter_mut().for_each(|p| p[0] *= 1.02);
        }
    }
    other
}

/// Peak memory of this process so far, KiB.
fn peak() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM:")).unwrap_or("VmHWM: 0");
    line.split_whitespace().nth(1).and_then(|n| n.parse().ok()).unwrap_or(0.0)
}

fn figure() {
    let mut past: Option<(f64, f64)> = None;
    for (wide, rows) in [(100, 100), (200, 250), (250, 400), (400, 500)] {
        let base = peak();
        let run = lay(wide, rows);
        let n = (wide * rows) as f64;
        println!(
            "{n:7} stitches: {:.3} CPU s = {:.1} U (U {:.4} s, analysis {:.3} s, factor {} entries), peak {:.2} KiB a stitch (base {base}), {:?}; after a small change {:.1} U",
            run.solve,
            run.solve / run.unit,
            run.unit,
            run.analyse,
            run.fill,
            run.peak / n,
            run.outcome,
            run.again / run.unit
        );
        if let Some((m, t)) = past {
            println!(
                "        growth exponent from 10 000 stitches: {:.3}",
                (run.solve / t).ln() / (n / m).ln()
            );
        }
        past = past.or(Some((n, run.solve)));
    }
}

fn main() {
    rayon::ThreadPoolBuilder::new().num_threads(1).build_global().expect("first pool");
    figure();
    if std::env::args().any(|a| a == "figure") {
        return;
    }
    let mut criterion = Criterion::default().configure_from_args().sample_size(10);
    let mut group = criterion.benchmark_group("relax");
    for (wide, rows) in [(50, 50), (100, 100), (200, 250)] {
        let (body, start) = sheet(wide, rows, 7);
        group.bench_with_input(BenchmarkId::from_parameter(wide * rows), &body, |b, body| {
            let mut solver = Solver::<2>::new(body).expect("a sound body");
            b.iter(|| {
                let mut x = start.clone();
                solver
                    .minimise(&mut x, &Settings::default(), &mut |_| ControlFlow::Continue(()))
                    .is_ok()
            });
        });
    }
    group.finish();
}
