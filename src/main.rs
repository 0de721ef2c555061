//! The `slantwise` command.

fn main() {}
