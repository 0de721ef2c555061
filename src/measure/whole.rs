//! Measures a solved shape.

use std::collections::BTreeMap;

use super::edge::{self, RowEnd};
use super::{CellStrain, EdgeShape, LengthRange, Measurements, RowMeasure, YarnUse};
use crate::fabric::CellTag;
use crate::fabric::Fabric;
use crate::fabric::worked;
use crate::material::Worked;
use crate::state::Shape;
use crate::stitches::Piece;
use crate::stitches::Place;
use crate::units::Angle;
use crate::units::Length;

const MM: f64 = 1000.0;

/// Positions in mm, turned and shifted into the frame of [`Measurements`]: the mean row direction is
/// x and the lower left corner of the foundation is the origin.
fn frame(piece: &Piece, fabric: &Fabric, shape: &Shape) -> Vec<[f64; 2]> {
    let at = |n: u32| shape.positions[n as usize];
    let aside = aside(piece);
    let body = fabric.row_ends.iter().zip(&aside).filter(|&(_, &aside)| !aside);
    let ends: Vec<[u32; 2]> = body.filter_map(|(ends, _)| *ends).collect();
    let along = ends
        .iter()
        .fold([0.0; 2], |s, &[l, r]| [s[0] + at(r)[0] - at(l)[0], s[1] + at(r)[1] - at(l)[1]]);
    let length = along[0].hypot(along[1]);
    let [c, s] = if length > 0.0 { [along[0] / length, along[1] / length] } else { [1.0, 0.0] };
    let origin = ends.first().map_or([0.0; 2], |e| at(e[0]));
    shape
        .positions
        .iter()
        .map(|p| {
            let d = [(p[0] - origin[0]) * MM, (p[1] - origin[1]) * MM];
            [c * d[0] + s * d[1], c * d[1] - s * d[0]]
        })
        .collect()
}

/// Measures `shape`; `yarn` is what the stitches use, worked out by the caller.
///
/// Returns `None` when the piece has no row with two ends (a closed round), which has no edges.
pub fn measure(
    piece: &Piece,
    fabric: &Fabric,
    shape: &Shape,
    yarn: Vec<YarnUse>,
) -> Option<Measurements> {
    let xy = frame(piece, fabric, shape);
    let label = |row: u32| row_label(piece, row);
    let left = edge::shape(&row_ends(piece, fabric, &xy, 0), -1.0, &label)?;
    let right = edge::shape(&row_ends(piece, fabric, &xy, 1), 1.0, &label)?;
    let (kinds, kind_of) = kinds(piece);
    let rows = rows(piece, fabric, &xy);
    let along_rows = range(rows.iter().map(|r| r.width));
    let slant = (left.slant.to_radians() + right.slant.to_radians()) / 2.0;
    let outline: Vec<[f64; 2]> = fabric.outlines.first()?.iter().map(|&n| xy[n as usize]).collect();
    let area_mm2 = fabric
        .outlines
        .iter()
        .map(|cycle| signed_area(&cycle.iter().map(|&n| xy[n as usize]).collect::<Vec<_>>()))
        .sum();
    Some(Measurements {
        square_to_edges: along_rows.mean * slant.cos(),
        square_to_rows: square_to_rows(fabric, &xy),
        along_rows,
        edges: [left, right],
        area_mm2,
        outline,
        rows,
        cells: cells(piece, fabric, shape, &xy, &kind_of),
        kinds,
        yarn,
        closed: super::closed::closed(fabric, shape),
    })
}

/// "Wrap, row 12" or "row 12"; "round 12" where it is one.
pub fn row_label(piece: &Piece, row: u32) -> String {
    let row = &piece.rows[row as usize];
    let name = if row.label.chars().all(|c| c.is_ascii_digit()) && !row.label.is_empty() {
        format!("{} {}", if row.round { "round" } else { "row" }, row.label)
    } else {
        row.label.clone()
    };
    match piece.sections.get(usize::from(row.section)).map(String::as_str) {
        None | Some("") => name,
        Some(section) => format!("{section}, {name}"),
    }
}

/// Rows that stand on row ends, and those upon them: a border along a side is no part of the edges that
/// the rows of the body make.
fn aside(piece: &Piece) -> Vec<bool> {
    let mut aside: Vec<bool> = Vec::with_capacity(piece.rows.len());
    for row in &piece.rows {
        let mut stitches = piece.row_stitches(row);
        let first = stitches.find_map(|(_, stitch)| piece.legs(stitch).first());
        aside.push(match first.map(|leg| leg.place) {
            Some(Place::RowEnd { .. }) => !row.round,
            Some(Place::Top(id)) => {
                let below = piece.stitch(id).row.0 as usize;
                aside.get(below).copied().unwrap_or(false)
            }
            _ => false,
        });
    }
    if aside.iter().all(|&a| a) { vec![false; aside.len()] } else { aside }
}

fn row_ends(piece: &Piece, fabric: &Fabric, xy: &[[f64; 2]], side: usize) -> Vec<RowEnd> {
    let aside = aside(piece);
    let end = |(k, ends): (usize, &Option<[u32; 2]>)| {
        if aside[k] {
            return None;
        }
        let row = fabric.lines.get(k).map_or(k as u32, |rows| rows[side].0);
        let section = piece.rows[k].section;
        ends.map(|e| RowEnd { row, section, at: xy[e[side] as usize] })
    };
    fabric.row_ends.iter().enumerate().filter_map(end).collect()
}

fn range(lengths: impl Iterator<Item = Length>) -> LengthRange {
    let mm: Vec<f64> = lengths.map(Length::to_mm).collect();
    let n = mm.len().max(1) as f64;
    LengthRange {
        mean: Length::mm(mm.iter().sum::<f64>() / n),
        least: Length::mm(mm.iter().copied().fold(f64::INFINITY, f64::min)),
        most: Length::mm(mm.iter().copied().fold(f64::NEG_INFINITY, f64::max)),
    }
}

/// Mean rise from the foundation to the last row with two ends.
fn square_to_rows(fabric: &Fabric, xy: &[[f64; 2]]) -> Length {
    let mean_y = |nodes: &[u32]| {
        nodes.iter().map(|&n| xy[n as usize][1]).sum::<f64>() / nodes.len().max(1) as f64
    };
    let mut paths = (0..fabric.row_paths.len())
        .filter(|&r| fabric.row_ends[r].is_some())
        .map(|r| mean_y(&fabric.row_paths[r]));
    let first = paths.next().unwrap_or(0.0);
    Length::mm(paths.next_back().map_or(0.0, |last| last - first))
}

/// Angle of `b - a` against the square to the rows.
fn slant(a: [f64; 2], b: [f64; 2]) -> Angle {
    Angle::radians((b[0] - a[0]).atan2(b[1] - a[1]))
}

fn rows(piece: &Piece, fabric: &Fabric, xy: &[[f64; 2]]) -> Vec<RowMeasure> {
    let at = |n: u32| xy[n as usize];
    let ends: Vec<(usize, [u32; 2])> =
        fabric.row_ends.iter().enumerate().filter_map(|(r, e)| e.map(|e| (r, e))).collect();
    let Some(&(_, base)) = ends.first() else { return Vec::new() };
    ends.windows(2)
        .map(|w| {
            let ((_, below), (row, here)) = (w[0], w[1]);
            let width = at(here[1])[0] - at(here[0])[0];
            let middle = |e: [u32; 2]| (at(e[0])[1] + at(e[1])[1]) / 2.0;
            RowMeasure {
                row: row as u32,
                label: match fabric.lines.len() {
                    n if row < n => format!("line {row} of blocks"),
                    _ => row_label(piece, row as u32),
                },
                width: Length::mm(width.hypot(at(here[1])[1] - at(here[0])[1])),
                height: Length::mm(middle(here) - middle(below)),
                slant: [0, 1].map(|s| slant(at(below[s]), at(here[s]))),
                cumulative: [0, 1].map(|s| slant(at(base[s]), at(here[s]))),
            }
        })
        .collect()
}

/// Area enclosed by a counter-clockwise polygon (shoelace formula).
pub(super) fn signed_area(polygon: &[[f64; 2]]) -> f64 {
    let n = polygon.len();
    (0..n)
        .map(|i| {
            let (p, q) = (polygon[i], polygon[(i + 1) % n]);
            (p[0] * q[1] - p[1] * q[0]) / 2.0
        })
        .sum()
}

/// Names of the stitches in order of first use, and which of them each stitch is.
pub fn kinds(piece: &Piece) -> (Vec<String>, Vec<u16>) {
    let mut names: Vec<String> = Vec::new();
    let mut seen: BTreeMap<Worked, u16> = BTreeMap::new();
    let mut index = |stitch: Worked| {
        *seen.entry(stitch).or_insert_with(|| {
            let name = stitch.words();
            let known = names.iter().position(|n| *n == name);
            let at = known.unwrap_or_else(|| {
                names.push(name);
                names.len() - 1
            });
            at.min(usize::from(u16::MAX)) as u16
        })
    };
    let kind_of = worked(piece).into_iter().map(&mut index).collect();
    (names, kind_of)
}

pub(super) fn cells(
    piece: &Piece,
    fabric: &Fabric,
    shape: &Shape,
    xy: &[[f64; 2]],
    kind_of: &[u16],
) -> Vec<CellStrain> {
    let corners = |nodes: &[u32]| nodes.iter().map(|&n| xy[n as usize]).collect::<Vec<_>>();
    let body = &fabric.body;
    let nodes = body.quads.iter().map(|q| corners(&q.nodes));
    let nodes = nodes.chain(body.wedges.iter().map(|w| corners(&w.nodes)));
    let nodes = nodes.chain(body.polygons.iter().map(|p| corners(&p.nodes)));
    let tags = fabric.quad_tags.iter().chain(&fabric.wedge_tags).chain(&fabric.polygon_tags);
    nodes
        .zip(tags)
        .zip(&shape.strains)
        .map(|((corners, &CellTag { row, stitch }), &[along, up, shear])| CellStrain {
            corners,
            row: row.0,
            stitch: stitch.0,
            kind: kind_of[stitch.0 as usize],
            colour: piece.stitch(stitch).colour,
            along,
            up,
            shear,
        })
        .collect()
}

/// Area of the rest shapes of all cells, mm2: what the piece would cover if no cell were strained.
pub fn rest_area_mm2(fabric: &Fabric) -> f64 {
    let body = &fabric.body;
    let quads: f64 = body.quads.iter().map(|q| signed_area(&q.rest)).sum();
    let wedges: f64 = body.wedges.iter().map(|w| w.strand * w.height / 2.0).sum();
    let polygons: f64 = body.polygons.iter().map(|p| signed_area(&p.rest)).sum();
    (quads + wedges + polygons) * MM * MM
}

/// The edges of `shape` alone, for studies that move the shape often.
pub fn edges(piece: &Piece, fabric: &Fabric, shape: &Shape) -> Option<[EdgeShape; 2]> {
    let xy = frame(piece, fabric, shape);
    let label = |row: u32| row_label(piece, row);
    Some([
        edge::shape(&row_ends(piece, fabric, &xy, 0), -1.0, &label)?,
        edge::shape(&row_ends(piece, fabric, &xy, 1), 1.0, &label)?,
    ])
}
