//! Compression pressure that a gauge may show while the starter turns the engine.

use schemars::JsonSchema;
use serde::Serialize;

/// Polytropic exponents of compression at cranking speed [-], low, likely, high: below the 1.4 of
/// air without losses, for heat goes to cold walls and charge past rings and valves.
///
/// Source of the range 1.2 to 1.3: encyclopedia article "Compression ratio", section on the dynamic
/// ratio (read). The middle is common practice, no source.
pub const CRANKING_EXPONENTS: [f64; 3] = [1.20, 1.25, 1.30];

/// How much later than at the stated lift of about 1 mm the inlet valve stops leaking at cranking speed
/// [deg], where no cam card says it: there is time to flow through the last tenths of lift. Common practice, no source.
pub const SEATED_LATER_DEG: f64 = 15.0;

/// Compression pressure at cranking speed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CrankingPressure {
    /// Volume over clearance volume when the inlet valve has seated [-].
    pub ratio_from_seated_valve: f64,
    /// Low, absolute [Pa].
    pub low_pa: f64,
    /// Likely, absolute [Pa].
    pub likely_pa: f64,
    /// High, absolute [Pa].
    pub high_pa: f64,
    /// Low, as a gauge shows it [Pa].
    pub low_gauge_pa: f64,
    /// Likely, as a gauge shows it [Pa].
    pub likely_gauge_pa: f64,
    /// High, as a gauge shows it [Pa].
    pub high_gauge_pa: f64,
}

/// Compression pressure at cranking speed: p = p_air r^n, the cylinder filled with air of the day until
/// the inlet valve seats.
///
/// # Arguments
/// - `air_pressure_pa`: absolute pressure [Pa]
/// - `ratio_from_seated_valve`: cylinder volume when the inlet valve seats over clearance volume [-]
///
/// # Validity
/// Warm engine, throttle open, all plugs out, battery and rings good.
pub fn cranking_pressure(air_pressure_pa: f64, ratio_from_seated_valve: f64) -> CrankingPressure {
    let [low_pa, likely_pa, high_pa] =
        CRANKING_EXPONENTS.map(|n| air_pressure_pa * ratio_from_seated_valve.powf(n));
    CrankingPressure {
        ratio_from_seated_valve,
        low_pa,
        likely_pa,
        high_pa,
        low_gauge_pa: low_pa - air_pressure_pa,
        likely_gauge_pa: likely_pa - air_pressure_pa,
        high_gauge_pa: high_pa - air_pressure_pa,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::PA_PER_PSI;
    use approx::assert_relative_eq;

    /// HAND: ratio 7.5, exponent 1.3: 1.3 ln 7.5 = 1.3 2.01490 = 2.61937, e^2.61937 = 13.727; at 14.7 psi
    /// that is 201.79 psi absolute and 187.09 psi on the gauge. Exponent 1.2: e^2.41788 = 11.222, 164.97 psi.
    #[test]
    fn pressures_by_hand() {
        let p = cranking_pressure(14.7 * PA_PER_PSI, 7.5);
        assert_relative_eq!(p.high_pa / PA_PER_PSI, 201.79, epsilon = 0.02);
        assert_relative_eq!(p.high_gauge_pa / PA_PER_PSI, 187.09, epsilon = 0.02);
        assert_relative_eq!(p.low_pa / PA_PER_PSI, 164.97, epsilon = 0.02);
        assert!(p.low_pa < p.likely_pa && p.likely_pa < p.high_pa);
    }

    #[test]
    fn an_open_valve_compresses_nothing() {
        let p = cranking_pressure(1.0e5, 1.0);
        assert_relative_eq!(p.low_gauge_pa, 0.0, epsilon = 1e-9);
        assert_relative_eq!(p.high_gauge_pa, 0.0, epsilon = 1e-9);
    }
}
