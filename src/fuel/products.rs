//! The complete products of combustion, as far as a heating value needs them.

use crate::constants::{REFERENCE_TEMPERATURE_K, atomic_mass};
use crate::nasa::Nasa7;

/// Carbon dioxide (McBride, Gordon and Reno, NASA TM-4513, 1993, as carried by Cantera 3.2.0).
pub const CO2: Nasa7 = Nasa7 {
    low: [
        2.35677352,
        0.00898459677,
        -7.12356269e-06,
        2.45919022e-09,
        -1.43699548e-13,
        -48371.9697,
        9.90105222,
    ],
    high: [
        4.63659493,
        0.00274131991,
        -9.95828531e-07,
        1.60373011e-10,
        -9.16103468e-15,
        -49024.9341,
        -1.93534855,
    ],
};

/// Water vapour; same source as [`CO2`].
pub const H2O: Nasa7 = Nasa7 {
    low: [
        4.19864056,
        -0.0020364341,
        6.52040211e-06,
        -5.48797062e-09,
        1.77197817e-12,
        -30293.7267,
        -0.849032208,
    ],
    high: [
        2.67703787,
        0.00297318329,
        -7.7376969e-07,
        9.44336689e-11,
        -4.26900959e-15,
        -29885.8938,
        6.88255571,
    ],
};

/// Oxygen; same source as [`CO2`].
pub const O2: Nasa7 = Nasa7 {
    low: [3.78245636, -0.00299673415, 9.847302e-06, -9.68129508e-09, 3.24372836e-12, -1063.94356, 3.65767573],
    high: [
        3.66096083,
        0.000656365523,
        -1.41149485e-07,
        2.05797658e-11,
        -1.29913248e-15,
        -1215.97725,
        3.41536184,
    ],
};

/// Atoms in a mean molecule.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Atoms {
    /// Carbon atoms per molecule [-].
    pub carbon: f64,
    /// Hydrogen atoms per molecule [-].
    pub hydrogen: f64,
    /// Oxygen atoms per molecule [-].
    pub oxygen: f64,
}

impl Atoms {
    /// Molar mass [kg/mol].
    pub fn molar_mass_kg_per_mol(&self) -> f64 {
        self.carbon * atomic_mass::C + self.hydrogen * atomic_mass::H + self.oxygen * atomic_mass::O
    }

    /// Oxygen molecules that burn one molecule completely [-].
    pub fn oxygen_demand(&self) -> f64 {
        self.carbon + self.hydrogen / 4.0 - self.oxygen / 2.0
    }

    /// Lower heating value of a vapour by its own polynomial at 298.15 K [J/mol]: burned in
    /// oxygen to carbon dioxide and water vapour.
    pub fn lower_heating_value_j_per_mol(&self, vapour: &Nasa7) -> f64 {
        let h = |species: &Nasa7| species.enthalpy(REFERENCE_TEMPERATURE_K);
        h(vapour) + self.oxygen_demand() * h(&O2) - self.carbon * h(&CO2) - self.hydrogen / 2.0 * h(&H2O)
    }
}
