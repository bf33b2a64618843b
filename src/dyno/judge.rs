//! Judging a log by an estimate.

use super::check::{Check, CheckName, NotChecked, Verdict};
use super::checks;
use super::evidence::{Evidence, top};
use super::knock::{KnockReading, knock_points};
use super::log::{Correction, Log};
use super::result::{Judgement, PullSummary};
use super::yardstick::Yardstick;
use crate::air::CorrectionStandard;
use crate::estimate::{EstimateError, Job};

/// How to judge.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgeSettings {
    /// Standard to which measured power is brought for comparison with other days.
    pub standard: CorrectionStandard,
    /// Whether the weather of the job was stated for this pull, rather than being the usual day of a scenario.
    pub weather_stated: bool,
    /// Whether the fuel of the job was stated for this pull, rather than being the first of a scenario.
    pub fuel_stated: bool,
}

impl Default for JudgeSettings {
    fn default() -> Self {
        Self { standard: CorrectionStandard::SaeJ1349, weather_stated: false, fuel_stated: false }
    }
}

/// A log could not be judged.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum JudgeError {
    /// The estimate failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// The job has no fuel.
    #[error("a pull is judged on one fuel, and the job has none")]
    NoFuel,
    /// Log and scenario cover different speeds.
    #[error(
        "the log covers {log_low:.0} to {log_high:.0} rpm (pulls: {pulls}), the scenario {scenario_low:.0} to {scenario_high:.0} rpm: all pulls and the scenario share {covered} speeds of the estimate, and {least} are needed"
    )]
    Overlap {
        /// Lowest speed of the log [rpm].
        log_low: f64,
        /// Highest speed of the log [rpm].
        log_high: f64,
        /// Lowest speed of the scenario [rpm].
        scenario_low: f64,
        /// Highest speed of the scenario [rpm].
        scenario_high: f64,
        /// Number of pulls.
        pulls: usize,
        /// Speeds of the estimate that all pulls reach.
        covered: usize,
        /// Speeds needed.
        least: usize,
    },
}

/// Standing cautions of every judgement.
const CAUTIONS: [&str; 4] = [
    "A check that passes is no proof: two errors can cancel, and the estimate can be wrong where the scenario is.",
    "Not a calibration: listen for knock with proper equipment and back the spark off; never cure knock with a leaner mixture.",
    "Ethanol content varies from fill to fill: measure it. Fuel vapour burns and explodes.",
    "Local emissions and road law, and the judgement of the licensed or qualified practitioner, come first.",
];

/// Judges a log by the estimate of a job on its first fuel.
///
/// # Errors
/// [`JudgeError`] when the estimate cannot be made or log and scenario share too few speeds.
pub fn judge(job: &Job, log: &Log, settings: &JudgeSettings) -> Result<Judgement, JudgeError> {
    Yardstick::new(job, settings)?.judge(log)
}

impl Yardstick {
    /// Judges a log by this estimate.
    ///
    /// # Errors
    /// [`JudgeError::Overlap`] when log and scenario share too few speeds.
    pub fn judge(&self, log: &Log) -> Result<Judgement, JudgeError> {
        let evidence = Evidence::new(self, log)?;
        let (mut made, mut not_made) = (Vec::new(), Vec::new());
        for check in checks::ALL {
            match check(&evidence) {
                Ok(check) if check.measure.value.is_finite() => made.push(check),
                Ok(check) => {
                    let why = "its number is not finite for these figures".to_owned();
                    not_made.push(NotChecked { name: check.name, why });
                }
                Err(not_checked) => not_made.push(not_checked),
            }
        }
        Ok(self.judgement(&evidence, made, not_made))
    }

    fn judgement(&self, e: &Evidence<'_>, checks: Vec<Check>, not_checked: Vec<NotChecked>) -> Judgement {
        let (job, standard) = (self.job(), self.settings().standard);
        let verdict = checks.iter().map(|check| check.verdict).max().unwrap_or(Verdict::Consistent);
        Judgement {
            summary: summary(verdict, &checks),
            verdict,
            scenario: job.scenario.clone(),
            log: e.log.label.clone(),
            fuel: self.estimate().name.clone(),
            place: e.log.place,
            place_said: e.log.place_said,
            corrected_by: match e.log.correction {
                Correction::None => None,
                Correction::By(standard) => Some(standard.title()),
            },
            corrected_said: e.log.correction_said,
            divided_by: e.divided_by,
            standard: standard.title(),
            standard_factor: e.standard_factor,
            standard_outside: standard.factor(&job.weather).outside,
            air_temperature_k: job.weather.temperature_k,
            air_pressure_pa: job.weather.pressure_pa,
            relative_humidity: job.weather.relative_humidity,
            split_by: e.log.split_by,
            pulls: pulls(e),
            curve: e.points.clone(),
            checks,
            not_checked,
            columns: e.log.columns.clone(),
            ignored_columns: e.log.ignored.clone(),
            notes: notes(e),
            cautions: CAUTIONS.to_vec(),
            knock: knock(e),
        }
    }
}

fn knock(e: &Evidence<'_>) -> Option<KnockReading> {
    let fuel_is_known = e.yardstick.settings().fuel_stated || e.yardstick.fuels_offered() == 1;
    let fuel = fuel_is_known.then(|| e.yardstick.estimate().name.clone());
    knock_points(e.log).map(|points| KnockReading { points, fuel })
}

fn summary(verdict: Verdict, checks: &[Check]) -> String {
    let titles = |wanted: Verdict| {
        let mut names: Vec<CheckName> =
            checks.iter().filter(|c| c.verdict == wanted).map(|c| c.name).collect();
        names.sort_by_key(|name| !name.is_cause());
        names.iter().map(|name| name.title()).collect::<Vec<_>>().join(", ")
    };
    let count = checks.len();
    match verdict {
        Verdict::Consistent => format!("Consistent: all {count} checks pass."),
        Verdict::Doubtful => format!("Doubtful: {} (of {count} checks).", titles(verdict)),
        Verdict::NotCredible => {
            let doubtful = titles(Verdict::Doubtful);
            let rest = if doubtful.is_empty() { String::new() } else { format!("; doubtful: {doubtful}") };
            format!("Not credible: {} (of {count} checks){rest}.", titles(verdict))
        }
    }
}

fn pulls(e: &Evidence<'_>) -> Vec<PullSummary> {
    let of = |(i, pull): (usize, &super::log::Pull)| {
        let (from_rpm, to_rpm) = pull.speed_range_rpm();
        let torque: Vec<f64> = e.points.iter().filter_map(|p| e.pull_torque_at(i, p.speed_rpm)).collect();
        let power: Vec<f64> = torque
            .iter()
            .zip(&e.points)
            .map(|(nm, p)| nm * crate::units::rpm_to_rad_per_s(p.speed_rpm) / 1e3)
            .collect();
        let highest = |values: &[f64]| values.get(top(values)).copied().unwrap_or_default();
        let lines = || pull.points.iter().map(|p| p.line);
        PullSummary {
            name: pull.name.clone(),
            rows: pull.points.len(),
            first_line: lines().min().unwrap_or_default(),
            last_line: lines().max().unwrap_or_default(),
            from_rpm,
            to_rpm,
            peak_torque_nm: highest(&torque),
            peak_power_kw: highest(&power),
        }
    };
    e.log.pulls.iter().enumerate().map(of).collect()
}

fn notes(e: &Evidence<'_>) -> Vec<String> {
    let mut notes = e.log.notes.clone();
    let fuels = e.yardstick.fuels_offered();
    if fuels > 1 {
        notes.push(format!(
            "Judged on {}, the first of the {fuels} fuels of the scenario; --fuel names another.",
            e.yardstick.estimate().name
        ));
    }
    let logged = e.log.weather();
    let day = &e.yardstick.job().weather;
    if !e.weather_is_known() {
        notes.push(match e.log.correction {
            Correction::None => {
                "Air temperature or pressure is that of the scenario, not of the pull: on another day the air, and with it the torque, was different. State it with --air-temp, --pressure and --humidity.".to_owned()
            }
            Correction::By(_) => {
                "Air temperature or pressure is that of the scenario, not of the pull. Corrected figures are brought to that day, so they can be compared; whether they were corrected rightly cannot be told.".to_owned()
            }
        });
    }
    if let Some(logged) = logged.temperature_k.filter(|logged| (logged - day.temperature_k).abs() > 1.0) {
        notes.push(format!(
            "The log holds an air temperature of {:.0} C; the pull is judged at {:.0} C.",
            crate::units::k_to_celsius(logged),
            crate::units::k_to_celsius(day.temperature_k)
        ));
    }
    let (low, high) = e.speed_range_rpm();
    let speeds = &e.yardstick.job().speeds_rpm;
    if let (Some(first), Some(last)) = (speeds.first(), speeds.last())
        && (low < first - e.yardstick.step_rpm() || high > last + e.yardstick.step_rpm())
    {
        notes.push(format!(
            "The pulls cover {low:.0} to {high:.0} rpm, the scenario {first:.0} to {last:.0} rpm; only what both cover is compared."
        ));
    }
    notes
}
