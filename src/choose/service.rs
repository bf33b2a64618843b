//! Service conditions: what the engine meets beside the day of the dynamometer.

use crate::air::Weather;
use crate::estimate::Job;
use crate::knock::Deposits;

/// Conditions in which the limits must be kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Service {
    /// Air of the hot day.
    pub weather: Weather,
    /// Whether that day was stated.
    pub weather_stated: bool,
    /// Deposits that the engine will have, where those of the job are less.
    pub deposits: Deposits,
    /// Octane numbers that a weak tank lies below the posted number [-], 0 to 10.
    pub weak_tank_octane: f64,
    /// How much hotter than the air outside the intake draws it when soaked with heat or towing [K], 0 to 40.
    pub heat_soak_k: f64,
}

impl Service {
    /// Usual hot day [K]: the dry bulb temperature that warm regions exceed in 0.4 % of the year, 35 hours. The percentile is
    /// that of the annual cooling design conditions of the ASHRAE Handbook, Fundamentals, ch. "Climatic design
    /// information"; the temperature, that of the warmer large cities of the United States, is from memory. Stations
    /// differ: look up your own.
    pub const USUAL_TEMPERATURE_K: f64 = 308.15;
    /// Relative humidity of that day [-]: the mean wet bulb that goes with such temperatures lies at some 22 C (from
    /// memory, as above).
    pub const USUAL_HUMIDITY: f64 = 0.30;
    /// Usual weakness of a tank [octane numbers]: the reproducibility of the research octane number of pump gasoline, ASTM
    /// D2699 (from memory): a tank that tests this much low is still sold as what the pump says.
    pub const USUAL_WEAK_TANK: f64 = 0.7;
    /// Deposits that engines of the street come to; one that is rebuilt often stays clean (common practice, no source).
    pub const USUAL_DEPOSITS: Deposits = Deposits::Usual;
    /// One grade at the pump [octane numbers]: 87, 89, 91 AKI (common practice, no source).
    pub const GRADE_OCTANE: f64 = 2.0;

    /// What holds when nothing is stated: the usual hot day at the air pressure of a day, or a hotter day itself, usual deposits, no heat soak.
    pub fn usual(day: &Weather) -> Self {
        Self {
            weather: if day.temperature_k > Self::USUAL_TEMPERATURE_K {
                *day
            } else {
                let (temperature_k, relative_humidity) = (Self::USUAL_TEMPERATURE_K, Self::USUAL_HUMIDITY);
                Weather { temperature_k, relative_humidity, ..*day }
            },
            weather_stated: false,
            deposits: Self::USUAL_DEPOSITS,
            weak_tank_octane: Self::USUAL_WEAK_TANK,
            heat_soak_k: 0.0,
        }
    }

    /// Deposits that a job is judged with: the heavier of its own and these.
    pub(super) fn deposits_of(&self, job: &Job) -> Deposits {
        let own = job.knock.deposits;
        if self.deposits.octane() > own.octane() { self.deposits } else { own }
    }

    /// A job in these conditions. Heated air keeps its water.
    pub fn job(&self, job: &Job) -> Job {
        let mut job = job.clone();
        job.weather = heated(self.weather, self.heat_soak_k);
        job.knock.deposits = self.deposits_of(&job);
        job.knock.weak_tank_octane += self.weak_tank_octane;
        job
    }
}

/// Air heated at its pressure, with the water it had, up to the hottest that is allowed.
pub(super) fn heated(air: Weather, by_k: f64) -> Weather {
    let temperature_k = (air.temperature_k + by_k).min(*Weather::TEMPERATURE_RANGE_K.end());
    let hot = Weather { temperature_k, relative_humidity: 1.0, ..air };
    let relative_humidity = (air.vapour_pressure_pa() / hot.vapour_pressure_pa()).min(1.0);
    Weather { relative_humidity, ..hot }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heated_air_keeps_its_water() {
        let air = Weather::new(298.15, 99e3, 0.4).unwrap();
        let hot = heated(air, 15.0);
        assert!((hot.temperature_k - 313.15).abs() < 1e-12);
        assert!((hot.humidity_ratio() - air.humidity_ratio()).abs() < 1e-12);
        assert_eq!(heated(air, 0.0), air);
        assert_eq!(heated(air, 100.0).temperature_k, *Weather::TEMPERATURE_RANGE_K.end());
    }
}
