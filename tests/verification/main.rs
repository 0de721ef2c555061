//! Are the equations solved right? Closed forms, patch tests, finite differences, refinement.
//! Each test prints value beside reference. Run with `cargo test --release --test verification`.

mod build;
mod derivatives;
mod edges;
mod laid;
mod law;
mod off_axis;
mod refinement;
mod same;
