//! Limited yarn: the run of rows that repeats, and as many repeats of it as the yarn at hand allows.

use std::collections::BTreeMap;

use super::yarn_plan::{ColourYarn, Repeats};
use super::yarn_rows::Spent;
use crate::stitches::Piece;
use crate::stitches::StitchKind;
use crate::units::Length;

/// Finds the longest run of alike rows and solves for the number of its repeats.
pub(super) fn repeats(
    piece: &Piece,
    walk: &[Spent],
    colours: &[ColourYarn],
    margin: f64,
) -> Option<Repeats> {
    let (from, period, times) = longest(&signatures(piece, walk))?;
    // The second repeat is taken: the first may begin with a join.
    let block = &walk[from + period..from + 2 * period];
    let mut each = vec![Length::mm(0.0); colours.len()];
    for s in block {
        each[s.colour] = each[s.colour] + s.stitches + s.ends;
    }
    let mut found = Repeats {
        rows: [walk[from].label.clone(), walk[from + period - 1].label.clone()],
        height: period as u32,
        written: times,
        each,
        allowed: None,
        further_rows: 0,
        limited_by: None,
    };
    solve(&mut found, block, colours, margin);
    Some(found)
}

/// Usable yarn is what is at hand less the reserve; the rest of the piece comes first.
fn solve(found: &mut Repeats, block: &[Spent], colours: &[ColourYarn], margin: f64) {
    let mut spare: Vec<Option<Length>> = colours
        .iter()
        .zip(&found.each)
        .map(|(c, each)| {
            let fixed = c.used() - *each * f64::from(found.written);
            Some(c.at_hand? / (1.0 + margin) - fixed)
        })
        .collect();
    let limits = spare.iter().zip(&found.each).enumerate().filter_map(|(i, (spare, each))| {
        (each.to_mm() > 0.0).then_some((i, ((*spare)? / *each).floor().max(0.0)))
    });
    let Some((colour, allowed)) = limits.min_by(|a, b| a.1.total_cmp(&b.1)) else { return };
    found.allowed = Some(allowed as u32);
    found.limited_by = Some(colours[colour].colour.clone());
    for (rest, each) in spare.iter_mut().zip(&found.each) {
        *rest = rest.map(|l| l - *each * allowed);
    }
    for row in block {
        let rest = &mut spare[row.colour];
        *rest = rest.map(|l| l - row.stitches - row.ends);
        if rest.is_some_and(|l| l.to_mm() < 0.0) {
            break;
        }
        found.further_rows += 1;
    }
}

/// Rows with the same number are alike: the same stitches in the same colour, in the same order.
fn signatures(piece: &Piece, walk: &[Spent]) -> Vec<usize> {
    type Kinds = Vec<(StitchKind, u16)>;
    let mut known: BTreeMap<(usize, usize, Kinds), usize> = BTreeMap::new();
    walk.iter()
        .map(|s| {
            let row = &piece.rows[s.row];
            let kinds = piece.row_stitches(row).map(|(_, st)| (st.kind, st.links)).collect();
            let next = known.len();
            *known.entry((s.section, s.colour, kinds)).or_insert(next)
        })
        .collect()
}

/// First row, period and number of whole repeats of the stretch that covers most rows; of equals, the
/// shortest period. At least two repeats.
fn longest(rows: &[usize]) -> Option<(usize, usize, u32)> {
    let mut best: Option<(usize, usize, u32)> = None;
    for period in 1..=rows.len() / 2 {
        let mut run = 0;
        for i in 0..rows.len() - period {
            run = if rows[i] == rows[i + period] { run + 1 } else { 0 };
            let times = run / period + 1;
            let covered = times * period;
            if times >= 2 && best.is_none_or(|(_, p, t)| covered > p * t as usize) {
                best = Some((i + 1 - run, period, times as u32));
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::longest;

    #[test]
    fn the_stretch_that_covers_most_rows_is_found() {
        assert_eq!(longest(&[0, 1, 2, 3, 2, 3, 2, 3, 4]), Some((2, 2, 3)));
        assert_eq!(longest(&[0, 1, 1, 1, 1]), Some((1, 1, 4)));
        assert_eq!(longest(&[0, 1, 2]), None);
    }
}
