//! Are the equations solved right? Closed forms, patch tests, finite differences, refinement.
//! Each test prints value beside reference. Run with `cargo test --release --test verification`.

mod bias;
mod build;
#[path = "../common/mod.rs"]
mod common;
mod derivatives;
mod edges;
mod laid;
