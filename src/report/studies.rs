//! What the pages of the studies say, in order: the stitch mix, pieces side by side, makers, attribution.

use super::Picture;
use super::compare::{Variant, comparison_pictures};
use super::document::{Document, Part, Table, basis, cautions, faults, heading};
use super::{mix, side, spread, trace};
use crate::predict::Prediction;
use crate::study::Attribution;
use crate::study::Mix;
use crate::study::Spread;

/// A study to be told on one page.
#[derive(Debug, Clone, Copy)]
pub enum Study<'a> {
    /// How the stitch mix changes the slant.
    Mix(&'a Mix),
    /// Predictions side by side, each with its name; the first is what the others are held against.
    Compare(&'a [String], &'a [Prediction]),
    /// From maker to maker.
    Spread(&'a Spread),
    /// Which rows and stitches move a figure.
    Trace(&'a Prediction, &'a Attribution),
}

type Lines = (Vec<String>, Vec<Vec<String>>);

fn tabled((head, lines): Lines) -> Part {
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    Part::Table(Table::new(&head, lines.into_iter(), 1))
}

/// The document of a study.
pub(super) fn document(study: &Study<'_>) -> Document {
    match study {
        Study::Mix(found) => mixed(found),
        Study::Compare(names, predictions) => compared(names, predictions),
        Study::Spread(found) => spread_out(found),
        Study::Trace(prediction, found) => traced(prediction, found),
    }
}

/// What every study of one pattern rests on.
fn closing(prediction: &Prediction) -> Vec<Part> {
    let mut parts = basis(prediction);
    parts.extend(faults(prediction));
    parts.extend(cautions(prediction.cautions.clone()));
    parts
}

fn mixed(found: &Mix) -> Document {
    let mut parts = vec![
        Part::Answers(vec![("How does the stitch mix change the slant?", mix::sentences(found))]),
        heading("Variant by variant"),
        tabled(mix::table(found)),
        Part::Quiet(mix::TERMS.to_owned()),
        heading("Edge slant, straightness, area and yarn"),
        Part::Picture(super::mix_picture(found)),
        heading("The outlines"),
        Part::Picture(super::mix_outlines(found)),
    ];
    let failed = mix::not_laid(found);
    if !failed.is_empty() {
        parts.push(heading("Variants that could not be laid"));
        parts.push(Part::List(failed));
    }
    parts.extend(closing(&found.base));
    Document { title: format!("{}: how the stitch mix changes the slant", found.title), parts }
}

fn compared(names: &[String], predictions: &[Prediction]) -> Document {
    let lettered: Vec<String> =
        names.iter().enumerate().map(|(k, name)| format!("{} {name}", side::letter(k))).collect();
    let variants: Vec<Variant<'_>> = lettered
        .iter()
        .zip(predictions)
        .map(|(name, prediction)| Variant { name, prediction })
        .collect();
    let says =
        |(name, p): (&String, &Prediction)| format!("{name}: {}", super::headline(p).join(" "));
    let said = lettered.iter().zip(predictions).map(says).collect();
    let mut parts = vec![Part::Answers(vec![("How does each piece lie?", said)])];
    parts.extend(comparison_pictures(&variants).into_iter().map(Part::Picture));
    for (k, other) in predictions.iter().enumerate().skip(1) {
        let first = &predictions[0];
        let letters = [side::letter(0), side::letter(k)];
        parts.push(heading(&format!("{} against {}", lettered[k], lettered[0])));
        let mut lines = side::figures(first, other, [&letters[0], &letters[1]])
            .into_iter()
            .map(|line| line.to_vec());
        let head = lines.next().unwrap_or_default();
        parts.push(tabled((head, lines.collect())));
        parts.push(Part::Text("Which rows differ:".into()));
        parts.push(Part::List(side::rows(first, other).lines().map(str::to_owned).collect()));
    }
    if let Some(first) = predictions.first() {
        parts.extend(closing(first));
    }
    Document { title: "Pieces side by side".into(), parts }
}

fn spread_out(found: &Spread) -> Document {
    let said = vec![spread::chance_words(found), spread::makers_words(found)];
    let mut parts = vec![
        Part::Answers(vec![("How much does the piece move from maker to maker?", said)]),
        heading("Figure by figure"),
        tabled(spread::table(found)),
        Part::Quiet(spread::laid_words(found)),
        Part::Picture(super::spread_picture(found)),
    ];
    parts.extend(closing(&found.base));
    Document { title: format!("{}: from maker to maker", found.base.title), parts }
}

fn traced(prediction: &Prediction, found: &Attribution) -> Document {
    let now = trace::now(found);
    let mut said = vec![format!("Now: {now}.")];
    said.extend(found.rows.first().map(|r| format!("{} moves it most.", r.label)));
    let map: Picture = super::trace_picture(prediction, found);
    let (head, lines) = trace::table(found);
    let mut parts = vec![
        Part::Answers(vec![("Which rows and stitches move it, and by how much?", said)]),
        Part::Picture(map),
        heading("The rows that move it most"),
        Part::Text(trace::moves(found)),
        tabled((head.clone(), lines)),
    ];
    if !found.repeat.is_empty() {
        parts.push(Part::Text(trace::REPEAT.to_owned()));
        parts.push(tabled((head, trace::repeat(found))));
    }
    parts.extend(closing(prediction));
    Document { title: format!("{}: what moves the {}", prediction.title, found.aim.words()), parts }
}
