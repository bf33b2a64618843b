//! Jobs from scenario text.
#![allow(dead_code, reason = "each test binary uses its own part")]

use endgas::air::Weather;
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::library::FuelLibrary;
use endgas::scenario::{self, DEMO};

pub fn from_text(text: &str) -> Job {
    let s = scenario::read("test", text).unwrap();
    let library = FuelLibrary::shipped().unwrap();
    Job {
        scenario: s.name,
        note: s.note,
        build: s.build,
        weather: Weather::new(s.weather.temperature_k, s.weather.pressure_pa, s.weather.relative_humidity)
            .unwrap(),
        fuels: s
            .fuels
            .iter()
            .map(|f| FuelChoice { fuel: library.resolve(&f.spec).unwrap(), lambda: f.lambda })
            .collect(),
        reference_fuel: library.resolve("premium-91").unwrap().blend().unwrap(),
        speeds_rpm: s.speeds_rpm,
        reserve_octane: s.spark.reserve_octane,
        spark_range: SparkRange {
            earliest_deg_btdc: s.spark.earliest_deg_btdc,
            latest_deg_btdc: s.spark.latest_deg_btdc,
        },
        samples: 400,
        seed: 1,
    }
}

pub fn demo() -> Job {
    from_text(DEMO)
}
