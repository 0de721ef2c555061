//! Random edits of good patterns: nothing panics, and a change of the counts does not pass unsaid.

use std::fs;
use std::path::Path;

use proptest::prelude::*;
use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use slantwise::diagnostic::Severity;
use slantwise::pattern;
use slantwise::source::Source;
use slantwise::stitches;
use slantwise::stitches::Piece;

use super::common::edits::{EDITS, Edit, edited};

/// Examples and whole pages, comment lines off.
fn pages() -> Vec<String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut files = Vec::new();
    for folder in ["examples", "tests/patterns/whole"] {
        let entries = fs::read_dir(root.join(folder)).unwrap();
        files.extend(
            entries
                .map(|e| e.unwrap().path())
                .filter(|p| p.extension().is_some_and(|e| e == "txt")),
        );
    }
    files.sort();
    let clean = |text: String| {
        let lines: Vec<&str> = text.lines().filter(|l| !l.starts_with("//")).collect();
        lines.join("\n")
    };
    files.iter().map(|f| clean(fs::read_to_string(f).unwrap())).collect()
}

/// A piece with every count printed, no row folded, so that a change of any count can be seen.
const COUNTED: &str = "Ch 31.
Row 1: Sc in 2nd ch from hook and in each ch across. (30 sc)
Row 2: Ch 1, 2 sc in first st, sc in each st across to last 2 sts, sc2tog. (30 sc)
Row 3: Ch 1, sc in next 10 sts, 2 sc in next st, sc in next 19 sts. (31 sc)
Row 4: Ch 3 (counts as dc), dc in next 29 sts, 2 dc in last st. (32 dc)
Row 5: Ch 1, [sc in next 3 sts, sc2tog] 6 times, sc in next 2 sts. (26 sc)
Row 6: Ch 1, *sc in next st, dc in next st; rep from * across. (26 sts)
Fasten off.
";

fn worked(text: &str) -> (Piece, Vec<slantwise::diagnostic::Diagnostic>) {
    let source = Source::new("page", text);
    let (tree, mut said) = pattern::parse(&source);
    let (piece, more) = stitches::work(&tree);
    said.extend(more);
    (piece, said)
}

fn counts(piece: &Piece) -> Vec<u32> {
    piece.rows.iter().map(|r| r.made).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn edits_never_panic(seed in any::<u64>(), page in any::<prop::sample::Index>(), n in 1usize..4) {
        let pages = pages();
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let mut text = page.get(&pages).clone();
        for _ in 0..n {
            let edit = EDITS[(seed % EDITS.len() as u64) as usize];
            text = edited(&text, 0, edit, &mut rng);
        }
        worked(&text);
    }

    /// A word, digit or line changed so that some row's count changes: something is said about it.
    #[test]
    fn changed_counts_are_reported(seed in any::<u64>(), which in 0usize..5) {
        let edit = [Edit::DropWord, Edit::DoubleLine, Edit::DropLine, Edit::Digit, Edit::Bracket][which];
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let (good, said) = worked(COUNTED);
        prop_assert!(said.iter().all(|d| d.severity < Severity::Warning), "{said:?}");
        let text = edited(COUNTED, 0, edit, &mut rng);
        let (piece, said) = worked(&text);
        let same = counts(&piece) == counts(&good);
        // A row lost or doubled at the end, or a whole count that follows from the change, may be right.
        let consistent = piece.rows.iter().skip(1).all(|r| r.count_as_written == Some(r.made));
        prop_assert!(
            same || consistent || said.iter().any(|d| d.severity >= Severity::Warning),
            "{:?} to {:?} unsaid in\n{text}",
            counts(&good),
            counts(&piece)
        );
    }

    /// Case, dashes, curly marks and non-breaking spaces change nothing.
    #[test]
    fn typography_changes_no_stitch(seed in any::<u64>(), which in 0usize..2) {
        let mut rng = Pcg64Mcg::seed_from_u64(seed);
        let edit = [Edit::Typography, Edit::Case][which];
        let (good, _) = worked(COUNTED);
        let (piece, said) = worked(&edited(COUNTED, 0, edit, &mut rng));
        prop_assert_eq!(counts(&piece), counts(&good), "{:?}", said);
    }
}
