//! Jobs from scenario text.
#![allow(dead_code, reason = "each test binary uses its own part")]

use endgas::estimate::Job;
use endgas::fuel::FuelLibrary;
use endgas::scenario::{self, DEMO};

pub fn from_text(text: &str) -> Job {
    let scenario = scenario::read("test", text).unwrap();
    scenario.job(&FuelLibrary::shipped().unwrap(), 400, 1).unwrap()
}

pub fn demo() -> Job {
    from_text(DEMO)
}
