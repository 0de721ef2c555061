//! Pictures and tables must not change unnoticed, nor become illegible.

mod files;
mod fixture;
mod golden;
mod legible;
mod readme;
