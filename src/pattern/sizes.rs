//! Numbers in brackets: those of other sizes, and a count for each of several rows.

use super::syntax::CountNote;
use super::syntax::Heading;
use super::syntax::Noun;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;

/// What sizes are called.
const SIZES: [&str; 21] = [
    "xs", "s", "m", "l", "xl", "xxl", "small", "medium", "large", "extra", "baby", "crib", "pram",
    "cot", "lap", "throw", "twin", "queen", "king", "child", "adult",
];

/// `60 (72, 84)`: keeps the size wanted, the first where there are fewer. "For small (medium, large)" says no
/// more than the columns do.
pub(super) fn collapse_sizes(tokens: Vec<Token<'_>>, size: usize) -> Vec<Token<'_>> {
    let mut kept = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        if let Some(end) = size_names(&tokens, k) {
            k = end;
            continue;
        }
        kept.push(tokens[k]);
        if tokens[k].number().is_some()
            && tokens.get(k + 1).is_some_and(|t| t.kind == Kind::Open)
            && let Some(end) = size_list(&tokens, k + 1).or_else(|| other_size(&tokens, k + 1))
        {
            let ranged = |j: usize| j > 0 && tokens[j - 1].kind == Kind::Dash;
            let ranges = (k + 1..end).any(ranged);
            let mut others =
                (k + 1..end).filter(|&j| tokens[j].number().is_some() && (!ranges || ranged(j)));
            if let Some(own) = size.checked_sub(1).and_then(|n| others.nth(n)) {
                let last = kept.len() - 1;
                kept[last] = tokens[own];
            }
            k = end;
        }
        k += 1;
    }
    kept
}

/// "for small (medium, large):" at `k`: the index after it.
fn size_names(t: &[Token<'_>], k: usize) -> Option<usize> {
    let first = k + usize::from(t[k].is("for"));
    t.get(first).filter(|t| t.any(&SIZES))?;
    let open = first + t[first..].iter().take_while(|t| t.any(&SIZES)).count();
    t.get(open).filter(|t| t.kind == Kind::Open)?;
    let close = open + t[open..].iter().position(|t| t.kind == Kind::Close)?;
    let named = |t: &Token<'_>| t.any(&SIZES) || t.is_stop() || t.kind == Kind::Dash;
    let all = close > open + 1 && t[open + 1..close].iter().all(named);
    let colon = usize::from(t.get(close + 1).is_some_and(|t| t.kind == Kind::Stop(':')));
    all.then_some(close + 1 + colon)
}

/// "9 [12] times", "106 [154] sts": one more size, told by the noun after the bracket. Index of its end.
fn other_size(t: &[Token<'_>], open: usize) -> Option<usize> {
    const NOUNS: [&str; 14] = [
        "sts", "st", "stitches", "times", "rows", "rnds", "rounds", "more", "ch", "chs", "chains",
        "cm", "inches", "in",
    ];
    let [number, close, noun] = t.get(open + 1..open + 4)? else { return None };
    let counted = noun.any(&NOUNS) || matches!(noun.kind, Kind::Other('"' | '”' | '″'));
    let into = noun.is("in") && t.get(open + 4).is_some_and(|t| t.kind == Kind::Word);
    let lone = number.number().is_some() && close.kind == Kind::Close;
    (lone && counted && !into).then_some(open + 2)
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
///
/// A row of its own has one count for each size instead: that of `size` stays.
pub(super) fn count_per_row(
    heading: &Heading,
    counts: Vec<CountNote>,
    size: usize,
) -> Vec<CountNote> {
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
        _ => counts.into_iter().map(|note| of_size(note, size)).collect(),
    }
}

/// "(91, 127, 181 sts)": three counts or more that grow, under one noun, are those of several sizes.
fn of_size(note: CountNote, size: usize) -> CountNote {
    let [bare @ .., (_, noun)] = note.parts.as_slice() else { return note };
    let same = bare.len() > 1 && bare.iter().all(|(_, n)| *n == Noun::Stitches);
    if !same || note.parts.windows(2).any(|w| w[1].0 < w[0].0) {
        return note;
    }
    let own = note.parts[size.min(bare.len())].0;
    CountNote { parts: vec![(own, noun.clone())], span: note.span }
}
