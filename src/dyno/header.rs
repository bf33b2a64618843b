//! Names of columns as shops write them.

use super::log::Place;
use super::unit::Quantity;
use crate::units::Unit;

/// What a header cell says of its column.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Heading {
    /// A quantity that is used.
    Known(Known),
    /// A quantity that is used, in a unit that is not known for it.
    WrongUnit {
        /// What it is.
        quantity: Quantity,
        /// The unit as written.
        unit: String,
    },
    /// Something else.
    Other,
}

/// A column that is recognised.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Known {
    pub(super) quantity: Quantity,
    /// None when the header does not say.
    pub(super) unit: Option<Unit>,
    /// Where it was measured, when the name says so.
    pub(super) place: Option<Place>,
    /// Whether the name says that the figures are corrected.
    pub(super) corrected: bool,
}

/// Words that say where a figure was measured, or how, and are no part of its name.
const WHEEL: [&str; 5] = ["wheel", "wheels", "hub", "rad", "nabe"];
const CRANK: [&str; 7] = ["crank", "flywheel", "engine", "motor", "kurbelwellen", "schwungrad", "kupplungs"];
const CORRECTED: [&str; 6] = ["corrected", "corr", "sae", "korrigiert", "korrigierte", "norm"];
const PLAIN: [&str; 10] = [
    "measured",
    "raw",
    "uncorrected",
    "observed",
    "at",
    "the",
    "gemessen",
    "gemessene",
    "unkorrigiert",
    "der",
];

/// Ends of German names that are written as one word with what stands before them.
const ENDS: [&str; 4] = ["drehzahl", "drehmoment", "moment", "leistung"];

/// Names, in words of lower case, with commas between.
const NAMES: [(Quantity, &str); 14] = [
    (Quantity::Speed, "speed, rpm, revs, n, engine speed, engine rpm, motor speed, drehzahl, n mot, nmot"),
    (
        Quantity::RoadSpeed,
        "vehicle speed, road speed, wheel speed, roller speed, ground speed, geschwindigkeit, fahrgeschwindigkeit, \
         fahrzeuggeschwindigkeit, rollengeschwindigkeit",
    ),
    (Quantity::Torque, "torque, tq, trq, drehmoment, moment"),
    (Quantity::Power, "power, pwr, leistung"),
    (Quantity::Lambda, "lambda, λ, luftzahl, luftverhältnis"),
    (Quantity::Afr, "afr, air fuel ratio, air fuel, luft kraftstoff verhältnis"),
    (
        Quantity::AirTemperature,
        "air temp, air temperature, intake air temp, intake air temperature, iat, ambient temp, ambient temperature, lufttemperatur, lufttemp, ansauglufttemperatur, ansauglufttemp, \
         ansaugtemperatur, umgebungstemperatur",
    ),
    (
        Quantity::Pressure,
        "baro, barometer, barometric pressure, air pressure, ambient pressure, luftdruck, umgebungsdruck",
    ),
    (
        Quantity::Humidity,
        "humidity, relative humidity, rh, luftfeuchte, luftfeuchtigkeit, relative luftfeuchte, rel luftfeuchte",
    ),
    (
        Quantity::FuelFlow,
        "fuel flow, fuel mass flow, fuel rate, kraftstoffmassenstrom, kraftstoffdurchsatz, kraftstoffverbrauch",
    ),
    (Quantity::Factor, "cf, correction factor, corr factor, factor, korrekturfaktor"),
    (
        Quantity::Timing,
        "ignition timing, timing, timing advance, spark advance, ignition advance, spark timing, ign timing, zündung, zündwinkel, zündzeitpunkt, vorzündung",
    ),
    (
        Quantity::Knock,
        "knock count, knock counts, knock events, knock retard, klopfzähler, klopfereignisse, klopfen",
    ),
    (Quantity::Pull, "pull, run, run no, pull no, lauf, lauf nr, messung, messung nr"),
];

/// Names that are a unit at the same time.
const UNIT_NAMES: &[(&str, Quantity, &str)] = &[
    ("hp", Quantity::Power, "hp"),
    ("bhp", Quantity::Power, "hp"),
    ("whp", Quantity::Power, "hp"),
    ("kw", Quantity::Power, "kW"),
    ("ps", Quantity::Power, "PS"),
    ("nm", Quantity::Torque, "N m"),
    ("mph", Quantity::RoadSpeed, "mph"),
    ("km h", Quantity::RoadSpeed, "km/h"),
    ("kmh", Quantity::RoadSpeed, "km/h"),
    ("kph", Quantity::RoadSpeed, "km/h"),
    ("u min", Quantity::Speed, "rpm"),
    ("1 min", Quantity::Speed, "rpm"),
    ("min 1", Quantity::Speed, "rpm"),
    ("upm", Quantity::Speed, "rpm"),
    ("knock retard", Quantity::Knock, "deg"),
];

/// Reads a header cell.
pub(super) fn heading(cell: &str) -> Heading {
    let (name, unit) = parts(cell);
    let words = words(&name);
    if let Some(found) = recognised(&words, unit.as_deref()) {
        return found;
    }
    // A unit behind the name without brackets: "torque lb ft", "power_kw".
    for split in (1..words.len()).rev() {
        if let Some(Heading::Known(known)) = recognised(&words[..split], Some(&words[split..].concat())) {
            return Heading::Known(known);
        }
    }
    Heading::Other
}

fn recognised(words: &[String], unit: Option<&str>) -> Option<Heading> {
    let stripped = without_modifiers(words);
    let rest = stripped.rest.join(" ");
    if let (Some((name, quantity, spelled)), None) = (UNIT_NAMES.iter().find(|(n, ..)| *n == rest), unit) {
        let place = stripped.place.or((*name == "whp").then_some(Place::Wheel));
        let (quantity, unit, corrected) = (*quantity, quantity.unit(spelled), stripped.corrected);
        return Some(Heading::Known(Known { quantity, unit, place, corrected }));
    }
    // "engine speed" is a name of its own, and "correction factor" no corrected figure.
    let whole = words.join(" ");
    let quantity = [&whole, &rest].into_iter().find_map(|text| {
        NAMES
            .iter()
            .find(|(_, names)| names.split(", ").any(|name| name == text))
            .map(|(quantity, _)| *quantity)
    })?;
    let is_output = matches!(quantity, Quantity::Torque | Quantity::Power);
    let known = |unit| Known {
        quantity,
        unit,
        place: stripped.place.filter(|_| is_output),
        corrected: stripped.corrected && is_output,
    };
    Some(match unit {
        Some(text) => match quantity.unit(text) {
            Some(unit) => Heading::Known(known(Some(unit))),
            None if quantity == Quantity::Speed && Quantity::RoadSpeed.unit(text).is_some() => {
                let unit = Quantity::RoadSpeed.unit(text);
                Heading::Known(Known { quantity: Quantity::RoadSpeed, ..known(unit) })
            }
            // The rpm of rollers is no engine speed, and the volts of a knock sensor are no count.
            None if matches!(quantity, Quantity::Speed | Quantity::RoadSpeed | Quantity::Knock) => {
                Heading::Other
            }
            None => Heading::WrongUnit { quantity, unit: text.to_owned() },
        },
        None if quantity.is_bare() => Heading::Known(known(quantity.units().first().copied())),
        None if quantity == Quantity::Speed && (whole.ends_with("rpm") || whole.ends_with("drehzahl")) => {
            Heading::Known(known(Quantity::Speed.unit("rpm")))
        }
        None => Heading::Known(known(None)),
    })
}

/// A name without the words that say where and how.
struct Stripped {
    rest: Vec<String>,
    place: Option<Place>,
    corrected: bool,
}

fn without_modifiers(words: &[String]) -> Stripped {
    let mut found = Stripped { rest: Vec::new(), place: None, corrected: false };
    for word in words {
        match word.as_str() {
            w if WHEEL.contains(&w) => found.place = Some(Place::Wheel),
            w if CRANK.contains(&w) => found.place = Some(Place::Crank),
            w if CORRECTED.contains(&w) => found.corrected = true,
            w if PLAIN.contains(&w) => {}
            _ => found.rest.push(word.clone()),
        }
    }
    found
}

/// Name and bracketed unit of a header cell.
fn parts(cell: &str) -> (String, Option<String>) {
    let cell = cell.trim();
    let Some(open) = cell.rfind(['(', '[']) else { return (cell.to_owned(), None) };
    let inside: String = cell[open + 1..].chars().take_while(|c| !matches!(c, ')' | ']')).collect();
    let inside = inside.trim();
    let unit = (!inside.is_empty()).then(|| inside.to_owned());
    (cell[..open].trim().to_owned(), unit)
}

fn words(name: &str) -> Vec<String> {
    name.split(|c: char| !(c.is_alphanumeric() || c == '%'))
        .filter(|word| !word.is_empty())
        .map(str::to_lowercase)
        .flat_map(compound)
        .collect()
}

/// The parts of a German compound whose first part says where or how: "motordrehzahl", "radleistung".
fn compound(word: String) -> Vec<String> {
    let known =
        |first: &str| [WHEEL.as_slice(), &CRANK, &CORRECTED].iter().any(|firsts| firsts.contains(&first));
    let parts =
        ENDS.iter().find_map(|end| word.strip_suffix(end).filter(|first| known(first)).zip(Some(*end)));
    match parts {
        Some((first, end)) => vec![first.to_owned(), end.to_owned()],
        None => vec![word],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_shops_are_known() {
        for (cell, quantity, unit) in [
            ("rpm", Quantity::Speed, Some("rpm")),
            ("RPM", Quantity::Speed, Some("rpm")),
            ("Engine Speed [rpm]", Quantity::Speed, Some("rpm")),
            ("speed_rpm", Quantity::Speed, Some("rpm")),
            ("Speed", Quantity::Speed, None),
            ("torque (lb ft)", Quantity::Torque, Some("lb-ft")),
            ("Torque Nm", Quantity::Torque, Some("N m")),
            ("torque_ft_lb", Quantity::Torque, Some("lb-ft")),
            ("Wheel Torque [N·m]", Quantity::Torque, Some("N m")),
            ("torque", Quantity::Torque, None),
            ("power [hp]", Quantity::Power, Some("hp")),
            ("power_kw", Quantity::Power, Some("kW")),
            ("hp", Quantity::Power, Some("hp")),
            ("lambda", Quantity::Lambda, Some("-")),
            ("Lambda [-]", Quantity::Lambda, Some("-")),
            ("AFR", Quantity::Afr, Some("-")),
            ("AFR (:1)", Quantity::Afr, Some("-")),
            ("air temp (F)", Quantity::AirTemperature, Some("F")),
            ("Intake air temperature [°C]", Quantity::AirTemperature, Some("C")),
            ("baro (kPa)", Quantity::Pressure, Some("kPa")),
            ("humidity (%)", Quantity::Humidity, Some("%")),
            ("fuel flow (kg/h)", Quantity::FuelFlow, Some("kg/h")),
            ("Correction factor", Quantity::Factor, Some("-")),
            ("Ignition timing (deg)", Quantity::Timing, Some("deg")),
            ("Timing advance [°BTDC]", Quantity::Timing, Some("deg")),
            ("spark_advance_deg", Quantity::Timing, Some("deg")),
            ("timing", Quantity::Timing, Some("deg")),
            ("knock count", Quantity::Knock, Some("-")),
            ("Knock retard", Quantity::Knock, Some("deg")),
            ("knock retard (deg)", Quantity::Knock, Some("deg")),
            ("run", Quantity::Pull, Some("-")),
            ("Speed [km/h]", Quantity::RoadSpeed, Some("km/h")),
            ("vehicle speed (mph)", Quantity::RoadSpeed, Some("mph")),
            ("Geschwindigkeit km/h", Quantity::RoadSpeed, Some("km/h")),
            ("mph", Quantity::RoadSpeed, Some("mph")),
            ("Drehzahl", Quantity::Speed, Some("rpm")),
            ("Drehzahl [U/min]", Quantity::Speed, Some("rpm")),
            ("Motordrehzahl (1/min)", Quantity::Speed, Some("rpm")),
            ("U/min", Quantity::Speed, Some("rpm")),
            ("n [min⁻¹]", Quantity::Speed, Some("rpm")),
            ("Drehmoment [Nm]", Quantity::Torque, Some("N m")),
            ("Radleistung [PS]", Quantity::Power, Some("PS")),
            ("Leistung kW", Quantity::Power, Some("kW")),
            ("Zündung (°KW)", Quantity::Timing, Some("deg")),
            ("Zündwinkel [°KW v. OT]", Quantity::Timing, Some("deg")),
            ("Ansauglufttemperatur [°C]", Quantity::AirTemperature, Some("C")),
            ("Luftdruck [mbar]", Quantity::Pressure, Some("mbar")),
            ("Luftfeuchte [%]", Quantity::Humidity, Some("%")),
            ("Korrekturfaktor", Quantity::Factor, Some("-")),
        ] {
            let Heading::Known(found) = heading(cell) else { panic!("{cell}: {:?}", heading(cell)) };
            assert_eq!((found.quantity, found.unit.map(Unit::symbol)), (quantity, unit), "{cell}");
        }
    }

    #[test]
    fn what_is_something_else_is_left_alone() {
        for cell in [
            "",
            "time (s)",
            "wheel speed (rpm)",
            "oil temp (C)",
            "boost (kPa)",
            "torque limit",
            "(Nm)",
            "knock count (V)",
            "Schleppleistung (kW)",
            "Öltemperatur (°C)",
        ] {
            assert_eq!(heading(cell), Heading::Other, "{cell}");
        }
        let wrong = Heading::WrongUnit { quantity: Quantity::Torque, unit: "in oz".to_owned() };
        assert_eq!(heading("torque (in oz)"), wrong);
    }

    #[test]
    fn place_and_correction_are_read_from_the_name() {
        let known = |cell: &str| match heading(cell) {
            Heading::Known(known) => (known.place, known.corrected),
            other => panic!("{cell}: {other:?}"),
        };
        assert_eq!(known("Wheel power (kW)"), (Some(Place::Wheel), false));
        assert_eq!(known("whp"), (Some(Place::Wheel), false));
        assert_eq!(known("Corrected engine power (kW)"), (Some(Place::Crank), true));
        assert_eq!(known("Engine speed (rpm)"), (None, false));
        assert_eq!(known("corr factor"), (None, false));
        assert_eq!(known("Radleistung [PS]"), (Some(Place::Wheel), false));
        assert_eq!(known("Motorleistung korrigiert [kW]"), (Some(Place::Crank), true));
        assert_eq!(known("Normleistung [PS]"), (None, true));
        assert_eq!(known("Motordrehzahl"), (None, false));
    }
}
