//! Fresh charge, residual gas and their mixture, by composition.

use super::newton;
use super::species::{POLYNOMIALS, Species};
use crate::constants::{GAS_CONSTANT_J_PER_MOL_K, WATER_MOLAR_MASS_KG_PER_MOL, dry_air};
use crate::fuel::Blend;
use crate::lanes::Lanes;
use crate::nasa::Nasa7;

/// Temperature at which the composition of rich residual gas is taken to freeze [K].
///
/// Water-gas equilibrium frozen near 1740 K is the usual description of rich exhaust
/// (Heywood, Internal Combustion Engine Fundamentals, 1988, ch. 4; `from memory`).
pub const RESIDUAL_FREEZE_TEMPERATURE_K: f64 = 1740.0;

/// Moles of each element in one kilogram of mixture [mol/kg].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elements {
    /// Carbon.
    pub carbon: f64,
    /// Hydrogen.
    pub hydrogen: f64,
    /// Oxygen atoms beyond complete combustion to CO2 and H2O; negative when rich. Kept apart
    /// from the total so that a stoichiometric mixture is exact.
    pub oxygen_excess: f64,
    /// Nitrogen.
    pub nitrogen: f64,
    /// Argon.
    pub argon: f64,
}

impl Elements {
    /// Oxygen atoms in all [mol/kg].
    pub fn oxygen(&self) -> f64 {
        2.0 * self.carbon + 0.5 * self.hydrogen + self.oxygen_excess
    }
}

/// Fuel vapour as the gas layer needs it: atoms per mean molecule and the molar polynomial.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FuelVapour {
    /// Carbon atoms per molecule [-].
    pub carbon: f64,
    /// Hydrogen atoms per molecule [-].
    pub hydrogen: f64,
    /// Oxygen atoms per molecule [-].
    pub oxygen: f64,
    /// Molar mass [kg/mol].
    pub molar_mass_kg_per_mol: f64,
    /// Molar polynomial of the vapour, formation enthalpy included.
    pub poly: Nasa7,
}

impl FuelVapour {
    /// Moles of O2 that burn one mole of fuel to CO2 and H2O [-].
    pub fn stoichiometric_oxygen(&self) -> f64 {
        self.carbon + 0.25 * self.hydrogen - 0.5 * self.oxygen
    }
}

impl From<&Blend> for FuelVapour {
    fn from(blend: &Blend) -> Self {
        Self {
            carbon: blend.carbon,
            hydrogen: blend.hydrogen,
            oxygen: blend.oxygen,
            molar_mass_kg_per_mol: blend.molar_mass_kg_per_mol,
            poly: blend.vapour,
        }
    }
}

/// Fresh mixture: fuel vapour, dry air and water vapour, all in moles per kilogram of mixture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreshMixture {
    fuel: FuelVapour,
    fuel_mol_per_kg: f64,
    air_mol_per_kg: f64,
    water_mol_per_kg: f64,
    lambda: f64,
}

impl FreshMixture {
    /// Fresh mixture at an air-fuel equivalence ratio and humidity.
    ///
    /// # Arguments
    /// - `lambda`: actual over stoichiometric air [-], above 0.5; air's O2 alone is counted
    /// - `humidity_ratio`: water vapour per dry air by mass [-], 0 to 0.05
    ///
    /// # Example
    /// Burned rich, hot and at pressure: oxygen falls short, so carbon monoxide is left.
    /// ```
    /// use endgas::fuel::FuelLibrary;
    /// use endgas::gas::{FreshMixture, species::Species};
    /// let blend = FuelLibrary::shipped()?.resolve("premium-91")?.blend()?;
    /// let fresh = FreshMixture::new((&blend).into(), 0.87, 0.008);
    /// let charge = fresh.with_residual(0.05);
    /// assert!((1.3..1.4).contains(&charge.gamma(350.0)));
    ///
    /// let burned = fresh.elements().equilibrium_at_pressure(2600.0, 60e5, None)?;
    /// assert!((0.03..0.08).contains(&burned.mole_frac(Species::Co)));
    /// assert!(burned.mole_frac(Species::O2) < 0.005);
    /// // A neighbour is found faster from here.
    /// let near = fresh.elements().equilibrium_at_pressure(2650.0, 60e5, Some(burned.guess()))?;
    /// assert!(near.enthalpy_j_per_kg > burned.enthalpy_j_per_kg);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn new(fuel: FuelVapour, lambda: f64, humidity_ratio: f64) -> Self {
        let air_per_fuel = lambda * fuel.stoichiometric_oxygen() / dry_air::O2;
        let water_per_fuel =
            humidity_ratio * air_per_fuel * dry_air::MOLAR_MASS_KG_PER_MOL / WATER_MOLAR_MASS_KG_PER_MOL;
        let mass_per_fuel = fuel.molar_mass_kg_per_mol
            + air_per_fuel * dry_air::MOLAR_MASS_KG_PER_MOL * (1.0 + humidity_ratio);
        Self {
            fuel,
            fuel_mol_per_kg: 1.0 / mass_per_fuel,
            air_mol_per_kg: air_per_fuel / mass_per_fuel,
            water_mol_per_kg: water_per_fuel / mass_per_fuel,
            lambda,
        }
    }

    /// Mass fraction of fuel [-].
    pub fn fuel_mass_frac(&self) -> f64 {
        self.fuel_mol_per_kg * self.fuel.molar_mass_kg_per_mol
    }

    /// Mass fraction of dry air [-].
    pub fn dry_air_mass_frac(&self) -> f64 {
        self.air_mol_per_kg * dry_air::MOLAR_MASS_KG_PER_MOL
    }

    /// Elements per kilogram; burned or not, they stay.
    pub fn elements(&self) -> Elements {
        let (f, a) = (self.fuel_mol_per_kg, self.air_mol_per_kg);
        Elements {
            carbon: f * self.fuel.carbon + a * dry_air::CO2,
            hydrogen: f * self.fuel.hydrogen + 2.0 * self.water_mol_per_kg,
            oxygen_excess: 2.0 * f * self.fuel.stoichiometric_oxygen() * (self.lambda - 1.0),
            nitrogen: 2.0 * a * dry_air::N2,
            argon: a * dry_air::AR,
        }
    }

    /// Moles of residual species per kilogram: (CO2, H2O, CO, H2, O2, N2, Ar).
    ///
    /// Lean or stoichiometric: complete combustion. Rich: no oxygen, carbon monoxide and hydrogen
    /// share the missing oxygen by the water-gas equilibrium frozen at
    /// [`RESIDUAL_FREEZE_TEMPERATURE_K`].
    fn residual_moles(&self) -> [(Species, f64); 7] {
        let e = self.elements();
        let (carbon, water_max) = (e.carbon, 0.5 * e.hydrogen);
        let (co, h2, o2) = if e.oxygen_excess >= 0.0 {
            (0.0, 0.0, 0.5 * e.oxygen_excess)
        } else {
            let missing = -e.oxygen_excess;
            let co = water_gas_co(carbon, water_max, missing);
            (co, missing - co, 0.0)
        };
        [
            (Species::Co2, carbon - co),
            (Species::H2o, water_max - h2),
            (Species::Co, co),
            (Species::H2, h2),
            (Species::O2, o2),
            (Species::N2, 0.5 * e.nitrogen),
            (Species::Ar, e.argon),
        ]
    }

    /// Fresh mixture and residual gas mixed by mass, composition frozen.
    ///
    /// # Arguments
    /// - `residual_frac`: residual gas mass fraction [-], 0 to 0.5
    pub fn with_residual(&self, residual_frac: f64) -> UnburnedCharge {
        let fresh = 1.0 - residual_frac;
        let a = self.air_mol_per_kg;
        let mut charge = Accumulator::default();
        charge.add(&self.fuel.poly, fresh * self.fuel_mol_per_kg);
        charge.add(Species::N2.poly(), fresh * a * dry_air::N2);
        charge.add(Species::O2.poly(), fresh * a * dry_air::O2);
        charge.add(Species::Ar.poly(), fresh * a * dry_air::AR);
        charge.add(Species::Co2.poly(), fresh * a * dry_air::CO2);
        charge.add(Species::H2o.poly(), fresh * self.water_mol_per_kg);
        for (species, moles) in self.residual_moles() {
            charge.add(species.poly(), residual_frac * moles);
        }
        UnburnedCharge {
            poly: charge.poly,
            gas_constant_j_per_kg_k: GAS_CONSTANT_J_PER_MOL_K * charge.moles,
            fuel_mass_frac: fresh * self.fuel_mass_frac(),
        }
    }

    /// Residual gas alone, composition frozen.
    pub fn residual(&self) -> UnburnedCharge {
        self.with_residual(1.0)
    }
}

#[derive(Default)]
struct Accumulator {
    poly: Nasa7,
    moles: f64,
}

impl Accumulator {
    fn add(&mut self, poly: &Nasa7, moles: f64) {
        self.poly = self.poly.plus_scaled(poly, moles);
        self.moles += moles;
    }
}

/// Carbon monoxide [mol/kg] when `missing` moles of oxygen are shared between CO and H2 at
/// CO + H2O = CO2 + H2, K = (CO2 H2)/(CO H2O), from the polynomials at the freeze temperature.
fn water_gas_co(carbon: f64, water_max: f64, missing: f64) -> f64 {
    let t = RESIDUAL_FREEZE_TEMPERATURE_K;
    let gibbs = |s: Species| {
        let p: &Nasa7 = &POLYNOMIALS[s as usize];
        p.enthalpy(t) - t * p.entropy(t)
    };
    let change = gibbs(Species::Co2) + gibbs(Species::H2) - gibbs(Species::Co) - gibbs(Species::H2o);
    let k = (-change / (GAS_CONSTANT_J_PER_MOL_K * t)).exp();
    // (carbon - x)(missing - x) = k x (water_max - missing + x), x = CO
    let a = 1.0 - k;
    let b = -(carbon + missing + k * (water_max - missing));
    let c = carbon * missing;
    // b < 0 and c > 0: the smaller root in the stable form, which also serves a = 0.
    2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())
}

/// Unburned charge of frozen composition, all quantities per kilogram.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnburnedCharge<N = f64> {
    poly: Nasa7<N>,
    /// Gas constant [J/(kg K)].
    pub gas_constant_j_per_kg_k: N,
    /// Mass of fresh fuel per mass of charge [-].
    pub fuel_mass_frac: N,
}

impl<N: Lanes> UnburnedCharge<N> {
    /// Enthalpy, formation included [J/kg].
    #[inline(always)]
    pub fn enthalpy_j_per_kg(&self, temperature_k: N) -> N {
        self.poly.enthalpy(temperature_k)
    }

    /// Internal energy, formation included [J/kg].
    #[inline(always)]
    pub fn internal_energy_j_per_kg(&self, temperature_k: N) -> N {
        self.poly.enthalpy(temperature_k) - self.gas_constant_j_per_kg_k * temperature_k
    }

    /// Heat capacity at constant pressure [J/(kg K)].
    #[inline(always)]
    pub fn cp_j_per_kg_k(&self, temperature_k: N) -> N {
        self.poly.cp(temperature_k)
    }
}

impl UnburnedCharge {
    /// Several side by side.
    #[inline(always)]
    pub(crate) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> UnburnedCharge<N> {
        UnburnedCharge {
            poly: Nasa7::beside(token, |lane| of(lane).poly),
            gas_constant_j_per_kg_k: N::gathered(token, |lane| of(lane).gas_constant_j_per_kg_k),
            fuel_mass_frac: N::gathered(token, |lane| of(lane).fuel_mass_frac),
        }
    }

    /// Ratio of heat capacities [-].
    pub fn gamma(&self, temperature_k: f64) -> f64 {
        let cp = self.cp_j_per_kg_k(temperature_k);
        cp / (cp - self.gas_constant_j_per_kg_k)
    }

    /// Temperature [K] after isentropic compression by a volume ratio from `temperature_k`.
    ///
    /// Solves s(T2) - s(T1) - R ln(T2/T1) = R ln(ratio) by Newton's method.
    pub fn isentropic_temperature_k(&self, temperature_k: f64, volume_ratio: f64) -> f64 {
        let r = self.gas_constant_j_per_kg_k;
        let target = r * volume_ratio.ln();
        let s1 = self.poly.entropy(temperature_k);
        newton::temperature_k(temperature_k * volume_ratio.powf(0.33), |t| {
            let off = self.poly.entropy(t) - s1 - r * (t / temperature_k).ln() - target;
            (off * t, self.poly.cp(t) - r)
        })
    }
}
