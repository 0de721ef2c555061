//! The cells of a piece as one surface: corners that cells share are one vertex.

use std::collections::BTreeMap;

use crate::measure::CellStrain;
use crate::predict::HungCell;

/// A point in space, mm.
pub(super) type Place = [f64; 3];

/// A cell of the surface.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Face {
    /// Vertices, counter-clockwise as seen from the right side.
    pub(super) corners: Vec<u32>,
    /// Row it belongs to.
    pub(super) row: u32,
    /// Index of its yarn.
    pub(super) colour: u16,
}

/// Vertices and cells.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) struct Surface {
    pub(super) points: Vec<Place>,
    pub(super) faces: Vec<Face>,
}

impl Surface {
    /// A piece lying flat, at height zero.
    pub(super) fn laid(cells: &[CellStrain]) -> Self {
        let space = |c: &CellStrain| c.corners.iter().map(|[x, y]| [*x, *y, 0.0]).collect();
        Self::joined(cells.iter().map(|c| (space(c), c.row, c.colour)))
    }

    /// A piece in space, the third axis up.
    pub(super) fn hung(cells: &[HungCell]) -> Self {
        Self::joined(cells.iter().map(|c| (c.corners.clone(), c.row, c.colour)))
    }

    /// Corners nearer than a micrometre are one vertex; cells without three sound corners are left out.
    fn joined(cells: impl Iterator<Item = (Vec<Place>, u32, u16)>) -> Self {
        let mut made = Self::default();
        let mut known: BTreeMap<[i64; 3], u32> = BTreeMap::new();
        for (corners, row, colour) in cells {
            if corners.len() < 3 || corners.iter().flatten().any(|c| !c.is_finite()) {
                continue;
            }
            let mut vertex = |p: &Place| {
                *known.entry(p.map(|c| (c * 1000.0).round() as i64)).or_insert_with(|| {
                    made.points.push(*p);
                    made.points.len() as u32 - 1
                })
            };
            let corners = corners.iter().map(&mut vertex).collect();
            made.faces.push(Face { corners, row, colour });
        }
        made
    }

    /// Corners of a face.
    pub(super) fn corners(&self, face: &Face) -> Vec<Place> {
        face.corners.iter().map(|n| self.points[*n as usize]).collect()
    }

    /// Unit normals of the vertices towards the viewer of the right side, weighted by area.
    pub(super) fn normals(&self) -> Vec<Place> {
        let mut sums = vec![[0.0; 3]; self.points.len()];
        for face in &self.faces {
            let normal = area(&self.corners(face));
            for n in &face.corners {
                (0..3).for_each(|d| sums[*n as usize][d] += normal[d]);
            }
        }
        sums.into_iter()
            .map(|n| {
                let long = n.iter().map(|c| c * c).sum::<f64>().sqrt();
                if long > 0.0 { n.map(|c| c / long) } else { [0.0, 0.0, 1.0] }
            })
            .collect()
    }
}

/// Twice the area of a polygon, as a vector square to it.
pub(super) fn area(corners: &[Place]) -> Place {
    let n = corners.len();
    let mut sum = [0.0; 3];
    for i in 0..n {
        let (a, b) = (corners[i], corners[(i + 1) % n]);
        sum[0] += a[1] * b[2] - a[2] * b[1];
        sum[1] += a[2] * b[0] - a[0] * b[2];
        sum[2] += a[0] * b[1] - a[1] * b[0];
    }
    sum
}
