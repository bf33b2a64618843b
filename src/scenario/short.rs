//! A short scenario from what a person says first: the engine in a few words, all else as is usual.

use crate::units::split_number;
use std::fmt::Write as _;
use toml_edit::{Array, Value};

/// What is said first of an engine, as typed: a number in the unit of its key, or with a unit.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Short {
    /// Name of the build.
    pub name: Option<String>,
    /// The rest, by what it answers.
    said: Vec<(Said, String)>,
    /// Fuels to run, by name or recipe.
    pub fuels: Vec<String>,
}

/// Something that is said first of an engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Said {
    /// Number of cylinders.
    Cylinders,
    /// Cylinder bore.
    Bore,
    /// Stroke.
    Stroke,
    /// Displacement, in place of bore and stroke.
    Displacement,
    /// Geometric compression ratio.
    Ratio,
    /// Kind of build.
    Kind,
    /// Rpm of peak power.
    PeakPower,
    /// Rpm of peak torque.
    PeakTorque,
}

impl Said {
    /// All of them, in the order of the file.
    pub const ALL: [Self; 8] = [
        Self::Cylinders,
        Self::Bore,
        Self::Stroke,
        Self::Displacement,
        Self::Ratio,
        Self::Kind,
        Self::PeakPower,
        Self::PeakTorque,
    ];

    /// Section, key with its unit and key without, which is the same where the key has none.
    const fn keys(self) -> (&'static str, &'static str, &'static str) {
        match self {
            Self::Cylinders => ("engine", "cylinders", "cylinders"),
            Self::Bore => ("engine", "bore_mm", "bore"),
            Self::Stroke => ("engine", "stroke_mm", "stroke"),
            Self::Displacement => ("engine", "displacement_cc", "displacement"),
            Self::Ratio => ("engine", "compression_ratio", "compression_ratio"),
            Self::Kind => ("breathing", "kind", "kind"),
            Self::PeakPower => ("breathing", "peak_power_rpm", "peak_power"),
            Self::PeakTorque => ("breathing", "peak_torque_rpm", "peak_torque"),
        }
    }

    /// Dotted path of its key.
    pub fn path(self) -> String {
        let (section, key, _) = self.keys();
        format!("{section}.{key}")
    }

    /// What answers to the key of a problem that the reader notes; none when it is none of these.
    pub fn of_key(path: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|said| {
            let (section, key, short) = said.keys();
            path.strip_prefix(section)
                .and_then(|rest| rest.strip_prefix('.'))
                .is_some_and(|rest| rest == key || rest == short)
        })
    }
}

/// What follows the stated values in the file.
const TAIL: &str = "\
# What is not stated is taken as is usual for the kind of build and widens the range; `endgas estimate`
# lists it. Any key takes a number in its unit (bore_mm = 102.4) or text with a unit (bore = \"4.030 in\").
# `endgas new --full` shows every key.
# Worth stating next:
#[valves]
#inlet_closes_deg_abdc = 55     # all three at about 1 mm of valve lift
#exhaust_opens_deg_bbdc = 52
#overlap_deg = 25
#[driveline]
#layout = \"rear-manual\"        # or front-manual, front-automatic, rear-automatic, all-wheel
#[weather]
#air_temperature = \"25 C\"      # or \"77 F\"
#altitude = \"150 m\"            # or \"500 ft\"
#relative_humidity_percent = 40
";

impl Short {
    /// Adds what is said, as typed.
    pub fn say(&mut self, said: Said, typed: &str) {
        self.said.retain(|(old, _)| *old != said);
        self.said.push((said, typed.trim().to_owned()));
    }

    /// Takes back what was said of something.
    pub fn unsay(&mut self, said: Said) {
        self.said.retain(|(old, _)| *old != said);
    }

    /// What was said of something.
    pub fn of(&self, said: Said) -> Option<&str> {
        self.said.iter().find(|(own, _)| *own == said).map(|(_, typed)| typed.as_str())
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        self.said.is_empty()
    }

    /// The scenario as TOML, with a few comments. Whether it holds mistakes [`super::read`] finds.
    ///
    /// # Example
    /// ```
    /// use endgas::scenario::{Said, Short, read};
    /// let mut short = Short::default();
    /// short.fuels.push("premium-93".to_owned());
    /// for (said, typed) in [
    ///     (Said::Cylinders, "8"),
    ///     (Said::Displacement, "350 ci"),
    ///     (Said::Ratio, "10.5:1"),
    ///     (Said::Kind, "performance-two-valve"),
    ///     (Said::PeakPower, "5800 rpm"),
    /// ] {
    ///     short.say(said, typed);
    /// }
    /// let scenario = read("short", &short.text())?;
    /// assert!((scenario.build.geometry.displacement_m3() * 1e3 - 5.74).abs() < 0.01);
    /// assert!(!scenario.assumed.is_empty());
    /// # Ok::<(), endgas::scenario::Diagnostics>(())
    /// ```
    pub fn text(&self) -> String {
        let mut text = String::from("# Written by `endgas new`. An estimate, not a calibration.\n");
        if let Some(name) = &self.name {
            let _ = write!(text, "[scenario]\nname = {}\n\n", Value::from(name.as_str()));
        }
        for section in ["engine", "breathing"] {
            let _ = writeln!(text, "[{section}]");
            for said in Said::ALL.into_iter().filter(|said| said.keys().0 == section) {
                if let Some(typed) = self.of(said) {
                    let _ = writeln!(text, "{}", line(said, typed));
                }
            }
            text.push('\n');
        }
        text.push_str("[fuels]\n");
        if !self.fuels.is_empty() {
            let fuels: Array = self.fuels.iter().map(String::as_str).collect();
            let _ = writeln!(text, "run = {}", Value::Array(fuels));
        }
        text.push('\n');
        text + TAIL
    }
}

/// A key with what was typed: a bare number in the unit of the key, else as text.
fn line(said: Said, typed: &str) -> String {
    let (_, key, short) = said.keys();
    let is_number = said != Said::Kind && split_number(typed) == (typed, "") && typed.parse::<f64>().is_ok();
    match (is_number, typed.parse::<i64>(), typed.parse::<f64>()) {
        (true, Ok(whole), _) => format!("{key} = {whole}"),
        (true, _, Ok(number)) => format!("{key} = {number:?}"),
        _ => format!("{short} = {}", Value::from(typed)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::read;
    use approx::assert_relative_eq;

    /// HAND: 4.00 in = 101.6 mm, 3.48 in = 88.39 mm.
    #[test]
    fn a_few_words_make_a_scenario() {
        let mut short = Short {
            name: Some("My \"own\" build".to_owned()),
            fuels: vec!["premium-93".to_owned(), "e85".to_owned()],
            ..Short::default()
        };
        for (said, typed) in [
            (Said::Bore, "4.00in"),
            (Said::Stroke, "88.392"),
            (Said::Cylinders, "8"),
            (Said::Ratio, "10.5"),
            (Said::Kind, "performance-two-valve"),
            (Said::PeakPower, "5800rpm"),
        ] {
            short.say(said, typed);
        }
        let text = short.text();
        let scenario = read("short", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
        assert_relative_eq!(scenario.build.geometry.bore_m, 0.1016, epsilon = 1e-9);
        assert_eq!(scenario.name, "My \"own\" build");
        assert_eq!(scenario.fuels.len(), 2);
        assert!(scenario.speeds_rpm.contains(&5800.0), "{:?}", scenario.speeds_rpm);
        assert!(text.lines().count() <= 35 && text.lines().all(|line| line.chars().count() <= 105));
    }

    #[test]
    fn a_mistake_is_told_of_what_was_said() {
        let mut short = Short::default();
        short.say(Said::Bore, "40 in");
        short.say(Said::Kind, "performance");
        let problems = read("short", &short.text()).unwrap_err().0;
        let of: Vec<_> = problems.iter().filter_map(|problem| Said::of_key(&problem.key)).collect();
        for said in [Said::Bore, Said::Kind, Said::Cylinders, Said::Ratio, Said::PeakPower] {
            assert!(of.contains(&said), "{said:?} of {problems:#?}");
        }
        assert!(problems.iter().any(|problem| problem.key == "fuels.run"));
    }
}
