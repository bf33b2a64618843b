//! The fuel files: TOML as typed, checked into components and pump fuels.

use crate::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::fuel::checker::Checker;
use crate::fuel::component::{Component, ComponentData, OctaneRating, Sources, mixed_vapour};
use crate::fuel::error::{FuelError, Problem};
use crate::fuel::file_schema::{one_composition, one_vapour, shares};
use crate::fuel::products::Atoms;
use crate::nasa::Nasa7;
use schemars::JsonSchema;
use serde::Deserialize;
use serde::de::DeserializeOwned;
use std::collections::BTreeMap;
use std::ops::RangeInclusive;

/// Form of a name that a recipe can hold; see [`Checker::name`].
const NAME_PATTERN: &str = "^[a-z][a-z0-9.-]*$";
const CARBON: RangeInclusive<f64> = 0.0..=20.0;
const HYDROGEN: RangeInclusive<f64> = 1.0..=42.0;
const OXYGEN: RangeInclusive<f64> = 0.0..=10.0;
const MOLAR_MASS_G_PER_MOL: RangeInclusive<f64> = 15.0..=300.0;
const HYDROGEN_TO_CARBON: RangeInclusive<f64> = 0.3..=4.0;
const OXYGEN_TO_CARBON: RangeInclusive<f64> = 0.0..=2.0;
const DENSITY_KG_PER_M3: RangeInclusive<f64> = 500.0..=1500.0;
const EXPANSION_PER_K: RangeInclusive<f64> = 0.0..=3e-3;
const LHV_MJ_PER_KG: RangeInclusive<f64> = 1.0..=60.0;
const VAPORISATION_KJ_PER_KG: RangeInclusive<f64> = 100.0..=3000.0;
const OCTANE: RangeInclusive<f64> = 0.0..=140.0;
/// Beyond this a coefficient of a NASA polynomial is a slip; real ones stay below 1e6.
const COEFFICIENT: RangeInclusive<f64> = -1e9..=1e9;
pub(super) const SHARE: RangeInclusive<f64> = 0.0..=1.0;
pub(super) const CONTENT_PERCENT: RangeInclusive<f64> = 0.0..=100.0;
pub(super) const BEST_POWER_LAMBDA: RangeInclusive<f64> = 0.7..=1.0;

/// Molar heat capacities at constant pressure over the gas constant that a vapour can have: that of single atoms, and
/// more than all modes of the largest molecule allowed here. From memory.
const VAPOUR_CP_OVER_R: RangeInclusive<f64> = 2.5..=300.0;
/// Temperatures at which that is looked at [K].
const VAPOUR_CHECKED_K: [f64; 4] = [300.0, 900.0, 1000.0, 2500.0];

/// Sort of fuel file.
#[derive(Clone, Copy, Debug, Deserialize, JsonSchema, PartialEq, Eq)]
#[serde(rename_all = "lowercase")]
enum Kind {
    Component,
    Pump,
}

#[derive(Deserialize)]
struct OnlyKind {
    kind: Kind,
}

/// A component of fuels.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Component of fuels")]
pub(super) struct ComponentFile {
    /// Sort of file.
    #[serde(rename = "kind")]
    #[schemars(extend("const" = "component"))]
    _kind: Kind,
    /// Name in recipes; it must be new.
    #[schemars(regex(pattern = NAME_PATTERN))]
    pub(super) name: String,
    /// Name for people.
    title: String,
    composition: CompositionTable,
    density: DensityTable,
    heat: HeatTable,
    octane: Option<OctaneTable>,
    vapour: VapourTable,
}

/// What a mean molecule holds: atoms, or molar mass with the ratios of atoms.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(transform = one_composition)]
struct CompositionTable {
    /// Carbon atoms per mean molecule.
    #[schemars(range(min = *CARBON.start(), max = *CARBON.end()))]
    carbon: Option<f64>,
    /// Hydrogen atoms per mean molecule.
    #[schemars(range(min = *HYDROGEN.start(), max = *HYDROGEN.end()))]
    hydrogen: Option<f64>,
    /// Oxygen atoms per mean molecule; left out, none.
    #[schemars(range(min = *OXYGEN.start(), max = *OXYGEN.end()))]
    oxygen: Option<f64>,
    /// Mean molar mass [g/mol].
    #[schemars(range(min = *MOLAR_MASS_G_PER_MOL.start(), max = *MOLAR_MASS_G_PER_MOL.end()))]
    molar_mass_g_per_mol: Option<f64>,
    /// Hydrogen atoms for each of carbon.
    #[schemars(range(min = *HYDROGEN_TO_CARBON.start(), max = *HYDROGEN_TO_CARBON.end()))]
    hydrogen_to_carbon: Option<f64>,
    /// Oxygen atoms for each of carbon; left out, none.
    #[schemars(range(min = *OXYGEN_TO_CARBON.start(), max = *OXYGEN_TO_CARBON.end()))]
    oxygen_to_carbon: Option<f64>,
    /// Where these figures come from.
    source: String,
}

/// Density of the liquid.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct DensityTable {
    /// At 15 C [kg/m3].
    #[schemars(range(min = *DENSITY_KG_PER_M3.start(), max = *DENSITY_KG_PER_M3.end()))]
    kg_per_m3_at_15c: f64,
    /// Thermal expansion by volume near 15 C [1/K].
    #[schemars(range(min = *EXPANSION_PER_K.start(), max = *EXPANSION_PER_K.end()))]
    expansion_per_k: f64,
    /// Where these figures come from.
    source: String,
}

/// Heating value and heat of vaporisation.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct HeatTable {
    /// Lower heating value of the liquid at 25 C [MJ/kg]; left out, it comes from the polynomial of the vapour.
    #[schemars(range(min = *LHV_MJ_PER_KG.start(), max = *LHV_MJ_PER_KG.end()))]
    lhv_liquid_mj_per_kg: Option<f64>,
    /// Heat of vaporisation at 25 C [kJ/kg].
    #[schemars(range(min = *VAPORISATION_KJ_PER_KG.start(), max = *VAPORISATION_KJ_PER_KG.end()))]
    vaporisation_kj_per_kg: f64,
    /// Where these figures come from.
    source: String,
}

/// Octane numbers with which it blends; left out only where there is no carbon.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
struct OctaneTable {
    /// Research octane number.
    #[schemars(range(min = *OCTANE.start(), max = *OCTANE.end()))]
    ron: f64,
    /// Motor octane number.
    #[schemars(range(min = *OCTANE.start(), max = *OCTANE.end()))]
    mon: f64,
    /// Where these figures come from.
    source: String,
}

/// Heat capacity and enthalpy of the vapour: a polynomial, or other components that stand for it.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(transform = one_vapour)]
struct VapourTable {
    /// NASA coefficients of the low range, seven.
    #[schemars(inner(range(min = *COEFFICIENT.start(), max = *COEFFICIENT.end())))]
    low: Option<[f64; 7]>,
    /// NASA coefficients of the high range, seven.
    #[schemars(inner(range(min = *COEFFICIENT.start(), max = *COEFFICIENT.end())))]
    high: Option<[f64; 7]>,
    /// Mole fractions of components of like heat capacity, adding to 1.
    #[schemars(transform = shares)]
    surrogate: Option<BTreeMap<String, f64>>,
    /// Where these figures come from.
    source: String,
}

/// A fuel as it is sold.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "Pump fuel")]
pub(super) struct PumpFile {
    /// Sort of file.
    #[serde(rename = "kind")]
    #[schemars(extend("const" = "pump"))]
    _kind: Kind,
    /// Name in recipes; it must be new, unless `replaces` states it.
    #[schemars(regex(pattern = NAME_PATTERN))]
    pub(super) name: String,
    /// Name for people.
    pub(super) title: String,
    /// Name of the shipped pump fuel that it stands in for, the same as its own.
    pub(super) replaces: Option<String>,
    /// Lambda at which it gives best power; left out, it comes from the ethanol content.
    #[schemars(range(min = *BEST_POWER_LAMBDA.start(), max = *BEST_POWER_LAMBDA.end()))]
    pub(super) best_power_lambda: Option<f64>,
    pub(super) base: Option<BaseTable>,
    pub(super) ethanol: ContentTable,
}

/// What it holds besides ethanol; left out for ethanol alone.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct BaseTable {
    /// Volume fractions of components without ethanol, adding to 1.
    #[schemars(transform = shares)]
    pub(super) parts: BTreeMap<String, f64>,
    /// Where these figures come from.
    pub(super) source: String,
}

/// Ethanol content by volume [%], rising; all three equal when it is known.
#[derive(Debug, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct ContentTable {
    /// Lowest content met or allowed [%].
    #[schemars(range(min = *CONTENT_PERCENT.start(), max = *CONTENT_PERCENT.end()))]
    pub(super) low_vol_percent: f64,
    /// Likely content [%].
    #[schemars(range(min = *CONTENT_PERCENT.start(), max = *CONTENT_PERCENT.end()))]
    pub(super) likely_vol_percent: f64,
    /// Highest content met or allowed [%].
    #[schemars(range(min = *CONTENT_PERCENT.start(), max = *CONTENT_PERCENT.end()))]
    pub(super) high_vol_percent: f64,
    /// Where these figures come from.
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
        check.range("density.kg_per_m3_at_15c", density.kg_per_m3_at_15c, DENSITY_KG_PER_M3);
        check.range("density.expansion_per_k", density.expansion_per_k, EXPANSION_PER_K);
        if let Some(lhv) = self.heat.lhv_liquid_mj_per_kg {
            check.range("heat.lhv_liquid_mj_per_kg", lhv, LHV_MJ_PER_KG);
        }
        check.range("heat.vaporisation_kj_per_kg", self.heat.vaporisation_kj_per_kg, VAPORISATION_KJ_PER_KG);
        let (octane, octane_source) = checked_octane(self.octane, atoms.carbon > 0.0, check);
        let vapour = self.vapour.check(atoms.molar_mass_kg_per_mol(), find, check);
        for temperature_k in VAPOUR_CHECKED_K {
            let key = format!("[vapour] heat capacity over R at {temperature_k} K");
            check.range(&key, vapour.cp(temperature_k) / GAS_CONSTANT_J_PER_MOL_K, VAPOUR_CP_OVER_R);
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
            check.range(key, mj, LHV_MJ_PER_KG);
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
            check.range("octane.ron", o.ron, OCTANE);
            check.range("octane.mon", o.mon, OCTANE);
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
                carbon: check.range("composition.carbon", *carbon, CARBON),
                hydrogen: check.range("composition.hydrogen", *hydrogen, HYDROGEN),
                oxygen: check.range("composition.oxygen", oxygen.unwrap_or(0.0), OXYGEN),
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
                let hydrogen =
                    check.range("composition.hydrogen_to_carbon", *hydrogen_ratio, HYDROGEN_TO_CARBON);
                let oxygen = check.range(
                    "composition.oxygen_to_carbon",
                    oxygen_to_carbon.unwrap_or(0.0),
                    OXYGEN_TO_CARBON,
                );
                let molar_mass =
                    check.range("composition.molar_mass_g_per_mol", *molar_mass, MOLAR_MASS_G_PER_MOL) * 1e-3;
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
                        check.range(key, value, COEFFICIENT);
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
