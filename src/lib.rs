//! Slantwise predicts how a hand-made crochet or knit piece will lie, block and hang, stitch by
//! stitch, from its written pattern.
//!
//! The pipeline, one module a stage, each seeing only the stages before it:
//! [`pattern`] (written instructions) → [`stitches`] (the stitch graph) → [`material`] (gauge, yarn,
//! presets) → [`mechanics`] (energies and their minimiser) → [`fabric`] (mesh and rest shapes) →
//! [`state`] (equilibrium) → [`measure`] (outline, edges, slant) → [`predict`] (runs them in order) →
//! [`report`] (pictures and tables). [`study`] runs the pipeline many times, to compare; [`calibrate`]
//! turns measured swatches into a maker's own numbers.

pub mod calibrate;
pub mod diagnostic;
pub mod fabric;
pub mod instructions;
pub mod material;
pub mod measure;
pub mod mechanics;
pub mod pattern;
pub mod predict;
pub mod report;
pub mod source;
pub mod state;
pub mod stitches;
pub mod study;
pub mod units;
