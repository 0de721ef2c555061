//! Pieces laid flat with length to spare: where, and how they stand on a table.

use std::ops::ControlFlow;

use super::flat::{Options, Run, Step, Tables, teller};
use super::hanging::{cells, in_space};
use super::{Assumption, HungCell, Solution};
use crate::measure::row_label;
use crate::state::Cause;
use crate::state::NotLaid;
use crate::state::Place;
use crate::state::Risen;
use crate::state::Settings;
use crate::stitches::Piece;
use crate::units::Length;

/// Most Newton steps on the table: sheets that touch it here and there take 50 to 160 at any size.
const STEPS: usize = 600;

/// Most nodes that are let go of a piece that is put on a table without being asked, and most in all: mostly
/// some seconds of one core. A net of loose loops with twice as many takes minutes.
const LET_GO: usize = 3_000;
const IN_ALL: usize = 8_000;

/// Rows or columns longer than the piece lets them lie.
#[derive(Debug, Clone, PartialEq)]
pub struct OverFed {
    /// "row 3 to row 8", "row 3 to row 8, from 10 to 35 % of the way from the left", "the columns from 0 to
    /// 9 % of the width, from the left".
    pub place: String,
    /// Most that one of them has to spare.
    pub spare: Length,
    /// Length of the wave that would rise first.
    pub wave: Length,
}

/// How it stands on a table under its weight.
#[derive(Debug, Clone, PartialEq)]
pub struct Stands {
    /// Most that it stands off.
    pub rise: Length,
    /// Where it waves most: "along row 8", "along the left edge".
    pub along: String,
    /// Least to most height there.
    pub ripple: Length,
    /// Ridges there.
    pub waves: u32,
    /// Length of one there.
    pub wavelength: Length,
    /// Mean height of its rows: less than half of it is flat to the hand.
    pub row: Length,
    /// All cells, mm, third axis up.
    pub cells: Vec<HungCell>,
    /// How the solver got there.
    pub solution: Solution,
}

impl Stands {
    /// It stands off by less than half a row.
    pub fn flat(&self) -> bool {
        self.rise.to_m() < 0.5 * self.row.to_m()
    }
}

/// What a piece laid flat has to spare.
#[derive(Debug, Clone, PartialEq)]
pub struct Rising {
    /// Where, the most first.
    pub places: Vec<OverFed>,
    /// On a table.
    pub stands: Stand,
}

/// What is known of how it stands on a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Stand {
    /// Where it comes to rest.
    Settled(Stands),
    /// It did not settle, and why.
    Unsettled(String),
    /// A large part of a large piece takes minutes, so it is not solved for unless asked.
    NotAsked,
}

/// Looks for over-fed parts; where the weight would not keep them down, the piece is put on a table in
/// space. `None` for a piece that stays flat, where none is asked for, and for closed rounds, which are rested whole.
///
/// # Errors
/// [`NotLaid`] where it was interrupted.
pub(super) fn rising(
    run: &Run,
    options: &Options,
    progress: &mut dyn FnMut(Step) -> ControlFlow<()>,
) -> Result<Option<(Rising, Vec<Assumption>)>, NotLaid> {
    let (piece, fabric) = (&run.piece, &run.fabric);
    if options.tables == Tables::None || run.prediction.measured.closed.is_some() {
        return Ok(None);
    }
    let (space, _, mut assumptions) = in_space(piece, &run.material, fabric, options, 0.0);
    let found = crate::state::over_fed(fabric, &run.laid, &space);
    if found.is_empty() {
        return Ok(None);
    }
    let mut places: Vec<OverFed> = found
        .iter()
        .map(|f| OverFed {
            place: place(piece, f.at),
            spare: Length::m(f.spare),
            wave: Length::m(f.blister.length),
        })
        .collect();
    places.sort_by(|a, b| b.spare.to_m().total_cmp(&a.spare.to_m()));
    let soon =
        fabric.body.nodes <= IN_ALL && crate::state::let_go(fabric, &run.laid, &found) <= LET_GO;
    let stands = if options.tables == Tables::Small && !soon {
        Stand::NotAsked
    } else {
        let settings = Settings { iterations: STEPS, ..Settings::default() };
        let told = &mut teller(progress);
        match crate::state::rise(fabric, &run.laid, &space, &found, &settings, told) {
            Ok(risen) => Stand::Settled(stands(run, &risen)),
            Err(NotLaid::Unsettled { fault, .. }) if fault.cause != Cause::Interrupted => {
                Stand::Unsettled(fault.to_string())
            }
            Err(fault @ NotLaid::Unstable) => Stand::Unsettled(fault.to_string()),
            Err(other) => return Err(other),
        }
    };
    assumptions.push(Assumption {
        what: "on a table".into(),
        value: "no friction; layers do not touch each other".into(),
        source: "assumed: where a piece can give way in several manners (more or fewer waves) the one shown \
                 is one of them"
            .into(),
        assumed: true,
    });
    Ok(Some((Rising { places, stands }, assumptions)))
}

fn place(piece: &Piece, at: Place) -> String {
    match at {
        Place::Rows(from, to, part) => {
            let all = rows(piece, from.0, to.0);
            part.map_or_else(
                || all.clone(),
                |part| format!("{all}, {} of the way from the left", share(part)),
            )
        }
        Place::Columns(wide, part) => {
            let all = format!("the columns {} of the width", share(wide));
            part.map_or_else(
                || format!("{all}, from the left"),
                |[from, to]| format!("{all}, from the left, {}", rows(piece, from.0, to.0)),
            )
        }
    }
}

fn rows(piece: &Piece, from: u32, to: u32) -> String {
    match from == to {
        true => row_label(piece, from),
        false => format!("{} to {}", row_label(piece, from), row_label(piece, to)),
    }
}

fn share([from, to]: [f64; 2]) -> String {
    format!("from {:.0} to {:.0} %", 100.0 * from, 100.0 * to)
}

fn stands(run: &Run, risen: &Risen) -> Stands {
    let measured = &run.prediction.measured;
    let rows = run.piece.rows.len().saturating_sub(1).max(1) as f64;
    let ripple = risen.ripple;
    let along = match ripple.map(|r| (r.row, r.left)) {
        Some((Some(row), _)) => format!("along {}", row_label(&run.piece, row as u32)),
        Some((None, true)) => "along the left edge".into(),
        Some((None, false)) => "along the right edge".into(),
        None => String::new(),
    };
    let waves = ripple.map_or(0, |r| r.waves);
    Stands {
        rise: Length::m(risen.rise),
        along,
        ripple: Length::m(ripple.map_or(0.0, |r| r.height)),
        waves,
        wavelength: Length::m(ripple.map_or(0.0, |r| r.length) / f64::from(waves.max(1))),
        row: measured.square_to_rows / rows,
        cells: cells(&run.piece, &run.fabric, &risen.positions),
        solution: super::rounds::solution(&run.fabric, risen.outcome),
    }
}
