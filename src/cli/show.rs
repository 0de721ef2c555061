//! Diagnostics for a terminal.

use std::fmt::Write;

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use slantwise::diagnostic::{Diagnostic, Severity};
use slantwise::source::Source;

/// One line: place, severity, code, headline, and what would fit.
pub(super) fn short(source: &Source, d: &Diagnostic) -> String {
    let (line, column) = source.line_column(d.primary.span.start);
    let mut text = format!(
        "{}:{line}:{column}: {}[{}]: {}",
        source.name(),
        severity(d.severity),
        d.code,
        d.message
    );
    if !d.fit.is_empty() {
        let _ = write!(text, "; {}", d.fit);
    }
    text.push('\n');
    text
}

pub(super) fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Note => "note",
    }
}

/// With the words underlined.
pub(super) fn human(source: &Source, d: &Diagnostic) -> String {
    let level = match d.severity {
        Severity::Error => Level::ERROR,
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
    };
    let end = source.text().len();
    let clip = |span: slantwise::source::Span| {
        let start = (span.start as usize).min(end);
        start..(span.end as usize).clamp(start, end)
    };
    let mut snippet = Snippet::source(source.text())
        .path(source.name())
        .annotation(AnnotationKind::Primary.span(clip(d.primary.span)).label(&d.primary.text));
    for label in &d.secondary {
        let note = AnnotationKind::Context.span(clip(label.span)).label(&label.text);
        snippet = snippet.annotation(note);
    }
    let found = format!("expected {}; found {}", d.expected, d.found);
    let mut group = level.primary_title(&d.message).id(d.code).element(snippet);
    if !d.expected.is_empty() {
        group = group.element(Level::NOTE.message(&found));
    }
    if !d.fit.is_empty() {
        group = group.element(Level::HELP.message(&d.fit));
    }
    format!("{}\n\n", Renderer::styled().render(&[group]))
}
