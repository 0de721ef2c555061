//! Does it match the world? Published definitions, tables and closed forms, each with its source.
//! Run with `cargo test --release --test validation`.
#![allow(clippy::print_stdout, reason = "each check prints its value beside the reference")]

mod counts;
mod skew;
mod straightness;
