//! Work closed in rounds, which is meshed cut open along its joins: does it lie flat, and by how much not?
//!
//! Cut from its middle to its rim, a disc that lies flat opens to the full turn. One whose rounds are too
//! short leaves a gap and closes to a cone of half-angle `asin(turn / 360°)`; one whose rounds are too long
//! laps over itself and ruffles when whole (the cone of missing or excess angle: e.g. Sharon, Roman,
//! Marder, Shin and Swinney, Nature 419, 579 (2002), from memory).

use crate::fabric::Fabric;
use crate::state::Shape;
use crate::units::Angle;
use crate::units::Length;

/// Fewer degrees than this off the full turn are taken up by the yarn.
const FLAT: f64 = 8.0;

/// What closed work is when it is whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Closed {
    /// Rounds about a middle.
    Disc {
        /// Turn that the last round takes about the middle when cut open.
        turn: Angle,
        /// Mean distance of the last round from the middle.
        radius: Length,
    },
    /// Rounds on a joined chain or cast-on.
    Tube {
        /// Mean length of a round.
        around: Length,
        /// From the first round to the last.
        height: Length,
    },
}

/// How a disc lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Lies {
    /// Flat.
    Flat,
    /// Its rim is too short: it cups.
    Cups,
    /// Its rim is too long: it ruffles.
    Ruffles,
}

impl Closed {
    /// How it lies whole; a tube lies flat, double.
    pub fn lies(&self) -> Lies {
        match self {
            Self::Disc { turn, .. } if turn.to_degrees() < 360.0 - FLAT => Lies::Cups,
            Self::Disc { turn, .. } if turn.to_degrees() > 360.0 + FLAT => Lies::Ruffles,
            _ => Lies::Flat,
        }
    }

    /// Half-angle at the tip of the cone it closes to; 90° where it lies flat or ruffles.
    pub fn half_angle(&self) -> Angle {
        match self {
            Self::Disc { turn, .. } => {
                Angle::degrees((turn.to_degrees() / 360.0).min(1.0).asin().to_degrees())
            }
            Self::Tube { .. } => Angle::degrees(0.0),
        }
    }

    /// How much longer the last round is than one that lies flat; negative when it is too short.
    pub fn over_fed(&self) -> Length {
        match self {
            Self::Disc { turn, radius } => *radius * (turn.to_radians() - std::f64::consts::TAU),
            Self::Tube { .. } => Length::mm(0.0),
        }
    }
}

/// Closed work as it lies cut open; `None` for work with row ends of its own.
pub(super) fn closed(fabric: &Fabric, shape: &Shape) -> Option<Closed> {
    if !fabric.cut {
        return None;
    }
    let at = |n: u32| shape.positions[n as usize];
    let rounds: Vec<&Vec<u32>> = fabric.row_paths.iter().filter(|p| p.len() > 1).collect();
    let last = rounds.last()?;
    if let Some(middle) = fabric.middle {
        let o = at(middle);
        let arm = |n: u32| [at(n)[0] - o[0], at(n)[1] - o[1]];
        let turn: f64 = last
            .windows(2)
            .map(|w| {
                let (a, b) = (arm(w[0]), arm(w[1]));
                (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1])
            })
            .sum();
        let mean =
            last.iter().map(|&n| arm(n)[0].hypot(arm(n)[1])).sum::<f64>() / last.len() as f64;
        let turn = Angle::degrees(turn.abs().to_degrees());
        return Some(Closed::Disc { turn, radius: Length::mm(mean * 1000.0) });
    }
    let length = |path: &[u32]| -> f64 {
        path.windows(2).map(|w| (at(w[1])[0] - at(w[0])[0]).hypot(at(w[1])[1] - at(w[0])[1])).sum()
    };
    let around = rounds.iter().map(|p| length(p)).sum::<f64>() / rounds.len() as f64;
    let middle = |path: &[u32]| at(path[path.len() / 2]);
    let (a, b) = (middle(rounds[0]), middle(last));
    let height = (b[0] - a[0]).hypot(b[1] - a[1]);
    Some(Closed::Tube { around: Length::mm(around * 1000.0), height: Length::mm(height * 1000.0) })
}
