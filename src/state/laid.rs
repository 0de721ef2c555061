//! The piece lying flat: equilibrium in the plane, free of all support.

use std::ops::ControlFlow;

use super::Shape;
use crate::fabric::Fabric;
use crate::mechanics::BadBody;
use crate::mechanics::Body;
use crate::mechanics::Cause;
use crate::mechanics::Cell;
use crate::mechanics::NotSettled;
use crate::mechanics::Outcome;
use crate::mechanics::Progress;
use crate::mechanics::Settings;
use crate::mechanics::Solver;
use crate::mechanics::arrange;
use crate::mechanics::misfit;
use crate::mechanics::untangle;
use crate::stitches::StitchId;

/// A piece that lies flat.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Where it lies and how it is strained.
    pub shape: Shape,
    /// How the solver got there.
    pub outcome: Outcome,
}

/// Why a piece could not be laid flat.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NotLaid {
    /// No cells at all.
    #[error("there is no fabric to lay: no row could be worked onto the foundation")]
    Nothing,
    /// A tube or closed round has no flat state of its own.
    #[error("closed: the rounds have no row ends, so the piece lies double or in space")]
    Closed,
    /// No stitch would be held.
    #[error(
        "nothing would hold it: no stitch lies on what should carry it, or the piece has no four sides \
         to hang it by"
    )]
    Unheld,
    /// What was asked for cannot be.
    #[error("{what}")]
    Asked {
        /// What was asked for, and what would fit.
        what: String,
    },
    /// A cell with an impossible rest shape.
    #[error("{fault}")]
    Body {
        /// What is wrong.
        fault: BadBody,
    },
    /// The state asked about is no stable equilibrium.
    #[error("its equilibrium is not stable, so nothing can be said about states near it")]
    Unstable,
    /// The solver gave up.
    #[error("{fault}")]
    Unsettled {
        /// Why, with residual and step.
        fault: NotSettled,
        /// The stitch nearest the largest unbalanced force.
        near: Option<StitchId>,
    },
}

impl NotLaid {
    /// True where the progress callback asked for it.
    pub(super) fn interrupted(&self) -> bool {
        matches!(self, Self::Unsettled { fault, .. } if fault.cause == Cause::Interrupted)
    }
}

/// Relative width of a stitch within which the last step must lie.
const STEP: f64 = 1e-3;

/// Misfit of the start, in shares of a cell, up to which Newton's method is tried from it at once.
const NEAR: f64 = 0.2;

/// Newton steps from parallel rows before the cells are arranged first; ordinary pieces take 5 to 15.
const DIRECT: usize = 60;

/// Rounds of arranging.
const ROUNDS: usize = 400;

/// Lays a fabric flat.
///
/// # Errors
/// [`NotLaid`], saying where.
pub fn lay(
    fabric: &Fabric,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Laid, NotLaid> {
    if fabric.cells() == 0 {
        return Err(NotLaid::Nothing);
    }
    if fabric.row_ends.iter().skip(1).all(Option::is_none) {
        return Err(NotLaid::Closed);
    }
    lay_from(fabric, fabric.start.clone(), settings, progress)
}

/// Lays a fabric flat from given positions.
pub(super) fn lay_from(
    fabric: &Fabric,
    mut positions: Vec<[f64; 2]>,
    settings: &Settings,
    progress: &mut dyn FnMut(Progress) -> ControlFlow<()>,
) -> Result<Laid, NotLaid> {
    let mut solver = Solver::<2>::new(&fabric.body).map_err(|fault| NotLaid::Body { fault })?;
    let settings = Settings { step: narrowest_step(fabric, settings), ..*settings };
    let direct = Settings { iterations: settings.iterations.min(DIRECT), ..settings };
    let start = positions.clone();
    let near = misfit(&fabric.body, &start) < NEAR;
    let mut outcome = None;
    // Rows that turn a corner (shawls, borders) start too far off: there the cells are arranged first.
    for arranged in [!near, near] {
        positions.clone_from(&start);
        if arranged {
            arrange(&fabric.body, &mut positions, ROUNDS);
            untangle(&fabric.body, &mut positions);
        }
        let settings = if arranged { &settings } else { &direct };
        let done = solver.minimise(&mut positions, settings, progress);
        let again = matches!(&done, Err(fault) if fault.cause != Cause::Interrupted);
        outcome = Some(done);
        if !again {
            break;
        }
    }
    let outcome = outcome.expect("two starts are tried").map_err(|fault| {
        let near = nearest_stitch(fabric, fault.worst_node);
        NotLaid::Unsettled { fault, near }
    })?;
    let strains = strains(&fabric.body, &positions);
    Ok(Laid { shape: Shape { positions, strains }, outcome })
}

/// The longest last step allowed, m: the setting's, and a thousandth of the narrowest plain cell.
pub(super) fn narrowest_step(fabric: &Fabric, settings: &Settings) -> f64 {
    let widths = fabric.body.quads.iter().map(|q| q.rest[1][0] - q.rest[0][0]);
    let narrowest =
        widths.chain(fabric.body.wedges.iter().map(|w| w.strand)).fold(f64::INFINITY, f64::min);
    settings.step.min(STEP * narrowest)
}

/// The stitch of `node`, or of the next node that has one.
pub(super) fn nearest_stitch(fabric: &Fabric, node: usize) -> Option<StitchId> {
    fabric.node_stitch.iter().skip(node).find_map(|s| *s)
}

/// Strains of all cells of `body` at `x`.
pub(super) fn strains(body: &Body, x: &[[f64; 2]]) -> Vec<[f64; 3]> {
    let quads = (0..body.quads.len()).map(Cell::Quad);
    let cells = quads
        .chain((0..body.wedges.len()).map(Cell::Wedge))
        .chain((0..body.polygons.len()).map(Cell::Polygon));
    cells
        .map(|cell| {
            let s = body.strain(cell, x);
            [s.rows, s.columns, s.shear]
        })
        .collect()
}
