//! Blocking allowances side by side: table, pin list and overlaid outlines.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::sheet::{Pen, Sheet, Type};
use super::view::View;
use super::words;
use crate::measure::Measurements;
use crate::predict::Blocks;
use crate::predict::PinPoint;
use crate::predict::Trial;
use crate::units::UnitSystem;

/// Tallest drawing.
const TALLEST: f64 = 1300.0;

/// Pens of the trials' outlines: told apart by dash as well as by colour.
fn pen(k: usize) -> Pen {
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
    for (k, trial) in blocks.trials.iter().enumerate() {
        let _ = writeln!(out, "\n{}. Pinned {}", k + 1, trial.words);
        for (what, value) in lines(units, &washed.measured, trial) {
            let _ = writeln!(out, "   {what:<34}{value}");
        }
    }
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
             they lock{too_far}.",
            trial.words,
            size(units, &trial.released)
        )
    }));
    all
}

/// A column for each trial, under its head.
pub(super) fn table(blocks: &Blocks) -> (Vec<String>, Vec<Vec<String>>) {
    let washed = &blocks.washed;
    let mut head = vec![String::new()];
    let mut all: Vec<Vec<String>> = Vec::new();
    for trial in &blocks.trials {
        head.push(format!("pinned {}", trial.words));
        for (k, (what, value)) in
            lines(washed.units, &washed.measured, trial).into_iter().enumerate()
        {
            match all.get_mut(k) {
                Some(line) => line.push(value),
                None => all.push(vec![what.to_owned(), value]),
            }
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

fn unit(units: UnitSystem) -> &'static str {
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
    let [left, right] = &m.edges;
    format!(
        "{} along the rows by {} along the edges, slant {}",
        units.length(m.along_rows.mean),
        units.length((left.chord + right.chord) / 2.0),
        words::degrees((left.slant + right.slant) / 2.0)
    )
}

fn lines(units: UnitSystem, washed: &Measurements, trial: &Trial) -> Vec<(&'static str, String)> {
    let edge = |m: &Measurements| {
        let [l, r] = &m.edges;
        format!("{} left, {} right", units.length(l.minimum_zone), units.length(r.minimum_zone))
    };
    let back = |pinned: crate::units::Length, released: crate::units::Length| {
        words::percent_off(released, pinned)
    };
    let along = |m: &Measurements| (m.edges[0].chord + m.edges[1].chord) / 2.0;
    vec![
        ("under the pins", size(units, &trial.pinned)),
        ("after release", size(units, &trial.released)),
        (
            "springback",
            format!(
                "{} along the rows, {} along the edges",
                back(trial.pinned.along_rows.mean, trial.released.along_rows.mean),
                back(along(&trial.pinned), along(&trial.released))
            ),
        ),
        ("kept against washed", {
            let kept = |f: fn(&Measurements) -> crate::units::Length| {
                words::percent_off(f(&trial.released), f(washed))
            };
            format!(
                "{} along the rows, {} square to them",
                kept(|m| m.along_rows.mean),
                kept(|m| m.square_to_rows)
            )
        }),
        ("edge straightness, washed", edge(washed)),
        ("edge straightness, released", edge(&trial.released)),
        ("scallop between pins", units.length(trial.scallop)),
        (
            "largest strain under the pins",
            format!(
                "{:.1} % along the rows, {:.1} % up the columns: {:.0} % of the way to locking",
                trial.strain[0] * 100.0,
                trial.strain[1] * 100.0,
                trial.towards_locking * 100.0
            ),
        ),
        ("pins", trial.pins.len().to_string()),
        ("after the next wash", size(units, &trial.rewashed)),
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
