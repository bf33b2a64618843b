//! A build from what a catalogue says, the rest as is usual.

use super::{
    Breathing, Build, BuildKind, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind,
    Injection, Layout, Limits, PeakSpeeds, Valves,
};

impl Build {
    /// A liquid-cooled build of a kind with port injection, rear-wheel drive and a manual gearbox.
    ///
    /// The chamber is a pent roof where a cylinder has more than one inlet valve, else a wedge; burn, wall heat and friction
    /// are those that a scenario takes when it states none. Change the fields that are known better.
    ///
    /// # Arguments
    /// - `kind`: from which volumetric efficiency and its band follow
    /// - `peaks`: where torque and power peak
    ///
    /// # Example
    /// An invented four-cylinder on 91 AKI, with few samples:
    /// ```
    /// use endgas::air::Weather;
    /// use endgas::engine::volumes::SEATED_LATER_DEG;
    /// use endgas::engine::{Build, BuildKind, Geometry, PeakSpeeds, Valves};
    /// use endgas::estimate::{Job, estimate};
    /// use endgas::fuel::FuelLibrary;
    /// use endgas::units::CompressionRatio;
    ///
    /// let geometry = Geometry {
    ///     cylinders: 4,
    ///     bore_m: 0.086,
    ///     stroke_m: 0.086,
    ///     rod_length_m: 0.140,
    ///     pin_offset_m: 0.0,
    ///     compression_ratio: CompressionRatio::new(10.5)?,
    /// };
    /// let valves = Valves {
    ///     inlet_count: 2,
    ///     inlet_diameter_m: 0.033,
    ///     exhaust_count: 2,
    ///     exhaust_diameter_m: 0.028,
    ///     mean_flow_coefficient: 0.40,
    ///     inlet_closes_deg_abdc: 48.0,
    ///     exhaust_opens_deg_bbdc: 42.0,
    ///     overlap_deg: 14.0,
    ///     inlet_seats_later_deg: SEATED_LATER_DEG,
    /// };
    /// let peaks = PeakSpeeds::Both { torque_rpm: 4500.0, power_rpm: 6200.0 };
    /// let build = Build::of_kind(BuildKind::ProductionFourValve, geometry, valves, peaks);
    /// let library = FuelLibrary::shipped()?;
    /// let day = Weather::new(298.15, 99e3, 0.4)?;
    /// let mut job = Job::new(build, day, vec![library.resolve("premium-91")?], vec![4500.0, 6200.0])?;
    /// job.samples = 40;
    /// let power_kw = estimate(&job)?.fuels[0].peak_power.wheel;
    /// assert!(70.0 < power_kw.low && power_kw.high < 130.0, "{power_kw:?}");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn of_kind(kind: BuildKind, geometry: Geometry, valves: Valves, peaks: PeakSpeeds) -> Self {
        let chamber = if valves.has_several_inlets() { Chamber::PentRoof } else { Chamber::Wedge };
        Self {
            geometry,
            valves,
            breathing: Breathing::Band { kind, peaks, closes_deg_abdc: valves.inlet_closes_deg_abdc },
            injection: Injection::Port,
            combustion: Combustion {
                chamber,
                burn_speed: 1.0,
                heat_law: HeatLawKind::default(),
                heat_factor: 1.0,
                wall_temperature_k: Cooling::USUAL.usual_wall_temperature_k(),
                cooling: Cooling::USUAL,
            },
            friction: FrictionLaw::ChenFlynn,
            driveline: Driveline {
                layout: Layout::RearManual,
                measured_loss: None,
                measured_loss_spread: None,
            },
            limits: Limits::default(),
        }
    }
}
