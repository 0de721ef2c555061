//! The in-plane law: tensions from stretches, softened where loops are squeezed together and stiffening
//! where they lock.
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
//!
//! Loops pulled towards their locking strain `L` stiffen as a finitely extensible spring,
//! `N = E e/(1 - (e/L)²)` (H. R. Warner, Ind. Eng. Chem. Fundam. 11 (1972) 379). What that spring bears
//! beyond the linear one is added for each direction by itself,
//!
//! `N_i += E_i e_i q/(1 - q)`, `W += E_i L_i²/2 (-ln(1 - q) - q)`, `q = (e_i/L_i)²`, where `e_i > 0`.
//!
//! A sum of convex functions is convex, so the whole stays so; in a pull along one direction alone the
//! cross tension vanishes where it did before, and the whole is Warner's spring to the letter. Above
//! [`REACH`] of `L` the tension follows its tangent: the energy stays finite and the stiffness bounded.

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
    locks: [Lock; 2],
}

/// Share of the locking strain above which the tension follows its tangent.
const REACH: f64 = 0.95;

/// What a finitely extensible spring bears beyond the linear one.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Lock {
    /// Modulus of the linear spring, N/m.
    modulus: f64,
    /// One over the locking strain; zero where loops never lock.
    per: f64,
    /// Half the modulus times the square of the locking strain, N/m; zero where loops never lock.
    area: f64,
}

/// `-ln(1 - q) - q` for q in [0, 1): by its series where that is exact to rounding, which costs no logarithm.
#[inline]
fn beyond_linear(q: f64) -> f64 {
    if q > 1.0 / 64.0 {
        return -(-q).ln_1p() - q;
    }
    let sum = (2..=9).rev().fold(0.0, |sum, k| sum * q + 1.0 / f64::from(k));
    q * q * sum
}

impl Lock {
    /// Strain above which the tension follows its tangent.
    #[inline(always)]
    fn edge(&self) -> f64 {
        REACH / self.per
    }

    /// Tension and stiffness (N/m) at a strain not below zero.
    #[inline(always)]
    fn pull(&self, e: f64) -> [f64; 2] {
        if e * self.per <= REACH {
            return self.pull_within(e);
        }
        let [tension, stiff] = self.pull_within(self.edge());
        [tension + stiff * (e - self.edge()), stiff]
    }

    #[inline(always)]
    fn pull_within(&self, e: f64) -> [f64; 2] {
        let q = (e * self.per).powi(2);
        let room = 1.0 / (1.0 - q);
        [self.modulus * e * q * room, self.modulus * q * (3.0 - q) * room * room]
    }

    /// Energy per rest area (J/m²) at a strain not below zero.
    #[inline(always)]
    fn energy(&self, e: f64) -> f64 {
        let within = |e: f64| self.area * beyond_linear((e * self.per).powi(2));
        if e * self.per <= REACH {
            return within(e);
        }
        let (beyond, [tension, stiff]) = (e - self.edge(), self.pull_within(self.edge()));
        within(self.edge()) + (tension + 0.5 * stiff * beyond) * beyond
    }
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
        let lock = |modulus: f64, strain: f64| Lock {
            modulus,
            per: 1.0 / strain,
            area: if strain.is_finite() { 0.5 * modulus * strain * strain } else { 0.0 },
        };
        let locks = [lock(m.e1, m.locking[0]), lock(m.e2, m.locking[1])];
        Self { cases, shear: m.g, locks }
    }

    /// The response to strains `e` along rows and columns.
    pub fn tension(&self, e: [f64; 2]) -> Tension {
        self.respond(e, true)
    }

    /// [`Self::tension`]; where `energy` is not wanted it comes out as zero.
    #[inline(always)]
    pub(super) fn respond(&self, e: [f64; 2], energy: bool) -> Tension {
        let c = self.cases[self.signs(e)];
        let n = [c[0] * e[0] + c[1] * e[1], c[1] * e[0] + c[2] * e[1]];
        let stored = if energy { 0.5 * (n[0] * e[0] + n[1] * e[1]) } else { 0.0 };
        let mut t = Tension { energy: stored, n, c };
        for (axis, lock) in self.locks.iter().enumerate() {
            // What is squeezed adds nothing: its excess is that of no strain. A branch on the sign
            // would be mispredicted in half of all cells that are nearly free of strain.
            let pulled = e[axis].max(0.0);
            let [tension, stiff] = lock.pull(pulled);
            t.n[axis] += tension;
            t.c[2 * axis] += stiff;
            if energy {
                t.energy += lock.energy(pulled);
            }
        }
        t
    }

    /// Index in [`SIGNS`] of the signs of the tensions.
    ///
    /// The strain-to-tension map is one to one, so exactly one sign pattern agrees with the tensions
    /// it gives; on a border between patterns rounding may reject both neighbours, hence the least
    /// violated one is taken.
    #[inline(always)]
    fn signs(&self, e: [f64; 2]) -> usize {
        let mut best = (f64::INFINITY, 0);
        for (k, (c, [s1, s2])) in self.cases.iter().zip(SIGNS).enumerate() {
            let n = [c[0] * e[0] + c[1] * e[1], c[1] * e[0] + c[2] * e[1]];
            let wrong = (-s1 * n[0]).max(-s2 * n[1]);
            best = if wrong < best.0 { (wrong, k) } else { best };
        }
        best.1
    }

    /// Largest modulus over all sign patterns away from locking, N/m: the scale of forces.
    pub fn scale(&self) -> f64 {
        self.cases.iter().flat_map(|c| [c[0], c[2]]).fold(self.shear, f64::max)
    }
}
