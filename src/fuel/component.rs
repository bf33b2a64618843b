//! One component of a fuel: a pure substance or a gasoline base.

use crate::fuel::products::Atoms;
use crate::nasa::Nasa7;
use crate::units::celsius_to_k;

/// Name of the component that counts as the ethanol content of a fuel.
pub const ETHANOL: &str = "ethanol";

/// Name of the component that brings the cautions on methanol.
pub const METHANOL: &str = "methanol";

/// Name of the component that can split a fuel into layers.
pub const WATER: &str = "water";

/// Temperature at which liquid densities and volumes are stated [C].
pub const DENSITY_TEMPERATURE_C: f64 = 15.0;

/// Research and motor octane number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OctaneRating {
    /// Research octane number (ASTM D2699) [-].
    pub ron: f64,
    /// Motor octane number (ASTM D2700) [-].
    pub mon: f64,
}

impl OctaneRating {
    /// Anti-knock index [-], the number on a US pump: (RON + MON)/2.
    pub fn aki(&self) -> f64 {
        0.5 * (self.ron + self.mon)
    }

    /// Sensitivity [-]: RON - MON.
    pub fn sensitivity(&self) -> f64 {
        self.ron - self.mon
    }
}

/// Where the figures of a component come from, one text for each group.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sources {
    /// Atoms per molecule or molar mass and atom ratios.
    pub composition: String,
    /// Liquid density and thermal expansion.
    pub density: String,
    /// Heating value and heat of vaporisation.
    pub heat: String,
    /// Octane numbers; empty when there are none.
    pub octane: String,
    /// Polynomial of the vapour, or the choice of surrogate.
    pub vapour: String,
}

/// The stated figures from which a [`Component`] is made.
#[derive(Clone, Debug, PartialEq)]
pub struct ComponentData {
    /// Name in recipes: lower case, no blanks.
    pub name: String,
    /// Name for people.
    pub title: String,
    /// Atoms per mean molecule.
    pub atoms: Atoms,
    /// Liquid density at 15 C [kg/m3].
    pub density_15c_kg_per_m3: f64,
    /// Volumetric thermal expansion of the liquid near 15 C [1/K].
    pub thermal_expansion_per_k: f64,
    /// Lower heating value of the liquid at 25 C [J/kg]; `None` takes it from the polynomial.
    pub lhv_liquid_j_per_kg: Option<f64>,
    /// Heat of vaporisation at 25 C [J/kg].
    pub heat_of_vaporisation_j_per_kg: f64,
    /// Molar polynomial of the vapour, before it is shifted to the stated heating value.
    pub vapour: Nasa7,
    /// Octane numbers with which it blends; `None` for what takes no part (water).
    pub octane: Option<OctaneRating>,
    /// Where all of this comes from.
    pub sources: Sources,
}

/// A component of a fuel with everything that blending needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Component {
    /// Name in recipes: lower case, no blanks.
    pub name: String,
    /// Name for people.
    pub title: String,
    /// Carbon atoms per mean molecule [-].
    pub carbon: f64,
    /// Hydrogen atoms per mean molecule [-].
    pub hydrogen: f64,
    /// Oxygen atoms per mean molecule [-].
    pub oxygen: f64,
    /// Molar mass [kg/mol], computed from the atoms.
    pub molar_mass_kg_per_mol: f64,
    /// Liquid density at 15 C [kg/m3].
    pub density_15c_kg_per_m3: f64,
    /// Volumetric thermal expansion of the liquid near 15 C [1/K].
    pub thermal_expansion_per_k: f64,
    /// Lower heating value of the liquid at 25 C [J/kg].
    ///
    /// Water that comes in as liquid leaves as vapour: its heating value is minus its heat of
    /// vaporisation.
    pub lhv_liquid_j_per_kg: f64,
    /// Heat of vaporisation at 25 C [J/kg].
    pub heat_of_vaporisation_j_per_kg: f64,
    /// Molar polynomial of the vapour, absolute enthalpy; its own heating value at 298.15 K is
    /// that of the liquid plus the heat of vaporisation.
    pub vapour: Nasa7,
    /// Octane numbers with which it blends; `None` for what takes no part (water).
    pub octane: Option<OctaneRating>,
    /// Where all of this comes from.
    pub sources: Sources,
}

impl Component {
    /// A component from its stated figures.
    ///
    /// When the heating value of the liquid is stated, the enthalpy of the polynomial is shifted
    /// by a constant so that its own heating value at 298.15 K equals liquid plus heat of
    /// vaporisation. When it is not stated (pure hydrocarbons, water), the polynomial is left
    /// untouched and the heating value of the liquid follows from it.
    pub fn new(data: ComponentData) -> Self {
        let molar_mass = data.atoms.molar_mass_kg_per_mol();
        let own_lhv_j_per_mol = data.atoms.lower_heating_value_j_per_mol(&data.vapour);
        let hov = data.heat_of_vaporisation_j_per_kg;
        let lhv = data.lhv_liquid_j_per_kg.unwrap_or(own_lhv_j_per_mol / molar_mass - hov);
        let shift_j_per_mol = match data.lhv_liquid_j_per_kg {
            Some(stated) => (stated + hov) * molar_mass - own_lhv_j_per_mol,
            None => 0.0,
        };
        Self {
            name: data.name,
            title: data.title,
            carbon: data.atoms.carbon,
            hydrogen: data.atoms.hydrogen,
            oxygen: data.atoms.oxygen,
            molar_mass_kg_per_mol: molar_mass,
            density_15c_kg_per_m3: data.density_15c_kg_per_m3,
            thermal_expansion_per_k: data.thermal_expansion_per_k,
            lhv_liquid_j_per_kg: lhv,
            heat_of_vaporisation_j_per_kg: hov,
            vapour: data.vapour.with_enthalpy_shift(shift_j_per_mol),
            octane: data.octane,
            sources: data.sources,
        }
    }

    /// The atoms per mean molecule together.
    pub fn atoms(&self) -> Atoms {
        Atoms { carbon: self.carbon, hydrogen: self.hydrogen, oxygen: self.oxygen }
    }

    /// Liquid density near ambient temperature [kg/m3], from the expansion at 15 C; meant for
    /// 260 to 330 K.
    pub fn density_kg_per_m3(&self, temperature_k: f64) -> f64 {
        let warmer_k = temperature_k - celsius_to_k(DENSITY_TEMPERATURE_C);
        self.density_15c_kg_per_m3 / (1.0 + self.thermal_expansion_per_k * warmer_k)
    }
}

/// Molar polynomial of an ideal mixture of vapours, entropy of mixing included.
///
/// `parts` are polynomials with their mole fractions, which add to one. With the mixing term the
/// mixture can stand as one species in a larger mixture and the entropy still comes out whole.
pub fn mixed_vapour<'a>(parts: impl Iterator<Item = (&'a Nasa7, f64)>) -> Nasa7 {
    let mut sum = Nasa7::ZERO;
    let mut mixing_over_r = 0.0;
    for (polynomial, mole_frac) in parts.filter(|(_, x)| *x > 0.0) {
        sum = sum.plus_scaled(polynomial, mole_frac);
        mixing_over_r -= mole_frac * mole_frac.ln();
    }
    sum.low[6] += mixing_over_r;
    sum.high[6] += mixing_over_r;
    sum
}
