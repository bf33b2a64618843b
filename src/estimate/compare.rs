//! Builds side by side on the same fuels: the same samples through each, so that what they share cancels in the difference.

use super::band::{Band, band};
use super::build_difference::{BuildDifference, differences, own_inputs};
use super::error::EstimateError;
use super::job::Job;
use super::known::DYNO_REPEATS;
use super::notice::Notice;
use super::result::{Estimate, FuelEstimate};
use super::run::estimate_with;
use super::uncertainty::{Input, Sample, latin_hypercube};
use schemars::JsonSchema;
use serde::Serialize;

/// Most builds side by side.
pub const MOST_BUILDS: usize = 4;
/// Octane numbers below which a difference of knock margin is not worth a word [-]: half a number (common practice,
/// no source).
const LEAST_OCTANE: f64 = 0.5;
/// Added to the seed of what is drawn for one build alone.
const OWN_SEED: u64 = 0x5eed;

/// A build that enters a comparison.
#[derive(Clone, Debug)]
pub struct Entrant {
    /// What it is called beside the others.
    pub name: String,
    /// Its estimate; fuels, weather, samples and seed are those of the first whatever it says.
    pub job: Job,
    /// Whether its own weather was another and that of the first took its place.
    pub is_weather_replaced: bool,
}

/// Whether a difference is known to be one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Finding {
    /// More than the first build in 9 cases of 10.
    More,
    /// Less than the first build in 9 cases of 10.
    Less,
    /// Zero lies within the band.
    TooCloseToCall,
    /// The whole band is smaller than what can be measured.
    NotMeasurable,
}

/// A difference from the first build, taken case by case.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct Difference {
    /// This build less the first, in the unit of the figure.
    pub band: Band,
    /// Share of cases in which this build has more [-].
    pub more_frac: f64,
    /// Whether it is a difference.
    pub finding: Finding,
}

impl Difference {
    /// Takes a difference sample by sample.
    ///
    /// # Arguments
    /// - `first`, `this`: one figure of each sample, in the same order
    /// - `least`: what is too small to be measured, in their unit
    fn new(first: &[f64], this: &[f64], least: f64) -> Self {
        let steps: Vec<f64> = first.iter().zip(this).map(|(first, this)| this - first).collect();
        let more = steps.iter().filter(|step| **step > 0.0).count();
        let band = band(steps.iter().copied());
        let finding = match band {
            Band { low, high, .. } if low.abs().max(high.abs()) <= least => Finding::NotMeasurable,
            Band { low, .. } if low > 0.0 => Finding::More,
            Band { high, .. } if high < 0.0 => Finding::Less,
            _ => Finding::TooCloseToCall,
        };
        Self { band, more_frac: more as f64 / steps.len().max(1) as f64, finding }
    }
}

/// One build of a comparison.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ComparedBuild {
    /// What it is called beside the others.
    pub name: String,
    /// Name of its scenario.
    pub scenario: String,
    /// Note of its scenario (says when the build is invented).
    pub note: String,
    /// Geometric compression ratio [-].
    pub compression_ratio: f64,
    /// Displacement [m3].
    pub displacement_m3: f64,
    /// In what it differs from the first build.
    pub differences: Vec<BuildDifference>,
    /// Uncertain inputs in which it has nothing in common with the first build.
    #[schemars(with = "Vec<String>")]
    #[serde(serialize_with = "titles")]
    pub own_inputs: Vec<Input>,
    /// Whether its cases are those of the first build in all other inputs; known knock points leave each build cases of its own.
    pub shares_cases: bool,
    /// Whether its own weather was another.
    pub is_weather_replaced: bool,
    /// What the builder should know of its estimate.
    pub notices: Vec<Notice>,
}

fn titles<S: serde::Serializer>(inputs: &[Input], serializer: S) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(inputs.iter().map(|input| input.title()))
}

/// Wheel power of one build at one speed.
#[derive(Clone, Copy, Debug, Serialize, JsonSchema)]
pub struct ComparedPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Power at the wheels at the limit [kW].
    pub wheel_power_kw: Band,
    /// Difference from the first build; absent (null) for that one and where it does not run this speed.
    pub power_difference_kw: Option<Difference>,
}

/// One build on one fuel. Differences are absent (null) for the first build.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct BuildOnFuel {
    /// Name of the build.
    pub build: String,
    /// Peak power at the wheels, every case tuned to its own limit [kW].
    pub wheel_power_kw: Band,
    /// Its speed in the likely curve [rpm].
    pub power_speed_rpm: f64,
    /// Difference of that power [kW].
    pub power_difference_kw: Option<Difference>,
    /// Peak torque at the wheels referred to crank speed [N m].
    pub wheel_torque_nm: Band,
    /// Its speed in the likely curve [rpm].
    pub torque_speed_rpm: f64,
    /// Difference of that torque [N m].
    pub torque_difference_nm: Option<Difference>,
    /// Speed with the least knock margin at MBT timing [rpm].
    pub worst_speed_rpm: f64,
    /// Knock margin there at MBT timing [-], octane numbers.
    pub mbt_margin_octane: Band,
    /// Difference of that margin, each build at its own worst speed [-].
    pub margin_difference_octane: Option<Difference>,
    /// Timing to start from there [deg before top dead centre]; absent (null) where no timing is knock-free in 9 cases of 10.
    pub start_spark_deg_btdc: Option<f64>,
    /// Likely limit there [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// Whether knock sets that limit, not MBT.
    pub knock_limited: bool,
    /// Wheel power over speed.
    pub curve: Vec<ComparedPoint>,
}

/// All builds on one fuel.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct ComparedFuel {
    /// Name by which the fuel was asked for.
    pub name: String,
    /// The builds, in the order asked.
    pub builds: Vec<BuildOnFuel>,
}

/// Builds side by side.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Comparison {
    /// The builds, in the order asked; all are held against the first.
    pub builds: Vec<ComparedBuild>,
    /// The fuels, in the order asked.
    pub fuels: Vec<ComparedFuel>,
    /// Name of the fuel with the least knock margin in the first build.
    pub limiting_fuel: String,
    /// Whether the fuels are those of the first build's scenario.
    pub has_fuels_of_first: bool,
    /// Ambient temperature [K].
    pub air_temperature_k: f64,
    /// Ambient pressure [Pa].
    pub air_pressure_pa: f64,
    /// Relative humidity [-].
    pub relative_humidity: f64,
    /// Number of samples.
    pub samples: usize,
    /// Seed of the samples.
    pub seed: u64,
    /// True when some build is over a limit stated in its scenario.
    pub limit_missed: bool,
}

/// Estimates builds on the fuels and in the weather of the first, and holds each against the first.
///
/// # Arguments
/// - `entrants`: two to [`MOST_BUILDS`] builds
/// - `has_fuels_of_first`: whether the fuels are those of the first build's scenario
///
/// # Errors
/// [`EstimateError::Of`] a build with what [`estimate`](super::estimate) says, and [`EstimateError::Builds`] for another number
/// of builds.
pub fn compare(entrants: &[Entrant], has_fuels_of_first: bool) -> Result<Comparison, EstimateError> {
    let [first, ..] = entrants else { return Err(EstimateError::Builds { found: 0 }) };
    if !(2..=MOST_BUILDS).contains(&entrants.len()) {
        return Err(EstimateError::Builds { found: entrants.len() });
    }
    let drawn_first = first.job.draw();
    let mut builds = Vec::new();
    let mut estimates: Vec<Estimate> = Vec::new();
    for entrant in entrants {
        let mut job = entrant.job.clone();
        (job.fuels, job.weather) = (first.job.fuels.clone(), first.job.weather);
        (job.samples, job.seed) = (first.job.samples, first.job.seed);
        let drawn = job.draw();
        let shares_cases = drawn == drawn_first;
        // Cases of its own have nothing in common as they are, and hold what its known points have shown.
        let own = if shares_cases { own_inputs(&first.job, &job) } else { Vec::new() };
        let estimate = estimate_with(&job, &drawn_apart(&drawn, &own, job.seed))
            .map_err(EstimateError::of(&entrant.name))?;
        builds.push(ComparedBuild {
            name: entrant.name.clone(),
            scenario: job.scenario.clone(),
            note: job.note.clone(),
            compression_ratio: estimate.compression_ratio,
            displacement_m3: estimate.displacement_m3,
            differences: differences(&first.job, &job),
            own_inputs: own,
            shares_cases,
            is_weather_replaced: entrant.is_weather_replaced,
            notices: estimate.notices.clone(),
        });
        estimates.push(estimate);
    }
    let held = &estimates[0];
    Ok(Comparison {
        fuels: (0..held.fuels.len()).map(|i| on_fuel(&builds, &estimates, i)).collect(),
        limiting_fuel: held.limiting().map(|fuel| fuel.name.clone()).unwrap_or_default(),
        has_fuels_of_first,
        air_temperature_k: held.air_temperature_k,
        air_pressure_pa: held.air_pressure_pa,
        relative_humidity: held.relative_humidity,
        samples: held.samples,
        seed: held.seed,
        limit_missed: estimates.iter().any(|estimate| estimate.limit_missed),
        builds,
    })
}

/// Samples with some inputs drawn anew.
fn drawn_apart(samples: &[Sample], own: &[Input], seed: u64) -> Vec<Sample> {
    let apart = latin_hypercube(samples.len(), seed.wrapping_add(OWN_SEED));
    let anew = |(sample, other): (&Sample, &Sample)| {
        own.iter().fold(*sample, |sample, input| sample.with_deviate(*input, other.deviate(*input)))
    };
    samples.iter().zip(&apart).map(anew).collect()
}

fn on_fuel(builds: &[ComparedBuild], estimates: &[Estimate], index: usize) -> ComparedFuel {
    let first = &estimates[0].fuels[index];
    let of = |(i, (build, estimate)): (usize, (&ComparedBuild, &Estimate))| {
        build_on_fuel(&build.name, &estimate.fuels[index], (i > 0).then_some(first))
    };
    ComparedFuel {
        name: first.name.clone(),
        builds: builds.iter().zip(estimates).enumerate().map(of).collect(),
    }
}

/// # Arguments
/// - `first`: the first build on this fuel, for every other one
fn build_on_fuel(build: &str, fuel: &FuelEstimate, first: Option<&FuelEstimate>) -> BuildOnFuel {
    let of = |figure: fn(&FuelEstimate) -> &[f64], least: f64| {
        first.map(|first| Difference::new(figure(first), figure(fuel), least))
    };
    let least = |likely: f64| DYNO_REPEATS * likely.abs();
    let worst = fuel.tightest();
    BuildOnFuel {
        build: build.to_owned(),
        wheel_power_kw: fuel.peak_power.wheel,
        power_speed_rpm: fuel.peak_power.speed_rpm,
        power_difference_kw: of(|f| &f.sample_peak_wheel_kw, least(fuel.peak_power.wheel.likely)),
        wheel_torque_nm: fuel.peak_torque.wheel,
        torque_speed_rpm: fuel.peak_torque.speed_rpm,
        torque_difference_nm: of(|f| &f.samples.peak_wheel_torque_nm, least(fuel.peak_torque.wheel.likely)),
        worst_speed_rpm: worst.speed_rpm,
        mbt_margin_octane: band(fuel.samples.worst_mbt_margin.iter().copied()),
        margin_difference_octane: of(|f| &f.samples.worst_mbt_margin, LEAST_OCTANE),
        start_spark_deg_btdc: worst.cautious_spark_deg_btdc,
        spark_deg_btdc: worst.spark_deg_btdc,
        knock_limited: worst.knock_limited,
        curve: curve(fuel, first),
    }
}

fn curve(fuel: &FuelEstimate, first: Option<&FuelEstimate>) -> Vec<ComparedPoint> {
    let powers = |fuel: &FuelEstimate, speed_rpm: f64| {
        let place = fuel.curve.iter().position(|point| point.speed_rpm == speed_rpm)?;
        fuel.samples.wheel_power_kw.get(place).cloned()
    };
    let point = |point: &super::CurvePoint| ComparedPoint {
        speed_rpm: point.speed_rpm,
        wheel_power_kw: point.wheel_power_kw,
        power_difference_kw: first.and_then(|first| {
            let (first, this) = (powers(first, point.speed_rpm)?, powers(fuel, point.speed_rpm)?);
            Some(Difference::new(&first, &this, DYNO_REPEATS * point.wheel_power_kw.likely.abs()))
        }),
    };
    fuel.curve.iter().map(point).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Layout;
    use crate::estimate::learned::Learned;
    use crate::fuel::FuelLibrary;
    use crate::scenario::{self, DEMO};
    use crate::units::CompressionRatio;
    use std::sync::Arc;

    /// The example on its first fuel at two speeds.
    fn job() -> Job {
        let mut job =
            scenario::read("demo", DEMO).unwrap().job(&FuelLibrary::shipped().unwrap(), 50, 1).unwrap();
        job.fuels.truncate(1);
        job.speeds_rpm = vec![3000.0, 7000.0];
        job
    }

    fn against(first: &Job, other: Job) -> Comparison {
        let entrant =
            |job: &Job| Entrant { name: "x".to_owned(), job: job.clone(), is_weather_replaced: false };
        compare(&[entrant(first), entrant(&other)], true).unwrap()
    }

    fn width(band: Band) -> f64 {
        band.high - band.low
    }

    /// HAND: steps of 2, 2, -1 and 3 are more in 3 cases of 4.
    #[test]
    fn a_difference_is_taken_case_by_case() {
        let first = [10.0, 20.0, 30.0, 40.0];
        let d = Difference::new(&first, &[12.0, 22.0, 29.0, 43.0], 0.1);
        assert_eq!((d.more_frac, d.band.likely, d.finding), (0.75, 2.0, Finding::TooCloseToCall));
        let d = Difference::new(&first, &first.map(|value| value + 2.0), 0.1);
        assert_eq!((d.band, d.finding), (Band { low: 2.0, likely: 2.0, high: 2.0 }, Finding::More));
        let d = Difference::new(&first, &first.map(|value| value - 2.0), 0.1);
        assert_eq!((d.more_frac, d.finding), (0.0, Finding::Less));
        let d = Difference::new(&first, &first.map(|value| value + 0.05), 0.1);
        assert_eq!((d.more_frac, d.finding), (1.0, Finding::NotMeasurable));
    }

    #[test]
    fn a_build_against_itself_differs_by_exactly_nothing() {
        let found = against(&job(), job());
        assert_eq!(found.builds[1].differences, []);
        assert_eq!((found.builds[1].own_inputs.len(), found.builds[1].shares_cases), (0, true));
        let on = &found.fuels[0].builds[1];
        let over_rpm = on.curve.iter().map(|point| point.power_difference_kw);
        let all = [on.power_difference_kw, on.torque_difference_nm, on.margin_difference_octane];
        for difference in all.into_iter().chain(over_rpm) {
            let d = difference.unwrap();
            assert_eq!((d.band, d.more_frac, d.finding), (Band::default(), 0.0, Finding::NotMeasurable));
        }
        assert!(found.fuels[0].builds[0].power_difference_kw.is_none());
    }

    #[test]
    fn another_driveline_is_known_better_than_either_build() {
        let first = job();
        let mut other = first.clone();
        other.build.driveline.layout = Layout::AllWheel;
        let found = against(&first, other);
        assert_eq!(found.builds[1].own_inputs, [Input::Driveline]);
        assert!(matches!(found.builds[1].differences[..], [BuildDifference::Driveline(..)]));
        let [a, b] = &found.fuels[0].builds[..] else { panic!("two builds") };
        let difference = b.power_difference_kw.unwrap();
        assert!(
            width(difference.band) < width(a.wheel_power_kw).min(width(b.wheel_power_kw)),
            "{difference:?}"
        );
        assert_eq!(difference.finding, Finding::Less);
        // The driveline is no part of knock.
        assert_eq!(b.margin_difference_octane.unwrap().band, Band::default());
    }

    #[test]
    fn more_ratio_costs_margin_and_is_known_well() {
        let first = job();
        let mut other = first.clone();
        let ratio = first.build.geometry.compression_ratio.get();
        other.build.geometry.compression_ratio = CompressionRatio::new(ratio - 1.0).unwrap();
        let found = against(&first, other);
        assert_eq!(found.builds[1].differences, [BuildDifference::Ratio(ratio, ratio - 1.0)]);
        let [a, b] = &found.fuels[0].builds[..] else { panic!("two builds") };
        let margin = b.margin_difference_octane.unwrap();
        assert_eq!((margin.finding, margin.more_frac), (Finding::More, 1.0));
        assert!(width(margin.band) < 0.5 * width(a.mbt_margin_octane), "{margin:?}");
    }

    #[test]
    fn another_engine_shares_neither_its_ve_nor_its_friction() {
        let first = job();
        let mut other = first.clone();
        other.build.geometry.cylinders = 6;
        let found = against(&first, other);
        let own = &found.builds[1].own_inputs;
        assert!(own.contains(&Input::Breathing) && own.contains(&Input::Friction), "{own:?}");
        assert!(!own.contains(&Input::KnockModel) && !own.contains(&Input::Driveline), "{own:?}");
        // Its own VE makes the difference wider than that of the same engine grown.
        let [a, b] = &found.fuels[0].builds[..] else { panic!("two builds") };
        assert!(width(b.power_difference_kw.unwrap().band) > width(a.wheel_power_kw));
    }

    #[test]
    fn known_points_leave_a_build_cases_of_its_own() {
        let first = job();
        let mut other = first.clone();
        other.build.geometry.cylinders = 6;
        other.knock.learned = Some(Arc::new(Learned {
            samples: latin_hypercube(50, 9),
            octane: 0.0,
            octane_per_ln_speed: 0.0,
            burn_speed: 1.0,
            remarks: Vec::new(),
        }));
        let single = super::super::estimate(&other).unwrap();
        let found = against(&first, other);
        let build = &found.builds[1];
        assert_eq!((build.shares_cases, build.own_inputs.len()), (false, 0));
        assert!(build.differences.contains(&BuildDifference::KnownPoints));
        // What the points have shown is in its figures.
        assert_eq!(found.fuels[0].builds[1].wheel_power_kw, single.fuels[0].peak_power.wheel);
    }

    #[test]
    fn one_build_or_five_are_refused() {
        let entrant = Entrant { name: "x".to_owned(), job: job(), is_weather_replaced: false };
        for found in [0, 1, 5] {
            let builds = vec![entrant.clone(); found];
            assert!(
                matches!(compare(&builds, true), Err(EstimateError::Builds { found: said }) if said == found)
            );
        }
    }
}
