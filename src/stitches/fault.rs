//! What working the rows has to complain about, each fault once.

use crate::diagnostic::Diagnostic;
use crate::diagnostic::Label;
use crate::diagnostic::Severity;
use crate::source::Span;

/// Faults kept at most; more would hide the first ones.
const MOST: usize = 200;

/// Collects diagnostics, folding what a row says again when it is worked again.
#[derive(Debug, Default)]
pub(super) struct Faults {
    all: Vec<Diagnostic>,
    /// Code and row words of each fault.
    keys: Vec<(&'static str, Span)>,
    /// Rows in which each fault of the same index came again.
    again: Vec<Vec<String>>,
    /// Faults not kept.
    dropped: u32,
}

/// A fault's words.
#[derive(Debug, Clone, Default)]
pub(super) struct Words {
    /// Headline.
    pub(super) message: String,
    /// Expected.
    pub(super) expected: String,
    /// Found.
    pub(super) found: String,
    /// What would fit.
    pub(super) fit: String,
}

impl Faults {
    /// Adds a fault, or counts it with the same one at the same words.
    pub(super) fn add(
        &mut self,
        code: &'static str,
        severity: Severity,
        span: Span,
        at: (&str, Option<String>, Span),
        words: Words,
        secondary: Vec<Label>,
    ) {
        let (row, section, words_of) = at;
        let same = self.keys.iter().position(|&key| key == (code, words_of));
        if let Some(k) = same {
            self.again[k].push(row.to_owned());
            return;
        }
        if self.all.len() >= MOST {
            self.dropped += 1;
            return;
        }
        self.keys.push((code, words_of));
        self.again.push(Vec::new());
        self.all.push(Diagnostic {
            code,
            severity,
            message: words.message,
            primary: Label { span, text: String::new() },
            secondary,
            expected: words.expected,
            found: words.found,
            fit: words.fit,
            section,
            row: row.to_owned(),
        });
    }

    /// Says more of what was found by the fault of that code at those words, when it was told but once.
    pub(super) fn add_found(&mut self, key: (&'static str, Span), more: &str) {
        if let Some(k) = self.keys.iter().position(|&told| told == key)
            && self.again[k].is_empty()
        {
            self.all[k].found += &format!("; {more}");
        }
    }

    /// A fault of the row at `span` was told.
    pub(super) fn at(&self, span: Span) -> bool {
        self.keys
            .iter()
            .zip(&self.all)
            .any(|(key, f)| key.1 == span && f.severity == Severity::Error)
    }

    /// A fault of that code was told.
    pub(super) fn told(&self, code: &str) -> bool {
        self.keys.iter().any(|&(told, _)| told == code)
    }

    /// A count of the row at `span` was found wrong before.
    pub(super) fn about(&self, span: Span) -> bool {
        self.keys.contains(&("count-note", span))
    }

    /// All faults in page order, with the rows they came again in.
    pub(super) fn done(mut self) -> Vec<Diagnostic> {
        for (fault, rows) in self.all.iter_mut().zip(&self.again) {
            match rows.as_slice() {
                [] => {}
                [one] => fault.message += &format!(", and again in {one}"),
                [first, .., last] => {
                    fault.message +=
                        &format!(", and again {} times from {first} to {last}", rows.len());
                }
            }
        }
        self.all.sort_by_key(|d| (d.primary.span.start, std::cmp::Reverse(d.severity)));
        self.all
    }
}
