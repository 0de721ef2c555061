//! Every fixture that can be worked, written out again in US and in UK terms, reads back as the same stitches.

use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::instructions;
use slantwise::pattern::{self, Terms};
use slantwise::source::Source;
use slantwise::stitches;

use super::{Run, fixtures, run, split};

fn worst(said: &[Diagnostic]) -> Severity {
    said.iter().map(|d| d.severity).max().unwrap_or(Severity::Note)
}

/// What is wrong with the text of a page: rows that differ, faults told of it.
fn wrong(run: &Run, terms: Terms) -> Option<String> {
    let written = instructions::write(&run.piece, &run.pattern.header, Some(&run.source), terms);
    let label = |r: &stitches::RowId| run.piece.rows[r.0 as usize].label.as_str();
    let rows: Vec<&str> = written.differing.iter().map(label).collect();
    if !rows.is_empty() {
        return Some(format!("{terms:?}: rows {rows:?} differ in\n{}", written.text));
    }
    let (pattern, mut said) = pattern::parse(&Source::new("written", written.text.as_str()));
    said.extend(stitches::work(&pattern).1);
    // A page that raises doubts may raise them again; a text must not raise any of its own.
    let most = worst(&run.diagnostics);
    let faults: Vec<String> = said
        .iter()
        .filter(|d| d.severity > most)
        .map(|d| format!("{}: {}", d.row, d.message))
        .collect();
    (!faults.is_empty()).then(|| format!("{terms:?}: {faults:?} told of\n{}", written.text))
}

#[test]
fn fixtures_written_out_read_back_as_the_same_stitches() {
    let (mut found, mut written) = (String::new(), 0);
    for path in fixtures() {
        let name = path.file_name().map(|n| n.to_string_lossy().into_owned()).unwrap_or_default();
        let text = std::fs::read_to_string(&path).expect("fixture");
        let run = run(&name, split(&text).0);
        if worst(&run.diagnostics) == Severity::Error || run.piece.rows.is_empty() {
            continue;
        }
        written += 1;
        for missed in [Terms::Us, Terms::Uk].into_iter().filter_map(|terms| wrong(&run, terms)) {
            found += &format!("{name} {missed}\n");
        }
    }
    assert!(written > 250, "only {written} fixtures can be worked");
    assert!(found.is_empty(), "\n{found}");
}
