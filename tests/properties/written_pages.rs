//! Pages of borders, blocks, rounds whose start moves, picked-up edges and short rows, written out in words
//! and read again, are the same work.

use proptest::prelude::*;
use slantwise::diagnostic::Severity;
use slantwise::instructions::write;
use slantwise::pattern::{self, Terms};
use slantwise::source::Source;
use slantwise::stitches::{self, Piece, Place, Stitch, StitchKind};

/// Reads `page`, which has stitches in places that `holds` knows, writes it out and reads that. The text.
fn same(
    page: &str,
    terms: Terms,
    holds: fn(&Piece, &Stitch) -> bool,
) -> Result<String, TestCaseError> {
    let source = Source::new("page", page);
    let (pattern, mut said) = pattern::parse(&source);
    let (piece, faults) = stitches::work(&pattern);
    said.extend(faults);
    let doubts: Vec<_> = said.iter().filter(|d| d.severity > Severity::Note).collect();
    prop_assert!(doubts.is_empty(), "{doubts:#?}\n{page}");
    prop_assert!(piece.stitches.iter().any(|s| holds(&piece, s)), "{page}");
    let written = write(&piece, &pattern.header, Some(&source), terms);
    prop_assert!(
        written.differing.is_empty(),
        "rows {:?} of\n{page}\ndiffer in\n{}",
        written.differing,
        written.text
    );
    let (again, mut said) = pattern::parse(&Source::new("written", written.text.as_str()));
    said.extend(stitches::work(&again).1);
    let doubts: Vec<_> = said.iter().filter(|d| d.severity > Severity::Note).collect();
    prop_assert!(doubts.is_empty(), "{doubts:#?}\n{}", written.text);
    Ok(written.text)
}

/// The stitch stands on a row end.
fn on_row_end(piece: &Piece, s: &Stitch) -> bool {
    matches!(piece.legs(s), [leg] if matches!(leg.place, Place::RowEnd { .. }))
}

/// The stitch stands on the underside of the foundation.
fn on_underside(piece: &Piece, s: &Stitch) -> bool {
    matches!(piece.legs(s), [leg] if matches!(leg.place, Place::Underside(_)))
}

/// The stitch stands on a link of a chain made in its own row.
fn on_spur(piece: &Piece, s: &Stitch) -> bool {
    let own = |place| matches!(place, Place::Link { run, .. } if piece.stitch(run).row == s.row);
    matches!(piece.legs(s), [leg] if own(leg.place))
}

/// A slip stitch leads somewhere.
fn travels(piece: &Piece, s: &Stitch) -> bool {
    s.kind == StitchKind::SlipStitch && s.overlay && !piece.legs(s).is_empty()
}

fn terms() -> impl Strategy<Value = Terms> {
    prop_oneof![Just(Terms::Us), Just(Terms::Uk)]
}

/// "Row 2", "Rows 2-5".
fn rows(from: u32, to: u32) -> String {
    if from == to { format!("Row {from}") } else { format!("Rows {from}-{to}") }
}

/// A flat piece of `n` stitches and `rows` rows of one height, or of a mesh.
fn body(n: u32, last: u32, kind: usize) -> String {
    let rest = rows(2, last);
    match kind {
        0 => format!(
            "Ch {}.\nRow 1: Sc in 2nd ch from hook and in each ch across.\n\
             {rest}: Ch 1, turn, sc in each st across.\n",
            n + 1
        ),
        1 => format!(
            "Ch {}.\nRow 1: Dc in 4th ch from hook (skipped ch count as dc) and in each ch across.\n\
             {rest}: Ch 3 (counts as dc), turn, dc in each st across.\n",
            n + 2
        ),
        2 => format!(
            "Row 1: Fhdc {n}.\n{rest}: Ch 2 (does not count as a st), turn, hdc in each st across.\n"
        ),
        _ => {
            let meshes = n / 2;
            format!(
                "Ch {}.\nRow 1: Dc in 6th ch from hook (skipped ch count as dc and ch 1), \
                 *ch 1, skip next ch, dc in next ch; rep from * across.\n\
                 {rest}: Ch 4 (counts as dc and ch 1), turn, skip next ch-1 sp, dc in next dc, \
                 *ch 1, skip next ch-1 sp, dc in next dc; rep from * across.\n",
                2 * meshes + 4
            )
        }
    }
}

const CORNERS: [&str; 4] = ["3 sc", "5 sc", "(sc, ch 2, sc)", "(hdc, ch 1, hdc)"];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(100))]

    #[test]
    fn borders_read_back(
        n in 4u32..40, last in 2u32..30, kind in 0usize..4, told in proptest::option::of(5u32..60),
        corner in 0usize..4, second in 0usize..3, evenly in any::<bool>(), terms in terms(),
    ) {
        let corner = CORNERS[corner];
        let sides = told.map_or(String::new(), |n| format!(", working {n} sc along each side edge"));
        let evenly = if evenly { "evenly " } else { "" };
        let again = second == 1;
        let second = match second {
            0 => String::new(),
            1 => format!("Rnd 2: Ch 1, sc in each st around, {corner} in each corner, join with sl st in first st.\n"),
            _ => "Rnd 2: Ch 3 (counts as dc), dc in each st around, join with sl st in top of beg ch.\n".into(),
        };
        let page = format!(
            "{}Border:\nRnd 1: Ch 1, sc {evenly}around{sides}, {corner} in each corner, join with sl st in first st.\n{second}",
            body(n, last, kind)
        );
        let text = same(&page, terms, on_row_end)?;
        let cornered = text.lines().filter(|l| l.contains("in each corner")).count();
        prop_assert_eq!(cornered, 1 + usize::from(again), "{}", text);
    }

    #[test]
    fn edges_one_at_a_time_read_back(
        n in 6u32..40, last in 8u32..30, kind in 0usize..2, told in 5u32..40, left in any::<bool>(),
        more in 1u32..4, terms in terms(),
    ) {
        let side = if left { "left" } else { "right" };
        let rest = rows(1, more);
        let page = format!(
            "{}Edging:\nWith B, work {told} sc evenly along {side} side edge.\n{rest}: Ch 1, turn, sc in each st across.\n",
            body(n, last, kind)
        );
        same(&page, terms, on_row_end)?;
    }

    #[test]
    fn the_other_side_of_a_foundation_reads_back(n in 4u32..40, last in 2u32..20, kind in 0usize..2, terms in terms()) {
        let half = body(n, last, kind);
        let rest = rows(2, last);
        let page = format!(
            "First half:\n{half}Fasten off.\nSecond half:\n\
             Row 1: Working along opposite side of foundation ch, ch 3 (counts as dc), dc in each ch across.\n\
             {rest}: Ch 3 (counts as dc), turn, dc in each st across.\n"
        );
        same(&page, terms, on_underside)?;
    }

    #[test]
    fn blocks_read_back(size in 2u32..6, up in 2u32..20, straight in 0u32..8, tall in any::<bool>(), terms in terms()) {
        let (post, rise) = if tall { ("dc", 3) } else { ("hdc", 2) };
        let (all, nth) = (size + rise, rise + 1);
        let foot = format!("ch {all}, {post} in {nth}th ch from hook and in next {} ch", size - 1)
            .replace("3th", "3rd");
        let block = format!("(sl st, ch {rise}, {size} {post}) in next ch-{rise} sp");
        let slips = format!("sl st in next {size} sts, *{block}; rep from *");
        let mut page = format!("Row 1: {foot}.\n{}: {foot}, *{block}; rep from * across.\n", rows(2, up));
        let mut row = up;
        for k in 0..2 * (straight / 2) {
            row += 1;
            page += &match k % 2 {
                0 => format!("Row {row}: {slips} across.\n"),
                _ => format!("Row {row}: {foot}, *{block}; rep from * to last {size} sts, sl st in next ch-{rise} sp.\n"),
            };
        }
        let last = row + up - 1;
        page += &format!("{}: {slips} to last {size} sts, sl st in next ch-{rise} sp.\n", rows(row + 1, last));
        same(&page, terms, on_spur)?;
    }

    #[test]
    fn rounds_with_a_moving_start_read_back(
        rounds in 2u32..8, links in 1u32..4, side in 0u32..3, group in 2u32..4, terms in terms(),
    ) {
        // Spaces of one length at sides and corners are told apart by no words.
        prop_assume!(side != links && (side > 0 || rounds < 4));
        let between = if side > 0 { format!("ch {side}, ") } else { String::new() };
        let corner = format!("({group} dc, ch {links}, {group} dc)");
        let rest = format!("({} dc, ch {links}, {group} dc)", group - 1);
        let mut page = format!(
            "Ch 4, join with sl st to form a ring.\n\
             Rnd 1: Ch 3 (counts as dc), {} dc in ring, ch {links}, [{group} dc in ring, ch {links}] 3 times, join with sl st in top of beg ch.\n",
            group - 1
        );
        for round in 2..=rounds {
            let gaps = round - 2;
            let along = match side {
                0 => format!("[skip next {group} sts, {group} dc in sp between sts] {gaps} times, "),
                _ => format!("[{group} dc in next ch-{side} sp, ch {side}] {gaps} times, "),
            };
            let along = if gaps == 0 { String::new() } else { along };
            page += &format!(
                "Rnd {round}: Sl st in next {} sts and in next ch-{links} sp, ch 3 (counts as dc), {rest} in same sp, {between}{along}\
                 [{corner} in next ch-{links} sp, {between}{along}] 3 times, join with sl st in top of beg ch.\n",
                group - 1
            );
        }
        same(&page, terms, travels)?;
    }

    #[test]
    fn picked_up_edges_read_back(
        n in 6u32..40, pairs in 4u32..40, along in 3u32..60, ends in 3u32..60, order in 0usize..3, more in 1u32..6,
    ) {
        let edges = [["left side", "right side"], ["right side", "left side"], ["cast-on", "top"]][order];
        let rest = rows(1, more);
        let picked = |k: u32, edge: &str| {
            format!("Pick up and k {k} sts along {edge} edge with RS facing.\n{rest}: Knit.\nBind off all sts.\n")
        };
        let page = format!(
            "Cast on {n} sts.\nRow 1 (RS): K to end.\nRow 2 (WS): P to end.\nRows 3-{}: Rep Rows 1-2.\nBind off all sts.\n\
             First border:\n{}Second border:\n{}",
            2 * pairs, picked(along, edges[0]), picked(ends, edges[1])
        );
        same(&page, Terms::Us, |p, s| on_row_end(p, s) || on_underside(p, s))?;
    }

    #[test]
    fn a_tab_picked_up_reads_back(ridges in 2u32..12, side in 2u32..6, more in 2u32..12) {
        let page = format!(
            "Cast on 3 sts.\nKnit {} rows.\nPick up and k {side} sts along left side edge, pick up and k 3 sts along cast-on edge.\n\
             Row 1 (WS): Knit.\nRow 2 (RS): K2, yo, k to last 2 sts, yo, k2.\nRows 3-{}: Rep Rows 1-2.\n",
            2 * ridges, 2 * more
        );
        same(&page, Terms::Us, on_row_end)?;
    }

    #[test]
    fn short_rows_read_back(n in 10u32..40, turns in prop::collection::vec(1u32..6, 1..5), twice in any::<bool>()) {
        let mut page = format!("Cast on {n} sts.\nRow 1: Knit.\nRow 2: Knit.\n");
        let (mut at, mut row) = (n, 2);
        for step in turns {
            at = at.saturating_sub(step).max(2);
            page += &format!("Row {}: K{at}, turn.\nRow {}: Sl 1, k to end.\n", row + 1, row + 2);
            row += 2;
        }
        page += &format!("Row {}: Knit.\nRow {}: Knit.\n", row + 1, row + 2);
        if twice {
            page += &format!("Rows {}-{}: Rep Rows 3-{}.\n", row + 3, 2 * row + 2, row + 2);
        }
        same(&page, Terms::Us, |_, s| s.kind == StitchKind::Slipped)?;
    }
}
