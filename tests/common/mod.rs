//! Shared by the tests: builds, jobs, invented pulls, tables, and the program as it is run.
#![allow(dead_code, reason = "each test binary uses its own part")]

pub mod bench;
pub mod bisect;
pub mod browser;
pub mod cases;
pub mod cli;
pub mod engines;
pub mod job;
pub mod kept;
pub mod live;
pub mod otto;
pub mod pull_file;
pub mod pulls;
pub mod random_fuel;
pub mod tables;
pub mod workbook;
