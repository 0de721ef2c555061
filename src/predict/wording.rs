//! The words of the page each stitch was read from, so that later stages can quote them without
//! holding the page.

use std::collections::BTreeMap;

use crate::source::Source;
use crate::source::Span;
use crate::stitches::Piece;

/// Words of the pattern, stitch by stitch. Stitches read from the same words share one entry.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Wording {
    /// Distinct words, in order of first use, on one line each.
    pub texts: Vec<String>,
    /// For each stitch of the piece, its index in `texts`.
    pub of: Vec<u32>,
}

impl Wording {
    /// The words stitch number `stitch` was read from; empty when there are none.
    pub fn of_stitch(&self, stitch: u32) -> &str {
        let text = self.of.get(stitch as usize).and_then(|&at| self.texts.get(at as usize));
        text.map_or("", String::as_str)
    }
}

/// Looks up the words of every stitch of `piece`.
pub(super) fn wording(piece: &Piece, source: &Source) -> Wording {
    let mut known: BTreeMap<Span, u32> = BTreeMap::new();
    let mut texts: Vec<String> = Vec::new();
    let of = piece
        .stitches
        .iter()
        .map(|stitch| {
            *known.entry(stitch.words).or_insert_with(|| {
                let words = source.slice(stitch.words).split_whitespace();
                texts.push(words.collect::<Vec<_>>().join(" "));
                texts.len() as u32 - 1
            })
        })
        .collect();
    Wording { texts, of }
}
