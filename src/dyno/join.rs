//! Several logs of one build as one.

use super::log::{Log, LogCorrection, LoggedWeather, Note, Place, Pull, PullPoint, SplitBy};
use super::unit::Quantity;
use std::collections::HashMap;

/// Differences of air temperature [K] and pressure [Pa] between logs taken for one day (common practice, no source:
/// 1 % of air density).
const SAME_TEMPERATURE_K: f64 = 3.0;
const SAME_PRESSURE_PA: f64 = 1000.0;

/// Logs cannot be taken together.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum JoinFault {
    /// There is no log.
    #[error("no log is given")]
    None,
    /// Taken at different places.
    #[error("{other} was taken {}, {first} {}: judge them one by one", other_place.at(), first_place.at())]
    Place {
        /// The first log.
        first: String,
        /// Where it was taken.
        first_place: Place,
        /// The other log.
        other: String,
        /// Where that was taken.
        other_place: Place,
    },
    /// Corrected differently.
    #[error(
        "{other} and {first} are not corrected alike: judge them one by one, or state the correction of both"
    )]
    Correction {
        /// The first log.
        first: String,
        /// The other log.
        other: String,
    },
    /// One pull is there twice.
    #[error(
        "pulls {first} and {other} are the same, row for row, and would count as a repeat: give each pull once"
    )]
    SamePull {
        /// Name of the first.
        first: String,
        /// Name of the other.
        other: String,
    },
    /// As measured, on days that differ.
    #[error(
        "{other} and {first} hold figures as measured on days that differ by {what}: judge them one by one, or bring both to one standard"
    )]
    Day {
        /// The first log.
        first: String,
        /// The other log.
        other: String,
        /// The difference in words.
        what: String,
    },
}

/// Takes the pulls of several logs of one build, fuel and day as one log; a single log stays as it is. Weather that only
/// some of them hold is left out, and told in the notes: it is not known for the pulls of the others.
///
/// # Errors
/// [`JoinFault`] when a pull is there twice, or place, correction or, with figures as measured, the day differ.
pub fn join(logs: Vec<Log>) -> Result<Log, JoinFault> {
    let count = logs.len();
    let mut logs = logs.into_iter();
    let mut all = logs.next().ok_or(JoinFault::None)?;
    if count == 1 {
        return once(all);
    }
    let first = Log { pulls: Vec::new(), ..all.clone() };
    let day = all.weather();
    let mut days = vec![(first.label.clone(), day)];
    all.notes = told(&all);
    all.pulls = named(1, std::mem::take(&mut all.pulls));
    all.split_by = SplitBy::File;
    for (i, log) in logs.enumerate() {
        if log.place != first.place {
            return Err(JoinFault::Place {
                first: first.label,
                first_place: first.place,
                other: log.label,
                other_place: log.place,
            });
        }
        if log.correction != first.correction {
            return Err(JoinFault::Correction { first: first.label, other: log.label });
        }
        if let (LogCorrection::None, Some(what)) = (log.correction, other_day(day, log.weather())) {
            return Err(JoinFault::Day { first: first.label, other: log.label, what });
        }
        days.push((log.label.clone(), log.weather()));
        all.label = format!("{} and {}", all.label, log.label);
        all.notes.extend(told(&log));
        for column in log.columns {
            if !all.columns.contains(&column) {
                all.columns.push(column);
            }
        }
        for heading in log.ignored {
            if !all.ignored.contains(&heading) {
                all.ignored.push(heading);
            }
        }
        all.pulls.extend(named(i + 2, log.pulls));
    }
    leave_out_partial_weather(&mut all, &days);
    once(all)
}

/// Weather of logs by name: what of it, its value of a day, its place in a row.
type OfDay = (Quantity, fn(&LoggedWeather) -> Option<f64>, fn(&mut PullPoint) -> &mut Option<f64>);

const OF_DAY: [OfDay; 3] = [
    (Quantity::AirTemperature, |day| day.temperature_k, |p| &mut p.air_temperature_k),
    (Quantity::Pressure, |day| day.pressure_pa, |p| &mut p.air_pressure_pa),
    (Quantity::Humidity, |day| day.relative_humidity, |p| &mut p.relative_humidity),
];

/// Leaves out weather that some logs hold and others do not.
fn leave_out_partial_weather(all: &mut Log, days: &[(String, LoggedWeather)]) {
    for (what, value, place) in OF_DAY {
        let (with, without): (Vec<_>, Vec<_>) = days.iter().partition(|(_, day)| value(day).is_some());
        if with.is_empty() || without.is_empty() {
            continue;
        }
        all.pulls.iter_mut().flat_map(|pull| &mut pull.points).for_each(|p| *place(p) = None);
        let names = |logs: &[&(String, LoggedWeather)]| logs.iter().map(|(label, _)| label.clone()).collect();
        all.notes.push(Note::LeftOut { what, with: names(&with), without: names(&without) });
    }
}

/// The log, when no pull of it is there twice.
fn once(log: Log) -> Result<Log, JoinFault> {
    // Both are positive, so that equal numbers have equal bits.
    let row = |p: &PullPoint| (p.speed_rpm.to_bits(), p.torque_nm.to_bits());
    let mut seen: HashMap<Vec<(u64, u64)>, &str> = HashMap::new();
    for pull in &log.pulls {
        if let Some(first) = seen.insert(pull.points.iter().map(row).collect(), &pull.name) {
            return Err(JoinFault::SamePull { first: first.to_owned(), other: pull.name.clone() });
        }
    }
    Ok(log)
}

/// Pulls with the number of their file before their name.
fn named(file: usize, pulls: Vec<Pull>) -> Vec<Pull> {
    pulls.into_iter().map(|pull| Pull { name: format!("{file}: {}", pull.name), ..pull }).collect()
}

/// Notes of a log with its name.
fn told(log: &Log) -> Vec<Note> {
    log.notes.iter().map(|note| Note::OfLog(log.label.clone(), Box::new(note.clone()))).collect()
}

/// How two days differ, where both hold a figure and it differs by more than counts.
fn other_day(a: LoggedWeather, b: LoggedWeather) -> Option<String> {
    let off = |a: Option<f64>, b: Option<f64>| a.zip(b).map(|(a, b)| (a - b).abs());
    let kelvin = off(a.temperature_k, b.temperature_k).filter(|d| *d > SAME_TEMPERATURE_K);
    let pascal = off(a.pressure_pa, b.pressure_pa).filter(|d| *d > SAME_PRESSURE_PA);
    kelvin.map(|d| format!("{d:.0} K")).or(pascal.map(|d| format!("{:.1} kPa", d / 1e3)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dyno::{Mapping, read};

    fn log(label: &str, torque: f64, air: &str) -> Log {
        let rows: String =
            [2000, 3000, 4000, 5000, 6000].map(|rpm| format!("{rpm},{torque},{air}\n")).concat();
        let text = format!("rpm,torque (Nm),air temp (C),baro (kPa)\n{rows}");
        read(label, text.as_bytes(), &Mapping::default()).unwrap()
    }

    #[test]
    fn weather_of_some_logs_is_not_that_of_all() {
        let all = join(vec![log("a.csv", 200.0, "31,98"), log("b.csv", 201.0, "31,")]).unwrap();
        let day = all.weather();
        assert!((day.temperature_k.unwrap() - 304.15).abs() < 1e-9);
        assert_eq!(day.pressure_pa, None);
        let left_out = |note: &&Note| matches!(note, Note::LeftOut { .. });
        let told: Vec<&Note> = all.notes.iter().filter(left_out).collect();
        let (with, without) = (vec!["a.csv".to_owned()], vec!["b.csv".to_owned()]);
        assert_eq!(told, [&Note::LeftOut { what: Quantity::Pressure, with, without }]);
        // A log that holds it in one row holds it.
        let both = join(vec![log("a.csv", 200.0, "31,98"), log("b.csv", 201.0, "30,98")]).unwrap();
        assert!((both.weather().pressure_pa.unwrap() - 98_000.0).abs() < 1e-6);
    }
}
