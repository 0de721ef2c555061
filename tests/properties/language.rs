//! Properties of reading and working, over text nobody wrote.

use proptest::prelude::*;
use slantwise::pattern;
use slantwise::source::Source;
use slantwise::stitches::{self, Piece, StitchKind};

fn work(text: &str) -> (Piece, Vec<slantwise::diagnostic::Diagnostic>) {
    let source = Source::new("text", text);
    let (tree, mut diagnostics) = pattern::parse(&source);
    let (piece, more) = stitches::work(&tree);
    diagnostics.extend(more);
    for d in &diagnostics {
        let span = d.primary.span;
        assert!(span.start <= span.end && span.end as usize <= text.len(), "{d:?}");
        assert!(
            [&d.message, &d.expected, &d.found, &d.fit, &d.row].iter().all(|p| !p.is_empty()),
            "{d:?}"
        );
    }
    whole(&piece);
    (piece, diagnostics)
}

/// Every index of the graph points into it, rows follow one another, legs lie below.
fn whole(piece: &Piece) {
    let mut next = 0;
    for row in &piece.rows {
        assert_eq!(row.stitches.0, next);
        assert!(row.stitches.1 >= row.stitches.0);
        next = row.stitches.1;
        assert!(usize::from(row.section) < piece.sections.len());
        assert!(usize::from(row.colour) < piece.colours.len());
    }
    assert_eq!(next as usize, piece.stitches.len());
    for (k, stitch) in piece.stitches.iter().enumerate() {
        assert!(stitch.legs.0 <= stitch.legs.1 && stitch.legs.1 as usize <= piece.anchors.len());
        for anchor in piece.legs(stitch) {
            use slantwise::stitches::Place;
            let of = match anchor.place {
                Place::Top(s)
                | Place::Space(s)
                | Place::Underside(s)
                | Place::Ring(s)
                | Place::Strand(s) => s,
                Place::Post { of, .. } => of,
                Place::Link { run, .. } => run,
                Place::Gap(a, _) => a,
                Place::RowEnd { row, .. } => {
                    assert!((row.0 as usize) < piece.rows.len());
                    continue;
                }
            };
            assert!((of.0 as usize) < piece.stitches.len() && of.0 as usize != k);
        }
    }
}

/// Words a pattern is made of, thrown together.
fn word() -> impl Strategy<Value = &'static str> {
    prop::sample::select(vec![
        "Row 1:",
        "Row 2 (RS):",
        "\nRow 3:",
        "\nRows 4-7:",
        "\nRnd 1:",
        "ch",
        "3",
        "21",
        "sc",
        "dc",
        "hdc",
        "in",
        "next",
        "st",
        "sts",
        "2nd",
        "ch from hook",
        "each",
        "across",
        ",",
        ".",
        ";",
        "*",
        "**",
        "(",
        ")",
        "[",
        "]",
        "rep from *",
        "to last",
        "2",
        "times",
        "more",
        "turn",
        "skip",
        "ch-1 sp",
        "join",
        "around",
        "sc2tog",
        "k",
        "p",
        "yo",
        "k2tog",
        "kfb",
        "cast on",
        "\nRepeat rows 1-2",
        "until there are 40 sts",
        "until it measures 20 cm",
        "with A",
        "magic ring",
        "same",
        "corner",
        "counts as dc",
        "pm",
        "sm",
        "to marker",
        "turning ch",
        "bind off",
        "5 dc",
        "shell",
        "=",
        "- 12 sts",
        "(20)",
        "\n",
        "\n\n",
        "first",
        "last",
        "1000000000",
        "+++",
        "Gauge:",
        "16 sts = 4 in",
        "½",
        "×",
        "–",
        "row below",
        "evenly",
        "blo",
        "\nBorder\n",
    ])
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Arbitrary text is read without a panic.
    #[test]
    fn any_text_is_read(text in "\\PC{0,400}") {
        work(&text);
    }

    /// Arbitrary bytes of a pattern's own words are read and worked without a panic.
    #[test]
    fn any_words_are_worked(words in prop::collection::vec(word(), 0..120), knit in any::<bool>()) {
        let start = if knit { "Cast on 20 sts.\n" } else { "Ch 21.\n" };
        work(&format!("{start}{}", words.join(" ")));
    }

    /// Stitches made = stitches of the row below + increases - decreases, row by row.
    #[test]
    fn counts_are_conserved(
        base in 6u32..60,
        rows in prop::collection::vec((0u32..4, 0u32..4, any::<bool>()), 1..30),
    ) {
        let mut text = format!("Ch {}.\nRow 1: Sc in 2nd ch from hook and in each ch across.\n", base + 1);
        let (mut expected, mut counts) = (base, vec![base]);
        for (k, &(more, fewer, at_end)) in rows.iter().enumerate() {
            let more = more.min(expected.saturating_sub(2));
            let fewer = fewer.min((expected.saturating_sub(more + 1)) / 2);
            let (inc, dec) = ("2 sc in next st, ".repeat(more as usize), "sc2tog, ".repeat(fewer as usize));
            let rest = expected - more - 2 * fewer;
            let (first, last) = if at_end { (inc, dec) } else { (dec, inc) };
            text += &format!("Row {}: Ch 1, turn, {first}sc in next {rest} sts, {last}\n", k + 2);
            expected = expected + more - fewer;
            counts.push(expected);
        }
        let (piece, diagnostics) = work(&text);
        prop_assert!(diagnostics.iter().all(|d| d.code != "stitch-count"), "{diagnostics:?}");
        let made: Vec<u32> = piece.rows.iter().skip(1).map(|r| r.made).collect();
        prop_assert_eq!(&made, &counts);
        let tops = piece.stitches.iter().filter(|s| matches!(s.kind, StitchKind::Plain(_))).count() as u32;
        prop_assert_eq!(tops, counts.iter().sum::<u32>());
    }

    /// Punctuation and case carry no meaning.
    #[test]
    fn punctuation_and_case_do_not_matter(n in 2u32..20, upper in any::<bool>(), dots in any::<bool>()) {
        let plain = format!("Ch {}.\nRow 1: Sc in 2nd ch from hook and in each ch across.\nRow 2: Ch 1, turn, sc in first st, *2 sc in next st, sc in next st; rep from * to last st, sc in last st.\n", 2 * n + 3);
        let mut other = plain.clone();
        if dots { other = other.replace(", turn,", ". Turn.").replace(';', "."); }
        if upper { other = other.to_uppercase(); }
        let made = |text: &str| work(text).0.rows.iter().map(|r| r.made).collect::<Vec<_>>();
        prop_assert_eq!(made(&plain), made(&other));
    }

    /// A digit changed in a counted row is reported.
    #[test]
    fn a_changed_digit_is_reported(n in 10u32..40, wrong in 1u32..9) {
        let text = format!("Ch {}.\nRow 1: Sc in 2nd ch from hook and in each ch across. ({n} sc)\nRow 2: Ch 1, turn, sc in next {} sts. ({n} sc)\n", n + 1, n - wrong.min(n - 1));
        let (_, diagnostics) = work(&text);
        prop_assert!(diagnostics.iter().any(|d| d.code == "stitch-count"));
    }
}

/// A row is worked under a few dozen readings at most, each within two million steps and spots.
const ONE_ROW: u64 = 100_000_000;

#[test]
fn hostile_repeats_are_refused_at_a_bounded_cost() {
    for text in [
        "Ch 11.\nRow 1: (sc in next ch) 1000000000 times.".to_owned(),
        "Ch 11.\nRow 1: Sc in 2nd ch from hook, sc in each ch.\nRows 2-4000000000: Rep row 1.".to_owned(),
        "Ch 11.\nRow 1: Sc in 2nd ch from hook, sc in each ch.\nRepeat row 1 4000000000 more times.".to_owned(),
        format!("Ch 11.\nRow 1: {}sc{} 3 times.", "(".repeat(100_000), ")".repeat(100_000)),
        format!("Ch 11.\nRow 1: {}", "((((( sc ) 99999 times ) 99999 times ) 99999 times ) 99999 times ) 99999 times"),
        "Cast on 4294967295 sts.\nRow 1: knit.".to_owned(),
        "Ch 4294967295.\nRow 1: sc in 4294967295th ch from hook.".to_owned(),
        // Stitches that take up none of the row below.
        "Cast on 20 sts.\nRow 1: K10, 4000000000 yo across.\nRow 2: Purl.".to_owned(),
        "Ch 11.\nRow 1: Sc in 2nd ch from hook, sc in first 4000000000 sts.".to_owned(),
        // Short rows on a wide row: every one meets all that the others left.
        "Cast on 190000 sts.\nRow 1: K1, turn.\nRow 2: K1, turn.\nRepeat rows 1-2 25000 more times."
            .to_owned(),
        // Stitches that look through the whole row for a space it has not.
        "Ch 190001.\nRow 1: Sc in 2nd ch from hook and in each ch.\nRow 2: (dc in next ch-2 sp) 190000 times."
            .to_owned(),
    ] {
        let (pattern, mut diagnostics) = pattern::parse(&Source::new("hostile", &text));
        let (piece, more, cost) = stitches::work_counted(&pattern, None);
        diagnostics.extend(more);
        assert!(!diagnostics.is_empty(), "{}", &text[..40]);
        assert!(piece.rows.len() <= stitches::MOST_ROWS, "{}", &text[..40]);
        assert!(cost <= stitches::MOST_COST + ONE_ROW, "{cost}: {}", &text[..40]);
    }
}
