//! The program as its user runs it.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod bad_input;
mod breathing;
mod choose;
mod columns;
#[path = "../common/mod.rs"]
mod common;
mod common_options;
mod compare;
mod csv_convention;
mod docs;
mod docs_commands;
mod dyno;
mod dyno_knock;
mod dyno_ways;
mod fit;
mod fuel;
mod fueling;
mod goal;
mod places;
mod report;
mod spark;
mod spark_window;
mod us_units;
mod view;
mod volumes;
