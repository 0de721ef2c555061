//! A graph written out in words and read again is the same graph.

use proptest::prelude::*;
use slantwise::instructions::write;
use slantwise::pattern;
use slantwise::pattern::{Header, Terms};
use slantwise::source::Source;
use slantwise::stitches::{self, Craft, Piece, Post, RowStart, Stitch, StitchKind};

use super::common::{Maker, Op};

/// What a row may hold.
#[derive(Debug, Clone)]
struct RowPlan {
    /// Picks of what comes next, each with a number.
    picks: Vec<(u8, u32)>,
    /// Height (crochet) or purl (knit).
    kind: u8,
    colour: u16,
}

fn row_plan() -> impl Strategy<Value = RowPlan> {
    (prop::collection::vec((0u8..6, 1u32..9), 1..6), 0u8..4, 0u16..2)
        .prop_map(|(picks, kind, colour)| RowPlan { picks, kind, colour })
}

/// Ops over exactly `n` stitches, the picks over and over, and the stitches they make. Rows with `shapes` may
/// increase and cross; `knit` ones cross as cables.
fn ops(plan: &RowPlan, n: u32, shapes: bool, knit: bool) -> (Vec<Op>, u32) {
    let (mut ops, mut left, mut made) = (Vec::new(), n, 0);
    for &(pick, m) in plan.picks.iter().cycle().take(400) {
        let (op, uses, makes) = match pick {
            0 if shapes => (Op::Two, 1, 2),
            1 => (Op::Together, 2, 1),
            2 if knit => (Op::Over, 0, 1),
            3 if shapes && knit => {
                let (held, over) = (1 + m % 3, 1 + m / 3);
                (Op::Crossed(held, over), held + over, held + over)
            }
            3 if shapes => (Op::Crossed(1, 1), 2, 2),
            _ => (Op::Each(m), m, m),
        };
        if uses > left || left == 0 {
            break;
        }
        ops.push(op);
        left -= uses;
        made += makes;
    }
    if left > 0 {
        ops.push(Op::Each(left));
    }
    (ops, made + left)
}

/// On a foundation chain the first stitch is counted from the hook: nothing is passed and come back to.
fn on_chain(plan: &RowPlan) -> RowPlan {
    let picks = plan.picks.iter().map(|&(p, m)| (if p == 3 { 5 } else { p }, m));
    RowPlan { picks: picks.collect(), ..plan.clone() }
}

const POSTS: [Post; 4] = [Post::Single, Post::HalfDouble, Post::Double, Post::Treble];

fn made(n: u32, plans: &[RowPlan], craft: Craft) -> Piece {
    let mut maker = Maker::cast_on(n);
    let (knit, mut width) = (craft == Craft::Knit, n);
    for (r, plan) in plans.iter().enumerate() {
        // Row 1 is a right-side row; a knit stitch on the wrong side shows purl on the right.
        let (purled, wrong) = (plan.kind % 2 == 1, r % 2 == 1);
        maker.kind(if knit {
            StitchKind::Knit { purl: purled != wrong, twisted: false }
        } else {
            StitchKind::Plain(POSTS[usize::from(plan.kind)])
        });
        let plan = if knit || r > 0 { plan.clone() } else { on_chain(plan) };
        let (ops, makes) = ops(&plan, width, !knit || !purled, knit);
        maker.row(&ops);
        width = makes;
    }
    let mut piece = maker.piece;
    piece.craft = craft;
    piece.colours = vec!["A".into(), "B".into()];
    if !knit {
        for stitch in &mut piece.stitches[..n as usize] {
            (stitch.kind, stitch.links) = (StitchKind::Chain, 1);
        }
    }
    for (row, plan) in piece.rows.iter_mut().skip(1).zip(plans) {
        row.colour = plan.colour;
        let (from, to) = (row.stitches.0 as usize, row.stitches.1 as usize);
        // Some rows change their yarn half way, between stitches of different places.
        let legs = |s: &Stitch| &piece.anchors[s.legs.0 as usize..s.legs.1 as usize];
        let crossed = knit && plan.picks.iter().any(|p| p.0 == 3);
        let mut middle =
            if !crossed && plan.picks.len() % 3 == 0 { from + (to - from) / 2 } else { to };
        while middle > from
            && middle < to
            && legs(&piece.stitches[middle]) == legs(&piece.stitches[middle - 1])
        {
            middle -= 1;
        }
        piece.stitches[from..middle].iter_mut().for_each(|s| s.colour = plan.colour);
        piece.stitches[middle..to].iter_mut().for_each(|s| s.colour = 1 - plan.colour);
        if middle == from {
            row.colour = 1 - plan.colour;
        }
        if !knit {
            row.start = RowStart::ChainBeside(u16::from(plan.kind) + 1);
        }
    }
    piece
}

fn same(piece: &Piece, terms: Terms) -> Result<(), TestCaseError> {
    let written = write(piece, &Header::default(), None, terms);
    prop_assert!(
        written.differing.is_empty(),
        "rows {:?} differ in\n{}",
        written.differing,
        written.text
    );
    let (pattern, mut said) = pattern::parse(&Source::new("written", written.text.as_str()));
    let (_, faults) = stitches::work(&pattern);
    said.extend(faults);
    let errors: Vec<_> =
        said.iter().filter(|d| d.severity > slantwise::diagnostic::Severity::Note).collect();
    prop_assert!(errors.is_empty(), "{errors:#?}\n{}", written.text);
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn crochet_reads_back(n in 2u32..60, plans in prop::collection::vec(row_plan(), 1..12), uk in any::<bool>()) {
        same(&made(n, &plans, Craft::Crochet), if uk { Terms::Uk } else { Terms::Us })?;
    }

    #[test]
    fn knitting_reads_back(n in 2u32..60, plans in prop::collection::vec(row_plan(), 1..12)) {
        same(&made(n, &plans, Craft::Knit), Terms::Us)?;
    }

    /// Rows that come again are folded and still read back.
    #[test]
    fn blocks_read_back(n in 8u32..40, block in prop::collection::vec(row_plan(), 1..4), times in 2usize..9) {
        let plain: Vec<RowPlan> = block
            .iter()
            .map(|p| RowPlan { picks: vec![(5, p.picks[0].1)], ..p.clone() })
            .collect();
        let plans: Vec<RowPlan> = plain.iter().cycle().take(plain.len() * times).cloned().collect();
        let piece = made(n, &plans, Craft::Crochet);
        same(&piece, Terms::Us)?;
        let written = write(&piece, &Header::default(), None, Terms::Us);
        let rows = written.text.lines().filter(|l| l.starts_with("Row")).count();
        prop_assert!(rows <= 3 * block.len() + 1, "{}", written.text);
    }
}
