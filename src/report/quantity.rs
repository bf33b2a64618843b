//! Numbers as they are shown: converted to the wanted units, with the digits that make sense.

use super::Units;
use crate::estimate::Band;
use crate::units::{
    J_PER_BTU, KG_PER_LB, M_PER_INCH, M3_PER_GALLON, M3_PER_L, NM_PER_LBF_FT, PA_PER_BAR,
    PA_PER_INCH_OF_MERCURY, PA_PER_PSI, W_PER_HP, k_to_celsius, k_to_fahrenheit,
};

/// Standard gravity, exact (NIST SP 811).
const GRAVITY_M_PER_S2: f64 = 9.806_65;

/// What a number of a result measures; the unit in which results hold it stands beside each.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Dimension {
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
pub(super) struct Unit {
    /// For a person.
    pub(super) symbol: &'static str,
    /// At the end of a name for a program.
    pub(super) key: &'static str,
    /// Decimals for a person.
    pub(super) digits: usize,
    times: f64,
    plus: f64,
}

impl Unit {
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
    pub(super) fn unit(self, units: Units) -> Unit {
        let (metric, us) = self.both();
        let (symbol, key, digits, times) = if units == Units::Us { us } else { metric };
        let plus = match (self, units) {
            (Self::Temperature, Units::Metric) => k_to_celsius(0.0),
            (Self::Temperature, Units::Us) => k_to_fahrenheit(0.0),
            _ => 0.0,
        };
        Unit { symbol, key, digits, times, plus }
    }

    /// Symbol, key, decimals and factor, metric and US.
    fn both(self) -> (Named, Named) {
        const FT_PER_MIN: f64 = 60.0 / (12.0 * M_PER_INCH);
        const BTU_PER_LB: f64 = KG_PER_LB / J_PER_BTU;
        let same = |named: Named| (named, named);
        match self {
            Self::Pure => same(("", "", 0, 1.0)),
            Self::Share => same(("%", "percent", 0, 100.0)),
            Self::Power => (("kW", "kw", 0, 1.0), ("hp", "hp", 0, 1000.0 / W_PER_HP)),
            Self::Torque => (("N m", "nm", 0, 1.0), ("lbf ft", "lbf_ft", 0, 1.0 / NM_PER_LBF_FT)),
            Self::Pressure => (("bar", "bar", 1, 1.0), ("psi", "psi", 0, PA_PER_BAR / PA_PER_PSI)),
            Self::FuelPressure => (("kPa", "kpa", 0, 1.0), ("psi", "psi", 0, 1e3 / PA_PER_PSI)),
            Self::Bsfc => {
                (("g/kWh", "g_per_kwh", 0, 1.0), ("lb/(hp h)", "lb_per_hp_h", 3, 1e-6 / KG_PER_LB * W_PER_HP))
            }
            Self::Temperature => (("C", "c", 0, 1.0), ("F", "f", 0, 1.8)),
            Self::TemperatureStep => (("K", "k", 1, 1.0), ("F", "f", 1, 1.8)),
            Self::MassFlow => (("kg/h", "kg_per_h", 0, 3600.0), ("lb/h", "lb_per_h", 0, 3600.0 / KG_PER_LB)),
            Self::VolumeFlow => {
                (("L/h", "l_per_h", 0, 1.0), ("gal/h", "gal_per_h", 0, M3_PER_L / M3_PER_GALLON))
            }
            Self::PistonSpeed => (("m/s", "m_per_s", 1, 1.0), ("ft/min", "ft_per_min", 0, FT_PER_MIN)),
            Self::Length => (("mm", "mm", 2, 1e3), ("in", "in", 4, 1.0 / M_PER_INCH)),
            Self::Volume => same(("cc", "cc", 2, 1e6)),
            Self::PistonAcceleration => {
                (("km/s2", "km_per_s2", 1, 1e-3), ("g", "g", 0, 1.0 / GRAVITY_M_PER_S2))
            }
            Self::SpecificPower => (
                ("kW/L", "kw_per_l", 0, 1.0),
                ("hp/cu in", "hp_per_cu_in", 2, 1000.0 / W_PER_HP * M_PER_INCH.powi(3) / M3_PER_L),
            ),
            Self::GasPressure => (("kPa", "kpa", 1, 1e-3), ("inHg", "inhg", 2, 1.0 / PA_PER_INCH_OF_MERCURY)),
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
    fn pick<T>(self, metric: T, us: T) -> T {
        match self {
            Self::Metric => metric,
            Self::Us => us,
        }
    }

    /// Power from kW.
    pub(super) fn power(self, power_kw: f64) -> f64 {
        self.pick(power_kw, power_kw * 1000.0 / W_PER_HP)
    }

    /// Unit of power for a person.
    pub(super) fn power_unit(self) -> &'static str {
        self.pick("kW", "hp")
    }

    /// Unit of power in a column name.
    pub(super) fn power_key(self) -> &'static str {
        self.pick("kw", "hp")
    }

    /// Torque from N m.
    pub(super) fn torque(self, torque_nm: f64) -> f64 {
        self.pick(torque_nm, torque_nm / NM_PER_LBF_FT)
    }

    /// Unit of torque for a person.
    pub(super) fn torque_unit(self) -> &'static str {
        self.pick("N m", "lbf ft")
    }

    /// Unit of torque in a column name.
    pub(super) fn torque_key(self) -> &'static str {
        self.pick("nm", "lbf_ft")
    }

    /// Pressure in the cylinder, or mean effective pressure, from bar.
    pub(super) fn pressure(self, pressure_bar: f64) -> f64 {
        self.pick(pressure_bar, pressure_bar * PA_PER_BAR / PA_PER_PSI)
    }

    /// Unit of cylinder and mean effective pressure, for a person and in a column name alike.
    pub(super) fn pressure_unit(self) -> &'static str {
        self.pick("bar", "psi")
    }

    /// Cylinder pressure from Pa, in words, with as many decimals where it is metric.
    pub(super) fn pressure_words(self, pressure_pa: f64, decimals: usize) -> String {
        let pressure = fixed(self.pressure(pressure_pa / PA_PER_BAR), self.pick(decimals, 0));
        format!("{pressure} {}", self.pressure_unit())
    }

    /// Decimals of a mean effective pressure.
    pub(super) fn mep_decimals(self) -> usize {
        self.pick(1, 0)
    }

    /// Brake specific fuel consumption from g/kWh.
    pub(super) fn bsfc(self, bsfc_g_per_kwh: f64) -> f64 {
        self.pick(bsfc_g_per_kwh, bsfc_g_per_kwh * 1.0e-3 / KG_PER_LB * (W_PER_HP / 1000.0))
    }

    /// Unit of brake specific fuel consumption for a person.
    pub(super) fn bsfc_unit(self) -> &'static str {
        self.pick("g/kWh", "lb/(hp h)")
    }

    /// Unit of brake specific fuel consumption in a column name.
    pub(super) fn bsfc_key(self) -> &'static str {
        self.pick("g_per_kwh", "lb_per_hp_h")
    }

    /// Decimals of brake specific fuel consumption.
    pub(super) fn bsfc_decimals(self) -> usize {
        self.pick(0, 3)
    }

    /// Temperature from K, in words.
    pub(super) fn temperature_words(self, temperature_k: f64) -> String {
        match self {
            Self::Metric => format!("{} C", fixed(k_to_celsius(temperature_k), 0)),
            Self::Us => format!("{} F", fixed(k_to_fahrenheit(temperature_k), 0)),
        }
    }

    /// Temperature from K.
    pub(super) fn temperature(self, temperature_k: f64) -> f64 {
        self.pick(k_to_celsius(temperature_k), k_to_fahrenheit(temperature_k))
    }

    /// Unit of temperature for a person.
    pub(super) fn temperature_unit(self) -> &'static str {
        self.pick("C", "F")
    }

    /// Unit of temperature in a column name.
    pub(super) fn temperature_key(self) -> &'static str {
        self.pick("c", "f")
    }

    /// Air pressure from Pa, in words.
    pub(super) fn air_pressure_words(self, pressure_pa: f64) -> String {
        match self {
            Self::Metric => format!("{} bar", fixed(pressure_pa / PA_PER_BAR, 3)),
            Self::Us => format!("{} inHg", fixed(pressure_pa / PA_PER_INCH_OF_MERCURY, 2)),
        }
    }

    /// Pressure of dry air or in the manifold, from Pa.
    pub(super) fn gas_pressure(self, pressure_pa: f64) -> f64 {
        self.pick(pressure_pa / 1e3, pressure_pa / PA_PER_INCH_OF_MERCURY)
    }

    /// Unit of pressure of dry air or in the manifold, for a person and in a column name, and its decimals.
    pub(super) fn gas_pressure_unit(self) -> (&'static str, &'static str, usize) {
        self.pick(("kPa", "kpa", 1), ("inHg", "inhg", 2))
    }

    /// Flow by mass from kg/s.
    pub(super) fn mass_flow(self, flow_kg_per_s: f64) -> f64 {
        3600.0 * self.pick(flow_kg_per_s, flow_kg_per_s / KG_PER_LB)
    }

    /// Unit of flow by mass for a person.
    pub(super) fn mass_flow_unit(self) -> &'static str {
        self.pick("kg/h", "lb/h")
    }

    /// Unit of flow by mass in a column name.
    pub(super) fn mass_flow_key(self) -> &'static str {
        self.pick("kg_per_h", "lb_per_h")
    }

    /// Flow by volume of liquid from L/h.
    pub(super) fn volume_flow(self, flow_l_per_h: f64) -> f64 {
        self.pick(flow_l_per_h, flow_l_per_h * M3_PER_L / M3_PER_GALLON)
    }

    /// Unit of flow by volume of liquid for a person and in a column name.
    pub(super) fn volume_flow_unit(self) -> (&'static str, &'static str) {
        self.pick(("L/h", "l_per_h"), ("gal/h", "gal_per_h"))
    }

    /// Pressure of fuel from kPa.
    pub(super) fn fuel_pressure(self, pressure_kpa: f64) -> f64 {
        self.pick(pressure_kpa, pressure_kpa * 1e3 / PA_PER_PSI)
    }

    /// Unit of fuel pressure for a person.
    pub(super) fn fuel_pressure_unit(self) -> &'static str {
        self.pick("kPa", "psi")
    }

    /// Piston speed from m/s.
    pub(super) fn piston_speed(self, speed_m_per_s: f64) -> f64 {
        self.pick(speed_m_per_s, speed_m_per_s * 60.0 / (12.0 * M_PER_INCH))
    }

    /// Unit of piston speed for a person, and its decimals.
    pub(super) fn piston_speed_unit(self) -> (&'static str, usize) {
        self.pick(("m/s", 1), ("ft/min", 0))
    }

    /// Piston speed from m/s, in words.
    pub(super) fn piston_speed_words(self, speed_m_per_s: f64) -> String {
        let (unit, decimals) = self.piston_speed_unit();
        format!("{} {unit}", fixed(self.piston_speed(speed_m_per_s), decimals))
    }

    /// Piston acceleration from m/s2.
    pub(super) fn piston_acceleration(self, acceleration_m_per_s2: f64) -> f64 {
        self.pick(acceleration_m_per_s2 / 1e3, acceleration_m_per_s2 / GRAVITY_M_PER_S2)
    }

    /// Unit of piston acceleration for a person, and its decimals.
    pub(super) fn piston_acceleration_unit(self) -> (&'static str, usize) {
        self.pick(("km/s2", 1), ("g", 0))
    }

    /// Power over displacement from kW/L.
    pub(super) fn specific_power(self, power_kw_per_l: f64) -> f64 {
        self.power(power_kw_per_l) * self.pick(1.0, M_PER_INCH.powi(3) / M3_PER_L)
    }

    /// The displacement that power is said over, and the decimals of such a power.
    pub(super) fn specific_power_per(self) -> (&'static str, usize) {
        self.pick(("litre", 0), ("cubic inch", 2))
    }

    /// Liquid density from kg/m3.
    pub(super) fn density(self, density_kg_per_m3: f64) -> f64 {
        self.pick(density_kg_per_m3, density_kg_per_m3 / KG_PER_LB * M3_PER_GALLON)
    }

    /// Unit of liquid density for a person and in a column name, and its decimals.
    pub(super) fn density_unit(self) -> (&'static str, &'static str, usize) {
        self.pick(("kg/m3", "kg_per_m3", 1), ("lb/gal", "lb_per_gal", 2))
    }

    /// Density of fuel beside its flow from kg/L.
    pub(super) fn fuel_density(self, density_kg_per_l: f64) -> f64 {
        self.pick(density_kg_per_l, self.density(density_kg_per_l * 1e3))
    }

    /// Unit of such a density for a person, and its decimals.
    pub(super) fn fuel_density_unit(self) -> (&'static str, usize) {
        self.pick(("kg/L", 3), ("lb/gal", 2))
    }

    /// Heating value by mass from J/kg.
    pub(super) fn heat_by_mass(self, heat_j_per_kg: f64) -> f64 {
        self.pick(heat_j_per_kg * 1e-6, heat_j_per_kg * KG_PER_LB / J_PER_BTU)
    }

    /// Unit of heating value by mass for a person and in a column name, and its decimals.
    pub(super) fn heat_by_mass_unit(self) -> (&'static str, &'static str, usize) {
        self.pick(("MJ/kg", "mj_per_kg", 2), ("Btu/lb", "btu_per_lb", 0))
    }

    /// Heating value by volume from J/m3.
    pub(super) fn heat_by_volume(self, heat_j_per_m3: f64) -> f64 {
        self.pick(heat_j_per_m3 * 1e-9, heat_j_per_m3 * M3_PER_GALLON / J_PER_BTU)
    }

    /// Unit of heating value by volume for a person and in a column name, and its decimals.
    pub(super) fn heat_by_volume_unit(self) -> (&'static str, &'static str, usize) {
        self.pick(("MJ/L", "mj_per_l", 2), ("Btu/gal", "btu_per_gal", 0))
    }

    /// Heat of vaporisation from J/kg.
    pub(super) fn evaporation(self, heat_j_per_kg: f64) -> f64 {
        self.pick(heat_j_per_kg * 1e-3, heat_j_per_kg * KG_PER_LB / J_PER_BTU)
    }

    /// Unit of heat of vaporisation for a person and in a column name.
    pub(super) fn evaporation_unit(self) -> (&'static str, &'static str) {
        self.pick(("kJ/kg", "kj_per_kg"), ("Btu/lb", "btu_per_lb"))
    }

    /// Difference of temperatures from K.
    pub(super) fn temperature_step(self, step_k: f64) -> f64 {
        self.pick(step_k, step_k * 1.8)
    }

    /// Unit of a difference of temperatures for a person and in a column name.
    pub(super) fn temperature_step_unit(self) -> (&'static str, &'static str) {
        self.pick(("K", "k"), ("F", "f"))
    }

    /// Difference of temperatures from K, in words.
    pub(super) fn temperature_step_words(self, step_k: f64) -> String {
        format!("{} {}", fixed(self.temperature_step(step_k), 0), self.temperature_step_unit().0)
    }

    /// Volume of fuel from m3, in words.
    pub(super) fn fuel_volume_words(self, volume_m3: f64) -> String {
        match self {
            Self::Metric => format!("{} L", fixed(volume_m3 / M3_PER_L, 1)),
            Self::Us => format!("{} gal", fixed(volume_m3 / M3_PER_GALLON, 2)),
        }
    }

    /// Length of an engine part from m.
    pub(super) fn length(self, length_m: f64) -> f64 {
        self.pick(length_m * 1.0e3, length_m / M_PER_INCH)
    }

    /// Unit of the length of a part, for a person and in a column name alike, and its decimals.
    pub(super) fn length_unit(self) -> (&'static str, usize) {
        self.pick(("mm", 2), ("in", 4))
    }

    /// Length of an engine part from m, in words.
    pub(super) fn length_words(self, length_m: f64) -> String {
        let (unit, decimals) = self.length_unit();
        format!("{} {unit}", fixed(self.length(length_m), decimals))
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
pub(super) fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => text,
    }
}

/// A number with fixed decimals and its sign always shown, save before a zero.
pub(super) fn signed(value: f64, decimals: usize) -> String {
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
    use approx::assert_relative_eq;

    #[test]
    fn us_conversions_match_hand_values() {
        // HAND: 100 kW / 0.745699872; 200 N m / 1.355817948; 10 bar / 0.0689475729;
        // 250 g/kWh = 0.250/0.45359237 lb per 1/0.745699872 hp h.
        assert_relative_eq!(Units::Us.power(100.0), 134.102_209, max_relative = 1e-8);
        assert_relative_eq!(Units::Us.torque(200.0), 147.512_43, max_relative = 1e-7);
        assert_relative_eq!(Units::Us.pressure(10.0), 145.037_74, max_relative = 1e-7);
        assert_relative_eq!(Units::Us.bsfc(250.0), 0.410_996_7, max_relative = 1e-6);
        // HAND: 747 kg/m3 * 0.00378541 m3/gal / 0.45359237; 26.95 MJ/kg and 32.36 MJ/L against the
        // printed 11 585 Btu/lb and 116 090 Btu/gal (AFDC) within their rounding.
        assert_relative_eq!(Units::Us.density(747.0), 6.234, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.heat_by_mass(26.95e6), 11_585.0, max_relative = 3e-4);
        assert_relative_eq!(Units::Us.heat_by_volume(32.36e9), 116_090.0, max_relative = 3e-4);
        assert_relative_eq!(Units::Us.evaporation(921.1e3), 396.0, max_relative = 3e-4);
        // HAND: 0.01 kg/s is 36 kg/h, over 0.45359237 79.37 lb/h; 20 m/s is 1200 m/min, over 0.3048 3937 ft/min.
        assert_relative_eq!(Units::Us.mass_flow(0.01), 79.366, max_relative = 1e-5);
        // HAND: 100 L/h over 3.785412 is 26.417 gal/h; 300 kPa over 6.894757 is 43.51 psi.
        assert_relative_eq!(Units::Us.volume_flow(100.0), 26.417, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.fuel_pressure(300.0), 43.511, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.piston_speed(20.0), 3937.0, max_relative = 1e-5);
        // HAND: 30 km/s2 over 9.80665; 60 kW/L is 80.461 hp over 61.0237 cu in.
        assert_relative_eq!(Units::Us.piston_acceleration(30e3), 3059.1, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.specific_power(60.0), 1.3185, max_relative = 1e-4);
        assert_relative_eq!(Units::Us.gas_pressure(101_325.0), 29.921, max_relative = 1e-4);
        assert_eq!(Units::Us.fuel_volume_words(0.01), "2.64 gal");
        assert_eq!(Units::Us.temperature_words(298.15), "77 F");
        assert_eq!(Units::Us.air_pressure_words(101_325.0), "29.92 inHg");
        assert_eq!(Units::Us.displacement_words(2.0e-3), "122 cu in (2.00 L)");
    }

    #[test]
    fn metric_is_left_alone() {
        assert_relative_eq!(Units::Metric.power(100.0), 100.0);
        assert_relative_eq!(Units::Metric.torque(200.0), 200.0);
        assert_eq!(Units::Metric.temperature_words(298.15), "25 C");
        assert_eq!(Units::Metric.air_pressure_words(99_000.0), "0.990 bar");
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
