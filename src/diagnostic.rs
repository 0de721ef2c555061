//! What is said about a pattern: faults, doubts and remarks, each with its place.
//!
//! A diagnostic always carries the row, the words read, what was expected, what was found and the
//! change that would fit; drawing it for a terminal is the command line's job.

use crate::source::Span;

/// How much it matters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// For information: a reading that was chosen, a default that was taken.
    Note,
    /// Doubtful, but the piece can be worked as written.
    Warning,
    /// The pattern contradicts itself or cannot be worked as written.
    Error,
}

/// A place in the text with a word about it.
#[derive(Debug, Clone, PartialEq)]
pub struct Label {
    /// Where.
    pub span: Span,
    /// What stands there, in a few words; may be empty.
    pub text: String,
}

/// One thing said about a pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnostic {
    /// Kebab-case name of the kind of fault, stable across versions.
    pub code: &'static str,
    /// How much it matters.
    pub severity: Severity,
    /// Terse headline: lower case, no full stop, source words in backticks.
    pub message: String,
    /// The words it is about.
    pub primary: Label,
    /// Other places that explain it.
    pub secondary: Vec<Label>,
    /// What was expected there.
    pub expected: String,
    /// What was found.
    pub found: String,
    /// The change that would fit.
    pub fit: String,
    /// Section the row belongs to, if sections are named.
    pub section: Option<String>,
    /// Row or round as the pattern calls it ("Row 12"); for things outside rows, what part of the
    /// page it is ("front matter").
    pub row: String,
}
