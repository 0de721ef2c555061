//! A piece as the page's script reads it: one JSON value, the numbers of it packed. The piece may have
//! several shapes (washed, pinned, released), which share its cells.

use std::collections::BTreeMap;

use serde::Serialize;

use super::base64::base64;
use super::ink;
use super::strain;
use super::surface::Place;
use super::view::View;
use crate::measure::CellStrain;
use crate::measure::Measurements;
use crate::predict::Blocks;
use crate::predict::Hanging;
use crate::predict::Prediction;
use crate::units::UnitSystem;

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

/// Corners of a cell, mm, and its strain along the rows, up the columns and shear (rad).
type Cell = (Vec<Place>, [f64; 3]);

/// A shape of the piece.
struct Shape {
    name: String,
    cells: Vec<Cell>,
}

/// What there is to turn and to ask.
pub(super) struct Scene<'a> {
    pub(super) piece: &'a Prediction,
    /// True for a piece in space, the third axis up; otherwise it lies flat.
    pub(super) space: bool,
    shapes: Vec<Shape>,
    carriers: &'a [Vec<Place>],
}

impl<'a> Scene<'a> {
    /// The piece lying flat.
    pub(super) fn laid(piece: &'a Prediction) -> Self {
        let shapes = vec![flat("laid flat", &piece.measured)];
        Self { piece, space: false, shapes, carriers: &[] }
    }

    /// The washed piece, and what each trial makes of it under its pins and after.
    pub(super) fn blocked(blocks: &'a Blocks) -> Self {
        let mut shapes = vec![flat("washed, laid flat", &blocks.washed.measured)];
        for trial in &blocks.trials {
            shapes.push(flat(&format!("pinned {}", trial.words), &trial.pinned));
            shapes.push(flat(&format!("released after {}", trial.words), &trial.released));
        }
        Self { piece: &blocks.washed, space: false, shapes, carriers: &[] }
    }

    /// The piece as it hangs.
    pub(super) fn hung(hung: &'a Hanging) -> Self {
        let cells = hung.cells.iter().zip(&hung.strains).map(|(c, s)| (c.corners.clone(), *s));
        let shapes = vec![Shape { name: "hung".into(), cells: cells.collect() }];
        Self { piece: &hung.laid, space: true, shapes, carriers: &hung.carriers }
    }

    /// Names of the shapes.
    pub(super) fn names(&self) -> impl Iterator<Item = &str> {
        self.shapes.iter().map(|s| s.name.as_str())
    }

    /// Strain, and shear in rad, at the ends of the colour scales.
    pub(super) fn scales(&self) -> [f64; 2] {
        let all: Vec<[f64; 3]> =
            self.shapes.iter().flat_map(|s| s.cells.iter().map(|c| c.1)).collect();
        strain::full_scales(&all)
    }

    /// How far the lowest point lies below what holds the piece, mm.
    pub(super) fn deepest(&self) -> f64 {
        let corners = self.shapes.iter().flat_map(|s| &s.cells).flat_map(|c| &c.0);
        corners.map(|p| -p[2]).filter(|z| z.is_finite()).fold(0.0, f64::max)
    }

    /// Cells whose corners are sound in every shape.
    fn sound(&self) -> Vec<usize> {
        let good = |cell: &Cell| {
            (3..256).contains(&cell.0.len()) && cell.0.iter().flatten().all(|x| x.is_finite())
        };
        let many = self.shapes.iter().map(|s| s.cells.len()).min().unwrap_or(0);
        (0..many).filter(|k| self.shapes.iter().all(|s| good(&s.cells[*k]))).collect()
    }
}

fn flat(name: &str, measured: &Measurements) -> Shape {
    let cell = |c: &CellStrain| {
        let corners = c.corners.iter().map(|[x, y]| [*x, *y, 0.0]).collect();
        (corners, [c.along, c.up, c.shear])
    };
    Shape { name: name.into(), cells: measured.cells.iter().map(cell).collect() }
}

#[derive(Serialize)]
struct Packed<'a> {
    space: bool,
    /// Number of cells.
    count: usize,
    /// Number of vertices.
    points: usize,
    /// Base64 of columns. Bytes: number of corners, kind, yarn of every cell. Then little-endian numbers:
    /// row and words of every cell (16 bits), vertices at all corners (16 bits, or 32 where there are more).
    cells: String,
    shapes: Vec<PackedShape<'a>>,
    /// Faces of what carries the piece: x, y and z of every corner in turn, mm.
    carriers: Vec<Vec<f64>>,
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
    deepest: f64,
    metric: bool,
    /// Mean slant of the edges, rad.
    slant: f64,
    elongated: bool,
}

#[derive(Serialize)]
struct PackedShape<'a> {
    name: &'a str,
    /// Least of every axis, mm, and mm per unit of its numbers.
    low: Place,
    step: Place,
    /// Base64 of 16-bit little-endian numbers: places of the vertices (two axes of a flat piece, three of
    /// one in space), then the cells' strains along, up and shear (signed).
    data: String,
}

/// The JSON, safe inside a script element.
pub(super) fn packed(scene: &Scene<'_>) -> String {
    let piece = scene.piece;
    let measured = &piece.measured;
    let sound = scene.sound();
    let (corners, vertices) = joined(scene, &sound);
    let [left, right] = &measured.edges;
    let [stretch, shear] = scene.scales();
    let hexes = |tints: &[ink::Colour]| tints.iter().map(|t| ink::hex(*t)).collect::<Vec<_>>();
    let tenth = |c: &f64| (c * 10.0).round() / 10.0;
    let value = Packed {
        space: scene.space,
        count: sound.len(),
        points: vertices.len(),
        cells: base64(&columns(piece, &sound, &corners, vertices.len())),
        shapes: (0..scene.shapes.len()).map(|k| shape(scene, k, &sound, &vertices)).collect(),
        carriers: scene.carriers.iter().map(|f| f.iter().flatten().map(tenth).collect()).collect(),
        rows: labels(measured),
        heights: heights(measured),
        kinds: &measured.kinds,
        yarns: measured.yarn.iter().map(|y| y.colour.as_str()).collect(),
        words: &piece.wording.texts,
        ramp: hexes(&strain::ramp()),
        kind_tints: hexes(&KIND_TINTS),
        yarn_tints: hexes(&piece.palette),
        stretch,
        shear,
        deepest: scene.deepest(),
        metric: piece.units == UnitSystem::Metric,
        slant: (left.slant.to_radians() + right.slant.to_radians()) / 2.0,
        elongated: View::of(measured, &[&measured.outline]).turned,
    };
    // JSON has no other place for `<`, `>` and `&` than strings.
    let json = serde_json::to_string(&value).unwrap_or_else(|_| "null".into());
    json.replace('<', "\\u003c").replace('>', "\\u003e").replace('&', "\\u0026")
}

/// The vertex at every corner of the sound cells, and a cell and corner where each vertex is found.
/// Corners that lie together (within a micrometre) in every shape are one vertex.
fn joined(scene: &Scene<'_>, sound: &[usize]) -> (Vec<Vec<u32>>, Vec<[usize; 2]>) {
    let mut known: BTreeMap<Vec<[i64; 3]>, u32> = BTreeMap::new();
    let mut vertices = Vec::new();
    let mut vertex = |cell: usize, corner: usize| {
        let at = |s: &Shape| s.cells[cell].0[corner].map(|c| (c * 1000.0).round() as i64);
        *known.entry(scene.shapes.iter().map(at).collect()).or_insert_with(|| {
            vertices.push([cell, corner]);
            vertices.len() as u32 - 1
        })
    };
    let sides = |cell: usize| scene.shapes.iter().map(|s| s.cells[cell].0.len()).min().unwrap_or(0);
    let corners =
        sound.iter().map(|&cell| (0..sides(cell)).map(|k| vertex(cell, k)).collect()).collect();
    (corners, vertices)
}

fn shape<'a>(
    scene: &'a Scene<'_>,
    which: usize,
    sound: &[usize],
    vertices: &[[usize; 2]],
) -> PackedShape<'a> {
    let shape = &scene.shapes[which];
    let places = || vertices.iter().map(|[cell, corner]| shape.cells[*cell].0[*corner]);
    let end = |f: fn(f64, f64) -> f64, from: f64| {
        [0, 1, 2].map(|d| {
            let far = places().map(|p| p[d]).fold(from, f);
            if far.is_finite() { far } else { 0.0 }
        })
    };
    let (low, high) = (end(f64::min, f64::INFINITY), end(f64::max, f64::NEG_INFINITY));
    let step = [0, 1, 2].map(|d| ((high[d] - low[d]) / f64::from(u16::MAX)).max(1e-9));
    let axes = if scene.space { 3 } else { 2 };
    let mut data = Vec::new();
    for p in places() {
        for d in 0..axes {
            let quanta = ((p[d] - low[d]) / step[d]).round().clamp(0.0, f64::from(u16::MAX));
            data.extend((quanta as u16).to_le_bytes());
        }
    }
    for which in 0..3 {
        for cell in sound {
            let scaled = (shape.cells[*cell].1[which] * STRAIN).round();
            data.extend((scaled.clamp(-32_767.0, 32_767.0) as i16).to_le_bytes());
        }
    }
    PackedShape { name: &shape.name, low, step, data: base64(&data) }
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

fn columns(piece: &Prediction, sound: &[usize], corners: &[Vec<u32>], vertices: usize) -> Vec<u8> {
    let cells = || sound.iter().filter_map(|k| piece.measured.cells.get(*k));
    let short = |v: u32| u16::try_from(v).unwrap_or(NONE);
    let byte = |v: usize| u8::try_from(v).unwrap_or(u8::MAX);
    let words =
        |c: &CellStrain| piece.wording.of.get(c.stitch as usize).map_or(NONE, |w| short(*w));
    let mut out: Vec<u8> = corners.iter().map(|c| byte(c.len())).collect();
    out.extend(cells().map(|c| byte(c.kind.into())));
    out.extend(cells().map(|c| byte(c.colour.into())));
    out.extend(cells().flat_map(|c| short(c.row).to_le_bytes()));
    out.extend(cells().flat_map(|c| words(c).to_le_bytes()));
    for n in corners.iter().flatten() {
        match u16::try_from(*n) {
            Ok(n) if vertices <= usize::from(u16::MAX) => out.extend(n.to_le_bytes()),
            _ => out.extend(n.to_le_bytes()),
        }
    }
    out
}
