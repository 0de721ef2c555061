//! How blocking allowances compare.

use std::ops::ControlFlow;
use std::sync::Mutex;

use rayon::prelude::*;

use super::flat::{Failure, Options, Refused, Run, Step, not_laid, run, teller};
use super::{Assumption, Prediction};
use crate::fabric::Fabric;
use crate::material::Fibre;
use crate::material::Material;
use crate::material::preset;
use crate::measure::Measurements;
use crate::measure::measure;
use crate::measure::minimum_zone;
use crate::measure::row_label;
use crate::pattern::Header;
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
use crate::stitches::Craft;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;

/// How far to pin out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowance {
    /// Per cent along the rows and square to them.
    PerCent([f64; 2]),
    /// To a size along the rows and along the edges; the slant, or the washed piece's own.
    Size(Length, Length, Option<Angle>),
    /// To a size across, of a piece in closed rounds.
    Across(Length),
}

/// What holds the edges of a piece out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum HeldOut {
    /// Pins at most so far apart.
    Pins(Length),
    /// Pins every 8 cm, on a small piece at least two between the ends of a side (common practice, no source).
    UsualPins,
    /// Wires through every stitch of the sides.
    Wires,
}

impl HeldOut {
    /// Of a piece that is `small` across at its smallest.
    pub(super) fn hold(self, small: Length) -> Hold {
        match self {
            Self::Pins(apart) => Hold::Pins(apart.to_m()),
            Self::UsualPins => Hold::Pins(f64::min(0.08, small.to_m() / 3.0)),
            Self::Wires => Hold::Wires,
        }
    }
}

/// What to try.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockPlan {
    /// One trial each.
    pub allowances: Vec<Allowance>,
    /// What holds the edges out.
    pub held: HeldOut,
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
    /// Largest strain of a cell as a share of that at which its loops lock.
    pub towards_locking: f64,
    /// Where that is: "row 12, along the rows".
    pub locks_first: String,
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

/// Lays the piece, then blocks it by each allowance, several at a time; the trials do not depend on how many.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn block(
    source: &Source,
    options: &Options,
    plan: &BlockPlan,
    progress: &mut (dyn FnMut(Step) -> ControlFlow<()> + Send),
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
    let (set, assumptions) = setting(plan, &run.header, &run.material, options).map_err(fail)?;
    for allowance in &plan.allowances {
        pinnable(allowance, &run).map_err(fail)?;
    }
    let told = Mutex::new(progress);
    let tried: Vec<Result<Trial, Failure>> = plan
        .allowances
        .par_iter()
        .map(|allowance| tried(&run, plan, set, allowance, &told))
        .collect();
    let trials = tried.into_iter().collect::<Result<_, _>>().map_err(fail)?;
    Ok(Blocks { washed: run.prediction, trials, set, assumptions })
}

/// Share of the stretch that dries in, and what it and the locking strain rest on.
pub(super) fn setting(
    plan: &BlockPlan,
    header: &Header,
    material: &Material,
    options: &Options,
) -> Result<(f64, Vec<Assumption>), Failure> {
    let fibre = fibre(plan, header);
    let key = format!("blocking.set.{fibre}");
    let Some(entry) = preset(&key) else { return Err(Failure::Fibre(fibre)) };
    // The command line prevails over the page.
    let stated = super::material::stated(header);
    let own = |key: &str| {
        stated.iter().chain(&options.overrides).rfind(|o| o.key == key).map(|o| o.value)
    };
    let set = plan.set.or_else(|| own(&key)).unwrap_or(entry.value);
    let mut assumptions =
        vec![basis(&format!("share of the pinned stretch that dries in ({fibre})"), &key, set)];
    assumptions.extend(locking(material));
    Ok((set, assumptions))
}

/// Whoever waits, told by several at a time.
pub(super) type Told<'a> = Mutex<&'a mut (dyn FnMut(Step) -> ControlFlow<()> + Send)>;

/// Passes a step on.
pub(super) fn tell(told: &Told, step: Step) -> ControlFlow<()> {
    match told.lock() {
        Ok(mut progress) => progress(step),
        Err(_) => ControlFlow::Break(()),
    }
}

/// Blocks the piece by one allowance, and soaks it again.
fn tried(
    run: &Run,
    plan: &BlockPlan,
    set: f64,
    allowance: &Allowance,
    told: &Told,
) -> Result<Trial, Failure> {
    let washed = &run.prediction.measured;
    let chord = |side: usize| washed.edges[side].chord.to_mm();
    let small = Length::mm(washed.along_rows.mean.to_mm().min(0.5 * (chord(0) + chord(1))));
    let blocking = Blocking { target: target(allowance, washed), hold: plan.held.hold(small), set };
    let mut tell = |step| tell(told, step);
    let settings = Settings::default();
    let failed = |fault| not_laid(&run.piece, fault);
    let done =
        crate::state::block(&run.fabric, &run.laid, &blocking, &settings, &mut teller(&mut tell))
            .map_err(failed)?;
    let soaked =
        soak(&run.fabric, &done.released, &settings, &mut teller(&mut tell)).map_err(failed)?;
    let shapes = [&done.pinned, &done.released, &soaked.shape];
    trial(run, allowance, &done, shapes).ok_or(Failure::NoRows)
}

/// What the strains at which loops lock rest on.
pub(super) fn locking(material: &Material) -> impl Iterator<Item = Assumption> {
    material.locking_provenance().into_iter().map(|p| Assumption {
        what: p.what,
        value: p.value,
        source: p.source,
        assumed: p.assumed,
    })
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

fn fibre(plan: &BlockPlan, header: &Header) -> String {
    let stated = || header.yarns.iter().find_map(|y| y.fibre.clone());
    let words = plan.fibre.clone().or_else(stated).unwrap_or_else(|| "wool".into()).to_lowercase();
    // Fibres without a preset of their own set as their nearest relative does.
    match Fibre::from_words(&words) {
        None => words,
        Some(Fibre::Mohair | Fibre::Cashmere) => Fibre::Alpaca.name().into(),
        Some(Fibre::Hemp) => Fibre::Linen.name().into(),
        Some(fibre) => fibre.name().into(),
    }
}

/// Refuses a stretch of the whole piece at which stitches of every kind would be locked.
fn pinnable(allowance: &Allowance, run: &Run) -> Result<(), Failure> {
    let washed = &run.prediction;
    let [left, right] = &washed.measured.edges;
    let stretch = match *allowance {
        Allowance::PerCent(both) => both.map(|p| p / 100.0),
        Allowance::Size(along, edge, _) => [
            along / washed.measured.along_rows.mean - 1.0,
            edge / ((left.chord + right.chord) / 2.0) - 1.0,
        ],
        Allowance::Across(size) => {
            let size = washed.units.length(size);
            return Err(asked(format!(
                "one size, {size}, fits a piece in closed rounds; this one has rows: expected WIDTHxLENGTH, \
                 along the rows by along the edges, as in --to 32x200cm"
            )));
        }
    };
    let craft = run.material.craft();
    unlocked(craft, &run.fabric, stretch, &|| words(allowance, washed.units))
}

/// The refusal of something asked for.
pub(super) fn asked(what: impl Into<String>) -> Failure {
    Failure::NotLaid { fault: NotLaid::Asked { what: what.into() }, near: None }
}

/// Refuses a stretch along the rows and up the columns at which stitches of every kind would be locked.
pub(super) fn unlocked(
    craft: Craft,
    fabric: &Fabric,
    stretch: [f64; 2],
    words: &dyn Fn() -> String,
) -> Result<(), Failure> {
    let group = match craft {
        Craft::Crochet => "crochet",
        Craft::Knit => "knit",
    };
    for (axis, way) in [(0, "along"), (1, "up")] {
        let laws = fabric.body.membranes.iter();
        let locking = laws.map(|m| m.locking[axis]).fold(0.0, f64::max);
        if stretch[axis] >= locking {
            return Err(Failure::Pins {
                words: words(),
                stretch: 100.0 * stretch[axis],
                locking: 100.0 * locking,
                preset: format!("{group}.locking.{way}"),
            });
        }
    }
    Ok(())
}

fn target(allowance: &Allowance, washed: &Measurements) -> Target {
    match *allowance {
        Allowance::PerCent([a, b]) => Target::Stretch([a / 100.0, b / 100.0]),
        Allowance::Size(along, edge, slant) => {
            let [left, right] = &washed.edges;
            let own = (left.slant + right.slant) / 2.0;
            Target::Size([along.to_m(), edge.to_m(), slant.unwrap_or(own).to_radians()])
        }
        Allowance::Across(size) => Target::Size([size.to_m(), size.to_m(), 0.0]),
    }
}

fn trial(run: &Run, allowance: &Allowance, done: &Blocked, shapes: [&Shape; 3]) -> Option<Trial> {
    let measured = |s: &Shape| measure(&run.piece, &run.fabric, s, Vec::new());
    let strain =
        [0, 1].map(|axis| done.pinned.strains.iter().map(|s| s[axis]).fold(0.0_f64, f64::max));
    let (towards_locking, locks_first) =
        nearest_locking(&run.piece, &run.fabric, &done.pinned.strains);
    Some(Trial {
        words: words(allowance, run.prediction.units),
        pinned: measured(shapes[0])?,
        released: measured(shapes[1])?,
        rewashed: measured(shapes[2])?,
        scallop: scallop(run, done),
        strain,
        towards_locking,
        locks_first,
        pins: placing_order(done),
    })
}

/// The largest strain as a share of the cell's locking strain, and where it is.
pub(super) fn nearest_locking(
    piece: &Piece,
    fabric: &Fabric,
    strains: &[[f64; 3]],
) -> (f64, String) {
    let body = &fabric.body;
    let laws = body.quads.iter().map(|q| q.membrane);
    let laws = laws.chain(body.wedges.iter().map(|w| w.membrane));
    let laws = laws.chain(body.polygons.iter().map(|p| p.membrane));
    let tags = fabric.quad_tags.iter().chain(&fabric.wedge_tags).chain(&fabric.polygon_tags);
    let mut most = (0.0, String::new());
    for ((law, tag), strain) in laws.zip(tags).zip(strains) {
        for (axis, way) in ["along the rows", "up the columns"].into_iter().enumerate() {
            let share = strain[axis] / body.membranes[law as usize].locking[axis];
            if share > most.0 {
                most = (share, format!("{}, {way}", row_label(piece, tag.row.0)));
            }
        }
    }
    most
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
        Allowance::Across(size) => format!("to {} across", units.length(*size)),
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
pub(super) fn halving(i: usize, n: usize) -> u32 {
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
