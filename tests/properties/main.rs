//! Properties that hold for every piece, pattern and mesh.

#[path = "../common/mod.rs"]
mod common;
mod edits;
mod fabric;
mod gauge;
mod language;
mod mechanics;
mod written;
mod written_pages;
