//! The air an engine breathes: humid air at a temperature and pressure, the pressure of the
//! standard atmosphere at an altitude, and the published power-correction standards.

use crate::constants::{
    ATMOSPHERE_PA, GAS_CONSTANT_J_PER_MOL_K, STANDARD_GRAVITY_M_PER_S2, WATER_MOLAR_MASS_KG_PER_MOL,
    ZERO_CELSIUS_K, dry_air,
};
use crate::units::stated::AIR_PRESSURE;
use crate::units::{OutOfRange, PA_PER_INCH_OF_MERCURY, celsius_to_k, checked, k_to_celsius};
use std::ops::RangeInclusive;

/// Temperature, pressure and humidity of the air around the engine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weather {
    /// Air temperature [K], 250 to 330.
    pub temperature_k: f64,
    /// Total (barometric, not reduced to sea level) pressure [Pa], within [`Self::PRESSURE_RANGE_PA`].
    pub pressure_pa: f64,
    /// Relative humidity over liquid water [-], 0 to 1.
    pub relative_humidity: f64,
}

impl Weather {
    /// Temperatures allowed [K].
    pub const TEMPERATURE_RANGE_K: RangeInclusive<f64> = 250.0..=330.0;
    /// Total pressures allowed [Pa].
    pub const PRESSURE_RANGE_PA: RangeInclusive<f64> = 1e3 * AIR_PRESSURE.low..=1e3 * AIR_PRESSURE.high;
    /// Relative humidities allowed [-].
    pub const HUMIDITY_RANGE: RangeInclusive<f64> = 0.0..=1.0;

    /// Weather with every value checked.
    ///
    /// # Errors
    /// [`OutOfRange`] for the first value that is outside its range or not a number.
    ///
    /// # Example
    /// ```
    /// use endgas::air::Weather;
    /// let day = Weather::new(308.15, 98.0e3, 0.5)?;
    /// assert!((day.dry_pressure_pa() - 95_187.0).abs() < 5.0);
    /// # Ok::<(), endgas::units::OutOfRange>(())
    /// ```
    pub fn new(temperature_k: f64, pressure_pa: f64, relative_humidity: f64) -> Result<Self, OutOfRange> {
        Ok(Self {
            temperature_k: checked("air temperature [K]", temperature_k, &Self::TEMPERATURE_RANGE_K)?,
            pressure_pa: checked("air pressure [Pa]", pressure_pa, &Self::PRESSURE_RANGE_PA)?,
            relative_humidity: checked("relative humidity", relative_humidity, &Self::HUMIDITY_RANGE)?,
        })
    }

    /// Partial pressure of water vapour [Pa].
    pub fn vapour_pressure_pa(&self) -> f64 {
        self.relative_humidity * saturation_pressure_pa(self.temperature_k)
    }

    /// Pressure of the dry air alone [Pa]: total less water vapour.
    pub fn dry_pressure_pa(&self) -> f64 {
        self.pressure_pa - self.vapour_pressure_pa()
    }

    /// Water per dry air by mass [kg/kg].
    pub fn humidity_ratio(&self) -> f64 {
        let mass_ratio = WATER_MOLAR_MASS_KG_PER_MOL / dry_air::MOLAR_MASS_KG_PER_MOL;
        mass_ratio * self.vapour_pressure_pa() / self.dry_pressure_pa()
    }

    /// Mass of dry air in a cubic metre of the humid air [kg/m3], ideal gas.
    pub fn dry_air_density_kg_per_m3(&self) -> f64 {
        self.dry_pressure_pa() * dry_air::MOLAR_MASS_KG_PER_MOL
            / (GAS_CONSTANT_J_PER_MOL_K * self.temperature_k)
    }
}

/// Saturation pressure of water vapour over liquid water [Pa].
///
/// e = 6.1121 hPa exp((18.729 - t/227.3) t / (t + 257.87)), t in degrees Celsius.
///
/// # Validity
/// -40 to +50 C in the source; a few tenths of a percent off up to the 57 C that [`Weather`]
/// allows. The enhancement of about 0.4 % in air against pure vapour is left out.
///
/// # Source
/// A. L. Buck, New equations for computing vapor pressure and enhancement factor, J. Appl.
/// Meteorol. 20 (1981) 1527-1532, equation ew4; coefficients read in public code that cites it.
pub fn saturation_pressure_pa(temperature_k: f64) -> f64 {
    let t = k_to_celsius(temperature_k);
    611.21 * ((18.729 - t / 227.3) * t / (t + 257.87)).exp()
}

/// Altitudes at which [`standard_atmosphere_pressure_pa`] holds [m].
pub const ALTITUDE_RANGE_M: RangeInclusive<f64> = -500.0..=5500.0;

/// Pressure of the standard atmosphere at a geopotential altitude [Pa].
///
/// p = 101325 (1 - 0.0065 h / 288.15)^(g M / (R 0.0065)), M = 28.9644 g/mol.
///
/// # Errors
/// [`OutOfRange`] outside [`ALTITUDE_RANGE_M`].
///
/// # Source
/// ISO 2533:1975, constants of the lowest layer (from memory; checked against its table values
/// in the tests).
pub fn standard_atmosphere_pressure_pa(altitude_m: f64) -> Result<f64, OutOfRange> {
    const LAPSE_K_PER_M: f64 = 0.0065;
    const SEA_LEVEL_K: f64 = 288.15;
    const MOLAR_MASS_KG_PER_MOL: f64 = 28.9644e-3;
    let h = checked("altitude [m]", altitude_m, &ALTITUDE_RANGE_M)?;
    let exponent =
        STANDARD_GRAVITY_M_PER_S2 * MOLAR_MASS_KG_PER_MOL / (GAS_CONSTANT_J_PER_MOL_K * LAPSE_K_PER_M);
    Ok(ATMOSPHERE_PA * (1.0 - LAPSE_K_PER_M * h / SEA_LEVEL_K).powf(exponent))
}

/// Which pressure a correction standard works with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PressureKind {
    /// Total pressure less water vapour.
    Dry,
    /// Total barometric pressure, humidity ignored.
    Total,
}

/// The air in which a correction standard has the factor one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReferenceState {
    /// Temperature [K].
    pub temperature_k: f64,
    /// Pressure [Pa], dry or total as `kind` says.
    pub pressure_pa: f64,
    /// Whether the standard means dry or total pressure.
    pub kind: PressureKind,
}

/// A factor from a correction standard, and whether the day was inside its range.
#[derive(Clone, Debug, PartialEq)]
pub struct Correction {
    /// Corrected power = observed power times this [-].
    pub factor: f64,
    /// What lies outside the range of the standard; none when it applies.
    pub outside: Option<OutsideStandard>,
}

/// What of a day lies outside the range of a correction standard; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub struct OutsideStandard {
    /// The standard.
    pub standard: CorrectionStandard,
    /// Each quantity that is outside, one or more.
    pub found: Vec<Outside>,
}

/// A quantity outside the range of a correction standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outside {
    /// Which.
    pub quantity: CorrectedFor,
    /// Its value: [K], [Pa] or [-].
    pub value: f64,
    /// Low end of the range, in the same unit.
    pub low: f64,
    /// High end of the range, in the same unit.
    pub high: f64,
}

/// What correction standards limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CorrectedFor {
    /// Air temperature [K].
    Temperature,
    /// Pressure of the dry part of the air [Pa].
    DryPressure,
    /// The correction factor [-].
    Factor,
}

/// Published standards that bring a power reading to a reference day (full load, naturally
/// aspirated, spark ignition).
///
/// Corrected power = observed power times [`Self::factor`]. A power that was computed from
/// ambient air density must not be corrected a second time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CorrectionStandard {
    /// SAE J1349, August 2004 and later: 1.176 (99/pd) sqrt(T/298) - 0.176, that is with a
    /// mechanical efficiency of 0.85 built in. From memory.
    SaeJ1349,
    /// SAE J1349, June 1990: 1.180 (99/pd) sqrt(T/298) - 0.18. Read as quoted, not in the standard.
    SaeJ1349Jun1990,
    /// ISO 1585 and UN R85: (99/pd)^1.2 (T/298)^0.6. From memory.
    Iso1585,
    /// DIN 70020, withdrawn: (1013/p) sqrt(T/293), p total pressure in mbar. From memory.
    Din70020,
    /// SAE J607, withdrawn: (29.92/pd) sqrt((459.7 + F)/519.7), pd in inches of mercury. Read as quoted.
    SaeJ607,
}

impl CorrectionStandard {
    /// Every standard, newest first.
    pub const ALL: [Self; 5] =
        [Self::SaeJ1349, Self::SaeJ1349Jun1990, Self::Iso1585, Self::Din70020, Self::SaeJ607];

    /// Name as a dyno sheet prints it.
    pub fn title(self) -> &'static str {
        match self {
            Self::SaeJ1349 => "SAE J1349 (2004 and later)",
            Self::SaeJ1349Jun1990 => "SAE J1349 (June 1990)",
            Self::Iso1585 => "ISO 1585",
            Self::Din70020 => "DIN 70020",
            Self::SaeJ607 => "SAE J607",
        }
    }

    /// Name as it is typed: in an option, or in a comment of a log.
    pub fn key(self) -> &'static str {
        match self {
            Self::SaeJ1349 => "sae-j1349",
            Self::SaeJ1349Jun1990 => "sae-j1349-1990",
            Self::Iso1585 => "iso-1585",
            Self::Din70020 => "din-70020",
            Self::SaeJ607 => "sae-j607",
        }
    }

    /// The standard of a typed name; none when there is no such standard.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|standard| standard.key().eq_ignore_ascii_case(key.trim()))
    }

    /// The air in which the factor is one.
    pub fn reference(self) -> ReferenceState {
        let state = |temperature_k, pressure_pa, kind| ReferenceState { temperature_k, pressure_pa, kind };
        match self {
            Self::SaeJ1349 | Self::SaeJ1349Jun1990 | Self::Iso1585 => {
                state(ZERO_CELSIUS_K + 25.0, 99.0e3, PressureKind::Dry)
            }
            Self::Din70020 => state(ZERO_CELSIUS_K + 20.0, 101.3e3, PressureKind::Total),
            Self::SaeJ607 => state(519.7 / 1.8, 29.92 * PA_PER_INCH_OF_MERCURY, PressureKind::Dry),
        }
    }

    /// The factor for a day, with what lies outside the range of the standard.
    ///
    /// # Validity
    /// J1349: 15 to 35 C and 90 to 105 kPa dry. ISO 1585: 288 to 308 K, 80 to 110 kPa dry, factor
    /// 0.93 to 1.07. All three from memory; the older two state no range that we know of. The
    /// factor limit of J1349 differs between editions (3 to 7 %) and is not applied.
    pub fn factor(self, weather: &Weather) -> Correction {
        let reference = self.reference();
        let pressure_pa = match reference.kind {
            PressureKind::Dry => weather.dry_pressure_pa(),
            PressureKind::Total => weather.pressure_pa,
        };
        let pressure_ratio = reference.pressure_pa / pressure_pa;
        let temperature_ratio = weather.temperature_k / reference.temperature_k;
        let air_ratio = pressure_ratio * temperature_ratio.sqrt();
        let factor = match self {
            Self::SaeJ1349 => 1.176 * air_ratio - 0.176,
            Self::SaeJ1349Jun1990 => 1.180 * air_ratio - 0.180,
            Self::Iso1585 => pressure_ratio.powf(1.2) * temperature_ratio.powf(0.6),
            Self::Din70020 | Self::SaeJ607 => air_ratio,
        };
        Correction { factor, outside: self.outside(weather.temperature_k, pressure_pa, factor) }
    }

    fn outside(self, temperature_k: f64, pressure_pa: f64, factor: f64) -> Option<OutsideStandard> {
        let (celsius, dry_pa, factors) = match self {
            Self::SaeJ1349 | Self::SaeJ1349Jun1990 => ((15.0, 35.0), (90e3, 105e3), (f64::MIN, f64::MAX)),
            Self::Iso1585 => ((14.85, 34.85), (80e3, 110e3), (0.93, 1.07)),
            Self::Din70020 | Self::SaeJ607 => return None,
        };
        let kelvin = (celsius_to_k(celsius.0), celsius_to_k(celsius.1));
        let found: Vec<Outside> = [
            (CorrectedFor::Temperature, temperature_k, kelvin),
            (CorrectedFor::DryPressure, pressure_pa, dry_pa),
            (CorrectedFor::Factor, factor, factors),
        ]
        .into_iter()
        // A day on the end of a range is within it, whatever its last binary digit.
        .filter(|(_, value, (low, high))| *value < low * (1.0 - 1e-9) || *value > high * (1.0 + 1e-9))
        .map(|(quantity, value, (low, high))| Outside { quantity, value, low, high })
        .collect();
        (!found.is_empty()).then_some(OutsideStandard { standard: self, found })
    }
}
