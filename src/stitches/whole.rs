//! The worked piece against what the page says of it: its length by the gauge and its stated size.

use super::fault::Faults;
use super::fault::Words;
use super::graph::Piece;
use super::graph::PieceRow;
use crate::diagnostic::Severity;
use crate::pattern::Pattern;

/// Lengths further apart than this share contradict each other; blocking and borders explain less.
const APART: f64 = 0.2;
/// Fewer rows than this are a swatch or a motif.
const ENOUGH: usize = 20;

/// Says when rows by the row gauge are far from the stated length of a straight rectangle. Only a piece
/// of one section, worked flat on one number of stitches whose width by the gauge is as stated, is
/// judged: elsewhere the rows do not run along the length.
///
/// `drift` is how far the rows have been shifted sideways in all, stitches: where shaping shifts them the
/// edges slant, and the length along the edge is the longer side of a right triangle. Which of the two
/// lengths is stated is not told, so that either will do.
pub(super) fn length(pattern: &Pattern, piece: &Piece, drift: f64, faults: &mut Faults) {
    let planned = &pattern.header.planned;
    let (Some(wide), Some(long)) = (&planned.square_to_edge, &planned.along_edge) else { return };
    let (wide_mm, long_mm) = (wide.value.to_mm(), long.value.to_mm());
    let gauge = pattern.header.gauges.iter().find(|g| g.rows.is_some() && g.stitches.is_some());
    let Some(gauge) = gauge.filter(|g| g.unit == "sts") else { return };
    let (Some(rows), Some(sts)) = (gauge.rows, gauge.stitches) else { return };
    let rows_worked: Vec<&PieceRow> =
        piece.rows.iter().filter(|r| r.label != "foundation" && !r.finish).collect();
    let Some(first) = rows_worked.first() else { return };
    let straight = rows_worked.iter().all(|r| r.made == first.made && !r.round && r.placed);
    if rows_worked.len() < ENOUGH || !straight || piece.sections.len() > 1 || long_mm <= 0.0 {
        return;
    }
    let by_width = f64::from(first.made) * gauge.stitches_over.to_mm() / sts;
    let square = rows_worked.len() as f64 * gauge.rows_over.to_mm() / rows;
    let by_rows = square.hypot(drift * gauge.stitches_over.to_mm() / sts);
    let off = |a: f64, b: f64| (a - b).abs() / b > APART;
    if off(by_width, wide_mm) || !off(by_rows, long_mm) || !off(square, long_mm) {
        return;
    }
    let inch = pattern.header.units.value == crate::units::UnitSystem::Imperial;
    let shown = |mm: f64| {
        if inch { format!("{:.0} in", mm / 25.4) } else { format!("{:.0} cm", mm / 10.0) }
    };
    let fitting = (long_mm / by_rows * rows_worked.len() as f64).round();
    let words = Words {
        message: format!(
            "{} rows at this gauge make {}, but the page says {}",
            rows_worked.len(),
            shown(by_rows),
            shown(long_mm)
        ),
        expected: shown(long_mm),
        found: shown(by_rows),
        fit: format!("work {fitting:.0} rows, or state {}", shown(by_rows)),
    };
    let span = long.span;
    faults.add(
        "length-disagrees",
        Severity::Warning,
        span,
        ("the page", None, span),
        words,
        Vec::new(),
    );
}
