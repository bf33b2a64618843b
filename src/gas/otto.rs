//! Ideal cycles shown beside the real one: air-standard Otto and fuel-air Otto.

use super::equilibrium::{EquilibriumError, EquilibriumState, Guess};
use super::mixture::{Elements, FreshMixture};

/// Efficiency of the air-standard Otto cycle [-]: 1 - r^(1 - gamma), gamma 1.4
/// (constant-property ideal gas; any thermodynamics text).
pub fn air_standard_efficiency(compression_ratio: f64) -> f64 {
    1.0 - compression_ratio.powf(1.0 - 1.4)
}

/// States and work of a fuel-air Otto cycle, per kilogram of charge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FuelAirOtto {
    /// Temperature after compression [K].
    pub compressed_temperature_k: f64,
    /// Pressure after compression [Pa].
    pub compressed_pressure_pa: f64,
    /// State after constant-volume combustion.
    pub burned: EquilibriumState,
    /// State after expansion.
    pub expanded: EquilibriumState,
    /// Specific volume at the start [m3/kg].
    pub start_volume_m3_per_kg: f64,
    /// Net work [J/kg of charge].
    pub work_j_per_kg: f64,
    /// Indicated mean effective pressure [Pa].
    pub imep_pa: f64,
    /// Fresh fuel per mass of charge [-].
    pub fuel_mass_frac: f64,
}

/// Fuel-air Otto cycle: isentropic compression of the frozen charge, adiabatic combustion to
/// equilibrium at constant volume, isentropic expansion in equilibrium.
///
/// # Arguments
/// - `residual_frac`: residual gas mass fraction [-], 0 to 0.3
/// - `temperature_k`, `pressure_pa`: start of compression, 280 to 450 K, above 0
/// - `compression_ratio`: volume ratio [-], 2 to 30
///
/// # Errors
/// [`EquilibriumError`] when a state lies outside the solver's range.
///
/// # Example
/// What dissociation and real heat capacities leave of the air-standard efficiency at 12:1:
/// ```
/// use endgas::fuel::FuelLibrary;
/// use endgas::gas::FreshMixture;
/// use endgas::gas::otto::{air_standard_efficiency, fuel_air_otto};
/// let blend = FuelLibrary::shipped()?.resolve("premium-91")?.blend()?;
/// let fresh = FreshMixture::new((&blend).into(), 1.0, 0.0);
/// let cycle = fuel_air_otto(&fresh, 0.05, 340.0, 1.0e5, 12.0)?;
/// let efficiency = cycle.work_j_per_kg / (cycle.fuel_mass_frac * blend.lhv_j_per_kg);
/// assert!((0.70..0.85).contains(&(efficiency / air_standard_efficiency(12.0))));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn fuel_air_otto(
    fresh: &FreshMixture,
    residual_frac: f64,
    temperature_k: f64,
    pressure_pa: f64,
    compression_ratio: f64,
) -> Result<FuelAirOtto, EquilibriumError> {
    let charge = fresh.with_residual(residual_frac);
    let elements = fresh.elements();
    let v1 = charge.gas_constant_j_per_kg_k * temperature_k / pressure_pa;
    let v2 = v1 / compression_ratio;
    let t2 = charge.isentropic_temperature_k(temperature_k, compression_ratio);
    let burned = elements.equilibrium_at_energy(charge.internal_energy_j_per_kg(t2), v2, 2800.0)?;
    let expanded = elements.isentropic_to_volume(&burned, v1)?;
    let work = charge.internal_energy_j_per_kg(temperature_k) - expanded.internal_energy_j_per_kg();
    Ok(FuelAirOtto {
        compressed_temperature_k: t2,
        compressed_pressure_pa: charge.gas_constant_j_per_kg_k * t2 / v2,
        burned,
        expanded,
        start_volume_m3_per_kg: v1,
        work_j_per_kg: work,
        imep_pa: work / (v1 - v2),
        fuel_mass_frac: charge.fuel_mass_frac,
    })
}

/// Largest number of secant steps on temperature.
const MAX_STEPS: u32 = 60;

impl Elements {
    /// Equilibrium where the internal energy is given at a specific volume (adiabatic, constant volume).
    ///
    /// # Arguments
    /// - `internal_energy_j_per_kg`: formation included [J/kg]
    /// - `specific_volume_m3_per_kg`: [m3/kg]
    /// - `guess_k`: start of the search [K]
    ///
    /// # Errors
    /// [`EquilibriumError`] when the state lies outside the solver's range.
    pub fn equilibrium_at_energy(
        &self,
        internal_energy_j_per_kg: f64,
        specific_volume_m3_per_kg: f64,
        guess_k: f64,
    ) -> Result<EquilibriumState, EquilibriumError> {
        self.solve_temperature(
            guess_k,
            |t, start| self.equilibrium_at_volume(t, specific_volume_m3_per_kg, start),
            |state| state.internal_energy_j_per_kg() - internal_energy_j_per_kg,
        )
    }

    /// Equilibrium where the enthalpy is given at a pressure (adiabatic, constant pressure).
    ///
    /// # Errors
    /// [`EquilibriumError`] when the state lies outside the solver's range.
    pub fn equilibrium_at_enthalpy(
        &self,
        enthalpy_j_per_kg: f64,
        pressure_pa: f64,
        guess_k: f64,
    ) -> Result<EquilibriumState, EquilibriumError> {
        self.solve_temperature(
            guess_k,
            |t, start| self.equilibrium_at_pressure(t, pressure_pa, start),
            |state| state.enthalpy_j_per_kg - enthalpy_j_per_kg,
        )
    }

    /// Isentropic change to another specific volume, composition in equilibrium throughout.
    ///
    /// # Errors
    /// [`EquilibriumError`] when the state lies outside the solver's range.
    pub fn isentropic_to_volume(
        &self,
        from: &EquilibriumState,
        specific_volume_m3_per_kg: f64,
    ) -> Result<EquilibriumState, EquilibriumError> {
        let entropy = from.entropy_j_per_kg_k();
        let ratio = from.specific_volume_m3_per_kg() / specific_volume_m3_per_kg;
        self.solve_temperature(
            from.temperature_k * ratio.powf(0.2),
            |t, start| self.equilibrium_at_volume(t, specific_volume_m3_per_kg, start),
            |state| state.entropy_j_per_kg_k() - entropy,
        )
    }

    /// Secant search for the temperature at which `residual` of the state is zero.
    fn solve_temperature(
        &self,
        guess_k: f64,
        state_at: impl Fn(f64, Option<Guess>) -> Result<EquilibriumState, EquilibriumError>,
        residual: impl Fn(&EquilibriumState) -> f64,
    ) -> Result<EquilibriumState, EquilibriumError> {
        let mut older = state_at(guess_k * 1.01, None)?;
        let mut state = state_at(guess_k, Some(older.guess()))?;
        for _ in 0..MAX_STEPS {
            let (f0, f1) = (residual(&older), residual(&state));
            let step = -f1 * (state.temperature_k - older.temperature_k) / (f1 - f0);
            if !step.is_finite() || step.abs() < 1e-9 * state.temperature_k {
                return Ok(state);
            }
            let next = state.temperature_k + step.clamp(-400.0, 400.0);
            older = state;
            state = state_at(next, Some(older.guess()))?;
        }
        Err(EquilibriumError::NotConverged {
            temperature_k: state.temperature_k,
            iterations: MAX_STEPS,
            last_step: (state.temperature_k - older.temperature_k).abs(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: 8^0.4 is 2.2974, 10^0.4 is 2.5119; without compression there is no work.
    #[test]
    fn the_air_standard_efficiency_follows_its_formula() {
        assert_relative_eq!(air_standard_efficiency(8.0), 1.0 - 1.0 / 2.2974, max_relative = 1e-4);
        assert_relative_eq!(air_standard_efficiency(10.0), 1.0 - 1.0 / 2.5119, max_relative = 1e-4);
        assert_relative_eq!(air_standard_efficiency(1.0), 0.0);
    }
}
