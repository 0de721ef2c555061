//! Names and counts against published lists: the Craft Yarn Council's crochet and knit abbreviations
//! and its US/UK conversion chart (craftyarncouncil.com, "Crochet Abbreviations", "Knitting
//! Abbreviations", "U.S./U.K. conversion chart"; names from memory), its turning-chain table (from
//! memory), and closed forms of count that are common practice where no source is named.

use slantwise::pattern;
use slantwise::source::Source;
use slantwise::stitches::{self, Piece, Post, StitchKind};

fn worked(text: &str) -> (Piece, Vec<String>) {
    let source = Source::new("page", text);
    let (pattern, mut said) = pattern::parse(&source);
    let (piece, more) = stitches::work(&pattern);
    said.extend(more);
    let shown = said.iter().filter(|d| d.severity > slantwise::diagnostic::Severity::Note);
    (piece, shown.map(|d| format!("{}: {}", d.code, d.message)).collect())
}

/// The kind of the third stitch of row 2, when the row is twenty times `name`.
fn kind(terms: &str, name: &str) -> StitchKind {
    let base = if terms == "UK" { "dc" } else { "sc" };
    let page = format!(
        "{terms} terms\nCh 21.\nRow 1: {base} in 2nd ch from hook and in each ch across.\nRow 2: Turn, {name} in each st across.\n"
    );
    let (piece, said) = worked(&page);
    assert!(said.is_empty(), "{terms} {name}: {said:?}");
    assert_eq!(piece.rows[2].made, 20, "{terms} {name}");
    piece.stitches[piece.rows[2].stitches.0 as usize + 2].kind
}

/// Craft Yarn Council, crochet abbreviations: stitch names and what they mean.
#[test]
fn crochet_abbreviations_are_read() {
    let plain = StitchKind::Plain;
    let names = [
        ("sc", plain(Post::Single)),
        ("hdc", plain(Post::HalfDouble)),
        ("dc", plain(Post::Double)),
        ("tr", plain(Post::Treble)),
        ("dtr", plain(Post::DoubleTreble)),
        ("trtr", plain(Post::TripleTreble)),
        ("FPsc", plain(Post::Single)),
        ("FPdc", plain(Post::Double)),
        ("FPtr", plain(Post::Treble)),
        ("BPsc", plain(Post::Single)),
        ("BPdc", plain(Post::Double)),
        ("BPtr", plain(Post::Treble)),
        ("esc", StitchKind::Extended(Post::Single)),
        ("single crochet", plain(Post::Single)),
        ("half double crochet", plain(Post::HalfDouble)),
        ("double crochet", plain(Post::Double)),
        ("treble crochet", plain(Post::Treble)),
        ("double treble crochet", plain(Post::DoubleTreble)),
    ];
    for (name, meant) in names {
        assert_eq!(kind("US", name), meant, "{name}");
    }
}

/// Craft Yarn Council, US/UK conversion chart; the same map at woolandcrafts.co.uk, tip of the week.
#[test]
fn uk_names_mean_the_us_stitches_of_the_chart() {
    let chart = [("dc", "sc"), ("htr", "hdc"), ("tr", "dc"), ("dtr", "tr"), ("trtr", "dtr")];
    for (uk, us) in chart {
        assert_eq!(kind("UK", uk), kind("US", us), "UK {uk} is US {us}");
    }
}

/// Decreases of the Craft Yarn Council list: so many stitches become one.
#[test]
fn decreases_take_as_many_as_their_names_say() {
    for (name, takes) in
        [("sc2tog", 2), ("dc2tog", 2), ("dc3tog", 3), ("hdc2tog", 2), ("tr2tog", 2)]
    {
        let page = format!(
            "US terms\nCh 13.\nRow 1: Sc in 2nd ch from hook and in each ch across.\nRow 2: Turn, *{name}; rep from * across.\n"
        );
        let (piece, said) = worked(&page);
        assert!(said.is_empty(), "{name}: {said:?}");
        assert_eq!(piece.rows[2].made, 12 / takes, "{name}");
    }
}

/// Craft Yarn Council, knitting abbreviations: stitches used and made.
#[test]
fn knit_abbreviations_use_and_make_what_they_mean() {
    let names = [
        ("k2tog", 2, 1),
        ("p2tog", 2, 1),
        ("ssk", 2, 1),
        ("ssp", 2, 1),
        ("skp", 2, 1),
        ("sl1, k1, psso", 2, 1),
        ("k3tog", 3, 1),
        ("p3tog", 3, 1),
        ("sk2p", 3, 1),
        ("sl1, k2tog, psso", 3, 1),
        ("kfb", 1, 2),
        ("pfb", 1, 2),
        ("k1f&b", 1, 2),
        ("yo", 0, 1),
        ("m1", 0, 1),
        ("m1L", 0, 1),
        ("m1R", 0, 1),
        ("k1 tbl", 1, 1),
        ("sl1", 1, 1),
    ];
    for (name, used, made) in names {
        let page = format!("Cast on 20 sts.\nRow 1: Knit 5, {name}, knit to end.\n");
        let (piece, said) = worked(&page);
        assert!(said.is_empty(), "{name}: {said:?}");
        assert_eq!(piece.rows[1].made, 20 - used + made, "{name}");
    }
}

/// Turning chains, links as high as the stitch: dummies.com "How to crochet a turning chain" (0 for a
/// slip stitch, 1 2 3 4 5); the sixth is common practice.
#[test]
fn turning_chains_are_as_high_as_the_table_says() {
    use pattern::Height;
    let table = [
        (Height::Single, 1),
        (Height::HalfDouble, 2),
        (Height::Double, 3),
        (Height::Treble, 4),
        (Height::DoubleTreble, 5),
        (Height::TripleTreble, 6),
    ];
    for (height, links) in table {
        assert_eq!(height.chains(), links, "{height:?}");
    }
}

/// Chains skipped at the hook: `ch 22` and the first stitch in the nth chain leave so many stitches
/// (common practice: tall stitches count the skipped chain as one of them).
#[test]
fn first_rows_hold_what_the_skipped_chains_leave() {
    let rows = [("sc", "2nd", 21), ("hdc", "2nd", 21), ("dc", "4th", 20), ("tr", "5th", 19)];
    for (name, nth, made) in rows {
        let page = format!(
            "US terms\nCh 22.\nRow 1: {name} in {nth} ch from hook and in each ch across.\n"
        );
        let (piece, said) = worked(&page);
        assert!(said.is_empty(), "{name}: {said:?}");
        assert_eq!(piece.rows[1].made, made, "{name}");
    }
}

/// Top-down triangles grow by 8 a row (two more in each edge and four more at the spine, double
/// crochet) or by 4 every second row (knit): common practice, no source.
#[test]
fn top_down_triangles_grow_by_eight_or_four() {
    let crochet = "US terms\nRow 1: In a magic ring, work ch 4, 3 dc, ch 2, 3 dc, tr. Turn. (8 sts)\nRow 2: Ch 4 (counts as tr), 2 dc in first st, dc in each st to ch-2 sp, (2 dc, ch 2, 2 dc) in ch-2 sp, dc in each st to last st, 2 dc and 1 tr in last st. Turn.\nRows 3-20: Rep Row 2.\n";
    let (piece, said) = worked(crochet);
    assert!(said.is_empty(), "{said:?}");
    for row in 3..=20 {
        assert_eq!(piece.rows[row].made, piece.rows[row - 1].made + 8, "row {row}");
    }
    let knit = "Cast on 7 sts.\nSet-up row (WS): K3, pm, k1, pm, k3.\nRow 1 (RS): K2, yo, k to marker, yo, sm, k1, sm, yo, k to last 2 sts, yo, k2.\nRow 2 (WS): K2, p to last 2 sts, k2.\nRows 3-60: Rep Rows 1 and 2.\n";
    let (piece, said) = worked(knit);
    assert!(said.is_empty(), "{said:?}");
    for row in 2..=59 {
        assert_eq!(piece.rows[row + 2].made, piece.rows[row].made + 4, "row {row}");
    }
}

/// Flat rounds: with n stitches in the first round and n more in each, round k holds n k stitches.
/// Six for single and twelve for double crochet (common practice; 2 pi h/w for h/w = 1 and 2 is 6.28
/// and 12.57).
#[test]
fn flat_rounds_grow_by_their_first_round() {
    for (name, chain, n) in [("sc", 1, 6), ("dc", 3, 12)] {
        let said_chain = format!("Ch {chain} does not count as a stitch throughout.");
        let mut page = format!(
            "US terms\n{said_chain}\nRnd 1: Ch {chain}, {n} {name} in a magic ring; join. ({n})\n"
        );
        for k in 2..=12 {
            let rest =
                if k > 2 { format!(", {name} in next {} sts", k - 2) } else { String::new() };
            page += &format!(
                "Rnd {k}: Ch {chain}, *2 {name} in next st{rest}; rep from * around; join.\n"
            );
        }
        let (piece, said) = worked(&page);
        assert!(said.is_empty(), "{name}: {said:?}");
        for k in 1..=12u32 {
            assert_eq!(piece.rows[k as usize].made, n * k, "{name} round {k}");
        }
    }
}
