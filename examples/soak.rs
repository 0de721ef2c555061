//! Works randomly edited patterns for as long as asked: `cargo run --release --example soak -- 1000000`.
//!
//! Ends with the number of inputs, the longest time one took and the time in all; an input that panics
//! ends the run with its seed.

use std::fs;
use std::io::Write;
use std::path::Path;
use std::time::{Duration, Instant};

use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use slantwise::pattern;
use slantwise::source::Source;
use slantwise::stitches;

#[path = "../tests/common/edits.rs"]
mod edits;

use edits::{EDITS, edited};

/// Longest text taken; edits that double lines would let it grow.
const LONGEST: usize = 6000;

fn pages() -> std::io::Result<Vec<String>> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    let mut folders = vec![root.join("examples"), root.join("tests/patterns")];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "txt") {
                files.push(path);
            }
        }
    }
    files.sort();
    let texts: Result<Vec<String>, _> = files.iter().map(fs::read_to_string).collect();
    Ok(texts?.into_iter().filter(|t| t.len() < LONGEST).collect())
}

fn main() -> std::io::Result<()> {
    let inputs: u64 = std::env::args().nth(1).and_then(|n| n.parse().ok()).unwrap_or(10_000);
    let first: u64 = std::env::args().nth(2).and_then(|n| n.parse().ok()).unwrap_or(0);
    let pages = pages()?;
    let (start, mut longest, mut stitches_worked) = (Instant::now(), (Duration::ZERO, 0), 0u64);
    let mut out = std::io::stdout().lock();
    for seed in first..first + inputs {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let mut text = pages[(seed % pages.len() as u64) as usize].clone();
        for k in 0..1 + seed % 4 {
            text = edited(
                &text,
                0,
                EDITS[((seed / 7 + k * 5) % EDITS.len() as u64) as usize],
                &mut rng,
            );
        }
        let one = Instant::now();
        let done = std::panic::catch_unwind(|| {
            let (tree, _) = pattern::parse(&Source::new("soak", text.as_str()));
            stitches::work(&tree).0.stitches.len() as u64
        });
        match done {
            Ok(n) => stitches_worked += n,
            Err(_) => {
                writeln!(out, "seed {seed} panics:\n{text}")?;
                std::process::exit(1);
            }
        }
        if one.elapsed() > longest.0 {
            longest = (one.elapsed(), seed);
        }
    }
    writeln!(
        out,
        "{inputs} inputs from {} pages, {stitches_worked} stitches, no panic; longest {:.0} ms (seed {}), \
         {:.0} s in all",
        pages.len(),
        longest.0.as_secs_f64() * 1e3,
        longest.1,
        start.elapsed().as_secs_f64()
    )
}
