//! Slips of the pen that can mean one word only: letters in the wrong order, one doubled or lost.
//!
//! Such a word is read as the word meant, with a message, so that one slip is one message.

use super::heading::row_word;
use super::row::RowReader;
use super::token::Kind;
use super::token::Token;
use super::vocabulary::stitch_at;
use super::words::known;
use crate::source::Span;

/// Words of instructions long enough to be told from others.
const NAMES: [&str; 21] = [
    "next", "last", "each", "knit", "purl", "stitch", "stitches", "around", "turn", "skip", "miss",
    "join", "repeat", "across", "shell", "cluster", "picot", "bobble", "popcorn", "ring", "chain",
];
/// Words of their own a letter short of one of those.
const OTHERS: [&str; 3] = ["sell", "chin", "chai"];
const ROWS: [&str; 5] = ["row", "rows", "round", "rounds", "rnd"];

/// The word of instructions that `word` is a slip of.
pub(super) fn meant(word: &str) -> Option<&'static str> {
    if known(word) || !word.is_ascii() || OTHERS.contains(&word) {
        return None;
    }
    NAMES.into_iter().find(|name| swapped(word, name) || name.len() > 4 && one_letter(word, name))
}

/// The word for a row that `word` is a slip of.
pub(super) fn row_meant(word: &str) -> Option<&'static str> {
    ROWS.into_iter().find(|name| swapped(word, name))
}

/// Two neighbouring letters have changed places.
fn swapped(word: &str, name: &str) -> bool {
    let (a, b) = (word.as_bytes(), name.as_bytes());
    let differ = || (0..a.len()).filter(|&k| a[k] != b[k]);
    a.len() == b.len()
        && differ().count() == 2
        && differ()
            .next()
            .is_some_and(|k| a.get(k + 1) == Some(&b[k]) && b.get(k + 1) == Some(&a[k]))
}

/// One letter is missing behind the first, or doubled.
fn one_letter(word: &str, name: &str) -> bool {
    let without = |text: &str, k: usize| format!("{}{}", &text[..k], &text[k + 1..]);
    let missing = word.len() + 1 == name.len() && (1..name.len()).any(|k| without(name, k) == word);
    let bytes = word.as_bytes();
    let doubled = word.len() == name.len() + 1
        && (1..word.len()).any(|k| bytes[k] == bytes[k - 1] && without(word, k) == name);
    missing || doubled
}

impl RowReader<'_> {
    /// The tokens of a row with its slips mended, and where they are.
    pub(super) fn mended<'t>(&self, mut t: Vec<Token<'t>>) -> (Vec<Token<'t>>, Vec<Span>) {
        let own = |word: &str| {
            self.cx.colours.iter().any(|c| c == word)
                || self.cx.macros.iter().any(|m| m.split(' ').any(|part| part == word))
                || super::colour::plain(word)
        };
        let slip = |t: &[Token<'t>], k: usize| {
            let word = t[k].kind == Kind::Word && t[k].text.len() > 3 && !own(t[k].text);
            meant(t[k].text).filter(|_| word && stitch_at(&self.cx, t, k).is_none())
        };
        let mut slips = Vec::new();
        for k in 0..t.len() {
            let misses = self.cx.misses && t[k].is("m") && !(k > 0 && t[k - 1].number().is_some());
            if misses && t.get(k + 1).is_some_and(|t| t.number().is_some() || t.kind == Kind::Word)
            {
                t[k].text = "miss";
            }
            if let Some(name) = slip(&t, k) {
                slips.push(t[k].span);
                t[k].text = name;
            }
        }
        (t, slips)
    }
}

/// "Rwo 3:" at the start of a line.
pub(super) fn garbled_heading(t: &[Token<'_>], k: usize) -> Option<bool> {
    let word = t.get(k).filter(|t| k == 0 && t.kind == Kind::Word)?;
    let name = row_meant(word.text)?;
    let marked = t.get(k + 2).is_some_and(|t| matches!(t.kind, Kind::Stop(':' | '.') | Kind::Open));
    let numbered = t.get(k + 1)?.number().is_some() && marked;
    let read = Token { text: name, ..*word };
    numbered.then(|| row_word(Some(&read))).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_told_from_words() {
        for (slip, name) in
            [("enxt", "next"), ("sitch", "stitch"), ("arround", "around"), ("rign", "ring")]
        {
            assert_eq!(meant(slip), Some(name), "{slip}");
        }
        for word in ["cross", "text", "next", "reach", "peach", "sell", "chin", "turns", "rind"] {
            assert_eq!(meant(word), None, "{word}");
        }
        assert_eq!(row_meant("rwo"), Some("row"));
        assert_eq!(row_meant("raw"), None);
    }
}
