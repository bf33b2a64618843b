//! Numbers as they are shown: converted to the wanted units, with the digits that make sense.

use self::Dimension::Pressure;
use super::Units;
use crate::constants::STANDARD_GRAVITY_M_PER_S2;
use crate::estimate::Band;
use crate::units::{
    J_PER_BTU, KG_PER_LB, M_PER_INCH, M3_PER_GALLON, M3_PER_L, NM_PER_LBF_FT, PA_PER_BAR,
    PA_PER_INCH_OF_MERCURY, PA_PER_PSI, W_PER_HP, k_to_celsius, k_to_fahrenheit,
};

/// What a number of a result measures; the unit in which results hold it stands beside each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Dimension {
    /// A pure number, or one that is the same in all units: degrees, rpm, octane numbers [-].
    Pure,
    /// A share [-], shown in per cent.
    Share,
    /// Power [kW].
    Power,
    /// Torque [N m].
    Torque,
    /// Pressure in the cylinder, or mean effective pressure [bar].
    Pressure,
    /// Fuel pressure [kPa].
    FuelPressure,
    /// Brake specific fuel consumption [g/kWh].
    Bsfc,
    /// Temperature [K].
    Temperature,
    /// Difference of temperatures [K].
    TemperatureStep,
    /// Flow by mass [kg/s].
    MassFlow,
    /// Flow of liquid by volume [L/h].
    VolumeFlow,
    /// Piston speed [m/s].
    PistonSpeed,
    /// Length of a part [m].
    Length,
    /// Volume of a chamber or a crown [m3].
    Volume,
    /// Piston acceleration [m/s2].
    PistonAcceleration,
    /// Power over displacement [kW/L].
    SpecificPower,
    /// Pressure of dry air, or in the manifold [Pa].
    GasPressure,
    /// Air pressure [Pa].
    AirPressure,
    /// Volume of fuel [m3].
    FuelVolume,
    /// Density of liquid [kg/m3].
    Density,
    /// Density of fuel beside its flow [kg/L].
    FuelDensity,
    /// Heating value by mass [J/kg].
    HeatByMass,
    /// Heating value by volume [J/m3].
    HeatByVolume,
    /// Heat of vaporisation [J/kg].
    Evaporation,
}

/// A unit in which a dimension is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct ShownUnit {
    /// For a person.
    pub(super) symbol: &'static str,
    /// At the end of a name for a program.
    pub(super) key: &'static str,
    /// Decimals for a person.
    pub(super) digits: usize,
    times: f64,
    plus: f64,
}

impl ShownUnit {
    /// A share as a fraction, for a program.
    pub(super) const fn fraction() -> Self {
        Self { symbol: "", key: "frac", digits: 2, times: 1.0, plus: 0.0 }
    }

    /// A number of a result in this unit.
    pub(super) fn of(self, held: f64) -> f64 {
        self.times * held + self.plus
    }

    /// The same with the decimals for a person, without the symbol.
    pub(super) fn words(self, held: f64) -> String {
        fixed(self.of(held), self.digits)
    }
}

impl Dimension {
    /// The unit in which it is shown.
    pub(super) fn unit(self, units: Units) -> ShownUnit {
        let (metric, us) = self.both();
        let (symbol, key, digits, times) = if units == Units::Us { us } else { metric };
        let plus = match (self, units) {
            (Self::Temperature, Units::Metric) => k_to_celsius(0.0),
            (Self::Temperature, Units::Us) => k_to_fahrenheit(0.0),
            _ => 0.0,
        };
        ShownUnit { symbol, key, digits, times, plus }
    }

    /// Symbol, key, decimals and factor, metric and US.
    fn both(self) -> (Named, Named) {
        const FT_PER_MIN: f64 = 60.0 / (12.0 * M_PER_INCH);
        const BTU_PER_LB: f64 = KG_PER_LB / J_PER_BTU;
        let same = |named: Named| (named, named);
        match self {
            Self::Pure => same(("", "", 0, 1.0)),
            Self::Share => same(("%", "", 0, 100.0)),
            Self::Power => (("kW", "kw", 0, 1.0), ("hp", "hp", 0, 1000.0 / W_PER_HP)),
            Self::Torque => (("N m", "nm", 0, 1.0), ("lb-ft", "lbf_ft", 0, 1.0 / NM_PER_LBF_FT)),
            Self::Pressure => (("bar", "bar", 1, 1.0), ("psi", "psi", 0, PA_PER_BAR / PA_PER_PSI)),
            Self::FuelPressure => (("kPa", "kpa", 0, 1.0), ("psi", "psi", 0, 1e3 / PA_PER_PSI)),
            Self::Bsfc => {
                (("g/kWh", "g_per_kwh", 0, 1.0), ("lb/(hp h)", "lb_per_hp_h", 3, 1e-6 / KG_PER_LB * W_PER_HP))
            }
            Self::Temperature => (("C", "c", 0, 1.0), ("F", "f", 0, 1.8)),
            Self::TemperatureStep => (("K", "k", 0, 1.0), ("F", "f", 0, 1.8)),
            Self::MassFlow => (("kg/h", "kg_per_h", 0, 3600.0), ("lb/h", "lb_per_h", 0, 3600.0 / KG_PER_LB)),
            Self::VolumeFlow => {
                (("L/h", "l_per_h", 0, 1.0), ("gal/h", "gal_per_h", 0, M3_PER_L / M3_PER_GALLON))
            }
            Self::PistonSpeed => (("m/s", "m_per_s", 1, 1.0), ("ft/min", "ft_per_min", 0, FT_PER_MIN)),
            Self::Length => (("mm", "mm", 2, 1e3), ("in", "in", 4, 1.0 / M_PER_INCH)),
            Self::Volume => same(("cc", "cc", 2, 1e6)),
            Self::PistonAcceleration => {
                (("km/s2", "km_per_s2", 1, 1e-3), ("g", "g", 0, 1.0 / STANDARD_GRAVITY_M_PER_S2))
            }
            Self::SpecificPower => (
                ("kW/L", "kw_per_l", 0, 1.0),
                ("hp/cu in", "hp_per_cu_in", 2, 1000.0 / W_PER_HP * M_PER_INCH.powi(3) / M3_PER_L),
            ),
            Self::GasPressure => (("kPa", "kpa", 1, 1e-3), ("inHg", "inhg", 2, 1.0 / PA_PER_INCH_OF_MERCURY)),
            Self::AirPressure => {
                (("bar", "bar", 3, 1.0 / PA_PER_BAR), ("inHg", "inhg", 2, 1.0 / PA_PER_INCH_OF_MERCURY))
            }
            Self::FuelVolume => (("L", "l", 1, 1.0 / M3_PER_L), ("gal", "gal", 2, 1.0 / M3_PER_GALLON)),
            Self::FuelDensity => {
                (("kg/L", "kg_per_l", 3, 1.0), ("lb/gal", "lb_per_gal", 2, 1e3 * M3_PER_GALLON / KG_PER_LB))
            }
            Self::Density => {
                (("kg/m3", "kg_per_m3", 1, 1.0), ("lb/gal", "lb_per_gal", 2, M3_PER_GALLON / KG_PER_LB))
            }
            Self::HeatByMass => (("MJ/kg", "mj_per_kg", 2, 1e-6), ("Btu/lb", "btu_per_lb", 0, BTU_PER_LB)),
            Self::HeatByVolume => {
                (("MJ/L", "mj_per_l", 2, 1e-9), ("Btu/gal", "btu_per_gal", 0, M3_PER_GALLON / J_PER_BTU))
            }
            Self::Evaporation => (("kJ/kg", "kj_per_kg", 0, 1e-3), ("Btu/lb", "btu_per_lb", 0, BTU_PER_LB)),
        }
    }
}

/// Symbol, key, decimals and factor of a unit.
type Named = (&'static str, &'static str, usize, f64);

impl Units {
    /// A number of a result in the unit of its dimension.
    pub(crate) fn of(self, dimension: Dimension, held: f64) -> f64 {
        dimension.unit(self).of(held)
    }

    /// The unit of a dimension for a person.
    pub(crate) fn symbol(self, dimension: Dimension) -> &'static str {
        dimension.unit(self).symbol
    }

    /// A number of a result with its unit, for a person.
    pub(crate) fn words(self, dimension: Dimension, held: f64) -> String {
        let unit = dimension.unit(self);
        format!("{} {}", unit.words(held), unit.symbol)
    }

    /// Cylinder pressure from Pa, in words, with as many decimals where it is metric.
    pub(super) fn pressure_words(self, pressure_pa: f64, decimals: usize) -> String {
        let pressure = Pressure.unit(self);
        let decimals = if self == Self::Metric { decimals } else { pressure.digits };
        format!("{} {}", fixed(pressure.of(pressure_pa / PA_PER_BAR), decimals), pressure.symbol)
    }

    /// Displacement from m3, in words.
    pub(super) fn displacement_words(self, displacement_m3: f64) -> String {
        let litres = format!("{} L", fixed(displacement_m3 * 1000.0, 2));
        match self {
            Self::Metric => litres,
            Self::Us => format!("{} cu in ({litres})", fixed(displacement_m3 / M_PER_INCH.powi(3), 0)),
        }
    }
}

/// A number with fixed decimals and no minus sign before a zero.
pub(crate) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// A number with fixed decimals and its sign always shown, save before a zero.
pub(crate) fn signed(value: f64, decimals: usize) -> String {
    let text = fixed(value, decimals);
    let is_zero = text.chars().all(|c| c == '0' || c == '.');
    if is_zero || text.starts_with('-') { text } else { format!("+{text}") }
}

/// Low, likely and high with the same decimals.
pub(super) fn band_words(band: Band, convert: impl Fn(f64) -> f64, decimals: usize) -> [String; 3] {
    [band.low, band.likely, band.high].map(|value| fixed(convert(value), decimals))
}

/// A fraction as a percentage without its sign.
pub(super) fn percent(fraction: f64, decimals: usize) -> String {
    fixed(fraction * 100.0, decimals)
}

/// Decimals of power or torque: whole numbers, save where the largest is so small that they would hide it.
pub(super) fn output_decimals(largest: f64) -> usize {
    if largest < 20.0 { 1 } else { 0 }
}

/// The same for the largest of some values.
pub(super) fn digits_for(values: impl Iterator<Item = f64>) -> usize {
    output_decimals(values.fold(0.0, f64::max))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::quantity::Dimension::*;
    use approx::assert_relative_eq;

    #[test]
    fn us_conversions_match_hand_values() {
        // HAND: 100 kW / 0.745699872; 200 N m / 1.355817948; 10 bar / 0.0689475729;
        // 250 g/kWh = 0.250/0.45359237 lb per 1/0.745699872 hp h.
        assert_relative_eq!(Units::Us.of(Power, 100.0), 134.102_209, max_relative = 1e-8);
        assert_relative_eq!(Units::Us.of(Torque, 200.0), 147.512_43, max_relative = 1e-7);
        assert_relative_eq!(Units::Us.of(Pressure, 10.0), 145.037_74, max_relative = 1e-7);
        assert_relative_eq!(Units::Us.of(Bsfc, 250.0), 0.410_996_7, max_relative = 1e-6);
        // HAND: 747 kg/m3 * 0.00378541 m3/gal / 0.45359237; 26.95 MJ/kg and 32.36 MJ/L against the
        // printed 11 585 Btu/lb and 116 090 Btu/gal (AFDC) within their rounding.
        assert_relative_eq!(Units::Us.of(Density, 747.0), 6.234, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.of(HeatByMass, 26.95e6), 11_585.0, max_relative = 3e-4);
        assert_relative_eq!(Units::Us.of(HeatByVolume, 32.36e9), 116_090.0, max_relative = 3e-4);
        assert_relative_eq!(Units::Us.of(Evaporation, 921.1e3), 396.0, max_relative = 3e-4);
        // HAND: 0.01 kg/s is 36 kg/h, over 0.45359237 79.37 lb/h; 20 m/s is 1200 m/min, over 0.3048 3937 ft/min.
        assert_relative_eq!(Units::Us.of(MassFlow, 0.01), 79.366, max_relative = 1e-5);
        // HAND: 100 L/h over 3.785412 is 26.417 gal/h; 300 kPa over 6.894757 is 43.51 psi.
        assert_relative_eq!(Units::Us.of(VolumeFlow, 100.0), 26.417, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.of(FuelPressure, 300.0), 43.511, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.of(PistonSpeed, 20.0), 3937.0, max_relative = 1e-5);
        // HAND: 30 km/s2 over 9.80665; 60 kW/L is 80.461 hp over 61.0237 cu in.
        assert_relative_eq!(Units::Us.of(PistonAcceleration, 30e3), 3059.1, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.of(SpecificPower, 60.0), 1.3185, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.of(GasPressure, 101_325.0), 29.921, max_relative = 1e-4);
        assert_eq!(Units::Us.words(FuelVolume, 0.01), "2.64 gal");
        assert_eq!(Units::Us.words(Temperature, 298.15), "77 F");
        assert_eq!(Units::Us.words(AirPressure, 101_325.0), "29.92 inHg");
        assert_eq!(Units::Us.displacement_words(2.0e-3), "122 cu in (2.00 L)");
    }

    #[test]
    fn metric_is_left_alone() {
        assert_relative_eq!(Units::Metric.of(Power, 100.0), 100.0);
        assert_relative_eq!(Units::Metric.of(Torque, 200.0), 200.0);
        assert_eq!(Units::Metric.words(Temperature, 298.15), "25 C");
        assert_eq!(Units::Metric.words(AirPressure, 99_000.0), "0.990 bar");
    }

    #[test]
    fn signs_of_small_numbers() {
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(fixed(-0.06, 1), "-0.1");
        assert_eq!(signed(0.04, 1), "0.0");
        assert_eq!(signed(0.5, 1), "+0.5");
        assert_eq!(signed(-0.5, 1), "-0.5");
    }
}
