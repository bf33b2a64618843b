//! Dyno pulls: reading, judging, fitting.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "a table on demand is for a person to read")]

mod checks;
#[path = "../common/mod.rs"]
mod common;
mod dips;
mod fit;
mod fit_pipes;
mod knock;
mod pulls;
mod reading;
mod shapes;
mod trials;
