//! What a stitch measures and how stiff it is: gauge, yarn, presets and the maker's hand.
//!
//! [`Material::resolve`] turns gauges, yarn and replaced presets into a [`Material`], which answers
//! for any stitch ([`Worked`]): rest width, height and lean, membrane law, strand laws, yarn length.
//! Every number that nobody stated comes from `presets.toml`, with unit, range and source, and
//! [`Material::provenance`] lists what a piece rests on. [`Hand`] varies stitches as a maker does.
//!
//! Sees no pattern and no mesh: only [`crate::units`] and the kinds of stitch.

mod error;
mod fibre;
mod gauge;
mod hand;
mod preset;
mod provenance;
mod relative;
mod resolve;
#[cfg(test)]
mod tests;
mod worked;
mod yarn;

pub use error::MaterialError;
pub use fibre::Fibre;
pub use gauge::{Counted, GaugeInput, GaugeOver, SwatchRow};
pub use hand::{Hand, HandSettings};
pub use preset::{Preset, PresetOverride, check_overrides, preset, preset_keys, read_overrides};
pub use provenance::Provenance;
pub use resolve::{EdgeStrand, GaugedIn, Material, MaterialInput, MembraneLaw, StrandLaw};
pub use worked::{Texture, Worked};
pub use yarn::{YarnClass, YarnInput};
