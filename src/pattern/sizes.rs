//! Numbers in brackets: those of other sizes, and a count for each of several rows.

use super::syntax::CountNote;
use super::syntax::Heading;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;

/// `60 (72, 84)`: keeps the size wanted, the first where there are fewer.
pub(super) fn collapse_sizes(tokens: Vec<Token<'_>>, size: usize) -> Vec<Token<'_>> {
    let mut kept = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        kept.push(tokens[k]);
        if tokens[k].number().is_some()
            && tokens.get(k + 1).is_some_and(|t| t.kind == Kind::Open)
            && let Some(end) = size_list(&tokens, k + 1)
        {
            let mut others = tokens[k + 1..end].iter().filter(|t| t.number().is_some());
            if let Some(own) = size.checked_sub(1).and_then(|n| others.nth(n)) {
                let last = kept.len() - 1;
                kept[last] = *own;
            }
            k = end;
        }
        k += 1;
    }
    kept
}

/// Index of the bracket that ends a list of two or more bare numbers.
fn size_list(t: &[Token<'_>], open: usize) -> Option<usize> {
    let mut numbers = 0;
    for (k, token) in t.iter().enumerate().skip(open + 1) {
        match token.kind {
            Kind::Number(_) => numbers += 1,
            Kind::Stop(',' | ':' | ';') | Kind::Other('/') | Kind::Dash => {}
            Kind::Close => return (numbers >= 2).then_some(k),
            _ => return None,
        }
    }
    None
}

/// One bracket with as many numbers as the heading has rows is a count for each of them; the last
/// number's noun is that of all.
pub(super) fn count_per_row(heading: &Heading, counts: Vec<CountNote>) -> Vec<CountNote> {
    let rows = match &heading.numbers {
        Numbers::Range(a, b) => b.saturating_sub(*a) as usize + 1,
        Numbers::Listed(all) => all.len(),
        _ => 1,
    };
    match counts.as_slice() {
        [note] if rows > 1 && note.parts.len() == rows => {
            let noun = note.parts[rows - 1].1.clone();
            let each = note
                .parts
                .iter()
                .map(|&(n, _)| CountNote { parts: vec![(n, noun.clone())], span: note.span });
            each.collect()
        }
        _ => counts,
    }
}
