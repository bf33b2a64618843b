//! From a scenario to the job of an estimate: its fuels looked up, its weather checked.

use super::Scenario;
use super::pipes::PipesFault;
use crate::air::Weather;
use crate::engine::Breathing;
use crate::estimate::job::OwnKnock;
use crate::estimate::spark::SparkRange;
use crate::estimate::{EstimateError, FuelChoice, Job};
use crate::fuel::{FuelError, FuelLibrary};
use crate::input::counted;
use crate::units::{Lambda, OutOfRange};
use std::fmt;
use std::sync::Arc;

/// Gasoline for which the volumetric efficiency of a scenario is stated.
pub const REFERENCE_FUEL: &str = "premium-91";

/// A fuel as asked for, not yet looked up.
#[derive(Clone, Debug, PartialEq)]
pub struct FuelRequest {
    /// Where it is asked for, as messages say it: a line and key of the scenario, or an option.
    pub place: String,
    /// Name or recipe as typed.
    pub spec: String,
    /// Mixture to run; the fuel's best-power mixture where none is given.
    pub lambda: Option<Lambda>,
}

/// One fuel that cannot be used.
#[derive(Debug)]
pub struct FuelProblem {
    /// Where it was asked for: a line and key of the scenario, or an option.
    pub place: String,
    /// Name or recipe as typed.
    pub spec: String,
    /// What is wrong with it.
    pub fault: FuelFault,
}

/// What is wrong with a fuel that was asked for.
#[derive(Debug)]
#[non_exhaustive]
pub enum FuelFault {
    /// The library has no such fuel, or cannot mix it.
    Refused {
        /// What the library said.
        source: FuelError,
        /// Names of all pump fuels.
        known: Vec<String>,
    },
    /// The same fuel stands earlier in the list.
    Twice {
        /// Its name in the library.
        name: String,
    },
}

impl FuelProblem {
    /// A fuel that a library refuses.
    pub fn refused(place: String, spec: &str, source: FuelError, library: &FuelLibrary) -> Self {
        let known = library.names().into_iter().map(str::to_owned).collect();
        Self { place, spec: spec.to_owned(), fault: FuelFault::Refused { source, known } }
    }
}

impl fmt::Display for FuelProblem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} = {:?}: ", self.place, self.spec)?;
        match &self.fault {
            FuelFault::Refused { source, known } => {
                write!(f, "{source}")?;
                match source {
                    FuelError::Unknown { nearest, .. } if nearest.is_empty() => {
                        write!(f, "\n  hint: pump fuels are {}", known.join(", "))
                    }
                    _ => Ok(()),
                }
            }
            FuelFault::Twice { name } => write!(f, "fuel '{name}' is already in the list"),
        }
    }
}

/// A scenario cannot be made into a job.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum JobError {
    /// Fuels that were asked for cannot be used.
    #[error("{} with the fuels{}", counted(.0.len()), listed(.0))]
    Fuels(Vec<FuelProblem>),
    /// The library lacks the fuel for which volumetric efficiency is stated.
    #[error(transparent)]
    Reference(#[from] FuelError),
    /// The weather cannot be used.
    #[error("[weather]: {0}")]
    Weather(#[from] OutOfRange),
    /// The pipes of the build cannot be computed.
    #[error("{place}: {fault}")]
    Pipes {
        /// File, line and section.
        place: String,
        /// What is wrong.
        fault: PipesFault,
    },
    /// A known point of the engine is outside the model.
    #[error(transparent)]
    Known(EstimateError),
}

fn listed(problems: &[FuelProblem]) -> String {
    problems.iter().map(|problem| format!("\n{problem}")).collect()
}

/// Looks up every fuel; reports all that cannot be used.
///
/// # Errors
/// [`JobError::Fuels`] when a fuel is not known, cannot be made, or stands twice in the list.
pub fn choose_fuels(requests: Vec<FuelRequest>, library: &FuelLibrary) -> Result<Vec<FuelChoice>, JobError> {
    let mut choices: Vec<FuelChoice> = Vec::new();
    let mut problems = Vec::new();
    for FuelRequest { place, spec, lambda } in requests {
        match library.burnable(&spec) {
            Ok(fuel) if choices.iter().any(|earlier| earlier.fuel.name == fuel.name) => {
                problems.push(FuelProblem { place, spec, fault: FuelFault::Twice { name: fuel.name } });
            }
            Ok(fuel) => choices.push(FuelChoice { fuel, lambda }),
            Err(source) => problems.push(FuelProblem::refused(place, &spec, source, library)),
        }
    }
    if problems.is_empty() { Ok(choices) } else { Err(JobError::Fuels(problems)) }
}

impl Scenario {
    /// The fuels that the scenario asks for.
    pub fn fuel_requests(&self) -> Vec<FuelRequest> {
        let request = |fuel: &super::FuelUse| FuelRequest {
            place: format!("{}:{}: fuels.run", self.file, fuel.line),
            spec: fuel.spec.clone(),
            lambda: fuel.lambda,
        };
        self.fuels.iter().map(request).collect()
    }

    /// The mixture at which the scenario runs a fuel that may not be in its list.
    pub fn lambda_for(&self, spec: &str) -> Option<Lambda> {
        let own = self.fuels.iter().find(|fuel| fuel.spec == spec.trim());
        own.map_or(self.lambda_for_all, |fuel| fuel.lambda)
    }

    /// The estimate that the scenario asks for, on its own fuels.
    ///
    /// # Arguments
    /// - `library`: where its fuels are found
    /// - `samples`, `seed`: of the uncertain inputs, [`crate::estimate::job::LEAST_SAMPLES`] or more
    ///
    /// # Errors
    /// [`JobError`] when a fuel or the weather cannot be used.
    ///
    /// # Example
    /// ```
    /// use endgas::{fuel::FuelLibrary, scenario};
    /// let demo = scenario::read("demo", scenario::DEMO)?;
    /// let job = demo.job(&FuelLibrary::shipped()?, 100, 1)?;
    /// assert_eq!(job.fuels.len(), demo.fuels.len());
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn job(&self, library: &FuelLibrary, samples: usize, seed: u64) -> Result<Job, JobError> {
        self.job_on(choose_fuels(self.fuel_requests(), library)?, library, samples, seed)
    }

    /// The estimate that the scenario asks for, on other fuels; see [`Self::job`].
    ///
    /// # Errors
    /// [`JobError`] when the library lacks [`REFERENCE_FUEL`] or the weather cannot be used.
    pub fn job_on(
        &self,
        fuels: Vec<FuelChoice>,
        library: &FuelLibrary,
        samples: usize,
        seed: u64,
    ) -> Result<Job, JobError> {
        let day = self.weather;
        let mut job = Job {
            scenario: self.name.clone(),
            note: self.note.clone(),
            build: self.build.clone(),
            weather: Weather::new(day.temperature_k, day.pressure_pa, day.relative_humidity)?,
            fuels,
            reference_fuel: library.resolve(REFERENCE_FUEL)?.blend()?,
            speeds_rpm: self.speeds_rpm.clone(),
            reserve_octane: self.spark.reserve_octane,
            spark_range: SparkRange {
                earliest_deg_btdc: self.spark.earliest_deg_btdc,
                latest_deg_btdc: self.spark.latest_deg_btdc,
            },
            knock: OwnKnock { deposits: self.knock.deposits, ..OwnKnock::default() },
            assumed: self.assumed.clone(),
            samples,
            seed,
        };
        if let Some(computed) = self.breathed(&job)? {
            job.build.breathing = Breathing::Computed(computed);
        }
        let learned = match &self.learned {
            Some(learned) => Some(Arc::clone(learned)),
            None => self.learned(&job, library)?.map(Arc::new),
        };
        if let Some(learned) = &learned {
            job.build.combustion.burn_speed *= learned.burn_speed;
        }
        job.knock.learned = learned;
        Ok(job)
    }
}
