//! How blocking allowances compare for a piece worked in rounds from its middle.

use std::ops::ControlFlow;
use std::sync::Mutex;

use rayon::prelude::*;

use super::blocking::{Told, asked, halving, nearest_locking, setting, tell, unlocked};
use super::flat::{Failure, Options, Refused, Step, not_laid, teller};
use super::hanging::in_space;
use super::rounds::AT_ONCE;
use super::whole::{LaidRounds, Whole, whole};
use super::{Allowance, Assumption, BlockPlan, HeldOut};
use crate::fabric::Fabric;
use crate::measure::RimMeasures;
use crate::measure::measure_rim;
use crate::source::Source;
use crate::state::InSpace;
use crate::state::Laid;
use crate::state::LetGo;
use crate::state::NotLaid;
use crate::state::RimBlocked;
use crate::state::RimBlocking;
use crate::state::RimPin;
use crate::state::RimTarget;
use crate::state::Settings;
use crate::state::Shape;
use crate::state::soak;
use crate::units::Angle;
use crate::units::Length;

const TUBE: &str = "expected rounds worked from a ring outwards, or rows. A tube is pinned flat as two layers, or \
                    dried over a form of the wanted girth; `lay` tells how wide it lies";

/// A pin at the edge, in the order one would place them: opposite pairs, then halves between.
#[derive(Debug, Clone, PartialEq)]
pub struct RimPinPoint {
    /// "corner 2", "side 2, from corner 2", "edge".
    pub place: String,
    /// Distance along the pinned edge from that corner, or from the first pin of a circle.
    pub along: Length,
    /// Turn about the middle from the first pin, counter-clockwise.
    pub turn: Angle,
    /// Where it stands, mm, the middle of the piece at the origin.
    pub at: [f64; 2],
}

/// How far a piece stands off a table that it is laid on.
#[derive(Debug, Clone, PartialEq)]
pub enum StandsOff {
    /// At most so far.
    Rise(Length),
    /// It came to no rest there, and why.
    Unsettled(String),
    /// A large piece takes minutes, so it is not solved for.
    NotAsked,
}

/// One way of blocking, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundTrial {
    /// "5 % all ways", "to 40.0 cm across".
    pub words: String,
    /// Under its pins.
    pub pinned: RimMeasures,
    /// Unpinned.
    pub released: RimMeasures,
    /// After the next wash, laid flat without pins.
    pub rewashed: RimMeasures,
    /// Deepest that the edge falls back between two pins.
    pub scallop: Length,
    /// Largest strain along the rounds and up the columns while pinned.
    pub strain: [f64; 2],
    /// Largest strain of a cell as a share of that at which its loops lock.
    pub towards_locking: f64,
    /// Where that is: "row 12, along the rows".
    pub locks_first: String,
    /// The pins.
    pub pins: Vec<RimPinPoint>,
    /// Unpinned, on a table.
    pub stands: StandsOff,
}

/// The washed piece and its trials.
#[derive(Debug, Clone, PartialEq)]
pub struct RoundBlocks {
    /// The piece laid flat after washing.
    pub washed: LaidRounds,
    /// The same on a table.
    pub stands: StandsOff,
    /// In the order asked for.
    pub trials: Vec<RoundTrial>,
    /// The sides are on wires, not pins.
    pub wires: bool,
    /// Share of the stretch that dries in.
    pub set: f64,
    /// Where the set, the locking strain and the weight come from.
    pub assumptions: Vec<Assumption>,
}

/// Lays a piece in closed rounds whole, then blocks it by each allowance, several at a time.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far; a tube has no edge to pin out.
pub fn block_rounds(
    source: &Source,
    options: &Options,
    plan: &BlockPlan,
    progress: &mut (dyn FnMut(Step) -> ControlFlow<()> + Send),
) -> Result<RoundBlocks, Box<Refused>> {
    let found = whole(source, options, TUBE, progress)?;
    let meshed = &found.meshed;
    let fail = |failure| meshed.refused(failure);
    let (set, mut assumptions) =
        setting(plan, &meshed.header, &meshed.material, options).map_err(fail)?;
    let asked: Vec<RimTarget> = plan
        .allowances
        .iter()
        .map(|allowance| pinnable(allowance, &found))
        .collect::<Result<_, _>>()
        .map_err(fail)?;
    let (space, _, rests) = in_space(&meshed.piece, &meshed.material, &meshed.fabric, options, 0.0);
    assumptions.extend(rests);
    assumptions.extend(super::hanging::basis(options, "table.friction"));
    let told = Mutex::new(progress);
    let tried: Vec<Result<RoundTrial, Failure>> = plan
        .allowances
        .par_iter()
        .zip(asked)
        .map(|(allowance, target)| {
            let hold = plan.held.hold(found.told.measured.across.mean);
            let blocking = RimBlocking { target, hold, set };
            tried(&found, allowance, &blocking, &space, &told)
        })
        .collect();
    let trials = tried.into_iter().collect::<Result<_, _>>().map_err(fail)?;
    let stands = stands(&found, &meshed.fabric, &found.laid, &space, &told).map_err(fail)?;
    let wires = plan.held == HeldOut::Wires;
    Ok(RoundBlocks { washed: found.told, stands, trials, wires, set, assumptions })
}

/// How far out an allowance asks the edge to be pinned.
fn pinnable(allowance: &Allowance, found: &Whole) -> Result<RimTarget, Failure> {
    let washed = found.told.measured.across.mean;
    let units = found.told.units;
    let target = match *allowance {
        Allowance::PerCent([along, up]) if along == up => RimTarget::Stretch(along / 100.0),
        Allowance::PerCent([along, up]) => {
            return Err(asked(format!(
                "{along} % along the rounds and {up} % out from the middle cannot both be: a flat round is as \
                 long as it lies far out; expected one allowance, as in --allow {along}"
            )));
        }
        Allowance::Across(size) => RimTarget::Across(size.to_m()),
        Allowance::Size(a, b, _) if (a.to_mm() - b.to_mm()).abs() < 1e-6 => {
            RimTarget::Across(a.to_m())
        }
        Allowance::Size(a, b, _) => {
            return Err(asked(format!(
                "{} by {}: a piece worked in rounds has one size, across it or from side to side; expected \
                 e.g. --to {}",
                units.length(a),
                units.length(b),
                units.length(a).replace(' ', "")
            )));
        }
    };
    let stretch = match target {
        RimTarget::Stretch(e) => e,
        RimTarget::Across(wide) => wide / washed.to_m() - 1.0,
    };
    unlocked(found.meshed.material.craft(), &found.meshed.fabric, [stretch; 2], &|| {
        said(allowance, found)
    })?;
    Ok(target)
}

fn said(allowance: &Allowance, found: &Whole) -> String {
    let way = if found.rim.corners.is_empty() { "across" } else { "from side to side" };
    match allowance {
        Allowance::PerCent([e, _]) => format!("{e} % all ways"),
        Allowance::Across(size) | Allowance::Size(size, ..) => {
            format!("to {} {way}", found.told.units.length(*size))
        }
    }
}

/// Blocks the piece by one allowance, lets it go, and soaks it again.
fn tried(
    found: &Whole,
    allowance: &Allowance,
    blocking: &RimBlocking,
    space: &InSpace,
    told: &Told,
) -> Result<RoundTrial, Failure> {
    let meshed = &found.meshed;
    let (piece, fabric, rim) = (&meshed.piece, &meshed.fabric, &found.rim);
    let settings = Settings::default();
    let failed = |fault| not_laid(piece, fault);
    let mut step = |step| tell(told, step);
    let mut teller = teller(&mut step);
    let done =
        crate::state::block_rounds(fabric, &found.laid, rim, blocking, &settings, &mut teller)
            .map_err(failed)?;
    let soaked = soak(fabric, &done.released.shape, &settings, &mut teller).map_err(failed)?;
    let measured = |fabric: &Fabric, shape: &Shape| {
        measure_rim(piece, fabric, shape, rim).ok_or(Failure::NoRows)
    };
    let strain =
        [0, 1].map(|axis| done.pinned.strains.iter().map(|s| s[axis]).fold(0.0_f64, f64::max));
    let (towards_locking, locks_first) = nearest_locking(piece, fabric, &done.pinned.strains);
    Ok(RoundTrial {
        words: said(allowance, found),
        pinned: measured(fabric, &done.pinned)?,
        released: measured(&done.fabric, &done.released.shape)?,
        rewashed: measured(fabric, &soaked.shape)?,
        scallop: Length::m(done.scallop),
        strain,
        towards_locking,
        locks_first,
        pins: placing_order(found, &done),
        stands: stands(found, &done.fabric, &done.released, space, told)?,
    })
}

/// Lays it on a table under its weight.
fn stands(
    found: &Whole,
    fabric: &Fabric,
    laid: &Laid,
    space: &InSpace,
    told: &Told,
) -> Result<StandsOff, Failure> {
    if found.meshed.piece.stitches.len() > AT_ONCE {
        return Ok(StandsOff::NotAsked);
    }
    let rub = found.meshed.material.friction();
    let mut step = |step| tell(told, step);
    let mut teller = teller(&mut step);
    let from = (rub, LetGo::Raised);
    match crate::state::on_table(fabric, laid, space, from, &Settings::default(), &mut teller) {
        Ok(rested) => Ok(StandsOff::Rise(Length::m(rested.rise))),
        Err(NotLaid::Unsettled { fault, .. })
            if fault.cause != crate::state::Cause::Interrupted =>
        {
            Ok(StandsOff::Unsettled(fault.to_string()))
        }
        Err(fault) => Err(not_laid(&found.meshed.piece, fault)),
    }
}

/// Pins as one would place them.
fn placing_order(found: &Whole, done: &RimBlocked) -> Vec<RimPinPoint> {
    let o = found.laid.shape.positions[found.rim.middle as usize];
    let arm = |at: [f64; 2]| [at[0] - o[0], at[1] - o[1]];
    let angle = |at: [f64; 2]| arm(at)[1].atan2(arm(at)[0]);
    let first = done.pins.first().map_or(0.0, |p| angle(p.at));
    let point = |k: usize| {
        let pin = &done.pins[k];
        let turn = (angle(pin.at) - first).rem_euclid(std::f64::consts::TAU);
        let corner = pin.side + 1;
        RimPinPoint {
            place: match (found.rim.corners.is_empty(), pin.along > 0.0) {
                (true, _) => "edge".into(),
                (false, false) => format!("corner {corner}"),
                (false, true) => format!("side {corner}, from corner {corner}"),
            },
            along: Length::m(pin.along),
            turn: Angle::radians(if k == 0 { 0.0 } else { turn }),
            at: arm(pin.at).map(|c| 1000.0 * c),
        }
    };
    in_order(&done.pins, found.rim.corners.len()).into_iter().map(point).collect()
}

/// Places of pins in the order of placing: corners first, or a first pair across a circle, opposite ones one after
/// the other; then each round of pins halves the gaps left.
fn in_order(pins: &[RimPin], corners: usize) -> Vec<usize> {
    // Which of a pair, and which pair.
    let paired = |at: usize, of: usize| match of % 2 {
        0 => (at % (of / 2), at / (of / 2)),
        _ => (at, 0),
    };
    let mut order: Vec<((u32, usize, usize, usize), usize)> = Vec::new();
    for side in 0..corners.max(1) {
        let on: Vec<usize> = (0..pins.len()).filter(|k| pins[*k].side == side).collect();
        let many = on.len();
        let key = |i: usize| match corners {
            0 => {
                let (pair, other) = paired(i, many);
                let of = if many.is_multiple_of(2) { many / 2 } else { many };
                (halving(pair, of), pair, other, 0)
            }
            _ => {
                let (pair, other) = paired(side, corners);
                (halving(i, many), pair, other, i)
            }
        };
        order.extend(on.iter().enumerate().map(|(i, k)| (key(i), *k)));
    }
    order.sort_unstable();
    order.into_iter().map(|(_, k)| k).collect()
}
