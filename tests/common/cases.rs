//! How many cases a property is tried on, and which.

use proptest::test_runner::{Config, RngSeed};

/// As many cases as usual and the same at every run, so that a check of the whole does not fail by luck. With `PROPTEST_CASES`
/// set, so many over `cost`, drawn anew.
///
/// # Arguments
/// - `usual`: cases without it
/// - `cost`: how much dearer one case is than that of a cheap property
pub fn cases(usual: u32, cost: u32) -> Config {
    let asked = std::env::var("PROPTEST_CASES").ok().and_then(|text| text.parse::<u32>().ok());
    match asked {
        Some(asked) => Config { cases: (asked / cost).max(1), ..Config::default() },
        None => Config { cases: usual, rng_seed: RngSeed::Fixed(1), ..Config::default() },
    }
}
