//! What a log says about knock: which rows knock, and the timings that are known from them.

use super::log::{KnockBy, Log, Pull, PullPoint};
use super::unit::Quantity;
use crate::estimate::learned::HeardKnock;
use schemars::JsonSchema;
use serde::Serialize;

/// Rows this near in rpm are taken as one place [rpm].
const NEAR_RPM: f64 = 100.0;
/// Rpm, spread over the pulls, at which timing is read.
const SPREAD: usize = 5;

/// Whether knock was counted: a count cannot tell a trace, which a person hears ([`known::Heard`]).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Heard {
    /// None was counted.
    None,
    /// Knock was counted.
    Knock,
}

impl Heard {
    /// The word for it, as a scenario has it.
    pub fn word(self) -> &'static str {
        match self {
            Self::None => HeardKnock::None.key(),
            Self::Knock => HeardKnock::Knock.key(),
        }
    }
}

/// A row of a log of which it is known whether it knocks.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct KnockPoint {
    /// Engine speed [rpm].
    pub rpm: f64,
    /// Ignition timing [deg before top dead centre].
    pub timing_deg_btdc: f64,
    /// Whether knock was counted.
    pub heard: Heard,
    /// Logged air-fuel equivalence ratio [-].
    pub lambda: Option<f64>,
    /// Logged air temperature [K].
    pub air_temperature_k: Option<f64>,
    /// Name of the pull.
    pub pull: String,
    /// Line of its file.
    pub line: u64,
}

impl KnockPoint {
    /// A row of a pull that knocks or not; none without timing. Where timing was pulled for the knock, what knocked is the
    /// timing of the row before.
    fn of(pull: &Pull, index: usize, knocks: bool) -> Option<Self> {
        let row = pull.points.get(index)?;
        let mut point = Self {
            rpm: row.speed_rpm,
            timing_deg_btdc: row.timing_deg_btdc?,
            heard: if knocks { Heard::Knock } else { Heard::None },
            lambda: row.lambda,
            air_temperature_k: row.air_temperature_k,
            pull: pull.name.clone(),
            line: row.line,
        };
        if knocks && pull.knock_by == KnockBy::Retard {
            let before = index.checked_sub(1).and_then(|i| pull.points.get(i));
            let timing = before.filter(|p| point.is_near(p.speed_rpm)).and_then(|p| p.timing_deg_btdc);
            point.timing_deg_btdc = point.timing_deg_btdc.max(timing.unwrap_or(f64::NEG_INFINITY));
        }
        Some(point)
    }

    fn knocks(&self) -> bool {
        self.heard == Heard::Knock
    }

    fn is_near(&self, speed_rpm: f64) -> bool {
        (self.rpm - speed_rpm).abs() <= NEAR_RPM
    }
}

/// What a log with a column of timing and one of knock says about knock.
#[derive(Clone, Debug, PartialEq)]
pub struct KnockReading {
    /// The points, by rising rpm.
    pub points: Vec<KnockPoint>,
    /// Fuel that was in the tank; none when nobody said and the scenario has several.
    pub fuel: Option<String>,
}

/// Settles what the numbers of the knock column are.
///
/// # Arguments
/// - `unit`: of the column; degrees make it a retard
///
/// # Returns
/// What was settled; none when nothing knocks, so that it makes no difference.
pub(super) fn settle_knock(pulls: &mut [Pull], unit: &str) -> Option<KnockBy> {
    let falls = |pull: &Pull| {
        let numbers: Vec<f64> = pull.points.iter().filter_map(|p| p.knock).collect();
        numbers.windows(2).any(|pair| pair[1] < pair[0])
    };
    let has_knock = pulls.iter().flat_map(|pull| &pull.points).any(|p| p.knock.is_some_and(|k| k > 0.0));
    let by = if unit == "deg" {
        KnockBy::Retard
    } else if pulls.iter().any(falls) {
        KnockBy::Count
    } else {
        KnockBy::RunningCount
    };
    pulls.iter_mut().for_each(|pull| pull.knock_by = by);
    has_knock.then_some(by)
}

/// Whether each row of a pull knocks; none where its knock column does not say.
pub(super) fn knocking(pull: &Pull) -> Vec<Option<bool>> {
    let mut last = None;
    let of = |point: &PullPoint| {
        let number = point.knock?;
        let before: Option<f64> = last.replace(number);
        match pull.knock_by {
            KnockBy::Count => Some(number > 0.0),
            // What a running count held before its first row is not known.
            KnockBy::RunningCount => match before {
                Some(before) => Some(number > before),
                None => (number == 0.0).then_some(false),
            },
            KnockBy::Retard if number > before.unwrap_or(0.0) => Some(true),
            KnockBy::Retard => (number == 0.0).then_some(false),
        }
    };
    pull.points.iter().map(of).collect()
}

/// The rows of a pull that say something, and those among them at which knock sets in.
fn rows(pull: &Pull) -> (Vec<KnockPoint>, Vec<KnockPoint>) {
    let (mut rows, mut onsets): (Vec<KnockPoint>, Vec<KnockPoint>) = (Vec::new(), Vec::new());
    let mut is_told = false;
    for (i, knocks) in knocking(pull).into_iter().enumerate() {
        is_told &= knocks == Some(true);
        let Some(row) = knocks.and_then(|knocks| KnockPoint::of(pull, i, knocks)) else { continue };
        rows.push(row.clone());
        if !row.knocks() || is_told {
            continue;
        }
        is_told = true;
        match onsets.last_mut() {
            // Of knocks at one place the least advanced says most.
            Some(near) if near.is_near(row.rpm) => {
                if row.timing_deg_btdc < near.timing_deg_btdc {
                    *near = row;
                }
            }
            _ => onsets.push(row),
        }
    }
    (rows, onsets)
}

/// What a log says about knock; none without a column of timing and one of knock.
///
/// Quiet points: at up to five rpm the most advanced timing without knock near it, less advanced than any that knocks there.
/// Knocks: a point at each onset, and one at each of the five rpm that lies in a stretch of knock.
pub(super) fn knock_points(log: &Log) -> Option<Vec<KnockPoint>> {
    let has = |quantity| log.columns.iter().any(|column| column.quantity == quantity);
    if !(has(Quantity::Timing) && has(Quantity::Knock)) {
        return None;
    }
    let (all, onsets): (Vec<_>, Vec<_>) = log.pulls.iter().map(rows).unzip();
    let (all, mut found) = (all.concat(), onsets.concat());
    for speed_rpm in spread(&all) {
        let near = || all.iter().filter(|row| row.is_near(speed_rpm));
        let knocks = near().filter(|row| row.knocks()).min_by(|a, b| less_advanced(a, b));
        let quiet = near()
            .filter(|row| !row.knocks())
            .filter(|row| knocks.is_none_or(|least| row.timing_deg_btdc < least.timing_deg_btdc))
            .max_by(|a, b| less_advanced(a, b).then(nearer(a, b, speed_rpm)));
        let is_told = found.iter().any(|row| row.knocks() && row.is_near(speed_rpm));
        for row in knocks.filter(|_| !is_told).into_iter().chain(quiet) {
            if !found.iter().any(|other| (&other.pull, other.line) == (&row.pull, row.line)) {
                found.push(row.clone());
            }
        }
    }
    found.sort_by(|a, b| a.rpm.total_cmp(&b.rpm));
    Some(found)
}

fn less_advanced(a: &KnockPoint, b: &KnockPoint) -> std::cmp::Ordering {
    a.timing_deg_btdc.total_cmp(&b.timing_deg_btdc)
}

/// Which of two rows is nearer to an rpm, the nearer as the greater.
fn nearer(a: &KnockPoint, b: &KnockPoint, speed_rpm: f64) -> std::cmp::Ordering {
    let off = |row: &KnockPoint| (row.rpm - speed_rpm).abs();
    off(b).total_cmp(&off(a))
}

/// Rpm spread evenly from the lowest to the highest of some rows, each moved to the nearest row [rpm].
fn spread(rows: &[KnockPoint]) -> Vec<f64> {
    let speeds = || rows.iter().map(|row| row.rpm);
    let (low, high) = (speeds().fold(f64::INFINITY, f64::min), speeds().fold(0.0, f64::max));
    let even = (0..SPREAD).map(|i| low + (high - low) * i as f64 / (SPREAD - 1) as f64);
    let nearest = |at: f64| speeds().min_by(|a, b| (a - at).abs().total_cmp(&(b - at).abs()));
    let mut found: Vec<f64> = even.filter_map(nearest).collect();
    found.dedup();
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dyno::{Mapping, Note, read};

    /// A log with a row every 50 rpm from 2000 to 6000 rpm.
    ///
    /// # Arguments
    /// - `headings`: of timing and knock
    /// - `cells`: the two at an rpm, by pull
    fn log(headings: &str, cells: &[&dyn Fn(f64) -> (f64, f64)]) -> Log {
        let mut text = format!("run,rpm,torque (Nm),{headings}\n");
        for (run, cells) in cells.iter().enumerate() {
            for i in 0..=80 {
                let rpm = 2000.0 + 50.0 * f64::from(i);
                let (timing, knock) = cells(rpm);
                text += &format!("{},{rpm},{},{timing},{knock}\n", run + 1, 150.0 + f64::from(i % 7));
            }
        }
        read("pull.csv", text.as_bytes(), &Mapping::default()).unwrap_or_else(|e| panic!("{e}"))
    }

    fn points(log: &Log) -> Vec<(f64, f64, Heard)> {
        knock_points(log).unwrap().iter().map(|p| (p.rpm, p.timing_deg_btdc, p.heard)).collect()
    }

    const COUNT: &str = "timing advance (deg),knock count";

    /// HAND: five rpm over 2000 to 6000 rpm; timing rises 1 deg in 200 rpm, so the most advanced near an rpm is 0.5 deg
    /// more than there.
    #[test]
    fn a_quiet_log_gives_its_most_advanced_timing_at_five_speeds() {
        let rising = |rpm: f64| (rpm / 200.0, 0.0);
        let quiet = |rpm, timing| (rpm, timing, Heard::None);
        let wanted = [(2100.0, 10.5), (3100.0, 15.5), (4100.0, 20.5), (5100.0, 25.5), (6000.0, 30.0)]
            .map(|(n, t)| quiet(n, t));
        assert_eq!(points(&log(COUNT, &[&rising])), wanted);
        // Of two quiet pulls the more advanced counts.
        let less = |rpm: f64| (rpm / 200.0 - 2.0, 0.0);
        assert_eq!(points(&log(COUNT, &[&less, &rising])), wanted);
    }

    /// One knock at 3400 rpm with 27 deg: a count of the row falls again, a running count stays, retard fades.
    #[test]
    fn one_knock_is_one_point_however_it_is_logged() {
        let knock = (3400.0, 27.0, Heard::Knock);
        let knocks = |log: &Log| -> Vec<(f64, f64, Heard)> {
            points(log).into_iter().filter(|p| p.2 == Heard::Knock).collect()
        };
        let by_row = log(COUNT, &[&|rpm| (27.0, if rpm == 3400.0 { 3.0 } else { 0.0 })]);
        assert_eq!((by_row.pulls[0].knock_by, knocks(&by_row)), (KnockBy::Count, vec![knock]));
        let running = log(COUNT, &[&|rpm| (27.0, if rpm >= 3400.0 { 3.0 } else { 1.0 })]);
        assert_eq!((running.pulls[0].knock_by, knocks(&running)), (KnockBy::RunningCount, vec![knock]));
        assert!(running.notes.contains(&Note::Knock(KnockBy::RunningCount)), "{:?}", running.notes);
        // Timing is pulled in the row that shows it: what knocked is the timing of the row before.
        let pulled = |rpm: f64| if rpm < 3400.0 { 0.0 } else { (6.0 - (rpm - 3400.0) / 100.0).max(0.0) };
        let retard = log("spark advance (deg),knock retard", &[&|rpm| (27.0 - pulled(rpm), pulled(rpm))]);
        let before = (3400.0, 27.0, Heard::Knock);
        assert_eq!((retard.pulls[0].knock_by, knocks(&retard)), (KnockBy::Retard, vec![before]));
        // While retard fades, a row is neither quiet nor a knock.
        assert!(points(&retard).iter().all(|p| p.2 == Heard::Knock || !(3400.0..4000.0).contains(&p.0)));
    }

    /// Knock over a stretch: its onset, and the one of the five rpm that lies in it; no timing is quiet where it knocks.
    #[test]
    fn a_stretch_of_knock_is_told_where_it_begins_and_at_the_speeds_inside() {
        let hard = |rpm: f64| (30.0, if (3600.0..4400.0).contains(&rpm) { 1.0 } else { 0.0 });
        let found = points(&log(COUNT, &[&hard]));
        let knocks: Vec<f64> = found.iter().filter(|p| p.2 == Heard::Knock).map(|p| p.0).collect();
        assert_eq!(knocks.len(), 2, "{found:?}");
        assert!(knocks[0] == 3600.0 && (3900.0..=4100.0).contains(&knocks[1]), "{found:?}");
        assert!(found.iter().all(|p| p.2 == Heard::Knock || !(3600.0..4400.0).contains(&p.0)), "{found:?}");
        // A second pull with 4 deg less is quiet there.
        let found = points(&log(COUNT, &[&hard, &|_| (26.0, 0.0)]));
        assert!(found.iter().any(|p| p.1 == 26.0 && p.2 == Heard::None && (p.0 - 4000.0).abs() <= 100.0));
    }

    #[test]
    fn knock_takes_both_columns_and_rows_that_hold_both() {
        let text = |headings: &str, cells: &str| {
            let rows: String = (2..8).map(|i| format!("{}000,100,{cells}\n", i)).collect();
            read("x", format!("rpm,torque (Nm),{headings}\n{rows}").as_bytes(), &Mapping::default()).unwrap()
        };
        assert_eq!(knock_points(&text("timing,lambda", "20,0.9")), None);
        assert_eq!(knock_points(&text("lambda,knock count", "0.9,0")), None);
        assert_eq!(knock_points(&text("timing,knock count", ",0")), Some(Vec::new()));
        assert_eq!(knock_points(&text("timing,knock count", "20,")), Some(Vec::new()));
        // Rows far apart: still up to five.
        assert_eq!(knock_points(&text("timing,knock count", "20,0")).unwrap().len(), 5);
    }
}
