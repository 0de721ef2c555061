//! Energies and their minimiser. Bare SI numbers; knows no stitch, yarn or text.
//!
//! A [`Body`] lists the elements that store energy: [`Quad`]s, [`Wedge`]s and [`Polygon`]s (membrane
//! cells), [`Strand`]s (bars) and [`Bend`]s (curvatures), with dead loads on nodes. A [`Solver`] finds
//! the positions, in the plane or in space, at which its energy is least.

mod analysis;
mod arrange;
mod assembly;
mod bend;
mod cell;
mod check;
mod chord;
mod contact;
mod descend;
mod elements;
mod form;
mod hold;
mod law;
mod linear;
mod memory;
mod minimise;
mod newton;
mod rigid;
mod settings;
mod strain;
mod strand;
#[cfg(test)]
mod tests;
mod untangle;
mod wedge;

pub use arrange::{arrange, misfit};
pub use check::BadBody;
pub use contact::{Solid, Support};
pub use elements::{energy_of, signed_area};
pub use law::{Law, Tension};
pub use minimise::{Outcome, Progress, Rest, Solver, minimise};
pub use settings::{Cause, NotSettled, Settings};
pub use strain::{Cell, Strain};
pub use untangle::untangle;

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
    /// Strains along axes 1 and 2 at which pulled loops lock; [`Membrane::FREE`] never do.
    pub locking: [f64; 2],
}

impl Membrane {
    /// Locking strains of loops that never lock.
    pub const FREE: [f64; 2] = [f64::INFINITY; 2];

    /// The same law at `share` of the stiffness (open cells carry only their share of yarn).
    pub fn scaled(self, share: f64) -> Self {
        Self { e1: self.e1 * share, e2: self.e2 * share, g: self.g * share, ..self }
    }
}

/// How cells measure strain.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Measure {
    /// Length over rest length, less one: the law of this crate.
    #[default]
    Stretch,
    /// Green's strain, which makes the linear law St. Venant-Kirchhoff's. Too stiff at wearing
    /// strains; kept as the reference other solvers can be compared with.
    Green,
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

/// One discrete curvature: energy `stiffness/2 |Σ weights_i x_i|²`.
///
/// With weights that annihilate affine maps and are in 1/m², the sum is a curvature vector of the
/// surface (1/m) and `stiffness` its rigidity times the rest area it stands for (N m · m²). Quadratic, as for nearly
/// inextensible sheets (Bergou, Wardetzky, Harmon, Zorin, Grinspun, "A quadratic bending model for
/// inextensible surfaces", SGP 2006).
#[derive(Debug, Clone, PartialEq)]
pub struct Bend {
    /// Nodes of the stencil.
    pub nodes: Vec<u32>,
    /// Weights (1/m² for a curvature), one a node, with sum zero.
    pub weights: Vec<f64>,
    /// Rigidity times area, N m³.
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
    /// Curvatures; of use in space only.
    pub bends: Vec<Bend>,
    /// Dead load on each node (N), or empty; the plane takes the first two components.
    pub loads: Vec<[f64; 3]>,
    /// What every node rests on in space, if anything.
    pub support: Option<Support>,
    /// Strain measure of the quads and polygons.
    pub measure: Measure,
}

/// How much of an evaluation is wanted; each level includes those before it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd)]
enum Want {
    Energy,
    /// The gradient; cells leave the energy out, which comes out as zero or, where folded, infinite.
    Forces,
    /// Energy and gradient.
    Gradient,
    /// Hessian without its parts that may be indefinite.
    Clamped,
    Exact,
}
