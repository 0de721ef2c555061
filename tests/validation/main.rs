//! Does it match the world? Published definitions, tables and closed forms, each with its source.
//! Run with `cargo test --release --test validation`.
#![allow(clippy::print_stdout, reason = "each check prints its value beside the reference")]

mod counts;
mod makers_yarn;
mod munden;
mod peirce;
mod skew;
mod straightness;
mod yarn_standards;
