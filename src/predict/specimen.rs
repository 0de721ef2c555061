//! Virtual textile tests on the stitch most of a piece is worked in.

use std::collections::BTreeMap;

use super::flat::{Failure, Options, Refused, read};
use super::{Assumption, material, yarn};
use crate::diagnostic::Diagnostic;
use crate::fabric::worked;
use crate::material::Material;
use crate::material::Worked;
use crate::source::Source;
use crate::state::Cloth;
use crate::state::NotLaid;
use crate::state::NotSettled;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Load of a pulled strip: 50 g on 5 cm, N/m.
const PULL: f64 = 0.050 * 9.80665 / 0.05;

/// Length of the hanging strip and of the heart loop, m.
const LONG: f64 = 1.0;
const LOOP: f64 = 0.2;

/// A strip cut at an angle.
#[derive(Debug, Clone, PartialEq)]
pub struct OffAxis {
    /// Of its length to the rows.
    pub angle: Angle,
    /// Modulus at this load, N/m.
    pub modulus: f64,
    /// Stretch of 20 cm under 50 g on a width of 5 cm.
    pub stretch: Length,
    /// Narrowing, a share.
    pub narrowing: f64,
    /// Lean of its cross lines.
    pub lean: Angle,
    /// Overhang that dips 41.5 degrees, of a narrow strip.
    pub overhang: Length,
    /// Height of a heart loop of 20 cm.
    pub heart: Length,
}

/// What the tests show.
#[derive(Debug, Clone, PartialEq)]
pub struct Specimen {
    /// Title of the pattern.
    pub title: String,
    /// The user's units.
    pub units: UnitSystem,
    /// The stitch in the trade's words.
    pub stitch: String,
    /// Mass per area, g/m².
    pub mass: f64,
    /// By angle.
    pub strips: Vec<OffAxis>,
    /// Growth of a strip of 1 m hung with its columns upright.
    pub growth: Length,
    /// What it rests on.
    pub assumptions: Vec<Assumption>,
    /// Faults, doubts and choices.
    pub diagnostics: Vec<Diagnostic>,
}

/// Tests the stitch most of the pattern is worked in; `angles` in degrees.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn specimen(
    source: &Source,
    options: &Options,
    angles: &[f64],
) -> Result<Specimen, Box<Refused>> {
    let reading = read(source);
    let fail = |failure| Box::new(Refused { failure, diagnostics: reading.diagnostics.clone() });
    let piece = &reading.piece;
    let material = material::material(&reading.header, piece, &options.overrides)
        .map_err(|fault| fail(Failure::Material(fault)))?;
    let Some(stitch) = main_stitch(piece) else { return Err(fail(Failure::NoRows)) };
    let units = options.units.unwrap_or(reading.header.units.value);
    let cloth = cloth(piece, &material, stitch);
    let unsettled = |fault| {
        fail(Failure::NotLaid { fault: NotLaid::Unsettled { fault, near: None }, near: None })
    };
    let mut strips = Vec::new();
    for degrees in angles {
        strips.push(strip(&cloth, *degrees).map_err(unsettled)?);
    }
    let growth = cloth.hung(LONG).map_err(unsettled)?;
    let title = reading
        .header
        .title
        .as_ref()
        .map_or_else(|| reading.source.name().to_owned(), |t| t.value.clone());
    let assumptions = material
        .provenance(&[stitch], units)
        .into_iter()
        .map(|p| Assumption { what: p.what, value: p.value, source: p.source, assumed: p.assumed })
        .chain(super::hanging::bending_basis(&material, options))
        .collect();
    Ok(Specimen {
        title,
        units,
        stitch: stitch.words(),
        mass: cloth.mass * 1000.0,
        strips,
        growth: Length::m(growth * LONG),
        assumptions,
        diagnostics: reading.diagnostics,
    })
}

fn main_stitch(piece: &Piece) -> Option<Worked> {
    let mut counts: BTreeMap<Worked, u32> = BTreeMap::new();
    for (stitch, ground) in piece.stitches.iter().zip(worked(piece)) {
        if stitch.legs.0 != stitch.legs.1 {
            *counts.entry(ground).or_default() += 1;
        }
    }
    counts.into_iter().max_by_key(|&(_, n)| n).map(|(w, _)| w)
}

fn cloth(piece: &Piece, material: &Material, stitch: Worked) -> Cloth {
    let m = material.membrane(stitch);
    let own = worked(piece).iter().position(|w| *w == stitch);
    let area = material.width_of(stitch).to_m() * material.height_of(stitch).to_m();
    let length = own.map(|at| yarn::by_stitch(piece, material)[at]);
    let grams = material.tex().zip(length).map(|(tex, l)| tex * l.to_m() / 1000.0 / area);
    Cloth {
        membrane: Cloth::law([m.e1, m.e2], m.nu12, m.g, m.squeeze),
        bending: material.bending(stitch),
        twist: material.twist(),
        mass: grams.unwrap_or_else(|| material.areal_mass_default()) / 1000.0,
    }
}

fn strip(cloth: &Cloth, degrees: f64) -> Result<OffAxis, NotSettled> {
    let angle = degrees.to_radians();
    let pulled = cloth.pull(angle, PULL)?;
    let b = cloth.rigidity(angle);
    Ok(OffAxis {
        angle: Angle::radians(angle),
        modulus: PULL / pulled.stretch,
        stretch: Length::m(0.2 * pulled.stretch),
        narrowing: pulled.narrowing,
        lean: Angle::radians(pulled.lean),
        overhang: Length::m(cloth.overhang(b)?),
        heart: Length::m(cloth.heart(b, LOOP)?),
    })
}
