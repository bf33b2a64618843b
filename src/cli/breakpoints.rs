//! Breakpoints of an axis as typed: "800,1200,2000" or "1000..7000 step 500", with a unit where there is a choice.

use super::span::ends;
use clap::builder::ValueParser;
use endgas::estimate::spark_map::Load;
use endgas::units::stated::{ENGINE_SPEED, SHARE_PERCENT};
use endgas::units::{Allowed, Unit};

/// Most breakpoints of rpm or of load, and most ethanol contents.
const MOST: usize = 32;
const MOST_CONTENTS: usize = 12;
/// Loads that are no slip of the pen; the engine itself narrows them (common practice, no source).
const PRESSURE: Allowed = Unit::Kilopascal.of(10.0..=110.0);
const FULL_LOAD: Allowed = Unit::Percent.of(20.0..=100.0);
const AIR: Allowed = Unit::Gram.of(0.01..=5.0);

/// Rising numbers of one axis, in the unit in which they were typed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Breakpoints {
    values: Vec<f64>,
    unit: Unit,
}

impl Breakpoints {
    /// The numbers in the unit used inside.
    pub(super) fn si(&self) -> Vec<f64> {
        self.values.iter().map(|value| self.unit.to_si(*value)).collect()
    }

    /// The unit in which they were typed.
    pub(super) fn unit(&self) -> Unit {
        self.unit
    }

    /// The same as loads.
    pub(super) fn loads(&self) -> Vec<Load> {
        let load = match self.unit {
            Unit::Percent => Load::FullLoadFrac,
            Unit::Gram | Unit::Milligram => Load::AirPerCylinderKg,
            _ => Load::ManifoldPressurePa,
        };
        self.si().into_iter().map(load).collect()
    }
}

/// What an axis may hold.
struct AxisRule {
    /// Name in a message, and how to write it.
    what: &'static str,
    example: &'static str,
    /// Units that may be typed, each with what is allowed and the step where none is typed.
    units: &'static [(Unit, Allowed, f64)],
    /// The unit where none is typed; none when one has to be.
    unsaid: Option<Unit>,
    most: usize,
}

const RPM: AxisRule = AxisRule {
    what: "rpm",
    example: "\"800,1200,2000\" or \"1000..7000 step 500\"",
    units: &[(Unit::Rpm, ENGINE_SPEED, 500.0)],
    unsaid: Some(Unit::Rpm),
    most: MOST,
};
const LOAD: AxisRule = AxisRule {
    what: "load",
    example: "\"40,60,80,100 kPa\", \"20..100 %\" of full-load air, or \"0.2,0.4,0.6 g\" of air per cylinder",
    units: &[
        (Unit::Kilopascal, PRESSURE, 10.0),
        (Unit::Hectopascal, PRESSURE, 100.0),
        (Unit::Millibar, PRESSURE, 100.0),
        (Unit::Bar, PRESSURE, 0.1),
        (Unit::InchOfMercury, PRESSURE, 2.0),
        (Unit::PoundPerSquareInch, PRESSURE, 1.0),
        (Unit::Percent, FULL_LOAD, 10.0),
        (Unit::Gram, AIR, 0.1),
        (Unit::Milligram, AIR, 100.0),
    ],
    unsaid: None,
    most: MOST,
};
const ETHANOL: AxisRule = AxisRule {
    what: "ethanol content",
    example: "\"10,30,50,85\" or \"0..80 step 20\", per cent by volume",
    units: &[(Unit::Percent, SHARE_PERCENT, 10.0)],
    unsaid: Some(Unit::Percent),
    most: MOST_CONTENTS,
};

/// Reads `--rpm`.
pub(super) fn rpm() -> ValueParser {
    ValueParser::new(|typed: &str| RPM.read(typed))
}

/// Reads `--load`.
pub(super) fn load() -> ValueParser {
    ValueParser::new(|typed: &str| LOAD.read(typed))
}

/// Reads `--ethanol`.
pub(super) fn ethanol() -> ValueParser {
    ValueParser::new(|typed: &str| ETHANOL.read(typed))
}

impl AxisRule {
    fn read(&self, typed: &str) -> Result<Breakpoints, String> {
        let Self { what, example, .. } = self;
        let end = typed.rfind(|c: char| c.is_ascii_digit() || c == '.').map_or(0, |last| last + 1);
        let (numbers, unit) = (typed[..end].trim(), typed[end..].trim());
        let (unit, allowed, usual_step) = self.unit(unit)?;
        let values = self.values(numbers, usual_step)?;
        let range = allowed.si();
        if let Some(value) = values.iter().find(|value| !range.contains(&unit.to_si(**value))) {
            let within = |si: f64| {
                format!("{:.4}", unit.of_si(si)).trim_end_matches('0').trim_end_matches('.').to_owned()
            };
            let (low, high) = (within(*range.start()), within(*range.end()));
            return Err(format!("{what} {value} is outside {low} to {high} {unit}"));
        }
        if let Some(pair) = values.windows(2).find(|pair| pair[1] <= pair[0]) {
            return Err(format!(
                "{what} must rise, and {} comes after {}; write {example}",
                pair[1], pair[0]
            ));
        }
        Ok(Breakpoints { values, unit })
    }

    fn unit(&self, typed: &str) -> Result<(Unit, Allowed, f64), String> {
        let units: Vec<Unit> = self.units.iter().map(|(unit, ..)| *unit).collect();
        let found = if typed.is_empty() { self.unsaid } else { Unit::spelled(typed, &units) };
        let row = self.units.iter().find(|(unit, ..)| Some(*unit) == found);
        row.copied().ok_or_else(|| {
            let fault = if typed.is_empty() {
                "has no unit".to_owned()
            } else {
                format!("is not given in '{typed}'")
            };
            format!("{} {fault}; units are {}; write {}", self.what, Unit::listed(&units), self.example)
        })
    }

    /// The numbers of a list, or of a range with its step.
    fn values(&self, typed: &str, usual_step: f64) -> Result<Vec<f64>, String> {
        let Self { what, example, most, .. } = self;
        let wrong = || format!("{what} is a list or a range; write {example}");
        let number = |text: &str| text.trim().parse::<f64>().ok().filter(|n| n.is_finite()).ok_or_else(wrong);
        let too_many =
            |found: usize| format!("{what} has {found} breakpoints; at most {most} go into one table");
        let (span, step) = match typed.split_once("step") {
            Some((span, step)) => (span, Some(step)),
            None => (typed, None),
        };
        let Some((from, to)) = ends(span) else {
            let values: Vec<f64> = typed.split(',').map(number).collect::<Result<_, _>>()?;
            return if values.len() > *most { Err(too_many(values.len())) } else { Ok(values) };
        };
        let (from, to) = (number(from)?, number(to)?);
        let step = step.map_or(Ok(usual_step), number)?;
        if step <= 0.0 || to < from {
            return Err(format!(
                "{what} from {from} to {to} in steps of {step} does not rise; write {example}"
            ));
        }
        // The end is a breakpoint whether or not the steps meet it.
        let steps = ((to - from) / step - 1e-9).ceil().max(0.0);
        if steps + 1.0 > *most as f64 {
            return Err(too_many((steps + 1.0) as usize));
        }
        Ok((0..=steps as usize).map(|i| (from + i as f64 * step).min(to)).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(rule: &AxisRule, typed: &str) -> Vec<f64> {
        rule.read(typed).unwrap().values
    }

    // HAND.
    #[test]
    fn lists_and_ranges_are_read() {
        assert_eq!(values(&RPM, "800, 1200,2000"), [800.0, 1200.0, 2000.0]);
        assert_eq!(values(&RPM, "1000..2200 step 500"), [1000.0, 1500.0, 2000.0, 2200.0]);
        for typed in ["1000-2200 step 500", "1000 to 2200 step 500", "1000..2200"] {
            assert_eq!(values(&RPM, typed), [1000.0, 1500.0, 2000.0, 2200.0], "{typed}");
        }
        assert_eq!(values(&RPM, "3000 rpm"), [3000.0]);
        assert_eq!(values(&LOAD, "20..100 % ").len(), 9);
        assert_eq!(values(&LOAD, "0.2..0.5 step 0.1 g").len(), 4);
        assert_eq!(values(&ETHANOL, "10,30,50,85"), [10.0, 30.0, 50.0, 85.0]);
        let loads = LOAD.read("40,60 kPa").unwrap().loads();
        assert_eq!(loads, [Load::ManifoldPressurePa(40e3), Load::ManifoldPressurePa(60e3)]);
        let Load::AirPerCylinderKg(air_kg) = LOAD.read("400 mg").unwrap().loads()[0] else { panic!() };
        assert!((air_kg - 4e-4).abs() < 1e-12);
        assert_eq!(LOAD.read("50,100%").unwrap().loads()[1], Load::FullLoadFrac(1.0));
    }

    #[test]
    fn what_is_no_axis_is_told() {
        for (rule, typed, why) in [
            (&RPM, "", "a list or a range"),
            (&RPM, "800,,1200", "a list or a range"),
            (&RPM, "800,NaN", "is not given in"),
            (&RPM, "NaN,800", "a list or a range"),
            (&RPM, "1200,800", "must rise, and 800 comes after 1200"),
            (&RPM, "800,800", "must rise"),
            (&RPM, "100,800", "rpm 100 is outside 500 to 15000 rpm"),
            (&RPM, "800..7000 step 0", "does not rise"),
            (&RPM, "800..7000 step -5", "does not rise"),
            (&RPM, "7000..800", "does not rise"),
            (&RPM, "500..15000 step 1", "14501 breakpoints; at most 32"),
            (&RPM, "800..1e9", "2000000 breakpoints; at most 32"),
            (&RPM, "800..7000 step", "is not given in 'step'"),
            (&RPM, "800 step 100", "a list or a range"),
            (&RPM, "800-1200-1600", "a list or a range"),
            (&LOAD, "40,60", "has no unit"),
            (&LOAD, "40,60 lb", "is not given in 'lb'"),
            (&LOAD, "10..100 %", "load 10 is outside 20 to 100 %"),
            (&LOAD, "4..40 inHg", "load 34 is outside 2.953 to 32.483 inHg"),
            (&ETHANOL, "-10", "is outside 0 to 100 %"),
            (&ETHANOL, "0..100 step 5", "at most 12"),
        ] {
            let said = rule.read(typed).unwrap_err();
            assert!(said.contains(why), "{typed}: {said}");
        }
    }
}
