//! The load of a row of a timing map, as a control unit has it.

use super::error::EstimateError;
use super::point::Point;
use schemars::JsonSchema;
use serde::Serialize;

/// Air over that of full load below which no point of a map is run [-]: burn and residual gas are those of full load,
/// carried down (common practice, no source).
const LEAST_FULL_LOAD_FRAC: f64 = 0.2;

/// A load.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Load {
    /// Absolute pressure in the manifold [Pa].
    ManifoldPressurePa(f64),
    /// Air over what the cylinder takes at full load at the same rpm [-].
    FullLoadFrac(f64),
    /// Dry air in one cylinder and cycle [kg].
    AirPerCylinderKg(f64),
}

/// A load at one rpm.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LoadReached {
    /// Air over what the cylinder takes at full load at this rpm [-], at most 1.
    pub full_load_frac: f64,
    /// Absolute pressure in the manifold [Pa].
    pub manifold_pressure_pa: f64,
    /// Dry air in one cylinder and cycle [kg].
    pub air_per_cylinder_kg: f64,
    /// Whether the load of the row is more than the engine takes at this rpm; then the cell is that of full load.
    pub beyond_full_load: bool,
}

impl Load {
    /// The loads taken where none are stated.
    pub const USUAL: [Self; 5] = [
        Self::FullLoadFrac(0.6),
        Self::FullLoadFrac(0.7),
        Self::FullLoadFrac(0.8),
        Self::FullLoadFrac(0.9),
        Self::FullLoadFrac(1.0),
    ];

    /// The number in its unit: Pa, a fraction or kg.
    pub fn value(self) -> f64 {
        match self {
            Self::ManifoldPressurePa(value) | Self::FullLoadFrac(value) | Self::AirPerCylinderKg(value) => {
                value
            }
        }
    }

    /// Where it lies at the rpm of a point at full load: the air trapped goes with manifold pressure.
    ///
    /// # Errors
    /// [`EstimateError::Load`] below the least load that the model is asked.
    pub(super) fn reached(self, full: &Point<'_>) -> Result<LoadReached, EstimateError> {
        let (full_pa, full_kg) = (full.exchange.manifold_pressure_pa, full.trapped.dry_air_kg);
        let asked = match self {
            Self::ManifoldPressurePa(pressure_pa) => pressure_pa / full_pa,
            Self::FullLoadFrac(share) => share,
            Self::AirPerCylinderKg(air_kg) => air_kg / full_kg,
        };
        if asked.is_nan() || asked < LEAST_FULL_LOAD_FRAC - 1e-9 {
            return Err(EstimateError::Load {
                speed_rpm: full.speed_rpm(),
                found_percent: 100.0 * asked,
                least_percent: 100.0 * LEAST_FULL_LOAD_FRAC,
            });
        }
        let full_load_frac = asked.min(1.0);
        Ok(LoadReached {
            full_load_frac,
            manifold_pressure_pa: full_load_frac * full_pa,
            air_per_cylinder_kg: full_load_frac * full_kg,
            beyond_full_load: asked > 1.0 + 1e-9,
        })
    }
}
