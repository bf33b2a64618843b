//! As meant: `[knock]`, what is known of knock in this engine.

use super::Scenario;
use super::job::{FuelProblem, JobError};
use crate::estimate::Job;
use crate::estimate::known::{KnownPoint, Observed, TimingSwing, learn};
use crate::estimate::learned::{HeardKnock, Learned};
use crate::fuel::FuelLibrary;
use crate::input::Section;
use crate::knock::Deposits;
use crate::units::stated::{
    AIR_TEMPERATURE, COMPRESSION_RATIO, COOLANT_TEMPERATURE, ENGINE_SPEED, LAMBDA, TIMING,
};
use crate::units::{CompressionRatio, Lambda, Unit};

/// Most known points, and most timing swings, of a scenario.
pub(super) const MOST_POINTS: usize = 40;
/// Timings of a swing.
const SWING_POINTS: std::ops::RangeInclusive<usize> = 3..=20;

/// What is known of knock in this engine.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct KnockRules {
    /// Deposits that every command allows for.
    pub deposits: Deposits,
    /// Points at which someone listened, their fuels as typed.
    pub known: Vec<KnownPoint<String>>,
    /// Torque at several timings, their fuels as typed.
    pub swings: Vec<TimingSwing<String>>,
}

/// `[knock]`; everything may be left out.
pub(super) fn knock(s: &mut Section<'_, '_>, file: &str) -> KnockRules {
    let deposits = s.word_or("deposits", &Deposits::ALL, Deposits::default()).unwrap_or_default();
    let known = s.sections("known", MOST_POINTS, |s, line| {
        let at = observed(s, &format!("{file}:{line}: knock.known"));
        let spark = s.number("timing_deg_btdc", TIMING);
        let heard = s.word("heard", &HeardKnock::ALL);
        Some(KnownPoint { at: at?, spark_deg_btdc: spark?, heard: heard? })
    });
    let swings = s.sections("swing", MOST_POINTS, |s, line| {
        let at = observed(s, &format!("{file}:{line}: knock.swing"));
        let timings = s.numbers("timing_deg_btdc", SWING_POINTS, TIMING);
        let torques = s.numbers("torque_nm", SWING_POINTS, Unit::None.of(1.0..=5000.0));
        let (timings, torques) = (timings?, torques?);
        if timings.len() != torques.len() {
            let why = format!("it has {} entries, timing_deg_btdc {}", torques.len(), timings.len());
            s.contradiction("torque_nm", &why, None);
            return None;
        }
        let mut sorted = timings.clone();
        sorted.sort_by(f64::total_cmp);
        if sorted.windows(2).any(|pair| pair[1] - pair[0] < LEAST_STEP_DEG) {
            let why = format!("two timings lie less than {LEAST_STEP_DEG} deg apart");
            s.contradiction("timing_deg_btdc", &why, None);
            return None;
        }
        Some(TimingSwing { at: at?, points: timings.into_iter().zip(torques).collect() })
    });
    KnockRules { deposits, known, swings }
}

/// Timings of a swing stand at least so far apart [deg].
const LEAST_STEP_DEG: f64 = 0.5;

/// The keys that known points and swings share.
fn observed(s: &mut Section<'_, '_>, place: &str) -> Option<Observed<String>> {
    let fuel = s.text("fuel");
    let rpm = s.number("rpm", ENGINE_SPEED);
    let lambda = s.optional_number("lambda", LAMBDA);
    let ratio = s.optional_number("compression_ratio", COMPRESSION_RATIO);
    let air_temperature_k = s.optional_si("air_temperature_c", AIR_TEMPERATURE);
    let coolant_temperature_k = s.optional_si("coolant_temperature_c", COOLANT_TEMPERATURE);
    s.optional_text("note");
    Some(Observed {
        name: place.to_owned(),
        fuel: fuel?,
        lambda: lambda.and_then(|value| Lambda::new(value).ok()),
        speed_rpm: rpm?,
        compression_ratio: ratio.and_then(|value| CompressionRatio::new(value).ok()),
        air_temperature_k,
        coolant_temperature_k,
    })
}

/// Notes that coolant is stated for an air-cooled engine.
pub(super) fn note_coolant_of_air_cooled(
    root: &mut Section<'_, '_>,
    rules: &KnockRules,
    is_air_cooled: bool,
) {
    let rows = rules.known.iter().map(|row| &row.at).chain(rules.swings.iter().map(|row| &row.at));
    if is_air_cooled && rows.into_iter().any(|at| at.coolant_temperature_k.is_some()) {
        root.contradiction("knock", "coolant_temperature_c is stated, and the engine is air-cooled", None);
    }
}

impl Observed<String> {
    fn resolved(&self, library: &FuelLibrary) -> Result<Observed, Box<FuelProblem>> {
        let fuel = library.burnable(&self.fuel).map_err(|source| {
            Box::new(FuelProblem::refused(format!("{}.fuel", self.name), &self.fuel, source, library))
        })?;
        Ok(Observed {
            name: self.name.clone(),
            fuel,
            lambda: self.lambda,
            speed_rpm: self.speed_rpm,
            compression_ratio: self.compression_ratio,
            air_temperature_k: self.air_temperature_k,
            coolant_temperature_k: self.coolant_temperature_k,
        })
    }
}

impl Scenario {
    /// What the known points of the scenario show of its engine; none without any.
    ///
    /// # Arguments
    /// - `job`: the scenario's own, with nothing learned
    ///
    /// # Errors
    /// [`JobError`] when a fuel is not known or an observation is outside the model.
    pub(super) fn learned(&self, job: &Job, library: &FuelLibrary) -> Result<Option<Learned>, JobError> {
        let mut problems = Vec::new();
        let mut resolved = |at: &Observed<String>| at.resolved(library).map_err(|p| problems.push(*p)).ok();
        let known: Vec<KnownPoint> = self
            .knock
            .known
            .iter()
            .filter_map(|row| {
                let at = resolved(&row.at)?;
                Some(KnownPoint { at, spark_deg_btdc: row.spark_deg_btdc, heard: row.heard })
            })
            .collect();
        let swings: Vec<TimingSwing> = self
            .knock
            .swings
            .iter()
            .filter_map(|row| Some(TimingSwing { at: resolved(&row.at)?, points: row.points.clone() }))
            .collect();
        if !problems.is_empty() {
            return Err(JobError::Fuels(problems));
        }
        learn(job, &known, &swings).map_err(JobError::Known)
    }
}
