//! Scenario files: as shipped, random, wrong, and written by a fit.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod bad;
mod bad_fuels;
#[path = "../common/mod.rs"]
mod common;
mod fitted_text;
mod random;
mod shipped;
