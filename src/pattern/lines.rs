//! Lines that are parts of one sentence: broken by the width of a page, or the bands of a stripe sequence set one
//! below another.
//!
//! Breaks are turned into one byte for one byte, so that places stay as they are.

/// Shorter lines end where their writer ended them.
const FULL: usize = 55;

/// Longer lines show that the page was not broken by its width.
const WIDEST: usize = 110;

/// Lines of a paragraph looked at for its width, above and below.
const NEAR: usize = 6;

/// Words that begin an instruction of their own, even in lower case.
const BEGINS: [&str; 24] = [
    "row", "rows", "rnd", "rnds", "round", "rounds", "rep", "repeat", "rpt", "work", "fasten",
    "finish", "bind", "cast", "join", "turn", "with", "change", "continue", "cont", "next", "then",
    "border", "edging",
];

/// `lower`, which is `text` in lower case, with what stands on several lines from byte `start` on joined.
pub(super) fn joined(text: &str, lower: String, start: u32) -> String {
    let start = start as usize;
    let mut lines: Vec<(usize, usize)> = Vec::new();
    let mut at = start;
    while at < lower.len() {
        let end = lower[at..].find('\n').map_or(lower.len(), |n| at + n);
        lines.push((at, end));
        at = end + 1;
    }
    let line = |k: usize| lines.get(k).map_or("", |&(a, b)| lower[a..b].trim());
    let wrapped = (0..lines.len()).all(|k| line(k).len() <= WIDEST);
    let mut marks: Vec<(usize, u8)> = Vec::new();
    let mut k = 0;
    while k + 1 < lines.len() {
        let bands = bands_below(&line, k);
        marks.extend(lines.iter().skip(k).take(bands).map(|line| (line.1, b',')));
        k += bands;
        let written = lines.get(k + 1).and_then(|&(a, b)| text.get(a..b)).unwrap_or("").trim();
        let filled = |j: &usize| !line(*j).is_empty();
        let above = (k.saturating_sub(NEAR)..k).rev().take_while(filled);
        let below = (k..k + NEAR).take_while(filled);
        let width = || above.chain(below).map(|j| line(j).len()).max().unwrap_or(0);
        if k + 1 < lines.len()
            && bands == 0
            && (bracket_goes_on(line(k), line(k + 1))
                || wrapped && sentence_goes_on(line(k), written, width()))
        {
            marks.push((lines[k].1, b' '));
        }
        k += 1;
    }
    let mut bytes = lower.into_bytes();
    for (at, mark) in marks {
        bytes[at] = mark;
    }
    String::from_utf8(bytes).unwrap_or_default()
}

/// A bracket opened in `line` is closed in `next`: "turn. (76" and "sc)".
fn bracket_goes_on(line: &str, next: &str) -> bool {
    let depth = line.chars().fold(0i32, |depth, c| match c {
        '(' | '[' | '{' => depth + 1,
        ')' | ']' | '}' => (depth - 1).max(0),
        _ => depth,
    });
    let first = next.chars().find(|c| "()[]{}".contains(*c));
    depth == 1 && first.is_some_and(|c| ")]}".contains(c)) && !heads(next)
}

/// A line as long as its paragraph is wide, whose sentence goes on in lower case below.
fn sentence_goes_on(line: &str, next: &str, width: usize) -> bool {
    let word = next.split_whitespace().next().unwrap_or("");
    let open = line.ends_with(|c: char| c.is_alphanumeric() || c == ',');
    let on = word.starts_with(|c: char| c.is_lowercase()) && !heads(next);
    line.len() >= FULL && open && on && line.len() + 1 + word.len() > width
}

/// The line begins something of its own.
fn heads(line: &str) -> bool {
    let word: String = line.chars().take_while(|c| c.is_alphabetic()).collect();
    let after = line[word.len()..].trim_start();
    let label = after.starts_with([':', '=']);
    let row = word == "r" && after.starts_with(|c: char| c.is_ascii_digit());
    label || row || BEGINS.contains(&word.as_str())
}

/// How many lines below `k` are the bands of the stripe sequence it announces, and what is worked of them.
fn bands_below<'t>(line: &impl Fn(usize) -> &'t str, k: usize) -> usize {
    let says = |text: &str| ["stripe", "sequence"].iter().any(|w| text.contains(w));
    if !(line(k).ends_with(':') && says(line(k))) {
        return 0;
    }
    let bands = (k + 1..).take_while(|&j| is_band(line(j))).count();
    let of_them = line(k + 1 + bands);
    let worked = ["work", "rep", "repeat"].iter().any(|w| of_them.starts_with(w)) && says(of_them);
    if bands < 2 { 0 } else { bands + usize::from(worked) }
}

/// "A: 20 rows", "Cream - 4 rows", "2 rows B".
fn is_band(line: &str) -> bool {
    let words: Vec<&str> =
        line.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect();
    let rows = |w: &str| matches!(w, "row" | "rows" | "rnds" | "rounds" | "ridges");
    words.len() < 6
        && words.windows(2).any(|w| w[0].bytes().all(|b| b.is_ascii_digit()) && rows(w[1]))
        && words.len() > 2
        && !rows(words[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plain(text: &str) -> String {
        joined(text, text.to_ascii_lowercase(), 0)
    }

    #[test]
    fn counts_and_sentences_broken_by_the_width_are_joined() {
        let text = "Row 2: Ch 1, turn. (76\nsc)\nRow 3: sc";
        assert_eq!(plain(text), "row 2: ch 1, turn. (76 sc)\nrow 3: sc");
        let text =
            "Ch 1 at the start of a sc row and ch 3 at the start of a taller\nrow do not count.";
        assert!(plain(text).contains("taller\nrow"), "`row` may begin a row");
        let text = "Ch 1 at the start of a sc row and ch 3 at the start of other\ntaller ones do not count.";
        assert!(plain(text).contains("other taller"));
    }

    #[test]
    fn bands_below_one_another_are_one_list() {
        let text = "Work this stripe sequence:\nA: 20 rows\nB: 4 rows\nWork the sequence 3 times.\nBind off.";
        assert_eq!(
            plain(text),
            "work this stripe sequence:,a: 20 rows,b: 4 rows,work the sequence 3 times.\nbind off."
        );
    }
}
