//! The rows of `tests/data/fuels.csv` and the fuels to set against them.

use endgas::fuel::products::Atoms;
use endgas::fuel::{Blend, Component, ComponentData, FuelLibrary, OctaneRating, Sources};
use endgas::nasa::Nasa7;
use std::sync::LazyLock;

pub static LIBRARY: LazyLock<FuelLibrary> = LazyLock::new(|| FuelLibrary::shipped().unwrap());

#[derive(Clone, serde::Deserialize)]
pub struct Row {
    pub id: String,
    pub quantity: String,
    pub fuel: String,
    pub conditions: String,
    pub value: String,
    pub unit: String,
    pub tolerance: String,
    pub basis: String,
}

/// What a row allows: `low..=high`.
pub struct Allowed {
    pub low: f64,
    pub high: f64,
}

fn dashed(text: &str) -> Option<(f64, f64)> {
    let (low, high) = text.split_once('-')?;
    Some((low.trim().parse().ok()?, high.trim().parse().ok()?))
}

impl Row {
    pub fn middle(&self) -> f64 {
        match dashed(&self.value) {
            Some((low, high)) => 0.5 * (low + high),
            None => self.value.parse().unwrap(),
        }
    }

    /// The range of the row: its own tolerance where it states one, else `default_relative`.
    pub fn allowed(&self, default_relative: f64) -> Allowed {
        if let Some((low, high)) = dashed(&self.value) {
            return Allowed { low, high };
        }
        if let Some((low, high)) = dashed(&self.tolerance) {
            return Allowed { low, high };
        }
        let middle = self.middle();
        let width = match self.tolerance.strip_suffix('%') {
            Some(percent) => percent.parse::<f64>().unwrap() / 100.0 * middle.abs(),
            None => match self.tolerance.parse::<f64>() {
                Ok(absolute) => absolute.max(1e-4),
                Err(_) => default_relative * middle.abs(),
            },
        };
        Allowed { low: middle - width, high: middle + width }
    }
}

pub fn rows() -> Vec<Row> {
    let mut reader = csv::Reader::from_path("tests/data/fuels.csv").unwrap();
    reader.deserialize().collect::<Result<_, _>>().unwrap()
}

pub fn row(id: &str) -> Row {
    rows().into_iter().find(|r| r.id == id).unwrap_or_else(|| panic!("no row {id}"))
}

/// A gasoline base as the CALC rows define it: density 747, CH1.87, 43.44 MJ/kg, 350 kJ/kg.
pub fn defined_base(molar_mass_g_per_mol: f64, octane: OctaneRating) -> Component {
    let unit = Atoms { carbon: 1.0, hydrogen: 1.87, oxygen: 0.0 };
    let carbon = molar_mass_g_per_mol * 1e-3 / unit.molar_mass_kg_per_mol();
    Component::new(ComponentData {
        name: "defined-base".to_owned(),
        title: "Defined base".to_owned(),
        atoms: Atoms { carbon, hydrogen: 1.87 * carbon, oxygen: 0.0 },
        density_15c_kg_per_m3: 747.0,
        thermal_expansion_per_k: 1.2e-3,
        lhv_liquid_j_per_kg: Some(43.44e6),
        heat_of_vaporisation_j_per_kg: 350e3,
        vapour: Nasa7::ZERO,
        octane: Some(octane),
        sources: Sources::default(),
    })
}

/// The defined base with ethanol by volume.
pub fn defined_blend(molar_mass_g_per_mol: f64, octane: OctaneRating, ethanol_vol_frac: f64) -> Blend {
    let base = defined_base(molar_mass_g_per_mol, octane);
    let ethanol = LIBRARY.component("ethanol").unwrap();
    Blend::from_parts("defined", "defined", &[(&base, 1.0 - ethanol_vol_frac), (ethanol, ethanol_vol_frac)])
        .unwrap()
}
