//! Numbers of the blocked and of the hung piece as JSON and CSV.
//!
//! JSON, schema [`super::SCHEMA`]; keys name their unit as in [`super::json`], a corner's `drop_mm` is less
//! than zero where it is drawn up, and shares are of one. Frame of the hung piece: x to the right, y away
//! from the viewer of the front, z up, what holds it at height 0.

use std::fmt::Write as _;

use serde_json::Value;
use serde_json::json;

use super::csv::quoted;
use super::json::{SCHEMA, units_word};
use crate::measure::Measurements;
use crate::predict::Assumption;
use crate::predict::Blocks;
use crate::predict::Hanging;
use crate::predict::HungRow;
use crate::predict::Solution;
use crate::predict::Trial;
use crate::units::Length;

/// Everything that [`super::hanging_text`] says in numbers, and every row.
///
/// | key | content |
/// |---|---|
/// | `schema`, `title`, `units` | as of the laid piece |
/// | `hangs` | what holds it, in words |
/// | `mass_g`, `largest_pull_n`, `drape` | weight, largest force on a held stitch, drape coefficient or `null` |
/// | `borne_n` | weight borne by `held` stitches and by what the rest lies on, `carried` |
/// | `crossed_cells` | cells that another layer passes through, which nothing hinders |
/// | `along_rows_mm`, `left_edge_mm`, `right_edge_mm` | `laid` and `hung` |
/// | `size_mm` | width, depth, height as worn |
/// | `corners` | `name`, `below_mm`, `drop_mm` |
/// | `skew_deg`, `most_skew_deg` | change of the angle between rows and columns |
/// | `growth` | the law's `share_per_tenfold` and `from_hours`; `later` with `after`, `along_rows`, `along_edges` |
/// | `rows` | `label`, `laid_mm`, `hung_mm`, `below_mm` |
/// | `assumptions`, `cautions`, `solution` | what the numbers rest on, how the equilibrium was reached |
pub fn hanging_json(hung: &Hanging) -> String {
    let pair = |[laid, hangs]: [Length; 2]| json!({ "laid": laid.to_mm(), "hung": hangs.to_mm() });
    let later = hung.later.iter().map(|at| {
        let [rows, edges] = at.growth;
        json!({ "after": at.after, "along_rows": rows, "along_edges": edges })
    });
    let [share, hours] = hung.creep;
    let value = json!({
        "schema": SCHEMA,
        "title": hung.laid.title,
        "units": units_word(hung.laid.units),
        "hangs": hung.words,
        "mass_g": hung.mass.to_grams(),
        "largest_pull_n": hung.largest_pull,
        "borne_n": { "held": hung.borne[0], "carried": hung.borne[1] },
        "crossed_cells": hung.crossed,
        "drape": hung.drape,
        "along_rows_mm": pair(hung.rows),
        "left_edge_mm": pair(hung.edges[0]),
        "right_edge_mm": pair(hung.edges[1]),
        "size_mm": hung.size.map(Length::to_mm),
        "corners": hung.corners.iter().map(|c| {
            json!({ "name": c.name, "below_mm": c.below.to_mm(), "drop_mm": c.drop.to_mm() })
        }).collect::<Vec<_>>(),
        "skew_deg": hung.skew.to_degrees(),
        "most_skew_deg": hung.most_skew.to_degrees(),
        "growth": {
            "share_per_tenfold": share, "from_hours": hours, "later": later.collect::<Vec<_>>(),
        },
        "rows": hung.by_row.iter().map(|row| {
            let [laid, hangs] = row.along.map(Length::to_mm);
            json!({
                "label": row.label, "laid_mm": laid, "hung_mm": hangs, "below_mm": row.below.to_mm(),
            })
        }).collect::<Vec<_>>(),
        "assumptions": rests(&hung.assumptions, &hung.laid.assumptions),
        "cautions": super::hanging::cautions(hung),
        "solution": solved(&hung.solution),
    });
    written(&value)
}

/// How an equilibrium was reached.
pub(super) fn solved(s: &Solution) -> Value {
    json!({
        "residual": s.residual,
        "last_step_stitches": s.last_step,
        "iterations": s.iterations,
        "energy_j": s.energy,
        "minimum": s.minimum,
    })
}

/// Every row of the hung piece, mm.
pub fn hanging_csv(hung: &Hanging) -> String {
    by_row(&hung.by_row)
}

/// Rows or rounds, mm.
pub(super) fn by_row(rows: &[HungRow]) -> String {
    let mut out = String::from("label,laid_mm,hung_mm,below_mm\r\n");
    for row in rows {
        let [laid, hangs] = row.along.map(Length::to_mm);
        let label = quoted(&row.label);
        let _ = write!(out, "{label},{laid:.4},{hangs:.4},{:.4}\r\n", row.below.to_mm());
    }
    out
}

/// Everything that [`super::blocking_text`] says in numbers, and every pin.
///
/// | key | content |
/// |---|---|
/// | `schema`, `title`, `units`, `set` | `set` is the share of the pinned stretch that dries in |
/// | `washed` | size, slant and straightness laid flat without pins |
/// | `trials` | `words`; `pinned`, `released`, `rewashed` as `washed`; `scallop_mm`, largest `strain` along rows and up columns, `towards_locking` with its place `locks_first`, `pins` in placing order with `side` and `along_mm` |
/// | `assumptions`, `cautions` | what the numbers rest on |
pub fn blocking_json(blocks: &Blocks) -> String {
    let trial = |t: &Trial| {
        json!({
            "words": t.words,
            "pinned": sizes(&t.pinned),
            "released": sizes(&t.released),
            "rewashed": sizes(&t.rewashed),
            "scallop_mm": t.scallop.to_mm(),
            "strain": t.strain,
            "towards_locking": t.towards_locking,
            "locks_first": t.locks_first,
            "pins": t.pins.iter().map(|p| {
                json!({ "side": p.side, "along_mm": p.along.to_mm() })
            }).collect::<Vec<_>>(),
        })
    };
    let value = json!({
        "schema": SCHEMA,
        "title": blocks.washed.title,
        "units": units_word(blocks.washed.units),
        "set": blocks.set,
        "washed": sizes(&blocks.washed.measured),
        "trials": blocks.trials.iter().map(trial).collect::<Vec<_>>(),
        "assumptions": rests(&blocks.assumptions, &blocks.washed.assumptions),
        "cautions": super::blocking::cautions(),
    });
    written(&value)
}

/// The comparison of the trials as a table for a spreadsheet, in the user's units.
pub fn blocking_csv(blocks: &Blocks) -> String {
    let (head, lines) = super::blocking::compared(blocks);
    spreadsheet(&head, &lines)
}

/// A table as CSV.
pub(super) fn spreadsheet(head: &[String], lines: &[Vec<String>]) -> String {
    let line = |line: &[String]| {
        let cells: Vec<String> = line.iter().map(|cell| quoted(cell)).collect();
        cells.join(",") + "\r\n"
    };
    std::iter::once(head).chain(lines.iter().map(Vec::as_slice)).map(line).collect()
}

fn sizes(m: &Measurements) -> Value {
    let [left, right] = &m.edges;
    json!({
        "along_rows_mm": m.along_rows.mean.to_mm(),
        "left_edge_mm": left.chord.to_mm(),
        "right_edge_mm": right.chord.to_mm(),
        "slant_left_deg": left.slant.to_degrees(),
        "slant_right_deg": right.slant.to_degrees(),
        "minimum_zone_left_mm": left.minimum_zone.to_mm(),
        "minimum_zone_right_mm": right.minimum_zone.to_mm(),
        "area_mm2": m.area_mm2,
        "outline_mm": m.outline,
    })
}

pub(super) fn rests(own: &[Assumption], laid: &[Assumption]) -> Value {
    let all = own.iter().chain(laid).map(
        |a| json!({ "what": a.what, "value": a.value, "source": a.source, "assumed": a.assumed }),
    );
    all.collect()
}

pub(super) fn written(value: &Value) -> String {
    serde_json::to_string_pretty(value).unwrap_or_default() + "\n"
}
