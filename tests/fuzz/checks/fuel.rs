//! Fuel files, and fuels and quantities as typed.

use super::{LABEL, LABEL_SHOWN, LIBRARY, said, shown, within};
use endgas::dyno::{ColumnMap, Quantity};
use endgas::fuel::PumpFuel;
use endgas::fuel::fill::{read_percent, read_volume_m3};
use endgas::report::{Format, FuelReport, Units, render};
use endgas::scenario::{FuelRequest, choose_fuels, typed};

/// A file of a component or a pump fuel in the user's folder.
pub fn fuel_file(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let library = match LIBRARY.clone().with_files([(LABEL.to_owned(), text.to_owned())]) {
        Ok(library) => library,
        Err(error) => {
            said(&error.to_string());
            assert!(error.to_string().contains(LABEL_SHOWN), "{error}");
            return;
        }
    };
    let names = library.names().into_iter().chain(library.component_names());
    for name in names {
        let fuel = library.resolve(name).unwrap();
        if LIBRARY.resolve(name).is_ok_and(|shipped| shipped == fuel) {
            continue;
        }
        is_fuel(fuel);
        for recipe in [format!("{name} 60 % + e85 40 %"), format!("{name} 1% + ethanol 99%")] {
            if let Ok(mixed) = library.resolve(&recipe) {
                is_fuel(mixed);
            }
        }
    }
}

/// A fuel has properties that are finite and of the right sign, or is refused.
fn is_fuel(fuel: PumpFuel) {
    match fuel.blend() {
        Err(error) => said(&error.to_string()),
        Ok(blend) => {
            within("density", blend.density_15c_kg_per_m3, 1.0..=1e4);
            within("heating value", blend.lhv_j_per_kg, 1.0..=6e7);
            within("air-fuel ratio", blend.afr_stoich, 1e-3..=1e2);
            within("ethanol", blend.ethanol_vol_frac, 0.0..=1.0);
            within("RON", blend.octane.ron, -100.0..=300.0);
        }
    }
    for report in [FuelReport::asked(vec![fuel.clone()]), FuelReport::sweep(fuel)] {
        match report {
            Err(error) => said(&error.to_string()),
            Ok(report) => {
                for format in [Format::Text, Format::Json, Format::Csv] {
                    match render(&report, format, Units::Metric) {
                        Ok(text) => shown(&text),
                        Err(error) => said(&error.to_string()),
                    }
                }
            }
        }
    }
}

/// What a person types: a quantity with its unit, a fuel or recipe, a volume of it, a column.
pub fn words(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let quantity = |what, read: Result<f64, typed::TypedError>, range| match read {
        Ok(value) => within(what, value, range),
        Err(error) => said(&error.to_string()),
    };
    quantity("temperature", typed::TEMPERATURE.si(text), 253.15..=323.15);
    quantity("pressure", typed::PRESSURE.si(text), 50e3..=110e3);
    quantity("humidity", typed::HUMIDITY.si(text), 0.0..=1.0);
    quantity("altitude", typed::altitude_as_pa(text), 50e3..=110e3);
    quantity("power", typed::POWER.read(text), 2.0..=2000.0);
    quantity("ratio", typed::ratio(text).map(|ratio| ratio.get()), 6.0..=18.0);
    if let Some(frac) = read_percent(text) {
        within("percentage", frac, 0.0..=1.0);
    }
    match read_volume_m3(text) {
        Ok(volume_m3) => within("volume", volume_m3, f64::MIN_POSITIVE..=50.0),
        Err(error) => said(&error.to_string()),
    }
    match LIBRARY.fill(text) {
        Ok(fill) => {
            within("volume", fill.volume_m3, f64::MIN_POSITIVE..=50.0);
            is_fuel(fill.fuel);
        }
        Err(error) => said(&error.to_string()),
    }
    for fuel in [LIBRARY.resolve(text), LIBRARY.measured(text)] {
        match fuel {
            Ok(fuel) => is_fuel(fuel),
            Err(error) => said(&error.to_string()),
        }
    }
    let spec = text.to_owned();
    let request = FuelRequest { place: "--fuel".to_owned(), spec, lambda: None };
    if let Err(error) = choose_fuels(vec![request], &LIBRARY) {
        said(&error.to_string());
    }
    if let Err(why) = ColumnMap::read(text) {
        said(&why);
    }
    if let Some(unit) = Quantity::ALL.iter().find_map(|quantity| quantity.unit(text)) {
        assert!(unit.to_si(1.0).is_finite());
    }
}
