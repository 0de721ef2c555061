//! Blocking allowances side by side: table, pin list and overlaid outlines.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::sheet::{Pen, Sheet, Type};
use super::table;
use super::view::View;
use super::words;
use crate::measure::Measurements;
use crate::predict::Blocks;
use crate::predict::PinPoint;
use crate::predict::Trial;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Tallest drawing.
const TALLEST: f64 = 1300.0;

/// Pens of the trials' outlines: told apart by dash as well as by colour.
pub(super) fn pen(k: usize) -> Pen {
    let colours = [ink::DEEP, ink::WARM, ink::PLAN, ink::QUIET, ink::INK];
    let pen = Pen::new(colours[k % colours.len()], 4.0);
    match k / colours.len() + k % 3 {
        0 => pen,
        1 => pen.dashed(20.0, 8.0),
        _ => pen.dashed(6.0, 8.0),
    }
}

/// The comparison as plain text.
pub fn blocking_text(blocks: &Blocks) -> String {
    let washed = &blocks.washed;
    let units = washed.units;
    let mut out = String::new();
    let _ = writeln!(out, "{}: blocking\n", washed.title);
    let _ = writeln!(out, "Washed, laid flat, no pins: {}.", size(units, &washed.measured));
    let _ = writeln!(out, "Of the pinned stretch {:.0} % dries in.", blocks.set * 100.0);
    out.push('\n');
    let (head, lines) = compared(blocks);
    out.push_str(&table::aligned(&head, &lines));
    let _ = writeln!(out, "\nStated, published or assumed");
    for a in &blocks.assumptions {
        let _ = writeln!(out, "  {}: {}; {}", a.what, a.value, a.source);
    }
    let _ = writeln!(out, "\nCautions");
    for c in cautions() {
        let _ = writeln!(out, "  {c}");
    }
    out
}

/// One sentence a trial: what is kept, and what the next wash leaves of it.
pub(super) fn sentences(blocks: &Blocks) -> Vec<String> {
    let units = blocks.washed.units;
    let mut all =
        vec![format!("Washed, laid flat, no pins: {}.", size(units, &blocks.washed.measured))];
    all.extend(blocks.trials.iter().map(|trial| {
        let reached = trial.towards_locking * 100.0;
        let too_far = if reached > 100.0 { ", too far for some" } else { "" };
        format!(
            "Pinned {}: keeps {}; under the pins stitches reach {reached:.0} % of the strain at which \
             they lock{too_far} ({}).",
            trial.words,
            size(units, &trial.released),
            trial.locks_first
        )
    }));
    all
}

/// A column for the washed piece and one for each trial, under its head.
pub(super) fn compared(blocks: &Blocks) -> (Vec<String>, Vec<Vec<String>>) {
    let washed = &blocks.washed;
    let mut head = vec![String::new(), "washed, no pins".to_owned()];
    head.extend(blocks.trials.iter().map(|trial| format!("pinned {}", trial.words)));
    let mut all: Vec<Vec<String>> = before(washed.units, &washed.measured)
        .into_iter()
        .map(|(what, value)| vec![what.to_owned(), value])
        .collect();
    for trial in &blocks.trials {
        let values = after(washed.units, &washed.measured, trial);
        for (line, value) in all.iter_mut().zip(values) {
            line.push(value);
        }
    }
    (head, all)
}

/// Where the pins go, corners first: head and lines.
pub(super) fn pins(blocks: &Blocks, trial: &Trial) -> (Vec<String>, Vec<Vec<String>>) {
    let units = blocks.washed.units;
    let distance = format!("distance from its first corner ({})", unit(units));
    let head = vec!["order".to_owned(), "side".to_owned(), distance];
    let line = |(k, pin): (usize, &PinPoint)| {
        let along = match units {
            UnitSystem::Metric => pin.along.to_cm(),
            UnitSystem::Imperial => pin.along.to_inches(),
        };
        vec![(k + 1).to_string(), pin.side.clone(), format!("{along:.1}")]
    };
    (head, trial.pins.iter().enumerate().map(line).collect())
}

/// Where the pins go for one trial, corners first, as CSV.
pub fn pin_list(blocks: &Blocks, trial: &Trial) -> String {
    let (head, lines) = pins(blocks, trial);
    let mut out = head.join(",") + "\n";
    for line in lines {
        let _ = writeln!(out, "{},\"{}\",{}", line[0], line[1], line[2]);
    }
    out
}

pub(super) fn unit(units: UnitSystem) -> &'static str {
    match units {
        UnitSystem::Metric => "cm",
        UnitSystem::Imperial => "in",
    }
}

pub(super) fn cautions() -> [&'static str; 2] {
    [
        "Follow the yarn's care label first; heat and steam can ruin a fibre for good.",
        "Pin a heavy wet piece out flat: hung up wet it stretches under its own weight and can fall.",
    ]
}

fn size(units: UnitSystem, m: &Measurements) -> String {
    format!(
        "{} along the rows by {} along the edges, slant {}",
        units.length(m.along_rows.mean),
        units.length(edges(m)),
        words::degrees(slant(m))
    )
}

/// Mean length of the two edges.
fn edges(m: &Measurements) -> Length {
    (m.edges[0].chord + m.edges[1].chord) / 2.0
}

fn slant(m: &Measurements) -> Angle {
    (m.edges[0].slant + m.edges[1].slant) / 2.0
}

/// What each line of the table speaks of, and its value for the washed piece; in the order of [`after`].
fn before(units: UnitSystem, m: &Measurements) -> Vec<(&'static str, String)> {
    let none = String::new;
    vec![
        ("under the pins: along the rows", none()),
        ("under the pins: along the edges", none()),
        ("largest strain along the rows", none()),
        ("largest strain up the columns", none()),
        ("share of the strain that locks", none()),
        ("nearest to locking", none()),
        ("scallop between pins", none()),
        ("pins", none()),
        ("released: along the rows", units.length(m.along_rows.mean)),
        ("released: along the edges", units.length(edges(m))),
        ("released: slant", words::degrees(slant(m))),
        ("kept along the rows", none()),
        ("kept along the edges", none()),
        ("springback along the rows", none()),
        ("springback along the edges", none()),
        ("straightness of the left edge", words::fine(units, m.edges[0].minimum_zone)),
        ("straightness of the right edge", words::fine(units, m.edges[1].minimum_zone)),
        ("next wash: along the rows", units.length(m.along_rows.mean)),
        ("next wash: along the edges", units.length(edges(m))),
    ]
}

fn after(units: UnitSystem, washed: &Measurements, trial: &Trial) -> Vec<String> {
    let Trial { pinned, released, rewashed, .. } = trial;
    let rows = |m: &Measurements| m.along_rows.mean;
    let share = |part: f64, digits: usize| format!("{:.digits$} %", part * 100.0);
    vec![
        units.length(rows(pinned)),
        units.length(edges(pinned)),
        share(trial.strain[0], 1),
        share(trial.strain[1], 1),
        share(trial.towards_locking, 0),
        trial.locks_first.clone(),
        words::fine(units, trial.scallop),
        trial.pins.len().to_string(),
        units.length(rows(released)),
        units.length(edges(released)),
        words::degrees(slant(released)),
        words::percent_off(rows(released), rows(washed)),
        words::percent_off(edges(released), edges(washed)),
        words::percent_off(rows(released), rows(pinned)),
        words::percent_off(edges(released), edges(pinned)),
        words::fine(units, released.edges[0].minimum_zone),
        words::fine(units, released.edges[1].minimum_zone),
        units.length(rows(rewashed)),
        units.length(edges(rewashed)),
    ]
}

/// Outlines after release, one over the other, with the washed piece filled behind.
pub fn blocking_picture(blocks: &Blocks) -> Picture {
    let mut sheet = Sheet::new();
    let washed = &blocks.washed.measured;
    let title = format!("{}: blocked and released", blocks.washed.title);
    let mut shown: Vec<&[[f64; 2]]> = vec![&washed.outline];
    shown.extend(blocks.trials.iter().map(|t| t.released.outline.as_slice()));
    let view = View::of(washed, &shown);
    let below = format!("Filled: washed, laid flat; {}", view.words());
    let mut y = sheet.heading(&title, &below) + ink::LABEL;
    for (k, trial) in blocks.trials.iter().enumerate() {
        let middle = y - ink::LABEL * 0.35;
        sheet.line([ink::MARGIN, middle], [ink::MARGIN + 90.0, middle], pen(k));
        let [left, right] = &trial.released.edges;
        let units = blocks.washed.units;
        let words = format!(
            "pinned {}: keeps {} by {}",
            trial.words,
            units.length(trial.released.along_rows.mean),
            units.length((left.chord + right.chord) / 2.0)
        );
        sheet.text([ink::MARGIN + 110.0, y], &words, Type::LABEL);
        y += ink::LABEL * 1.5;
    }
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let placed = view.placed([ink::MARGIN, y + 20.0], [room, TALLEST]);
    sheet.polygon(&placed.points(&washed.outline), Some(ink::CLOTH), None);
    for (k, trial) in blocks.trials.iter().enumerate() {
        sheet.polygon(&placed.points(&trial.released.outline), None, Some(pen(k)));
    }
    let bottom = placed.corner[1] + placed.box_on_page()[1] + 60.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, blocks.washed.units);
    sheet.set_height(bottom + 90.0);
    Picture { name: "blocked".into(), svg: sheet.finish(&title, &below) }
}
