//! Chemical equilibrium of CHON(Ar) combustion products over twelve species.
//!
//! # Method
//! The equilibrium conditions of seven formation reactions leave one composition unknown, the
//! square root of the oxygen partial pressure s = sqrt(pO2), once the pressure per mole
//! t = p / N is known: the carbon split is linear, the hydrogen and nitrogen splits are
//! quadratics with one positive root. What remains is the oxygen balance, written against
//! complete combustion so that nothing cancels in a stoichiometric mixture:
//!
//! 2 pO2 + pO + pNO + pOH/2 = pCO + pH2 + pH/2 + excess t
//!
//! The difference of the logarithms of both sides is monotone in ln s, so Newton's method on it
//! converges from any start. At given volume t = R T / v is known and this is all; at given
//! pressure the sum of partial pressures is the second equation.

use super::mixture::Elements;
use super::species::{COUNT, POLYNOMIALS, Species};
use crate::constants::{GAS_CONSTANT_J_PER_MOL_K as RU, STANDARD_PRESSURE_PA};
use crate::nasa::Nasa7;

/// Temperatures the solver accepts [K]; the polynomials reach from 200 to 6000 K.
pub const TEMPERATURE_RANGE_K: std::ops::RangeInclusive<f64> = 400.0..=4500.0;
const MAX_ITERATIONS: u32 = 80;
const TOLERANCE: f64 = 1e-12;

/// Equilibrium was not found, or was asked for outside the model.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum EquilibriumError {
    /// Temperature outside [`TEMPERATURE_RANGE_K`] or pressure or volume not positive.
    #[error(
        "equilibrium asked at {temperature_k} K and {state} (pressure [bar] or volume [m3/kg]), outside the model"
    )]
    OutOfRange {
        /// Temperature asked [K].
        temperature_k: f64,
        /// Pressure [bar] or specific volume [m3/kg] asked.
        state: f64,
    },
    /// Newton's method did not settle.
    #[error(
        "equilibrium at {temperature_k} K did not settle in {iterations} steps, last step {last_step:.1e}"
    )]
    NotConverged {
        /// Temperature [K].
        temperature_k: f64,
        /// Steps taken.
        iterations: u32,
        /// Size of the last step in ln s and ln t.
        last_step: f64,
    },
}

/// Burned gas at chemical equilibrium, all extensive quantities per kilogram.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EquilibriumState {
    /// Temperature [K].
    pub temperature_k: f64,
    /// Pressure [Pa].
    pub pressure_pa: f64,
    /// Moles of each species [mol/kg], in the order of [`Species`].
    pub moles: [f64; COUNT],
    /// Gas constant [J/(kg K)].
    pub gas_constant_j_per_kg_k: f64,
    /// Enthalpy, formation included [J/kg].
    pub enthalpy_j_per_kg: f64,
    /// Solver start for a neighbouring state: ln sqrt(pO2/bar) and ln(t).
    guess: Guess,
}

/// Start values of the solver.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Guess {
    ln_root_oxygen: f64,
    ln_pressure_per_mole: f64,
}

impl EquilibriumState {
    /// Internal energy, formation included [J/kg].
    pub fn internal_energy_j_per_kg(&self) -> f64 {
        self.enthalpy_j_per_kg - self.gas_constant_j_per_kg_k * self.temperature_k
    }

    /// Specific volume [m3/kg].
    pub fn specific_volume_m3_per_kg(&self) -> f64 {
        self.gas_constant_j_per_kg_k * self.temperature_k / self.pressure_pa
    }

    /// Entropy, mixing included [J/(kg K)].
    pub fn entropy_j_per_kg_k(&self) -> f64 {
        let total: f64 = self.moles.iter().sum();
        let ln_p = (self.pressure_pa / STANDARD_PRESSURE_PA).ln();
        self.moles
            .iter()
            .zip(&POLYNOMIALS)
            .filter(|(n, _)| **n > 0.0)
            .map(|(n, poly)| n * (poly.entropy(self.temperature_k) - RU * ((n / total).ln() + ln_p)))
            .sum()
    }

    /// Mole fraction of one species [-].
    pub fn mole_frac(&self, species: Species) -> f64 {
        self.moles[species as usize] / self.moles.iter().sum::<f64>()
    }

    /// Start values for a neighbouring state.
    pub fn guess(&self) -> Guess {
        self.guess
    }
}

/// Equilibrium constants of formation from CO, H2, O2, N2, partial pressures in bar.
struct Constants {
    co2: f64,
    h2o: f64,
    oh: f64,
    h: f64,
    o: f64,
    no: f64,
    n: f64,
}

impl Constants {
    fn at(temperature_k: f64) -> Self {
        let t = temperature_k;
        let gibbs = |s: Species| {
            let p: &Nasa7 = s.poly();
            (p.enthalpy(t) - t * p.entropy(t)) / (RU * t)
        };
        let (o2, h2, n2) = (0.5 * gibbs(Species::O2), 0.5 * gibbs(Species::H2), 0.5 * gibbs(Species::N2));
        Self {
            co2: (gibbs(Species::Co) + o2 - gibbs(Species::Co2)).exp(),
            h2o: (2.0 * h2 + o2 - gibbs(Species::H2o)).exp(),
            oh: (h2 + o2 - gibbs(Species::Oh)).exp(),
            h: (h2 - gibbs(Species::H)).exp(),
            o: (o2 - gibbs(Species::O)).exp(),
            no: (n2 + o2 - gibbs(Species::No)).exp(),
            n: (n2 - gibbs(Species::N)).exp(),
        }
    }
}

/// Partial pressures [bar] at a trial (ln s, ln t) and what Newton's method needs of them.
struct Trial {
    pressures: [f64; COUNT],
    /// ln(oxygen-rich side / oxygen-poor side) and its slopes in ln s and ln t.
    balance: f64,
    balance_by_s: f64,
    balance_by_t: f64,
    /// Sum of partial pressures and its slopes.
    sum: f64,
    sum_by_s: f64,
    sum_by_t: f64,
}

/// Positive root of a x^2 + b x = c with its slopes, given the slopes of a and b in ln s; c grows as t.
fn positive_root(a: f64, b: f64, c: f64, a_by_s: f64, b_by_s: f64) -> (f64, f64, f64) {
    let x = 2.0 * c / (b + (b * b + 4.0 * a * c).sqrt());
    let slope = 2.0 * a * x + b;
    (x, -(a_by_s * x * x + b_by_s * x) / slope, c / slope)
}

impl Trial {
    fn at(e: &Elements, k: &Constants, guess: Guess) -> Self {
        let s = guess.ln_root_oxygen.exp();
        let t = guess.ln_pressure_per_mole.exp();
        let carbon = e.carbon * t;
        let kc = k.co2 * s;
        let co = carbon / (1.0 + kc);
        let co_by_s = -co * kc / (1.0 + kc);
        let (h, h_by_s, h_by_t) =
            positive_root(2.0 * (1.0 + k.h2o * s), k.oh * s + k.h, e.hydrogen * t, 2.0 * k.h2o * s, k.oh * s);
        let (n, n_by_s, n_by_t) = positive_root(2.0, k.no * s + k.n, e.nitrogen * t, 0.0, k.no * s);
        let (o2, o, no, oh, h2, ph) = (s * s, k.o * s, k.no * n * s, k.oh * h * s, h * h, k.h * h);
        let (no_by_s, oh_by_s) = (k.no * s * (n + n_by_s), k.oh * s * (h + h_by_s));
        let (h2_by_s, ph_by_s) = (2.0 * h * h_by_s, k.h * h_by_s);
        let water = k.h2o * h2 * s;
        let (lean, rich) = (e.oxygen_excess.max(0.0) * t, (-e.oxygen_excess).max(0.0) * t);
        let plus = 2.0 * o2 + o + no + 0.5 * oh + rich;
        let minus = co + h2 + 0.5 * ph + lean;
        let plus_by_s = 4.0 * o2 + o + no_by_s + 0.5 * oh_by_s;
        let minus_by_s = co_by_s + h2_by_s + 0.5 * ph_by_s;
        let plus_by_t = k.no * s * n_by_t + 0.5 * k.oh * s * h_by_t + rich;
        let minus_by_t = co + 2.0 * h * h_by_t + 0.5 * k.h * h_by_t + lean;
        let argon = e.argon * t;
        Self {
            pressures: [kc * co, water, co, h2, o2, oh, o, ph, n * n, no, k.n * n, argon],
            balance: (plus / minus).ln(),
            balance_by_s: plus_by_s / plus - minus_by_s / minus,
            balance_by_t: plus_by_t / plus - minus_by_t / minus,
            sum: carbon + h2 + water + oh + ph + n * n + no + k.n * n + o2 + o + argon,
            sum_by_s: h2_by_s
                + k.h2o * s * (h2 + h2_by_s)
                + oh_by_s
                + ph_by_s
                + 2.0 * n * n_by_s
                + no_by_s
                + k.n * n_by_s
                + 2.0 * o2
                + o,
            sum_by_t: carbon
                + 2.0 * h * h_by_t * (1.0 + k.h2o * s)
                + (k.oh * s + k.h) * h_by_t
                + 2.0 * n * n_by_t
                + (k.no * s + k.n) * n_by_t
                + argon,
        }
    }
}

impl Elements {
    /// A start from complete combustion that Newton's method improves.
    fn first_guess(&self, ln_pressure_per_mole: f64) -> Guess {
        let oxygen = if self.oxygen_excess > 0.0 {
            0.5 * (0.5 * self.oxygen_excess).max(1e-12).ln() + 0.5 * ln_pressure_per_mole
        } else {
            -8.0
        };
        Guess { ln_root_oxygen: oxygen, ln_pressure_per_mole }
    }

    fn moles_at_complete_combustion(&self) -> f64 {
        self.carbon + 0.5 * (self.hydrogen + self.nitrogen) + self.argon + 0.5 * self.oxygen_excess.max(0.0)
    }

    fn state(&self, temperature_k: f64, trial: &Trial, guess: Guess) -> EquilibriumState {
        let t = guess.ln_pressure_per_mole.exp();
        let moles = trial.pressures.map(|p| p / t);
        let total: f64 = moles.iter().sum();
        let enthalpy = moles.iter().zip(&POLYNOMIALS).map(|(n, poly)| n * poly.enthalpy(temperature_k)).sum();
        EquilibriumState {
            temperature_k,
            pressure_pa: trial.sum * STANDARD_PRESSURE_PA,
            moles,
            gas_constant_j_per_kg_k: RU * total,
            enthalpy_j_per_kg: enthalpy,
            guess,
        }
    }

    /// Equilibrium at temperature and specific volume.
    ///
    /// # Arguments
    /// - `temperature_k`: [K], in [`TEMPERATURE_RANGE_K`]
    /// - `specific_volume_m3_per_kg`: [m3/kg], above 0
    /// - `start`: a neighbouring state, or none
    ///
    /// # Errors
    /// [`EquilibriumError`] outside the range or when Newton's method does not settle.
    pub fn equilibrium_at_volume(
        &self,
        temperature_k: f64,
        specific_volume_m3_per_kg: f64,
        start: Option<Guess>,
    ) -> Result<EquilibriumState, EquilibriumError> {
        if !TEMPERATURE_RANGE_K.contains(&temperature_k)
            || specific_volume_m3_per_kg.is_nan()
            || specific_volume_m3_per_kg <= 0.0
        {
            return Err(EquilibriumError::OutOfRange { temperature_k, state: specific_volume_m3_per_kg });
        }
        let k = Constants::at(temperature_k);
        let ln_t = (RU * temperature_k / specific_volume_m3_per_kg / STANDARD_PRESSURE_PA).ln();
        let mut guess =
            Guess { ln_pressure_per_mole: ln_t, ..start.unwrap_or_else(|| self.first_guess(ln_t)) };
        let mut last_step = f64::INFINITY;
        for _ in 0..MAX_ITERATIONS {
            let trial = Trial::at(self, &k, guess);
            if last_step < TOLERANCE {
                return Ok(self.state(temperature_k, &trial, guess));
            }
            let step = (-trial.balance / trial.balance_by_s).clamp(-20.0, 20.0);
            guess.ln_root_oxygen += step;
            last_step = step.abs() / guess.ln_root_oxygen.abs().max(1.0);
        }
        Err(EquilibriumError::NotConverged { temperature_k, iterations: MAX_ITERATIONS, last_step })
    }

    /// Equilibrium at temperature and pressure.
    ///
    /// # Arguments
    /// - `temperature_k`: [K], in [`TEMPERATURE_RANGE_K`]
    /// - `pressure_pa`: [Pa], above 0
    /// - `start`: a neighbouring state, or none
    ///
    /// # Errors
    /// [`EquilibriumError`] outside the range or when Newton's method does not settle.
    pub fn equilibrium_at_pressure(
        &self,
        temperature_k: f64,
        pressure_pa: f64,
        start: Option<Guess>,
    ) -> Result<EquilibriumState, EquilibriumError> {
        let bar = pressure_pa / STANDARD_PRESSURE_PA;
        if !TEMPERATURE_RANGE_K.contains(&temperature_k) || bar.is_nan() || bar <= 0.0 {
            return Err(EquilibriumError::OutOfRange { temperature_k, state: bar });
        }
        let k = Constants::at(temperature_k);
        let mut guess =
            start.unwrap_or_else(|| self.first_guess((bar / self.moles_at_complete_combustion()).ln()));
        let mut last_step = f64::INFINITY;
        for _ in 0..MAX_ITERATIONS {
            let trial = Trial::at(self, &k, guess);
            if last_step < TOLERANCE {
                return Ok(self.state(temperature_k, &trial, guess));
            }
            // Newton on (balance, ln(sum / p)); steps are limited where the start is far off.
            let pressure_error = (trial.sum / bar).ln();
            let (by_s, by_t) = (trial.sum_by_s / trial.sum, trial.sum_by_t / trial.sum);
            let determinant = trial.balance_by_s * by_t - trial.balance_by_t * by_s;
            let step_s = ((-trial.balance * by_t + pressure_error * trial.balance_by_t) / determinant)
                .clamp(-8.0, 8.0);
            let step_t = ((-pressure_error * trial.balance_by_s + trial.balance * by_s) / determinant)
                .clamp(-0.5, 0.5);
            guess.ln_root_oxygen += step_s;
            guess.ln_pressure_per_mole += step_t;
            last_step = step_s.abs().max(step_t.abs()) / guess.ln_root_oxygen.abs().max(1.0);
        }
        Err(EquilibriumError::NotConverged { temperature_k, iterations: MAX_ITERATIONS, last_step })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Newton's method would settle with wrong slopes too, only later; so they are held to differences of the values.
    #[test]
    fn slopes_of_a_trial_are_those_of_its_values() {
        const STEP: f64 = 1e-5;
        for oxygen_excess in [-20.0, -1.0, 0.0, 8.0] {
            let elements =
                Elements { carbon: 60.0, hydrogen: 120.0, nitrogen: 700.0, argon: 4.0, oxygen_excess };
            for (temperature_k, ln_root_oxygen) in
                [(900.0, -20.0), (1800.0, -6.0), (2600.0, -1.5), (3200.0, -1.0)]
            {
                let k = Constants::at(temperature_k);
                let at = |ds: f64, dt: f64| {
                    let guess =
                        Guess { ln_root_oxygen: ln_root_oxygen + ds, ln_pressure_per_mole: -3.0 + dt };
                    Trial::at(&elements, &k, guess)
                };
                let here = at(0.0, 0.0);
                let slope = |low: f64, high: f64| (high - low) / (2.0 * STEP);
                let by_s = (at(-STEP, 0.0), at(STEP, 0.0));
                let by_t = (at(0.0, -STEP), at(0.0, STEP));
                for (found, wanted) in [
                    (here.balance_by_s, slope(by_s.0.balance, by_s.1.balance)),
                    (here.balance_by_t, slope(by_t.0.balance, by_t.1.balance)),
                    (here.sum_by_s / here.sum, slope(by_s.0.sum, by_s.1.sum) / here.sum),
                    (here.sum_by_t / here.sum, slope(by_t.0.sum, by_t.1.sum) / here.sum),
                ] {
                    assert_relative_eq!(found, wanted, max_relative = 1e-6, epsilon = 1e-8);
                }
            }
        }
    }
}
