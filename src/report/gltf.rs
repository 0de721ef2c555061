//! The mesh as glTF 2.0 in one file (Khronos Group, glTF 2.0 specification), in the yarns' colours.

use std::collections::BTreeMap;

use serde_json::Value;
use serde_json::json;

use super::base64::base64;
use super::surface::Place;
use super::surface::Surface;
use crate::predict::Blocks;
use crate::predict::ClosedPiece;
use crate::predict::Hanging;
use crate::predict::HungRounds;
use crate::predict::LaidRounds;
use crate::predict::Prediction;
use crate::predict::RoundBlocks;
use crate::predict::RoundTrial;
use crate::predict::Trial;

const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const ARRAY_BUFFER: u32 = 34962;
const ELEMENT_ARRAY_BUFFER: u32 = 34963;

/// The laid mesh: metres in the plane z = 0, seen from the right side of the piece; one primitive a yarn,
/// cells as fans of triangles. Corners nearer than a micrometre are one vertex.
pub fn gltf(prediction: &Prediction) -> String {
    written(&About::of(prediction), &Surface::laid(&prediction.measured.cells), &|p| p)
}

/// The mesh of a trial after its pins are out, as [`gltf`].
pub fn blocking_gltf(blocks: &Blocks, trial: &Trial) -> String {
    written(&About::of(&blocks.washed), &Surface::laid(&trial.released.cells), &|p| p)
}

/// The hung mesh: metres, y up as the format wants it, the viewer of the front at positive z.
pub fn hanging_gltf(hung: &Hanging) -> String {
    written(&About::of(&hung.laid), &Surface::hung(&hung.cells), &|[x, y, z]| [x, z, -y])
}

/// A trial of a piece in closed rounds after its pins are out, as [`gltf`].
pub fn rounds_blocking_gltf(blocks: &RoundBlocks, trial: &RoundTrial) -> String {
    written(&About::rounds(&blocks.washed), &Surface::laid(&trial.released.cells), &|p| p)
}

/// A hung piece in closed rounds, as [`hanging_gltf`].
pub fn rounds_hanging_gltf(hung: &HungRounds) -> String {
    written(&About::rounds(&hung.laid), &Surface::hung(&hung.cells), &|[x, y, z]| [x, z, -y])
}

/// A piece in closed rounds at rest on a table; none for a tube.
pub fn rounds_gltf(piece: &ClosedPiece) -> Option<String> {
    let table = piece.table.as_ref()?;
    let yarns = piece.yarn.iter().map(|y| y.colour.as_str()).collect();
    let about = About { title: &piece.title, yarns, palette: &piece.palette };
    Some(written(&about, &Surface::hung(&table.cells), &|[x, y, z]| [x, z, -y]))
}

/// Its title, and the names and colours of its yarns.
struct About<'a> {
    title: &'a str,
    yarns: Vec<&'a str>,
    palette: &'a [[u8; 3]],
}

impl<'a> About<'a> {
    fn of(piece: &'a Prediction) -> Self {
        let yarns = piece.measured.yarn.iter().map(|y| y.colour.as_str()).collect();
        Self { title: &piece.title, yarns, palette: &piece.palette }
    }

    fn rounds(piece: &'a LaidRounds) -> Self {
        let yarns = piece.colours.iter().map(String::as_str).collect();
        Self { title: &piece.title, yarns, palette: &piece.palette }
    }
}

fn written(about: &About<'_>, surface: &Surface, turned: &dyn Fn(Place) -> Place) -> String {
    let metres = |p: &Place| turned(*p).map(|c| (c / 1000.0) as f32);
    let points: Vec<[f32; 3]> = surface.points.iter().map(metres).collect();
    let mut triangles: BTreeMap<u16, Vec<u32>> = BTreeMap::new();
    for face in &surface.faces {
        let list = triangles.entry(face.colour).or_default();
        for pair in face.corners[1..].windows(2) {
            list.extend([face.corners[0], pair[0], pair[1]]);
        }
    }
    let scene = scene(about, &points, &triangles);
    serde_json::to_string_pretty(&scene).unwrap_or_default() + "\n"
}

fn scene(piece: &About<'_>, points: &[[f32; 3]], triangles: &BTreeMap<u16, Vec<u32>>) -> Value {
    let bound = |pick: fn(f32, f32) -> f32, start: f32| {
        [0, 1, 2].map(|k| points.iter().map(|p| p[k]).fold(start, pick))
    };
    let about = json!({ "version": "2.0", "generator": "slantwise" });
    if points.is_empty() {
        return json!({ "asset": about });
    }
    let (low, high) = (bound(f32::min, f32::INFINITY), bound(f32::max, f32::NEG_INFINITY));
    let mut bytes: Vec<u8> = points.iter().flatten().flat_map(|c| c.to_le_bytes()).collect();
    let mut views = vec![json!({ "buffer": 0, "byteLength": bytes.len(), "target": ARRAY_BUFFER })];
    let mut accessors = vec![json!({
        "bufferView": 0, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
        "min": low, "max": high,
    })];
    let (mut primitives, mut materials) = (Vec::new(), Vec::new());
    for (colour, indices) in triangles {
        views.push(json!({
            "buffer": 0, "byteOffset": bytes.len(), "byteLength": indices.len() * 4,
            "target": ELEMENT_ARRAY_BUFFER,
        }));
        bytes.extend(indices.iter().flat_map(|i| i.to_le_bytes()));
        accessors.push(json!({
            "bufferView": views.len() - 1, "componentType": UNSIGNED_INT,
            "count": indices.len(), "type": "SCALAR",
        }));
        primitives.push(json!({
            "attributes": { "POSITION": 0 }, "indices": accessors.len() - 1,
            "material": materials.len(), "mode": 4,
        }));
        materials.push(material(piece, *colour));
    }
    json!({
        "asset": about,
        "scene": 0,
        "scenes": [{ "nodes": [0] }],
        "nodes": [{ "mesh": 0, "name": piece.title }],
        "meshes": [{ "primitives": primitives }],
        "materials": materials,
        "accessors": accessors,
        "bufferViews": views,
        "buffers": [{
            "byteLength": bytes.len(),
            "uri": format!("data:application/octet-stream;base64,{}", base64(&bytes)),
        }],
    })
}

/// A yarn's colour, which the format wants as linear light (IEC 61966-2-1).
fn material(piece: &About<'_>, colour: u16) -> Value {
    let at = usize::from(colour);
    let tint = piece.palette.get(at).copied().unwrap_or([176, 180, 184]);
    let [r, g, b] = tint.map(|c| {
        let c = f64::from(c) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    });
    let name = piece.yarns.get(at).copied().unwrap_or("yarn");
    json!({
        "name": name, "doubleSided": true,
        "pbrMetallicRoughness": {
            "baseColorFactor": [r, g, b, 1.0], "metallicFactor": 0.0, "roughnessFactor": 1.0,
        },
    })
}
