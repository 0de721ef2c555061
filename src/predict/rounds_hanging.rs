//! How a piece worked in rounds from its middle hangs.

use std::ops::ControlFlow;

use super::carriers::carriers;
use super::flat::{Failure, Options, Refused, Step, not_laid, teller};
use super::hanging::{
    TIMES, basis, cells, crept, crossed, drape, friction, in_space, level, mm, path, size,
};
use super::rounds::AT_ONCE;
use super::whole::{LaidRounds, Whole, whole};
use super::{Assumption, HangPlan, Heavier, HungCell, HungRow, Solution};
use crate::measure::row_label;
use crate::source::Source;
use crate::state::Cause;
use crate::state::Hang;
use crate::state::Hung;
use crate::state::InSpace;
use crate::state::LetGo;
use crate::state::NotLaid;
use crate::state::OnTable;
use crate::state::Progress;
use crate::state::Settings;
use crate::units::Angle;
use crate::units::Length;
use crate::units::Mass;
use crate::units::UnitSystem;

const TUBE: &str = "expected rounds worked from a ring outwards, or rows. How a tube hangs, in two layers that touch, is \
                    not solved for; `lay` tells how wide and how tall it lies";

/// A hung piece in closed rounds beside the laid one.
#[derive(Debug, Clone, PartialEq)]
pub struct HungRounds {
    /// Lying flat.
    pub laid: LaidRounds,
    /// How it hangs, in words.
    pub words: String,
    /// Its mass, water included.
    pub mass: Mass,
    /// Growth along the rounds, and up the columns from the middle out, as shares: means over the piece, against
    /// it at rest on a table, or pressed flat.
    pub growth: [f64; 2],
    /// It was compared with the piece at rest on a table; large ones, which take minutes there, and those that come
    /// to no rest are compared with the piece pressed flat.
    pub from_table: bool,
    /// How far its lowest stitch lies below what holds the piece, unstretched and hung.
    pub lowest: [Length; 2],
    /// It was let go from level: what hangs has no place from which to stretch.
    pub dropped: bool,
    /// Change of the angle between rounds and columns, mean over the piece; positive where it closes.
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
    /// Growth over time.
    pub later: Vec<Heavier>,
    /// Constants of the growth law: share per tenfold time, and hours.
    pub creep: [f64; 2],
    /// Round by round, from the middle.
    pub by_round: Vec<HungRow>,
    /// All cells.
    pub cells: Vec<HungCell>,
    /// Strain along the rounds, up the columns and shear (rad) of every cell.
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

impl HungRounds {
    /// How much more it has grown after `hours` than at once, by the stated law.
    pub fn factor(&self, hours: f64) -> f64 {
        crept(self.creep, hours)
    }
}

/// Lays a piece in closed rounds whole, then hangs it. Its sides are alike: the side that `plan` names is not
/// looked at.
///
/// # Errors
/// [`Refused`], with the diagnostics found so far; a tube is not hung.
pub fn hang_rounds(
    source: &Source,
    options: &Options,
    plan: &HangPlan,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<HungRounds, Box<Refused>> {
    let found = whole(source, options, TUBE, progress)?;
    let Whole { meshed, laid, rim, .. } = &found;
    let (piece, fabric) = (&meshed.piece, &meshed.fabric);
    let (space, mass, mut assumptions) =
        in_space(piece, &meshed.material, fabric, options, plan.water);
    let settings = Settings::default();
    let tell = &mut teller(progress);
    let before = before(&found, &space, tell).map_err(|fault| meshed.refused(fault))?;
    let hung = crate::state::hang_rounds(fabric, laid, rim, &space, plan.how, &settings, tell)
        .map_err(|fault| meshed.refused(not_laid(piece, fault)))?;
    assumptions
        .extend(["hang.creep", "hang.creep_start"].iter().filter_map(|key| basis(options, key)));
    assumptions.extend(super::blocking::locking(&meshed.material));
    assumptions.push(friction(hung.held.len()));
    Ok(told(found, plan, &before, &hung, mass, assumptions))
}

/// The piece before it is hung: where it lies, and its strains.
struct Before {
    positions: Vec<[f64; 3]>,
    strains: Vec<[f64; 3]>,
    on_table: bool,
}

/// At rest on a table, where that is soon told, so that what the piece gains by not being pressed flat is no
/// growth; else flat.
fn before(
    found: &Whole,
    space: &InSpace,
    tell: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Before, Failure> {
    let (meshed, laid) = (&found.meshed, &found.laid);
    if meshed.piece.stitches.len() <= AT_ONCE {
        let (rub, still) = (meshed.material.friction(), Settings::default());
        let from = (rub, LetGo::Raised);
        match crate::state::on_table(&meshed.fabric, laid, space, from, &still, tell) {
            Ok(OnTable { positions, strains, .. }) => {
                return Ok(Before { positions, strains, on_table: true });
            }
            Err(NotLaid::Unsettled { fault, .. }) if fault.cause != Cause::Interrupted => {}
            Err(fault) => return Err(not_laid(&meshed.piece, fault)),
        }
    }
    Ok(Before {
        positions: laid.shape.positions.iter().map(|p| [p[0], p[1], 0.0]).collect(),
        strains: laid.shape.strains.clone(),
        on_table: false,
    })
}

/// Mean over the cells by rest area, and the largest, of what hanging adds to a strain: along the rounds, up the
/// columns, shear. Shaping triangles know no shear.
fn added(found: &Whole, before: &Before, hung: &Hung, which: usize) -> [f64; 2] {
    let areas = found.meshed.fabric.rest_areas();
    let body = &found.meshed.fabric.body;
    let wedges = body.quads.len()..body.quads.len() + body.wedges.len();
    let (mut sum, mut all, mut most) = (0.0, 0.0, 0.0_f64);
    for (k, area) in areas.iter().enumerate() {
        if which == 2 && wedges.contains(&k) {
            continue;
        }
        let more = hung.strains[k][which] - before.strains[k][which];
        sum += area * more;
        all += area;
        most = if more.abs() > most.abs() { more } else { most };
    }
    [sum / f64::max(all, f64::MIN_POSITIVE), most]
}

fn told(
    found: Whole,
    plan: &HangPlan,
    before: &Before,
    hung: &Hung,
    mass: Mass,
    assumptions: Vec<Assumption>,
) -> HungRounds {
    let fabric = &found.meshed.fabric;
    let growth = [0, 1].map(|which| added(&found, before, hung, which)[0]);
    let [skew, most_skew] = added(&found, before, hung, 2).map(Angle::radians);
    let creep = found.meshed.material.creep();
    let later = TIMES
        .iter()
        .map(|(hours, after)| Heavier { after, growth: growth.map(|g| g * crept(creep, *hours)) });
    let norm = |f: &[f64; 3]| f.iter().map(|f| f * f).sum::<f64>().sqrt();
    let lowest = |x: &[[f64; 3]]| level(-x.iter().map(|p| p[2]).fold(f64::INFINITY, f64::min));
    let all = cells(&found.meshed.piece, fabric, &hung.positions);
    HungRounds {
        words: words(plan, found.rim.corners.len(), found.meshed.units),
        mass,
        growth,
        from_table: before.on_table,
        lowest: [lowest(&hung.unstretched), lowest(&hung.positions)],
        dropped: matches!(plan.how, Hang::Shoulders { .. } | Hang::Disc { .. }),
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
        later: later.collect(),
        creep,
        by_round: by_round(&found, before, hung),
        carriers: carriers(plan.how, hung, &all),
        cells: all,
        strains: hung.strains.clone(),
        held: hung.held.iter().map(|n| mm(hung.positions[*n as usize])).collect(),
        solution: super::rounds::solution(fabric, hung.outcome),
        assumptions,
        laid: found.told,
    }
}

/// Every round with its lengths and its depth.
fn by_round(found: &Whole, before: &Before, hung: &Hung) -> Vec<HungRow> {
    let fabric = &found.meshed.fabric;
    let round = |(row, nodes): (usize, &Vec<u32>)| {
        let again = nodes.iter().take(usize::from(fabric.closed[row]));
        let all: Vec<u32> = nodes.iter().chain(again).copied().collect();
        let along =
            [&before.positions, &hung.positions].map(|x| Length::m(path(all.iter().copied(), x)));
        let deep: f64 = nodes.iter().map(|n| -hung.positions[*n as usize][2]).sum();
        let below = level(deep / nodes.len() as f64);
        HungRow { label: row_label(&found.meshed.piece, row as u32), along, below }
    };
    let paths = fabric.row_paths.iter().enumerate();
    paths.filter(|(_, nodes)| nodes.len() > 2).map(round).collect()
}

fn words(plan: &HangPlan, corners: usize, units: UnitSystem) -> String {
    let long = |m: f64| units.length(Length::m(m));
    let round = corners == 0;
    let how = match plan.how {
        Hang::Point { .. } if round => "by one stitch of its edge".into(),
        Hang::Point { .. } => "by a corner".into(),
        Hang::Edge { spacing, .. } if round => format!(
            "pegged along a quarter of its edge, where its stitches lie, a peg at most every {}",
            long(spacing)
        ),
        Hang::Edge { spacing, .. } => {
            format!("pegged along a side, a peg at most every {}", long(spacing))
        }
        Hang::Corners { apart, .. } if round => format!(
            "by two stitches a quarter of its edge apart, brought to {:.0} % of their distance",
            apart * 100.0
        ),
        Hang::Corners { apart, .. } => format!(
            "by the two corners of a side, brought to {:.0} % of their distance",
            apart * 100.0
        ),
        Hang::Rail { radius, at } => format!(
            "over a round rail {} thick, {:.0} % of the way across it; the stitches on top are held, the rest \
             slides without friction",
            long(2.0 * radius),
            100.0 * at
        ),
        Hang::TableEdge { over, .. } => format!(
            "on a table, {} hanging over its edge; what lies on the table is held",
            long(over)
        ),
        Hang::Shoulders { body, .. } => super::hanging::on_shoulders(&body, "a side", units),
        Hang::Disc { radius } => {
            format!("held level between two discs {} across", long(2.0 * radius))
        }
    };
    super::hanging::wet(how, plan.water)
}
