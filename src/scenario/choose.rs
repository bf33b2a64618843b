//! `[choose]`: what `endgas choose` weighs and what the engine must stand.

use super::checked::weather;
use super::job::{FuelProblem, JobError};
use super::{FuelUse, Scenario, WeatherInput};
use crate::air::Weather;
use crate::choose::job::{LEAST_SPAN, USUAL_MEASURABLE};
use crate::choose::{
    BlendRange, ChoiceLimits, ChooseJob, Ignition, LateLimits, Objective, Service, Weighting,
};
use crate::estimate::Job;
use crate::fuel::{FuelLibrary, PumpFuel};
use crate::input::{ProblemKind, Section, nearest};
use crate::knock::Deposits;
use crate::units::stated::{COMPRESSION_RATIO, ENGINE_SPEED, OCTANE_MARGIN, SHARE_PERCENT};
use crate::units::{Allowed, CompressionRatio, Unit};
use std::ops::RangeInclusive;

/// Ratios considered when none are stated: from air-cooled engines on regular to what pent roofs and alcohol are built with
/// (common practice, no source).
const USUAL_RATIOS: (CompressionRatio, CompressionRatio) =
    (CompressionRatio::written(7.0), CompressionRatio::written(15.0));
/// Weights and likelihoods that can be stated.
pub const WEIGHT: Allowed = Unit::None.of(0.0..=1000.0);
/// Most pistons in a list.
pub const MOST_PISTONS: usize = 12;

/// A number for one fuel of the run.
#[derive(Clone, Debug, PartialEq)]
pub struct ForFuel {
    /// The fuel as typed in the run.
    pub spec: String,
    /// Its number.
    pub value: f64,
}

/// Blends that must be stood, as stated.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BlendRules {
    /// Fuel whose base is blended, with its line; the fuel of the run with the least octane index when not stated.
    pub base: Option<(String, usize)>,
    /// Lowest ethanol content by volume [-]; the lowest of the fuels run when not stated.
    pub low_vol_frac: Option<f64>,
    /// Highest ethanol content by volume [-]; the highest of the fuels run when not stated.
    pub high_vol_frac: Option<f64>,
}

/// What `[choose]` says, or what holds without it.
#[derive(Clone, Debug, PartialEq)]
pub struct ChooseRules {
    /// What is maximised.
    pub objective: Objective,
    /// Lowest and highest ratio considered.
    pub ratios: (CompressionRatio, CompressionRatio),
    /// Ratios of pistons that can be bought.
    pub pistons: Vec<CompressionRatio>,
    /// Weights; 1 for a fuel that is not named.
    pub weights: Vec<ForFuel>,
    /// Likelihoods; 1 for a fuel that is not named.
    pub likelihoods: Vec<ForFuel>,
    /// Blends that must be stood.
    pub blends: BlendRules,
    /// Ignition as fitted, where stated.
    pub ignition: Option<Ignition>,
    /// Service conditions.
    pub service: ServiceRules,
    /// Difference of power that cannot be measured [-].
    pub measurable_frac: f64,
    /// Limits.
    pub limits: ChoiceLimits,
}

/// Service conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct ServiceRules {
    /// Weather of the hot day, where stated.
    pub worst_weather: Option<WeatherInput>,
    /// Deposits that the engine will have.
    pub deposits: Deposits,
    /// Octane numbers that a weak tank lies below the posted number [-].
    pub weak_tank_octane: f64,
    /// How much hotter the intake draws the air when soaked with heat [K].
    pub heat_soak_k: f64,
}

impl Default for ServiceRules {
    fn default() -> Self {
        Self {
            worst_weather: None,
            deposits: Service::USUAL_DEPOSITS,
            weak_tank_octane: Service::USUAL_WEAK_TANK,
            heat_soak_k: 0.0,
        }
    }
}

/// `[choose]`.
pub(super) fn choose(s: &mut Section<'_, '_>, fuels: &[FuelUse]) -> Option<ChooseRules> {
    let objective = objective(s);
    let ratios = ratios(s);
    let pistons = s.optional_numbers("pistons", 1..=MOST_PISTONS, COMPRESSION_RATIO);
    let pistons = pistons.unwrap_or_default();
    if let Some((lowest, highest)) = ratios
        && let Some(piston) = pistons.iter().find(|p| !(lowest.get()..=highest.get()).contains(*p))
    {
        let why = format!("{piston} lies outside the ratios {} to {}", lowest.get(), highest.get());
        s.contradiction("pistons", &why, None);
    }
    let ignition = s.optional_word(
        "ignition",
        &[
            ("knock-control", Ignition::KnockControl),
            ("map-per-fuel", Ignition::MapPerFuel),
            ("one-map", Ignition::OneMap),
        ],
    );
    let limits = limits(s);
    if ignition == Some(Ignition::KnockControl) {
        let why = "it goes with an ignition without knock control";
        s.contradiction("most_knock_probability_percent", why, None);
    }
    let measurable_frac = percent_or(s, "measurable_percent", 0.1..=5.0, USUAL_MEASURABLE);
    let weights = for_fuels(s, "weights", fuels);
    let likelihoods = for_fuels(s, "likelihoods", fuels);
    if fuels.iter().all(|fuel| value_for(&weights, &fuel.spec) * value_for(&likelihoods, &fuel.spec) <= 0.0) {
        let key = if weights.is_empty() { "likelihoods" } else { "weights" };
        s.contradiction(key, "it leaves no fuel that counts; give one a weight and likelihood above 0", None);
    }
    let blends = s.sub("blends", false, blends);
    let service = service(s);
    let pistons: Result<Vec<_>, _> = pistons.into_iter().map(CompressionRatio::new).collect();
    let rules = ChooseRules {
        objective: objective?,
        ratios: ratios?,
        pistons: pistons.ok()?,
        weights,
        likelihoods,
        blends,
        ignition,
        service,
        measurable_frac: measurable_frac?,
        limits: limits?,
    };
    Some(rules)
}

/// The limits: those of production practice where neither retard nor torque loss is stated.
fn limits(s: &mut Section<'_, '_>) -> Option<ChoiceLimits> {
    let usual = ChoiceLimits::default();
    let retard_deg = s.optional_number("most_retard_deg", Unit::CrankDegree.of(0.0..=40.0));
    let torque_lost_frac = percent(s, "most_torque_loss_percent", 0.0..=50.0);
    let is_stated = retard_deg.or(torque_lost_frac).is_some();
    Some(ChoiceLimits {
        late: if is_stated { LateLimits::Stated { retard_deg, torque_lost_frac } } else { usual.late },
        knock_probability: percent_or(
            s,
            "most_knock_probability_percent",
            1.0..=50.0,
            usual.knock_probability,
        )?,
    })
}

/// A share typed in per cent.
fn percent(s: &mut Section<'_, '_>, key: &'static str, range: RangeInclusive<f64>) -> Option<f64> {
    s.optional_si(key, Unit::Percent.of(range))
}

/// A share typed in per cent, for which another stands [-].
fn percent_or(
    s: &mut Section<'_, '_>,
    key: &'static str,
    range: RangeInclusive<f64>,
    usual: f64,
) -> Option<f64> {
    s.si_or(key, Unit::Percent.of(range), Unit::Percent.written(usual))
}

/// `[choose.worst_weather]` and `[choose.service]`.
fn service(s: &mut Section<'_, '_>) -> ServiceRules {
    let worst_weather = s.sub("worst_weather", false, |s| weather(s, None));
    let stated = s.sub("service", false, |s| {
        let usual = ServiceRules::default();
        let deposits = s.word_or("deposits", &Deposits::ALL, usual.deposits);
        let weak = s.number_or("weak_tank_octane", OCTANE_MARGIN, usual.weak_tank_octane);
        let soak = s.number_or("heat_soak_c", Unit::CelsiusStep.of(0.0..=40.0), usual.heat_soak_k);
        Some(ServiceRules { deposits: deposits?, weak_tank_octane: weak?, heat_soak_k: soak?, ..usual })
    });
    ServiceRules { worst_weather, ..stated.unwrap_or_default() }
}

fn objective(s: &mut Section<'_, '_>) -> Option<Objective> {
    let mean = s.optional_word("objective", &[("peak", false), ("mean", true)]).unwrap_or(false);
    let from = s.optional_number("from_rpm", ENGINE_SPEED);
    let to = s.optional_number("to_rpm", ENGINE_SPEED);
    if !mean {
        for key in ["from_rpm", "to_rpm"] {
            s.contradiction(key, "it goes with objective = \"mean\"", None);
        }
        return Some(Objective::PeakPower);
    }
    if let (Some(from), Some(to)) = (from, to)
        && to < from
    {
        s.contradiction("to_rpm", &format!("it is below from_rpm = {from}"), None);
        return None;
    }
    Some(Objective::MeanPower {
        from_rpm: from.unwrap_or(ENGINE_SPEED.low),
        to_rpm: to.unwrap_or(ENGINE_SPEED.high),
    })
}

fn ratios(s: &mut Section<'_, '_>) -> Option<(CompressionRatio, CompressionRatio)> {
    let lowest = s.number_or("lowest_ratio", COMPRESSION_RATIO, USUAL_RATIOS.0.get());
    let highest = s.number_or("highest_ratio", COMPRESSION_RATIO, USUAL_RATIOS.1.get());
    let (lowest, highest) = (lowest?, highest?);
    if highest - lowest < LEAST_SPAN {
        let key = if s.has("highest_ratio") { "highest_ratio" } else { "lowest_ratio" };
        let why = format!("the ratios {lowest} to {highest} leave less than {LEAST_SPAN} to choose from");
        s.contradiction(key, &why, None);
        return None;
    }
    Some((CompressionRatio::new(lowest).ok()?, CompressionRatio::new(highest).ok()?))
}

/// Numbers for fuels of the run.
fn for_fuels(s: &mut Section<'_, '_>, key: &'static str, fuels: &[FuelUse]) -> Vec<ForFuel> {
    let mut found = Vec::new();
    for (name, given, value) in s.free_numbers(key, false, WEIGHT) {
        let spec = name.trim().to_owned();
        if !fuels.iter().any(|fuel| fuel.spec == spec) {
            let near = nearest(&spec, fuels.iter().map(|fuel| fuel.spec.as_str()));
            let hint = near.map(|spec| format!("fuels.run has \"{spec}\""));
            let why = "no fuel of that name is in fuels.run".to_owned();
            s.notes().note_value(&given, ProblemKind::Contradiction { why }, hint);
        }
        found.extend(value.map(|value| ForFuel { spec, value }));
    }
    found
}

/// The number of a fuel, 1 when it has none of its own.
fn value_for(values: &[ForFuel], spec: &str) -> f64 {
    values.iter().find(|own| own.spec == spec.trim()).map_or(1.0, |own| own.value)
}

/// The number of a fuel by its name in the library, 1 when it has none of its own; it may be typed otherwise.
fn value_of(values: &[ForFuel], name: &str, library: &FuelLibrary) -> f64 {
    values.iter().find(|own| is_named(&own.spec, name, library)).map_or(1.0, |own| own.value)
}

/// Whether what was typed means the fuel of a name.
pub fn is_named(spec: &str, name: &str, library: &FuelLibrary) -> bool {
    spec.trim() == name || library.resolve(spec).is_ok_and(|fuel| fuel.name == name)
}

/// `[choose.blends]`.
fn blends(s: &mut Section<'_, '_>) -> BlendRules {
    let line = s.find("base").map(|given| given.offset);
    let line = line.map(|offset| s.notes().line(offset));
    let base = s.optional_text("base").map(|text| text.trim().to_owned()).zip(line);
    let (low, high) =
        (percent(s, "from_percent", SHARE_PERCENT.range()), percent(s, "to_percent", SHARE_PERCENT.range()));
    if let (Some(low), Some(high)) = (low, high)
        && high < low
    {
        s.contradiction("to_percent", &format!("it is below from_percent = {}", 100.0 * low), None);
    }
    BlendRules { base, low_vol_frac: low, high_vol_frac: high }
}

impl Default for ChooseRules {
    fn default() -> Self {
        Self {
            objective: Objective::PeakPower,
            ratios: USUAL_RATIOS,
            pistons: Vec::new(),
            weights: Vec::new(),
            likelihoods: Vec::new(),
            blends: BlendRules::default(),
            ignition: None,
            service: ServiceRules::default(),
            measurable_frac: USUAL_MEASURABLE,
            limits: ChoiceLimits::default(),
        }
    }
}

impl ServiceRules {
    /// The conditions beside the day of a job.
    fn on(&self, job: &Job) -> Result<Service, JobError> {
        let usual = Service::usual(&job.weather);
        let stated = self
            .worst_weather
            .map(|w| Weather::new(w.temperature_k, w.pressure_pa, w.relative_humidity))
            .transpose()?;
        Ok(Service {
            weather: stated.unwrap_or(usual.weather),
            weather_stated: stated.is_some(),
            deposits: self.deposits,
            weak_tank_octane: self.weak_tank_octane,
            heat_soak_k: self.heat_soak_k,
        })
    }
}

impl Scenario {
    /// The choice of compression that the scenario asks for.
    ///
    /// # Arguments
    /// - `job`: made by [`Self::job`] or [`Self::job_on`]; its fuels are those that are weighed
    /// - `library`: where the base of the blends is found
    ///
    /// # Errors
    /// [`JobError`] when the base or the worst weather cannot be used.
    pub fn choose_job(&self, job: Job, library: &FuelLibrary) -> Result<ChooseJob, JobError> {
        let rules = &self.choose;
        let weights = job.fuels.iter().map(|choice| Weighting {
            weight: value_of(&rules.weights, &choice.fuel.name, library),
            likelihood: value_of(&rules.likelihoods, &choice.fuel.name, library),
        });
        Ok(ChooseJob {
            objective: rules.objective,
            weights: weights.collect(),
            range: self.blend_range(&job, library)?,
            ignition: rules.ignition.unwrap_or_else(|| Ignition::usual(job.build.injection)),
            ignition_stated: rules.ignition.is_some(),
            service: rules.service.on(&job)?,
            measurable_frac: rules.measurable_frac,
            lowest: rules.ratios.0,
            highest: rules.ratios.1,
            pistons: rules.pistons.clone(),
            limits: rules.limits,
            volumes: self.volumes,
            job,
        })
    }

    fn blend_range(&self, job: &Job, library: &FuelLibrary) -> Result<BlendRange, JobError> {
        let rules = &self.choose.blends;
        let base = match &rules.base {
            Some((spec, line)) => self.stated_base(spec, *line, library)?,
            None => job.weakest_fuel()?.fuel.clone(),
        };
        let contents = || job.fuels.iter().map(|choice| choice.fuel.ethanol);
        // What is poured onto the base raises its content; a fuel without gasoline says nothing of it.
        let lowest = match &rules.base {
            Some(_) => contents().map(|content| content.low).fold(1.0, f64::min),
            None => base.ethanol.low,
        };
        let highest = contents().map(|content| content.high).fold(0.0, f64::max);
        let high_vol_frac = rules.high_vol_frac.unwrap_or(highest.max(rules.low_vol_frac.unwrap_or(0.0)));
        let low_vol_frac = rules.low_vol_frac.unwrap_or(lowest.min(high_vol_frac));
        // A base that is all ethanol makes one blend.
        let (low_vol_frac, high_vol_frac) =
            if base.base.is_empty() { (1.0, 1.0) } else { (low_vol_frac, high_vol_frac) };
        Ok(BlendRange { base, low_vol_frac, high_vol_frac, lambda: self.lambda_for_all })
    }

    fn stated_base(&self, spec: &str, line: usize, library: &FuelLibrary) -> Result<PumpFuel, JobError> {
        library.burnable(spec).map_err(|source| {
            let place = format!("{}:{line}: choose.blends.base", self.file);
            JobError::Fuels(vec![FuelProblem::refused(place, spec, source, library)])
        })
    }
}
