//! Gauge and size where no heading announces them: "5 mm hook. 18 sts and 32 rows = 10 cm. 20 x 170 cm."
//!
//! Only lines that instruct nothing are looked at, and only for what the page's announced lines left open.

use super::facts::gauge;
use super::facts::size_line;
use super::header::Header;
use super::header::Origin;
use super::quantity::Unit;
use super::quantity::quantities;
use super::syntax::Item;
use super::vocabulary::Context;
use crate::source::Span;

/// A gauge is measured over at most so much, mm; a longer length is that of the piece.
const WIDEST_GAUGE: f64 = 260.0;

/// Adds what loose lines say.
pub(super) fn read(header: &mut Header, lower: &str, items: &[Item], cx: &Context) {
    let start = header.body_start as usize;
    let rows: Vec<Span> = items
        .iter()
        .filter_map(|item| if let Item::Row(row) = item { Some(row.span) } else { None })
        .collect();
    let mut at = start;
    for line in lower.get(start..).unwrap_or("").split('\n') {
        let from = at;
        at += line.len() + 1;
        let span = Span::new(from as u32, (from + line.len()) as u32);
        if rows.iter().any(|r| r.start < span.end && r.end > span.start) {
            continue;
        }
        for (offset, clause) in clauses(line) {
            let own = Span::new((from + offset) as u32, (from + offset + clause.len()) as u32);
            if header.gauges.is_empty() {
                header.gauges.extend(measured(clause, own, cx));
            }
            // "Knit on 4 mm needles, and measures 64 x 30 in": only the end speaks of the size.
            let measures = clause.find("measur").unwrap_or(0);
            let clause = &clause[measures..];
            let planned = &header.planned;
            let open = planned.square_to_edge.is_none() && planned.along_edge.is_none();
            if open && tells_size(clause) {
                size_line(&mut header.planned, clause, own);
            }
        }
    }
}

/// The sentences of a line, with where each begins.
fn clauses(line: &str) -> Vec<(usize, &str)> {
    let mut found = Vec::new();
    let mut from = 0;
    let ends = |k: usize, c: char| {
        let next = line[k + c.len_utf8()..].chars().next();
        matches!(c, '.' | ';' | '!' | '|' | '•') && next.is_none_or(|n| n == ' ' || n == '\t')
    };
    for (k, c) in line.char_indices() {
        if ends(k, c) {
            found.push((from, &line[from..k]));
            from = k + c.len_utf8();
        }
    }
    found.push((from, &line[from..]));
    found.retain(|(_, clause)| !clause.trim().is_empty());
    found
}

/// The gauge a clause gives: so many stitches to a length no longer than a swatch.
fn measured(clause: &str, span: Span, cx: &Context) -> Option<super::header::Gauge> {
    const TIES: [&str; 9] =
        ["=", " per ", " over ", " to ", "inch", "/", " in ", " equals ", " is "];
    let named = clause.find("gauge").or_else(|| clause.find("tension"));
    let words = &clause[named.unwrap_or(0)..];
    let tied = TIES.iter().any(|w| words.contains(w));
    let found = quantities(words);
    let counted = found.iter().any(|q| q.unit == Unit::Stitches) || named.is_some();
    let gauge = gauge(words, span, Origin::Text, cx).filter(|_| tied && counted)?;
    let short = gauge.stitches_over.to_mm() <= WIDEST_GAUGE;
    (gauge.stitches.is_some() && short).then_some(gauge)
}

/// The clause is about the size of the finished piece: two lengths side by side or named, and no stitches.
fn tells_size(clause: &str) -> bool {
    const SAYS: [&str; 12] = [
        "finished",
        "size",
        "measure",
        "wide",
        "width",
        "wingspan",
        "blocked",
        "approx",
        "about",
        "dimension",
        "length",
        "deep",
    ];
    const NOT: [&str; 9] =
        ["hook", "needle", "yarn", "gauge", "tension", "fringe", "strand", "cut", "ball"];
    let found = quantities(clause);
    let lengths = found
        .iter()
        .filter(|q| q.length().is_some() && !matches!(q.unit, Unit::Yard | Unit::Metre));
    let counted = found.iter().any(|q| matches!(q.unit, Unit::Stitches | Unit::Rows));
    let whole = clause.trim_start().starts_with(|c: char| c.is_ascii_digit());
    let said = whole || SAYS.iter().any(|w| clause.contains(w));
    lengths.count() == 2 && said && !counted && !NOT.iter().any(|w| clause.contains(w))
}
