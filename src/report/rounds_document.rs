//! What reports on pieces in closed rounds say, in order.

use super::document::{Document, Part, Table, based, cautions, faulty, heading, sources};
use super::{rounds, rounds_blocking, rounds_hanging};
use crate::predict::ClosedPiece;
use crate::predict::HungRounds;
use crate::predict::LaidRounds;
use crate::predict::RoundBlocks;

fn tabled((head, lines): (Vec<String>, Vec<Vec<String>>), numbers: usize) -> Table {
    Table { head, lines, numbers, folded: None }
}

/// What the piece laid flat rests on, its faults, and its cautions after `care`.
fn closing(laid: &LaidRounds, care: Vec<String>) -> Vec<Part> {
    let mut parts = based(&laid.assumptions, &laid.gauge_state);
    parts.extend(faulty(&laid.diagnostics));
    parts.extend(cautions(care));
    parts
}

/// The piece lying on a table, or a tube lying double.
pub(super) fn laid(piece: &ClosedPiece) -> Document {
    let mut parts = vec![Part::Answers(rounds::answers(piece))];
    parts.extend(super::rounds_picture(piece).map(Part::Picture));
    parts.push(heading("Round by round"));
    parts.push(Part::Table(tabled(rounds::compared(piece), 1)));
    if piece.table.is_some() {
        parts.push(Part::Quiet(rounds::rule(piece)));
    }
    parts.push(heading("Yarn"));
    parts.push(Part::Quiet(rounds::yarn(piece).join("; ")));
    parts.extend(based(&piece.assumptions, &piece.gauge_state));
    parts.extend(faulty(&piece.diagnostics));
    parts.extend(cautions(piece.cautions.clone()));
    if let Some(table) = &piece.table {
        parts.push(Part::Quiet(rounds::not_modelled(table)));
        parts.push(Part::Quiet(rounds::solved_in(table)));
    }
    Document { title: format!("{}: how it lies", piece.title), parts }
}

/// Blocking allowances compared.
pub(super) fn blocked(blocks: &RoundBlocks) -> Document {
    let washed = &blocks.washed;
    let mut parts = vec![
        Part::Answers(vec![(
            "How do blocking allowances compare?",
            rounds_blocking::sentences(blocks),
        )]),
        heading("Trial by trial"),
        Part::Table(tabled(rounds_blocking::compared(blocks), usize::MAX)),
        Part::Picture(super::rounds_blocking_picture(blocks)),
    ];
    for (k, trial) in blocks.trials.iter().enumerate() {
        parts.push(heading(&format!("Pins, {}: {}", k + 1, trial.words)));
        let folded = Some(format!("{} pins, in placing order", trial.pins.len()));
        parts
            .push(Part::Table(Table { folded, ..tabled(rounds_blocking::pins(blocks, trial), 2) }));
    }
    parts.push(heading("What the blocking rests on"));
    parts.push(Part::Table(sources(blocks.assumptions.iter())));
    let mut care = super::blocking::cautions().map(String::from).to_vec();
    care.extend(washed.cautions.iter().cloned());
    parts.extend(closing(washed, care));
    Document { title: format!("{}: how it blocks", washed.title), parts }
}

/// The piece as it hangs.
pub(super) fn hung(hung: &HungRounds) -> Document {
    let laid = &hung.laid;
    let mut parts = vec![
        Part::Answers(rounds_hanging::answers(hung)),
        heading("How it hangs"),
        Part::Picture(super::rounds_hanging_picture(hung)),
        Part::Quiet(rounds_hanging::not_modelled(hung)),
        heading("Round by round"),
        Part::Table(tabled(rounds_hanging::compared(hung), 1)),
        heading("Growth while it hangs"),
        Part::Picture(super::rounds_growth_picture(hung)),
        heading("What the hanging rests on"),
        Part::Table(sources(hung.assumptions.iter())),
    ];
    parts.extend(closing(laid, super::hanging::care(&laid.cautions)));
    parts.push(Part::Quiet(super::hanging::solved_in(&hung.solution)));
    Document { title: format!("{}: how it hangs", laid.title), parts }
}
