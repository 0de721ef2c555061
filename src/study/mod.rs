//! Studies: how the answer changes with the rows, the material and the maker.
//!
//! [`mix`] tries variants of one pattern, [`compare`] sets predictions side by side,
//! [`spread`] puts the pattern into many hands, [`attribute`] says which stitches move a figure.

mod aim;
mod attribution;
mod change;
mod choices;
mod compare;
mod mix;
mod rows;
mod spread;
mod vary;

pub use aim::Aim;
pub use attribution::{Attribution, NoDerivative, RowEffect, attribute, sizes};
pub use change::Change;
pub use choices::{Unclear, named_variants};
pub use compare::{Comparison, RowDifference, compare};
pub use mix::{Mix, Outcome, Variant, mix, plain_trials, variants};
pub use rows::{NoSuchRows, Rows};
pub use spread::{Chance, Spread, spread};
pub use vary::{BadVariation, Value, Variation};
