//! Quantities as a person types them: a number with its unit, such as "300 hp" or "29.2 inHg"; a compression ratio.

use crate::air::standard_atmosphere_pressure_pa;
use crate::printable::printable;
use crate::units::stated::{AIR_PRESSURE, AIR_TEMPERATURE, ALTITUDE, SHARE_PERCENT, WHEEL_POWER};
use crate::units::{Allowed, CompressionRatio, OutOfRange, TypedFault, Unit, split_number};

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
    #[error("{what} of {found:.4} {} is outside {}", allowed.unit, allowed.ends())]
    Outside {
        /// The quantity.
        what: &'static str,
        /// The value, in the unit of what is allowed.
        found: f64,
        /// What is allowed.
        allowed: Allowed,
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

/// A quantity that may be typed in several units.
pub struct TypedQuantity {
    /// Name in a message.
    what: &'static str,
    /// How to write it.
    example: &'static str,
    /// What is allowed, in the unit of messages.
    allowed: Allowed,
}

/// Temperature of the air.
pub const TEMPERATURE: TypedQuantity =
    TypedQuantity { what: "air temperature", example: "\"35 C\" or \"95 F\"", allowed: AIR_TEMPERATURE };
/// Pressure of the air.
pub const PRESSURE: TypedQuantity =
    TypedQuantity { what: "air pressure", example: "\"98 kPa\" or \"29.2 inHg\"", allowed: AIR_PRESSURE };
/// Relative humidity.
pub const HUMIDITY: TypedQuantity =
    TypedQuantity { what: "relative humidity", example: "\"60 %\"", allowed: SHARE_PERCENT };
/// Altitude, for the pressure there.
pub const HEIGHT: TypedQuantity =
    TypedQuantity { what: "altitude", example: "\"1500 m\" or \"5000 ft\"", allowed: ALTITUDE };
/// Power at the wheels.
pub const POWER: TypedQuantity = TypedQuantity {
    what: "wheel power",
    example: "\"300 hp\", \"220 kW\" or \"300 PS\" (metric)",
    allowed: WHEEL_POWER,
};

impl TypedQuantity {
    /// How to write it and what is allowed, for the help of an option.
    pub fn help(&self) -> String {
        format!("as {}; {}", self.example, self.allowed.ends())
    }

    /// What was typed, in the unit of what is allowed.
    ///
    /// # Errors
    /// [`TypedError`]: no number, no known unit, or outside the range.
    pub fn read(&self, typed: &str) -> Result<f64, TypedError> {
        let Self { what, example, allowed } = self;
        let found = allowed.typed(typed).map_err(|fault| match fault {
            TypedFault::NoNumber => TypedError::NoNumber { what, example },
            TypedFault::NoUnit | TypedFault::Unit => {
                let (found, units) = (split_number(typed).1.to_owned(), Unit::listed(allowed.unit.family()));
                TypedError::Unit { what, found, units, example }
            }
        })?;
        if !allowed.range().contains(&found) {
            return Err(TypedError::Outside { what, found, allowed: *allowed });
        }
        Ok(found)
    }

    /// What was typed, in the unit used inside.
    ///
    /// # Errors
    /// As [`Self::read`].
    pub fn si(&self, typed: &str) -> Result<f64, TypedError> {
        self.read(typed).map(|value| self.allowed.unit.to_si(value))
    }
}

/// Pressure of the standard atmosphere at a typed [`HEIGHT`] [Pa].
///
/// # Errors
/// [`TypedError`]: no number, no known unit, or outside the range.
pub fn altitude_as_pa(typed: &str) -> Result<f64, TypedError> {
    Ok(standard_atmosphere_pressure_pa(HEIGHT.read(typed)?)?)
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
        assert_relative_eq!(TEMPERATURE.si("95 F").unwrap(), 308.15, epsilon = 1e-9);
        assert_relative_eq!(TEMPERATURE.si(" -5C").unwrap(), 268.15, epsilon = 1e-9);
        assert_relative_eq!(PRESSURE.si("29.2 inHg").unwrap(), 98_882.6, epsilon = 0.5);
        assert_relative_eq!(PRESSURE.si("980 hPa").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(PRESSURE.si("0.98 bar").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(HUMIDITY.si("60%").unwrap(), 0.6, epsilon = 1e-12);
        assert_relative_eq!(altitude_as_pa("5000 ft").unwrap(), 84_307.0, max_relative = 2e-5);
        assert_relative_eq!(POWER.read("300 hp").unwrap(), 223.71, max_relative = 1e-5);
        assert_relative_eq!(POWER.read("300 PS").unwrap(), 220.65, max_relative = 1e-5);
        assert_relative_eq!(POWER.read(" 220kW ").unwrap(), 220.0, max_relative = 1e-12);
    }

    #[test]
    fn what_is_not_understood_is_told() {
        for (quantity, typed, why) in [
            (TEMPERATURE, "35", "has no unit; units are C, F"),
            (TEMPERATURE, "300 kPa", "is not given in 'kPa'"),
            (TEMPERATURE, "95 C", "air temperature of 95.0000 C is outside -20 to 50 C"),
            (PRESSURE, "30 kPa", "outside 50 to 110 kPa"),
            (HUMIDITY, "sixty %", "a number with its unit, such as \"60 %\""),
            (HEIGHT, "20000 ft", "outside -400 to 5000 m"),
            (HEIGHT, "1-2 m", "a number with its unit"),
            (POWER, "300", "has no unit; units are kW, hp, PS"),
            (POWER, "300 W", "is not given in 'W'"),
            (POWER, "0 hp", "wheel power of 0.0000 kW is outside 2 to 2000 kW"),
            (POWER, "-5 kW", "outside 2 to 2000 kW"),
            (POWER, "1e9 kW", "is not given in 'e9 kW'"),
            (POWER, "NaN kW", "a number with its unit"),
        ] {
            let said = quantity.read(typed).unwrap_err().to_string();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
