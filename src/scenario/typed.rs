//! Quantities as a person types them: a number with its unit, such as "300 hp" or "29.2 inHg"; a compression ratio.

use crate::air::standard_atmosphere_pressure_pa;
use crate::goal::WHEEL_POWER_KW;
use crate::printable::printable;
use crate::units::{
    CompressionRatio, M_PER_INCH, OutOfRange, PA_PER_BAR, PA_PER_INCH_OF_MERCURY, W_PER_HP, W_PER_PS,
    celsius_to_k, fahrenheit_to_k, k_to_celsius,
};
use std::ops::RangeInclusive;

/// Why a quantity as typed is refused.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TypedError {
    /// It does not begin with a number.
    #[error("{what} is a number with its unit, such as {example}")]
    NoNumber {
        /// The quantity.
        what: &'static str,
        /// How to write it.
        example: &'static str,
    },
    /// It has no unit, or one that this quantity does not have.
    #[error("{what} {}; units are {units}, as in {example}", unit_fault(found))]
    Unit {
        /// The quantity.
        what: &'static str,
        /// The unit as typed; empty when there is none.
        found: String,
        /// Units that it takes.
        units: String,
        /// How to write it.
        example: &'static str,
    },
    /// Its value is not allowed.
    #[error("{what} of {found:.4} {unit} is outside {low} to {high} {unit}")]
    Outside {
        /// The quantity.
        what: &'static str,
        /// The value, in the first unit of the quantity.
        found: f64,
        /// That unit.
        unit: &'static str,
        /// Lowest allowed.
        low: f64,
        /// Highest allowed.
        high: f64,
    },
    /// It is no number where a bare one is wanted.
    #[error("a ratio is a number such as 12.5")]
    NoRatio,
    /// A number outside the range of what it becomes.
    #[error(transparent)]
    Range(#[from] OutOfRange),
}

fn unit_fault(found: &str) -> String {
    if found.is_empty() {
        "has no unit".to_owned()
    } else {
        format!("is not given in '{}'", printable(found))
    }
}

/// A unit as typed, and the way from it to the unit of the range.
type Way = (&'static str, fn(f64) -> f64);

/// A quantity that may be typed in several units.
struct Quantity {
    /// Name in a message.
    what: &'static str,
    /// How to write it.
    example: &'static str,
    /// Allowed values in the first unit of `units`.
    range: RangeInclusive<f64>,
    /// Units with the way to the first; the first is that of the range.
    units: &'static [Way],
}

const TEMPERATURE: Quantity = Quantity {
    what: "air temperature",
    example: "\"35 C\" or \"95 F\"",
    range: -20.0..=50.0,
    units: &[("C", |c| c), ("F", |f| k_to_celsius(fahrenheit_to_k(f)))],
};
const PRESSURE: Quantity = Quantity {
    what: "air pressure",
    example: "\"98 kPa\" or \"29.2 inHg\"",
    range: 50.0..=110.0,
    units: &[
        ("kPa", |p| p),
        ("inHg", |p| p * PA_PER_INCH_OF_MERCURY / 1e3),
        ("hPa", |p| p / 10.0),
        ("mbar", |p| p / 10.0),
        ("bar", |p| p * PA_PER_BAR / 1e3),
    ],
};
const HUMIDITY: Quantity = Quantity {
    what: "relative humidity",
    example: "\"60 %\"",
    range: 0.0..=100.0,
    units: &[("%", |percent| percent)],
};
const ALTITUDE: Quantity = Quantity {
    what: "altitude",
    example: "\"1500 m\" or \"5000 ft\"",
    range: -400.0..=5000.0,
    units: &[("m", |m| m), ("ft", |ft| ft * 12.0 * M_PER_INCH)],
};
const POWER: Quantity = Quantity {
    what: "wheel power",
    example: "\"300 hp\", \"220 kW\" or \"300 PS\"",
    range: WHEEL_POWER_KW,
    units: &[("kW", |kw| kw), ("hp", |hp| hp * W_PER_HP / 1e3), ("PS", |ps| ps * W_PER_PS / 1e3)],
};

impl Quantity {
    /// The value in the first unit.
    fn read(&self, typed: &str) -> Result<f64, TypedError> {
        let Self { what, example, range, units } = self;
        let typed = typed.trim();
        let end = typed.find(|c: char| !(c.is_ascii_digit() || "+-.".contains(c))).unwrap_or(typed.len());
        let (number, unit) = (&typed[..end], typed[end..].trim());
        let value: f64 = number.parse().map_err(|_| TypedError::NoNumber { what, example })?;
        let names: Vec<&'static str> = units.iter().map(|(name, _)| *name).collect();
        let known = units.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit));
        let Some((_, convert)) = known else {
            return Err(TypedError::Unit { what, found: unit.to_owned(), units: names.join(", "), example });
        };
        let found = convert(value);
        if !range.contains(&found) {
            let (low, high) = (*range.start(), *range.end());
            return Err(TypedError::Outside { what, found, unit: names[0], low, high });
        }
        Ok(found)
    }
}

/// Air temperature as typed, "35 C" or "95 F" [K]; -20 to 50 C.
///
/// # Errors
/// [`TypedError`]: no number, no known unit, or outside the range.
pub fn temperature_k(typed: &str) -> Result<f64, TypedError> {
    TEMPERATURE.read(typed).map(celsius_to_k)
}

/// Air pressure as typed, "98 kPa" or "29.2 inHg" [Pa]; 50 to 110 kPa.
///
/// # Errors
/// As [`temperature_k`].
pub fn pressure_pa(typed: &str) -> Result<f64, TypedError> {
    PRESSURE.read(typed).map(|kpa| kpa * 1e3)
}

/// Relative humidity as typed, "60 %" [-]; 0 to 1.
///
/// # Errors
/// As [`temperature_k`].
pub fn humidity(typed: &str) -> Result<f64, TypedError> {
    HUMIDITY.read(typed).map(|percent| percent / 100.0)
}

/// Pressure of the standard atmosphere at an altitude as typed, "1500 m" or "5000 ft" [Pa]; -400 to 5000 m.
///
/// # Errors
/// As [`temperature_k`].
pub fn altitude_as_pa(typed: &str) -> Result<f64, TypedError> {
    Ok(standard_atmosphere_pressure_pa(ALTITUDE.read(typed)?)?)
}

/// Wheel power as typed, "300 hp", "220 kW" or "300 PS" [kW]; within [`WHEEL_POWER_KW`].
///
/// # Errors
/// As [`temperature_k`].
pub fn wheel_power_kw(typed: &str) -> Result<f64, TypedError> {
    POWER.read(typed)
}

/// A compression ratio as typed, "12.5" or "12.5:1".
///
/// # Errors
/// [`TypedError::NoRatio`] or [`TypedError::Range`].
pub fn ratio(typed: &str) -> Result<CompressionRatio, TypedError> {
    let typed = typed.trim();
    let number = typed.strip_suffix(":1").unwrap_or(typed).trim();
    let value: f64 = number.parse().map_err(|_| TypedError::NoRatio)?;
    Ok(CompressionRatio::new(value)?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn a_ratio_may_end_in_to_one() {
        for typed in ["12.5", " 12.5:1 ", "12.5 :1"] {
            assert_eq!(ratio(typed), Ok(CompressionRatio::new(12.5).unwrap()), "{typed}");
        }
        for wrong in ["", ":1", "12,5", "5.9", "18.1", "NaN", "inf", "12.5:2"] {
            assert!(ratio(wrong).is_err(), "{wrong}");
        }
    }

    /// HAND: 95 F = 35 C = 308.15 K; 29.2 in of mercury = 98.88 kPa; 5000 ft = 1524 m, where the standard
    /// atmosphere has 101325 (1 - 2.25577e-5 1524)^5.25588 = 84 307 Pa; 300 hp of 745.7 W are 223.71 kW; 300 metric
    /// horsepower of 735.5 W are 220.65 kW.
    #[test]
    fn units_are_read() {
        assert_relative_eq!(temperature_k("95 F").unwrap(), 308.15, epsilon = 1e-9);
        assert_relative_eq!(temperature_k(" -5C").unwrap(), 268.15, epsilon = 1e-9);
        assert_relative_eq!(pressure_pa("29.2 inHg").unwrap(), 98_882.6, epsilon = 0.5);
        assert_relative_eq!(pressure_pa("980 hPa").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(pressure_pa("0.98 bar").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(humidity("60%").unwrap(), 0.6, epsilon = 1e-12);
        assert_relative_eq!(altitude_as_pa("5000 ft").unwrap(), 84_307.0, max_relative = 2e-5);
        assert_relative_eq!(wheel_power_kw("300 hp").unwrap(), 223.71, max_relative = 1e-5);
        assert_relative_eq!(wheel_power_kw("300 PS").unwrap(), 220.65, max_relative = 1e-5);
        assert_relative_eq!(wheel_power_kw(" 220kW ").unwrap(), 220.0, max_relative = 1e-12);
    }

    #[test]
    fn what_is_not_understood_is_told() {
        for (read, typed, why) in [
            (temperature_k as fn(&str) -> Result<f64, TypedError>, "35", "has no unit; units are C, F"),
            (temperature_k, "300 K", "is not given in 'K'"),
            (temperature_k, "95 C", "air temperature of 95.0000 C is outside -20 to 50 C"),
            (pressure_pa, "30 kPa", "outside 50 to 110 kPa"),
            (humidity, "sixty %", "a number with its unit, such as \"60 %\""),
            (altitude_as_pa, "20000 ft", "outside -400 to 5000 m"),
            (altitude_as_pa, "1-2 m", "a number with its unit"),
            (wheel_power_kw, "300", "has no unit; units are kW, hp, PS"),
            (wheel_power_kw, "300 W", "is not given in 'W'"),
            (wheel_power_kw, "0 hp", "wheel power of 0.0000 kW is outside 2 to 2000 kW"),
            (wheel_power_kw, "-5 kW", "outside 2 to 2000 kW"),
            (wheel_power_kw, "1e9 kW", "is not given in 'e9 kW'"),
            (wheel_power_kw, "NaN kW", "a number with its unit"),
        ] {
            let said = read(typed).unwrap_err().to_string();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
