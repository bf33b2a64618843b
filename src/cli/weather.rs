//! The air of the day as typed.

use super::typed::Quantity;
use endgas::air::standard_atmosphere_pressure_pa;
use endgas::scenario::WeatherInput;
use endgas::units::{
    M_PER_INCH, PA_PER_BAR, PA_PER_INCH_OF_MERCURY, celsius_to_k, fahrenheit_to_k, k_to_celsius,
};

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

/// Air temperature [K].
pub(super) fn temperature_k(typed: &str) -> Result<f64, String> {
    TEMPERATURE.read(typed).map(celsius_to_k)
}

/// Air pressure [Pa].
pub(super) fn pressure_pa(typed: &str) -> Result<f64, String> {
    PRESSURE.read(typed).map(|kpa| kpa * 1e3)
}

/// Relative humidity [-].
pub(super) fn humidity(typed: &str) -> Result<f64, String> {
    HUMIDITY.read(typed).map(|percent| percent / 100.0)
}

/// Pressure of the standard atmosphere at an altitude [Pa].
pub(super) fn altitude_as_pa(typed: &str) -> Result<f64, String> {
    ALTITUDE.read(typed).and_then(|m| standard_atmosphere_pressure_pa(m).map_err(|error| error.to_string()))
}

/// The air pressure of the options, in place of the scenario's.
#[derive(clap::Args, Clone, Copy, Debug)]
pub(super) struct PressureArgs {
    /// Air pressure in place of the scenario's, as "98 kPa" or "29.2 inHg"; 50 to 110 kPa, not
    /// reduced to sea level
    #[arg(long, value_name = "PRESSURE", value_parser = pressure_pa, conflicts_with = "altitude")]
    pressure: Option<f64>,

    /// Altitude, as "1500 m" or "5000 ft", for the pressure of the standard atmosphere there; -400
    /// to 5000 m
    #[arg(long, value_name = "ALTITUDE", value_parser = altitude_as_pa, allow_hyphen_values = true)]
    altitude: Option<f64>,
}

impl PressureArgs {
    /// The pressure with what was typed put in [Pa].
    pub(super) fn over(&self, pressure_pa: f64) -> f64 {
        self.typed().unwrap_or(pressure_pa)
    }

    /// The pressure that was typed [Pa].
    fn typed(&self) -> Option<f64> {
        self.pressure.or(self.altitude)
    }
}

/// The air of the day of the options, in place of the scenario's.
#[derive(clap::Args, Clone, Copy, Debug)]
pub(super) struct WeatherArgs {
    /// Air temperature in place of the scenario's, as "35 C" or "95 F"; -20 to 50 C
    #[arg(long, value_name = "TEMPERATURE", value_parser = temperature_k, allow_hyphen_values = true)]
    air_temp: Option<f64>,

    #[command(flatten)]
    pressure: PressureArgs,

    /// Relative humidity in place of the scenario's, as "60 %"; 0 to 100 %
    #[arg(long, value_name = "HUMIDITY", value_parser = humidity)]
    humidity: Option<f64>,
}

impl WeatherArgs {
    /// Whether the air temperature was typed, and whether its pressure was.
    pub(super) fn states(&self) -> (bool, bool) {
        (self.air_temp.is_some(), self.pressure.typed().is_some())
    }

    /// The day with what was typed put in.
    pub(super) fn over(&self, day: WeatherInput) -> WeatherInput {
        WeatherInput {
            temperature_k: self.air_temp.unwrap_or(day.temperature_k),
            pressure_pa: self.pressure.over(day.pressure_pa),
            relative_humidity: self.humidity.unwrap_or(day.relative_humidity),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 95 F = 35 C = 308.15 K; 29.2 in of mercury = 98.88 kPa; 5000 ft = 1524 m, where the standard
    /// atmosphere has 101325 (1 - 2.25577e-5 1524)^5.25588 = 84 307 Pa.
    #[test]
    fn units_are_read() {
        assert_relative_eq!(temperature_k("95 F").unwrap(), 308.15, epsilon = 1e-9);
        assert_relative_eq!(temperature_k(" -5C").unwrap(), 268.15, epsilon = 1e-9);
        assert_relative_eq!(pressure_pa("29.2 inHg").unwrap(), 98_882.6, epsilon = 0.5);
        assert_relative_eq!(pressure_pa("980 hPa").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(pressure_pa("0.98 bar").unwrap(), 98_000.0, epsilon = 1e-6);
        assert_relative_eq!(humidity("60%").unwrap(), 0.6, epsilon = 1e-12);
        assert_relative_eq!(altitude_as_pa("5000 ft").unwrap(), 84_307.0, max_relative = 2e-5);
    }

    #[test]
    fn what_is_not_understood_is_told() {
        for (read, typed, why) in [
            (temperature_k as fn(&str) -> Result<f64, String>, "35", "has no unit; units are C, F"),
            (temperature_k, "300 K", "is not given in 'K'"),
            (temperature_k, "95 C", "air temperature of 95.0000 C is outside -20 to 50 C"),
            (pressure_pa, "30 kPa", "outside 50 to 110 kPa"),
            (humidity, "sixty %", "a number with its unit, such as \"60 %\""),
            (altitude_as_pa, "20000 ft", "outside -400 to 5000 m"),
            (altitude_as_pa, "1-2 m", "a number with its unit"),
        ] {
            let said = read(typed).unwrap_err();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
