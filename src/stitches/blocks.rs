//! Rows of blocks, corner to corner, against counts of blocks.

use super::count::Counted;
use super::count::agrees;
use super::draft::Draft;
use super::fault::Words;
use super::maker::MakerAtWork;
use crate::pattern::CountNote;
use crate::pattern::Noun;

impl MakerAtWork<'_> {
    /// How the printed count fits the row, as [`agrees`]; blocks are counted by their stitches.
    pub(super) fn agrees(&self, draft: &Draft, note: &CountNote) -> Option<Counted> {
        match self.blocks_in(draft, note) {
            Some((blocks, rest)) => {
                (rest == 0 && note.parts[0].0 == blocks).then_some(Counted::Groups)
            }
            None if self.counts_blocks(note) => Some(Counted::Groups),
            None => agrees(draft, note, self.counted, &self.pattern.macros),
        }
    }

    fn counts_blocks(&self, note: &CountNote) -> bool {
        const WORDS: [&str; 8] =
            ["block", "blocks", "tile", "tiles", "box", "boxes", "square", "squares"];
        let [(_, Noun::Word(word))] = note.parts.as_slice() else { return false };
        self.blocks && WORDS.contains(&word.as_str())
    }

    /// Whole blocks of a row and the stitches over, where the page counts its rows in blocks and its first
    /// row tells how many stitches one has.
    fn blocks_in(&self, draft: &Draft, note: &CountNote) -> Option<(u32, u32)> {
        let first = self.piece.rows.iter().find(|r| r.label != "foundation")?;
        let counted = first.count_as_written.filter(|&n| n > 0 && first.made.is_multiple_of(n))?;
        let one = first.made / counted;
        (self.counts_blocks(note) && one > 0).then(|| (draft.made() / one, draft.made() % one))
    }

    /// What a wrong count of blocks is told as.
    pub(super) fn block_words(&self, draft: &Draft, note: &CountNote, name: &str) -> Option<Words> {
        let (blocks, rest) = self.blocks_in(draft, note)?;
        let [(n, Noun::Word(word))] = note.parts.as_slice() else { return None };
        let over = match rest {
            0 => String::new(),
            1 => " and 1 stitch".to_owned(),
            n => format!(" and {n} stitches"),
        };
        Some(Words {
            message: format!("{name} makes {blocks} {word}{over}, but the page counts {n}"),
            expected: format!("{n} {word}"),
            found: format!("{blocks}{over}"),
            fit: format!("print {blocks}, or work {n} {word} in this row"),
        })
    }
}
