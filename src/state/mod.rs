//! Equilibrium: the fabric lying flat, blocked, and hung.

mod blocked;
mod drape;
mod fit;
mod form;
mod hung;
mod laid;
mod nearby;
mod over_fed;
mod part;
mod rim;
mod rounds;
mod rounds_blocked;
mod rounds_hung;
mod set_out;
mod specimen;
mod table;

pub use blocked::{Blocked, Blocking, Hold, Pin, SideOf, Target, block, soak};
pub use drape::Draped;
pub use form::Shoulders;
pub use hung::{Hang, Hung, InSpace, hang};
pub use laid::{Laid, NotLaid, lay};
pub use nearby::{Nearby, Settled};
pub use over_fed::{Blister, OverFed, Place, Strip, over_fed};
pub use rim::Rim;
pub use rounds::{LetGo, OnTable, angle, lay_rounds, on_table};
pub use rounds_blocked::{RimBlocked, RimBlocking, RimPin, RimTarget, block_rounds};
pub use rounds_hung::hang_rounds;
pub use specimen::{Cloth, Pulled};
pub use table::{Ripple, Risen, let_go, rise};

pub use crate::mechanics::Cause;
pub use crate::mechanics::NotSettled;
pub use crate::mechanics::Outcome;
pub use crate::mechanics::Progress;
pub use crate::mechanics::Settings;

use crate::fabric::Fabric;

/// Solved positions and strains of a fabric.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape {
    /// Node positions, m, in the frame of [`Fabric::start`].
    pub positions: Vec<[f64; 2]>,
    /// Strain along the rows, up the columns and shear (rad) of every quad, wedge and polygon, in that
    /// order.
    pub strains: Vec<[f64; 3]>,
}

impl Shape {
    /// The fabric as placed before any solving.
    pub fn unsolved(fabric: &Fabric) -> Self {
        Self { positions: fabric.start.clone(), strains: vec![[0.0; 3]; fabric.cells()] }
    }
}
