//! What is in a fuel that asks for care in handling it, and where its best-power mixture comes from.

use crate::fuel::component::{METHANOL, WATER};
use crate::fuel::pump::PumpFuel;

/// Ethanol by volume from which the cautions of high content apply [-]: above E15 a car must be made
/// or changed for it (US pump label, from memory).
const HIGH_ETHANOL: f64 = 0.15;

/// What asks for care in handling a fuel; the report says how.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FuelHazard {
    /// Vapour, of every fuel.
    Vapour,
    /// Ethanol of any share.
    Ethanol,
    /// Ethanol above that of E15.
    MuchEthanol,
    /// Water of any share.
    Water,
    /// Methanol of any share.
    Methanol,
}

/// Where the mixture of best power of a fuel comes from; the report says it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LambdaSource {
    /// The relation of [`super::pump::best_power_lambda`].
    Relation {
        /// Whether methanol counts as gasoline in it.
        has_methanol: bool,
    },
    /// The fuel file, by volume where fuels are mixed.
    File,
}

impl PumpFuel {
    /// What asks for care in handling this fuel, the general first.
    pub fn hazards(&self) -> impl Iterator<Item = FuelHazard> {
        let high = self.ethanol.high;
        [
            (true, FuelHazard::Vapour),
            (high > 0.0, FuelHazard::Ethanol),
            (high > HIGH_ETHANOL, FuelHazard::MuchEthanol),
            (self.holds(WATER), FuelHazard::Water),
            (self.holds(METHANOL), FuelHazard::Methanol),
        ]
        .into_iter()
        .filter_map(|(is_so, hazard)| is_so.then_some(hazard))
    }

    /// Why best-power lambda is what it is.
    pub fn best_power_lambda_source(&self) -> LambdaSource {
        let usual = super::pump::best_power_lambda(self.ethanol.likely);
        if (self.best_power_lambda - usual).abs() > 1e-3 {
            return LambdaSource::File;
        }
        LambdaSource::Relation { has_methanol: self.holds(METHANOL) }
    }

    /// Whether a component is in the fuel, ethanol apart.
    fn holds(&self, component: &str) -> bool {
        self.base.iter().any(|s| s.component.name == component && s.vol_frac > 0.0)
    }
}
