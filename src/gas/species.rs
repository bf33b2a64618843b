//! Gas species: NASA polynomials and molar masses.
//!
//! Coefficients: McBride, Gordon and Reno, "Coefficients for Calculating Thermodynamic and
//! Transport Properties of Individual Species", NASA TM-4513 (1993), as carried by the file
//! `nasa_gas.yaml` of Cantera 3.2.0. Standard pressure 1 bar, range break 1000 K.

use crate::constants::atomic_mass;
use crate::fuel::products;
use crate::nasa::Nasa7;

/// Number of species in burned gas.
pub const COUNT: usize = 12;

/// Species of burned gas; the discriminant is the index into arrays of [`COUNT`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(usize)]
pub enum Species {
    /// Carbon dioxide.
    Co2,
    /// Water vapour.
    H2o,
    /// Carbon monoxide.
    Co,
    /// Hydrogen.
    H2,
    /// Oxygen.
    O2,
    /// Hydroxyl.
    Oh,
    /// Oxygen atom.
    O,
    /// Hydrogen atom.
    H,
    /// Nitrogen.
    N2,
    /// Nitric oxide.
    No,
    /// Nitrogen atom.
    N,
    /// Argon.
    Ar,
}

impl Species {
    /// Polynomial of this species.
    pub const fn poly(self) -> &'static Nasa7 {
        &POLYNOMIALS[self as usize]
    }

    /// Molar mass [kg/mol].
    pub const fn molar_mass_kg_per_mol(self) -> f64 {
        MOLAR_MASSES_KG_PER_MOL[self as usize]
    }
}

/// Atoms of C, H, O, N, Ar in each species, in the order of [`Species`].
pub const ATOMS: [[f64; 5]; COUNT] = [
    [1.0, 0.0, 2.0, 0.0, 0.0],
    [0.0, 2.0, 1.0, 0.0, 0.0],
    [1.0, 0.0, 1.0, 0.0, 0.0],
    [0.0, 2.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 2.0, 0.0, 0.0],
    [0.0, 1.0, 1.0, 0.0, 0.0],
    [0.0, 0.0, 1.0, 0.0, 0.0],
    [0.0, 1.0, 0.0, 0.0, 0.0],
    [0.0, 0.0, 0.0, 2.0, 0.0],
    [0.0, 0.0, 1.0, 1.0, 0.0],
    [0.0, 0.0, 0.0, 1.0, 0.0],
    [0.0, 0.0, 0.0, 0.0, 1.0],
];

/// Molar mass of each species [kg/mol], from [`ATOMS`] and the atomic masses.
pub const MOLAR_MASSES_KG_PER_MOL: [f64; COUNT] = {
    let atoms = [atomic_mass::C, atomic_mass::H, atomic_mass::O, atomic_mass::N, atomic_mass::AR];
    let mut masses = [0.0; COUNT];
    let mut i = 0;
    while i < COUNT {
        let mut k = 0;
        while k < 5 {
            masses[i] += ATOMS[i][k] * atoms[k];
            k += 1;
        }
        i += 1;
    }
    masses
};

/// Polynomials in the order of [`Species`].
pub const POLYNOMIALS: [Nasa7; COUNT] = [
    products::CO2,
    products::H2O,
    // CO
    Nasa7 {
        low: [
            3.57953347,
            -0.00061035368,
            1.01681433e-06,
            9.07005884e-10,
            -9.04424499e-13,
            -14344.086,
            3.50840928,
        ],
        high: [
            3.04848583,
            0.00135172818,
            -4.85794075e-07,
            7.88536486e-11,
            -4.69807489e-15,
            -14266.1171,
            6.0170979,
        ],
    },
    // H2
    Nasa7 {
        low: [
            2.34433112,
            0.00798052075,
            -1.9478151e-05,
            2.01572094e-08,
            -7.37611761e-12,
            -917.935173,
            0.683010238,
        ],
        high: [
            2.93286579,
            0.000826607967,
            -1.46402335e-07,
            1.54100359e-11,
            -6.88804432e-16,
            -813.065597,
            -1.02432887,
        ],
    },
    products::O2,
    // OH
    Nasa7 {
        low: [
            3.99201543,
            -0.00240131752,
            4.61793841e-06,
            -3.88113333e-09,
            1.3641147e-12,
            3615.08056,
            -0.103925458,
        ],
        high: [
            2.83864607,
            0.00110725586,
            -2.93914978e-07,
            4.20524247e-11,
            -2.42169092e-15,
            3943.95852,
            5.84452662,
        ],
    },
    // O
    Nasa7 {
        low: [
            3.1682671,
            -0.00327931884,
            6.64306396e-06,
            -6.12806624e-09,
            2.11265971e-12,
            29122.2592,
            2.05193346,
        ],
        high: [
            2.54363697,
            -2.73162486e-05,
            -4.1902952e-09,
            4.95481845e-12,
            -4.79553694e-16,
            29226.012,
            4.92229457,
        ],
    },
    // H
    Nasa7 {
        low: [2.5, 0.0, 0.0, 0.0, 0.0, 25473.6599, -0.446682853],
        high: [
            2.50000286,
            -5.65334214e-09,
            3.63251723e-12,
            -9.1994972e-16,
            7.95260746e-20,
            25473.6589,
            -0.446698494,
        ],
    },
    // N2
    Nasa7 {
        low: [
            3.53100528,
            -0.000123660987,
            -5.02999437e-07,
            2.43530612e-09,
            -1.40881235e-12,
            -1046.97628,
            2.96747468,
        ],
        high: [
            2.95257626,
            0.00139690057,
            -4.92631691e-07,
            7.86010367e-11,
            -4.60755321e-15,
            -923.948645,
            5.87189252,
        ],
    },
    // NO
    Nasa7 {
        low: [
            4.21859896,
            -0.00463988124,
            1.10443049e-05,
            -9.34055507e-09,
            2.80554874e-12,
            9845.09964,
            2.28061001,
        ],
        high: [
            3.26071234,
            0.00119101135,
            -4.29122646e-07,
            6.94481463e-11,
            -4.03295681e-15,
            9921.43132,
            6.36900518,
        ],
    },
    // N
    Nasa7 {
        low: [2.5, 0.0, 0.0, 0.0, 0.0, 56104.6378, 4.19390932],
        high: [
            2.41594293,
            0.0001748906,
            -1.19023667e-07,
            3.02262387e-11,
            -2.0360979e-15,
            56133.7748,
            4.64960986,
        ],
    },
    // Ar
    Nasa7 {
        low: [2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.37967491],
        high: [2.5, 0.0, 0.0, 0.0, 0.0, -745.375, 4.37967491],
    },
];
