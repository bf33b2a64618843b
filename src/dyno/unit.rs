//! What a column of a log may hold, and the units in which shops log it.

use crate::units::{
    KG_PER_LB, NM_PER_KGF_M, NM_PER_LBF_FT, PA_PER_BAR, PA_PER_INCH_OF_MERCURY, PA_PER_MM_OF_MERCURY,
    PA_PER_PSI, W_PER_HP, W_PER_PS, celsius_to_k, fahrenheit_to_k,
};
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

/// A unit and the way from it to the one used inside.
#[derive(Clone, Copy, Debug)]
pub struct ColumnUnit {
    /// As it is shown.
    pub name: &'static str,
    /// Other spellings, without blanks, dots, dashes and strokes, in lower case.
    spellings: &'static [&'static str],
    /// The same value in the unit used inside.
    pub to_si: fn(f64) -> f64,
}

impl PartialEq for ColumnUnit {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

const fn unit(name: &'static str, spellings: &'static [&'static str], to_si: fn(f64) -> f64) -> ColumnUnit {
    ColumnUnit { name, spellings, to_si }
}

const SPEED: &[ColumnUnit] = &[unit("rpm", &["rpm", "1min", "min1", "revmin", "umin"], |v| v)];
const TORQUE: &[ColumnUnit] = &[
    unit("N m", &["nm", "newtonmetre", "newtonmeter"], |v| v),
    unit(
        "lbf ft",
        &["lbfft", "lbft", "ftlb", "ftlbf", "ftlbs", "lbsft", "lbfts", "poundfeet", "footpounds"],
        |v| v * NM_PER_LBF_FT,
    ),
    unit("kgf m", &["kgfm", "kgm", "mkg", "mkgf", "kpm", "mkp"], |v| v * NM_PER_KGF_M),
];
const POWER: &[ColumnUnit] = &[
    unit("kW", &["kw"], |v| v * 1e3),
    unit("W", &["w"], |v| v),
    unit("hp", &["hp", "bhp", "whp", "rwhp"], |v| v * W_PER_HP),
    unit("PS", &["ps", "cv", "ch", "pk"], |v| v * W_PER_PS),
];
const RATIO: &[ColumnUnit] = &[unit("-", &["", "lambda", "λ", "afr", "1", ":1"], |v| v)];
const TEMPERATURE: &[ColumnUnit] = &[
    unit("C", &["c", "degc", "celsius"], celsius_to_k),
    unit("F", &["f", "degf", "fahrenheit"], fahrenheit_to_k),
    unit("K", &["k", "kelvin"], |v| v),
];
const PRESSURE: &[ColumnUnit] = &[
    unit("kPa", &["kpa"], |v| v * 1e3),
    unit("hPa", &["hpa"], |v| v * 1e2),
    unit("mbar", &["mbar", "mb"], |v| v * 1e2),
    unit("bar", &["bar"], |v| v * PA_PER_BAR),
    unit("inHg", &["inhg"], |v| v * PA_PER_INCH_OF_MERCURY),
    unit("mmHg", &["mmhg", "torr"], |v| v * PA_PER_MM_OF_MERCURY),
    unit("psi", &["psi", "psia"], |v| v * PA_PER_PSI),
    unit("Pa", &["pa"], |v| v),
];
const HUMIDITY: &[ColumnUnit] = &[unit("%", &["%", "percent", "pct", "%rh", "rh%"], |v| v / 100.0)];
const FUEL_FLOW: &[ColumnUnit] = &[
    unit("kg/h", &["kgh", "kghr"], |v| v / 3600.0),
    unit("g/s", &["gs"], |v| v * 1e-3),
    unit("kg/s", &["kgs"], |v| v),
    unit("lb/h", &["lbh", "lbhr", "lbshr", "lbsh", "pph"], |v| v * KG_PER_LB / 3600.0),
];

const TIMING: &[ColumnUnit] = &[unit(
    "deg",
    &[
        "deg",
        "",
        "degbtdc",
        "btdc",
        "degrees",
        "degreesbtdc",
        "degca",
        "degcabtdc",
        "crankdeg",
        "degbeforetdc",
    ],
    |v| v,
)];
/// A count needs no unit; a retard is in degrees.
const KNOCK: &[ColumnUnit] = &[
    unit("-", &["", "1", "count", "counts", "events", "hits"], |v| v),
    unit("deg", &["deg", "degrees", "degca", "crankdeg"], |v| v),
];

impl Quantity {
    /// Every quantity.
    pub const ALL: [Self; 13] = [
        Self::Speed,
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
    pub fn units(self) -> &'static [ColumnUnit] {
        match self {
            Self::Speed => SPEED,
            Self::Torque => TORQUE,
            Self::Power => POWER,
            Self::Lambda | Self::Afr | Self::Factor | Self::Pull => RATIO,
            Self::AirTemperature => TEMPERATURE,
            Self::Pressure => PRESSURE,
            Self::Humidity => HUMIDITY,
            Self::FuelFlow => FUEL_FLOW,
            Self::Timing => TIMING,
            Self::Knock => KNOCK,
        }
    }

    /// Whether it is a bare number, so that a column of it needs no unit.
    pub fn is_bare(self) -> bool {
        matches!(self, Self::Lambda | Self::Afr | Self::Factor | Self::Timing | Self::Knock | Self::Pull)
    }

    /// The unit of a spelling; none when it is no unit of this quantity.
    pub fn unit(self, typed: &str) -> Option<ColumnUnit> {
        let wanted = squeezed(typed);
        self.units().iter().copied().find(|unit| unit.spellings.contains(&wanted.as_str()))
    }

    /// Names of its units, for messages.
    pub fn unit_names(self) -> String {
        self.units().iter().map(|unit| unit.name).collect::<Vec<_>>().join(", ")
    }

    /// Values that can be meant, in the unit used inside. Wide on purpose: a value outside is a wrong
    /// column, unit or decimal sign, not a surprising engine. Common practice, no source.
    pub fn range(self) -> RangeInclusive<f64> {
        match self {
            Self::Speed => 100.0..=20_000.0,
            Self::Torque => -2_000.0..=5_000.0,
            Self::Power => -1.0e6..=2.0e6,
            Self::Lambda => 0.5..=2.0,
            Self::Afr => 5.0..=30.0,
            Self::AirTemperature => 253.15..=323.15,
            Self::Pressure => 50.0e3..=110.0e3,
            Self::Humidity => 0.0..=1.0,
            Self::FuelFlow => 0.0..=0.5,
            Self::Factor => 0.7..=1.5,
            Self::Timing => -40.0..=80.0,
            Self::Knock => 0.0..=f64::INFINITY,
            Self::Pull => f64::MIN..=f64::MAX,
        }
    }
}

/// A unit as it is compared: lower case, without blanks and signs between its parts.
fn squeezed(typed: &str) -> String {
    typed
        .chars()
        .filter(|c| !c.is_whitespace() && !matches!(c, '.' | '-' | '_' | '*' | '/' | '·' | '⋅' | '°' | '^'))
        .flat_map(char::to_lowercase)
        .collect()
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
            assert_relative_eq!((unit.to_si)(value), wanted, max_relative = 1e-6);
        }
        for (quantity, typed) in
            [(Quantity::Torque, "kW"), (Quantity::Power, "Nm"), (Quantity::Speed, "km/h")]
        {
            assert!(quantity.unit(typed).is_none(), "{typed}");
        }
    }
}
