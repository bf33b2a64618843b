//! What a column of a log may hold, and the units of [`crate::units`] in which shops log it.

use crate::units::Unit;
use crate::units::stated::{AIR_PRESSURE, AIR_TEMPERATURE, SHARE_PERCENT, TIMING};
use std::ops::RangeInclusive;

/// What a column holds.
#[derive(
    Clone,
    Copy,
    Debug,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
    schemars::JsonSchema,
)]
#[serde(rename_all = "snake_case")]
pub enum Quantity {
    /// Engine speed, rpm inside.
    Speed,
    /// Speed of the vehicle, m/s inside.
    RoadSpeed,
    /// Torque referred to crank speed, N m inside.
    Torque,
    /// Power, W inside.
    Power,
    /// Air-fuel equivalence ratio.
    Lambda,
    /// Air-fuel ratio as a meter shows it.
    Afr,
    /// Air temperature, K inside.
    AirTemperature,
    /// Air pressure, Pa inside.
    Pressure,
    /// Relative humidity, a fraction inside.
    Humidity,
    /// Fuel flow by mass, kg/s inside.
    FuelFlow,
    /// Correction factor already applied to the figures.
    Factor,
    /// Ignition timing, crank degrees before top dead centre.
    Timing,
    /// Knock: a count of it, or the retard that it brought [crank deg]; 0 is quiet.
    Knock,
    /// Number or name of the pull that a row belongs to.
    Pull,
}

impl Quantity {
    /// Every quantity.
    pub const ALL: [Self; 14] = [
        Self::Speed,
        Self::RoadSpeed,
        Self::Torque,
        Self::Power,
        Self::Lambda,
        Self::Afr,
        Self::AirTemperature,
        Self::Pressure,
        Self::Humidity,
        Self::FuelFlow,
        Self::Factor,
        Self::Timing,
        Self::Knock,
        Self::Pull,
    ];

    /// Name as it is typed in an option.
    pub fn key(self) -> &'static str {
        match self {
            Self::Speed => "speed",
            Self::RoadSpeed => "road-speed",
            Self::Torque => "torque",
            Self::Power => "power",
            Self::Lambda => "lambda",
            Self::Afr => "afr",
            Self::AirTemperature => "air-temp",
            Self::Pressure => "pressure",
            Self::Humidity => "humidity",
            Self::FuelFlow => "fuel-flow",
            Self::Factor => "factor",
            Self::Timing => "timing",
            Self::Knock => "knock",
            Self::Pull => "pull",
        }
    }

    /// Units in which it may be logged; the first stands for a column that needs none.
    pub fn units(self) -> &'static [Unit] {
        match self {
            Self::Speed => &[Unit::Rpm],
            Self::RoadSpeed => &[Unit::KilometrePerHour, Unit::MilePerHour, Unit::MetrePerSecond],
            Self::Torque => &[Unit::NewtonMetre, Unit::PoundFoot, Unit::KilogramForceMetre],
            Self::Power => &[Unit::Kilowatt, Unit::Watt, Unit::Horsepower, Unit::MetricHorsepower],
            Self::Lambda | Self::Afr | Self::Factor | Self::Pull => &[Unit::Ratio],
            Self::AirTemperature => &[Unit::Celsius, Unit::Fahrenheit, Unit::Kelvin],
            Self::Pressure => &[
                Unit::Kilopascal,
                Unit::Hectopascal,
                Unit::Millibar,
                Unit::Bar,
                Unit::InchOfMercury,
                Unit::MillimetreOfMercury,
                Unit::PoundPerSquareInch,
                Unit::Pascal,
            ],
            Self::Humidity => &[Unit::Percent],
            Self::FuelFlow => {
                &[Unit::KilogramPerHour, Unit::GramPerSecond, Unit::KilogramPerSecond, Unit::PoundPerHour]
            }
            Self::Timing => &[Unit::CrankDegree],
            // A count needs no unit; a retard is in degrees.
            Self::Knock => &[Unit::Count, Unit::CrankDegree],
        }
    }

    /// Whether it is a bare number, so that a column of it needs no unit.
    pub fn is_bare(self) -> bool {
        matches!(self, Self::Lambda | Self::Afr | Self::Factor | Self::Timing | Self::Knock | Self::Pull)
    }

    /// The unit of a spelling; none when it is no unit of this quantity.
    pub fn unit(self, typed: &str) -> Option<Unit> {
        // German crank degrees, which are no kilowatts: "°KW", "°KW v. OT".
        let crank = typed.trim().trim_start_matches('°').trim_start().to_lowercase();
        let typed = match crank.strip_prefix("kw") {
            Some("" | " vor ot" | " v. ot" | " v.ot") if self == Self::Timing => "deg",
            _ => typed,
        };
        Unit::spelled(typed, self.units())
    }

    /// Names of its units, for messages.
    pub fn unit_names(self) -> String {
        Unit::listed(self.units())
    }

    /// Values that can be meant, in the unit used inside. Wide on purpose: a value outside is a wrong
    /// column, unit or decimal sign, not a surprising engine. Common practice, no source.
    pub fn range(self) -> RangeInclusive<f64> {
        match self {
            Self::Speed => 100.0..=20_000.0,
            Self::RoadSpeed => 0.0..=150.0,
            Self::Torque => -2_000.0..=5_000.0,
            Self::Power => -1.0e6..=2.0e6,
            Self::Lambda => 0.5..=2.0,
            Self::Afr => 5.0..=30.0,
            Self::AirTemperature => AIR_TEMPERATURE.si(),
            Self::Pressure => AIR_PRESSURE.si(),
            Self::Humidity => SHARE_PERCENT.si(),
            Self::FuelFlow => 0.0..=0.5,
            Self::Factor => 0.7..=1.5,
            Self::Timing => TIMING.range(),
            Self::Knock => 0.0..=f64::INFINITY,
            Self::Pull => f64::MIN..=f64::MAX,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 100 lbf ft = 135.5818 N m; 100 hp = 74 570 W; 136 PS = 100 028 W; 95 F = 308.15 K;
    /// 29.92 inHg = 101 321 Pa; 760 mmHg = 101 325 Pa; 36 kg/h = 10 g/s; 79.366 lb/h = 10 g/s.
    #[test]
    fn units_by_hand() {
        for (quantity, typed, value, wanted) in [
            (Quantity::Torque, "lb ft", 100.0, 135.581_795),
            (Quantity::Torque, "ft-lbs", 100.0, 135.581_795),
            (Quantity::Torque, "Nm", 100.0, 100.0),
            (Quantity::Torque, "N·m", 100.0, 100.0),
            (Quantity::Torque, "kgf m", 10.0, 98.0665),
            (Quantity::Power, "HP", 100.0, 74_569.987),
            (Quantity::Power, "PS", 136.0, 100_027.83),
            (Quantity::AirTemperature, "°F", 95.0, 308.15),
            (Quantity::AirTemperature, "deg C", 25.0, 298.15),
            (Quantity::Pressure, "in Hg", 29.92, 101_320.76),
            (Quantity::Pressure, "mmHg", 760.0, 101_325.0),
            (Quantity::Humidity, "%", 45.0, 0.45),
            (Quantity::FuelFlow, "kg/h", 36.0, 0.01),
            (Quantity::FuelFlow, "lb/hr", 79.366_41, 0.01),
        ] {
            let unit = quantity.unit(typed).unwrap_or_else(|| panic!("{typed}"));
            assert_relative_eq!(unit.to_si(value), wanted, max_relative = 1e-6);
        }
        for (quantity, typed) in
            [(Quantity::Torque, "kW"), (Quantity::Power, "Nm"), (Quantity::Speed, "km/h")]
        {
            assert!(quantity.unit(typed).is_none(), "{typed}");
        }
    }
}
