//! What lines above the table say beyond doubt: correction and its factor, place, gear, weather.

use super::error::{Problems, PullFault};
use super::header::{Heading, heading};
use super::log::{LogCorrection, Place};
use super::unit::Quantity;
use crate::air::CorrectionStandard;
use crate::printable::printable;
use crate::units::Unit;

/// Something that a line above the table says.
#[derive(Clone, Debug, PartialEq)]
pub enum LineAbove {
    /// How the figures are corrected.
    Correction(LogCorrection),
    /// By which factor [-].
    Factor(f64),
    /// Where they were taken.
    Place(Place),
    /// The gear, printable; shown and not used.
    Gear(String),
    /// Air temperature [K].
    AirTemperature(f64),
    /// Air pressure [Pa].
    Pressure(f64),
    /// Relative humidity [-].
    Humidity(f64),
}

const CORRECTION: &str = "correction, corrected, correction standard, correction type, correction method, power correction, korrektur, \
                          korrekturnorm, korrigiert nach";
const PLACE: &str = "at, measured at, figures at, power at, place, gemessen am, messort";
const GEAR: &str = "gear, gang, in gear, test gear";

/// What the lines above a table say, each with its line.
#[derive(Debug, Default)]
pub(super) struct Above(pub(super) Vec<(u64, LineAbove)>);

impl Above {
    /// Reads lines of cells; what contradicts itself is noted.
    pub(super) fn read(lines: &[(u64, Vec<String>)], problems: &mut Problems) -> Self {
        let mut found: Vec<(u64, LineAbove)> = Vec::new();
        for (line, cells) in lines {
            for (key, value) in pairs(cells) {
                let Some(said) = said(&key, &value) else { continue };
                let is_same =
                    |other: &LineAbove| std::mem::discriminant(other) == std::mem::discriminant(&said);
                match found.iter().find(|(_, other)| is_same(other)) {
                    Some((_, other)) if *other == said => {}
                    Some((first, _)) => problems.note(*line, PullFault::LinesDiffer { key, first: *first }),
                    None => found.push((*line, said)),
                }
            }
        }
        Self(found)
    }

    pub(super) fn correction(&self) -> Option<(u64, LogCorrection)> {
        self.0.iter().find_map(|(line, said)| match said {
            LineAbove::Correction(correction) => Some((*line, *correction)),
            _ => None,
        })
    }

    pub(super) fn place(&self) -> Option<(u64, Place)> {
        self.0.iter().find_map(|(line, said)| match said {
            LineAbove::Place(place) => Some((*line, *place)),
            _ => None,
        })
    }

    /// A number that holds for every row, in the unit used inside, with its line.
    pub(super) fn of(&self, quantity: Quantity) -> Option<(u64, f64)> {
        self.0.iter().find_map(|(line, said)| match (said, quantity) {
            (LineAbove::Factor(value), Quantity::Factor)
            | (LineAbove::AirTemperature(value), Quantity::AirTemperature)
            | (LineAbove::Pressure(value), Quantity::Pressure)
            | (LineAbove::Humidity(value), Quantity::Humidity) => Some((*line, *value)),
            _ => None,
        })
    }
}

/// Keys and values of a line: "Gear: 4", or two cells.
fn pairs(cells: &[String]) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut cells = cells.iter().map(|cell| cell.trim()).filter(|cell| !cell.is_empty()).peekable();
    while let Some(cell) = cells.next() {
        let (key, value) = cell.split_once([':', '=']).unwrap_or((cell, ""));
        let value =
            if value.trim().is_empty() { cells.next_if(|next| !next.contains(':')) } else { Some(value) };
        let Some(value) = value else { continue };
        found.push((key.trim().to_owned(), value.trim().to_owned()));
    }
    found
}

/// What a key and its value say; none where it is something else, or open to doubt.
fn said(key: &str, value: &str) -> Option<LineAbove> {
    let name = key.to_lowercase();
    let is = |names: &str| names.split(", ").any(|one| one == name.trim());
    if is(CORRECTION) {
        return correction(value).map(LineAbove::Correction);
    }
    if is(PLACE) {
        return place(value).map(LineAbove::Place);
    }
    if is(GEAR) {
        let is_short = (1..=12).contains(&value.chars().count());
        return is_short.then(|| LineAbove::Gear(printable(value).into_owned()));
    }
    let Heading::Known(known) = heading(key) else { return None };
    let quantity = known.quantity;
    let value = number(value, quantity, known.unit).filter(|value| quantity.range().contains(value))?;
    match quantity {
        Quantity::Factor => Some(LineAbove::Factor(value)),
        Quantity::AirTemperature => Some(LineAbove::AirTemperature(value)),
        Quantity::Pressure => Some(LineAbove::Pressure(value)),
        Quantity::Humidity => Some(LineAbove::Humidity(value)),
        _ => None,
    }
}

/// A number with its unit, or in that of the key, in the unit used inside.
fn number(typed: &str, quantity: Quantity, of_key: Option<Unit>) -> Option<f64> {
    let end = typed.find(|c: char| !(c.is_ascii_digit() || "+-.,".contains(c))).unwrap_or(typed.len());
    let (number, unit) = typed.split_at(end);
    let is_one_sign = number.matches(['.', ',']).count() <= 1;
    let value: f64 = number.replace(',', ".").parse().ok().filter(|_| is_one_sign)?;
    let unit = unit.trim();
    let unit = if unit.is_empty() { of_key } else { quantity.unit(unit) };
    Some(unit?.to_si(value))
}

/// A correction as shops write it. STD is SAE J607 and SAE alone J1349, as most dynos have it (common practice, no source).
fn correction(typed: &str) -> Option<LogCorrection> {
    let plain: String = typed
        .to_lowercase()
        .chars()
        .filter(|c| c.is_alphanumeric() || *c == ' ')
        .collect::<String>()
        .replace(' ', "");
    let by = |standard| Some(LogCorrection::By(standard));
    match plain.as_str() {
        "none" | "no" | "off" | "uncorrected" | "observed" | "asmeasured" | "keine" | "ohne"
        | "unkorrigiert" => Some(LogCorrection::None),
        "std" | "saestd" | "j607" | "saej607" => by(CorrectionStandard::SaeJ607),
        "sae" | "j1349" | "saej1349" | "saej13492004" => by(CorrectionStandard::SaeJ1349),
        "saej13491990" | "saej1349jun1990" => by(CorrectionStandard::SaeJ1349Jun1990),
        "iso" | "iso1585" => by(CorrectionStandard::Iso1585),
        "din" | "din70020" => by(CorrectionStandard::Din70020),
        _ => None,
    }
}

fn place(typed: &str) -> Option<Place> {
    match typed.to_lowercase().trim() {
        "wheel" | "wheels" | "at the wheels" | "hub" | "hubs" | "rad" | "räder" => Some(Place::Wheel),
        "crank" | "flywheel" | "engine" | "crankshaft" | "motor" | "kurbelwelle" => Some(Place::Crank),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(lines: &[&str]) -> (Above, Problems) {
        let mut problems = Problems::default();
        let cells = |line: &&str| line.split(';').map(str::to_owned).collect();
        let lines: Vec<(u64, Vec<String>)> = (1..).zip(lines.iter().map(cells)).collect();
        (Above::read(&lines, &mut problems), problems)
    }

    #[test]
    fn what_is_beyond_doubt_is_read() {
        let std = LineAbove::Correction(LogCorrection::By(CorrectionStandard::SaeJ607));
        for (line, wanted) in [
            ("Correction: STD", std.clone()),
            ("Correction;STD", std),
            (
                "Correction = DIN 70020",
                LineAbove::Correction(LogCorrection::By(CorrectionStandard::Din70020)),
            ),
            ("Corrected: uncorrected", LineAbove::Correction(LogCorrection::None)),
            ("Correction Factor: 1.02", LineAbove::Factor(1.02)),
            ("Korrekturfaktor;1,02", LineAbove::Factor(1.02)),
            ("Gear: 4", LineAbove::Gear("4".to_owned())),
            ("Measured at: wheels", LineAbove::Place(Place::Wheel)),
            ("Air temp: 68 F", LineAbove::AirTemperature(293.15)),
            ("Lufttemperatur [°C];20,0", LineAbove::AirTemperature(293.15)),
            ("Baro: 1013 mbar", LineAbove::Pressure(101_300.0)),
            ("Humidity: 45 %", LineAbove::Humidity(0.45)),
        ] {
            let (found, problems) = read(&[line]);
            let [(1, found)] = &found.0[..] else { panic!("{line}: {found:?}") };
            let is_near = match (found, &wanted) {
                (LineAbove::AirTemperature(a), LineAbove::AirTemperature(b)) => (a - b).abs() < 1e-6,
                (a, b) => a == b,
            };
            assert!(is_near && problems.0.is_empty(), "{line}: {found:?}");
        }
        let (two, _) = read(&["Air temp: 20 C;Humidity: 40 %"]);
        assert_eq!(two.0.len(), 2);
    }

    #[test]
    fn what_is_open_to_doubt_is_left_alone() {
        for line in [
            "Temperature: 25",
            "Air temp: 25",
            "Correction: shop",
            "Correction: 1.02",
            "Baro: 1013",
            "Shop;North",
            "Gear",
            "",
        ] {
            assert!(read(&[line]).0.0.is_empty(), "{line}");
        }
        let (_, problems) = read(&["Gear: 4", "Gear: 3"]);
        assert_eq!(problems.0[0].line, Some(2));
    }
}
