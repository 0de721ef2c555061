//! The main job from text to pictures: the full-size example wrap.
//! `cargo bench --bench whole`; must: at most 2 s.

use criterion::Criterion;
use slantwise::predict::{self, Options};
use slantwise::report;
use slantwise::source::Source;
use std::hint::black_box;
use std::ops::ControlFlow;

const WRAP: &str = include_str!("../examples/bias-wrap.txt");

/// Bytes of all pictures, as the command writes them.
fn pictures(options: &Options) -> usize {
    let source = Source::new("bias-wrap.txt", WRAP);
    let go = &mut |_| ControlFlow::Continue(());
    let laid = predict::lay(&source, options, go).expect("the example lies flat");
    let drawn = report::pictures(&laid);
    drawn.iter().map(|p| p.svg.len() + report::png(&p.svg).expect("it is drawn").len()).sum()
}

fn main() {
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    criterion.bench_function("wrap, text to pictures", |b| {
        let options = Options { sure: true, ..Options::default() };
        b.iter(|| black_box(pictures(&options)));
    });
    criterion.final_summary();
}
