//! Physical constants, each once, with its source.

/// Molar gas constant [J/(mol K)], exact since the 2019 SI (CODATA 2018).
pub const GAS_CONSTANT_J_PER_MOL_K: f64 = 8.314_462_618;

/// Standard-state pressure of the NASA polynomials [Pa] (NASA TM-4513, 1993: 1 bar).
pub const STANDARD_PRESSURE_PA: f64 = 1.0e5;

/// Standard atmosphere [Pa], exact (ISO 2533:1975).
pub const ATMOSPHERE_PA: f64 = 101_325.0;

/// Reference temperature of formation enthalpies [K] (NASA TM-4513, 1993).
pub const REFERENCE_TEMPERATURE_K: f64 = 298.15;

/// 0 degrees Celsius [K], exact.
pub const ZERO_CELSIUS_K: f64 = 273.15;

/// Standard gravity [m/s2], exact (ISO 80000-3).
pub const STANDARD_GRAVITY_M_PER_S2: f64 = 9.806_65;

/// Atomic masses [kg/mol], IUPAC conventional values as carried by Cantera 3.2.0,
/// so that molar masses agree with the reference tables.
pub mod atomic_mass {
    /// Carbon [kg/mol].
    pub const C: f64 = 12.011e-3;
    /// Hydrogen [kg/mol].
    pub const H: f64 = 1.008e-3;
    /// Oxygen [kg/mol].
    pub const O: f64 = 15.999e-3;
    /// Nitrogen [kg/mol].
    pub const N: f64 = 14.007e-3;
    /// Argon [kg/mol].
    pub const AR: f64 = 39.95e-3;
}

/// Dry air as mole fractions [-]; the set of the reference tables in `tests/data/thermo`.
pub mod dry_air {
    /// Nitrogen.
    pub const N2: f64 = 0.780_840;
    /// Oxygen.
    pub const O2: f64 = 0.209_476;
    /// Argon.
    pub const AR: f64 = 0.009_365;
    /// Carbon dioxide.
    pub const CO2: f64 = 0.000_319;
    /// Molar mass of dry air [kg/mol], from the fractions above.
    pub const MOLAR_MASS_KG_PER_MOL: f64 = {
        use super::atomic_mass as m;
        N2 * 2.0 * m::N + O2 * 2.0 * m::O + AR * m::AR + CO2 * (m::C + 2.0 * m::O)
    };
}

/// Air where two or three digits will do: the speed of sound, mean pressures of the strokes, a flow bench (any thermodynamics
/// text; `from memory`). What is burned has its own figures.
pub mod plain_air {
    /// Ratio of heat capacities [-].
    pub const GAMMA: f64 = 1.4;
    /// Gas constant [J/(kg K)]; near enough for exhaust gas too.
    pub const GAS_CONSTANT_J_PER_KG_K: f64 = 287.0;
}

/// Molar mass of water [kg/mol].
pub const WATER_MOLAR_MASS_KG_PER_MOL: f64 = 2.0 * atomic_mass::H + atomic_mass::O;
