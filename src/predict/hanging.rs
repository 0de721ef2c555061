//! How the piece hangs: growth, drop of its corners, skew under load.

use std::ops::ControlFlow;

use super::carriers::carriers;
use super::flat::{Failure, Options, Refused, Run, Step, not_laid, run, teller};
use super::{Assumption, Prediction, Solution, yarn};
use crate::fabric::CellTag;
use crate::fabric::Fabric;
use crate::fabric::Rigidity;
use crate::fabric::worked;
use crate::material::Material;
use crate::material::preset;
use crate::measure::drape_coefficient;
use crate::measure::{crossed_cells, kinds, row_label};
use crate::source::Source;
use crate::state::Hang;
use crate::state::Hung;
use crate::state::InSpace;
use crate::state::NotLaid;
use crate::state::Settings;
use crate::state::Shoulders;
use crate::state::SideOf;
use crate::stitches::Piece;
use crate::units::Angle;
use crate::units::Length;
use crate::units::Mass;
use crate::units::UnitSystem;

const MM: f64 = 1000.0;

/// Times at which growth is told, h.
pub(super) const TIMES: [(f64, &str); 3] = [(1.0, "an hour"), (24.0, "a day"), (168.0, "a week")];

/// How to hang it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HangPlan {
    /// What holds it.
    pub how: Hang,
    /// Water in it, as a share of its dry mass.
    pub water: f64,
}

/// A corner of the hung piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Corner {
    /// "foundation, left" and so on, as seen from the right side.
    pub name: &'static str,
    /// How far it lies below what holds the piece.
    pub below: Length,
    /// How much of that is stretch and sag: further down than unstretched.
    pub drop: Length,
}

/// Growth at a later time.
#[derive(Debug, Clone, PartialEq)]
pub struct Heavier {
    /// "an hour", "a day".
    pub after: &'static str,
    /// Growth along the rows and along the edges, as shares.
    pub growth: [f64; 2],
}

/// A cell in space, mm, third axis up.
#[derive(Debug, Clone, PartialEq)]
pub struct HungCell {
    /// Corners.
    pub corners: Vec<[f64; 3]>,
    /// Row it belongs to (index in `Piece::rows`).
    pub row: u32,
    /// The stitch that made it: index in `Piece::stitches`.
    pub stitch: u32,
    /// What it is worked in: index in [`crate::measure::Measurements::kinds`].
    pub kind: u16,
    /// Colour it is worked in: index in the piece's colours.
    pub colour: u16,
}

/// A row of the hung piece.
#[derive(Debug, Clone, PartialEq)]
pub struct HungRow {
    /// Pattern's label with its section.
    pub label: String,
    /// Length along the row, laid and hung.
    pub along: [Length; 2],
    /// How far its middle lies below what holds the piece.
    pub below: Length,
}

/// A hung piece beside the laid one.
#[derive(Debug, Clone, PartialEq)]
pub struct Hanging {
    /// Lying flat.
    pub laid: Prediction,
    /// How it hangs, in words.
    pub words: String,
    /// Its mass, water included.
    pub mass: Mass,
    /// Mean length along the rows, laid and hung.
    pub rows: [Length; 2],
    /// Length along the left and the right edge, laid and hung.
    pub edges: [[Length; 2]; 2],
    /// The four corners.
    pub corners: Vec<Corner>,
    /// Change of the angle between rows and columns, mean over the piece; positive where it closes.
    pub skew: Angle,
    /// Largest such change of a cell.
    pub most_skew: Angle,
    /// Width, depth and height of the hung piece.
    pub size: [Length; 3],
    /// Drape coefficient, a share, of a piece on a disc that it covers.
    pub drape: Option<f64>,
    /// Largest force on one held stitch, N.
    pub largest_pull: f64,
    /// Weight borne by the held stitches, and by what the rest lies on, N.
    pub borne: [f64; 2],
    /// Cells that another layer passes through: layers do not feel each other.
    pub crossed: u32,
    /// A wearer's shoulders carry it, back to the viewer.
    pub worn: bool,
    /// It was let go from level: no corner has a place from which to stretch.
    pub dropped: bool,
    /// Growth over time.
    pub later: Vec<Heavier>,
    /// Constants of the growth law: share per tenfold time, and hours.
    pub creep: [f64; 2],
    /// Row by row, from the foundation.
    pub by_row: Vec<HungRow>,
    /// All cells, in the order of the laid piece's.
    pub cells: Vec<HungCell>,
    /// Strain along the row, up the columns and shear (rad) of every cell.
    pub strains: Vec<[f64; 3]>,
    /// Held stitches, mm.
    pub held: Vec<[f64; 3]>,
    /// Faces of what carries the piece, mm, for pictures.
    pub carriers: Vec<Vec<[f64; 3]>>,
    /// How the solver got there.
    pub solution: Solution,
    /// What it rests on beyond the laid piece.
    pub assumptions: Vec<Assumption>,
}

impl Hanging {
    /// How much more it has grown after `hours` than at once, by the stated law.
    pub fn factor(&self, hours: f64) -> f64 {
        crept(self.creep, hours)
    }
}

/// The law of growth while hanging: a share more for each tenfold time.
pub(super) fn crept([share, from]: [f64; 2], hours: f64) -> f64 {
    1.0 + share * (1.0 + hours / from).log10()
}

/// Lays the piece, then hangs it.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far.
pub fn hang(
    source: &Source,
    options: &Options,
    plan: &HangPlan,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Hanging, Box<Refused>> {
    let mut run = run(source, options, progress)?;
    if options.sure {
        run.prediction.sure = super::makers::quick(&run);
    }
    let fail = |failure: Failure| {
        Box::new(Refused { failure, diagnostics: run.prediction.diagnostics.clone() })
    };
    // Closed rounds lie cut open in the plane; hung so, they would part at the cut.
    if run.fabric.cut {
        return Err(fail(Failure::NotLaid { fault: NotLaid::Closed, near: None }));
    }
    let (space, mass, mut assumptions) =
        in_space(&run.piece, &run.material, &run.fabric, options, plan.water);
    let settings = Settings::default();
    let hung = crate::state::hang(
        &run.fabric,
        &run.laid,
        &space,
        plan.how,
        &settings,
        &mut teller(progress),
    )
    .map_err(|fault| fail(not_laid(&run.piece, fault)))?;
    assumptions
        .extend(["hang.creep", "hang.creep_start"].iter().filter_map(|key| basis(options, key)));
    assumptions.extend(super::blocking::locking(&run.material));
    assumptions.push(friction(hung.held.len()));
    Ok(told(run, plan, &hung, mass, assumptions))
}

/// Weight and bending of the piece, and what they rest on.
pub(super) fn in_space(
    piece: &Piece,
    material: &Material,
    fabric: &Fabric,
    options: &Options,
    water: f64,
) -> (InSpace, Mass, Vec<Assumption>) {
    let grounds = worked(piece);
    let lengths = yarn::by_stitch(piece, material);
    let mut assumptions = Vec::new();
    let grams: Vec<f64> = match material.tex() {
        Some(tex) => lengths.iter().map(|l| tex * l.to_m() / 1000.0).collect(),
        None => {
            assumptions.extend(basis(options, "yarn.areal_mass"));
            let area = |w| material.width_of(w).to_m() * material.height_of(w).to_m();
            grounds.iter().map(|w| material.areal_mass_default() * area(*w)).collect()
        }
    };
    let kilos: Vec<f64> = grams.iter().map(|g| g / 1000.0 * (1.0 + water)).collect();
    assumptions.extend(bending_basis(material, options));
    let rigidity = Rigidity {
        bending: grounds.iter().map(|w| material.bending(*w)).collect(),
        twist: material.twist(),
    };
    let masses = fabric.node_masses(piece, &kilos);
    let mass = Mass::grams(kilos.iter().sum::<f64>() * 1000.0);
    (InSpace { rigidity, masses }, mass, assumptions)
}

/// What contact takes for friction; so many stitches cannot slip.
pub(super) fn friction(held: usize) -> Assumption {
    Assumption {
        what: "friction in contact".into(),
        value: format!(
            "no coefficient: {held} stitches held as by friction without limit, all others slide without any"
        ),
        source: "assumed: no coefficient of hand-made fabric on wood, cloth or itself was found; real pieces \
                 lie between the two"
            .into(),
        assumed: true,
    }
}

/// What bending and twisting rest on.
pub(super) fn bending_basis(material: &Material, options: &Options) -> Vec<Assumption> {
    let craft = match material.craft() {
        crate::stitches::Craft::Crochet => "crochet",
        crate::stitches::Craft::Knit => "knit",
    };
    let keys = [format!("{craft}.bending.along"), format!("{craft}.bending.up")];
    let all = keys.iter().map(String::as_str).chain(["bending.twist"]);
    all.filter_map(|key| basis(options, key)).collect()
}

pub(super) fn basis(options: &Options, key: &str) -> Option<Assumption> {
    let entry = preset(key)?;
    let own = options.overrides.iter().rev().find(|o| o.key == key).map(|o| o.value);
    Some(Assumption {
        what: entry.used_by.clone(),
        value: format!("{} {}", own.unwrap_or(entry.value), entry.unit),
        source: own.map_or_else(|| entry.source.clone(), |_| "set by the user".into()),
        assumed: own.is_none() && entry.assumed(),
    })
}

fn told(
    run: Run,
    plan: &HangPlan,
    hung: &Hung,
    mass: Mass,
    assumptions: Vec<Assumption>,
) -> Hanging {
    let fabric = &run.fabric;
    let flat: Vec<[f64; 3]> = run.laid.shape.positions.iter().map(|p| [p[0], p[1], 0.0]).collect();
    let rows = [&flat, &hung.positions].map(|x| mean_row(fabric, x));
    let edges = [0, 1].map(|side| [&flat, &hung.positions].map(|x| edge(fabric, x, side)));
    let [skew, most_skew] = shear(&run, hung);
    let creep = run.material.creep();
    let later = later(rows, edges, creep);
    let norm = |f: &[f64; 3]| f.iter().map(|f| f * f).sum::<f64>().sqrt();
    let all = cells(&run.piece, fabric, &hung.positions);
    Hanging {
        words: words(plan, run.prediction.units),
        mass,
        rows,
        edges,
        corners: corners(fabric, hung),
        skew,
        most_skew,
        size: size(hung),
        drape: match plan.how {
            Hang::Disc { radius } => drape(fabric, hung, radius),
            _ => None,
        },
        largest_pull: hung.borne.iter().map(norm).fold(0.0, f64::max),
        borne: [hung.borne.iter().map(|f| f[2]).sum(), hung.carried[2]],
        crossed: crossed(fabric, hung),
        worn: matches!(plan.how, Hang::Shoulders { .. }),
        dropped: matches!(plan.how, Hang::Shoulders { .. } | Hang::Disc { .. }),
        later,
        creep,
        by_row: by_row(&run, &flat, hung),
        carriers: carriers(plan.how, hung, &all),
        cells: all,
        strains: hung.strains.clone(),
        held: hung.held.iter().map(|n| mm(hung.positions[*n as usize])).collect(),
        solution: solution(fabric, hung),
        assumptions,
        laid: run.prediction,
    }
}

/// Growth along the rows and the edges at later times, by the stated law.
fn later(rows: [Length; 2], edges: [[Length; 2]; 2], creep: [f64; 2]) -> Vec<Heavier> {
    let grown = |pair: [Length; 2]| pair[1] / pair[0] - 1.0;
    let along = (grown(edges[0]) + grown(edges[1])) / 2.0;
    let at = |(hours, after): &(f64, &'static str)| Heavier {
        after,
        growth: [grown(rows), along].map(|g| g * crept(creep, *hours)),
    };
    TIMES.iter().map(at).collect()
}

fn solution(fabric: &Fabric, hung: &Hung) -> Solution {
    let outcome = hung.outcome;
    Solution {
        residual: outcome.residual,
        last_step: outcome.last_step / mean_width(fabric),
        iterations: (outcome.iterations + outcome.descents) as u32,
        energy: outcome.energy,
        minimum: outcome.minimum,
    }
}

pub(super) fn mm(p: [f64; 3]) -> [f64; 3] {
    p.map(|c| c * MM)
}

fn mean_width(fabric: &Fabric) -> f64 {
    let quads = &fabric.body.quads;
    quads.iter().map(|q| q.rest[1][0] - q.rest[0][0]).sum::<f64>() / quads.len().max(1) as f64
}

pub(super) fn path(nodes: impl Iterator<Item = u32>, x: &[[f64; 3]]) -> f64 {
    let points: Vec<[f64; 3]> = nodes.map(|n| x[n as usize]).collect();
    let link = |p: &[[f64; 3]]| (0..3).map(|d| (p[1][d] - p[0][d]).powi(2)).sum::<f64>().sqrt();
    points.windows(2).map(link).sum()
}

fn mean_row(fabric: &Fabric, x: &[[f64; 3]]) -> Length {
    let rows: Vec<f64> = fabric
        .row_paths
        .iter()
        .filter(|p| p.len() > 1)
        .map(|p| path(p.iter().copied(), x))
        .collect();
    Length::m(rows.iter().sum::<f64>() / rows.len().max(1) as f64)
}

fn edge(fabric: &Fabric, x: &[[f64; 3]], side: usize) -> Length {
    Length::m(path(fabric.row_ends.iter().flatten().map(|e| e[side]), x))
}

/// Mean over the plain cells by area, and the largest, of the shear that hanging adds (rad).
fn shear(run: &Run, hung: &Hung) -> [Angle; 2] {
    let quads = &run.fabric.body.quads;
    let (mut sum, mut area, mut most) = (0.0, 0.0, 0.0_f64);
    for (k, quad) in quads.iter().enumerate() {
        let added = hung.strains[k][2] - run.laid.shape.strains[k][2];
        let own = rest_area(&quad.rest);
        sum += own * added;
        area += own;
        most = if added.abs() > most.abs() { added } else { most };
    }
    [sum / f64::max(area, f64::MIN_POSITIVE), most].map(Angle::radians)
}

fn rest_area(rest: &[[f64; 2]; 4]) -> f64 {
    let cross = |i: usize| {
        let (a, b) = (rest[i], rest[(i + 1) % 4]);
        a[0] * b[1] - a[1] * b[0]
    };
    0.5 * (0..4).map(cross).sum::<f64>()
}

fn corners(fabric: &Fabric, hung: &Hung) -> Vec<Corner> {
    let ends: Vec<[u32; 2]> = fabric.row_ends.iter().flatten().copied().collect();
    let (Some(first), Some(last)) = (ends.first(), ends.last()) else { return Vec::new() };
    let all = [
        ("foundation, left", first[0]),
        ("foundation, right", first[1]),
        ("last row, left", last[0]),
        ("last row, right", last[1]),
    ];
    all.map(|(name, n)| {
        let [z, unstretched] = [hung.positions[n as usize][2], hung.unstretched[n as usize][2]];
        Corner { name, below: level(-z), drop: level(unstretched - z) }
    })
    .to_vec()
}

/// A height without the rounding of what is held.
pub(super) fn level(m: f64) -> Length {
    Length::m(if m.abs() < 1e-6 { 0.0 } else { m })
}

pub(super) fn size(hung: &Hung) -> [Length; 3] {
    [0, 1, 2].map(|d| {
        let along = hung.positions.iter().map(|p| p[d]);
        let (low, high) =
            along.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), x| (l.min(x), h.max(x)));
        Length::m(high - low)
    })
}

/// Cells that another layer passes through.
pub(super) fn crossed(fabric: &Fabric, hung: &Hung) -> u32 {
    let cells: Vec<&[u32]> = tagged(fabric).map(|(nodes, _)| nodes).collect();
    crossed_cells(&cells, &hung.positions) as u32
}

/// Every row with its lengths along and its depth.
fn by_row(run: &Run, flat: &[[f64; 3]], hung: &Hung) -> Vec<HungRow> {
    let row = |(row, nodes): (usize, &Vec<u32>)| {
        let along = [flat, &hung.positions].map(|x| Length::m(path(nodes.iter().copied(), x)));
        let deep: f64 = nodes.iter().map(|n| -hung.positions[*n as usize][2]).sum();
        let below = level(deep / nodes.len() as f64);
        HungRow { label: row_label(&run.piece, row as u32), along, below }
    };
    let paths = run.fabric.row_paths.iter().enumerate().skip(1);
    paths.filter(|(_, nodes)| nodes.len() > 1).map(row).collect()
}

pub(super) fn cells(piece: &Piece, fabric: &Fabric, positions: &[[f64; 3]]) -> Vec<HungCell> {
    let (_, kind_of) = kinds(piece);
    tagged(fabric)
        .map(|(nodes, tag)| HungCell {
            corners: nodes.iter().map(|n| mm(positions[*n as usize])).collect(),
            row: tag.row.0,
            stitch: tag.stitch.0,
            kind: kind_of[tag.stitch.0 as usize],
            colour: piece.stitch(tag.stitch).colour,
        })
        .collect()
}

/// Corners and tag of every cell.
fn tagged(fabric: &Fabric) -> impl Iterator<Item = (&[u32], &CellTag)> {
    let body = &fabric.body;
    let quads = body.quads.iter().map(|q| &q.nodes[..]).zip(&fabric.quad_tags);
    let wedges = body.wedges.iter().map(|w| &w.nodes[..]).zip(&fabric.wedge_tags);
    let polygons = body.polygons.iter().map(|p| &p.nodes[..]).zip(&fabric.polygon_tags);
    quads.chain(wedges).chain(polygons)
}

pub(super) fn drape(fabric: &Fabric, hung: &Hung, radius: f64) -> Option<f64> {
    let shadows = |x: &[[f64; 3]]| -> Vec<Vec<[f64; 2]>> {
        let level = |n: &u32| [x[*n as usize][0], x[*n as usize][1]];
        tagged(fabric).map(|(nodes, _)| nodes.iter().map(level).collect()).collect()
    };
    let [flat, fallen] = [&hung.unstretched, &hung.positions].map(|x| shadows(x));
    drape_coefficient(flat.iter().map(|c| &c[..]), fallen.iter().map(|c| &c[..]), radius)
}

fn words(plan: &HangPlan, units: UnitSystem) -> String {
    let name = |side| match side {
        SideOf::Foundation => "foundation",
        SideOf::Right => "right edge",
        SideOf::LastRow => "last row",
        SideOf::Left => "left edge",
    };
    let long = |m: f64| units.length(Length::m(m));
    let how = match plan.how {
        Hang::Point { side } => format!("by one stitch, the first corner of the {}", name(side)),
        Hang::Edge { side, spacing } => {
            format!("pegged along the {}, a peg at most every {}", name(side), long(spacing))
        }
        Hang::Corners { side, apart } => format!(
            "by the two corners of the {}, brought to {:.0} % of their distance",
            name(side),
            apart * 100.0
        ),
        Hang::Rail { radius, .. } => format!(
            "over a round rail {} thick, along the rows; the row on top is held, the rest slides \
             without friction",
            long(2.0 * radius)
        ),
        Hang::TableEdge { side, over } => format!(
            "on a table, {} hanging over its edge with the {} down; what lies on the table is held",
            long(over),
            name(side)
        ),
        Hang::Shoulders { side, body } => {
            on_shoulders(&body, &format!("the {}", name(side)), units)
        }
        Hang::Disc { radius } => {
            format!("held level between two discs {} across", long(2.0 * radius))
        }
    };
    wet(how, plan.water)
}

/// "over the shoulders of a form ...", the middle of `side` at the nape.
pub(super) fn on_shoulders(body: &Shoulders, side: &str, units: UnitSystem) -> String {
    let long = |m: f64| units.length(Length::m(m));
    format!(
        "over the shoulders of a form {} broad, {} round the neck, {} deep, sloping {:.0}°, the middle of \
         {side} at the nape; the stitches from shoulder to shoulder are held as by friction, the rest slides \
         without friction",
        long(body.breadth),
        long(body.neck),
        long(body.depth),
        body.slope.to_degrees()
    )
}

/// What hangs it, and the water in it as a share of its dry mass.
pub(super) fn wet(how: String, water: f64) -> String {
    match water > 0.0 {
        true => format!("{how}; wet, {:.0} % of its dry mass in water", water * 100.0),
        false => how,
    }
}
