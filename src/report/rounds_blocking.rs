//! Blocking allowances side by side for a piece worked in rounds from its middle: table, pin list, overlaid
//! outlines, numbers.

use std::fmt::Write as _;

use serde_json::Value;
use serde_json::json;

use super::Picture;
use super::blocking::{cautions, pen, unit};
use super::ink;
use super::json::{SCHEMA, units_word};
use super::numbers::{rests, written};
use super::sheet::{Sheet, Type};
use super::table;
use super::text::wrapped;
use super::view::View;
use super::words;
use crate::measure::RimMeasures;
use crate::measure::Trueness;
use crate::predict::RimPinPoint;
use crate::predict::RoundBlocks;
use crate::predict::RoundTrial;
use crate::predict::StandsOff;
use crate::units::Length;
use crate::units::UnitSystem;

/// Tallest drawing.
const TALLEST: f64 = 1700.0;

/// The comparison as plain text.
pub fn rounds_blocking_text(blocks: &RoundBlocks) -> String {
    let washed = &blocks.washed;
    let mut out = String::new();
    let _ = writeln!(out, "{}: blocking, worked in closed rounds\n", washed.title);
    for sentence in sentences(blocks) {
        let _ = writeln!(out, "{}", wrapped(&format!("  {sentence}"), "    "));
    }
    out.push('\n');
    let (head, lines) = compared(blocks);
    out.push_str(&table::aligned(&head, &lines));
    let _ = writeln!(out, "\nStated, published or assumed; `lay` lists what the sizes rest on");
    for a in &blocks.assumptions {
        let line = format!("  {}: {}; {}", a.what, a.value, a.source);
        let _ = writeln!(out, "{}", wrapped(&line, "    "));
    }
    let _ = writeln!(out, "\nCautions");
    for caution in cautions() {
        let _ = writeln!(out, "{}", wrapped(&format!("  {caution}"), "    "));
    }
    out
}

/// "42.0 cm across", "42.0 cm from side to side, 58.1 cm from corner to corner".
fn size(units: UnitSystem, m: &RimMeasures) -> String {
    let wide = units.length(m.across.mean);
    match m.trueness {
        Trueness::Round(_) => format!("{wide} across"),
        Trueness::Sides { tips, .. } => {
            format!("{wide} from side to side, {} across its corners", units.length(tips))
        }
    }
}

/// What it measures washed, what is pinned, and one sentence a trial.
pub(super) fn sentences(blocks: &RoundBlocks) -> Vec<String> {
    let units = blocks.washed.units;
    let shape = match blocks.washed.corners {
        0 => "Its edge lies nearest to a circle and is pinned out to one".to_owned(),
        k => format!("It has {k} corners and is pinned out to a regular polygon, corners first"),
    };
    let mut all = vec![
        format!(
            "Washed, laid flat, no pins: {} ({}).",
            size(units, &blocks.washed.measured),
            blocks.washed.gauge_state
        ),
        format!("{shape}. Of the pinned stretch {:.0} % dries in.", blocks.set * 100.0),
    ];
    all.extend(blocks.trials.iter().map(|trial| {
        let reached = trial.towards_locking * 100.0;
        let too_far = if reached > 100.0 { ", too far for some" } else { "" };
        let many = trial.pins.len();
        let held = match blocks.wires {
            true => format!("on wires through {many} stitches"),
            false => format!("with {many} pins"),
        };
        format!(
            "Pinned {} {held}: keeps {}; under the pins stitches reach {reached:.0} % of the strain at which \
             they lock{too_far} ({}).{}",
            trial.words,
            size(units, &trial.released),
            trial.locks_first,
            lies(units, trial)
        )
    }));
    all
}

fn lies(units: UnitSystem, trial: &RoundTrial) -> String {
    match trial.stands {
        StandsOff::Rise(rise) if rise.to_mm() < 1.0 => " Unpinned it lies flat on a table.".into(),
        StandsOff::Rise(rise) => {
            format!(" Unpinned, on a table, it stands off by up to {}.", words::fine(units, rise))
        }
        _ => String::new(),
    }
}

/// A column for the washed piece and one for each trial, under its head.
pub(super) fn compared(blocks: &RoundBlocks) -> (Vec<String>, Vec<Vec<String>>) {
    let washed = &blocks.washed;
    let units = washed.units;
    let mut head = vec![String::new(), "washed, no pins".to_owned()];
    head.extend(blocks.trials.iter().map(|trial| format!("pinned {}", trial.words)));
    let corners = washed.corners > 0;
    let mut all: Vec<Vec<String>> = names(corners)
        .into_iter()
        .zip(before(units, corners, &washed.measured, &blocks.stands))
        .map(|(what, value)| vec![what.to_owned(), value])
        .collect();
    for trial in &blocks.trials {
        for (line, value) in all.iter_mut().zip(after(units, corners, &washed.measured, trial)) {
            line.push(value);
        }
    }
    (head, all)
}

/// What each line of the table speaks of; in the order of [`before`] and [`after`].
fn names(corners: bool) -> Vec<&'static str> {
    let (under, released, wash) = match corners {
        true => (
            "under the pins: from side to side",
            "released: from side to side",
            "next wash: from side to side",
        ),
        false => ("under the pins: across", "released: across", "next wash: across"),
    };
    let mut all = vec![
        under,
        "largest strain along the rounds",
        "largest strain up the columns",
        "share of the strain that locks",
        "nearest to locking",
        "scallop between pins",
        "pins",
        released,
    ];
    if corners {
        all.push("released: across its corners");
    } else {
        all.push("released: least and most across");
    }
    all.extend(["kept", "springback"]);
    match corners {
        true => all.extend(["straightness of its worst side", "worst corner, off a regular one"]),
        false => all.push("roundness of the edge"),
    }
    all.extend(["most that it stands off a table", wash]);
    all
}

/// Wide from corner to corner, or least and most across; how true.
fn true_to_shape(units: UnitSystem, m: &RimMeasures) -> (String, Vec<String>) {
    match m.trueness {
        Trueness::Round(ring) => {
            let both =
                format!("{} to {}", units.length(m.across.least), units.length(m.across.most));
            (both, vec![words::fine(units, ring)])
        }
        Trueness::Sides { straightness, off, tips } => (
            units.length(tips),
            vec![words::fine(units, straightness), format!("{:.1}°", off.to_degrees())],
        ),
    }
}

fn stood(units: UnitSystem, stands: &StandsOff) -> String {
    match stands {
        StandsOff::Rise(rise) => words::fine(units, *rise),
        StandsOff::Unsettled(_) => "did not settle".into(),
        StandsOff::NotAsked => "not solved: large".into(),
    }
}

fn before(units: UnitSystem, corners: bool, m: &RimMeasures, stands: &StandsOff) -> Vec<String> {
    let (over, how) = true_to_shape(units, m);
    let mut all = vec![String::new(); 7];
    all.extend([units.length(m.across.mean), over, String::new(), String::new()]);
    all.extend(how);
    all.extend([stood(units, stands), units.length(m.across.mean)]);
    debug_assert_eq!(all.len(), names(corners).len());
    all
}

fn after(
    units: UnitSystem,
    corners: bool,
    washed: &RimMeasures,
    trial: &RoundTrial,
) -> Vec<String> {
    let RoundTrial { pinned, released, rewashed, .. } = trial;
    let wide = |m: &RimMeasures| m.across.mean;
    let share = |part: f64, digits: usize| format!("{:.digits$} %", part * 100.0);
    let (over, how) = true_to_shape(units, released);
    let mut all = vec![
        units.length(wide(pinned)),
        share(trial.strain[0], 1),
        share(trial.strain[1], 1),
        share(trial.towards_locking, 0),
        trial.locks_first.clone(),
        words::fine(units, trial.scallop),
        trial.pins.len().to_string(),
        units.length(wide(released)),
        over,
        words::percent_off(wide(released), wide(washed)),
        words::percent_off(wide(released), wide(pinned)),
    ];
    all.extend(how);
    all.extend([stood(units, &trial.stands), units.length(wide(rewashed))]);
    debug_assert_eq!(all.len(), names(corners).len());
    all
}

/// Where the pins go, in placing order: head and lines.
pub(super) fn pins(blocks: &RoundBlocks, trial: &RoundTrial) -> (Vec<String>, Vec<Vec<String>>) {
    let units = blocks.washed.units;
    let long = |l: Length| match units {
        UnitSystem::Metric => l.to_cm(),
        UnitSystem::Imperial => l.to_inches(),
    };
    let from = if blocks.washed.corners > 0 { "that corner" } else { "the first pin" };
    let head = vec![
        "order".to_owned(),
        "place".to_owned(),
        format!("along the edge from {from} ({})", unit(units)),
        "turn about the middle (degrees)".to_owned(),
    ];
    let line = |(k, pin): (usize, &RimPinPoint)| {
        vec![
            (k + 1).to_string(),
            pin.place.clone(),
            format!("{:.1}", long(pin.along)),
            format!("{:.1}", pin.turn.to_degrees()),
        ]
    };
    (head, trial.pins.iter().enumerate().map(line).collect())
}

/// Where the pins go for one trial, in placing order, as CSV; turns run counter-clockwise from the first.
pub fn rounds_pin_list(blocks: &RoundBlocks, trial: &RoundTrial) -> String {
    let (head, lines) = pins(blocks, trial);
    let mut out = head.join(",") + "\n";
    for line in lines {
        let _ = writeln!(out, "{},\"{}\",{},{}", line[0], line[1], line[2], line[3]);
    }
    out
}

/// Outlines after release, one over the other, with the washed piece filled behind and the pins as dots.
pub fn rounds_blocking_picture(blocks: &RoundBlocks) -> Picture {
    let mut sheet = Sheet::new();
    let washed = &blocks.washed.measured.outline;
    let units = blocks.washed.units;
    let title = format!("{}: blocked and released", blocks.washed.title);
    let below = "Filled: washed, laid flat. Lines: unpinned. Dots: pins, the first one larger";
    let places: Vec<Vec<[f64; 2]>> =
        blocks.trials.iter().map(|t| t.pins.iter().map(|p| p.at).collect()).collect();
    let mut shown: Vec<&[[f64; 2]]> = vec![washed];
    shown.extend(blocks.trials.iter().map(|t| t.released.outline.as_slice()));
    shown.extend(places.iter().map(Vec::as_slice));
    let mut y = sheet.heading(&title, below) + ink::LABEL;
    for (k, trial) in blocks.trials.iter().enumerate() {
        let middle = y - ink::LABEL * 0.35;
        sheet.line([ink::MARGIN, middle], [ink::MARGIN + 90.0, middle], pen(k));
        let words = format!("pinned {}: keeps {}", trial.words, size(units, &trial.released));
        sheet.text([ink::MARGIN + 110.0, y], &words, Type::LABEL);
        y += ink::LABEL * 1.5;
    }
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let view = View::upright(&shown);
    let wide = view.placed([ink::MARGIN, y + 20.0], [room, TALLEST]).box_on_page()[0];
    let middle = ink::MARGIN + 0.5 * (room - wide);
    let placed = view.placed([middle, y + 20.0], [room, TALLEST]);
    sheet.polygon(&placed.points(washed), Some(ink::CLOTH), None);
    for (k, trial) in blocks.trials.iter().enumerate() {
        sheet.polygon(&placed.points(&trial.released.outline), None, Some(pen(k)));
    }
    for (k, pins) in places.iter().enumerate() {
        for (n, at) in placed.points(pins).into_iter().enumerate() {
            sheet.dot(at, if n == 0 { 11.0 } else { 6.0 }, pen(k).colour);
        }
    }
    let bottom = placed.corner[1] + placed.box_on_page()[1] + 60.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, units);
    sheet.set_height(bottom + 90.0);
    Picture { name: "blocked".into(), svg: sheet.finish(&title, &sentences(blocks).join(" ")) }
}

/// Everything that [`rounds_blocking_text`] says in numbers, and every pin.
///
/// | key | content |
/// |---|---|
/// | `schema`, `title`, `units`, `set` | `set` is the share of the pinned stretch that dries in |
/// | `corners` | of the piece; 0 where it is round |
/// | `washed` | laid flat without pins: `across_mm` (mean, least, most), `roundness_mm` or `straightness_mm`, `corner_off_deg` and `tips_mm`, `area_mm2`, `outline_mm` about the middle; `stands_off_mm` |
/// | `trials` | `words`; `pinned`, `released`, `rewashed` as `washed`; `scallop_mm`, largest `strain` along rounds and up columns, `towards_locking` with its place `locks_first`, `stands_off_mm`, `pins` in placing order with `place`, `along_mm`, `turn_deg`, `at_mm` |
/// | `assumptions`, `cautions` | what the numbers rest on |
pub fn rounds_blocking_json(blocks: &RoundBlocks) -> String {
    let off = |stands: &StandsOff| match stands {
        StandsOff::Rise(rise) => Some(rise.to_mm()),
        _ => None,
    };
    let trial = |t: &RoundTrial| {
        json!({
            "words": t.words,
            "pinned": sizes(&t.pinned),
            "released": sizes(&t.released),
            "rewashed": sizes(&t.rewashed),
            "scallop_mm": t.scallop.to_mm(),
            "strain": t.strain,
            "towards_locking": t.towards_locking,
            "locks_first": t.locks_first,
            "stands_off_mm": off(&t.stands),
            "pins": t.pins.iter().map(|p| {
                json!({
                    "place": p.place, "along_mm": p.along.to_mm(), "turn_deg": p.turn.to_degrees(),
                    "at_mm": p.at,
                })
            }).collect::<Vec<_>>(),
        })
    };
    let washed = &blocks.washed;
    let value = json!({
        "schema": SCHEMA,
        "title": washed.title,
        "units": units_word(washed.units),
        "set": blocks.set,
        "corners": washed.corners,
        "washed": sizes(&washed.measured),
        "stands_off_mm": off(&blocks.stands),
        "trials": blocks.trials.iter().map(trial).collect::<Vec<_>>(),
        "assumptions": rests(&blocks.assumptions, &washed.assumptions),
        "cautions": cautions(),
    });
    written(&value)
}

/// The comparison of the trials as a table for a spreadsheet, in the user's units.
pub fn rounds_blocking_csv(blocks: &RoundBlocks) -> String {
    let (head, lines) = compared(blocks);
    super::numbers::spreadsheet(&head, &lines)
}

fn sizes(m: &RimMeasures) -> Value {
    let mut value = json!({
        "across_mm": {
            "mean": m.across.mean.to_mm(), "least": m.across.least.to_mm(), "most": m.across.most.to_mm(),
        },
        "area_mm2": m.area_mm2,
        "outline_mm": m.outline,
    });
    match m.trueness {
        Trueness::Round(ring) => value["roundness_mm"] = json!(ring.to_mm()),
        Trueness::Sides { straightness, off, tips } => {
            value["straightness_mm"] = json!(straightness.to_mm());
            value["corner_off_deg"] = json!(off.to_degrees());
            value["tips_mm"] = json!(tips.to_mm());
        }
    }
    value
}
