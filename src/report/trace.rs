//! Which rows and stitches move a figure: ranked rows, and a map of the stitches.

use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::sheet::{Anchor, Pen, Sheet, Type};
use super::table::aligned;
use super::typeface;
use super::view::View;
use super::words;
use crate::predict::Prediction;
use crate::study::Aim;
use crate::study::Attribution;
use crate::study::RowEffect;

/// Rows printed.
const NAMED: usize = 15;

fn figure(aim: Aim, value: f64) -> String {
    let digits = if aim.unit() == "°" { 2 } else { 1 };
    let gap = if aim.unit() == "°" { "" } else { " " };
    format!("{value:.digits$}{gap}{}", aim.unit()).replace('-', "−")
}

/// Four digits behind the point for angles, three for millimetres: a row moves a figure by little.
fn effect(aim: Aim, value: f64) -> String {
    words::signed(value, if aim.unit() == "°" { 4 } else { 3 })
}

/// The rows that move the figure most, as plain text.
pub fn trace_text(prediction: &Prediction, found: &Attribution) -> String {
    let mut out = format!("{}: {}\n\n{}\n\n", prediction.title, now(found), moves(found));
    let (head, lines) = table(found);
    out.push_str(&aligned(&head, &lines));
    if found.rows.len() > NAMED {
        let _ = writeln!(out, "\n{} more rows move it less.", found.rows.len() - NAMED);
    }
    if !found.repeat.is_empty() {
        let _ = writeln!(out, "\n{REPEAT}\n");
        out.push_str(&aligned(&head, &repeat(found)));
    }
    out
}

/// The figure and its value.
pub(super) fn now(found: &Attribution) -> String {
    format!("{} {}", found.aim.words(), figure(found.aim, found.value))
}

/// What the columns of the tables hold.
pub(super) fn moves(found: &Attribution) -> String {
    format!(
        "What it changes by ({}) when every stitch of a row gets 1 % wider, 1 % taller, or leans 1 % of its \
         width further:",
        found.aim.unit()
    )
}

pub(super) const REPEAT: &str = "The rows of the repeat, each with all its copies changed alike:";

/// The rows that move it most, and all together, under their head.
pub(super) fn table(found: &Attribution) -> (Vec<String>, Vec<Vec<String>>) {
    let aim = found.aim;
    let mut lines: Vec<Vec<String>> =
        found.rows.iter().take(NAMED).map(|r| line(aim, r).to_vec()).collect();
    let all = found.rows.iter().fold([0.0; 3], |s, r| [0, 1, 2].map(|k| s[k] + r.effect[k]));
    lines.push(line(aim, &RowEffect { row: 0, label: "all rows".into(), effect: all }).to_vec());
    (["row", "wider", "taller", "lean"].map(str::to_owned).to_vec(), lines)
}

/// The rows of the repeat that move it most.
pub(super) fn repeat(found: &Attribution) -> Vec<Vec<String>> {
    found.repeat.iter().take(NAMED).map(|r| line(found.aim, r).to_vec()).collect()
}

fn line(aim: Aim, row: &RowEffect) -> [String; 4] {
    let [wider, taller, lean] = row.effect.map(|e| effect(aim, e));
    [row.label.clone(), wider, taller, lean]
}

/// Every stitch's derivative: change of the figure per mm of its width, height and lean.
pub fn trace_csv(found: &Attribution) -> String {
    let unit = if found.aim.unit() == "°" { "deg" } else { "mm" };
    let mut out = format!("stitch,{unit}_per_mm_width,{unit}_per_mm_height,{unit}_per_mm_lean\n");
    for (i, d) in found.stitches.iter().enumerate() {
        let [w, h, s] = d.map(|d| d / 1000.0);
        let _ = writeln!(out, "{},{w:.6e},{h:.6e},{s:.6e}", i + 1);
    }
    out
}

/// A map of the piece, every stitch shaded by what the figure changes by when it alone gets taller.
pub fn trace_picture(prediction: &Prediction, found: &Attribution) -> Picture {
    let mut sheet = Sheet::new();
    let m = &prediction.measured;
    let aim = found.aim;
    let title = format!("{}: what moves the {}", prediction.title, aim.words());
    let first = found.rows.first().map_or_else(String::new, |r| format!("; most by {}", r.label));
    let said = format!("Now {}{first}", figure(aim, found.value));
    let y = sheet.heading(&title, &said);
    // The strongest few would leave the rest one colour: the scale ends where 99 in 100 lie below.
    let mut sizes: Vec<f64> = found.cells.iter().map(|c| c.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let top = sizes.get(sizes.len() * 99 / 100).copied().unwrap_or(0.0).max(f64::MIN_POSITIVE);
    let y = scale(&mut sheet, y + ink::LABEL, top, aim);
    let view = View::of(m, &[&m.outline]);
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let placed = view.placed([ink::MARGIN, y + 40.0], [room, 1300.0]);
    let outline = placed.points(&m.outline);
    sheet.clipped("piece", &outline, |sheet| {
        for (cell, value) in m.cells.iter().zip(&found.cells) {
            sheet.polygon(&placed.points(&cell.corners), Some(ink::strain(value / top)), None);
        }
    });
    sheet.polygon(&outline, None, Some(Pen::new(ink::INK, 3.0)));
    let bottom = placed.corner[1] + placed.box_on_page()[1] + 60.0;
    super::outline::scale_bar(&mut sheet, [ink::MARGIN, bottom], placed.scale, prediction.units);
    let lies = Type::LABEL.coloured(ink::QUIET).anchored(Anchor::End);
    sheet.text([ink::PAGE - ink::MARGIN, bottom + ink::LABEL], view.words(), lies);
    sheet.set_height(bottom + 90.0);
    Picture { name: "trace".into(), svg: sheet.finish(&title, &said) }
}

fn scale(sheet: &mut Sheet, top: f64, most: f64, aim: Aim) -> f64 {
    const STEPS: usize = 40;
    let (wide, tall) = (900.0, 34.0);
    let power = format!("{:.1e} {}", most, aim.unit());
    let (low, high) = (format!("−{power} or less"), format!("+{power} or more"));
    let left = ink::MARGIN + typeface::width(&low, ink::LABEL, false) + 24.0;
    sheet.text([ink::MARGIN, top + 27.0], &low, Type::LABEL);
    for k in 0..STEPS {
        let share = 2.0 * (k as f64 + 0.5) / STEPS as f64 - 1.0;
        let x = left + wide * k as f64 / STEPS as f64;
        sheet.rectangle([x, top], [wide / STEPS as f64 + 1.0, tall], ink::strain(share));
    }
    sheet.text([left + wide + 24.0, top + 27.0], &high, Type::LABEL);
    let what = "change when one stitch gets 1 % taller";
    let y = top + tall + ink::LABEL * 1.3;
    sheet.text([left, y], what, Type::LABEL.coloured(ink::QUIET));
    y
}
