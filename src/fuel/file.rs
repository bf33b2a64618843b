//! The fuel files: TOML as typed, checked into components and pump fuels. Their schemas come from the same reader.

use crate::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::fuel::blend::SHARE_TOLERANCE;
use crate::fuel::component::{Component, ComponentData, ETHANOL, OctaneRating, Sources, mixed_vapour};
use crate::fuel::products::Atoms;
use crate::fuel::pump::{ContentRange, PumpFuel, Share, best_power_lambda};
use crate::fuel::shelf::Shelf;
use crate::input::{self, Asked, Diagnostics, Expected, KeyWay, ProblemKind, Section, nearest, schema};
use crate::nasa::Nasa7;
use crate::units::stated::SHARE_PERCENT;
use crate::units::{Allowed, Unit};
use serde_json::Value;
use std::sync::Arc;
use toml::de::DeTable;

const CARBON: Allowed = Unit::None.of(0.0..=20.0);
const HYDROGEN: Allowed = Unit::None.of(1.0..=42.0);
const OXYGEN: Allowed = Unit::None.of(0.0..=10.0);
const MOLAR_MASS: Allowed = Unit::GramPerMole.of(15.0..=300.0);
const HYDROGEN_TO_CARBON: Allowed = Unit::None.of(0.3..=4.0);
const OXYGEN_TO_CARBON: Allowed = Unit::None.of(0.0..=2.0);
const DENSITY: Allowed = Unit::KilogramPerCubicMetre.of(500.0..=1500.0);
const EXPANSION: Allowed = Unit::PerKelvin.of(0.0..=3e-3);
const HEATING_VALUE: Allowed = Unit::MegajoulePerKilogram.of(1.0..=60.0);
/// Of what holds no carbon, as water: it may take up no more than its own vaporisation.
const CARBON_FREE_HEATING_VALUE: Allowed = Unit::MegajoulePerKilogram.of(-3.0..=60.0);
const VAPORISATION: Allowed = Unit::KilojoulePerKilogram.of(100.0..=3000.0);
const OCTANE: Allowed = Unit::None.of(0.0..=140.0);
/// Beyond this a coefficient of a NASA polynomial is a slip; real ones stay below 1e6.
const COEFFICIENT: Allowed = Unit::None.of(-1e9..=1e9);
const SHARE: Allowed = Unit::Fraction.of(0.0..=1.0);
const BEST_POWER_LAMBDA: Allowed = Unit::Lambda.of(0.7..=1.0);

/// Molar heat capacities at constant pressure over the gas constant that a vapour can have: that of single atoms, and
/// more than all modes of the largest molecule allowed here. From memory.
const VAPOUR_CP_OVER_R: Allowed = Unit::None.of(2.5..=300.0);
/// Temperatures at which that is looked at [K].
const VAPOUR_CHECKED_K: [f64; 4] = [300.0, 900.0, 1000.0, 2500.0];

/// What each key means, for the schemas.
const WORDS: &[(&str, &str)] = &[
    ("kind", "Sort of file."),
    ("name", "Name in recipes; it must be new, unless `replaces` states it."),
    ("title", "Name for people."),
    ("replaces", "Name of the shipped pump fuel that it replaces, the same as its own."),
    ("best_power_lambda", "Lambda at best power. Default: from the ethanol content."),
    ("composition", "What a mean molecule holds: atoms, or molar mass with the ratios of atoms."),
    ("composition.carbon", "Carbon atoms per mean molecule."),
    ("composition.hydrogen", "Hydrogen atoms per mean molecule."),
    ("composition.oxygen", "Oxygen atoms per mean molecule. Default: none."),
    ("composition.molar_mass_g_per_mol", "Mean molar mass."),
    ("composition.hydrogen_to_carbon", "Hydrogen atoms for each of carbon."),
    ("composition.oxygen_to_carbon", "Oxygen atoms for each of carbon. Default: none."),
    ("density", "Density of the liquid."),
    ("density.kg_per_m3_at_15c", "At 15 C."),
    ("density.expansion_per_k", "Thermal expansion by volume near 15 C."),
    ("heat", "Heating value and heat of vaporisation."),
    ("heat.lhv_liquid_mj_per_kg", "Lower, of the liquid at 25 C. Default: it follows from the vapour."),
    ("heat.vaporisation_kj_per_kg", "Heat of vaporisation at 25 C."),
    ("octane", "Octane numbers with which it blends. Not needed only where there is no carbon."),
    ("octane.ron", "Research octane number."),
    ("octane.mon", "Motor octane number."),
    ("vapour", "Heat capacity of the vapour: a polynomial, or other components that stand for it."),
    ("vapour.low", "NASA coefficients of the low range, seven."),
    ("vapour.high", "NASA coefficients of the high range, seven."),
    ("vapour.surrogate", "Mole fractions of components of like heat capacity, adding to 1."),
    ("base", "What it holds besides ethanol. Not needed for ethanol alone."),
    ("base.parts", "Volume fractions of components without ethanol, adding to 1."),
    ("ethanol", "Ethanol content by volume, rising; all three equal when it is known."),
    ("ethanol.low_vol_percent", "Lowest content met or allowed."),
    ("ethanol.likely_vol_percent", "Likely content."),
    ("ethanol.high_vol_percent", "Highest content met or allowed."),
];

/// When a file can be read: after those on which it may rest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Stage {
    /// A component by itself.
    Component,
    /// A component whose vapour is that of others.
    Surrogate,
    /// A pump fuel.
    Pump,
}

impl Stage {
    /// That of a text, by what can be seen of it, whatever else is wrong with it.
    pub(super) fn of(text: &str) -> Self {
        let (document, _) = DeTable::parse_recoverable(text);
        let root = document.get_ref();
        let kind = root.get("kind").and_then(|kind| kind.get_ref().as_str());
        let vapour = root.get("vapour").and_then(|vapour| vapour.get_ref().as_table());
        match kind {
            Some("pump") => Self::Pump,
            Some("component") if vapour.is_some_and(|vapour| vapour.contains_key("surrogate")) => {
                Self::Surrogate
            }
            Some("component") => Self::Component,
            _ if root.contains_key("ethanol") => Self::Pump,
            _ => Self::Component,
        }
    }
}

/// What a fuel file holds.
pub(super) enum FuelFile {
    Component(Box<Component>),
    Pump(Box<PumpFuel>),
}

/// The words under `kind`.
type Kinds = [&'static str];

/// Reads a fuel file that stands on what is on the shelf.
///
/// # Errors
/// [`Diagnostics`] with every problem of the file.
pub(super) fn read(file: &str, text: &str, stage: Stage, shelf: &Shelf) -> Result<FuelFile, Diagnostics> {
    let kinds = &["component", "pump"];
    input::read(file, text, |s| match stage {
        Stage::Pump => pump(s, kinds, shelf).map(|fuel| FuelFile::Pump(Box::new(fuel))),
        _ => component(s, kinds, shelf).map(|one| FuelFile::Component(Box::new(one))),
    })
}

/// JSON Schema (draft 2020-12) of a fuel file that holds a component.
///
/// It refuses what is wrong with a key by itself and what is missing; shares that do not add to 1 and names that are
/// not known or taken only [`super::FuelLibrary`] finds.
///
/// # Example
/// ```
/// let schema = endgas::fuel::component_schema();
/// assert_eq!(schema["properties"]["kind"]["enum"][0], "component");
/// ```
pub fn component_schema() -> Value {
    let asked = Asked::by(|s| component(s, &["component"], &Shelf::default()));
    schema("Component of fuels", "A component of fuels.", &asked, &said)
}

/// JSON Schema (draft 2020-12) of a fuel file that holds a pump fuel; see [`component_schema`].
pub fn pump_schema() -> Value {
    let asked = Asked::by(|s| pump(s, &["pump"], &Shelf::default()));
    schema("Pump fuel", "A fuel as sold.", &asked, &said)
}

fn said(path: &str) -> Option<String> {
    let is_source = path.ends_with("source").then_some("Where these figures come from.");
    let words = is_source.or_else(|| WORDS.iter().find(|(key, _)| *key == path).map(|(_, words)| *words));
    words.map(str::to_owned)
}

/// `kind`, `name` and `title`; the name of a component must be new.
fn head(s: &mut Section<'_, '_>, kinds: &Kinds) -> Option<(String, String)> {
    let kinds: Vec<(&'static str, ())> = kinds.iter().map(|kind| (*kind, ())).collect();
    s.word("kind", &kinds);
    let (name, title) = (s.name("name"), s.text("title"));
    Some((name?, title?))
}

fn refuse_taken(s: &mut Section<'_, '_>, name: &str) {
    s.contradiction("name", &format!("the name '{name}' is taken; choose another"), None);
}

fn component(s: &mut Section<'_, '_>, kinds: &Kinds, shelf: &Shelf) -> Option<Component> {
    let head = head(s, kinds);
    if let Some((name, _)) = head.as_ref().filter(|(name, _)| shelf.has(name)) {
        refuse_taken(s, name);
    }
    let (atoms, composition_source) = s.sub("composition", true, |s| (composition(s), s.text("source")));
    let (density, expansion, density_source) = s.sub("density", true, |s| {
        (s.number("kg_per_m3_at_15c", DENSITY), s.number("expansion_per_k", EXPANSION), s.text("source"))
    });
    let (lhv, is_lhv_stated, vaporisation, heat_source) = s.sub("heat", true, |s| {
        const LHV: &str = "lhv_liquid_mj_per_kg";
        let (lhv, is_stated) = (s.optional_number(LHV, HEATING_VALUE), s.has(LHV));
        (lhv, is_stated, s.number("vaporisation_kj_per_kg", VAPORISATION), s.text("source"))
    });
    let (ron, mon, octane_source) =
        s.sub("octane", false, |s| (s.number("ron", OCTANE), s.number("mon", OCTANE), s.text("source")));
    let (vapour, vapour_source) = s.sub("vapour", true, |s| (vapour(s, shelf), s.text("source")));

    let ((name, title), atoms) = (head?, atoms?);
    match (atoms.carbon > 0.0, s.has("octane")) {
        (true, false) => s.miss(
            "octane",
            Expected::OneOf("a section with ron and mon, for there is carbon in it".to_owned()),
        ),
        (false, true) => s.contradiction("octane", "a component without carbon cannot have it", None),
        _ => {}
    }
    let component = Component::new(ComponentData {
        name,
        title,
        atoms,
        density_15c_kg_per_m3: density?,
        thermal_expansion_per_k: expansion?,
        lhv_liquid_j_per_kg: lhv.map(|mj| mj * 1e6),
        heat_of_vaporisation_j_per_kg: vaporisation? * 1e3,
        vapour: vapour?.of_molar_mass(atoms.molar_mass_kg_per_mol()),
        octane: ron.zip(mon).map(|(ron, mon)| OctaneRating { ron, mon }),
        sources: Sources {
            composition: composition_source?,
            density: density_source?,
            heat: heat_source?,
            octane: octane_source.unwrap_or_default(),
            vapour: vapour_source?,
        },
    });
    check_vapour(s, &component, is_lhv_stated);
    Some(component)
}

/// Notes a vapour that no molecule has: a slip in one coefficient shows here.
fn check_vapour(s: &mut Section<'_, '_>, component: &Component, is_lhv_stated: bool) {
    let cp_over_r = VAPOUR_CHECKED_K.map(|k| (k, component.vapour.cp(k) / GAS_CONSTANT_J_PER_MOL_K));
    let wrong = cp_over_r.into_iter().find(|(_, cp)| !VAPOUR_CP_OVER_R.range().contains(cp));
    let mj_per_kg = component.lhv_liquid_j_per_kg / 1e6;
    let heat = if component.carbon > 0.0 { HEATING_VALUE } else { CARBON_FREE_HEATING_VALUE };
    let (what, value, allowed) = match wrong {
        Some((k, cp)) => (format!("heat capacity over R at {k} K"), cp, VAPOUR_CP_OVER_R),
        None if !is_lhv_stated && !heat.range().contains(&mj_per_kg) => {
            ("heating value that follows from it".to_owned(), mj_per_kg, heat)
        }
        None => return,
    };
    s.contradiction("vapour", &format!("{what} = {value} is outside {}", allowed.ends()), None);
}

fn composition(s: &mut Section<'_, '_>) -> Option<Atoms> {
    let ways = "carbon with hydrogen (and oxygen), atoms per molecule; or give molar_mass_g_per_mol with \
                hydrogen_to_carbon (and oxygen_to_carbon)";
    s.one_of(
        Some(("carbon", Expected::OneOf(ways.to_owned()))),
        &[
            KeyWay {
                words: "atoms (carbon, hydrogen)",
                keys: &["carbon", "hydrogen", "oxygen"],
                read: &|s| {
                    let (carbon, hydrogen) = (s.number("carbon", CARBON), s.number("hydrogen", HYDROGEN));
                    let oxygen = s.optional_number("oxygen", OXYGEN).unwrap_or(0.0);
                    Some(Atoms { carbon: carbon?, hydrogen: hydrogen?, oxygen })
                },
            },
            KeyWay {
                words: "molar mass (molar_mass_g_per_mol, hydrogen_to_carbon)",
                keys: &["molar_mass_g_per_mol", "hydrogen_to_carbon", "oxygen_to_carbon"],
                read: &|s| {
                    let molar_mass = s.number("molar_mass_g_per_mol", MOLAR_MASS);
                    let hydrogen = s.number("hydrogen_to_carbon", HYDROGEN_TO_CARBON);
                    let oxygen = s.optional_number("oxygen_to_carbon", OXYGEN_TO_CARBON).unwrap_or(0.0);
                    let (molar_mass, hydrogen) = (molar_mass? * 1e-3, hydrogen?);
                    let per_carbon = Atoms { carbon: 1.0, hydrogen, oxygen };
                    let carbon = molar_mass / per_carbon.molar_mass_kg_per_mol();
                    Some(Atoms { carbon, hydrogen: hydrogen * carbon, oxygen: oxygen * carbon })
                },
            },
        ],
    )
}

/// Heat capacity of a vapour as stated.
struct Vapour {
    polynomial: Nasa7,
    /// Molar mass of the components that stand for it [kg/mol]; none for a polynomial of its own.
    others_kg_per_mol: Option<f64>,
}

impl Vapour {
    /// The polynomial stated, or that of the surrogate scaled to a molar mass (equal heat capacity per mass).
    fn of_molar_mass(self, molar_mass_kg_per_mol: f64) -> Nasa7 {
        match self.others_kg_per_mol {
            Some(others) => self.polynomial.scaled(molar_mass_kg_per_mol / others),
            None => self.polynomial,
        }
    }
}

fn vapour(s: &mut Section<'_, '_>, shelf: &Shelf) -> Option<Vapour> {
    let ways =
        "a list of seven NASA coefficients, with high; or give surrogate, mole fractions of components";
    s.one_of(
        Some(("low", Expected::OneOf(ways.to_owned()))),
        &[
            KeyWay {
                words: "a polynomial (low, high)",
                keys: &["low", "high"],
                read: &|s| {
                    let mut list = |key| <[f64; 7]>::try_from(s.numbers(key, 7..=7, COEFFICIENT)?).ok();
                    let (low, high) = (list("low"), list("high"));
                    Some(Vapour { polynomial: Nasa7 { low: low?, high: high? }, others_kg_per_mol: None })
                },
            },
            KeyWay {
                words: "surrogate",
                keys: &["surrogate"],
                read: &|s| {
                    let parts = shares(s, "surrogate", shelf)?;
                    Some(Vapour {
                        polynomial: mixed_vapour(parts.iter().map(|(c, x)| (&c.vapour, *x))),
                        others_kg_per_mol: Some(parts.iter().map(|(c, x)| x * c.molar_mass_kg_per_mol).sum()),
                    })
                },
            },
        ],
    )
}

/// Shares of components, which must add to 1; in the order of their names.
fn shares(s: &mut Section<'_, '_>, key: &'static str, shelf: &Shelf) -> Option<Vec<(Arc<Component>, f64)>> {
    let mut entries = s.free_numbers(key, true, SHARE);
    entries.sort_by(|a, b| a.0.cmp(&b.0));
    let mut parts = Vec::new();
    for (name, given, share) in &entries {
        match shelf.components.get(name) {
            Some(component) => parts.extend(share.map(|share| (Arc::clone(component), share))),
            None => {
                let near = nearest(name, shelf.components.keys().map(String::as_str));
                let hint = near.map(|known| format!("did you mean {known}?"));
                let why = format!("no component is called '{name}'");
                s.notes().note_value(given, ProblemKind::Contradiction { why }, hint);
            }
        }
    }
    let all: Option<Vec<f64>> = entries.iter().map(|(.., share)| *share).collect();
    let sum: f64 = all?.iter().sum();
    if (sum - 1.0).abs() > SHARE_TOLERANCE {
        let sum = (sum * 1e6).round() / 1e6;
        s.contradiction(key, &format!("the shares add to {sum} instead of 1"), None);
    }
    (parts.len() == entries.len()).then_some(parts)
}

fn pump(s: &mut Section<'_, '_>, kinds: &Kinds, shelf: &Shelf) -> Option<PumpFuel> {
    let head = head(s, kinds);
    let replaces = s.optional_text("replaces");
    if let Some((name, _)) = &head {
        check_replacing(s, name, replaces.as_deref(), shelf);
    }
    let lambda = s.optional_number("best_power_lambda", BEST_POWER_LAMBDA);
    let base = s.sub("base", false, |s| base(s, shelf));
    let ethanol = s.sub("ethanol", true, |s| (content(s), s.text("source")));
    let has_base = s.has("base");
    if !has_base && ethanol.0.is_some_and(|content| content.low < 1.0) {
        s.contradiction("ethanol", "without [base] it is all ethanol, so low_vol_percent must be 100", None);
    }
    let Some(ethanol_component) = shelf.components.get(ETHANOL).map(Arc::clone) else {
        s.contradiction("ethanol", "no component is called 'ethanol'", None);
        return None;
    };

    let ((name, title), content) = (head?, ethanol.0?);
    let mut sources = vec![format!("{name}: ethanol content: {}", ethanol.1?)];
    let base = if has_base {
        let (base, said) = base?;
        sources.push(format!("{name}: base: {said}"));
        base
    } else {
        Vec::new()
    };
    Some(PumpFuel {
        name,
        title,
        base,
        best_power_lambda: lambda.unwrap_or(best_power_lambda(content.likely)),
        ethanol: content,
        sources,
        ethanol_component,
    })
}

/// `[base]`, and where it comes from.
fn base(s: &mut Section<'_, '_>, shelf: &Shelf) -> Option<(Vec<Share>, String)> {
    let (parts, source) = (shares(s, "parts", shelf), s.text("source"));
    let parts = parts?;
    if parts.iter().any(|(component, _)| component.name == ETHANOL) {
        s.contradiction("parts", "'ethanol' cannot be used here: state it under [ethanol]", None);
    }
    let total: f64 = parts.iter().map(|(_, share)| share).sum();
    let share = |(component, share)| Share { component, vol_frac: share / total };
    Some((parts.into_iter().map(share).collect(), source?))
}

fn content(s: &mut Section<'_, '_>) -> Option<ContentRange> {
    let mut content = |key| s.number(key, SHARE_PERCENT).map(|percent| percent / 100.0);
    let (low, likely) = (content("low_vol_percent"), content("likely_vol_percent"));
    let range = ContentRange { high: content("high_vol_percent")?, low: low?, likely: likely? };
    if range.low > range.likely || range.likely > range.high {
        s.contradiction("likely_vol_percent", "low, likely and high are not in rising order", None);
    }
    Some(range)
}

/// A pump fuel takes a free name, or says that it replaces the shipped fuel of its name.
fn check_replacing(s: &mut Section<'_, '_>, name: &str, replaces: Option<&str>, shelf: &Shelf) {
    let is_shipped = shelf.replaceable.contains(name);
    match replaces {
        None if is_shipped => {
            let why = format!(
                "the name '{name}' is that of a shipped fuel; choose another, or write replaces = \"{name}\" to replace \
                 it"
            );
            s.contradiction("name", &why, None);
        }
        Some(replaces) if replaces != name => {
            let why = format!("it must be the name of the fuel itself, '{name}'");
            s.contradiction("replaces", &why, None);
        }
        Some(_) if is_shipped => {}
        // A name is free, or replaced by another file of the folder already.
        _ if shelf.pumps.contains_key(name) || replaces.is_none() && shelf.has(name) => refuse_taken(s, name),
        Some(_) => s.contradiction("replaces", "no pump fuel has that name", None),
        None => {}
    }
}
