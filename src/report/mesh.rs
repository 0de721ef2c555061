//! The mesh as Wavefront OBJ, for any program that reads surfaces.

use std::fmt::Write as _;

use super::surface::Surface;
use crate::predict::ClosedPiece;
use crate::predict::Hanging;
use crate::predict::HungRounds;
use crate::predict::Prediction;
use crate::predict::RoundTrial;
use crate::predict::Trial;

/// The laid mesh: millimetres, z = 0, one face a cell, one group a row. Corners nearer than a micrometre
/// are one vertex.
pub fn obj(prediction: &Prediction) -> String {
    let about = "laid flat, millimetres, seen from the right side";
    written(&Surface::laid(&prediction.measured.cells), about)
}

/// The mesh of a trial after its pins are out, as [`obj`].
pub fn blocking_obj(trial: &Trial) -> String {
    let about = format!("blocked ({}), released, millimetres", trial.words);
    written(&Surface::laid(&trial.released.cells), &about)
}

/// The hung mesh: millimetres, z up, what holds the piece at height 0, one face a cell, one group a row.
pub fn hanging_obj(hung: &Hanging) -> String {
    written(&Surface::hung(&hung.cells), "hung, millimetres, z up")
}

/// The piece at rest on a table (mm, z up); none for a tube.
pub fn rounds_obj(piece: &ClosedPiece) -> Option<String> {
    let table = piece.table.as_ref()?;
    Some(written(&Surface::hung(&table.cells), "at rest on a table, millimetres, z up"))
}

/// A trial of a piece in closed rounds after its pins are out, as [`obj`].
pub fn rounds_blocking_obj(trial: &RoundTrial) -> String {
    let about = format!("blocked ({}), released, millimetres", trial.words);
    written(&Surface::laid(&trial.released.cells), &about)
}

/// A hung piece in closed rounds, as [`hanging_obj`].
pub fn rounds_hanging_obj(hung: &HungRounds) -> String {
    written(&Surface::hung(&hung.cells), "hung, millimetres, z up")
}

fn written(surface: &Surface, about: &str) -> String {
    let mut out = format!("# {about}\n");
    for [x, y, z] in &surface.points {
        let _ = writeln!(out, "v {x:.3} {y:.3} {z:.3}");
    }
    let mut row = None;
    for face in &surface.faces {
        if row != Some(face.row) {
            row = Some(face.row);
            let _ = writeln!(out, "g row-{}", face.row);
        }
        out.push('f');
        for corner in &face.corners {
            let _ = write!(out, " {}", corner + 1);
        }
        out.push('\n');
    }
    out
}
