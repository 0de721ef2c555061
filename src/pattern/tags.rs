//! Tags after the number of a row: its side, its yarn, a label, the same rows in other sizes.

use super::heading::row_word;
use super::syntax::Heading;
use super::syntax::Numbers;
use super::token::Kind;
use super::token::Token;
use crate::source::Span;

/// Tags after the numbers: `(RS)`, `[inc row]`, `RS`, `(10R)`.
pub(super) fn tags(t: &[Token<'_>], k: &mut usize, heading: &mut Heading) -> bool {
    let mut any = false;
    loop {
        let Some(token) = t.get(*k) else { return any };
        match token.kind {
            Kind::Open => {
                let Some(close) = (*k..t.len()).find(|&j| t[j].kind == Kind::Close) else {
                    return any;
                };
                let inside = &t[*k + 1..close];
                if other_sizes(inside) && matches!(heading.numbers, Numbers::Range(..)) {
                    *k = close + 1;
                    any = true;
                    continue;
                }
                if let Some(yarn) = yarn_tag(inside) {
                    heading.yarn = Some(yarn);
                    (*k, any) = (close + 1, true);
                    continue;
                }
                if !is_tag(inside, t.get(close + 1)) {
                    return any;
                }
                side(inside, heading);
                *k = close + 1;
            }
            Kind::Dash if t.get(*k + 1).is_some_and(|t| t.any(&["rs", "ws"])) => *k += 1,
            Kind::Word if token.any(&["rs", "ws"]) => {
                side(std::slice::from_ref(token), heading);
                *k += 1;
                if row_word(t.get(*k)).is_some() {
                    *k += 1;
                }
            }
            _ => return any,
        }
        any = true;
    }
}

/// `[CC1]`, "(in A)", "(teal)": the words of a yarn.
fn yarn_tag(inside: &[Token<'_>]) -> Option<Span> {
    let lead = inside
        .iter()
        .take_while(|t| t.any(&["in", "with", "colour", "color", "yarn", "using"]))
        .count();
    let (name, number) = match &inside[lead..] {
        [name] => (name, None),
        [name, number] => (name, Some(number)),
        _ => return None,
    };
    let letters = name.text.len() < 3 && !name.any(&["rs", "ws", "st", "r"]);
    let numbered = number.is_none_or(|t| t.glued && t.number().is_some());
    let word = name.kind == Kind::Word && (letters || super::colour::plain(name.text));
    (word && numbered).then(|| name.span.to(number.unwrap_or(name).span))
}

/// "(4-150, 4-225)" after "Rows 4-115": the same rows in the other sizes.
fn other_sizes(inside: &[Token<'_>]) -> bool {
    let ranges = inside.iter().filter(|t| t.kind == Kind::Dash).count();
    let rest = |t: &Token<'_>| {
        t.number().is_some() || matches!(t.kind, Kind::Dash | Kind::Stop(',' | ';' | ':'))
    };
    ranges > 0 && inside.iter().all(rest)
}

/// Words in brackets that label a row and instruct nothing.
fn is_tag(inside: &[Token<'_>], after: Option<&Token<'_>>) -> bool {
    const TAG: [&str; 22] = [
        "rs", "ws", "right", "wrong", "side", "facing", "inc", "dec", "increase", "decrease",
        "row", "rows", "rnd", "round", "rnds", "r", "odd", "even", "and", "all", "set", "up",
    ];
    let words = inside.iter().filter(|t| t.kind == Kind::Word);
    let known = words.clone().filter(|t| t.any(&TAG)).count();
    let all = words.count();
    let colon = after.is_some_and(|t| matches!(t.kind, Kind::Stop(':')));
    let short = all <= 6 && !inside.iter().any(|t| t.any(&["sts", "st"]));
    all > 0 && (known == all || (colon && short) || (known * 2 >= all && short))
}

/// Notes the side that the words of a tag name.
pub(super) fn side(inside: &[Token<'_>], heading: &mut Heading) {
    for (k, token) in inside.iter().enumerate() {
        let sided = |w| token.is(w) && inside.get(k + 1).is_some_and(|t| t.is("side"));
        if token.is("rs") || sided("right") {
            heading.right_side = Some(true);
        } else if token.is("ws") || sided("wrong") {
            heading.right_side = Some(false);
        }
    }
}
