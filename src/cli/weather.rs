//! The air of the day as typed.

use endgas::scenario::WeatherInput;
use endgas::scenario::typed::{HEIGHT, HUMIDITY, PRESSURE, TEMPERATURE, altitude_as_pa};

/// The air pressure of the options, in place of the scenario's.
#[derive(clap::Args, Clone, Copy, Debug)]
pub(super) struct PressureArgs {
    #[arg(long, value_name = "PRESSURE", value_parser = |typed: &str| PRESSURE.si(typed), conflicts_with = "altitude",
        help = format!("Air pressure in place of the scenario's, {}, not reduced to sea level", PRESSURE.help()))]
    pressure: Option<f64>,

    #[arg(long, value_name = "ALTITUDE", value_parser = altitude_as_pa, allow_hyphen_values = true,
        help = format!("Altitude for the pressure of the standard atmosphere there, {}", HEIGHT.help()))]
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
    #[arg(long, value_name = "TEMPERATURE", value_parser = |typed: &str| TEMPERATURE.si(typed), allow_hyphen_values = true,
        help = format!("Air temperature in place of the scenario's, {}", TEMPERATURE.help()))]
    air_temp: Option<f64>,

    #[command(flatten)]
    pressure: PressureArgs,

    #[arg(long, value_name = "HUMIDITY", value_parser = |typed: &str| HUMIDITY.si(typed),
        help = format!("Relative humidity in place of the scenario's, {}", HUMIDITY.help()))]
    humidity: Option<f64>,
}

impl WeatherArgs {
    /// Whether the air temperature was typed, and whether its pressure was.
    pub(super) fn states(&self) -> (bool, bool) {
        (self.air_temp.is_some(), self.pressure.typed().is_some())
    }

    /// Whether anything was typed.
    pub(super) fn is_stated(&self) -> bool {
        let (temperature, pressure) = self.states();
        temperature || pressure || self.humidity.is_some()
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
