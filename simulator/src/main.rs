//! The command `keyway`.

fn main() {}
