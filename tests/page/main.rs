//! The report page and the live page.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stderr, reason = "figures and what was skipped are for a person to read")]

#[path = "../common/mod.rs"]
mod common;
mod live_browser;
mod live_questions;
mod live_server;
mod live_settings;
mod report_browser;
mod report_page;
mod reports;
