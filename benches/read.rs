//! How long a large pattern takes to be read and worked: 5 000 rows of 300 stitches.
//! `cargo bench --bench read`; must: at most 1 s and 200 bytes a stitch.

#![expect(clippy::print_stdout, reason = "a bench's figures")]

use criterion::Criterion;
use slantwise::pattern;
use slantwise::source::Source;
use slantwise::stitches::{self, Anchor, Piece, PieceRow, Stitch};
use std::fmt::Write;
use std::hint::black_box;

const ROWS: usize = 5_000;
const STITCHES: usize = 300;

/// A bias piece, every row written out.
fn page() -> String {
    let mut page = format!(
        "US terms\nCh {}.\nRow 1: Sc in 2nd ch from hook and in each ch across. ({STITCHES} sc)\n",
        STITCHES + 1
    );
    for row in 2..=ROWS {
        let words = if row % 2 == 0 {
            "sc2tog, sc in each st to last st, 2 sc in last st."
        } else {
            "2 sc in first st, sc in each st to last 2 sts, sc2tog."
        };
        let _ = writeln!(page, "Row {row}: Ch 1, turn, {words} ({STITCHES} sc)");
    }
    page
}

fn read(page: &str) -> Piece {
    let source = Source::new("bench", page);
    let (pattern, _) = pattern::parse(&source);
    stitches::work(&pattern).0
}

/// Bytes the piece holds for each stitch.
fn bytes(piece: &Piece) -> f64 {
    let held = piece.stitches.capacity() * size_of::<Stitch>()
        + piece.anchors.capacity() * size_of::<Anchor>()
        + piece.rows.capacity() * size_of::<PieceRow>();
    held as f64 / piece.stitches.len() as f64
}

fn main() {
    let page = page();
    let piece = read(&page);
    println!(
        "{} rows, {} stitches, {} bytes of text, {:.0} bytes a stitch",
        piece.rows.len(),
        piece.stitches.len(),
        page.len(),
        bytes(&piece)
    );
    let mut criterion = Criterion::default().sample_size(10).configure_from_args();
    criterion.bench_function("read 5 000 rows of 300 stitches", |b| {
        b.iter(|| read(black_box(&page)));
    });
    criterion.final_summary();
}
