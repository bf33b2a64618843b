//! What a volumetric efficiency found from a dyno pull goes with.
//!
//! A pull measures torque. Were the true friction higher than the likely, VE must have been better to make the
//! same torque. A fit keeps that tie: for each such input, how much the efficiency changes when the input stands at
//! its 90th percentile. Samples of the two then move together, and the power that was measured stays measured.

use super::breathing::interpolate;

/// An input that VE may go with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Follow {
    /// Burn speed.
    BurnSpeed,
    /// Heat to the walls.
    Heat,
    /// Temperature of the fresh charge.
    ChargeTemperature,
    /// Friction.
    Friction,
    /// Driveline loss.
    Driveline,
    /// Octane requirement of the knock model.
    KnockModel,
    /// Weight of sensitivity in the octane index.
    SensitivityWeight,
}

impl Follow {
    /// Every one.
    pub const ALL: [Self; 7] = [
        Self::BurnSpeed,
        Self::Heat,
        Self::ChargeTemperature,
        Self::Friction,
        Self::Driveline,
        Self::KnockModel,
        Self::SensitivityWeight,
    ];

    /// Its key in a scenario.
    pub const fn key(self) -> &'static str {
        match self {
            Self::BurnSpeed => "burn_speed_percent",
            Self::Heat => "heat_percent",
            Self::ChargeTemperature => "charge_temperature_percent",
            Self::Friction => "friction_percent",
            Self::Driveline => "driveline_percent",
            Self::KnockModel => "knock_model_percent",
            Self::SensitivityWeight => "sensitivity_weight_percent",
        }
    }
}

/// Changes of the logarithm of volumetric efficiency [-], one per speed of its table, when an input stands at its
/// 90th percentile.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Follows(pub Vec<(Follow, Vec<f64>)>);

impl Follows {
    /// From changes at rpm of their own, put at those of the table.
    pub(crate) fn at(own_rpm: &[f64], table_rpm: &[f64], changes: Vec<(Follow, Vec<f64>)>) -> Self {
        let put = |(with, list): (Follow, Vec<f64>)| {
            (with, table_rpm.iter().map(|speed| interpolate(own_rpm, &list, *speed)).collect())
        };
        Self(changes.into_iter().map(put).collect())
    }

    /// Changes with an input; none when it goes without.
    pub fn of(&self, with: Follow) -> Option<&[f64]> {
        self.0.iter().find(|(which, _)| *which == with).map(|(_, changes)| changes.as_slice())
    }

    /// Whether it goes with nothing.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}
