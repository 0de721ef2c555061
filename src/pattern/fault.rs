//! What reading has to complain about.

use super::mended::meant;
use super::mended::row_meant;
use super::syntax::Content;
use super::syntax::Do;
use super::syntax::Heading;
use super::syntax::Item;
use super::syntax::Numbers;
use super::syntax::Op;
use super::syntax::Pattern;
use super::words::QUIET;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Label;
use crate::diagnostic::Severity;
use crate::source::Span;

/// A diagnostic being filled in.
pub(super) struct Fault(Diagnostic);

/// Begins a diagnostic about the words at `span`.
pub(super) fn fault(code: &'static str, severity: Severity, span: Span) -> Fault {
    Fault(Diagnostic {
        code,
        severity,
        message: String::new(),
        primary: Label { span, text: String::new() },
        secondary: Vec::new(),
        expected: String::new(),
        found: String::new(),
        fit: String::new(),
        section: None,
        row: "the page".into(),
    })
}

impl Fault {
    /// The headline.
    pub(super) fn says(mut self, message: &str) -> Self {
        self.0.message = message.into();
        self
    }
    /// Expected, found, and what would fit.
    pub(super) fn expects(mut self, expected: &str, found: &str, fit: &str) -> Self {
        (self.0.expected, self.0.found, self.0.fit) = (expected.into(), found.into(), fit.into());
        self
    }
    /// The row, or the part of the page.
    pub(super) fn row(mut self, row: &str) -> Self {
        self.0.row = row.into();
        self
    }
    /// Finished.
    pub(super) fn done(self) -> Diagnostic {
        self.0
    }
}

/// Brackets nested too deep.
pub(super) fn nested(span: Span) -> Diagnostic {
    fault("nested-too-deep", Severity::Error, span)
        .says("brackets are nested too deep to be read")
        .expects(
            &format!("at most {} brackets within each other", super::reader::DEEPEST),
            "more",
            "split the row, or define the inner part as a stitch of its own",
        )
        .row("the row")
        .done()
}

/// How a row is called in messages.
pub(super) fn row_name(heading: &Heading) -> String {
    let word = if heading.round { "Round" } else { "Row" };
    match &heading.numbers {
        Numbers::Next | Numbers::Step | Numbers::Several(_) => "unnumbered row".into(),
        Numbers::Listed(all) => {
            let names: Vec<String> = all.iter().map(u32::to_string).collect();
            format!("{word} {}", names.join(", "))
        }
        Numbers::Range(a, b) => format!("{word}s {a}-{b}"),
        Numbers::Parity { from } => format!("{word} {from} and every second one"),
    }
}

/// The letter stands among the words before the instructions ("2 balls in MC and 1 in CC").
fn told_before(pattern: &Pattern, text: &str, colour: &str) -> bool {
    let row = |i: &Item| if let Item::Row(row) = i { Some(row.span.start as usize) } else { None };
    let start = pattern.items.iter().find_map(row).unwrap_or(text.len());
    let words = text.get(..start).unwrap_or("").split(|c: char| !c.is_alphanumeric());
    words.into_iter().any(|w| w == colour)
}

/// Words in rows that could not be read.
pub(super) fn unread(pattern: &Pattern, text: &str, out: &mut Vec<Diagnostic>) {
    const MOST: usize = 40;
    let rows =
        pattern.items.iter().filter_map(|i| if let Item::Row(row) = i { Some(row) } else { None });
    out.extend(rows.clone().filter_map(|row| heading_slip(row, text)));
    for row in rows.filter(|r| !r.unread.is_empty()) {
        if out.len() >= MOST {
            return;
        }
        let told = |s: &&Span| {
            let word = text.get(s.range()).unwrap_or("").to_ascii_lowercase();
            !QUIET.contains(&word.as_str())
        };
        let nothing = matches!(&row.content, Content::Work(ops) if ops.is_empty());
        let Some(&first) = row.unread.iter().find(|s| nothing || told(s)) else { continue };
        let words: Vec<&str> = row
            .unread
            .iter()
            .filter(|s| nothing || told(s))
            .take(6)
            .filter_map(|s| text.get(s.range()))
            .collect();
        let words = words.join(" ");
        let words = words.split_whitespace().take(8).collect::<Vec<_>>().join(" ");
        let near = words.split(' ').find_map(nearest);
        let name = row_name(&row.heading);
        if let Some(words) = charted(row, text) {
            out.push(chart_missing(row, &words, nothing));
            continue;
        }
        let slip = words.split(' ').find_map(|w| Some((w, meant(&w.to_ascii_lowercase())?)));
        if let Some((word, name_meant)) = slip.filter(|_| !nothing) {
            out.push(read_as(first, word, name_meant, &name));
            continue;
        }
        let (code, severity, message, fit) = if nothing {
            (
                "row-not-read",
                Severity::Error,
                format!("nothing in {name} could be read as an instruction"),
                "write the row in stitch names and counts, or define the stitch under Special stitches",
            )
        } else {
            (
                "words-not-read",
                Severity::Warning,
                format!("`{words}` was passed over"),
                "check the spelling, or define the word under Special stitches",
            )
        };
        let fit = match near {
            Some(name) if !nothing => format!("is `{name}` meant? Else define the word"),
            _ => fit.to_owned(),
        };
        out.push(
            fault(code, severity, first)
                .says(&message)
                .expects("a stitch, a place or a known word", &format!("`{words}`"), &fit)
                .row(&name)
                .done(),
        );
    }
}

/// A heading whose word for a row is a slip of the pen.
fn heading_slip(row: &super::syntax::Row, text: &str) -> Option<Diagnostic> {
    let heading = text.get(row.heading.span.range())?;
    let word = heading.split(' ').next()?;
    let meant = row_meant(&word.to_ascii_lowercase())?;
    let end = row.heading.span.start + word.len() as u32;
    let span = Span::new(row.heading.span.start, end);
    Some(read_as(span, word, meant, &row_name(&row.heading)))
}

/// A slip that was read as the word meant.
fn read_as(span: Span, word: &str, meant: &str, row: &str) -> Diagnostic {
    fault("words-not-read", Severity::Warning, span)
        .says(&format!("`{word}` was read as `{meant}`"))
        .expects(&format!("`{meant}`"), &format!("`{word}`"), &format!("write `{meant}`"))
        .row(row)
        .done()
}

/// The words of a row that follow a chart.
fn charted(row: &super::syntax::Row, text: &str) -> Option<(Span, String)> {
    let words = |s: &Span| Some((*s, text.get(s.range())?.to_owned()));
    let chart = |words: &str| words.to_ascii_lowercase().contains("chart");
    row.unread.iter().filter_map(words).find(|(_, words)| chart(words))
}

/// Work from a chart whose rows the page does not spell out.
fn chart_missing(row: &super::syntax::Row, words: &(Span, String), nothing: bool) -> Diagnostic {
    let (span, words) = words;
    let shown = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let lower = shown.to_ascii_lowercase();
    // "Chart A" by its letter or number, when it has one.
    let name = lower.find("chart ").and_then(|at| shown.get(at + 6..)).and_then(|rest| {
        let word = rest.split(|c: char| !c.is_alphanumeric()).next()?;
        (word.len() < 3 && !word.is_empty()).then(|| format!("Chart {word}"))
    });
    let name = name.unwrap_or_else(|| "the chart".to_owned());
    let meanwhile = if nothing { "left out" } else { "worked plain" };
    let name_first = name[..1].to_ascii_uppercase() + &name[1..];
    let message = format!(
        "{name_first} is not spelt out in words; until it is, its stitches are {meanwhile}"
    );
    fault("chart-missing", Severity::Error, *span)
        .says(&message)
        .expects(
            "the stitches of every chart row in words",
            &format!("`{shown}`"),
            &format!("write {name} out, `Row 1:` and so on, in the place of these words"),
        )
        .row(&row_name(&row.heading))
        .done()
}

/// Repeats outside rows that say how often, but not of what: to pass them over would shorten the piece.
pub(super) fn unread_repeats(pattern: &Pattern, lower: &str, out: &mut Vec<Diagnostic>) {
    let mut begun = false;
    for item in &pattern.items {
        begun |= matches!(item, Item::Row(_));
        let Item::Remark(span) = item else { continue };
        let tokens = super::token::cut(&lower[span.range()], span.start);
        let Some(verb) = tokens.iter().find(|t| t.kind == super::token::Kind::Word) else {
            continue;
        };
        let work = verb.any(&["work", "do", "make"]) && tokens.iter().any(|t| t.is("again"));
        let goes_on = verb.any(&["cont", "continue"]) && tokens.iter().any(|t| t.is("until"));
        let often = super::until::until_times(&tokens, 0).is_some() || work || goes_on;
        if !begun || !often || !(work || goes_on || verb.any(&["rep", "repeat", "rpt"])) {
            continue;
        }
        let words = lower[span.range()].trim();
        let shown = words.split_whitespace().take(12).collect::<Vec<_>>().join(" ");
        out.push(
            fault("repeat-not-read", Severity::Warning, *span)
                .says("these words ask for more work, but of what could not be read")
                .expects(
                    "rows by number or name, or the last so many rows or sections",
                    &format!("`{shown}`"),
                    "name what is worked again: `Rep rows 1-8 three more times`",
                )
                .row("the page")
                .done(),
        );
    }
}

/// The word of instructions most like `word`, when one is close.
fn nearest(word: &str) -> Option<&'static str> {
    const NAMES: [&str; 34] = [
        "end", "last", "next", "each", "knit", "purl", "stitch", "around", "tog", "k2tog", "p2tog",
        "ssk", "psso", "kfb", "pfb", "skp", "yo", "sc", "hdc", "dc", "tr", "htr", "sl st", "turn",
        "skip", "miss", "join", "repeat", "across", "shell", "cluster", "picot", "bobble",
        "popcorn",
    ];
    let word = word.to_ascii_lowercase();
    let close = |name: &str| strsim::damerau_levenshtein(&word, name);
    let best = NAMES.into_iter().min_by_key(|name| close(name))?;
    (word.len() > 2 && close(best) * 3 <= word.len().min(best.len() + 1)).then_some(best)
}

/// A page without a single row.
pub(super) fn empty(pattern: &Pattern, text: &str, out: &mut Vec<Diagnostic>) {
    if pattern.items.iter().any(|i| matches!(i, Item::Row(_))) {
        return;
    }
    let end = text.char_indices().nth(1).map_or(text.len(), |(i, _)| i) as u32;
    out.push(
        fault("no-instructions", Severity::Error, Span::new(0, end))
            .says("no instructions were found")
            .expects(
                "rows such as `Row 1: sc in 2nd ch from hook`",
                "none",
                "write the rows below a heading each, `Row 1:` and so on",
            )
            .done(),
    );
}

/// Yarn letters the instructions name and the list of yarns does not.
pub(super) fn yarns(pattern: &Pattern, text: &str, out: &mut Vec<Diagnostic>) {
    let yarns = &pattern.header.yarns;
    if yarns.is_empty() || yarns.iter().all(|y| y.name.is_empty()) {
        return;
    }
    let names: Vec<&str> =
        yarns.iter().map(|y| y.name.as_str()).filter(|n| !n.is_empty()).collect();
    for (index, colour) in pattern.colours.iter().enumerate() {
        let known = yarns.iter().any(|y| {
            y.name.eq_ignore_ascii_case(colour)
                || y.colour.as_deref().is_some_and(|c| c.eq_ignore_ascii_case(colour))
        });
        if known || told_before(pattern, text, colour) {
            continue;
        }
        let place = pattern.items.iter().find_map(|item| match item {
            Item::Row(row) => match &row.content {
                Content::Work(ops) => {
                    colour_place(ops, index as u16).map(|s| (s, row_name(&row.heading)))
                }
                Content::Again(again) if again.colour == Some(index as u16) => {
                    Some((row.span, row_name(&row.heading)))
                }
                _ => None,
            },
            _ => None,
        });
        let Some((span, row)) = place else { continue };
        let words = text.get(span.range()).unwrap_or(colour);
        out.push(
            fault("unknown-yarn", Severity::Error, span)
                .says(&format!("yarn `{colour}` is not among the yarns listed"))
                .expects(
                    &format!("one of {}", names.join(", ")),
                    &format!("`{words}`"),
                    &format!("list a yarn `{colour}`, or name one of {} here", names.join(", ")),
                )
                .row(&row)
                .done(),
        );
    }
}

fn colour_place(ops: &[Op], index: u16) -> Option<Span> {
    ops.iter().find_map(|op| match &op.act {
        Do::Colour(i) if *i == index => Some(op.span),
        Do::Repeat(r) => colour_place(&r.ops, index),
        Do::OnePlace(ops, _) => colour_place(ops, index),
        _ => None,
    })
}
