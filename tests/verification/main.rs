//! Are the equations solved right? Closed forms, patch tests, finite differences, refinement.
//! Each test prints value beside reference. Run with `cargo test --release --test verification`.
#![allow(clippy::print_stdout, reason = "each check prints its value beside the reference")]

mod bands;
mod bending;
mod bias;
mod blocked;
mod build;
#[path = "../common/mod.rs"]
mod common;
mod corner;
mod curved;
mod derivatives;
mod drape;
mod drop;
mod edges;
mod fans;
mod gauge;
mod hung;
mod hung_fabric;
mod laid;
mod law;
mod loops;
mod off_axis;
mod over_fed;
#[expect(dead_code, reason = "the program's own input and output are not run here")]
#[path = "../../examples/reference_sheet.rs"]
mod reference_sheet;
mod refinement;
mod rounds;
mod rounds_blocked;
mod rounds_hung;
mod ruffles;
mod same;
mod shear;
mod specimen;
mod stored;
