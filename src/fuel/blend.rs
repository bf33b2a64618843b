//! A blend of components by volume, and what follows for the engine.
//!
//! Volumes add (the excess volume of ethanol in gasoline is 0 to 0.5 %, below the spread of
//! gasoline density); mass fractions follow from densities, mole fractions from molar masses.
//! Heating value and heat of vaporisation go by mass, stoichiometric air by the atoms.
//! Octane numbers go by mole fraction with an interaction of ethanol in RON
//! ([`crate::fuel::octane`]), water taking no part in it.

use crate::constants::dry_air;
use crate::fuel::component::{Component, ETHANOL, METHANOL, OctaneRating, mixed_vapour};
use crate::fuel::error::FuelError;
use crate::fuel::octane::{Blended, OCTANE_BLENDING, OctaneBand, OctaneConcern};
use crate::fuel::products::Atoms;
use crate::nasa::Nasa7;
use crate::units::celsius_to_k;
use schemars::JsonSchema;
use serde::Serialize;

/// Largest error of the sum of volume shares that is taken as rounding [-].
pub const SHARE_TOLERANCE: f64 = 1e-3;

/// One component in a blend.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Part {
    /// Name of the component.
    pub name: String,
    /// Share by liquid volume at 15 C [-].
    pub vol_frac: f64,
    /// Share by mass [-].
    pub mass_frac: f64,
    /// Share by moles [-].
    pub mole_frac: f64,
}

/// A finished fuel: components by volume and every property the engine model needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Blend {
    /// Name or recipe by which the fuel was asked for.
    pub name: String,
    /// Name for people.
    pub title: String,
    /// Ethanol by liquid volume at 15 C [-].
    pub ethanol_vol_frac: f64,
    /// Carbon atoms per mean molecule [-].
    pub carbon: f64,
    /// Hydrogen atoms per mean molecule [-].
    pub hydrogen: f64,
    /// Oxygen atoms per mean molecule [-].
    pub oxygen: f64,
    /// Molar mass of the mean molecule [kg/mol].
    pub molar_mass_kg_per_mol: f64,
    /// Liquid density at 15 C [kg/m3].
    pub density_15c_kg_per_m3: f64,
    /// Volumetric thermal expansion of the liquid near 15 C [1/K].
    pub thermal_expansion_per_k: f64,
    /// Stoichiometric air-fuel ratio by mass, dry air [-].
    pub afr_stoich: f64,
    /// Lower heating value of the liquid at 25 C [J/kg].
    pub lhv_j_per_kg: f64,
    /// Lower heating value of the vapour at 25 C [J/kg]: liquid plus heat of vaporisation.
    pub lhv_vapour_j_per_kg: f64,
    /// Heat of vaporisation at 25 C [J/kg], heat of mixing left out.
    pub hov_j_per_kg: f64,
    /// Octane numbers by mole fraction, with the interaction of ethanol in RON.
    pub octane: OctaneRating,
    /// 10-90 % band of the octane numbers.
    pub octane_band: OctaneBand,
    /// RON of everything but ethanol [-]; none when nothing else has octane.
    pub base_ron: Option<f64>,
    /// RON less MON of what is not ethanol, by its share of the moles that have octane numbers [-].
    pub gasoline_sensitivity: f64,
    /// Ethanol by moles among the parts that have octane numbers [-].
    pub ethanol_octane_mole_frac: f64,
    /// Molar polynomial of the vapour of the mean molecule, entropy of mixing included.
    pub vapour: Nasa7,
    /// The components, in the order given; those with no share are left out.
    pub parts: Vec<Part>,
}

impl Blend {
    /// A blend of components by liquid volume at 15 C.
    ///
    /// # Errors
    /// [`FuelError`] when there is no part, a share is negative or not a number, the shares do not
    /// add to 1 within [`SHARE_TOLERANCE`] (smaller errors are scaled away), nothing in it has an
    /// octane number, so much water is in it that it has no heating value, or so much oxygen that it needs no air.
    pub fn from_parts(name: &str, title: &str, parts: &[(&Component, f64)]) -> Result<Self, FuelError> {
        let used = checked_shares(name, parts)?;
        let density = sum(&used, |c| c.density_15c_kg_per_m3);
        let mass: Vec<f64> = used.iter().map(|(c, v)| v * c.density_15c_kg_per_m3 / density).collect();
        let moles: Vec<f64> = used.iter().zip(&mass).map(|((c, _), w)| w / c.molar_mass_kg_per_mol).collect();
        let all_moles: f64 = moles.iter().sum();
        let mole: Vec<f64> = moles.iter().map(|n| n / all_moles).collect();
        let by_mass = |of: fn(&Component) -> f64| used.iter().zip(&mass).map(|((c, _), w)| w * of(c)).sum();
        let by_mole =
            |of: fn(&Component) -> f64| -> f64 { used.iter().zip(&mole).map(|((c, _), x)| x * of(c)).sum() };

        let atoms = Atoms {
            carbon: by_mole(|c| c.carbon),
            hydrogen: by_mole(|c| c.hydrogen),
            oxygen: by_mole(|c| c.oxygen),
        };
        let molar_mass = atoms.molar_mass_kg_per_mol();
        let air_per_oxygen = dry_air::MOLAR_MASS_KG_PER_MOL / dry_air::O2;
        let lhv = positive(name, "heating value", by_mass(|c| c.lhv_liquid_j_per_kg))?;
        let afr_stoich = positive(name, "air per fuel", atoms.oxygen_demand() * air_per_oxygen / molar_mass)?;
        let hov: f64 = by_mass(|c| c.heat_of_vaporisation_j_per_kg);
        // Not `sum`: the sum of nothing is minus zero, which would print.
        let ethanol = used.iter().filter(|(c, _)| c.name == ETHANOL).fold(0.0, |sum, (_, v)| sum + v);
        let rated = used.iter().zip(&mole).map(|((c, _), x)| (c.name.as_str(), c.octane, *x));
        let blended = Blended::of(rated).ok_or_else(|| FuelError::NoOctane { blend: name.to_owned() })?;
        Ok(Self {
            name: name.to_owned(),
            title: title.to_owned(),
            ethanol_vol_frac: ethanol,
            carbon: atoms.carbon,
            hydrogen: atoms.hydrogen,
            oxygen: atoms.oxygen,
            molar_mass_kg_per_mol: molar_mass,
            density_15c_kg_per_m3: density,
            thermal_expansion_per_k: sum(&used, |c| c.thermal_expansion_per_k),
            afr_stoich,
            lhv_j_per_kg: lhv,
            lhv_vapour_j_per_kg: lhv + hov,
            hov_j_per_kg: hov,
            octane: blended.octane,
            octane_band: OCTANE_BLENDING.band(ethanol, blended.ethanol_mole_frac),
            base_ron: blended.base_ron,
            gasoline_sensitivity: blended.gasoline_sensitivity,
            ethanol_octane_mole_frac: blended.ethanol_mole_frac,
            vapour: mixed_vapour(used.iter().zip(&mole).map(|((c, _), x)| (&c.vapour, *x))),
            parts: used
                .iter()
                .zip(mass.iter().zip(&mole))
                .map(|((c, v), (w, x))| Part {
                    name: c.name.clone(),
                    vol_frac: *v,
                    mass_frac: *w,
                    mole_frac: *x,
                })
                .collect(),
        })
    }

    /// The atoms per mean molecule together.
    pub fn atoms(&self) -> Atoms {
        Atoms { carbon: self.carbon, hydrogen: self.hydrogen, oxygen: self.oxygen }
    }

    /// Octane index at an engine condition [-]: RON - K S, S the RON less MON of the gasoline in it.
    ///
    /// K is 0 at RON test conditions, 1 at MON test conditions, below 0 when the end gas is
    /// cooler at a given pressure than in the RON test (Kalghatgi, SAE 2001-01-3584, from memory). What ethanol does away
    /// from the RON test is in its own delay, see [`crate::knock::BlendDelay`], and not counted here once more.
    pub fn octane_index(&self, k: f64) -> f64 {
        self.octane.ron - k * self.gasoline_sensitivity
    }

    /// Why the octane of this blend is less certain than its band says; empty where nothing speaks
    /// against it.
    pub fn octane_concerns(&self) -> Vec<OctaneConcern> {
        let rule = &OCTANE_BLENDING;
        let mut concerns = Vec::new();
        if self.octane.ron > 100.0 {
            concerns.push(OctaneConcern::AboveScale { ron: self.octane.ron });
        }
        let range =
            if self.ethanol_vol_frac < rule.any_base_from { &rule.base_ron } else { &rule.any_base_ron };
        if let Some(ron) = self.base_ron
            && self.ethanol_vol_frac > rule.as_sold_to + 1e-9
            && !range.contains(&ron)
        {
            concerns.push(OctaneConcern::Base { ron, low: *range.start(), high: *range.end() });
        }
        let is_mixture = self.parts.len() > 1;
        if is_mixture && self.parts.iter().any(|p| p.name == METHANOL) {
            concerns.push(OctaneConcern::Methanol);
        }
        concerns
    }

    /// Octane with another interaction of ethanol than the shipped one.
    pub fn octane_at_z(&self, z_ron: f64) -> OctaneRating {
        let x = self.ethanol_octane_mole_frac;
        let shift = (z_ron - OCTANE_BLENDING.z_ron) * x * (1.0 - x);
        OctaneRating { ron: self.octane.ron + shift, mon: self.octane.mon }
    }

    /// Lower heating value by volume of liquid at 15 C [J/m3].
    pub fn lhv_j_per_m3(&self) -> f64 {
        self.lhv_j_per_kg * self.density_15c_kg_per_m3
    }

    /// Heat of vaporisation of the fuel in a kilogram of stoichiometric mixture [J/kg].
    pub fn hov_j_per_kg_mixture(&self) -> f64 {
        self.hov_j_per_kg / (1.0 + self.afr_stoich)
    }

    /// Liquid density near ambient temperature [kg/m3]; meant for 260 to 330 K.
    pub fn density_kg_per_m3(&self, temperature_k: f64) -> f64 {
        let warmer_k = temperature_k - celsius_to_k(crate::fuel::component::DENSITY_TEMPERATURE_C);
        self.density_15c_kg_per_m3 / (1.0 + self.thermal_expansion_per_k * warmer_k)
    }
}

type Used<'a> = (&'a Component, f64);

fn sum(parts: &[Used<'_>], of: impl Fn(&Component) -> f64) -> f64 {
    parts.iter().map(|(c, v)| v * of(c)).sum()
}

fn checked_shares<'a>(blend: &str, parts: &[Used<'a>]) -> Result<Vec<Used<'a>>, FuelError> {
    let blend = || blend.to_owned();
    for (component, share) in parts {
        if !(0.0..=1.0 + SHARE_TOLERANCE).contains(share) {
            return Err(FuelError::Share { blend: blend(), part: component.name.clone(), value: *share });
        }
    }
    let used: Vec<Used<'a>> = parts.iter().filter(|(_, v)| *v > 0.0).copied().collect();
    if used.is_empty() {
        return Err(FuelError::Empty { blend: blend() });
    }
    let total = sum(&used, |_| 1.0);
    if (total - 1.0).abs() > SHARE_TOLERANCE {
        return Err(FuelError::Sum { blend: blend(), sum: total });
    }
    Ok(used.into_iter().map(|(c, v)| (c, v / total)).collect())
}

fn positive(blend: &str, what: &'static str, value: f64) -> Result<f64, FuelError> {
    if value.is_finite() && value > 0.0 {
        Ok(value)
    } else {
        Err(FuelError::NotPositive { blend: blend.to_owned(), what, value })
    }
}
