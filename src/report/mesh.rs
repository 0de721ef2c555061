//! The laid mesh as Wavefront OBJ, for any program that reads surfaces.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::predict::Prediction;

/// Vertices in millimetres (z = 0), one face a cell, one group a row. Corners nearer than a thousandth
/// of a millimetre are one vertex.
pub fn obj(prediction: &Prediction) -> String {
    let measured = &prediction.measured;
    let mut vertices: BTreeMap<[i64; 2], usize> = BTreeMap::new();
    let (mut points, mut faces) = (String::new(), String::new());
    let mut row = None;
    for cell in &measured.cells {
        if cell.corners.len() < 3 || cell.corners.iter().flatten().any(|c| !c.is_finite()) {
            continue;
        }
        if row != Some(cell.row) {
            row = Some(cell.row);
            let _ = writeln!(faces, "g row-{}", cell.row);
        }
        faces.push('f');
        for [x, y] in &cell.corners {
            let next = vertices.len() + 1;
            let key = [x, y].map(|c| (c * 1000.0).round() as i64);
            let index = *vertices.entry(key).or_insert_with(|| {
                let _ = writeln!(points, "v {x:.3} {y:.3} 0");
                next
            });
            let _ = write!(faces, " {index}");
        }
        faces.push('\n');
    }
    format!("# laid flat, millimetres, seen from the right side\n{points}{faces}")
}
