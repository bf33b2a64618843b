//! Command line of endgas.

fn main() {}
