//! Energies and their minimiser. Bare SI numbers; knows no stitch, yarn or text.

/// In-plane law of a cell: orthotropic, axis 1 along rows, axis 2 along columns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Membrane {
    /// Modulus along axis 1, N/m.
    pub e1: f64,
    /// Modulus along axis 2, N/m.
    pub e2: f64,
    /// Poisson ratio: contraction along 2 per stretch along 1 (nu21 = nu12 e2/e1).
    pub nu12: f64,
    /// Shear modulus, N/m.
    pub g: f64,
    /// Share of the modulus left in compression, in (0, 1]; 1 is linear.
    pub squeeze: f64,
}

impl Membrane {
    /// The same law at `share` of the stiffness (open cells carry only their share of yarn).
    pub fn scaled(self, share: f64) -> Self {
        Self { e1: self.e1 * share, e2: self.e2 * share, g: self.g * share, ..self }
    }
}

/// Four-node cell; `rest` holds the corners' rest coordinates (m), counter-clockwise like `nodes`.
#[derive(Debug, Clone, PartialEq)]
pub struct Quad {
    /// Corner nodes, counter-clockwise.
    pub nodes: [u32; 4],
    /// Rest coordinates (m): component 0 along rows, component 1 along columns.
    pub rest: [[f64; 2]; 4],
    /// Index in [`Body::membranes`].
    pub membrane: u32,
}

/// Shaping triangle: a strand, an apex that may slide along it, no shear.
#[derive(Debug, Clone, PartialEq)]
pub struct Wedge {
    /// Ends of the strand, then the apex, counter-clockwise.
    pub nodes: [u32; 3],
    /// Rest length of the strand, m.
    pub strand: f64,
    /// Rest height of the apex over the strand, m.
    pub height: f64,
    /// Index in [`Body::membranes`].
    pub membrane: u32,
}

/// Cell of three or more corners with a rest polygon, for open cells.
#[derive(Debug, Clone, PartialEq)]
pub struct Polygon {
    /// Corner nodes, counter-clockwise.
    pub nodes: Vec<u32>,
    /// Rest coordinates (m), like [`Quad::rest`].
    pub rest: Vec<[f64; 2]>,
    /// Index in [`Body::membranes`].
    pub membrane: u32,
}

/// A bar between two nodes.
#[derive(Debug, Clone, PartialEq)]
pub struct Strand {
    /// Its ends.
    pub nodes: [u32; 2],
    /// Rest length, m.
    pub rest: f64,
    /// Force per unit strain, N.
    pub stiffness: f64,
}

/// Everything that stores energy.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Body {
    /// Number of nodes.
    pub nodes: usize,
    /// Laws, shared by index.
    pub membranes: Vec<Membrane>,
    /// Plain cells.
    pub quads: Vec<Quad>,
    /// Shaping triangles.
    pub wedges: Vec<Wedge>,
    /// Open cells.
    pub polygons: Vec<Polygon>,
    /// Edge strands, chains, ties.
    pub strands: Vec<Strand>,
}
