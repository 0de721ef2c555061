//! Pieces in closed rounds, meshed whole: what a table, pins and hangers begin from.

use std::ops::ControlFlow;

use super::flat::{
    Failure, Options, Refused, Step, assumptions, gauge_state, no_oval, not_laid, palette, read,
    teller, unplaced,
};
use super::{Assumption, Solution, cautions, material};
use crate::diagnostic::Diagnostic;
use crate::fabric::Fabric;
use crate::fabric::Sizes;
use crate::material::Hand;
use crate::material::HandSettings;
use crate::material::Material;
use crate::measure::RimMeasures;
use crate::measure::measure_rim;
use crate::pattern::Header;
use crate::source::Source;
use crate::state::Laid;
use crate::state::NotLaid;
use crate::state::Rim;
use crate::state::Settings;
use crate::stitches::Piece;
use crate::units::Length;
use crate::units::UnitSystem;

/// The stages before any solving.
pub(super) struct Meshed {
    pub(super) header: Header,
    pub(super) piece: Piece,
    pub(super) material: Material,
    pub(super) hand: HandSettings,
    pub(super) sizes: Sizes,
    pub(super) fabric: Fabric,
    pub(super) title: String,
    pub(super) units: UnitSystem,
    /// Of reading and working.
    pub(super) diagnostics: Vec<Diagnostic>,
}

/// Reads, works and meshes; closed rounds are not cut open.
pub(super) fn mesh(source: &Source, options: &Options) -> Result<Meshed, Box<Refused>> {
    let reading = read(source);
    let fail =
        |failure: Failure| Box::new(Refused { failure, diagnostics: reading.diagnostics.clone() });
    let (header, piece) = (&reading.header, &reading.piece);
    no_oval(piece).map_err(fail)?;
    let made = material::material(header, piece, &options.overrides).map_err(|e| fail(e.into()))?;
    let (settings, seed) = material::hand(header, &made, options.seed);
    let hand = Hand::new(settings, seed, piece.rows.len() as u32).map_err(|e| fail(e.into()))?;
    let sizes = Sizes::new(piece, &made, &hand);
    let fabric = Fabric::whole(piece, &sizes);
    Ok(Meshed {
        title: header.title.as_ref().map_or_else(|| source.name().to_owned(), |t| t.value.clone()),
        units: options.units.unwrap_or(header.units.value),
        material: made,
        hand: settings,
        sizes,
        fabric,
        header: reading.header,
        piece: reading.piece,
        diagnostics: reading.diagnostics,
    })
}

impl Meshed {
    /// What was found out before `failure`.
    pub(super) fn refused(&self, failure: Failure) -> Box<Refused> {
        Box::new(Refused { failure, diagnostics: self.diagnostics.clone() })
    }

    /// Of reading, working and meshing.
    pub(super) fn found(&self) -> Vec<Diagnostic> {
        let mut all = self.diagnostics.clone();
        all.extend(unplaced(&self.piece, &self.fabric));
        all
    }

    /// What the sizes of the stitches rest on.
    pub(super) fn rests(&self) -> Vec<Assumption> {
        assumptions(&self.piece, &self.material, &self.header, self.units)
    }
}

/// A piece in closed rounds, lying flat.
#[derive(Debug, Clone, PartialEq)]
pub struct LaidRounds {
    /// Title of the pattern, or the source's name.
    pub title: String,
    /// The user's units.
    pub units: UnitSystem,
    /// State the sizes are in.
    pub gauge_state: String,
    /// Faults, doubts and choices.
    pub diagnostics: Vec<Diagnostic>,
    /// What it measures.
    pub measured: RimMeasures,
    /// Corners that it has; none where it is round.
    pub corners: usize,
    /// Colours as the pattern names them.
    pub colours: Vec<String>,
    /// Display colour per colour index of the piece, invented when not stated.
    pub palette: Vec<[u8; 3]>,
    /// Numbers it rests on.
    pub assumptions: Vec<Assumption>,
    /// Cautions that belong to this piece.
    pub cautions: Vec<String>,
    /// The solve in the plane.
    pub solution: Solution,
}

/// A piece laid whole in the plane, with what the stages made on the way.
pub(super) struct Whole {
    pub(super) meshed: Meshed,
    pub(super) laid: Laid,
    pub(super) rim: Rim,
    pub(super) told: LaidRounds,
}

/// True where the page is worked in closed rounds throughout: [`super::block_rounds`] and
/// [`super::hang_rounds`] take it, not [`super::block`] and [`super::hang`].
pub fn in_rounds(source: &Source) -> bool {
    read(source).piece.all_rounds()
}

/// Lays a piece in closed rounds whole in the plane; `tube` says what fits a piece without a middle.
pub(super) fn whole(
    source: &Source,
    options: &Options,
    tube: &str,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Whole, Box<Refused>> {
    let _ = progress(Step::Working);
    let meshed = mesh(source, options)?;
    if meshed.fabric.rings.is_empty() {
        let what = format!("closed: worked in rounds without a middle it lies double; {tube}");
        let fault = NotLaid::Asked { what };
        return Err(meshed.refused(Failure::NotLaid { fault, near: None }));
    }
    let _ = progress(Step::Meshing(meshed.piece.stitches.len() as u32));
    let stop = |fault| meshed.refused(not_laid(&meshed.piece, fault));
    let fabric = &meshed.fabric;
    let mut laid = crate::state::lay_rounds(fabric, &Settings::default(), &mut teller(progress))
        .map_err(stop)?;
    let lines = crate::fabric::corners(&meshed.piece);
    let rim = Rim::of(fabric, &laid.shape, lines).map_err(stop)?;
    rim.upright(&mut laid.shape);
    let measured = measure_rim(&meshed.piece, fabric, &laid.shape, &rim)
        .ok_or_else(|| meshed.refused(Failure::NoRows))?;
    let told = told(&meshed, &laid, &rim, measured);
    Ok(Whole { meshed, laid, rim, told })
}

fn told(meshed: &Meshed, laid: &Laid, rim: &Rim, measured: RimMeasures) -> LaidRounds {
    let reach = Length::mm(measured.across.most.to_mm());
    LaidRounds {
        title: meshed.title.clone(),
        units: meshed.units,
        gauge_state: gauge_state(&meshed.header),
        diagnostics: meshed.found(),
        corners: rim.corners.len(),
        colours: meshed.piece.colours.clone(),
        palette: palette(&meshed.header, &meshed.piece),
        assumptions: meshed.rests(),
        cautions: cautions::cautions(&meshed.piece, &meshed.title, reach),
        solution: super::rounds::solution(&meshed.fabric, laid.outcome),
        measured,
    }
}
