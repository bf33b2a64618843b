//! Dyno pulls: reading, judging, fitting.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod checks;
#[path = "../common/mod.rs"]
mod common;
mod fit;
mod knock;
mod pulls;
mod reading;
mod trials;
