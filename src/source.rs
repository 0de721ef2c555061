//! The text of a pattern and places in it.

use std::ops::Range;

/// A byte range of a [`Source`]: `start..end`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, PartialOrd, Ord)]
pub struct Span {
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The bytes `start..end`.
    pub const fn new(start: u32, end: u32) -> Self {
        Self { start, end }
    }
    /// The smallest span holding both.
    pub fn to(self, other: Self) -> Self {
        Self { start: self.start.min(other.start), end: self.end.max(other.end) }
    }
    /// As a `usize` range, for slicing.
    pub const fn range(self) -> Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A named text with an index of its lines.
#[derive(Debug, Clone)]
pub struct Source {
    name: String,
    text: String,
    line_starts: Vec<u32>,
}

impl Source {
    /// Indexes `text`; `name` is what messages call it (usually the file's name).
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Self {
        let text = text.into();
        let breaks = text.bytes().enumerate().filter(|&(_, b)| b == b'\n');
        let line_starts = std::iter::once(0).chain(breaks.map(|(i, _)| i as u32 + 1)).collect();
        Self { name: name.into(), text, line_starts }
    }
    /// What messages call this text.
    pub fn name(&self) -> &str {
        &self.name
    }
    /// The whole text.
    pub fn text(&self) -> &str {
        &self.text
    }
    /// The words at `span`; empty when the span lies outside the text or cuts a character.
    pub fn slice(&self, span: Span) -> &str {
        self.text.get(span.range()).unwrap_or("")
    }
    /// One-based line and column (in characters) of a byte offset.
    pub fn line_column(&self, offset: u32) -> (usize, usize) {
        let line = self.line_starts.partition_point(|&start| start <= offset).max(1);
        let start = self.line_starts[line - 1] as usize;
        let before = self.text.get(start..offset as usize).unwrap_or("");
        (line, before.chars().count() + 1)
    }
}
