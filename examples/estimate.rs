//! An engine in Rust from a few values, estimated on two fuels.
#![allow(clippy::print_stdout, reason = "an example prints")]

use endgas::engine::{Breathing, Build, BuildKind, Geometry, PeakSpeeds};
use endgas::estimate::{FuelChoice, estimate};
use endgas::fuel::FuelLibrary;
use endgas::scenario;
use endgas::units::CompressionRatio;

/// Prints wheel power and knock margin.
pub fn main() -> Result<(), Box<dyn std::error::Error>> {
    let library = FuelLibrary::shipped()?;
    // What is not said below is as in the built-in example: valves, chamber, driveline, weather.
    let demo = scenario::read("demo", scenario::DEMO)?;
    let mut job = demo.job(&library, 100, 1)?;
    job.build = Build {
        geometry: Geometry {
            cylinders: 4,
            bore_m: 0.0875,
            stroke_m: 0.083,
            compression_ratio: CompressionRatio::new(11.5)?,
            ..job.build.geometry
        },
        breathing: Breathing::Band { kind: BuildKind::SportFourValve, peaks: PeakSpeeds::Power(7400.0) },
        ..job.build
    };
    job.speeds_rpm = (5..=15).map(|i| 500.0 * f64::from(i)).collect();
    job.fuels = ["premium-91", "e85"]
        .into_iter()
        .map(|name| Ok(FuelChoice { fuel: library.resolve(name)?, lambda: None }))
        .collect::<Result<_, endgas::fuel::FuelError>>()?;
    for fuel in &estimate(&job)?.fuels {
        let (power, worst) = (fuel.peak_power.wheel, &fuel.curve[fuel.tightest_index]);
        println!(
            "{}: {:.0} / {:.0} / {:.0} kW at the wheels at the likely limit; knock margin {:+.1} at {:.0} rpm",
            fuel.name, power.low, power.likely, power.high, worst.octane_margin, worst.speed_rpm
        );
    }
    Ok(())
}
