//! Jobs from scenario text.

use endgas::estimate::Job;
use endgas::fuel::FuelLibrary;
use endgas::scenario::{self, DEMO};

/// The job of a scenario. What it says of a choice is left out: it names fuels of its own list, which a test may change.
pub fn from_text(text: &str) -> Job {
    let text = match (text.find("\n[choose]"), text.find("\n[limits]")) {
        (Some(from), Some(to)) => format!("{}{}", &text[..from], &text[to..]),
        _ => text.to_owned(),
    };
    let scenario = scenario::read("test", &text).unwrap();
    scenario.job(&FuelLibrary::shipped().unwrap(), 400, 1).unwrap()
}

pub fn demo() -> Job {
    from_text(DEMO)
}
