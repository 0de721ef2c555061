//! Laws that hold for every input.

mod mechanics;
