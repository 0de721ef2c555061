//! Pictures and tables of a prediction: SVG, PNG, JSON, CSV and plain text.
//!
//! Everything here is drawn from a [`Prediction`] alone and returned as text or bytes; nothing is
//! written to disk, and the same prediction gives the same bytes.

mod base64;
mod blocking;
mod chart;
mod compare;
mod csv;
mod document;
mod edges;
mod gltf;
mod growth;
mod hanging;
mod html;
mod ink;
mod json;
mod mesh;
mod mix;
mod mix_picture;
mod numbers;
mod outline;
mod palette;
#[cfg(feature = "pdf")]
mod paper;
#[cfg(feature = "pdf")]
mod pdf;
mod png;
mod raster;
mod refine;
mod rising;
mod rounds;
mod rounds_blocking;
mod rounds_document;
mod rounds_hanging;
mod scene;
mod sheet;
mod sheets;
mod side;
mod slant;
mod space;
mod specimen;
mod spread;
mod stitches;
mod strain;
mod studies;
mod surface;
mod swatch;
mod table;
mod text;
mod trace;
mod typeface;
mod view;
mod words;
mod yarn;

pub use blocking::{blocking_picture, blocking_text, pin_list};
pub use compare::{Variant, comparison_pictures, comparison_text};
pub use csv::{Table, tables};
pub use gltf::{
    blocking_gltf, gltf, hanging_gltf, rounds_blocking_gltf, rounds_gltf, rounds_hanging_gltf,
};
pub use growth::{growth_picture, rounds_growth_picture};
pub use hanging::{hanging_picture, hanging_text};
pub use html::{
    blocking_html, hanging_html, html, rounds_blocking_html, rounds_hanging_html, rounds_html,
    study_html,
};
pub use json::{SCHEMA, json};
pub use mesh::{
    blocking_obj, hanging_obj, obj, rounds_blocking_obj, rounds_hanging_obj, rounds_obj,
};
pub use mix::{mix_csv, mix_text};
pub use mix_picture::{mix_outlines, mix_picture};
pub use numbers::{blocking_csv, blocking_json, hanging_csv, hanging_json};
#[cfg(feature = "pdf")]
pub use pdf::{
    PdfError, blocking_pdf, full_size_pdf, hanging_pdf, pdf, rounds_blocking_pdf,
    rounds_hanging_pdf, rounds_pdf, study_pdf,
};
pub use png::{PngError, png};
pub use refine::{refine_json, refine_text};
pub use rising::rising_picture;
pub use rounds::{rounds_json, rounds_picture, rounds_text};
pub use rounds_blocking::{
    rounds_blocking_csv, rounds_blocking_json, rounds_blocking_picture, rounds_blocking_text,
    rounds_pin_list,
};
pub use rounds_hanging::{
    rounds_hanging_csv, rounds_hanging_json, rounds_hanging_picture, rounds_hanging_text,
};
pub use sheets::{Paper, full_size};
pub use side::{differences_text, letter};
pub use specimen::specimen_text;
pub use spread::{spread_csv, spread_picture, spread_text};
pub use studies::Study;
pub use swatch::{swatch_json, swatch_text};
pub use text::text;
pub use trace::{trace_csv, trace_picture, trace_text};
pub use yarn::{yarn_csv, yarn_json, yarn_text};

use crate::predict::Prediction;

/// A picture with the name it should be saved under.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// `outline`, `edges`, `slant`, `strain`, `stitches` or `on-a-table`.
    pub name: String,
    /// The picture.
    pub svg: String,
}

/// Outline over plan, edge deviation, slant row by row, strain map, stitch map; how it stands on a table,
/// where it does not stay flat.
pub fn pictures(prediction: &Prediction) -> Vec<Picture> {
    let mut all = vec![outline::outline(prediction)];
    // Closed rounds have no edges.
    if prediction.measured.closed.is_none() {
        all.extend([edges::edges(prediction), slant::slant(prediction)]);
    }
    all.extend([strain::strain(prediction), stitches::stitches(prediction)]);
    all.extend(rising_picture(prediction));
    all
}

/// The answers in words, one sentence each: the edges, the slant, the size.
pub fn headline(prediction: &Prediction) -> Vec<String> {
    words::headline(prediction)
}
