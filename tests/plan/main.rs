//! What is planned before metal is cut: estimate, choice of compression, goal, fueling, measured volumes.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]

mod choose;
#[path = "../common/mod.rs"]
mod common;
mod estimate_demo;
mod fueling;
mod goal;
mod known;
mod levers;
mod octane_slope;
mod pipes;
mod practice;
mod volumes_properties;
mod volumes_reference;
