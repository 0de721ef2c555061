//! The main job from text to pictures, and a full-size example laid, blocked with five allowances, and hung.
//! `cargo bench --bench whole`; `-- figure` for the figures only. Must: at most 2 s of the first; at most 60 s
//! in all of the second on two cores; independent solves on two cores at least 1.6 times as fast as on one.

#![expect(clippy::print_stdout, reason = "a bench's figures")]

use criterion::Criterion;
use slantwise::predict::{self, Allowance, BlockPlan, HangPlan, HeldOut, Makers, Options};
use slantwise::report;
use slantwise::source::Source;
use slantwise::state::{Hang, Shoulders, SideOf};
use slantwise::study;
use slantwise::units::Length;
use std::hint::black_box;
use std::ops::ControlFlow;
use std::time::Instant;

const WRAP: &str = include_str!("../examples/bias-wrap.txt");
const SCARF: &str = include_str!("../examples/garter-bias-scarf.txt");
const MESH: &str = include_str!("../examples/knit-mesh.txt");

/// Bytes of all pictures, as the command writes them.
fn pictures(options: &Options) -> usize {
    let source = Source::new("bias-wrap.txt", WRAP);
    let go = &mut |_| ControlFlow::Continue(());
    let laid = predict::lay(&source, options, go).expect("the example lies flat");
    let drawn = report::pictures(&laid);
    drawn.iter().map(|p| p.svg.len() + report::png(&p.svg).expect("it is drawn").len()).sum()
}

/// What `work` gives, and the wall seconds it took.
fn timed<T>(work: impl FnOnce() -> T) -> (T, f64) {
    let start = Instant::now();
    let done = work();
    (done, start.elapsed().as_secs_f64())
}

fn blocked(source: &Source) -> usize {
    let allowances = [2.0, 4.0, 6.0, 8.0, 10.0].map(|p| Allowance::PerCent([p, p])).to_vec();
    let held = HeldOut::Pins(Length::mm(80.0));
    let plan = BlockPlan { allowances, held, fibre: None, set: None };
    let go = &mut |_| ControlFlow::Continue(());
    let done = predict::block(source, &Options::default(), &plan, go);
    done.unwrap_or_else(|refused| panic!("{}", refused.failure)).trials.len()
}

fn hung(source: &Source, how: Hang) -> u32 {
    let go = &mut |_| ControlFlow::Continue(());
    let plan = HangPlan { how, water: 0.0 };
    let done = predict::hang(source, &Options::default(), &plan, go);
    done.unwrap_or_else(|refused| panic!("{}", refused.failure)).solution.iterations
}

/// Three ways to hang a piece.
fn ways() -> [(&'static str, Hang); 3] {
    let body = Shoulders { breadth: 0.4, neck: 0.36, slope: 0.38, depth: 0.22 };
    [
        ("by its foundation", Hang::Edge { side: SideOf::Foundation, spacing: 0.05 }),
        ("over a rail", Hang::Rail { radius: 0.015, at: 0.5 }),
        ("over shoulders", Hang::Shoulders { side: SideOf::Left, body }),
    ]
}

fn threads(number: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(number).build().expect("a pool of threads")
}

/// An example laid, blocked with five allowances, and hung each way, on two threads.
fn full_size(name: &str, page: &str) {
    let source = Source::new(name, page);
    threads(2).install(|| {
        let go = &mut |_| ControlFlow::Continue(());
        let (laid, first) = timed(|| predict::lay(&source, &Options::default(), go));
        let stitches = laid.expect("the example lies flat").stitches;
        let (_, second) = timed(|| blocked(&source));
        println!("{name}, {stitches} stitches: laid {first:.2} s, five allowances {second:.2} s");
        for (words, how) in ways() {
            let (steps, third) = timed(|| hung(&source, how));
            let all = first + second + third;
            println!("  hung {words} {third:.2} s in {steps} steps; in all {all:.1} s (must 60)");
        }
    });
}

fn figure() {
    full_size("bias-wrap", WRAP);
    full_size("garter-bias-scarf", SCARF);
    two_cores();
    // Hung mesh takes minutes: what comes before it need not wait.
    full_size("knit-mesh", MESH);
}

/// Independent solves, and one solve, on one thread and on two.
fn two_cores() {
    let source = Source::new("garter-bias-scarf", SCARF);
    let go = &mut |_| ControlFlow::Continue(());
    let options = Options { sure: true, ..Options::default() };
    let Ok(run) = predict::run(&source, &options, go) else { panic!("the example lies flat") };
    let makers = || {
        let usual = Makers::usual(&run, 100, 1, false);
        let spread = study::spread(&run, &usual, Length::mm(10.0), &|| ());
        spread.expect("every maker's piece lies flat").samples.len()
    };
    let faster = |what: &str, work: &(dyn Fn() -> usize + Sync)| {
        // The least of several: other load on the machine only ever adds to wall time.
        let least = |number| {
            (0..3).map(|_| threads(number).install(|| timed(work).1)).fold(f64::INFINITY, f64::min)
        };
        let [one, two] = [1, 2].map(least);
        println!(
            "{what}: {one:.2} s on one thread, {two:.2} s on two: {:.2} times as fast",
            one / two
        );
    };
    faster("100 makers (must 1.6)", &makers);
    faster("five allowances, laid first", &|| blocked(&source));
    let one = || hung(&source, Hang::Edge { side: SideOf::Foundation, spacing: 0.05 }) as usize;
    faster("one piece hung by its foundation", &one);
}

fn main() {
    if std::env::args().any(|a| a == "figure") {
        return figure();
    }
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    criterion.bench_function("wrap, text to pictures", |b| {
        let options = Options { sure: true, ..Options::default() };
        b.iter(|| black_box(pictures(&options)));
    });
    criterion.final_summary();
}
