//! What does not hold together on the page as a whole: sizes in feet beside inches, a stated multiple
//! the foundation does not fit, yarns listed and never used, an abbreviation list with gaps.

use super::fault::fault;
use super::quantity::Unit;
use super::quantity::quantities;
use super::section::Topic;
use super::syntax::Act;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Item;
use super::syntax::Op;
use super::syntax::Pattern;
use super::syntax::Target;
use super::token::Kind;
use super::token::Token;
use super::token::cut;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::pattern::header::CraftWord;
use crate::source::Span;

/// Adds what the page as a whole has against it.
pub(super) fn judge(
    pattern: &Pattern,
    text: &str,
    lower: &str,
    facts: &[(Topic, Span)],
    aside: &[Span],
    out: &mut Vec<Diagnostic>,
) {
    for &(topic, span) in facts {
        if topic == Topic::Size {
            feet(lower.get(span.range()).unwrap_or(""), span, out);
        }
    }
    multiple(pattern, lower, aside, out);
    unused_yarns(pattern, text, out);
    abbreviations(pattern, lower, aside, out);
}

/// `10" x 53'`: feet beside inches are most often a slip of the mark.
fn feet(words: &str, span: Span, out: &mut Vec<Diagnostic>) {
    let found = quantities(words);
    let inches = found.iter().any(|q| q.unit == Unit::Inch);
    for q in found.iter().filter(|_| inches) {
        let rest = &words[q.end..];
        let mark = rest.chars().next().filter(|c| matches!(c, '\'' | '’' | '′' | '‘'));
        let doubled = rest.starts_with("\'\'") || rest.starts_with("’’");
        let Some(mark) = mark.filter(|_| !doubled && q.unit == Unit::None && q.value > 8.0) else {
            continue;
        };
        let from = span.start + q.start as u32;
        let to = span.start + (q.end + mark.len_utf8()) as u32;
        let n = q.value;
        out.push(
            fault("feet-beside-inches", Severity::Warning, Span::new(from, to))
                .says(&format!("{n} feet stand beside inches in one size"))
                .expects(
                    "one unit in a size",
                    &format!("{n} feet"),
                    &format!("write {n} inches, if these are meant"),
                )
                .done(),
        );
    }
}

/// "Multiple of 6 + 2" against the first foundation chain or cast-on. One told `aside`, of a stitch pattern that
/// rows call between their edge stitches, is not that of the piece.
fn multiple(pattern: &Pattern, lower: &str, aside: &[Span], out: &mut Vec<Diagnostic>) {
    let Some((links, place)) = foundation(pattern) else { return };
    let Some((of, plus, span)) = stated_multiple(lower) else { return };
    if aside.iter().any(|s| s.start <= span.start && span.start < s.end) {
        return;
    }
    if aside.iter().any(|s| s.start <= span.start && span.start < s.end) {
        // That of a stitch pattern called between edge stitches.
        return;
    }
    let knit = pattern.header.craft.value == CraftWord::Knit;
    // Crochet multiples may be of chains or of stitches: up to three chains more turn the work.
    let extra = if knit { 0 } else { 3 };
    let fits = |k: u32| links >= plus + k && (links - plus - k).is_multiple_of(of);
    if of < 2 || (0..=extra).any(fits) {
        return;
    }
    let rest = links.saturating_sub(plus) % of;
    let (less, more) = (links - rest, links - rest + of);
    let word = if knit { "stitches" } else { "chains" };
    out.push(
        fault("multiple-disagrees", Severity::Warning, place)
            .says(&format!("{links} {word} are no multiple of {of} plus {plus}"))
            .expects(
                &format!("a multiple of {of} plus {plus}, as the page says"),
                &format!("{links} {word}"),
                &format!("begin with {less} or {more} {word}, or correct the multiple"),
            )
            .row("the foundation")
            .done(),
    );
}

fn foundation(pattern: &Pattern) -> Option<(u32, Span)> {
    let rows =
        pattern.items.iter().filter_map(|i| if let Item::Row(row) = i { Some(row) } else { None });
    for row in rows {
        let Content::Work(ops) = &row.content else { continue };
        for op in ops {
            match op.act {
                Do::Chain { links, .. } if links > 7 => return Some((links, op.span)),
                Do::CastOn(n) => return Some((n, op.span)),
                Do::Work { .. } | Do::Repeat(_) | Do::OnePlace(..) | Do::MagicRing => return None,
                _ => {}
            }
        }
    }
    None
}

fn stated_multiple(lower: &str) -> Option<(u32, u32, Span)> {
    let at = lower.find("multiple")?;
    let end = lower[at..].find('\n').map_or(lower.len(), |n| at + n);
    let t = cut(&lower[at..end], at as u32);
    if !t.get(1)?.is("of") || lower[end.min(at + 8)..].contains("multiple") {
        return None;
    }
    let of = t.get(2)?.number()?;
    let k = 3 + t[3..]
        .iter()
        .take_while(|t| {
            t.any(&["st", "sts", "stitches", "ch", "chs", "chains"]) || t.kind == Kind::Stop(',')
        })
        .count();
    Some((of, added(&t[k.min(t.len())..])?, t[0].span))
}

/// "+ 1, plus 8 for borders", "+ 2 edge sts each side": the stitches beside the repeats; `None` where a number is
/// left open.
fn added(t: &[Token<'_>]) -> Option<u32> {
    let mut sum = 0u32;
    let plus = |t: &Token<'_>| t.is("plus") || t.kind == Kind::Other('+');
    let first = t.first().is_some_and(plus);
    for k in (0..t.len()).filter(|&k| first && plus(&t[k])) {
        let n = t.get(k + 1)?.number()?;
        let clause = t[k + 1..].iter().take_while(|t| !(t.is_stop() || plus(t)));
        let both = clause.clone().any(|t| t.any(&["each", "either", "both"]))
            && clause.clone().any(|t| t.any(&["side", "sides", "end", "ends", "edge", "edges"]));
        sum = sum.saturating_add(if both { n.saturating_mul(2) } else { n });
        if clause.into_iter().any(|t| t.any(&["chain", "base", "turning", "foundation"])) {
            break;
        }
    }
    Some(sum)
}

/// Yarns the list names by a letter and no row uses, on a page that changes yarns.
fn unused_yarns(pattern: &Pattern, text: &str, out: &mut Vec<Diagnostic>) {
    if pattern.colours.len() < 2 {
        return;
    }
    for yarn in pattern.header.yarns.iter().filter(|y| !y.name.is_empty()) {
        let named = |c: &String| {
            c.eq_ignore_ascii_case(&yarn.name)
                || yarn.colour.as_deref().is_some_and(|own| own.eq_ignore_ascii_case(c))
        };
        if pattern.colours.iter().any(named) || text.get(yarn.span.range()).is_none() {
            continue;
        }
        out.push(
            fault("yarn-not-used", Severity::Note, yarn.span)
                .says(&format!("yarn `{}` is listed and no row uses it", yarn.name))
                .expects(
                    "every yarn of the list in a row",
                    "none",
                    "take it off the list, or name it where it is used",
                )
                .done(),
        );
    }
}

/// Crochet and knit abbreviations that a list is expected to explain.
const LISTED: [&str; 16] = [
    "sc", "hdc", "dc", "tr", "dtr", "htr", "k2tog", "ssk", "kfb", "yo", "psso", "sk2p", "fpdc",
    "bpdc", "blo", "flo",
];

/// Abbreviations used and not listed, listed and not used; only when the page has a list.
///
/// Rows called by others' names (`aside`) use theirs too.
fn abbreviations(pattern: &Pattern, lower: &str, aside: &[Span], out: &mut Vec<Diagnostic>) {
    let Some((list, listed)) = abbreviation_list(lower) else { return };
    let mut used: Vec<String> = Vec::new();
    let rows = pattern.items.iter().filter_map(|item| match item {
        Item::Row(row) => Some(row.span),
        _ => None,
    });
    for span in rows.chain(aside.iter().copied()) {
        let words = lower.get(span.range()).unwrap_or("");
        let tokens = cut(words, span.start);
        for (k, token) in tokens.iter().enumerate().filter(|(_, t)| t.kind == Kind::Word) {
            let joined = joined_name(&tokens, k);
            used.extend([token.text.to_owned(), joined]);
        }
    }
    let has = |all: &[String], name: &str| all.iter().any(|w| w == name);
    let missing: Vec<&str> =
        LISTED.into_iter().filter(|n| has(&used, n) && !has(&listed, n)).collect();
    let idle: Vec<&str> =
        LISTED.into_iter().filter(|n| has(&listed, n) && !has(&used, n)).collect();
    let mut say = |code, words: &str, names: &[&str], fit: &str| {
        if !names.is_empty() {
            let message = format!("{words}: {}", names.join(", "));
            let told = fault(code, Severity::Note, list).says(&message);
            out.push(
                told.expects("the abbreviations of the rows in the list", &names.join(", "), fit)
                    .done(),
            );
        }
    };
    say(
        "abbreviation-not-listed",
        "used and not in the list of abbreviations",
        &missing,
        "add it to the list",
    );
    say(
        "abbreviation-not-used",
        "in the list of abbreviations and not used",
        &idle,
        "take it off the list",
    );
}

/// `k2tog` is three tokens: a word, a number and a word with no space between.
fn joined_name(t: &[Token<'_>], k: usize) -> String {
    let mut name = t[k].text.to_owned();
    let part = |t: &&Token<'_>| t.glued && matches!(t.kind, Kind::Word | Kind::Number(_));
    for token in t[k + 1..].iter().take(3).take_while(part) {
        name += token.text;
    }
    name
}

/// The place of the list and the names it explains.
fn abbreviation_list(lower: &str) -> Option<(Span, Vec<String>)> {
    let at = lower.find("abbreviations")?;
    let line_start = lower[..at].rfind('\n').map_or(0, |n| n + 1);
    if lower[line_start..at].trim().len() > 12 {
        return None;
    }
    let end = lower[at..].find("\n\n").map_or(lower.len(), |n| at + n);
    let tokens = cut(&lower[at..end], at as u32);
    let mut names = Vec::new();
    for (k, token) in tokens.iter().enumerate().filter(|(_, t)| t.kind == Kind::Word) {
        names.extend([token.text.to_owned(), joined_name(&tokens, k)]);
    }
    let explains = tokens
        .iter()
        .filter(|t| matches!(t.kind, Kind::Other('=') | Kind::Dash | Kind::Stop(':')))
        .count();
    (explains >= 3).then(|| (tokens[0].span, names))
}

/// Some row works a stitch into the top of a turning chain.
pub(super) fn works_on_turning(items: &[Item]) -> bool {
    fn any(ops: &[Op]) -> bool {
        ops.iter().any(|op| match &op.act {
            Do::Work { act: Act::Slip, .. } => false,
            Do::Work { place, .. } | Do::OnePlace(_, place) => place.target == Target::Turning,
            Do::Repeat(repeat) => any(&repeat.ops) || any(&repeat.ending),
            _ => false,
        })
    }
    items.iter().any(|item| match item {
        Item::Row(row) => matches!(&row.content, Content::Work(ops) if any(ops)),
        _ => false,
    })
}
