//! Random edits of a pattern's text: what copying, typing and pasting do to a page.

use rand::Rng;
use rand::RngExt;

/// Kinds of edit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Edit {
    /// A word is lost.
    DropWord,
    /// A line stands twice.
    DoubleLine,
    /// A line is lost.
    DropLine,
    /// Two lines change places.
    SwapLines,
    /// A digit becomes another.
    Digit,
    /// A mark of punctuation becomes another.
    Punctuation,
    /// Capitals.
    Case,
    /// Straight marks become curly, hyphens dashes, x ×.
    Typography,
    /// Spaces become non-breaking, or vanish.
    Spaces,
    /// A bracket or asterisk is lost or put in.
    Bracket,
    /// Debris of another program.
    Debris,
    /// The text ends here.
    Cut,
}

pub(crate) const EDITS: [Edit; 12] = [
    Edit::DropWord,
    Edit::DoubleLine,
    Edit::DropLine,
    Edit::SwapLines,
    Edit::Digit,
    Edit::Punctuation,
    Edit::Case,
    Edit::Typography,
    Edit::Spaces,
    Edit::Bracket,
    Edit::Debris,
    Edit::Cut,
];

/// An index below `n`, 0 when there is none.
fn below(rng: &mut impl Rng, n: usize) -> usize {
    if n == 0 { 0 } else { rng.random_range(0..n) }
}

/// The text with one edit made in it, somewhere at or after byte `from`.
pub(crate) fn edited(text: &str, from: usize, edit: Edit, rng: &mut impl Rng) -> String {
    let (head, body) = text.split_at(from.min(text.len()));
    let body = match edit {
        Edit::DropWord => drop_word(body, rng),
        Edit::DoubleLine | Edit::DropLine | Edit::SwapLines => lines(body, edit, rng),
        Edit::Digit => {
            let digit = char::from(b'0' + below(rng, 10) as u8);
            replace_one(body, rng, |c| c.is_ascii_digit(), digit)
        }
        Edit::Punctuation => {
            let mark = [',', '.', ';', ':', '-', ' '][below(rng, 6)];
            replace_one(body, rng, |c| matches!(c, ',' | '.' | ';' | ':' | '-'), mark)
        }
        Edit::Case if rng.random_bool(0.5) => body.to_uppercase(),
        Edit::Case => body.to_lowercase(),
        Edit::Typography => typography(body),
        Edit::Spaces => spaces(body, rng),
        Edit::Bracket => {
            let mark = ['(', ')', '[', ']', '*', ' '][below(rng, 6)];
            replace_one(body, rng, |c| matches!(c, '(' | ')' | '[' | ']' | '*'), mark)
        }
        Edit::Debris => {
            let what = ["_x000B_", "&nbsp;", "\u{feff}", "\\text{", "\u{200b}", "🧶", "\t"];
            let which = what[below(rng, what.len())];
            insert(body, rng, which)
        }
        Edit::Cut => {
            let mut at = below(rng, body.len() + 1);
            while !body.is_char_boundary(at) {
                at -= 1;
            }
            body[..at].to_owned()
        }
    };
    head.to_owned() + &body
}

fn drop_word(text: &str, rng: &mut impl Rng) -> String {
    let words: Vec<(usize, &str)> = text
        .split([' ', '\n'])
        .map(|w| (w.as_ptr() as usize - text.as_ptr() as usize, w))
        .collect();
    let (at, word) = words[below(rng, words.len())];
    format!("{}{}", &text[..at], &text[at + word.len()..])
}

fn lines(text: &str, edit: Edit, rng: &mut impl Rng) -> String {
    let mut lines: Vec<&str> = text.lines().collect();
    let at = below(rng, lines.len());
    if lines.is_empty() {
        return String::new();
    }
    match edit {
        Edit::DoubleLine => lines.insert(at, lines[at]),
        Edit::DropLine => drop(lines.remove(at)),
        _ => {
            let other = below(rng, lines.len());
            lines.swap(at, other);
        }
    }
    lines.join("\n")
}

fn replace_one(text: &str, rng: &mut impl Rng, which: fn(char) -> bool, with: char) -> String {
    let places: Vec<usize> = text.char_indices().filter(|&(_, c)| which(c)).map(|p| p.0).collect();
    if places.is_empty() {
        return text.to_owned();
    }
    let at = places[below(rng, places.len())];
    let next = at + text[at..].chars().next().map_or(0, char::len_utf8);
    format!("{}{with}{}", &text[..at], &text[next..])
}

fn insert(text: &str, rng: &mut impl Rng, what: &str) -> String {
    let mut at = below(rng, text.len() + 1);
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    format!("{}{what}{}", &text[..at], &text[at..])
}

fn typography(text: &str) -> String {
    text.replace(" - ", " – ").replace('\'', "’").replace('"', "”").replace(" x ", " × ")
}

fn spaces(text: &str, rng: &mut impl Rng) -> String {
    let nbsp = rng.random_bool(0.5);
    text.chars()
        .filter_map(|c| match c {
            ' ' if nbsp && rng.random_bool(0.3) => Some('\u{a0}'),
            ' ' if !nbsp && rng.random_bool(0.02) => None,
            c => Some(c),
        })
        .collect()
}
