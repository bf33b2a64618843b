//! What a tuner reads of a fuel: its properties at one ethanol content, cooling and flow.

use crate::constants::REFERENCE_TEMPERATURE_K;
use crate::fuel::blend::Blend;
use crate::fuel::error::FuelError;
use crate::fuel::pump::{PumpFuel, best_power_lambda};

/// Heat capacity of dry air at 25 C [J/(kg K)] (from memory; held to the gas layer by a test).
const CP_AIR_J_PER_KG_K: f64 = 1_005.0;
/// Steps of a sweep of ethanol content, 0 to 100 %.
const SWEEP_STEPS: u32 = 20;

/// Which content of a fuel a state is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// Lowest met or allowed.
    Low,
    /// Likely, or known.
    Likely,
    /// Highest met or allowed.
    High,
    /// A step of a sweep.
    Swept,
}

/// A fuel at one ethanol content.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelState {
    /// Which content this is.
    pub content: Content,
    /// The blend with its properties.
    pub blend: Blend,
    /// Lambda of best power [-].
    pub best_power_lambda: f64,
    /// Cooling of the charge when all fuel evaporates, at best-power lambda [K]; see [`charge_cooling_k`].
    pub charge_cooling_k: f64,
}

impl FuelState {
    fn new(content: Content, blend: Blend, lambda: f64) -> Self {
        Self { content, charge_cooling_k: charge_cooling_k(&blend, lambda), blend, best_power_lambda: lambda }
    }

    /// Fuel flow by mass over that of a reference at equal power [-].
    ///
    /// Power goes with air times heating value per stoichiometric air, fuel with air over lambda: at
    /// equal efficiency on the energy that its oxygen can free, flow goes with 1/(lambda LHV).
    pub fn mass_flow_ratio(&self, reference: &Self) -> f64 {
        reference.best_power_lambda * reference.blend.lhv_j_per_kg
            / (self.best_power_lambda * self.blend.lhv_j_per_kg)
    }

    /// Fuel flow by volume over that of a reference at equal power [-]: what injectors and pump must give.
    pub fn volume_flow_ratio(&self, reference: &Self) -> f64 {
        self.mass_flow_ratio(reference) * reference.blend.density_15c_kg_per_m3
            / self.blend.density_15c_kg_per_m3
    }
}

/// Cooling of a charge in which all fuel evaporates and no wall gives heat [K].
///
/// dT = HoV / (lambda AFR cp_air + cp_vapour), heat capacities at 25 C. The most that evaporation
/// can do: a port-injected engine sees a part of it, and air that saturates stops it earlier.
///
/// # Arguments
/// - `lambda`: air-fuel equivalence ratio [-], 0.7 to 1.3
pub fn charge_cooling_k(blend: &Blend, lambda: f64) -> f64 {
    let cp_vapour = blend.vapour.cp(REFERENCE_TEMPERATURE_K) / blend.molar_mass_kg_per_mol;
    blend.hov_j_per_kg / (lambda * blend.afr_stoich * CP_AIR_J_PER_KG_K + cp_vapour)
}

impl PumpFuel {
    /// The fuel at its lowest, likely and highest content; the likely alone when the content is known.
    ///
    /// # Errors
    /// As [`PumpFuel::blend_at`].
    pub fn states(&self) -> Result<Vec<FuelState>, FuelError> {
        let all = [
            (Content::Low, self.ethanol.low),
            (Content::Likely, self.ethanol.likely),
            (Content::High, self.ethanol.high),
        ];
        all.into_iter()
            .filter(|(content, _)| *content == Content::Likely || !self.ethanol.is_known())
            .map(|(content, v)| Ok(FuelState::new(content, self.blend_at(v)?, self.best_power_lambda)))
            .collect()
    }

    /// The likely state alone.
    ///
    /// # Errors
    /// As [`PumpFuel::blend`].
    pub fn likely_state(&self) -> Result<FuelState, FuelError> {
        Ok(FuelState::new(Content::Likely, self.blend()?, self.best_power_lambda))
    }

    /// The base of the fuel with ethanol from 0 to 100 % by volume in steps of 5 %, each at the lambda of
    /// best power of its content.
    ///
    /// # Errors
    /// [`FuelError::NoSweep`] when it holds nothing that burns but ethanol.
    pub fn ethanol_sweep(&self) -> Result<Vec<FuelState>, FuelError> {
        if self.blend_at(0.0).is_err() {
            return Err(FuelError::NoSweep { fuel: self.name.clone() });
        }
        (0..=SWEEP_STEPS)
            .map(|i| {
                let content = f64::from(i) / f64::from(SWEEP_STEPS);
                Ok(FuelState::new(Content::Swept, self.blend_at(content)?, best_power_lambda(content)))
            })
            .collect()
    }
}
