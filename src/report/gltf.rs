//! The laid mesh as glTF 2.0 in one file (Khronos Group, glTF 2.0 specification), in the yarns' colours.

use std::collections::BTreeMap;

use serde_json::Value;
use serde_json::json;

use super::base64::base64;
use crate::measure::CellStrain;
use crate::predict::Prediction;

const FLOAT: u32 = 5126;
const UNSIGNED_INT: u32 = 5125;
const ARRAY_BUFFER: u32 = 34962;
const ELEMENT_ARRAY_BUFFER: u32 = 34963;

/// Vertices in metres in the plane z = 0, seen from the right side of the piece; one primitive a yarn,
/// cells as fans of triangles. Corners nearer than a micrometre are one vertex.
pub fn gltf(prediction: &Prediction) -> String {
    let mut vertices: BTreeMap<[i64; 2], u32> = BTreeMap::new();
    let mut points: Vec<[f32; 2]> = Vec::new();
    let mut triangles: BTreeMap<u16, Vec<u32>> = BTreeMap::new();
    let whole =
        |c: &&CellStrain| c.corners.len() > 2 && c.corners.iter().flatten().all(|x| x.is_finite());
    for cell in prediction.measured.cells.iter().filter(whole) {
        let mut index = |[x, y]: &[f64; 2]| {
            *vertices.entry([x, y].map(|c| (c * 1000.0).round() as i64)).or_insert_with(|| {
                points.push([(x / 1000.0) as f32, (y / 1000.0) as f32]);
                points.len() as u32 - 1
            })
        };
        let corners: Vec<u32> = cell.corners.iter().map(&mut index).collect();
        let list = triangles.entry(cell.colour).or_default();
        for pair in corners[1..].windows(2) {
            list.extend([corners[0], pair[0], pair[1]]);
        }
    }
    let scene = scene(prediction, &points, &triangles);
    serde_json::to_string_pretty(&scene).unwrap_or_default() + "\n"
}

fn scene(
    prediction: &Prediction,
    points: &[[f32; 2]],
    triangles: &BTreeMap<u16, Vec<u32>>,
) -> Value {
    let bound = |pick: fn(f32, f32) -> f32, start: f32| {
        [0, 1].map(|k| points.iter().map(|p| p[k]).fold(start, pick))
    };
    let about = json!({ "version": "2.0", "generator": "slantwise" });
    if points.is_empty() {
        return json!({ "asset": about });
    }
    let (low, high) = (bound(f32::min, f32::INFINITY), bound(f32::max, f32::NEG_INFINITY));
    let mut bytes: Vec<u8> =
        points.iter().flat_map(|[x, y]| [*x, *y, 0.0].map(f32::to_le_bytes)).flatten().collect();
    let mut views = vec![json!({ "buffer": 0, "byteLength": bytes.len(), "target": ARRAY_BUFFER })];
    let mut accessors = vec![json!({
        "bufferView": 0, "componentType": FLOAT, "count": points.len(), "type": "VEC3",
        "min": [low[0], low[1], 0.0], "max": [high[0], high[1], 0.0],
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
        materials.push(material(prediction, *colour));
    }
    json!({
        "asset": about,
        "scene": 0,
        "scenes": [{ "nodes": [0] }],
        "nodes": [{ "mesh": 0, "name": prediction.title }],
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
fn material(prediction: &Prediction, colour: u16) -> Value {
    let at = usize::from(colour);
    let tint = prediction.palette.get(at).copied().unwrap_or([176, 180, 184]);
    let [r, g, b] = tint.map(|c| {
        let c = f64::from(c) / 255.0;
        if c <= 0.04045 { c / 12.92 } else { libm::pow((c + 0.055) / 1.055, 2.4) }
    });
    let name = prediction.measured.yarn.get(at).map_or("yarn", |y| y.colour.as_str());
    json!({
        "name": name, "doubleSided": true,
        "pbrMetallicRoughness": {
            "baseColorFactor": [r, g, b, 1.0], "metallicFactor": 0.0, "roughnessFactor": 1.0,
        },
    })
}
