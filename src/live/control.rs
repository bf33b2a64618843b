//! The inputs that can be moved.

use crate::units::stated::{
    AIR_PRESSURE, AIR_TEMPERATURE, COMPRESSION_RATIO, DRIVELINE_LOSS, ENGINE_SPEED, LAMBDA, OCTANE_MARGIN,
    SHARE_PERCENT,
};
use crate::units::{Allowed, Unit};
use std::ops::RangeInclusive;

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
    /// Octane numbers kept in hand.
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
    pub(super) range: RangeInclusive<f64>,
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

    /// Its words, step and range. Ranges are those of the scenario keys that a saved file writes.
    pub(super) fn facts(self) -> Facts {
        let facts = |key, label, unit, group, step, allowed: Allowed| Facts {
            key,
            label,
            unit,
            group,
            step,
            range: allowed.range(),
        };
        let (engine, fuel, air) = ("Engine and run", "Fuel and spark", "Air of the day");
        match self {
            Self::CompressionRatio => {
                facts("compression_ratio", "Compression ratio", "", engine, 0.1, COMPRESSION_RATIO)
            }
            Self::Ethanol => {
                facts("ethanol_percent", "Ethanol in its base", "vol %", fuel, 1.0, SHARE_PERCENT)
            }
            Self::Lambda => facts("lambda", "Lambda at full load", "", fuel, 0.01, LAMBDA),
            Self::Reserve => facts("reserve_octane", "Spark reserve", "octane", fuel, 0.5, OCTANE_MARGIN),
            Self::AirTemperature => {
                facts("air_temperature_c", "Air temperature", "C", air, 1.0, AIR_TEMPERATURE)
            }
            Self::Pressure => facts("pressure_kpa", "Air pressure", "kPa", air, 0.5, AIR_PRESSURE),
            Self::Humidity => {
                facts("relative_humidity_percent", "Relative humidity", "%", air, 1.0, SHARE_PERCENT)
            }
            Self::TopSpeed => facts("to_rpm", "Speed limit of the run", "rpm", engine, 50.0, ENGINE_SPEED),
            Self::Filling => facts(
                "ve_band_position",
                "Filling (VE) in its band",
                "",
                engine,
                0.05,
                Unit::None.of(-1.0..=1.0),
            ),
            Self::Loss => {
                facts("measured_loss_percent", "Driveline loss", "% of crank", engine, 0.5, DRIVELINE_LOSS)
            }
        }
    }
}
