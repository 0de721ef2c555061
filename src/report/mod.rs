//! Pictures and tables of a prediction: SVG, PNG, JSON, CSV and plain text.
//!
//! Everything here is drawn from a [`Prediction`] alone and returned as text or bytes; nothing is
//! written to disk, and the same prediction gives the same bytes.

mod blocking;
mod chart;
mod compare;
mod csv;
mod edges;
mod hanging;
mod html;
mod ink;
mod json;
mod mesh;
mod mix;
mod mix_picture;
mod outline;
mod png;
mod raster;
mod sheet;
mod sheets;
mod side;
mod slant;
mod specimen;
mod spread;
mod stitches;
mod strain;
mod table;
mod text;
mod typeface;
mod view;
mod words;

pub use blocking::{blocking_picture, blocking_text, pin_list};
pub use compare::{Variant, comparison_pictures, comparison_text};
pub use csv::{Table, tables};
pub use hanging::{hanging_obj, hanging_picture, hanging_text};
pub use html::html;
pub use json::{SCHEMA, json};
pub use mesh::obj;
pub use mix::{mix_csv, mix_text};
pub use mix_picture::{mix_outlines, mix_picture};
pub use png::{PngError, png};
pub use sheets::{Paper, full_size};
pub use side::differences_text;
pub use specimen::specimen_text;
pub use spread::{spread_csv, spread_picture, spread_text};
pub use text::text;

use crate::predict::Prediction;

/// A picture with the name it should be saved under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// `outline`, `edges`, `slant`, `strain` or `stitches`.
    pub name: String,
    /// The picture.
    pub svg: String,
}

/// Outline over plan, edge deviation, slant row by row, strain map, stitch map.
pub fn pictures(prediction: &Prediction) -> Vec<Picture> {
    vec![
        outline::outline(prediction),
        edges::edges(prediction),
        slant::slant(prediction),
        strain::strain(prediction),
        stitches::stitches(prediction),
    ]
}

/// The answers in words, one sentence each: the edges, the slant, the size.
pub fn headline(prediction: &Prediction) -> Vec<String> {
    words::headline(prediction)
}
