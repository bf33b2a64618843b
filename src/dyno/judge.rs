//! Judging a log by an estimate.

use super::causes::{Cause, RankedCause};
use super::check::{Check, NotChecked, SubjectVerdict, Verdict};
use super::checks;
use super::error::JudgeError;
use super::evidence::{Evidence, top};
use super::knock::{KnockReading, knock_points};
use super::log::{Log, LogCorrection, Note, Pull};
use super::result::{Judgement, PullSummary};
use super::yardstick::{JudgeSettings, Yardstick};
use crate::estimate::Job;
use crate::units::rpm_to_rad_per_s;

/// Judges a log by the estimate of a job on its first fuel.
///
/// # Errors
/// [`JudgeError`] when the estimate cannot be made or log and scenario share too few speeds.
///
/// # Example
/// ```
/// use endgas::dyno::{JudgeSettings, Mapping, Verdict, judge, read};
/// use endgas::{fuel::FuelLibrary, scenario};
/// let job = scenario::read("demo", scenario::DEMO)?.job(&FuelLibrary::shipped()?, 50, 1)?;
/// // A curve of half of what such an engine makes.
/// let text = "# at: wheel\nrpm,torque (N m)\n3500,105\n4500,110\n5500,112\n6500,108\n7500,98\n";
/// let log = read("pull.csv", text.as_bytes(), &Mapping::default())?;
/// assert_eq!(judge(&job, &log, &JudgeSettings::default())?.verdict, Verdict::NotCredible);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
        for (name, check) in checks::ALL {
            match check(&evidence) {
                Ok((measure, finding)) => {
                    made.push(Check { name, verdict: measure.verdict(), measure, finding });
                }
                Err(lack) => not_made.push(NotChecked { name, lack }),
            }
        }
        Ok(self.judgement(&evidence, made, not_made))
    }

    fn judgement(&self, e: &Evidence<'_>, checks: Vec<Check>, not_checked: Vec<NotChecked>) -> Judgement {
        let (job, standard) = (self.job(), self.settings().standard);
        let (nothing_wrong_share, causes) = apart(&e.causes);
        let verdict = checks.iter().map(|check| check.verdict).max().unwrap_or(Verdict::Consistent);
        Judgement {
            verdict,
            scenario: job.scenario.clone(),
            log: e.log.label.clone(),
            fuel: self.estimate().name.clone(),
            place: e.log.place,
            place_said: e.log.place_said,
            corrected_by: match e.log.correction {
                LogCorrection::None => None,
                LogCorrection::By(standard) => Some(standard.title()),
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
            ends: e.log.ends().cloned().collect(),
            curve: e.shown.clone(),
            dips: e.bumps().to_vec(),
            findings: SubjectVerdict::all(&checks),
            powerband_factor: e.powerband,
            nothing_wrong_share,
            causes,
            checks,
            not_checked,
            columns: e.log.columns.clone(),
            ignored_columns: e.log.ignored.clone(),
            notes: notes(e),
            knock: knock(e),
        }
    }
}

/// The share of nothing being wrong, and the causes with their shares of the rest; those of next to none are left out.
fn apart(causes: &[RankedCause]) -> (f64, Vec<RankedCause>) {
    const LEAST: f64 = 0.01;
    let nothing: f64 = causes.iter().filter(|c| c.cause == Cause::NothingWrong).map(|c| c.share).sum();
    let rest = (1.0 - nothing).max(f64::MIN_POSITIVE);
    let others = causes.iter().filter(|c| c.cause != Cause::NothingWrong);
    let of_rest = others.map(|c| RankedCause { share: c.share / rest, ..*c });
    (nothing, of_rest.filter(|c| c.share >= LEAST).collect())
}

fn knock(e: &Evidence<'_>) -> Option<KnockReading> {
    let fuel_is_known = e.yardstick.settings().fuel_stated || e.yardstick.fuels_offered() == 1;
    let fuel = fuel_is_known.then(|| e.yardstick.estimate().name.clone());
    knock_points(e.log).map(|points| KnockReading { points, fuel })
}

fn pulls(e: &Evidence<'_>) -> Vec<PullSummary> {
    let of = |(i, pull): (usize, &Pull)| {
        let (from_rpm, to_rpm) = pull.speed_range_rpm();
        let torque: Vec<f64> = e.points.iter().filter_map(|p| e.pull_torque_at(i, p.speed_rpm)).collect();
        let power: Vec<f64> =
            torque.iter().zip(&e.points).map(|(nm, p)| nm * rpm_to_rad_per_s(p.speed_rpm) / 1e3).collect();
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

/// How far a powerband lies from the scenario's where it is told [-].
const ELSEWHERE: f64 = 0.04;

fn notes(e: &Evidence<'_>) -> Vec<Note> {
    let mut notes = e.log.notes.clone();
    let fuels = e.yardstick.fuels_offered();
    if fuels > 1 {
        notes.push(Note::FirstFuel { fuel: e.yardstick.estimate().name.clone(), fuels });
    }
    if !e.weather_is_known() {
        notes.push(Note::DayOfScenario { corrected: e.log.correction != LogCorrection::None });
    }
    // A wrong gear looks like a powerband elsewhere.
    let is_gear = e.causes.first().is_some_and(|first| matches!(first.cause, Cause::Gear { .. }));
    let elsewhere = |factor: &f64| !is_gear && (factor - 1.0).abs() > ELSEWHERE;
    if let Some(factor) = e.powerband.filter(elsewhere) {
        notes.push(Note::Powerband { factor });
    }
    let day_k = e.yardstick.job().weather.temperature_k;
    if let Some(logged_k) = e.log.weather().temperature_k.filter(|k| (k - day_k).abs() > 1.0) {
        notes.push(Note::OtherAir { logged_k, day_k });
    }
    let (pulls_rpm, scenario_rpm) = (e.speed_range_rpm(), e.yardstick.speed_range_rpm());
    let step = e.yardstick.step_rpm();
    if pulls_rpm.0 < scenario_rpm.0 - step || pulls_rpm.1 > scenario_rpm.1 + step {
        notes.push(Note::OtherSpeeds { pulls_rpm, scenario_rpm });
    }
    notes
}
