//! How the stitch mix changes the slant: one pattern, many variants.

use std::ops::ControlFlow;

use rayon::prelude::*;

use super::change::{Change, abbreviation, neighbours, post_of, shapes};
use super::rows::{NoSuchRows, Rows, fabric_rows, repeat, section};
use super::vary::Variation;
use crate::measure::row_label;
use crate::predict::Failure;
use crate::predict::Options;
use crate::predict::Prediction;
use crate::predict::Reading;
use crate::predict::make;
use crate::stitches::Piece;

/// One way of working the pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct Variant {
    /// "stitch dc; 50 % tall".
    pub name: String,
    /// Place on the axis of the first variation, when that is a number.
    pub number: Option<f64>,
    /// What is done otherwise.
    pub changes: Vec<Change>,
}

/// A variant and what became of it.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Its name.
    pub name: String,
    /// Place on the axis, when the variable is a number.
    pub number: Option<f64>,
    /// What it measures, without the strain map; or why it could not be laid.
    pub result: Result<Prediction, String>,
    /// Why it is the piece as written, when none of its changes changes anything.
    pub idle: Option<&'static str>,
}

/// Variants of one pattern.
#[derive(Debug, Clone)]
pub struct Mix {
    /// Title of the pattern.
    pub title: String,
    /// What the axis shows, when the variants lie on one.
    pub variable: String,
    /// As written.
    pub base: Prediction,
    /// The variants: in the order asked for, or by their effect on the slant.
    pub outcomes: Vec<Outcome>,
    /// True when they are sorted by effect.
    pub ranked: bool,
}

impl Mix {
    /// Mean slant of the two edges, degrees.
    pub fn slant(prediction: &Prediction) -> f64 {
        let [left, right] = &prediction.measured.edges;
        (left.slant.to_degrees() + right.slant.to_degrees()) / 2.0
    }
}

/// All combinations of the values of `variations`, the last varying fastest.
pub fn variants(variations: &[Variation]) -> Vec<Variant> {
    let mut list = vec![Variant { name: String::new(), number: None, changes: Vec::new() }];
    for (k, variation) in variations.iter().enumerate() {
        list = list
            .iter()
            .flat_map(|before| {
                variation.values.iter().map(|value| {
                    let mut changes = before.changes.clone();
                    changes.push(value.change.clone());
                    let name = if k == 0 {
                        value.words.clone()
                    } else {
                        format!("{}; {}", before.name, value.words)
                    };
                    let number = if k == 0 { value.number } else { before.number };
                    Variant { name, number, changes }
                })
            })
            .collect();
    }
    list
}

/// What to try when nobody says: every row of the longest section's repeat as the next shorter and the
/// next taller stitch, and every shaping row of it without its shaping.
pub fn plain_trials(piece: &Piece) -> Vec<Variant> {
    let (rows, period) = repeat(piece);
    let mut list = Vec::new();
    for &row in rows.iter().take(period) {
        let Some((_, number)) = fabric_rows(piece).find(|r| r.0 == row) else { continue };
        let every = (period < rows.len()).then_some(period as u32);
        let name = section(piece, row);
        let chosen = Rows {
            section: (!name.is_empty()).then(|| name.to_owned()),
            range: Some((number, number)),
            every,
        };
        let label = row_label(piece, row as u32);
        let mut add = |what: String, change| {
            let name = format!("{label} {what}");
            list.push(Variant { name, number: None, changes: vec![change] });
        };
        if let Some(post) = post_of(piece, row) {
            for (other, way) in neighbours(post).into_iter().zip(["shorter", "taller"]) {
                if let Some(other) = other {
                    let what = format!("as {} ({way})", abbreviation(other));
                    add(what, Change::Stitch(chosen.clone(), other));
                }
            }
        }
        if shapes(piece, row) {
            add("without shaping".into(), Change::ShapeEvery(chosen, 0));
        }
    }
    list
}

/// Lays every variant of a pattern that has been read, several at a time; the order and the numbers
/// do not depend on how many. `told` hears of each that is done. With `ranked` they come sorted by
/// their effect on the slant, strongest first.
///
/// # Errors
/// [`Failure`] of the pattern as written; a variant that fails is reported among the outcomes.
pub fn mix(
    reading: &Reading,
    options: &Options,
    variants: &[Variant],
    variable: &str,
    ranked: bool,
    told: &(dyn Fn(usize) + Sync),
) -> Result<Mix, Failure> {
    let base =
        make(reading, &reading.piece, options, &mut |_| ControlFlow::Continue(()))?.prediction;
    let done = std::sync::atomic::AtomicUsize::new(0);
    let mut outcomes: Vec<Outcome> = variants
        .par_iter()
        .map(|variant| {
            let (result, idle) = match lay_variant(reading, options, variant) {
                Ok((prediction, idle)) => (Ok(prediction), idle),
                Err(why) => (Err(why), None),
            };
            told(done.fetch_add(1, std::sync::atomic::Ordering::Relaxed) + 1);
            Outcome { name: variant.name.clone(), number: variant.number, result, idle }
        })
        .collect();
    if ranked {
        let was = Mix::slant(&base);
        let effect = |o: &Outcome| o.result.as_ref().map_or(-1.0, |p| (Mix::slant(p) - was).abs());
        outcomes.sort_by(|a, b| effect(b).total_cmp(&effect(a)));
    }
    Ok(Mix { title: base.title.clone(), variable: variable.to_owned(), base, outcomes, ranked })
}

/// Lays a variant; with the reason where it is the piece as written.
fn lay_variant(
    reading: &Reading,
    options: &Options,
    variant: &Variant,
) -> Result<(Prediction, Option<&'static str>), String> {
    let mut changed = reading.clone();
    let mut options = options.clone();
    let mut idle = variant.changes.first().map(Change::idle);
    for change in &variant.changes {
        if change.apply(&mut changed, &mut options).map_err(|e: NoSuchRows| e.to_string())? {
            idle = None;
        }
    }
    let run = make(&changed, &reading.piece, &options, &mut |_| ControlFlow::Continue(()));
    let mut prediction = run.map_err(|failure| failure.to_string())?.prediction;
    prediction.measured.cells = Vec::new();
    Ok((prediction, idle))
}
