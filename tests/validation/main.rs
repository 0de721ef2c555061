//! Does it match the world? Published definitions, tables and closed forms, each with its source.
//! Run with `cargo test --release --test validation`.

mod counts;
mod skew;
mod straightness;
