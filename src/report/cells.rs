//! The laid cells as the page's script reads them: one JSON value, the numbers of it packed.

use std::collections::BTreeMap;

use serde::Serialize;

use super::base64::base64;
use super::ink;
use super::strain;
use super::view::View;
use crate::measure::CellStrain;
use crate::measure::Measurements;
use crate::predict::Prediction;

/// Strains are stored in ten-thousandths.
const STRAIN: f64 = 1e4;

/// What a word index says when a stitch has none.
const NONE: u16 = u16::MAX;

/// Tints of stitch kinds, by index; they step in lightness, so that greyscale tells neighbours apart.
pub(super) const KIND_TINTS: [ink::Colour; 8] = [
    [16, 66, 84],
    [226, 178, 110],
    [124, 60, 92],
    [166, 204, 192],
    [70, 112, 70],
    [240, 228, 190],
    [132, 142, 190],
    [86, 84, 82],
];

#[derive(Serialize)]
struct Packed<'a> {
    /// Number of cells.
    count: usize,
    /// Base64 of columns. Bytes: number of corners, kind, yarn of every cell. Then 16-bit little-endian
    /// numbers: row, words, then strain along, up and shear (signed); then x and y of all corners.
    cells: String,
    /// Smallest x and y, mm, and mm per unit of a corner's numbers.
    low: [f64; 2],
    step: [f64; 2],
    rows: Vec<&'a str>,
    /// Height of every row as it lies, mm; 0 where the row has none of its own.
    heights: Vec<f64>,
    kinds: &'a [String],
    yarns: Vec<&'a str>,
    words: &'a [String],
    ramp: Vec<String>,
    #[serde(rename = "kindTints")]
    kind_tints: Vec<String>,
    #[serde(rename = "yarnTints")]
    yarn_tints: Vec<String>,
    /// Strain at the ends of the colour scales.
    stretch: f64,
    shear: f64,
    /// Mean slant of the edges, rad.
    slant: f64,
    elongated: bool,
}

/// The JSON, safe inside a script element.
pub(super) fn packed(prediction: &Prediction) -> String {
    let measured = &prediction.measured;
    let finite = |c: &&CellStrain| {
        (3..256).contains(&c.corners.len()) && c.corners.iter().flatten().all(|x| x.is_finite())
    };
    let cells: Vec<&CellStrain> = measured.cells.iter().filter(finite).collect();
    let (low, step) = grid(&cells);
    let [left, right] = &measured.edges;
    let [stretch, shear] = strain::full_scales(&measured.cells);
    let hexes = |tints: &[ink::Colour]| tints.iter().map(|t| ink::hex(*t)).collect::<Vec<_>>();
    let value = Packed {
        count: cells.len(),
        cells: base64(&columns(prediction, &cells, low, step)),
        low,
        step,
        rows: labels(measured),
        heights: heights(measured),
        kinds: &measured.kinds,
        yarns: measured.yarn.iter().map(|y| y.colour.as_str()).collect(),
        words: &prediction.wording.texts,
        ramp: hexes(&strain::ramp()),
        kind_tints: hexes(&KIND_TINTS),
        yarn_tints: hexes(&prediction.palette),
        stretch,
        shear,
        slant: (left.slant.to_radians() + right.slant.to_radians()) / 2.0,
        elongated: View::of(measured, &[&measured.outline]).turned,
    };
    // JSON has no other place for `<`, `>` and `&` than strings.
    let json = serde_json::to_string(&value).unwrap_or_else(|_| "null".into());
    json.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

/// Least corner and size of a quantum, so that every corner is a 16-bit number.
fn grid(cells: &[&CellStrain]) -> ([f64; 2], [f64; 2]) {
    let corners = || cells.iter().flat_map(|c| &c.corners);
    let low = [0, 1].map(|k| corners().map(|p| p[k]).fold(f64::INFINITY, f64::min));
    let high = [0, 1].map(|k| corners().map(|p| p[k]).fold(f64::NEG_INFINITY, f64::max));
    if cells.is_empty() {
        return ([0.0; 2], [1.0; 2]);
    }
    (low, [0, 1].map(|k| ((high[k] - low[k]) / f64::from(u16::MAX)).max(1e-9)))
}

/// Label of every row by its index; rows without a label of their own stay empty.
fn labels(measured: &Measurements) -> Vec<&str> {
    let known: BTreeMap<u32, &str> =
        measured.rows.iter().map(|r| (r.row, r.label.as_str())).collect();
    let last = measured.cells.iter().map(|c| c.row).max().unwrap_or(0);
    (0..=last).map(|row| known.get(&row).copied().unwrap_or_default()).collect()
}

/// Height of every row by its index, to a hundredth of a millimetre.
fn heights(measured: &Measurements) -> Vec<f64> {
    let known: BTreeMap<u32, f64> =
        measured.rows.iter().map(|r| (r.row, (r.height.to_mm() * 100.0).round() / 100.0)).collect();
    let last = measured.cells.iter().map(|c| c.row).max().unwrap_or(0);
    (0..=last).map(|row| known.get(&row).copied().unwrap_or_default()).collect()
}

fn columns(
    prediction: &Prediction,
    cells: &[&CellStrain],
    low: [f64; 2],
    step: [f64; 2],
) -> Vec<u8> {
    let short = |v: u32| u16::try_from(v).unwrap_or(NONE);
    let words =
        |c: &CellStrain| prediction.wording.of.get(c.stitch as usize).map_or(NONE, |w| short(*w));
    let signed = |v: f64| ((v * STRAIN).round().clamp(-32_767.0, 32_767.0) as i16).cast_unsigned();
    let byte = |v: usize| u8::try_from(v).unwrap_or(u8::MAX);
    let narrow: [&dyn Fn(&CellStrain) -> u8; 3] =
        [&|c| byte(c.corners.len()), &|c| byte(c.kind.into()), &|c| byte(c.colour.into())];
    let wide: [&dyn Fn(&CellStrain) -> u16; 5] =
        [&|c| short(c.row), &words, &|c| signed(c.along), &|c| signed(c.up), &|c| signed(c.shear)];
    let mut out = Vec::with_capacity(cells.len() * 32);
    for column in narrow {
        out.extend(cells.iter().map(|c| column(c)));
    }
    for column in wide {
        out.extend(cells.iter().flat_map(|c| column(c).to_le_bytes()));
    }
    for corner in cells.iter().flat_map(|c| &c.corners) {
        for k in 0..2 {
            let quanta = ((corner[k] - low[k]) / step[k]).round();
            out.extend((quanta.clamp(0.0, f64::from(u16::MAX)) as u16).to_le_bytes());
        }
    }
    out
}
