//! Virtual textile tests on a fabric of one stitch: the one most of a piece is worked in, or another.

use std::collections::BTreeMap;

use super::flat::{Failure, Options, Refused, read};
use super::{Assumption, material};
use crate::diagnostic::Diagnostic;
use crate::fabric::worked;
use crate::material::Material;
use crate::material::Worked;
use crate::measure::rim_coefficient;
use crate::pattern::Terms;
use crate::source::Source;
use crate::state::Cloth;
use crate::state::NotLaid;
use crate::state::NotSettled;
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Load of a pulled strip: 50 g on 5 cm, N/m.
const PULL: f64 = 0.050 * 9.80665 / 0.05;

/// Length of the hanging strip and of the heart loop, m.
const LONG: f64 = 1.0;
const LOOP: f64 = 0.2;

/// Discs and specimen of the drape test, m (ISO 9073-9).
const DISC: f64 = 0.09;
const ROUND: f64 = 0.15;

/// What to test.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Tests {
    /// Angles of the strips to the rows, degrees.
    pub angles: Vec<f64>,
    /// Stitch of the fabric, in the pattern's own terms; none: the one most of it is worked in.
    pub stitch: Option<String>,
}

/// How a round specimen of 30 cm drapes over a disc of 18 cm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drape {
    /// Drape coefficient, a share.
    pub coefficient: f64,
    /// Folds of its rim.
    pub folds: u32,
}

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
    ///
    /// None where the solver did not settle: a loop many bending lengths long hangs all but straight.
    pub heart: Option<Length>,
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
    /// By angle of the cut to the rows; where one did not settle, how far the solver came.
    pub strips: Vec<(Angle, Result<OffAxis, NotSettled>)>,
    /// Growth of a strip of 1 m hung with its columns upright.
    pub growth: Length,
    /// How it drapes, or how far the solver came.
    pub drape: Result<Drape, NotSettled>,
    /// What it rests on.
    pub assumptions: Vec<Assumption>,
    /// Faults, doubts and choices.
    pub diagnostics: Vec<Diagnostic>,
}

/// Tests a fabric of one stitch in the pattern's gauge and yarn.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn specimen(
    source: &Source,
    options: &Options,
    tests: &Tests,
) -> Result<Specimen, Box<Refused>> {
    let reading = read(source);
    let fail = |failure| Box::new(Refused { failure, diagnostics: reading.diagnostics.clone() });
    let piece = &reading.piece;
    let material = material::material(&reading.header, piece, &options.overrides)
        .map_err(|fault| fail(Failure::Material(fault)))?;
    let stitch = match &tests.stitch {
        Some(name) => material::stitch_words(name, reading.header.terms.value, piece.craft)
            .ok_or_else(|| fail(unknown(name, reading.header.terms.value, piece.craft)))?,
        None => main_stitch(piece).ok_or_else(|| fail(Failure::NoRows))?,
    };
    let units = options.units.unwrap_or(reading.header.units.value);
    let cloth = cloth(&material, stitch);
    let unsettled = |fault| {
        fail(Failure::NotLaid { fault: NotLaid::Unsettled { fault, near: None }, near: None })
    };
    let mut strips = Vec::new();
    for degrees in &tests.angles {
        strips.push((Angle::degrees(*degrees), strip(&cloth, *degrees)));
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
        drape: drape(&cloth),
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

fn cloth(material: &Material, stitch: Worked) -> Cloth {
    let m = material.membrane(stitch);
    let area = material.width_of(stitch).to_m() * material.height_of(stitch).to_m();
    let length = material.yarn_of(stitch);
    let mut membrane = Cloth::law([m.e1, m.e2], m.nu12, m.g, m.squeeze);
    membrane.locking = m.locking;
    let grams = material.tex().map(|tex| tex * length.to_m() / 1000.0 / area);
    Cloth {
        membrane,
        bending: material.bending(stitch),
        twist: material.twist(),
        mass: grams.unwrap_or_else(|| material.areal_mass_default()) / 1000.0,
    }
}

fn unknown(name: &str, terms: Terms, craft: Craft) -> Failure {
    let names = match (craft, terms) {
        (Craft::Knit, _) => "stockinette, garter, rib or seed",
        (Craft::Crochet, Terms::Uk) => "dc, htr, tr, dtr or trtr (the pattern is in UK terms)",
        (Craft::Crochet, Terms::Us) => "sc, hdc, dc, tr or dtr (the pattern is in US terms)",
    };
    Failure::Stitch { name: name.to_owned(), names }
}

fn drape(cloth: &Cloth) -> Result<Drape, NotSettled> {
    let draped = cloth.drape(DISC, ROUND)?;
    let at = |n: u32| draped.positions[n as usize];
    let fallen: Vec<[[f64; 2]; 4]> =
        draped.cells.iter().map(|c| c.map(|n| [at(n)[0], at(n)[1]])).collect();
    let coefficient = rim_coefficient(fallen.iter().map(|c| &c[..]), DISC, ROUND);
    Ok(Drape { coefficient, folds: draped.folds })
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
        heart: cloth.heart(b, LOOP).ok().map(Length::m),
    })
}
