//! Figures that stitches can be held to account for, as functions of the row ends.

use crate::fabric::Fabric;
use crate::measure::minimum_zone;

/// A figure of the laid piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aim {
    /// Mean length of the rows, mm.
    Width,
    /// Slant of an edge (0 left, 1 right), degrees.
    Slant(usize),
    /// Minimum zone of an edge, mm.
    Straightness(usize),
    /// Length of an edge from end to end, mm.
    Edge(usize),
    /// Place of the last row's corner on an edge, along the rows (axis 0) or square to them (axis 1), from
    /// the lower left corner, mm.
    Corner(usize, usize),
}

const NAMES: [(&str, Aim); 11] = [
    ("width", Aim::Width),
    ("slant-left", Aim::Slant(0)),
    ("slant-right", Aim::Slant(1)),
    ("straight-left", Aim::Straightness(0)),
    ("straight-right", Aim::Straightness(1)),
    ("edge-left", Aim::Edge(0)),
    ("edge-right", Aim::Edge(1)),
    ("corner-left-along", Aim::Corner(0, 0)),
    ("corner-left-up", Aim::Corner(0, 1)),
    ("corner-right-along", Aim::Corner(1, 0)),
    ("corner-right-up", Aim::Corner(1, 1)),
];

type Point = [f64; 2];

/// A step that shows in a figure and leaves the contacts of a zone as they are, m.
const STEP: f64 = 1e-7;

impl Aim {
    /// The aim of a name.
    ///
    /// # Errors
    /// The names there are.
    pub fn parse(name: &str) -> Result<Self, String> {
        let found = NAMES.iter().find(|n| n.0 == name.trim());
        found.map(|n| n.1).ok_or_else(|| {
            let all: Vec<&str> = NAMES.iter().map(|n| n.0).collect();
            format!("`{name}` is no figure to trace; expected one of {}", all.join(", "))
        })
    }

    /// In words.
    pub fn words(self) -> String {
        let side = |s: usize| ["left", "right"][s.min(1)];
        match self {
            Self::Width => "mean length of the rows".into(),
            Self::Slant(s) => format!("slant of the {} edge", side(s)),
            Self::Straightness(s) => format!("straightness of the {} edge", side(s)),
            Self::Edge(s) => format!("length of the {} edge", side(s)),
            Self::Corner(s, 0) => format!("place of the upper {} corner along the rows", side(s)),
            Self::Corner(s, _) => format!("height of the upper {} corner", side(s)),
        }
    }

    /// Its unit.
    pub fn unit(self) -> &'static str {
        if matches!(self, Self::Slant(_)) { "°" } else { "mm" }
    }

    /// Its value at `x` (m). `None` for a piece without two row ends.
    pub fn value(self, fabric: &Fabric, x: &[Point]) -> Option<f64> {
        self.at(&ends(fabric).map(|e| e.map(|n| x[n as usize])).collect::<Vec<_>>())
    }

    /// Its derivative with respect to every node's position, per m, by central differences over the row
    /// ends: the figure is smooth there as long as a zone keeps its contacts.
    pub(super) fn gradient(self, fabric: &Fabric, x: &[Point]) -> Option<Vec<Point>> {
        let nodes: Vec<[u32; 2]> = ends(fabric).collect();
        let mut at: Vec<[Point; 2]> = nodes.iter().map(|e| e.map(|n| x[n as usize])).collect();
        let mut gradient = vec![[0.0; 2]; x.len()];
        for (i, pair) in nodes.iter().enumerate() {
            for side in 0..2 {
                for axis in 0..2 {
                    let old = at[i][side][axis];
                    at[i][side][axis] = old + STEP;
                    let more = self.at(&at)?;
                    at[i][side][axis] = old - STEP;
                    let less = self.at(&at)?;
                    at[i][side][axis] = old;
                    gradient[pair[side] as usize][axis] += (more - less) / (2.0 * STEP);
                }
            }
        }
        Some(gradient)
    }

    fn at(self, ends: &[[Point; 2]]) -> Option<f64> {
        let (first, last) = (*ends.first()?, *ends.last()?);
        let along =
            ends.iter().fold([0.0; 2], |s, [l, r]| [s[0] + r[0] - l[0], s[1] + r[1] - l[1]]);
        let length = along[0].hypot(along[1]);
        if ends.len() < 2 || length == 0.0 {
            return None;
        }
        let e = [along[0] / length, along[1] / length];
        let framed = |d: Point| [d[0] * e[0] + d[1] * e[1], d[1] * e[0] - d[0] * e[1]];
        let less = |a: Point, b: Point| [a[0] - b[0], a[1] - b[1]];
        let far = |d: Point| d[0].hypot(d[1]);
        let zone = |side: usize| minimum_zone(&ends.iter().map(|p| p[side]).collect::<Vec<_>>());
        Some(match self {
            // The foundation is no row of work.
            Self::Width => {
                let rows = &ends[1..];
                let sum: f64 = rows.iter().map(|[l, r]| far(less(*r, *l))).sum();
                1e3 * sum / rows.len() as f64
            }
            Self::Slant(side) => {
                let [x, y] = framed(zone(side)?.direction);
                (x * y.signum()).atan2(y.abs()).to_degrees()
            }
            Self::Straightness(side) => 1e3 * zone(side)?.width,
            Self::Edge(side) => 1e3 * far(less(last[side], first[side])),
            Self::Corner(side, axis) => 1e3 * framed(less(last[side], first[0]))[axis],
        })
    }
}

fn ends(fabric: &Fabric) -> impl Iterator<Item = [u32; 2]> {
    fabric.row_ends.iter().flatten().copied()
}
