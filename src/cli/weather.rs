//! The air of the day as typed.

use endgas::scenario::WeatherInput;
use endgas::scenario::typed::{altitude_as_pa, humidity, pressure_pa, temperature_k};

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
