//! An engine in Rust from a few values, estimated on two fuels.
#![allow(clippy::print_stdout, reason = "an example prints")]

use endgas::air::Weather;
use endgas::engine::volumes::SEATED_LATER_DEG;
use endgas::engine::{Build, BuildKind, Geometry, PeakSpeeds, Valves};
use endgas::estimate::{Job, estimate};
use endgas::fuel::FuelLibrary;
use endgas::units::CompressionRatio;

/// Prints wheel power and knock margin.
pub fn main() -> Result<(), Box<dyn std::error::Error>> {
    let geometry = Geometry {
        cylinders: 4,
        bore_m: 0.0875,
        stroke_m: 0.083,
        rod_length_m: 0.140,
        pin_offset_m: 0.0,
        compression_ratio: CompressionRatio::new(11.5)?,
    };
    let valves = Valves {
        inlet_count: 2,
        inlet_diameter_m: 0.035,
        exhaust_count: 2,
        exhaust_diameter_m: 0.030,
        mean_flow_coefficient: 0.42,
        inlet_closes_deg_abdc: 60.0,
        exhaust_opens_deg_bbdc: 55.0,
        overlap_deg: 35.0,
        inlet_seats_later_deg: SEATED_LATER_DEG,
    };
    // Chamber, burn, friction and driveline are as is usual; change the fields that you know better.
    let build = Build::of_kind(BuildKind::SportFourValve, geometry, valves, PeakSpeeds::Power(7400.0));
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
