//! Conversions at the edges of the program, and the few newtypes that guard silent mix-ups.

pub mod stated;
mod unit;

pub(crate) use unit::rounded;
pub use unit::{Allowed, TypedFault, Unit, split_number};

use crate::constants::ZERO_CELSIUS_K;
use std::ops::RangeInclusive;

/// A value was outside the range in which it has a meaning.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{what} = {value} is outside {low} to {high}")]
pub struct OutOfRange {
    /// The quantity, in words.
    pub what: &'static str,
    /// The value that was found.
    pub value: f64,
    /// Lowest allowed value.
    pub low: f64,
    /// Highest allowed value.
    pub high: f64,
}

pub(crate) fn checked(
    what: &'static str,
    value: f64,
    range: &RangeInclusive<f64>,
) -> Result<f64, OutOfRange> {
    if range.contains(&value) {
        Ok(value)
    } else {
        Err(OutOfRange { what, value, low: *range.start(), high: *range.end() })
    }
}

/// Geometric compression ratio [-]: cylinder volume at bottom over volume at top dead centre.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct CompressionRatio(f64);

impl CompressionRatio {
    /// Ratios the model is meant for.
    pub const RANGE: RangeInclusive<f64> = 6.0..=18.0;

    /// Checks the ratio against [`Self::RANGE`].
    ///
    /// # Errors
    /// [`OutOfRange`] when it is outside or not a number.
    pub fn new(value: f64) -> Result<Self, OutOfRange> {
        checked("compression ratio", value, &Self::RANGE).map(Self)
    }

    /// A ratio written in the program: one outside [`Self::RANGE`] does not compile in a constant.
    pub(crate) const fn written(value: f64) -> Self {
        assert!(*Self::RANGE.start() <= value && value <= *Self::RANGE.end());
        Self(value)
    }

    /// The bare number [-].
    pub fn get(self) -> f64 {
        self.0
    }
}

/// Air-fuel equivalence ratio lambda [-]: actual air over stoichiometric air; below 1 is rich.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Lambda(f64);

impl Lambda {
    /// Mixtures the model is meant for.
    pub const RANGE: RangeInclusive<f64> = 0.70..=1.30;

    /// Checks lambda against [`Self::RANGE`].
    ///
    /// # Errors
    /// [`OutOfRange`] when it is outside or not a number.
    pub fn new(value: f64) -> Result<Self, OutOfRange> {
        checked("lambda", value, &Self::RANGE).map(Self)
    }

    /// The bare number [-].
    pub fn get(self) -> f64 {
        self.0
    }
}

/// Pascals in a bar, exact.
pub const PA_PER_BAR: f64 = 1.0e5;
/// Watts in one mechanical horsepower (550 ft lbf/s), exact to the digits given (NIST SP 811).
pub const W_PER_HP: f64 = 745.699_872;
/// Watts in one metric horsepower (75 kgf m/s), exact (NIST SP 811, appendix B).
pub const W_PER_PS: f64 = 735.498_75;
/// Newton metres in one pound-force foot (NIST SP 811).
pub const NM_PER_LBF_FT: f64 = 1.355_817_948;
/// Metres in one inch, exact.
pub const M_PER_INCH: f64 = 0.0254;
/// One inch of water, conventional [Pa] (NIST SP 811, appendix B).
pub const PA_PER_INCH_OF_WATER: f64 = 249.088_91;
/// One inch of mercury, conventional [Pa] (NIST SP 811, appendix B).
pub const PA_PER_INCH_OF_MERCURY: f64 = 3_386.389;
/// One cubic foot per minute [m3/s].
pub const M3_PER_S_PER_CFM: f64 = 1_728.0 * M_PER_INCH * M_PER_INCH * M_PER_INCH / 60.0;
/// Pascals in one pound-force per square inch (NIST SP 811).
pub const PA_PER_PSI: f64 = 6_894.757_293;
/// Newton metres in one kilogram-force metre, exact (NIST SP 811).
pub const NM_PER_KGF_M: f64 = 9.806_65;
/// Kilograms in one avoirdupois pound, exact (NIST SP 811; from memory).
pub const KG_PER_LB: f64 = 0.453_592_37;
/// Pascals in one conventional millimetre of mercury (NIST SP 811, appendix B; from memory).
pub const PA_PER_MM_OF_MERCURY: f64 = 133.322_4;

/// Cubic metres in a litre, exact.
pub const M3_PER_L: f64 = 1.0e-3;
/// Cubic metres in a US liquid gallon, exact (231 cubic inches; NIST SP 811).
pub const M3_PER_GALLON: f64 = 3.785_411_784e-3;
/// Joules in one international-table British thermal unit (NIST SP 811).
pub const J_PER_BTU: f64 = 1_055.055_852_62;
/// Air-fuel ratio that most meters show at lambda 1, whatever the fuel [-] (common practice, no source).
pub const GAUGE_AFR_STOICH: f64 = 14.7;

/// Angular speed of a crank [rad/s] from revolutions per minute.
pub fn rpm_to_rad_per_s(speed_rpm: f64) -> f64 {
    speed_rpm * std::f64::consts::PI / 30.0
}

/// Degrees Celsius to kelvin.
pub fn celsius_to_k(temperature_c: f64) -> f64 {
    temperature_c + ZERO_CELSIUS_K
}

/// Kelvin to degrees Celsius.
pub fn k_to_celsius(temperature_k: f64) -> f64 {
    temperature_k - ZERO_CELSIUS_K
}

/// Degrees Fahrenheit to kelvin.
pub fn fahrenheit_to_k(temperature_f: f64) -> f64 {
    (temperature_f - 32.0) / 1.8 + ZERO_CELSIUS_K
}

/// Kelvin to degrees Fahrenheit.
pub fn k_to_fahrenheit(temperature_k: f64) -> f64 {
    (temperature_k - ZERO_CELSIUS_K) * 1.8 + 32.0
}

/// Power of a torque [N m] at an engine speed [rpm], in kW.
pub fn power_of_torque_kw(torque_nm: f64, speed_rpm: f64) -> f64 {
    torque_nm * speed_rpm * std::f64::consts::PI / 30.0 / 1000.0
}

/// Torque of a power [kW] at an engine speed [rpm], in N m.
pub fn torque_of_power_nm(power_kw: f64, speed_rpm: f64) -> f64 {
    power_kw * 1000.0 * 30.0 / (speed_rpm * std::f64::consts::PI)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Each factor against the definition of its unit from others, NIST SP 811 appendix B.
    #[test]
    fn factors_agree_with_the_definitions_of_their_units() {
        let foot_m = 12.0 * M_PER_INCH;
        let pound_force_n = NM_PER_LBF_FT / foot_m;
        assert_relative_eq!(W_PER_HP, 550.0 * NM_PER_LBF_FT, max_relative = 1e-9);
        assert_relative_eq!(W_PER_PS, 75.0 * NM_PER_KGF_M, max_relative = 1e-12);
        assert_relative_eq!(PA_PER_PSI, pound_force_n / M_PER_INCH.powi(2), max_relative = 1e-9);
        assert_relative_eq!(pound_force_n, KG_PER_LB * 9.806_65, max_relative = 1e-9);
        assert_relative_eq!(PA_PER_INCH_OF_MERCURY, 25.4 * PA_PER_MM_OF_MERCURY, max_relative = 1e-6);
        // Conventional water weighs 1000 kg/m3.
        assert_relative_eq!(PA_PER_INCH_OF_WATER, 9.806_65 * 1e3 * M_PER_INCH, max_relative = 1e-7);
        assert_relative_eq!(M3_PER_GALLON, 231.0 * M_PER_INCH.powi(3), max_relative = 1e-12);
        assert_relative_eq!(M3_PER_S_PER_CFM, foot_m.powi(3) / 60.0, max_relative = 1e-12);
    }

    /// HAND: fixed points of the scales, and a crank that turns once a second.
    #[test]
    fn conversions_pass_through_their_fixed_points() {
        for (fahrenheit, celsius, kelvin) in
            [(32.0, 0.0, 273.15), (212.0, 100.0, 373.15), (-40.0, -40.0, 233.15)]
        {
            assert_relative_eq!(fahrenheit_to_k(fahrenheit), kelvin, max_relative = 1e-12);
            assert_relative_eq!(k_to_fahrenheit(kelvin), fahrenheit, max_relative = 1e-12);
            assert_relative_eq!(celsius_to_k(celsius), kelvin, max_relative = 1e-12);
            assert_relative_eq!(k_to_celsius(kelvin), celsius, epsilon = 1e-12);
        }
        assert_relative_eq!(rpm_to_rad_per_s(60.0), std::f64::consts::TAU, max_relative = 1e-12);
        // 5252 rpm: lbf ft and hp show the same number, 33 000 / (2 pi).
        let crossing_rpm = 33_000.0 / std::f64::consts::TAU;
        let power_kw = power_of_torque_kw(100.0 * NM_PER_LBF_FT, crossing_rpm);
        assert_relative_eq!(power_kw * 1e3 / W_PER_HP, 100.0, max_relative = 1e-9);
        assert_relative_eq!(
            torque_of_power_nm(power_kw, crossing_rpm),
            100.0 * NM_PER_LBF_FT,
            max_relative = 1e-12
        );
    }
}
