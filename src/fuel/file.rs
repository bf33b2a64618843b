//! The fuel files: TOML as typed, checked into components and pump fuels.

use crate::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::fuel::component::{Component, ComponentData, OctaneRating, Sources, mixed_vapour};
use crate::fuel::error::{FuelError, Problem};
use crate::fuel::products::Atoms;
use crate::nasa::Nasa7;
use crate::printable::is_hidden;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Size beyond which a coefficient of a NASA polynomial is a slip; real ones stay below 1e6.
const LARGEST_COEFFICIENT: f64 = 1e9;

/// Heating values that a liquid fuel can have [MJ/kg]. Common practice, no source.
const LIQUID_LHV_MJ_PER_KG: [f64; 2] = [1.0, 60.0];
/// Molar heat capacities at constant pressure over the gas constant that a vapour can have: that of single atoms, and
/// more than all modes of the largest molecule allowed here. From memory.
const VAPOUR_CP_OVER_R: RangeInclusive<f64> = 2.5..=300.0;
/// Temperatures at which that is looked at [K].
const VAPOUR_CHECKED_K: [f64; 4] = [300.0, 900.0, 1000.0, 2500.0];

#[derive(Clone, Copy, Debug, Deserialize, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Component,
    Pump,
}

#[derive(Deserialize)]
struct OnlyKind {
    kind: Kind,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ComponentFile {
    #[serde(rename = "kind")]
    _kind: Kind,
    pub(super) name: String,
    title: String,
    composition: CompositionTable,
    density: DensityTable,
    heat: HeatTable,
    octane: Option<OctaneTable>,
    vapour: VapourTable,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CompositionTable {
    carbon: Option<f64>,
    hydrogen: Option<f64>,
    oxygen: Option<f64>,
    molar_mass_g_per_mol: Option<f64>,
    hydrogen_to_carbon: Option<f64>,
    oxygen_to_carbon: Option<f64>,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DensityTable {
    kg_per_m3_at_15c: f64,
    expansion_per_k: f64,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct HeatTable {
    lhv_liquid_mj_per_kg: Option<f64>,
    vaporisation_kj_per_kg: f64,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct OctaneTable {
    ron: f64,
    mon: f64,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct VapourTable {
    low: Option<[f64; 7]>,
    high: Option<[f64; 7]>,
    surrogate: Option<BTreeMap<String, f64>>,
    source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PumpFile {
    #[serde(rename = "kind")]
    _kind: Kind,
    pub(super) name: String,
    pub(super) title: String,
    pub(super) replaces: Option<String>,
    pub(super) best_power_lambda: Option<f64>,
    pub(super) base: Option<BaseTable>,
    pub(super) ethanol: ContentTable,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct BaseTable {
    pub(super) parts: BTreeMap<String, f64>,
    pub(super) source: String,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ContentTable {
    pub(super) low_vol_percent: f64,
    pub(super) likely_vol_percent: f64,
    pub(super) high_vol_percent: f64,
    pub(super) source: String,
}

/// A fuel file as typed.
pub(super) enum FuelFile {
    Component(Box<ComponentFile>),
    Pump(Box<PumpFile>),
}

/// Reads the text of a fuel file; unknown keys and wrong types are errors with their line.
pub(super) fn read(file: &str, text: &str) -> Result<FuelFile, FuelError> {
    fn typed<T: DeserializeOwned>(file: &str, text: &str) -> Result<T, FuelError> {
        toml::from_str(text)
            .map_err(|source| FuelError::Syntax { file: file.to_owned(), source: Box::new(source) })
    }
    Ok(match typed::<OnlyKind>(file, text)?.kind {
        Kind::Component => FuelFile::Component(Box::new(typed(file, text)?)),
        Kind::Pump => FuelFile::Pump(Box::new(typed(file, text)?)),
    })
}

/// Collects the problems of one file while it is checked.
#[derive(Default)]
pub(super) struct Checker {
    pub(super) problems: Vec<Problem>,
}

impl Checker {
    /// Notes a value outside its range (or not a number) and returns it.
    pub(super) fn range(&mut self, key: &str, value: f64, low: f64, high: f64) -> f64 {
        if !(low..=high).contains(&value) {
            self.problems.push(Problem::Range { key: key.to_owned(), value, low, high });
        }
        value
    }

    /// Words on one line; notes those with a character that acts on the screen.
    pub(super) fn words(&mut self, key: &'static str, typed: &str) -> String {
        let words = typed.split_whitespace().collect::<Vec<_>>().join(" ");
        if words.contains(is_hidden) {
            self.problems.push(Problem::Hidden { key });
        }
        words
    }

    /// Notes shares that are not from 0 to 1 or do not add to 1.
    pub(super) fn shares(&mut self, key: &str, shares: &BTreeMap<String, f64>) {
        for (name, share) in shares {
            self.range(&format!("{key}.{name}"), *share, 0.0, 1.0);
        }
        let sum: f64 = shares.values().sum();
        if (sum - 1.0).abs() > super::blend::SHARE_TOLERANCE {
            self.problems.push(Problem::Sum { key: key.to_owned(), sum });
        }
    }

    /// Notes a name that a recipe could not hold.
    pub(super) fn name(&mut self, name: &str) {
        let allowed = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-' || c == '.';
        if !name.starts_with(|c: char| c.is_ascii_lowercase()) || !name.chars().all(allowed) {
            self.problems.push(Problem::BadName { name: name.to_owned() });
        }
    }

    /// The value, or all problems found so far.
    pub(super) fn finish<T>(self, file: &str, value: T) -> Result<T, FuelError> {
        if self.problems.is_empty() {
            Ok(value)
        } else {
            Err(FuelError::Invalid { file: file.to_owned(), problems: self.problems })
        }
    }
}

impl ComponentFile {
    /// Whether its vapour is stated through other components.
    pub(super) fn needs_others(&self) -> bool {
        self.vapour.surrogate.is_some()
    }

    /// The component, with `find` giving those its surrogate is made of (or the problem).
    pub(super) fn check<'a>(
        self,
        find: impl Fn(&str, &str) -> Result<&'a Component, Problem>,
        check: &mut Checker,
    ) -> Component {
        check.name(&self.name);
        let atoms = self.composition.check(check);
        let density = &self.density;
        check.range("density.kg_per_m3_at_15c", density.kg_per_m3_at_15c, 500.0, 1500.0);
        check.range("density.expansion_per_k", density.expansion_per_k, 0.0, 3e-3);
        if let Some(lhv) = self.heat.lhv_liquid_mj_per_kg {
            check.range("heat.lhv_liquid_mj_per_kg", lhv, LIQUID_LHV_MJ_PER_KG[0], LIQUID_LHV_MJ_PER_KG[1]);
        }
        check.range("heat.vaporisation_kj_per_kg", self.heat.vaporisation_kj_per_kg, 100.0, 3000.0);
        let (octane, octane_source) = checked_octane(self.octane, atoms.carbon > 0.0, check);
        let vapour = self.vapour.check(atoms.molar_mass_kg_per_mol(), find, check);
        for temperature_k in VAPOUR_CHECKED_K {
            let key = format!("[vapour] heat capacity over R at {temperature_k} K");
            let (low, high) = VAPOUR_CP_OVER_R.into_inner();
            check.range(&key, vapour.cp(temperature_k) / GAS_CONSTANT_J_PER_MOL_K, low, high);
        }
        let component = Component::new(ComponentData {
            name: self.name,
            title: check.words("title", &self.title),
            atoms,
            density_15c_kg_per_m3: self.density.kg_per_m3_at_15c,
            thermal_expansion_per_k: self.density.expansion_per_k,
            lhv_liquid_j_per_kg: self.heat.lhv_liquid_mj_per_kg.map(|mj| mj * 1e6),
            heat_of_vaporisation_j_per_kg: self.heat.vaporisation_kj_per_kg * 1e3,
            vapour,
            octane,
            sources: Sources {
                composition: check.words("composition.source", &self.composition.source),
                density: check.words("density.source", &self.density.source),
                heat: check.words("heat.source", &self.heat.source),
                octane: check.words("octane.source", &octane_source),
                vapour: check.words("vapour.source", &self.vapour.source),
            },
        });
        // Where it is not stated it follows from the vapour: a slip in one coefficient shows here.
        if component.carbon > 0.0 && self.heat.lhv_liquid_mj_per_kg.is_none() {
            let (key, mj) = ("heating value from [vapour], MJ/kg", component.lhv_liquid_j_per_kg / 1e6);
            check.range(key, mj, LIQUID_LHV_MJ_PER_KG[0], LIQUID_LHV_MJ_PER_KG[1]);
        }
        component
    }
}

fn checked_octane(
    table: Option<OctaneTable>,
    has_carbon: bool,
    check: &mut Checker,
) -> (Option<OctaneRating>, String) {
    if table.is_some() != has_carbon {
        check.problems.push(Problem::Octane { missing: has_carbon });
    }
    match table {
        None => (None, String::new()),
        Some(o) => {
            check.range("octane.ron", o.ron, 0.0, 140.0);
            check.range("octane.mon", o.mon, 0.0, 140.0);
            (Some(OctaneRating { ron: o.ron, mon: o.mon }), o.source)
        }
    }
}

impl CompositionTable {
    fn check(&self, check: &mut Checker) -> Atoms {
        match self {
            Self {
                carbon: Some(carbon),
                hydrogen: Some(hydrogen),
                oxygen,
                molar_mass_g_per_mol: None,
                hydrogen_to_carbon: None,
                oxygen_to_carbon: None,
                ..
            } => Atoms {
                carbon: check.range("composition.carbon", *carbon, 0.0, 20.0),
                hydrogen: check.range("composition.hydrogen", *hydrogen, 1.0, 42.0),
                oxygen: check.range("composition.oxygen", oxygen.unwrap_or(0.0), 0.0, 10.0),
            },
            Self {
                carbon: None,
                hydrogen: None,
                oxygen: None,
                molar_mass_g_per_mol: Some(molar_mass),
                hydrogen_to_carbon: Some(hydrogen_ratio),
                oxygen_to_carbon,
                ..
            } => {
                let hydrogen = check.range("composition.hydrogen_to_carbon", *hydrogen_ratio, 0.3, 4.0);
                let oxygen =
                    check.range("composition.oxygen_to_carbon", oxygen_to_carbon.unwrap_or(0.0), 0.0, 2.0);
                let molar_mass =
                    check.range("composition.molar_mass_g_per_mol", *molar_mass, 15.0, 300.0) * 1e-3;
                let per_carbon = Atoms { carbon: 1.0, hydrogen, oxygen };
                let carbon = molar_mass / per_carbon.molar_mass_kg_per_mol();
                Atoms { carbon, hydrogen: hydrogen * carbon, oxygen: oxygen * carbon }
            }
            _ => {
                check.problems.push(Problem::Choice {
                    keys: "composition.carbon with .hydrogen (and .oxygen), or \
                           composition.molar_mass_g_per_mol with .hydrogen_to_carbon (and .oxygen_to_carbon)",
                });
                Atoms::default()
            }
        }
    }
}

impl VapourTable {
    /// The polynomial stated, or that of the surrogate scaled to the molar mass of the component
    /// (equal heat capacity per mass).
    fn check<'a>(
        &self,
        molar_mass_kg_per_mol: f64,
        find: impl Fn(&str, &str) -> Result<&'a Component, Problem>,
        check: &mut Checker,
    ) -> Nasa7 {
        match (self.low, self.high, &self.surrogate) {
            (Some(low), Some(high), None) => {
                for (key, coefficients) in [("vapour.low", low), ("vapour.high", high)] {
                    for value in coefficients {
                        check.range(key, value, -LARGEST_COEFFICIENT, LARGEST_COEFFICIENT);
                    }
                }
                Nasa7 { low, high }
            }
            (None, None, Some(surrogate)) => {
                check.shares("vapour.surrogate", surrogate);
                let mut parts = Vec::new();
                for (name, mole_frac) in surrogate {
                    match find("vapour.surrogate", name) {
                        Ok(component) => parts.push((component, *mole_frac)),
                        Err(problem) => check.problems.push(problem),
                    }
                }
                let own: f64 = parts.iter().map(|(c, x)| x * c.molar_mass_kg_per_mol).sum();
                let scale = if own > 0.0 { molar_mass_kg_per_mol / own } else { 0.0 };
                mixed_vapour(parts.iter().map(|(c, x)| (&c.vapour, *x))).scaled(scale)
            }
            _ => {
                check
                    .problems
                    .push(Problem::Choice { keys: "vapour.low with vapour.high, or vapour.surrogate" });
                Nasa7::ZERO
            }
        }
    }
}
