//! The stitch map: every stitch where the mesh places it, filled in its yarn's colour and hatched by
//! what it is. No symbols.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::Picture;
use super::ink;
use super::raster::{OUTSIDE, Raster};
use super::sheet::{Pen, Sheet, Type};
use super::typeface;
use super::view::View;
use crate::measure::CellStrain;
use crate::predict::Prediction;

/// Stitches are edged with paper where they are larger than this on the page.
const EDGED: f64 = 24.0;

/// Pieces of more cells than this are drawn as small squares, or the picture would grow too large.
const MOST_CELLS: usize = 40_000;

/// Hatches as path data in a tile of 12 x 12, from the most used kind, which is plain, to the rarest.
const HATCHES: [&str; 8] = [
    "",
    "M0 6H12",
    "M0 12L12 0M-3 3L3 -3M9 15L15 9",
    "M6 0V12",
    "M0 0L12 12M-3 9L3 15M9 -3L15 3",
    "M0 6H12M6 0V12",
    "M6 4a2 2 0 1 0 .01 0",
    "M0 0L12 12M0 12L12 0",
];

/// What a stitch looks like: colour and kind, by index.
type Look = (u16, u16);

pub(super) fn stitches(prediction: &Prediction) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: stitches by yarn and kind", prediction.title);
    let measured = &prediction.measured;
    let view = View::of(measured, &[&measured.outline]);
    let note = format!("Each stitch where it lies; {}", view.words());
    let top = sheet.heading(&title, &note);
    let looks = looks(&measured.cells);
    let hatches = hatches(prediction);
    for look in looks.keys() {
        sheet.define(&pattern(prediction, &hatches, *look));
    }
    let top = legend(&mut sheet, top + 6.0, prediction, &looks);
    let room = [ink::PAGE - 2.0 * ink::MARGIN, 1500.0];
    let placed = view.placed([ink::MARGIN, top + 30.0], room);
    let [w, h] = placed.box_on_page();
    let placed = placed.moved([(ink::PAGE - w) / 2.0, top + 30.0]);
    let size = (w * h / measured.cells.len().max(1) as f64).sqrt();
    let outline = placed.points(&measured.outline);
    if measured.cells.len() > MOST_CELLS {
        sheet.clipped("stitch-map", &outline, |sheet| coarse(sheet, &placed, &looks));
    } else {
        for (look, cells) in &looks {
            sheet.filled(&paths(&placed, cells), &name(*look), size > EDGED);
        }
    }
    sheet.polygon(&outline, None, Some(Pen::new(ink::INK, 2.0)));
    sheet.set_height(top + 30.0 + h + ink::MARGIN);
    let words = format!("{} stitches drawn where they lie, by yarn and kind.", prediction.stitches);
    Picture { name: "stitches".into(), svg: sheet.finish(&title, &words) }
}

fn looks(cells: &[CellStrain]) -> BTreeMap<Look, Vec<&CellStrain>> {
    let mut looks: BTreeMap<Look, Vec<&CellStrain>> = BTreeMap::new();
    for cell in cells {
        looks.entry((cell.colour, cell.kind)).or_default().push(cell);
    }
    looks
}

fn name((colour, kind): Look) -> String {
    format!("stitch-{colour}-{kind}")
}

/// Colours beyond the palette repeat it in greys; hatches keep them apart no further than their own.
fn tint(prediction: &Prediction, colour: u16) -> ink::Colour {
    prediction.palette.get(usize::from(colour)).copied().unwrap_or([176, 180, 184])
}

/// Hatch of each kind: the kind of most cells stays plain.
fn hatches(prediction: &Prediction) -> Vec<&'static str> {
    let measured = &prediction.measured;
    let mut counts = vec![0usize; measured.kinds.len()];
    for cell in &measured.cells {
        if let Some(count) = counts.get_mut(usize::from(cell.kind)) {
            *count += 1;
        }
    }
    let rank = |kind: usize| {
        let before = |other: usize| (counts[other], kind) > (counts[kind], other);
        (0..counts.len()).filter(|&other| other != kind && before(other)).count()
    };
    (0..counts.len()).map(|kind| HATCHES[rank(kind) % HATCHES.len()]).collect()
}

/// The map as small squares, each in the look of the last stitch that covers it.
fn coarse(sheet: &mut Sheet, view: &View, looks: &BTreeMap<Look, Vec<&CellStrain>>) {
    let raster = Raster::of(view);
    let mut levels = vec![OUTSIDE; raster.len()];
    for (level, cells) in looks.values().enumerate() {
        let level = level.min(usize::from(OUTSIDE) - 1) as u8;
        for cell in cells {
            raster.cover(&view.points(&cell.corners), |at| levels[at] = level);
        }
    }
    for (level, look) in looks.keys().enumerate().take(usize::from(OUTSIDE)) {
        sheet.filled(&raster.runs(&levels, level as u8), &name(*look), false);
    }
}

/// A tile of the yarn's colour under the kind's hatch, which is dark on light yarn and light on dark.
fn pattern(prediction: &Prediction, hatches: &[&str], look: Look) -> String {
    let ground = tint(prediction, look.0);
    let [r, g, b] = ground.map(f64::from);
    let bright = 0.299 * r + 0.587 * g + 0.114 * b;
    let hatch = if bright > 140.0 { [30, 38, 46] } else { [255, 255, 255] };
    let data = hatches.get(usize::from(look.1)).copied().unwrap_or_default();
    format!(
        "<pattern id=\"{}\" width=\"12\" height=\"12\" patternUnits=\"userSpaceOnUse\">\
         <rect width=\"12\" height=\"12\" fill=\"{}\"/><path d=\"{data}\" fill=\"none\" stroke=\"{}\" \
         stroke-width=\"1.6\" stroke-opacity=\"0.6\"/></pattern>\n",
        name(look),
        ink::hex(ground),
        ink::hex(hatch)
    )
}

/// All cells of one look as one path, to whole units.
fn paths(view: &View, cells: &[&CellStrain]) -> String {
    let mut data = String::with_capacity(cells.len() * 28);
    for cell in cells {
        let whole = |mm: &[f64; 2]| view.point(*mm).map(|c| c.round() as i64);
        if cell.corners.iter().flatten().any(|c| !c.is_finite()) {
            continue;
        }
        let mut last = [0i64; 2];
        for (i, at) in cell.corners.iter().map(whole).enumerate() {
            let step = [at[0] - last[0], at[1] - last[1]];
            let _ = match i {
                0 => write!(data, "M{} {}", at[0], at[1]),
                _ => write!(data, "l{} {}", step[0], step[1]),
            };
            last = at;
        }
        data.push('z');
    }
    data
}

/// A sample of each look with its words, in as many lines as they need; returns the y below.
fn legend(
    sheet: &mut Sheet,
    top: f64,
    prediction: &Prediction,
    looks: &BTreeMap<Look, Vec<&CellStrain>>,
) -> f64 {
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let (mut x, mut y) = (0.0, top);
    for look in looks.keys() {
        let words = words(prediction, *look);
        let words = typeface::fit(&words, ink::LABEL, false, room - 90.0);
        let wide = 76.0 + typeface::width(&words, ink::LABEL, false);
        if x > 0.0 && x + wide > room {
            (x, y) = (0.0, y + 46.0);
        }
        let left = ink::MARGIN + x;
        let sample = format!("M{left:.0} {y:.0}h60v32h-60z");
        sheet.filled(&sample, &name(*look), false);
        sheet.text([left + 72.0, y + 26.0], &words, Type::LABEL);
        x += wide + 54.0;
    }
    y + 40.0
}

fn words(prediction: &Prediction, (colour, kind): Look) -> String {
    let measured = &prediction.measured;
    let kind = measured.kinds.get(usize::from(kind)).map_or("stitch", String::as_str);
    match measured.yarn.get(usize::from(colour)).map(|yarn| yarn.colour.as_str()) {
        Some(yarn) if !yarn.is_empty() => format!("{kind} in {yarn}"),
        _ => kind.to_owned(),
    }
}
