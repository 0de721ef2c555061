//! A hung piece in closed rounds: figures and views.

use std::fmt::Write as _;

use serde_json::json;

use super::Picture;
use super::hanging::{borne, care, eyes, law, layers, skewed, solved_in};
use super::json::{SCHEMA, units_word};
use super::numbers::{rests, written};
use super::space::{Seen, views};
use super::surface::Surface;
use super::table;
use super::text::wrapped;
use super::words;
use crate::predict::HungRounds;
use crate::units::Length;

/// Figures of the hung piece beside the laid one.
pub fn rounds_hanging_text(hung: &HungRounds) -> String {
    let mut out = String::new();
    let _ = writeln!(out, "{}: hung, worked in closed rounds\n", hung.laid.title);
    for (question, sentences) in answers(hung) {
        let _ = writeln!(out, "{question}");
        for sentence in sentences {
            let _ = writeln!(out, "{}", wrapped(&format!("  {sentence}"), "    "));
        }
        out.push('\n');
    }
    let (head, lines) = compared(hung);
    out.push_str(&table::aligned(&head, &lines));
    let _ = writeln!(out, "\nStated, published or assumed; `lay` lists what the sizes rest on");
    for a in &hung.assumptions {
        let line = format!("  {}: {}; {}", a.what, a.value, a.source);
        let _ = writeln!(out, "{}", wrapped(&line, "    "));
    }
    let _ = writeln!(out, "\n{}", wrapped(&not_modelled(hung), ""));
    let _ = writeln!(out, "\nCautions");
    for caution in care(&hung.laid.cautions) {
        let _ = writeln!(out, "{}", wrapped(&format!("  {caution}"), "    "));
    }
    let _ = writeln!(out, "\n{}", solved_in(&hung.solution));
    out
}

/// What a designer asks of a hung piece, each with its answers.
pub(super) fn answers(hung: &HungRounds) -> Vec<(&'static str, Vec<String>)> {
    vec![
        ("How does it hang, and by how much does it grow?", grows(hung)),
        ("How far does it hang down, and does it skew?", falls(hung)),
        ("And while it goes on hanging?", later(hung)),
    ]
}

fn grown(share: f64) -> String {
    format!("{} %", words::signed(100.0 * share, 1))
}

fn before(hung: &HungRounds) -> &'static str {
    if hung.from_table { "at rest on a table" } else { "pressed flat" }
}

fn grows(hung: &HungRounds) -> Vec<String> {
    let units = hung.laid.units;
    let [wide, deep, tall] = hung.size.map(|l| units.length(l));
    let [along, up] = hung.growth.map(grown);
    let mut said = vec![
        format!("It weighs {:.0} g and hangs {}.", hung.mass.to_grams(), hung.words),
        format!(
            "Under its own weight its stitches grow by {along} along the rounds and {up} up the columns, on \
             average, against the piece {}.",
            before(hung)
        ),
        format!("Its outline as worn is {wide} wide, {tall} tall and {deep} deep."),
        borne(hung.borne, hung.held.len(), hung.largest_pull),
    ];
    if let Some(drape) = hung.drape {
        said.push(format!(
            "Drape coefficient {:.0} % of its own outline; layers pass through each other.",
            100.0 * drape
        ));
    }
    said
}

fn falls(hung: &HungRounds) -> Vec<String> {
    let units = hung.laid.units;
    let [was, now] = hung.lowest;
    let mut low = format!("Its lowest stitch hangs {} below what holds it", units.length(now));
    if !hung.dropped {
        let _ = write!(low, "; flat and unstretched it would hang {} below", units.length(was));
    }
    low.push('.');
    vec![low, skewed(hung.skew, hung.most_skew, "rounds")]
}

/// Growth at later times.
pub(super) fn later(hung: &HungRounds) -> Vec<String> {
    let mut said = vec![law(hung.creep)];
    said.extend(hung.later.iter().map(|at| {
        let [along, up] = at.growth.map(grown);
        format!("After {}: {along} along the rounds, {up} up the columns.", at.after)
    }));
    said
}

/// Laid and hung side by side, round by round: head and lines.
pub(super) fn compared(hung: &HungRounds) -> (Vec<String>, Vec<Vec<String>>) {
    let units = hung.laid.units;
    let lines = hung.by_round.iter().map(|row| {
        let [laid, hangs] = row.along.map(|l| units.length(l));
        let growth = words::percent_off(row.along[1], row.along[0]);
        vec![row.label.clone(), laid, hangs, growth, units.length(row.below)]
    });
    let head = ["round", "along, lying", "along, hung", "growth", "lies below by, on average"];
    (head.map(str::to_owned).to_vec(), lines.collect())
}

/// What the model leaves out.
pub(super) fn not_modelled(hung: &HungRounds) -> String {
    layers(hung.crossed, hung.cells.len())
}

/// Views side by side, at least two.
pub fn rounds_hanging_picture(hung: &HungRounds) -> Picture {
    let surface = Surface::hung(&hung.cells);
    let what = Seen {
        surface: &surface,
        palette: &hung.laid.palette,
        carriers: &hung.carriers,
        held: &hung.held,
    };
    let title = format!("{}: hung", hung.laid.title);
    let words = format!("Hangs {}. Farther parts are paler, the wrong side is greyer.", hung.words);
    let hangs = format!("Hangs {}", hung.words.split(';').next().unwrap_or_default());
    let svg = views(&what, &eyes(hung.worn), [&title, &hangs], &words, hung.laid.units);
    Picture { name: "hung".into(), svg }
}

/// Everything that [`rounds_hanging_text`] says in numbers, and every round.
///
/// | key | content |
/// |---|---|
/// | `schema`, `title`, `units`, `hangs`, `mass_g`, `largest_pull_n`, `drape`, `borne_n`, `crossed_cells`, `size_mm`, `skew_deg`, `most_skew_deg`, `assumptions`, `cautions`, `solution` | as of [`super::hanging_json`] |
/// | `corners` | of the piece; 0 where it is round |
/// | `lowest_mm` | how far the lowest stitch lies below what holds the piece, `unstretched` and `hung` |
/// | `compared_with` | what growth is told against: the piece `at rest on a table` or `pressed flat` |
/// | `growth` | at once `along_rounds` and `up_columns`, mean shares; the law's `share_per_tenfold` and `from_hours`; `later` with `after` and both |
/// | `rounds` | `label`, `laid_mm`, `hung_mm`, `below_mm` |
pub fn rounds_hanging_json(hung: &HungRounds) -> String {
    let later = hung.later.iter().map(|at| {
        let [along, up] = at.growth;
        json!({ "after": at.after, "along_rounds": along, "up_columns": up })
    });
    let [share, hours] = hung.creep;
    let [unstretched, low] = hung.lowest.map(Length::to_mm);
    let value = json!({
        "schema": SCHEMA,
        "title": hung.laid.title,
        "units": units_word(hung.laid.units),
        "hangs": hung.words,
        "corners": hung.laid.corners,
        "mass_g": hung.mass.to_grams(),
        "largest_pull_n": hung.largest_pull,
        "borne_n": { "held": hung.borne[0], "carried": hung.borne[1] },
        "crossed_cells": hung.crossed,
        "drape": hung.drape,
        "size_mm": hung.size.map(Length::to_mm),
        "lowest_mm": { "unstretched": unstretched, "hung": low },
        "compared_with": before(hung),
        "skew_deg": hung.skew.to_degrees(),
        "most_skew_deg": hung.most_skew.to_degrees(),
        "growth": {
            "along_rounds": hung.growth[0], "up_columns": hung.growth[1],
            "share_per_tenfold": share, "from_hours": hours, "later": later.collect::<Vec<_>>(),
        },
        "rounds": hung.by_round.iter().map(|row| {
            let [laid, hangs] = row.along.map(Length::to_mm);
            json!({
                "label": row.label, "laid_mm": laid, "hung_mm": hangs, "below_mm": row.below.to_mm(),
            })
        }).collect::<Vec<_>>(),
        "assumptions": rests(&hung.assumptions, &hung.laid.assumptions),
        "cautions": care(&hung.laid.cautions),
        "solution": super::numbers::solved(&hung.solution),
    });
    written(&value)
}

/// Every round, mm.
pub fn rounds_hanging_csv(hung: &HungRounds) -> String {
    super::numbers::by_row(&hung.by_round)
}
