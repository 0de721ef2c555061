//! The syntax tree's yarns of rows: those told by the rows' numbers, and stripe sequences.

/// "Use A for rows 1-18."
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowColour {
    /// From the first to the last of these rows, by their numbers.
    pub rows: (u32, u32),
    /// Their colour.
    pub colour: u16,
}

/// A stripe sequence, worked over and over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stripes {
    /// The byte of the page from which on it holds.
    pub from: u32,
    /// Rows and colour of each band, in order; two or more.
    pub bands: Vec<(u32, u16)>,
    /// The band that the sequence comes back to when it is through.
    pub again: usize,
    /// The first band goes on after rows worked before: "9 more rows A".
    pub more: bool,
}
