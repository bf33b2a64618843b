//! The inputs that can be moved.

use crate::units::stated::{
    AIR_PRESSURE, AIR_TEMPERATURE, COMPRESSION_RATIO, DRIVELINE_LOSS, ENGINE_SPEED, LAMBDA, OCTANE_MARGIN,
    SHARE_PERCENT,
};
use crate::units::{Allowed, Unit};

/// One number that can be moved.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Control {
    /// Geometric compression ratio.
    CompressionRatio,
    /// Ethanol content of the base of the fuel.
    Ethanol,
    /// Mixture at full load.
    Lambda,
    /// Safety margin in octane numbers.
    Reserve,
    /// Temperature of the air drawn.
    AirTemperature,
    /// Absolute pressure of the air.
    Pressure,
    /// Relative humidity.
    Humidity,
    /// Top of the run.
    TopSpeed,
    /// Volumetric efficiency within its 10-90 % band.
    Filling,
    /// Driveline loss at peak power.
    Loss,
}

/// Number of controls.
pub(super) const CONTROLS: usize = 10;

/// What is shown of a control, and what its key takes.
pub(super) struct Facts {
    pub(super) key: &'static str,
    pub(super) label: &'static str,
    pub(super) unit: &'static str,
    pub(super) group: &'static str,
    /// What one press of an arrow key moves.
    pub(super) step: f64,
    /// Allowed values; those of the top speed go with the scenario, see [`super::Base::limits`].
    pub(super) allowed: Allowed,
}

impl Control {
    /// All, in the order of the page.
    pub const ALL: [Self; CONTROLS] = [
        Self::CompressionRatio,
        Self::Ethanol,
        Self::Lambda,
        Self::Reserve,
        Self::AirTemperature,
        Self::Pressure,
        Self::Humidity,
        Self::TopSpeed,
        Self::Filling,
        Self::Loss,
    ];

    /// The key in a query, in an address and in the page's data.
    pub fn key(self) -> &'static str {
        self.facts().key
    }

    /// The control of a key.
    pub fn of_key(key: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|control| control.key() == key)
    }

    /// Its words, step and range.
    pub(super) fn facts(self) -> &'static Facts {
        &FACTS[self as usize]
    }
}

const ENGINE: &str = "Engine and run";
pub(super) const FUEL: &str = "Fuel and timing";
const AIR: &str = "Weather";

/// Facts of every control, in the order of [`Control::ALL`]; ranges are those of the scenario keys that a saved file writes.
const FACTS: [Facts; CONTROLS] = [
    facts("compression_ratio", "Compression ratio", "", ENGINE, 0.1, COMPRESSION_RATIO),
    facts("ethanol_percent", "Ethanol in its base", "vol %", FUEL, 1.0, SHARE_PERCENT),
    facts("lambda", "Lambda at full load", "", FUEL, 0.01, LAMBDA),
    facts("reserve_octane", "Safety margin", "octane", FUEL, 0.5, OCTANE_MARGIN),
    facts("air_temperature_c", "Air temperature", "C", AIR, 1.0, AIR_TEMPERATURE),
    facts("pressure_kpa", "Air pressure", "kPa", AIR, 0.5, AIR_PRESSURE),
    facts("relative_humidity_percent", "Relative humidity", "%", AIR, 1.0, SHARE_PERCENT),
    facts("to_rpm", "Rev limit", "rpm", ENGINE, 50.0, ENGINE_SPEED),
    facts("ve_band_position", "VE in its band", "", ENGINE, 0.05, Unit::None.of(-1.0..=1.0)),
    facts("measured_loss_percent", "Driveline loss", "% of crank", ENGINE, 0.5, DRIVELINE_LOSS),
];

const fn facts(
    key: &'static str,
    label: &'static str,
    unit: &'static str,
    group: &'static str,
    step: f64,
    allowed: Allowed,
) -> Facts {
    Facts { key, label, unit, group, step, allowed }
}
