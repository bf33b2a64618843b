//! A run of a command on a scenario, of which an input may be a part.

use super::scenario::are_told;
use super::schema::Schema;
use super::{LABEL, LIBRARY, keep_one_speed, said, shown};
use endgas::estimate::Job;
use endgas::report::{Format, Shown, Units, render};
use endgas::scenario::{Scenario, read};

/// Sections that a run needs, which are put in where an input lacks them.
const SECTIONS: [(&str, &str); 3] = [
    ("[engine]", "cylinders = 4\nbore_mm = 86.0\nstroke_mm = 86.0\n"),
    ("[breathing]", "kind = \"sport-four-valve\"\npeak_power_rpm = 7000\n"),
    ("[fuels]", "run = [\"premium-91\", \"e85\"]\n"),
];
/// Samples behind a range: the fewest that are taken.
const SAMPLES: usize = 50;
/// Most fuels that are run.
const MOST_FUELS: usize = 2;

/// What a command is given.
pub(super) struct Run {
    /// What is typed beside the file: the first line, where it is a comment.
    pub(super) typed: String,
    pub(super) scenario: Scenario,
    /// At the middle rpm, on the first fuels.
    pub(super) job: Job,
}

/// The whole text of an input.
fn whole(part: &str) -> String {
    let has = |section: &str| part.lines().any(|line| line.trim() == section);
    let mut text = part.to_owned();
    for (section, keys) in SECTIONS.into_iter().filter(|(section, _)| !has(section)) {
        text = format!("{text}\n{section}\n{keys}");
        // Measured volumes stand in place of the ratio.
        if section == "[engine]" && !has("[engine.volumes]") {
            text += "compression_ratio = 11.0\n";
        }
    }
    text
}

impl Run {
    /// The run of an input; none where it is refused. Read again it is the same.
    pub(super) fn of(bytes: &[u8]) -> Option<Self> {
        let part = std::str::from_utf8(bytes).ok()?;
        let text = whole(part);
        let mut scenario = match read(LABEL, &text) {
            Ok(scenario) => scenario,
            Err(problems) => {
                are_told(&problems, &text);
                return None;
            }
        };
        assert_eq!(Ok(&scenario), read(LABEL, &text).as_ref(), "read again it is another");
        keep_one_speed(&mut scenario.speeds_rpm);
        let mut job = taken(scenario.job(&LIBRARY, SAMPLES, 1))?;
        job.fuels.truncate(MOST_FUELS);
        let typed = part.lines().next().and_then(|line| line.strip_prefix('#')).unwrap_or_default();
        Some(Self { typed: typed.trim().to_owned(), scenario, job })
    }
}

/// What was made; nothing where it is refused in words.
pub(super) fn taken<T, E: std::fmt::Display>(made: Result<T, E>) -> Option<T> {
    made.inspect_err(|error| said(&error.to_string())).ok()
}

/// A result in its three forms: no number that is not finite, nothing that acts on the screen, JSON by its schema. Gives back the JSON.
pub(super) fn is_document<S: Shown>(result: &S, schema: &Schema) -> String {
    for units in [Units::Metric, Units::Us] {
        for format in [Format::Text, Format::Csv] {
            shown(&render(result, format, units).unwrap());
        }
    }
    let json = render(result, Format::Json, Units::Metric).unwrap();
    shown(&json);
    assert_eq!(schema.refusal(&serde_json::from_str(&json).unwrap()), None);
    json
}
