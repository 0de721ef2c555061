//! Pictures and tables must not change unnoticed, nor become illegible.

mod fixture;
mod golden;
mod legible;
