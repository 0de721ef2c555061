//! What a report says, in order, before it is set as a page of HTML or on paper.

use super::Picture;
use super::hanging;
use super::table;
use super::words;
use crate::diagnostic::Diagnostic;
use crate::diagnostic::Severity;
use crate::predict::Assumption;
use crate::predict::Blocks;
use crate::predict::Hanging;
use crate::predict::Prediction;

/// One thing on the page.
#[derive(Debug, Clone)]
pub(super) enum Part {
    /// What a designer asks, each with its answers; stands first.
    Answers(Vec<(&'static str, Vec<String>)>),
    /// Starts a section.
    Heading(String),
    /// A paragraph, in ink or quieter.
    Text(String),
    /// A paragraph of small print.
    Quiet(String),
    /// Short lines.
    List(Vec<String>),
    /// What may harm somebody.
    Cautions(Vec<String>),
    /// A table.
    Table(Table),
    /// A picture.
    Picture(Picture),
    /// The piece to turn and ask, where that can be done.
    View,
}

/// A table of words and numbers.
#[derive(Debug, Clone)]
pub(super) struct Table {
    pub(super) head: Vec<String>,
    pub(super) lines: Vec<Vec<String>>,
    /// Columns from this one on are set as numbers.
    pub(super) numbers: usize,
    /// Long ones are folded away behind these words, where that can be done.
    pub(super) folded: Option<String>,
}

impl Table {
    pub(super) fn new(
        head: &[&str],
        lines: impl Iterator<Item = Vec<String>>,
        numbers: usize,
    ) -> Self {
        let head = head.iter().map(|h| (*h).to_owned()).collect();
        Self { head, lines: lines.collect(), numbers, folded: None }
    }
}

/// A whole report.
#[derive(Debug, Clone)]
pub(super) struct Document {
    pub(super) title: String,
    pub(super) parts: Vec<Part>,
}

/// The piece lying flat.
pub(super) fn laid(prediction: &Prediction) -> Document {
    let mut parts = vec![Part::Answers(answers(prediction)), heading("Planned and predicted")];
    parts.push(Part::Table(planned(prediction)));
    if prediction.sure.is_some() {
        parts.push(Part::Quiet(words::SURE_NOTE.to_owned()));
    }
    parts.push(Part::Picture(super::outline::outline(prediction)));
    parts.push(Part::View);
    if prediction.measured.closed.is_none() {
        parts.push(heading("Do the edges stay straight?"));
        parts.push(Part::Picture(super::edges::edges(prediction)));
        parts.extend(benders(prediction));
        parts.push(heading("What do tall and short rows do to the slant?"));
        parts.push(Part::Picture(super::slant::slant(prediction)));
    }
    parts.push(heading("Where is the fabric pulled out of shape?"));
    parts.push(Part::Picture(super::strain::strain(prediction)));
    parts.push(heading("Which stitch lies where?"));
    parts.push(Part::Picture(super::stitches::stitches(prediction)));
    parts.extend(yarn(prediction));
    parts.extend(basis(prediction));
    parts.extend(faults(prediction));
    parts.extend(cautions(prediction.cautions.clone()));
    parts.extend(rows(prediction));
    parts.push(Part::Quiet(words::solver(prediction)));
    Document { title: format!("{}: how it will lie", prediction.title), parts }
}

/// Blocking allowances compared.
pub(super) fn blocked(blocks: &Blocks) -> Document {
    let washed = &blocks.washed;
    let mut parts = vec![Part::Answers(vec![(
        "How do blocking allowances compare?",
        super::blocking::sentences(blocks),
    )])];
    parts.push(heading("Trial by trial"));
    let (head, lines) = super::blocking::compared(blocks);
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    parts.push(Part::Table(Table::new(&head, lines.into_iter(), usize::MAX)));
    parts.push(Part::Picture(super::blocking_picture(blocks)));
    parts.push(Part::View);
    parts.push(heading("The washed piece"));
    parts.push(Part::List(words::headline(washed)));
    parts.push(Part::Table(planned(washed)));
    for (k, trial) in blocks.trials.iter().enumerate() {
        parts.push(heading(&format!("Pins, {}: {}", k + 1, trial.words)));
        let (head, lines) = super::blocking::pins(blocks, trial);
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        let folded = Some(format!("{} pins, corners first", trial.pins.len()));
        parts.push(Part::Table(Table { folded, ..Table::new(&head, lines.into_iter(), 2) }));
    }
    parts.push(heading("What the blocking rests on"));
    parts.push(Part::Table(sources(blocks.assumptions.iter())));
    parts.extend(basis(washed));
    parts.extend(faults(washed));
    let mut care = super::blocking::cautions().map(String::from).to_vec();
    care.extend(washed.cautions.iter().cloned());
    parts.extend(cautions(care));
    Document { title: format!("{}: how it blocks", washed.title), parts }
}

/// The piece as it hangs.
pub(super) fn hung(hung: &Hanging) -> Document {
    let laid = &hung.laid;
    let tabled = |(head, lines): (Vec<String>, Vec<Vec<String>>)| {
        let head: Vec<&str> = head.iter().map(String::as_str).collect();
        Table::new(&head, lines.into_iter(), 1)
    };
    let mut parts = vec![
        Part::Answers(hanging::answers(hung)),
        heading("Planned, laid and hung"),
        Part::Table(tabled(hanging::compared(hung))),
        heading("How it hangs"),
        Part::Picture(super::hanging_picture(hung)),
        Part::Quiet(hanging::not_modelled(hung)),
        Part::View,
        heading("Growth while it hangs"),
        Part::Picture(super::growth_picture(hung)),
        heading("The piece lying flat, before it is hung"),
        Part::List(words::headline(laid)),
        Part::Table(planned(laid)),
    ];
    if laid.sure.is_some() {
        parts.push(Part::Quiet(words::SURE_NOTE.to_owned()));
    }
    parts.push(Part::Picture(super::outline::outline(laid)));
    parts.extend(yarn(laid));
    parts.push(heading("What the hanging rests on"));
    parts.push(Part::Table(sources(hung.assumptions.iter())));
    parts.extend(basis(laid));
    parts.extend(faults(laid));
    parts.extend(cautions(hanging::cautions(hung)));
    parts.push(heading("Row by row"));
    let folded = Some(format!("{} rows", hung.by_row.len()));
    parts.push(Part::Table(Table { folded, ..tabled(hanging::by_row(hung)) }));
    parts.push(Part::Quiet(hanging::solved(hung)));
    Document { title: format!("{}: how it hangs", laid.title), parts }
}

pub(super) fn heading(words: &str) -> Part {
    Part::Heading(words.to_owned())
}

fn answers(prediction: &Prediction) -> Vec<(&'static str, Vec<String>)> {
    let all = words::headline(prediction);
    if prediction.measured.closed.is_some() {
        return vec![("How does it lie?", all)];
    }
    let pick = |range: std::ops::Range<usize>| all.get(range).unwrap_or_default().to_vec();
    vec![
        ("Do the long edges stay straight, and which rows bend them?", pick(0..2)),
        ("What slant do tall and short rows give?", pick(2..3)),
        ("What does it measure against the plan?", pick(3..all.len())),
    ]
}

pub(super) fn planned(prediction: &Prediction) -> Table {
    // Without an estimate there is no column for it.
    let columns = if prediction.sure.is_some() { 5 } else { 4 };
    let cells = |row: table::Row| {
        let all = [row.what, row.planned, row.predicted, row.difference, row.sure];
        all.into_iter().take(columns).collect::<Vec<_>>()
    };
    let lines = table::rows(prediction).into_iter().map(cells).collect();
    Table { head: cells(table::Row::head()), lines, numbers: 1, folded: None }
}

fn benders(prediction: &Prediction) -> Vec<Part> {
    let mut parts = Vec::new();
    for (name, edge) in ["left", "right"].iter().zip(&prediction.measured.edges) {
        let lines: Vec<String> =
            edge.benders.iter().take(5).map(|b| words::bender(b, prediction.units)).collect();
        if !lines.is_empty() {
            parts.push(Part::Text(format!("Rows that bend the {name} edge most:")));
            parts.push(Part::List(lines));
        }
    }
    parts
}

pub(super) fn yarn(prediction: &Prediction) -> Vec<Part> {
    let units = prediction.units;
    let lines = prediction.measured.yarn.iter().map(|used| {
        let mass =
            used.mass.map_or_else(|| "not stated".into(), |m| format!("{:.0} g", m.to_grams()));
        vec![used.colour.clone(), words::yarn(units, used.length), mass]
    });
    vec![
        heading("Yarn"),
        Part::Table(Table::new(&["yarn", "length", "weight"], lines, 1)),
        Part::Quiet(words::YARN_NOTE.to_owned()),
    ]
}

pub(super) fn sources<'a>(list: impl Iterator<Item = &'a Assumption>) -> Table {
    let line = |a: &Assumption| vec![a.what.clone(), a.value.clone(), a.source.clone()];
    Table::new(&["what", "value", "source"], list.map(line), usize::MAX)
}

pub(super) fn basis(prediction: &Prediction) -> Vec<Part> {
    based(&prediction.assumptions, &prediction.gauge_state)
}

/// What numbers rest on, and the state that sizes are in.
pub(super) fn based(assumptions: &[Assumption], state: &str) -> Vec<Part> {
    let of = |assumed: bool| assumptions.iter().filter(move |a| a.assumed == assumed);
    let mut parts = vec![
        heading("Stated or published"),
        Part::Text(format!("Sizes are as {state}.")),
        Part::Table(sources(of(false))),
    ];
    if of(true).next().is_some() {
        parts.push(heading("Assumed"));
        parts.push(Part::Text(
            "Replace what you have measured; nothing here replaces your own swatch.".into(),
        ));
        parts.push(Part::Table(sources(of(true))));
    }
    parts
}

pub(super) fn faults(prediction: &Prediction) -> Vec<Part> {
    faulty(&prediction.diagnostics)
}

/// Faults and doubts.
pub(super) fn faulty(diagnostics: &[Diagnostic]) -> Vec<Part> {
    let serious: Vec<String> = diagnostics
        .iter()
        .filter(|d| d.severity > Severity::Note)
        .map(|d| {
            let kind = if d.severity == Severity::Error { "fault" } else { "doubt" };
            format!("{}: {kind}: {}; {}", d.row, d.message, d.fit)
        })
        .collect();
    let found = if serious.is_empty() {
        Part::Text("None: every row can be worked and its count holds.".into())
    } else {
        Part::List(serious)
    };
    vec![heading("Faults found in the pattern"), found]
}

pub(super) fn cautions(list: Vec<String>) -> Vec<Part> {
    if list.is_empty() { Vec::new() } else { vec![heading("Cautions"), Part::Cautions(list)] }
}

fn rows(prediction: &Prediction) -> Vec<Part> {
    let units = prediction.units;
    let lines = prediction.measured.rows.iter().map(|row| {
        let [left, right] = row.slant.map(words::degrees);
        let [up_left, up_right] = row.cumulative.map(words::degrees);
        let (width, height) = (units.length(row.width), units.length(row.height));
        vec![row.label.clone(), width, height, left, right, up_left, up_right]
    });
    let head =
        ["row", "width", "height", "slant, left", "right", "from the foundation, left", "right"];
    let folded = Some(format!("{} rows", prediction.measured.rows.len()));
    let table = Table { folded, ..Table::new(&head, lines, 1) };
    vec![heading("Row by row"), Part::Table(table)]
}
