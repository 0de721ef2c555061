//! Work in closed rounds: whether it lies flat, by how much it cups or ruffles, and tubes.

use std::ops::ControlFlow;

use super::flat::{
    Failure, Options, Refused, Step, Tables, gauge_state, not_laid, palette, teller,
};
use super::hanging::{basis, cells, in_space};
use super::whole::mesh;
use super::{Assumption, HungCell, Solution, cautions, yarn};
use crate::diagnostic::Diagnostic;
use crate::fabric::Fabric;
use crate::fabric::Round;
use crate::measure::Closed;
use crate::measure::YarnUse;
use crate::measure::row_label;
use crate::source::Source;
use crate::state::LetGo;
use crate::state::NotLaid;
use crate::state::OnTable;
use crate::state::Outcome;
use crate::state::Rim;
use crate::state::Settings;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;
use crate::units::UnitSystem;

/// Most stitches of closed rounds that are rested on a table beside what is asked for, and that are raised there
/// without being asked: some seconds.
pub(super) const AT_ONCE: usize = 2500;

/// A round beside the circle, or the polygon of stacked increases, that it should fill.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundFit {
    /// The pattern's label with its section.
    pub label: String,
    /// Stitches along it.
    pub stitches: u32,
    /// Length its stitches want.
    pub length: Length,
    /// How far its top lies from the middle, or from the foundation of a tube, along the fabric.
    pub out: Length,
}

/// Heights' worth of stitches that every round of a flat piece takes: 2π for a circle, 2k tan(π/k) for a
/// polygon whose increases are stacked in k corners (perimeter over inner radius; plane geometry).
pub fn heights_a_round(corners: Option<u32>) -> f64 {
    match corners.map(f64::from) {
        Some(k) => 2.0 * k * (std::f64::consts::PI / k).tan(),
        None => std::f64::consts::TAU,
    }
}

/// On a table under its own weight.
#[derive(Debug, Clone, PartialEq)]
pub struct OnTheTable {
    /// Most that it stands off the table.
    pub rise: Length,
    /// Height of its middle over the mean of its rim.
    pub cup: Length,
    /// Least to most height along its last round.
    pub ripple: Length,
    /// Waves along its last round.
    pub waves: u32,
    /// Length of a wave along the last round.
    pub wavelength: Length,
    /// Most that it stands off the table where it is laid down flat and not lifted, and the share of that
    /// state's energy left in this one; none if it comes to no rest so.
    pub laid_down: Option<(Length, f64)>,
    /// It was let go from a raised start too.
    pub raised: bool,
    /// All cells, mm, third axis up.
    pub cells: Vec<HungCell>,
    /// How the solver got there.
    pub solution: Solution,
}

/// A piece of closed rounds.
#[derive(Debug, Clone, PartialEq)]
pub struct ClosedPiece {
    /// Title of the pattern, or the source's name.
    pub title: String,
    /// The user's units.
    pub units: UnitSystem,
    /// State the sizes are in.
    pub gauge_state: String,
    /// Faults, doubts and choices.
    pub diagnostics: Vec<Diagnostic>,
    /// Round by round, outwards or upwards.
    pub rounds: Vec<RoundFit>,
    /// Lines that its increases are stacked in; none where they are shifted, as for a circle.
    pub corners: Option<u32>,
    /// Full angle its rounds make about the middle, counted by their lengths; none for a tube.
    pub angle: Option<Angle>,
    /// How it lies cut open, where it was laid so.
    pub opened: Option<Closed>,
    /// Where it comes to rest; none for a tube.
    pub table: Option<OnTheTable>,
    /// Yarn by colour.
    pub yarn: Vec<YarnUse>,
    /// Display colour per colour index of the piece, invented when not stated.
    pub palette: Vec<[u8; 3]>,
    /// Numbers it rests on.
    pub assumptions: Vec<Assumption>,
    /// Cautions that belong to this piece.
    pub cautions: Vec<String>,
}

impl ClosedPiece {
    /// Length along a round, as far out as `fit`, of a piece that lies flat.
    pub fn flat(&self, fit: &RoundFit) -> Length {
        Length::m(heights_a_round(self.corners) * fit.out.to_m())
    }

    /// Length of a round beyond that of a flat piece; less than zero where it is short.
    pub fn over_fed(&self, fit: &RoundFit) -> Length {
        fit.length - self.flat(fit)
    }

    /// Full angle its rounds make about the middle: laid cut open, else counted by their lengths.
    pub fn turn(&self) -> Option<Angle> {
        match self.opened {
            Some(Closed::Disc { turn, .. }) => Some(turn),
            _ => self.angle,
        }
    }

    /// Half angle of the cone that rounds short of a full turn make.
    pub fn cone(&self) -> Option<Angle> {
        let share = self.turn()?.to_radians() / std::f64::consts::TAU;
        (share < 1.0).then(|| Angle::radians(share.asin()))
    }
}

/// Lays a piece of closed rounds: round by round against the flat circle, and on a table. `opened` is how
/// it lies cut open along its joins, where it has been laid so.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn rounds(
    source: &Source,
    options: &Options,
    opened: Option<Closed>,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<ClosedPiece, Box<Refused>> {
    let meshed = mesh(source, options)?;
    let (piece, fabric) = (&meshed.piece, &meshed.fabric);
    let found = crate::fabric::rounds(piece, &meshed.sizes);
    if found.is_empty() {
        return Err(meshed.refused(Failure::NotLaid { fault: NotLaid::Closed, near: None }));
    }
    let mut rests = meshed.rests();
    rests.extend(found.iter().any(|r| r.links > 0).then(spaces));
    let fits = fits(piece, &found, crate::fabric::hole(piece, &meshed.sizes));
    let in_rings = !fabric.rings.is_empty();
    let corners = crate::fabric::corners(piece).filter(|_| in_rings);
    let mut table = None;
    if in_rings {
        let (space, _, more) = in_space(piece, &meshed.material, fabric, options, 0.0);
        rests.extend(more);
        let still = Settings::default();
        let stop = |fault| meshed.refused(not_laid(piece, fault));
        let laid = crate::state::lay_rounds(fabric, &still, &mut teller(progress));
        let mut laid = laid.map_err(stop)?;
        if let Ok(rim) = Rim::of(fabric, &laid.shape, corners) {
            rim.upright(&mut laid.shape);
        }
        let rub = meshed.material.friction();
        rests.extend(basis(options, "table.friction"));
        let tell = &mut teller(progress);
        let small = piece.stitches.len() <= AT_ONCE || options.tables == Tables::All;
        let let_go = if small { LetGo::Raised } else { LetGo::LaidDown };
        let rested = crate::state::on_table(fabric, &laid, &space, (rub, let_go), &still, tell);
        table = Some(rest(piece, fabric, &rested.map_err(stop)?));
    }
    let reach = fits.iter().map(|f| f.length.to_mm().max(2.0 * f.out.to_mm())).fold(0.0, f64::max);
    Ok(ClosedPiece {
        cautions: cautions::cautions(piece, &meshed.title, Length::mm(reach / 2.0)),
        units: meshed.units,
        gauge_state: gauge_state(&meshed.header),
        diagnostics: meshed.found(),
        angle: in_rings.then(|| angle(&fits, corners)),
        opened: opened.filter(|_| in_rings),
        corners,
        rounds: fits,
        table,
        yarn: yarn::by_colour(piece, &meshed.material, meshed.hand.size()),
        palette: palette(&meshed.header, piece),
        assumptions: rests,
        title: meshed.title,
    })
}

fn fits(piece: &Piece, rounds: &[Round], hole: f64) -> Vec<RoundFit> {
    let mut out = hole;
    let fit = |round: &Round| {
        out += round.height;
        RoundFit {
            label: row_label(piece, round.row.0),
            stitches: round.stitches,
            length: Length::m(round.circumference),
            out: Length::m(out),
        }
    };
    rounds.iter().map(fit).collect()
}

fn spaces() -> Assumption {
    Assumption {
        what: "length of a space".into(),
        value: "that of its chains pulled straight".into(),
        source: "assumed: a chain that sags or is worked over takes up less, so a lacy round is told to \
                 ruffle more than the hand will see"
            .into(),
        assumed: true,
    }
}

/// Rounds that grow evenly make that angle; stacked in k corners they make 2k flat right-angled wedges, of
/// half a side over the inner radius (plane geometry).
fn angle(fits: &[RoundFit], corners: Option<u32>) -> Angle {
    let pairs: Vec<[f64; 2]> = fits.iter().map(|f| [f.length.to_m(), f.out.to_m()]).collect();
    let even = crate::state::angle(&pairs);
    Angle::radians(match corners.map(f64::from) {
        Some(k) => 2.0 * k * (even / (2.0 * k)).atan(),
        None => even,
    })
}

fn rest(piece: &Piece, fabric: &Fabric, rested: &OnTable) -> OnTheTable {
    OnTheTable {
        rise: Length::m(rested.rise),
        cup: Length::m(rested.cup),
        ripple: Length::m(rested.ripple),
        waves: rested.waves,
        wavelength: Length::m(rested.rim / f64::from(rested.waves.max(1))),
        laid_down: rested.laid_down.map(|[rise, share]| (Length::m(rise), share)),
        raised: rested.raised,
        cells: cells(piece, fabric, &rested.positions),
        solution: solution(fabric, rested.outcome),
    }
}

/// How a solve in space got there; its last step in widths of the narrowest shaping.
pub(super) fn solution(fabric: &Fabric, outcome: Outcome) -> Solution {
    let strands = fabric.body.wedges.iter().map(|w| w.strand);
    let width = strands.fold(f64::INFINITY, f64::min);
    Solution {
        residual: outcome.residual,
        last_step: if width.is_finite() { outcome.last_step / width } else { 0.0 },
        iterations: (outcome.iterations + outcome.descents) as u32,
        energy: outcome.energy,
        minimum: outcome.minimum,
    }
}
