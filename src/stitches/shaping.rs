//! Shaping row by row, as seen from the right side, and whether it changes sides on the way.

use super::draft::counts;
use super::fault::Faults;
use super::fault::Words;
use super::graph::Piece;
use super::graph::PieceRow;
use super::graph::Side;
use super::rows::Attempt;
use crate::diagnostic::Severity;
use crate::source::Span;

/// Shaped rows on one side before a change of side is worth a word, and after it.
const SETTLED: usize = 6;
/// Fewer will do when the same words shaped the other edge before.
const REPEATED: usize = 4;
const AFTER: usize = 4;

/// What one row does to its edges.
#[derive(Debug, Clone, Copy)]
struct Shaped {
    row: u32,
    number: u32,
    section: u16,
    /// Stitches gained at the left edge less those gained at the right.
    lean: i32,
    words: Span,
    side: Side,
}

/// The shaping of all rows.
#[derive(Debug, Clone, Default)]
pub(super) struct Shaping {
    rows: Vec<Shaped>,
    /// Stitches gained at the left and right edge, by the row of the piece.
    gained: Vec<(u32, [i64; 2])>,
}

impl Shaping {
    /// Notes the shaping of a row about to be taken into the piece.
    pub(super) fn note(
        &mut self,
        worked: &Attempt,
        left_to_right: bool,
        row: u32,
        number: u32,
        record: &PieceRow,
    ) {
        if record.round || worked.draft.over > 0 || worked.draft.in_spaces {
            return;
        }
        let half = worked.had / 2;
        let (mut first, mut last) = (0i64, 0i64);
        for (stitch, &at) in worked.draft.stitches.iter().zip(&worked.draft.at) {
            if counts(stitch) {
                if at <= half { first += 1 } else { last += 1 }
            }
        }
        let first = first - i64::from(half);
        let last = last - i64::from(worked.had - half);
        let (left, right) = if left_to_right { (first, last) } else { (last, first) };
        if left != 0 || right != 0 {
            self.gained.push((row, [left, right]));
        }
        if worked.had < 4 {
            return;
        }
        let lean = (left - right).clamp(-100, 100) as i32;
        if lean.abs() >= 2 {
            self.rows.push(Shaped {
                row,
                number,
                section: record.section,
                lean,
                words: record.words,
                side: record.side,
            });
        }
    }

    /// Stitches the edges have wandered to the left since row `from` of the piece.
    pub(super) fn drift_since(&self, from: u32) -> f64 {
        let leans = self.rows.iter().filter(|r| r.row >= from).map(|r| f64::from(r.lean));
        leans.sum::<f64>() / 2.0
    }

    /// Stitches gained at the left and right edge from row `from` of the piece to before row `to`.
    pub(super) fn gained(&self, from: u32, to: u32) -> [i64; 2] {
        let rows = self.gained.iter().filter(|(row, _)| (from..to).contains(row));
        rows.fold([0, 0], |[l, r], (_, [left, right])| [l + left, r + right])
    }

    /// Says where shaping that kept to one side changes to the other.
    pub(super) fn judge(&self, piece: &Piece, faults: &mut Faults) {
        for k in REPEATED..self.rows.len() {
            let here = self.rows[k];
            let before = &self.rows[k.saturating_sub(SETTLED)..k];
            let after = &self.rows[k..(k + AFTER).min(self.rows.len())];
            let steady = before
                .iter()
                .all(|r| r.lean.signum() == -here.lean.signum() && r.section == here.section);
            let stays =
                after.len() == AFTER && after.iter().all(|r| r.lean.signum() == here.lean.signum());
            let same_words = self.rows[..k]
                .iter()
                .any(|r| r.words == here.words && r.lean.signum() == -here.lean.signum());
            // Other words on the same side of the work turn the slant on purpose.
            let meant = before.iter().all(|r| r.side == here.side);
            if !(steady && stays && (same_words || k >= SETTLED && !meant)) {
                continue;
            }
            let side = |lean: i32| if lean > 0 { "left" } else { "right" };
            let section =
                piece.sections.get(usize::from(here.section)).filter(|s| !s.is_empty()).cloned();
            let _ = here.row;
            let words = Words {
                message: format!("from row {} on the piece grows toward the {} edge; before it grew toward the {}", here.number, side(here.lean), side(-here.lean)),
                expected: format!("increases at the {} edge, as in the rows before", side(-here.lean)),
                found: format!("increases at the {} edge", side(here.lean)),
                fit: "a row is lost or added before it, so that right and wrong side changed places; restore it, or head a new section if the slant is meant to turn".into(),
            };
            faults.add(
                "shaping-changes-sides",
                Severity::Error,
                here.words,
                (&format!("Row {}", here.number), section, here.words),
                words,
                Vec::new(),
            );
            return;
        }
    }
}
