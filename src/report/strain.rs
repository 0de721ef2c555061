//! The strain map: how far each place is stretched, squeezed or sheared from its rest shape.

use super::Picture;
use super::ink;
use super::raster::{OUTSIDE, Raster};
use super::sheet::{Anchor, Pen, Point, Sheet, Type};
use super::view::View;
use crate::measure::CellStrain;
use crate::predict::Prediction;

/// Steps of the scale.
const STEPS: usize = 9;
/// Least full scale, so that numerical dust does not look like strain.
const LEAST_STRAIN: f64 = 0.005;
const LEAST_SHEAR_RAD: f64 = 0.0087;

/// One of the three maps.
struct Map {
    name: &'static str,
    value: fn(&CellStrain) -> f64,
    /// Value at the ends of the scale.
    full: f64,
}

pub(super) fn strain(prediction: &Prediction) -> Picture {
    let mut sheet = Sheet::new();
    let title = format!("{}: strain", prediction.title);
    let cells = &prediction.measured.cells;
    let outline = &prediction.measured.outline;
    let view = View::of(&prediction.measured, &[outline]);
    let note = format!("Against the size each stitch would rest at; {}", view.words());
    let top = sheet.heading(&title, &note) + 20.0;
    let maps = maps(cells);
    let [w, h] = view.box_mm();
    let gap = 60.0;
    let room = ink::PAGE - 2.0 * ink::MARGIN;
    let (narrow, wide) = ([(room - 2.0 * gap) / 3.0, 1300.0], [room, 680.0]);
    // Side by side, unless stacking draws the piece much larger.
    let scale = |[x, y]: [f64; 2]| (x / w).min(y / h);
    let beside = scale(wide) < 1.8 * scale(narrow);
    let room = if beside { narrow } else { wide };
    let mut corner = [ink::MARGIN, top];
    let mut bottom = top;
    for (nth, map) in maps.iter().enumerate() {
        sheet.text([corner[0], corner[1] + ink::LABEL], map.name, Type::LABEL.bold());
        let placed = view.placed([corner[0], corner[1] + ink::LABEL * 1.9], room);
        draw_map(&mut sheet, nth, &placed, outline, cells, map);
        let end = placed.corner[1] + placed.box_on_page()[1];
        bottom = f64::max(bottom, end);
        corner = if beside { [corner[0] + room[0] + gap, top] } else { [ink::MARGIN, end + 36.0] };
    }
    let bottom = legends(&mut sheet, bottom + 70.0, &maps);
    sheet.set_height(bottom + 50.0);
    let words = format!(
        "Strain map; full scale {} along the rows and up the columns, {} in shear.",
        percent(maps[0].full),
        degrees(maps[2].full)
    );
    Picture { name: "strain".into(), svg: sheet.finish(&title, &words) }
}

fn maps(cells: &[CellStrain]) -> [Map; 3] {
    let strains: Vec<[f64; 3]> = cells.iter().map(|c| [c.along, c.up, c.shear]).collect();
    let [stretch, shear] = full_scales(&strains);
    [
        Map { name: "Along the rows", value: |c| c.along, full: stretch },
        Map { name: "Up the columns", value: |c| c.up, full: stretch },
        Map { name: "Shear between them", value: |c| c.shear, full: shear },
    ]
}

/// Strain, and shear in rad, at the ends of the colour scales, from strains along, up and in shear.
pub(super) fn full_scales(strains: &[[f64; 3]]) -> [f64; 2] {
    let [along, up, shear] = [(0, LEAST_STRAIN), (1, LEAST_STRAIN), (2, LEAST_SHEAR_RAD)]
        .map(|(k, least)| full_scale(strains.iter().map(|s| s[k]), least));
    [along.max(up), shear]
}

/// Colours of the scale, from most squeezed to most stretched.
pub(super) fn ramp() -> [ink::Colour; STEPS] {
    std::array::from_fn(tint)
}

/// What the ends of the stretch scale mean.
pub(super) fn stretch_words(full: f64) -> [String; 2] {
    let full = percent(full);
    [format!("squeezed −{full}"), format!("stretched +{full}")]
}

/// What the ends of the shear scale mean; rad.
pub(super) fn shear_words(full: f64) -> [String; 2] {
    let full = degrees(full);
    [format!("columns lean left −{full}"), format!("columns lean right +{full}")]
}

/// Size of strain that all but one cell in fifty stay below, rounded up to 1, 2 or 5.
fn full_scale(values: impl Iterator<Item = f64>, least: f64) -> f64 {
    let mut sizes: Vec<f64> = values.map(f64::abs).filter(|v| v.is_finite()).collect();
    sizes.sort_by(f64::total_cmp);
    let wanted = sizes.get(sizes.len() * 49 / 50).copied().unwrap_or(0.0).max(least);
    let decade = 10f64.powi(wanted.log10().floor() as i32);
    let round = [1.0, 2.0, 5.0, 10.0].into_iter().find(|step| step * decade >= wanted * 0.999);
    round.unwrap_or(10.0) * decade
}

fn draw_map(
    sheet: &mut Sheet,
    nth: usize,
    view: &View,
    outline: &[[f64; 2]],
    cells: &[CellStrain],
    map: &Map,
) {
    let border = view.points(outline);
    let raster = Raster::of(view);
    let levels = levels(&raster, view, cells, map);
    sheet.clipped(&format!("piece-{nth}"), &border, |sheet| {
        for level in 0..STEPS {
            let data = raster.runs(&levels, level as u8);
            if !data.is_empty() {
                sheet.path(&data, Some(tint(level)), None);
            }
        }
    });
    sheet.polygon(&border, None, Some(Pen::new(ink::INK, 2.0)));
}

/// The step of the scale each square of the map falls into: the mean over the cells that cover it.
fn levels(raster: &Raster, view: &View, cells: &[CellStrain], map: &Map) -> Vec<u8> {
    let mut sums = vec![(0.0f64, 0u32); raster.len()];
    for cell in cells {
        let value = (map.value)(cell);
        if value.is_finite() {
            raster.cover(&view.points(&cell.corners), |at| {
                sums[at].0 += value;
                sums[at].1 += 1;
            });
        }
    }
    let level = |&(sum, count): &(f64, u32)| {
        if count == 0 {
            return OUTSIDE;
        }
        let share = (sum / f64::from(count) / map.full).clamp(-1.0, 1.0);
        (((share + 1.0) / 2.0 * STEPS as f64) as usize).min(STEPS - 1) as u8
    };
    sums.iter().map(level).collect()
}

fn tint(level: usize) -> ink::Colour {
    ink::strain(level as f64 / (STEPS - 1) as f64 * 2.0 - 1.0)
}

fn percent(value: f64) -> String {
    let value = value * 100.0;
    if value < 1.0 { format!("{value:.1} %") } else { format!("{value:.0} %") }
}

fn degrees(value: f64) -> String {
    format!("{:.1}°", value.to_degrees())
}

/// Both scales with numbers; returns the y below them.
fn legends(sheet: &mut Sheet, top: f64, maps: &[Map; 3]) -> f64 {
    let half = (ink::PAGE - 2.0 * ink::MARGIN - 120.0) / 2.0;
    let stretch =
        [format!("−{}", percent(maps[0].full)), "0".into(), format!("+{}", percent(maps[0].full))];
    let sheared =
        [format!("−{}", degrees(maps[2].full)), "0".into(), format!("+{}", degrees(maps[2].full))];
    let first = "along the rows and up the columns: squeezed to stretched";
    legend(sheet, [ink::MARGIN, top], half, first, &stretch);
    let second = "shear: columns lean left to columns lean right";
    legend(sheet, [ink::MARGIN + half + 120.0, top], half, second, &sheared);
    top + 130.0
}

fn legend(sheet: &mut Sheet, [x, y]: Point, width: f64, name: &str, numbers: &[String; 3]) {
    sheet.text([x, y], name, Type::LABEL);
    let box_width = width / STEPS as f64;
    for level in 0..STEPS {
        let corner = [x + level as f64 * box_width, y + 18.0];
        sheet.rectangle(corner, [box_width + 0.5, 34.0], tint(level));
    }
    let frame = [[x, y + 18.0], [x + width, y + 18.0], [x + width, y + 52.0], [x, y + 52.0]];
    sheet.polygon(&frame, None, Some(Pen::new(ink::QUIET, 1.5)));
    let anchors = [Anchor::Start, Anchor::Middle, Anchor::End];
    for (i, (number, anchor)) in numbers.iter().zip(anchors).enumerate() {
        let at = [x + width * i as f64 / 2.0, y + 90.0];
        sheet.text(at, number, Type::LABEL.anchored(anchor));
    }
}
