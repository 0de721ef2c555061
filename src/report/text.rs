//! The report as plain text, at most a hundred columns wide.

use std::fmt::Write as _;

use super::table::{Row, rows};
use super::words;
use crate::predict::Assumption;
use crate::predict::Prediction;

const COLUMNS: usize = 100;

/// Room of a value with its source: two lines.
const SOURCE_ROOM: usize = 2 * COLUMNS - 16;

/// The answers first, then planned beside predicted, the rows that bend the edges, what the numbers
/// rest on, cautions and the solve.
pub fn text(prediction: &Prediction) -> String {
    let mut out = String::new();
    let title = wrapped(&prediction.title, "");
    let _ = writeln!(out, "{title}");
    let _ = writeln!(out, "{}\n", "=".repeat(title.chars().count().min(COLUMNS)));
    for sentence in words::headline(prediction) {
        let _ = writeln!(out, "{}", wrapped(&sentence, "  "));
    }
    table(&mut out, &rows(prediction));
    let _ = writeln!(out, "\n{}", wrapped(words::YARN_NOTE, ""));
    benders(&mut out, prediction);
    basis(&mut out, prediction);
    list(&mut out, "Cautions", prediction.cautions.iter().cloned());
    let _ = writeln!(out, "\n{}", wrapped(&words::solver(prediction), ""));
    out
}

fn table(out: &mut String, rows: &[Row]) {
    let mut lines = vec![Row::head()];
    lines.extend_from_slice(rows);
    let sure = rows.iter().any(|row| !row.sure.is_empty());
    let cells = |row: &Row| {
        let last = if sure { row.sure.clone() } else { String::new() };
        [row.what.clone(), row.planned.clone(), row.predicted.clone(), row.difference.clone(), last]
    };
    let mut widths = [0; 5];
    for row in &lines {
        for (width, cell) in widths.iter_mut().zip(cells(row)) {
            *width = (*width).max(cell.chars().count());
        }
    }
    // Only names of colours and sections can be long: they give way.
    let others: usize = widths[1..].iter().sum::<usize>() + 8;
    widths[0] = widths[0].min(COLUMNS.saturating_sub(others).max(20));
    out.push('\n');
    for (i, row) in lines.iter().enumerate() {
        let [what, rest @ ..] = cells(row);
        let mut line = format!("{:<w$}", cut(&what, widths[0]), w = widths[0]);
        for (cell, width) in rest.iter().zip(&widths[1..]).filter(|(_, width)| **width > 0) {
            let _ = write!(line, "  {cell:>width$}");
        }
        let _ = writeln!(out, "{}", line.trim_end());
        if i == 0 {
            let gaps = 2 * widths[1..].iter().filter(|w| **w > 0).count();
            let _ = writeln!(out, "{}", "-".repeat(widths.iter().sum::<usize>() + gaps));
        }
    }
    if sure {
        let _ = writeln!(out, "\n{}", wrapped(words::SURE_NOTE, ""));
    }
}

fn benders(out: &mut String, prediction: &Prediction) {
    if prediction.measured.closed.is_some() {
        return;
    }
    for (name, edge) in ["left", "right"].iter().zip(&prediction.measured.edges) {
        let lines = edge.benders.iter().take(5).map(|b| words::bender(b, prediction.units));
        list(out, &format!("Rows that bend the {name} edge most"), lines);
    }
}

fn basis(out: &mut String, prediction: &Prediction) {
    let line = |a: &Assumption| {
        let whole = format!("{}: {}; {}", a.what, a.value, a.source);
        cut(&whole, SOURCE_ROOM)
    };
    let of = |assumed: bool| prediction.assumptions.iter().filter(move |a| a.assumed == assumed);
    let _ = writeln!(
        out,
        "\nSizes are as {}; sources stand in full in the JSON.",
        prediction.gauge_state
    );
    list(out, "Stated or published", of(false).map(line));
    list(out, "Assumed (replace what you have measured)", of(true).map(line));
}

fn list(out: &mut String, head: &str, lines: impl Iterator<Item = String>) {
    for (i, line) in lines.enumerate() {
        if i == 0 {
            let _ = writeln!(out, "\n{head}");
        }
        let _ = writeln!(out, "{}", wrapped(&format!("  {line}"), "    "));
    }
}

/// `text` broken at spaces to the page's width; further lines start with `hanging`. A word longer
/// than a line is cut, so that no line is ever wider.
pub(super) fn wrapped(text: &str, hanging: &str) -> String {
    let lead: String = text.chars().take_while(|c| *c == ' ').collect();
    let mut lines = vec![lead.clone()];
    let mut empty = true;
    for word in text.split_whitespace() {
        let mut word: Vec<char> = word.chars().filter(|c| !c.is_control()).collect();
        loop {
            let line = lines.last_mut().expect("there is always a line");
            let used = line.chars().count() + usize::from(!empty);
            if used + word.len() <= COLUMNS {
                if !empty {
                    line.push(' ');
                }
                line.extend(word.iter());
                empty = false;
                break;
            }
            if empty {
                let room = COLUMNS - used;
                line.extend(word.drain(..room));
            }
            lines.push(hanging.to_owned());
            empty = true;
        }
    }
    lines.join("\n")
}

fn cut(text: &str, room: usize) -> String {
    if text.chars().count() <= room {
        return text.to_owned();
    }
    text.chars().take(room.saturating_sub(1)).chain(['…']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_wider_than_the_page() {
        let long = format!("  start {} end {}", "x".repeat(250), "word ".repeat(60));
        let broken = wrapped(&long, "    ");
        assert!(broken.lines().all(|line| line.chars().count() <= COLUMNS), "{broken}");
        assert_eq!(broken.matches('x').count(), 250);
        assert_eq!(broken.matches("word").count(), 60);
    }
}
