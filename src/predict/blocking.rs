//! How blocking allowances compare.

use std::ops::ControlFlow;

use super::flat::{Failure, Options, Refused, Run, Step, not_laid, run, teller};
use super::{Assumption, Prediction};
use crate::material::Fibre;
use crate::material::preset;
use crate::measure::Measurements;
use crate::measure::measure;
use crate::measure::minimum_zone;
use crate::source::Source;
use crate::state::Blocked;
use crate::state::Blocking;
use crate::state::Hold;
use crate::state::NotLaid;
use crate::state::Settings;
use crate::state::Shape;
use crate::state::SideOf;
use crate::state::Target;
use crate::state::soak;
use crate::units::Angle;
use crate::units::Length;

/// How far to pin out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowance {
    /// Per cent along the rows and square to them.
    PerCent([f64; 2]),
    /// To a size along the rows and along the edges; the slant, or the washed piece's own.
    Size(Length, Length, Option<Angle>),
}

/// What to try.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockPlan {
    /// One trial each.
    pub allowances: Vec<Allowance>,
    /// Pins at most so far apart; none for wires through every stitch of the sides.
    pub spacing: Option<Length>,
    /// Fibre, for the share of the stretch that dries in; none: the pattern's own, else wool.
    pub fibre: Option<String>,
    /// That share itself, when it was measured.
    pub set: Option<f64>,
}

/// A pin, in the order one would place them: corners, then halves, then the rest.
#[derive(Debug, Clone, PartialEq)]
pub struct PinPoint {
    /// Side, e.g. "right edge, from the foundation".
    pub side: String,
    /// Distance from the side's first corner.
    pub along: Length,
}

/// One way of blocking, and what comes of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Trial {
    /// "5 % along the rows, 3 % square to them".
    pub words: String,
    /// Under its pins.
    pub pinned: Measurements,
    /// Unpinned.
    pub released: Measurements,
    /// After the next wash, laid flat without pins.
    pub rewashed: Measurements,
    /// Deepest scallop between neighbouring pins, while pinned.
    pub scallop: Length,
    /// Largest strain along rows and up columns while pinned.
    pub strain: [f64; 2],
    /// The larger of them as a share of the strain at which stitches lock.
    pub towards_locking: f64,
    /// The pins.
    pub pins: Vec<PinPoint>,
}

/// The washed piece and its trials.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocks {
    /// The piece laid flat after washing.
    pub washed: Prediction,
    /// In the order asked for.
    pub trials: Vec<Trial>,
    /// Share of the stretch that dries in.
    pub set: f64,
    /// Where the set and the locking strain come from.
    pub assumptions: Vec<Assumption>,
}

/// Lays the piece, then blocks it by each allowance.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn block(
    source: &Source,
    options: &Options,
    plan: &BlockPlan,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Blocks, Box<Refused>> {
    let mut run = run(source, options, progress)?;
    if options.sure {
        run.prediction.sure = super::makers::quick(&run);
    }
    let fail = |failure: Failure| {
        Box::new(Refused { failure, diagnostics: run.prediction.diagnostics.clone() })
    };
    // Closed rounds lie cut open in the plane; pinned so, they would part at the cut.
    if run.fabric.cut {
        return Err(fail(Failure::NotLaid { fault: NotLaid::Closed, near: None }));
    }
    let fibre = fibre(plan, &run);
    let key = format!("blocking.set.{fibre}");
    let Some(entry) = preset(&key) else { return Err(fail(Failure::Fibre(fibre))) };
    // The command line prevails over the page.
    let stated = super::material::stated(&run.header);
    let own = |key: &str| {
        stated.iter().chain(&options.overrides).rfind(|o| o.key == key).map(|o| o.value)
    };
    let set = plan.set.or_else(|| own(&key)).unwrap_or(entry.value);
    let mut assumptions =
        vec![basis(&format!("share of the pinned stretch that dries in ({fibre})"), &key, set)];
    let locking =
        own("blocking.locking_strain").unwrap_or_else(|| value("blocking.locking_strain"));
    assumptions.push(basis("strain at which stitches lock", "blocking.locking_strain", locking));
    let mut trials = Vec::new();
    for allowance in &plan.allowances {
        pinnable(allowance, &run.prediction, locking).map_err(fail)?;
        let blocking = Blocking {
            target: target(allowance, &run.prediction.measured),
            hold: plan.spacing.map_or(Hold::Wires, |s| Hold::Pins(s.to_m())),
            set,
        };
        let settings = Settings::default();
        let done = crate::state::block(
            &run.fabric,
            &run.laid,
            &blocking,
            &settings,
            &mut teller(progress),
        )
        .map_err(|fault| fail(not_laid(&run.piece, fault)))?;
        let soaked = soak(&run.fabric, &done.released, &settings, &mut teller(progress))
            .map_err(|fault| fail(not_laid(&run.piece, fault)))?;
        let shapes = [&done.pinned, &done.released, &soaked.shape];
        let trial = trial(&run, allowance, &done, shapes, locking);
        trials.push(trial.ok_or_else(|| fail(Failure::NoRows))?);
    }
    Ok(Blocks { washed: run.prediction, trials, set, assumptions })
}

fn value(key: &str) -> f64 {
    preset(key).map_or(f64::NAN, |p| p.value)
}

fn basis(what: &str, key: &str, used: f64) -> Assumption {
    let entry = preset(key);
    let own = entry.is_none_or(|p| p.value != used);
    Assumption {
        what: what.into(),
        value: format!("{used}"),
        source: match entry {
            Some(p) if !own => p.source.clone(),
            _ => "set by the user".into(),
        },
        assumed: !own && entry.is_some_and(crate::material::Preset::assumed),
    }
}

fn fibre(plan: &BlockPlan, run: &Run) -> String {
    let stated = || run.header.yarns.iter().find_map(|y| y.fibre.clone());
    let words = plan.fibre.clone().or_else(stated).unwrap_or_else(|| "wool".into()).to_lowercase();
    // Fibres without a preset of their own set as their nearest relative does.
    match Fibre::from_words(&words) {
        None => words,
        Some(Fibre::Mohair | Fibre::Cashmere) => Fibre::Alpaca.name().into(),
        Some(Fibre::Hemp) => Fibre::Linen.name().into(),
        Some(fibre) => fibre.name().into(),
    }
}

/// Refuses a stretch of the whole piece at which every stitch would be locked.
fn pinnable(allowance: &Allowance, washed: &Prediction, locking: f64) -> Result<(), Failure> {
    let [left, right] = &washed.measured.edges;
    let stretch = match *allowance {
        Allowance::PerCent(both) => both.map(|p| p / 100.0),
        Allowance::Size(along, edge, _) => [
            along / washed.measured.along_rows.mean - 1.0,
            edge / ((left.chord + right.chord) / 2.0) - 1.0,
        ],
    };
    let most = stretch[0].max(stretch[1]);
    if most < locking {
        return Ok(());
    }
    let words = words(allowance, washed.units);
    Err(Failure::Pins { words, stretch: 100.0 * most, locking: 100.0 * locking })
}

fn target(allowance: &Allowance, washed: &Measurements) -> Target {
    match *allowance {
        Allowance::PerCent([a, b]) => Target::Stretch([a / 100.0, b / 100.0]),
        Allowance::Size(along, edge, slant) => {
            let [left, right] = &washed.edges;
            let own = (left.slant + right.slant) / 2.0;
            Target::Size([along.to_m(), edge.to_m(), slant.unwrap_or(own).to_radians()])
        }
    }
}

fn trial(
    run: &Run,
    allowance: &Allowance,
    done: &Blocked,
    shapes: [&Shape; 3],
    locking: f64,
) -> Option<Trial> {
    let measured = |s: &Shape| measure(&run.piece, &run.fabric, s, Vec::new());
    let strain =
        [0, 1].map(|axis| done.pinned.strains.iter().map(|s| s[axis]).fold(0.0_f64, f64::max));
    Some(Trial {
        words: words(allowance, run.prediction.units),
        pinned: measured(shapes[0])?,
        released: measured(shapes[1])?,
        rewashed: measured(shapes[2])?,
        scallop: scallop(run, done),
        strain,
        towards_locking: strain[0].max(strain[1]) / locking,
        pins: placing_order(done),
    })
}

fn words(allowance: &Allowance, units: crate::units::UnitSystem) -> String {
    match allowance {
        Allowance::PerCent([a, b]) if a == b => format!("{a} % each way"),
        Allowance::PerCent([a, b]) => format!("{a} % along the rows, {b} % square to them"),
        Allowance::Size(along, edge, _) => {
            format!(
                "to {} along the rows by {} along the edges",
                units.length(*along),
                units.length(*edge)
            )
        }
    }
}

/// Deepest local straightness of an edge between neighbouring pins, under the pins.
fn scallop(run: &Run, done: &Blocked) -> Length {
    let pinned: std::collections::BTreeSet<u32> = done.pins.iter().map(|p| p.node).collect();
    let mut deepest = 0.0_f64;
    for side in 0..2 {
        let mut run_of: Vec<[f64; 2]> = Vec::new();
        for ends in run.fabric.row_ends.iter().flatten() {
            let node = ends[side];
            run_of.push(done.pinned.positions[node as usize]);
            if pinned.contains(&node) {
                deepest = deepest.max(minimum_zone(&run_of).map_or(0.0, |z| z.width));
                run_of = vec![done.pinned.positions[node as usize]];
            }
        }
    }
    Length::m(deepest)
}

fn placing_order(done: &Blocked) -> Vec<PinPoint> {
    let name = |side| match side {
        SideOf::Foundation => "foundation, from its left end",
        SideOf::Right => "right edge, from the foundation",
        SideOf::LastRow => "last row, from its right end",
        SideOf::Left => "left edge, from the last row",
    };
    let mut rounds: Vec<(u32, SideOf, f64)> = Vec::new();
    for side in [SideOf::Foundation, SideOf::Right, SideOf::LastRow, SideOf::Left] {
        let on: Vec<f64> = done.pins.iter().filter(|p| p.side == side).map(|p| p.along).collect();
        for (i, along) in on.iter().enumerate() {
            rounds.push((halving(i, on.len()), side, *along));
        }
    }
    rounds.sort_by(|a, b| (a.0, a.1).cmp(&(b.0, b.1)).then(a.2.total_cmp(&b.2)));
    rounds
        .into_iter()
        .map(|(_, side, along)| PinPoint { side: name(side).into(), along: Length::m(along) })
        .collect()
}

/// Round in which pin `i` of `n` is placed when each round halves the gaps; corners are round 0.
fn halving(i: usize, n: usize) -> u32 {
    let (mut low, mut high, mut round) = (0, n, 0);
    while i != low {
        round += 1;
        let middle = low.midpoint(high);
        if i == middle {
            return round;
        }
        if i < middle {
            high = middle
        } else {
            low = middle
        }
        if high - low <= 1 {
            return round;
        }
    }
    round
}
