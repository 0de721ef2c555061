//! The in-plane law: tensions from stretches, softened where loops are squeezed together.
//!
//! Written in its dual, strains from tensions, so that "squeezed" means a compressive tension and not
//! a contraction that a cross pull causes anyway:
//!
//! `e = S N + (1/cs - 1) min(N_i, 0)/E_i` per direction, with `S = [1/E1, -nu12/E1; -nu12/E1, 1/E2]`,
//!
//! `N` (N/m) the tensions along rows and columns, `cs` the share of the modulus left in compression.
//! The stored energy `W(e)` is the convex conjugate of that complementary energy: one quadratic per
//! sign pattern of `(N1, N2)`, joined with continuous tensions. The map is monotone for every
//! `cs > 0`, pull is untouched (`E1`, `E2`, `nu12` come out as given) and squeeze has modulus `cs E`.

use super::Membrane;

/// Energy per rest area (J/m²), tensions (N/m) and tangent stiffness (N/m) at one pair of strains.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tension {
    /// Energy per rest area, J/m².
    pub energy: f64,
    /// Tensions along rows and along columns, N/m.
    pub n: [f64; 2],
    /// Tangent stiffness `[c11, c12, c22]`, N/m.
    pub c: [f64; 3],
}

/// A [`Membrane`] made ready for evaluation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// Stiffness `[c11, c12, c22]` for the sign patterns (+,+), (-,+), (+,-), (-,-) of the tensions.
    cases: [[f64; 3]; 4],
    /// Shear modulus, N/m.
    pub shear: f64,
}

const SIGNS: [[f64; 2]; 4] = [[1.0, 1.0], [-1.0, 1.0], [1.0, -1.0], [-1.0, -1.0]];

impl Law {
    /// Inverts the compliance of each sign pattern. Expects a membrane that passed validation.
    pub fn new(m: &Membrane) -> Self {
        let extra = 1.0 / m.squeeze - 1.0;
        let cases = SIGNS.map(|[s1, s2]| {
            let s11 = (1.0 + if s1 < 0.0 { extra } else { 0.0 }) / m.e1;
            let s22 = (1.0 + if s2 < 0.0 { extra } else { 0.0 }) / m.e2;
            let s12 = -m.nu12 / m.e1;
            let det = s11 * s22 - s12 * s12;
            [s22 / det, -s12 / det, s11 / det]
        });
        Self { cases, shear: m.g }
    }

    /// The response to strains `e` along rows and columns.
    ///
    /// The strain-to-tension map is one to one, so exactly one sign pattern agrees with the tensions
    /// it gives; on a border between patterns rounding may reject both neighbours, hence the least
    /// violated one is taken.
    #[inline]
    pub fn tension(&self, e: [f64; 2]) -> Tension {
        let mut best = (f64::INFINITY, 0, [0.0; 2]);
        for (k, c) in self.cases.iter().enumerate() {
            let n = [c[0] * e[0] + c[1] * e[1], c[1] * e[0] + c[2] * e[1]];
            let wrong = (-SIGNS[k][0] * n[0]).max(-SIGNS[k][1] * n[1]).max(0.0);
            if wrong < best.0 {
                best = (wrong, k, n);
            }
            if wrong == 0.0 {
                break;
            }
        }
        let (_, k, n) = best;
        Tension { energy: 0.5 * (n[0] * e[0] + n[1] * e[1]), n, c: self.cases[k] }
    }

    /// Largest modulus over all sign patterns, N/m: the scale of forces.
    pub fn scale(&self) -> f64 {
        self.cases.iter().flat_map(|c| [c[0], c[2]]).fold(self.shear, f64::max)
    }
}
