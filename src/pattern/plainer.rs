//! Signs of a page's layout turned into those of its words, byte for byte, so that places stay as they are.
//!
//! Tables copied out of a page keep their cells apart by tabs, and some pages set the verb of a line in
//! brackets: `[CO] 101 sts`.

/// Verbs and labels that pages set in brackets at the start of a line.
const LABELS: [&str; 26] = [
    "co",
    "cast on",
    "bo",
    "bind off",
    "cast off",
    "repeat",
    "rep",
    "knit",
    "purl",
    "yarn",
    "yarns",
    "needle",
    "needles",
    "hook",
    "gauge",
    "tension",
    "size",
    "notes",
    "note",
    "ch",
    "chain",
    "foundation",
    "border",
    "edging",
    "finish",
    "fo",
];

/// `lower` with tables in bars and bracketed labels bare.
pub(super) fn plainer(lower: String) -> String {
    if !lower.contains('\t') && !lower.contains('[') {
        return lower;
    }
    let mut plain = String::with_capacity(lower.len());
    for line in lower.split_inclusive('\n') {
        plain.push_str(&unbracketed(&in_bars(line)));
    }
    plain
}

/// A line of a table of rows: its tabs become bars.
fn in_bars(line: &str) -> String {
    let first = line.split('\t').next().unwrap_or("").trim();
    let number = ["rows", "row", "rnds", "rnd", "rounds", "round", "r"]
        .iter()
        .find_map(|word| first.strip_prefix(word))
        .unwrap_or(first)
        .trim();
    let digits = |c: char| c.is_ascii_digit();
    let numbers = number.starts_with(digits)
        && number.chars().all(|c| digits(c) || matches!(c, '-' | '–' | '—' | ' ' | '&' | ','));
    if line.contains('\t') && numbers { line.replace('\t', "|") } else { line.to_owned() }
}

/// `[co] 101` without its brackets.
fn unbracketed(line: &str) -> String {
    let lead = line.len() - line.trim_start().len();
    let rest = &line[lead..];
    let Some(close) = rest.strip_prefix('[').and_then(|r| r.find(']')).map(|n| n + 1) else {
        return line.to_owned();
    };
    let label = rest[1..close].trim();
    let row = ["rows", "row", "rnd", "round"].iter().any(|w| {
        label
            .strip_prefix(w)
            .is_some_and(|n| n.trim_start().starts_with(|c: char| c.is_ascii_digit()))
    });
    if !(row || LABELS.contains(&label)) {
        return line.to_owned();
    }
    // A row's bracket closes its heading as a colon would.
    let mark = if row { ":" } else { " " };
    format!("{} {}{mark}{}", &line[..lead], &rest[1..close], &rest[close + 1..])
}
