//! `slantwise write`: the pattern written out again, cleaned up, in US or UK terms.

use std::io::Write;

use slantwise::instructions;
use slantwise::pattern;
use slantwise::pattern::Terms;
use slantwise::predict;

use super::args::TermsWord;
use super::args::WriteOptions;
use super::files;
use super::files::CannotRun;
use super::{Exit, check, print, show};

/// Runs the command. The text goes to stdout; faults of the pattern, and rows whose words would not
/// read back as the same stitches, to stderr.
pub(super) fn write(options: &WriteOptions) -> Result<Exit, CannotRun> {
    let source = files::read(&options.file)?;
    let (pattern, mut diagnostics) = pattern::parse(&source);
    let (piece, faults) = predict::work(&pattern);
    diagnostics.extend(faults);
    let terms = match options.terms {
        None => pattern.header.terms.value,
        Some(TermsWord::Us) => Terms::Us,
        Some(TermsWord::Uk) => Terms::Uk,
    };
    if piece.rows.is_empty() {
        return Err(CannotRun::Stage(
            "no row could be worked, so there is nothing to write".into(),
        ));
    }
    let written = instructions::write(&piece, &pattern.header, Some(&source), terms);
    print(&written.text)?;
    let mut err = anstream::stderr();
    for fault in &diagnostics {
        let _ = write!(err, "{}", show::short(&source, fault));
    }
    let mut rows = written.differing.iter().filter_map(|id| piece.rows.get(id.0 as usize));
    if let Some(first) = rows.next() {
        let (line, column) = source.line_column(first.words.start);
        let more = match rows.count() {
            0 => String::new(),
            n => format!(" and {n} more"),
        };
        let _ = writeln!(
            err,
            "{}:{line}:{column}: warning[not-the-same]: row {}{more} as written here reads back as other \
             stitches; keep the page's own words for it",
            source.name(),
            first.label
        );
    }
    Ok(if written.differing.is_empty() { check::exit(&diagnostics) } else { Exit::Faults })
}
