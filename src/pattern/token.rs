//! Cutting a stretch of text into tokens: words, numbers, brackets, stars and marks.
//!
//! Letters and digits are cut apart (`sc2tog` is `sc`, `2`, `tog`), so that case, plural, spacing and
//! full stops, which carry no meaning in written instructions, stop mattering. Whether a token touches
//! the one before is kept, because `ch-3` (an existing space) and `ch 3` (make one) differ by it.

use crate::source::Span;
use logos::Logos;

/// What a token is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A word (letters only), compared in lower case.
    Word,
    /// A whole number; larger than `u32` saturates.
    Number(u32),
    /// One or more stars in a row, or another repeat mark.
    Star(u8),
    /// `(`, `[` or `{`.
    Open,
    /// `)`, `]` or `}`.
    Close,
    /// A hyphen or dash of any length.
    Dash,
    /// A separator: `,` `.` `;` `:` or the end of a line.
    Stop(char),
    /// Anything else.
    Other(char),
}

/// A token with its place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Token<'a> {
    /// What it is.
    pub(crate) kind: Kind,
    /// Its text, in lower case.
    pub(crate) text: &'a str,
    /// Where it stands.
    pub(crate) span: Span,
    /// It touches the token before.
    pub(crate) glued: bool,
}

#[derive(Logos, Debug, Clone, Copy, PartialEq)]
#[logos(skip r"[ \t\r\u{a0}\u{feff}\u{2002}-\u{200f}\u{202f}\u{fe0e}\u{fe0f}]+")]
enum Raw {
    #[regex(r"\p{L}+")]
    Word,
    #[regex(r"[0-9]+")]
    Number,
    #[regex(r"\*+")]
    Star,
    #[regex(r"[\(\[\{]")]
    Open,
    #[regex(r"[\)\]\}]")]
    Close,
    #[regex(r"[-\u{2010}-\u{2015}\u{2212}]+")]
    Dash,
    #[regex(r"[,.;:\n\u{2026}\u{3002}]")]
    Stop,
    #[regex(r"[^ \t\r\n]", priority = 1)]
    Other,
}

/// Cuts `text` (in lower case) that starts at byte `offset` of the source.
pub(crate) fn cut(text: &str, offset: u32) -> Vec<Token<'_>> {
    let mut tokens = Vec::with_capacity(text.len() / 4);
    let mut lexer = Raw::lexer(text);
    let mut end = usize::MAX;
    while let Some(raw) = lexer.next() {
        let range = lexer.span();
        let slice = lexer.slice();
        let first = slice.chars().next().unwrap_or(' ');
        let kind = match raw {
            Ok(Raw::Word) => Kind::Word,
            Ok(Raw::Number) => Kind::Number(slice.parse().unwrap_or(u32::MAX)),
            Ok(Raw::Star) => Kind::Star(slice.len().min(9) as u8),
            Ok(Raw::Open) => Kind::Open,
            Ok(Raw::Close) => Kind::Close,
            Ok(Raw::Dash) => Kind::Dash,
            Ok(Raw::Stop) => Kind::Stop(if first == '\u{2026}' { '.' } else { first }),
            Ok(Raw::Other) | Err(()) => mark(first),
        };
        let span = Span::new(offset + range.start as u32, offset + range.end as u32);
        // A times sign is read as the letter that stands for it in plain text.
        let slice = if first == '×' { "x" } else { slice };
        tokens.push(Token { kind, text: slice, span, glued: range.start == end });
        end = range.end;
    }
    let tokens = with_loops(join_slashed(with_angles(tokens)));
    with_numbers(without_dots(join_dotted(tokens, text, offset)))
}

/// "hdcblo" is "hdc blo", written without the space.
fn with_loops(tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    const STITCHES: [&str; 7] = ["sc", "hdc", "dc", "tr", "htr", "dtr", "slst"];
    let parts = |t: &Token<'_>| {
        let stitch = t.text.strip_suffix("blo").or_else(|| t.text.strip_suffix("flo"))?;
        (t.kind == Kind::Word && STITCHES.contains(&stitch)).then_some(stitch.len())
    };
    // "hdc-blo", "hdc2tog-blo"
    let hyphen = |k: usize| {
        let word = |k: usize| tokens.get(k).is_some_and(|t: &Token<'_>| t.kind == Kind::Word);
        k > 0
            && tokens[k].kind == Kind::Dash
            && tokens[k].glued
            && word(k - 1)
            && tokens.get(k + 1).is_some_and(|t| t.glued && t.any(&["blo", "flo"]))
    };
    let hyphens: Vec<usize> = (0..tokens.len()).filter(|&k| hyphen(k)).collect();
    if hyphens.is_empty() && !tokens.iter().any(|t| parts(t).is_some()) {
        return tokens;
    }
    let mut kept = Vec::with_capacity(tokens.len() + 4);
    for (k, token) in tokens.into_iter().enumerate() {
        if hyphens.contains(&k) {
            continue;
        }
        let Some(len) = parts(&token) else {
            kept.push(token);
            continue;
        };
        let middle = token.span.start + len as u32;
        let (stitch, loops) = token.text.split_at(len);
        kept.push(Token { text: stitch, span: Span::new(token.span.start, middle), ..token });
        let span = Span::new(middle, token.span.end);
        kept.push(Token { text: loops, span, glued: true, ..token });
    }
    kept
}

/// `<42 sts>` is a bracket round a number, and `<- note` is none of the row's words.
fn with_angles(mut tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    const LONGEST: usize = 16;
    // "<- stays the same" is a note in the margin.
    let margin = |t: &[Token<'_>], k: usize| {
        t[k].kind == Kind::Other('←')
            || t[k].kind == Kind::Other('<')
                && t.get(k + 1).is_some_and(|t| t.kind == Kind::Dash && t.glued)
    };
    while let Some(from) = (0..tokens.len()).find(|&k| margin(&tokens, k)) {
        let line = tokens[from..].iter().position(|t| t.kind == Kind::Stop('\n'));
        tokens.drain(from..line.map_or(tokens.len(), |n| from + n));
    }
    for k in 0..tokens.len() {
        if tokens[k].kind != Kind::Other('<')
            || tokens.get(k + 1).is_none_or(|t| t.number().is_none())
        {
            continue;
        }
        let inside = tokens[k..].iter().take(LONGEST);
        let close = inside
            .take_while(|t| t.kind != Kind::Stop('\n'))
            .position(|t| t.kind == Kind::Other('>'));
        if let Some(len) = close {
            (tokens[k].kind, tokens[k + len].kind) = (Kind::Open, Kind::Close);
        }
    }
    tokens
}

/// `s.c.` and `d.tr` are one word each: letters joined by full stops.
fn join_dotted<'a>(tokens: Vec<Token<'a>>, text: &'a str, offset: u32) -> Vec<Token<'a>> {
    let dotted = |w: &[Token<'_>]| {
        w[0].kind == Kind::Word
            && matches!(w[0].text.rsplit('.').next(), Some("s" | "d" | "h" | "t"))
            && w[1].kind == Kind::Stop('.')
            && w[1].glued
            && w[2].kind == Kind::Word
            && w[2].glued
            && w[2].text.len() < 3
    };
    if !tokens.windows(3).any(dotted) {
        return tokens;
    }
    let mut joined: Vec<Token<'a>> = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        let mut token = tokens[k];
        while k + 2 < tokens.len() && dotted(&[token, tokens[k + 1], tokens[k + 2]]) {
            token.span = token.span.to(tokens[k + 2].span);
            token.text =
                &text[(token.span.start - offset) as usize..(token.span.end - offset) as usize];
            k += 2;
        }
        joined.push(token);
        k += 1;
    }
    joined
}

/// "C/O 39 sts", "B/O", "join w/ sl st": one word each.
fn join_slashed(tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    let slashed = |w: &[Token<'_>]| w[1].kind == Kind::Other('/') && w[1].glued;
    if !tokens.windows(2).any(slashed) {
        return tokens;
    }
    let mut kept = Vec::with_capacity(tokens.len());
    let mut k = 0;
    while k < tokens.len() {
        let mut token = tokens[k];
        let after = tokens.get(k + 2).filter(|t| t.glued);
        if tokens.len() > k + 1 && slashed(&tokens[k..k + 2]) {
            let all = match (token.text, after) {
                ("c", Some(o)) if o.is("o") => Some(("co", 2)),
                ("b", Some(o)) if o.is("o") => Some(("bo", 2)),
                // "w/o" is "without", "W/S" the wrong side.
                ("w", None) => Some(("with", 1)),
                ("w", Some(word)) if word.text.len() > 1 => Some(("with", 1)),
                _ => None,
            };
            if let Some((word, more)) = all {
                token.text = word;
                token.span = token.span.to(tokens[k + more].span);
                k += more;
            }
        }
        kept.push(token);
        k += 1;
    }
    kept
}

/// Small numbers as names of stitches hold them ("k2tog").
const DIGITS: [&str; 10] = ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"];

/// "Cast on thirty-two", "knit two together", "slip one": numbers in words where only a number fits.
fn with_numbers(mut tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    const BEFORE: [&str; 9] = ["knit", "purl", "slip", "k", "p", "sl", "last", "make", "on"];
    let spelt = |t: &Token<'_>| {
        if t.kind == Kind::Word { super::reader::number_word(t.text) } else { None }
    };
    let mut k = 0;
    while k < tokens.len() {
        let Some(n) = spelt(&tokens[k]) else {
            k += 1;
            continue;
        };
        let dash = tokens.get(k + 1).is_some_and(|t| t.kind == Kind::Dash && t.glued);
        let ones = tokens.get(k + 2).and_then(spelt).filter(|&m| dash && n >= 20 && m < 10);
        if let Some(m) = ones {
            tokens[k].kind = Kind::Number(n + m);
            tokens[k].span = tokens[k].span.to(tokens[k + 2].span);
            tokens.drain(k + 1..k + 3);
        } else if n > 0 && n < 100 && k > 0 && tokens[k - 1].any(&BEFORE) {
            tokens[k].kind = Kind::Number(n);
            tokens[k].text = DIGITS.get(n as usize).copied().unwrap_or(tokens[k].text);
        }
        k += 1;
    }
    tokens
}

/// Older pages put a full stop after every short form: "K. 1, w. fwd., p.s.s.o., rep. from *".
fn without_dots(tokens: Vec<Token<'_>>) -> Vec<Token<'_>> {
    const SHORT: [&str; 10] = ["k", "p", "sl", "rep", "w", "wl", "m", "tog", "rem", "inc"];
    // "Row 1: K. Row 2: P." ends a row there, and so does "K. 2nd row - P.".
    const NEXT: [&str; 10] =
        ["row", "rows", "rnd", "rnds", "round", "rounds", "rep", "repeat", "next", "fasten"];
    let ends = |k: usize| {
        let counted =
            tokens.get(k + 2).is_some_and(|t| t.glued && t.any(&["st", "nd", "rd", "th"]));
        tokens[k + 1].any(&NEXT) || counted && tokens.get(k + 3).is_some_and(|t| t.any(&NEXT))
    };
    let dot = |k: usize| {
        k > 0
            && k + 1 < tokens.len()
            && !ends(k)
            && tokens[k].kind == Kind::Stop('.')
            && tokens[k].glued
            && tokens[k - 1].any(&SHORT)
            && (!tokens[k - 1].any(&["tog", "rem", "inc"])
                || matches!(tokens[k + 1].kind, Kind::Stop(_)))
    };
    let dot = |k: usize| dot(k) || shortens(&tokens, k);
    if !(0..tokens.len()).any(dot) {
        return tokens;
    }
    let mut kept: Vec<Token<'_>> = Vec::with_capacity(tokens.len());
    for (k, &token) in tokens.iter().enumerate().filter(|&(k, _)| !dot(k)) {
        if token.is("s.s.o") && k > 1 && dot(k - 1) && tokens[k - 2].is("p") {
            let p = kept.len() - 1;
            kept[p] = Token { text: "psso", span: kept[p].span.to(token.span), ..kept[p] };
        } else {
            kept.push(token);
        }
    }
    kept
}

/// The full stop at `k` ends a short form in the midst of a sentence: "into next ch., 1 tr. into same st.".
fn shortens(tokens: &[Token<'_>], k: usize) -> bool {
    const SHORT: [&str; 22] = [
        "ch", "chs", "tr", "trs", "dc", "sc", "hdc", "htr", "dtr", "d.c", "s.c", "h.tr", "d.tr",
        "st", "sts", "sp", "sps", "lp", "beg", "patt", "foll", "tch",
    ];
    const ON: [&str; 16] = [
        "in", "into", "of", "from", "on", "over", "to", "and", "around", "across", "at", "along",
        "sp", "sps", "space", "spaces",
    ];
    let (Some(word), Some(after)) = (k.checked_sub(1).map(|j| &tokens[j]), tokens.get(k + 1))
    else {
        return false;
    };
    tokens[k].kind == Kind::Stop('.')
        && tokens[k].glued
        && word.any(&SHORT)
        && (after.any(&ON) || matches!(after.kind, Kind::Stop(',' | ';' | ':') | Kind::Close))
}

/// Marks that stand for something else: daggers and hashes mark repeats, `×` is a times sign.
fn mark(first: char) -> Kind {
    match first {
        '†' | '#' | '^' | '‡' | '¤' | '★' | '☆' | '✱' => Kind::Star(8),
        '×' => Kind::Word,
        c => Kind::Other(c),
    }
}

impl Token<'_> {
    /// It is the word `word`.
    pub(crate) fn is(&self, word: &str) -> bool {
        self.kind == Kind::Word && self.text == word
    }
    /// It is one of `words`.
    pub(crate) fn any(&self, words: &[&str]) -> bool {
        self.kind == Kind::Word && words.contains(&self.text)
    }
    /// The number, when it is one.
    pub(crate) fn number(&self) -> Option<u32> {
        match self.kind {
            Kind::Number(n) => Some(n),
            _ => None,
        }
    }
    /// It is a separator.
    pub(crate) fn is_stop(&self) -> bool {
        matches!(self.kind, Kind::Stop(_))
    }
}
