//! An engine in Rust from a few values, estimated on two fuels.
#![allow(clippy::print_stdout, reason = "an example prints")]

use endgas::air::Weather;
use endgas::engine::{Build, BuildKind, Geometry, PeakSpeeds};
use endgas::estimate::{Job, estimate};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;

/// Prints wheel power and knock margin.
pub fn main() -> Result<(), Box<dyn std::error::Error>> {
    let geometry = Geometry {
        cylinders: 4,
        bore_m: 0.0875,
        stroke_m: 0.083,
        rod_length_m: Geometry::usual_rod_length_m(0.083),
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(11.5)?,
    };
    // Valves, events, chamber and driveline are as is usual of the kind; change what you know better.
    let mut build = Build::of_kind(BuildKind::SportFourValve, geometry, PeakSpeeds::Power(7400.0));
    build.valves.inlet_closes_deg_abdc = 62.0;
    build.valves.exhaust_opens_deg_bbdc = 55.0;
    build.valves.overlap_deg = 35.0;
    build.unmeasured.valve_events = false;
    let day = Weather::new(298.15, 99e3, 0.4)?;
    let library = FuelLibrary::shipped()?;
    let fuels = vec![library.resolve("premium-91")?, library.resolve("e85")?];
    let speeds_rpm = (5..=15).map(|i| 500.0 * f64::from(i)).collect();
    for fuel in &estimate(&Job::new(build, day, fuels, speeds_rpm)?)?.fuels {
        let (power, worst) = (fuel.peak_power.wheel, &fuel.curve[fuel.tightest_index]);
        println!(
            "{}: {:.0} / {:.0} / {:.0} kW at the wheels at the likely limit; knock margin {:+.1} at {:.0} rpm",
            fuel.name, power.low, power.likely, power.high, worst.octane_margin, worst.speed_rpm
        );
    }
    Ok(())
}
