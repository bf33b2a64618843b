//! The figures of fuel states told once, for the tables of the text and the CSV.

use super::{FuelEntry, FuelReport, Occasion};
use crate::fuel::{Content, FuelState, Part};
use crate::report::columns::{Columns, Told};
use crate::report::quantity::Dimension::{
    Density, Evaporation, HeatByMass, HeatByVolume, Pure, Share, Temperature, TemperatureStep,
};
use crate::report::{ReportError, Units};
use crate::units::celsius_to_k;

/// Temperatures at which density is shown [C].
const DENSITY_C: [f64; 3] = [0.0, 15.0, 30.0];
/// Decimals more for a program than for a person.
const FINER: usize = 2;
/// Most characters of a fuel name in a table.
pub(super) const NAME_LIMIT: usize = 18;

/// A fuel in one of its states.
type StateRow<'a> = (&'a FuelEntry, &'a FuelState);
/// Adds the columns of one table.
type FuelSection = for<'a, 'c> fn(&'c mut Columns<'a, StateRow<'a>>, &'a FuelReport, Units);

/// The tables of the text; the CSV holds the columns of all.
pub(super) const SECTIONS: [(&str, FuelSection); 4] = [
    ("Octane (low to high: 10-90 % band of the rating and of the blending)", octane),
    ("Energy", energy),
    ("On the engine", running),
    ("Substance", substance),
];

/// Every state of every fuel.
fn rows(report: &FuelReport) -> impl Iterator<Item = StateRow<'_>> {
    report.fuels.iter().flat_map(|entry| entry.states.iter().map(move |state| (entry, state)))
}

/// A table of some sections.
fn columns<'a>(report: &'a FuelReport, units: Units, sections: &[FuelSection]) -> Columns<'a, StateRow<'a>> {
    let mut c = Columns::<StateRow<'_>>::new(units);
    let name = c.words("fuel", |(entry, _)| entry.fuel.name.clone()).at_most(NAME_LIMIT).key("fuel", 0);
    if report.occasion == Occasion::Sweep {
        name.hidden();
    }
    c.words("", |(_, s)| content_word(s.content).to_owned()).key("content", 0).hidden();
    let ethanol = c.number("ethanol", Share, |(_, s)| s.blend.ethanol_vol_frac).below("vol %").digits(1);
    ethanol.key("ethanol_vol", 1 + FINER);
    for section in sections {
        section(&mut c, report, units);
    }
    c
}

/// One table of the text.
pub(super) fn table(report: &FuelReport, units: Units, section: FuelSection) -> String {
    columns(report, units, &[section]).text(rows(report))
}

/// The whole CSV document.
pub(super) fn csv(report: &FuelReport, units: Units) -> Result<String, ReportError> {
    columns(report, units, &SECTIONS.map(|(_, section)| section)).csv(rows(report))
}

/// A word for the content of a state.
pub(super) fn content_word(content: Content) -> &'static str {
    match content {
        Content::Low => "low",
        Content::Likely => "likely",
        Content::High => "high",
        Content::Swept => "swept",
    }
}

/// Gives a column its name for a program.
fn keyed<R>(told: &mut Told<'_, R>, digits: usize, key: &str) {
    told.digits(digits).key(key, digits + FINER);
}

/// Octane with its band, anti-knock index and sensitivity.
fn octane<'a>(c: &mut Columns<'a, StateRow<'a>>, _: &'a FuelReport, _: Units) {
    for (name, key, rating) in [
        ("RON", "ron", (|s| s.blend.octane.ron) as fn(&FuelState) -> f64),
        ("MON", "mon", |s| s.blend.octane.mon),
    ] {
        c.group(name);
        let low = move |(_, s): &StateRow<'_>| rating(s) - s.blend.octane_band.below;
        let high = move |(_, s): &StateRow<'_>| rating(s) + s.blend.octane_band.above;
        keyed(c.number("low", Pure, low), 1, &format!("{key}_low"));
        keyed(c.number("likely", Pure, move |(_, s)| rating(s)), 1, &format!("{key}_likely"));
        keyed(c.number("high", Pure, high), 1, &format!("{key}_high"));
    }
    c.group("likely");
    keyed(c.number("AKI", Pure, |(_, s)| s.blend.octane.aki()), 1, "aki_likely");
    keyed(c.number("RON-MON", Pure, |(_, s)| s.blend.octane.sensitivity()), 1, "sensitivity_likely");
}

/// Heating value, heat of vaporisation and stoichiometric air.
fn energy<'a>(c: &mut Columns<'a, StateRow<'a>>, _: &'a FuelReport, units: Units) {
    let (mass, volume) = (HeatByMass.unit(units).digits, HeatByVolume.unit(units).digits);
    c.group("lower heating value");
    keyed(c.number("by mass", HeatByMass, |(_, s)| s.blend.lhv_j_per_kg), mass, "lhv");
    keyed(c.number("by volume", HeatByVolume, |(_, s)| s.blend.lhv_j_per_m3()), volume, "lhv");
    c.group("heat of vaporisation");
    keyed(c.number("of fuel", Evaporation, |(_, s)| s.blend.hov_j_per_kg), 0, "hov");
    let mixture = c.number("of mixture", Evaporation, |(_, s)| s.blend.hov_j_per_kg_mixture());
    keyed(mixture, 1, "hov_per_mixture");
    c.group("air per fuel");
    keyed(c.number("by mass", Pure, |(_, s)| s.blend.afr_stoich), 2, "afr_stoich");
}

/// What changes on the engine: mixture, cooling, fuel flow.
fn running<'a>(c: &mut Columns<'a, StateRow<'a>>, report: &'a FuelReport, _: Units) {
    c.group("at best power");
    keyed(c.number("lambda", Pure, |(_, s)| s.best_power_lambda), 3, "best_power_lambda");
    let afr = c.number("air per fuel", Pure, |(_, s)| s.best_power_lambda * s.blend.afr_stoich);
    keyed(afr, 2, "best_power_afr");
    keyed(c.number("cooling", TemperatureStep, |(_, s)| s.charge_cooling_k), 1, "charge_cooling");
    c.group("fuel flow, equal power");
    let mass = c.number("by mass", Pure, |(_, s)| s.mass_flow_ratio(&report.reference));
    keyed(mass, 3, "mass_flow_ratio");
    let volume = c.number("by volume", Pure, |(_, s)| s.volume_flow_ratio(&report.reference));
    keyed(volume, 3, "volume_flow_ratio");
}

/// Shares of ethanol, atoms of the mean molecule, and density with temperature.
fn substance<'a>(c: &mut Columns<'a, StateRow<'a>>, _: &'a FuelReport, units: Units) {
    for (unit, key, pick) in [
        ("mass %", "ethanol_mass", (|p| p.mass_frac) as fn(&Part) -> f64),
        ("mole %", "ethanol_mole", |p| p.mole_frac),
    ] {
        let share = move |(_, s): &StateRow<'_>| {
            let own = s.blend.parts.iter().filter(|p| p.name == crate::fuel::component::ETHANOL);
            own.map(pick).fold(0.0, |sum, share| sum + share)
        };
        keyed(c.number("ethanol", Share, share).below(unit), 1, key);
    }
    c.group("mean molecule");
    keyed(c.number("C", Pure, |(_, s)| s.blend.carbon), 2, "carbon");
    keyed(c.number("H", Pure, |(_, s)| s.blend.hydrogen), 1, "hydrogen");
    keyed(c.number("O", Pure, |(_, s)| s.blend.oxygen), 2, "oxygen");
    // The same number in both.
    let (unit, key) = match units {
        Units::Metric => ("g/mol", "molar_mass_g_per_mol"),
        Units::Us => ("lb/lbmol", "molar_mass_lb_per_lbmol"),
    };
    keyed(c.number("mass", Pure, |(_, s)| s.blend.molar_mass_kg_per_mol * 1e3).below(unit), 1, key);
    c.group("density at");
    for celsius in DENSITY_C {
        let (kelvin, scale) = (celsius_to_k(celsius), Temperature.unit(units));
        let shown = scale.words(kelvin);
        let density = c.number(&format!("{shown} {}", scale.symbol), Density, move |(_, s)| {
            s.blend.density_kg_per_m3(kelvin)
        });
        keyed(density, Density.unit(units).digits, &format!("density_{shown}{}", scale.key));
    }
}
