//! What the ordered ratio would be were one thing different: each service condition left out, the engine, the day or the
//! ignition changed.
//!
//! The limits are searched again in the changed case, on the weakest blend and the rpm that decide here. A fixed map keeps its
//! distance from knock: what the changed case needs of octane more or less than as asked, in nine cases of ten, its timing is
//! set for. With knock control power over ratio keeps its shape.

use super::curve::Timed;
use super::feasible::{Checked, Ends, RangeEnd};
use super::ignition::Ignition;
use super::job::{ChooseError, ChooseJob};
use super::limit::{LimitKind, LimitState, most_excess};
use super::progress::Progress;
use super::result::{Variant, VariantKind};
use super::service::{Service, heated};
use super::solve::{Solution, View};
use super::watch::Watch;
use crate::air::Weather;
use crate::estimate::EstimateError;
use crate::estimate::band::band;
use crate::estimate::search::root;
use crate::estimate::sweep::in_order;
use crate::estimate::uncertainty::{Input, Sample};
use crate::knock::Deposits;

/// Share of the whole work at which these begin.
const FROM: f64 = 0.75;
/// How closely the end of the limits is searched [ratio].
const TOLERANCE: f64 = 0.02;
/// Step in which it is bracketed [ratio].
const STEP: f64 = 0.5;
/// Speeds at which it is searched.
const SPEEDS: usize = 3;

/// Better VE that is tried [-].
const BREATHING: f64 = 0.05;
/// Later inlet closing that is tried [deg].
const LATER_DEG: f64 = 10.0;
/// Hotter air that is tried [K].
const HOTTER_K: f64 = 10.0;
/// Hotter air of an intake soaked with heat, or towing, that is tried [K] (common practice, no source).
const SOAK_K: f64 = 15.0;

/// The question as asked, with all that its answer rests on.
pub(super) struct Variants<'a> {
    pub(super) ask: &'a ChooseJob,
    pub(super) view: View<'a>,
    pub(super) watch: &'a Watch<'a>,
    pub(super) samples: &'a [Sample],
    /// Speed of peak torque [rpm].
    pub(super) torque_rpm: f64,
    pub(super) solution: &'a Solution,
    /// The limits at the ordered ratio, and the nearest of them.
    pub(super) here: &'a Checked,
    pub(super) nearest: LimitState,
}

impl Variants<'_> {
    /// Every variant that differs from the question.
    ///
    /// # Errors
    /// As [`Watch::readings`], or of a search.
    pub(super) fn all(&self, progress: &Progress<'_>) -> Result<Vec<Variant>, ChooseError> {
        let kinds = self.kinds()?;
        let part = progress.part((FROM, 1.0), kinds.len());
        let as_asked = self.margin(self.watch, self.content())?;
        in_order(&kinds, |kind| {
            let found = self.ratio(*kind, as_asked)?;
            part.step();
            Ok(Variant {
                kind: *kind,
                compression_ratio: found.map(|(ratio, _)| ratio),
                ends_the_range: found.is_some_and(|(_, top)| top >= self.ask.highest.get()),
            })
        })
    }

    fn kinds(&self) -> Result<Vec<VariantKind>, ChooseError> {
        let (ask, service) = (self.ask, &self.ask.service);
        let need = octane_half_width(self.samples);
        let mut kinds = Vec::new();
        let mut add = |does_differ: bool, kind: VariantKind| kinds.extend(does_differ.then_some(kind));
        add(service.weather != ask.job.weather, VariantKind::NoHotDay);
        add(service.heat_soak_k > 0.0, VariantKind::NoHeatSoak);
        add(service.deposits_of(&ask.job) != Deposits::Clean, VariantKind::NoDeposits);
        add(service.weak_tank_octane > 0.0, VariantKind::NoWeakTank);
        add((self.likely_content()? - self.content()).abs() > 0.005, VariantKind::LikelyEthanol);
        add(true, VariantKind::GradeLower { octane: Service::GRADE_OCTANE });
        let can_heat =
            |soak_k: f64| service.weather.temperature_k + soak_k <= *Weather::TEMPERATURE_RANGE_K.end();
        add(can_heat(service.heat_soak_k + HOTTER_K), VariantKind::Hotter { air_k: HOTTER_K });
        add(service.heat_soak_k < SOAK_K && can_heat(SOAK_K), VariantKind::HeatSoak { air_k: SOAK_K });
        add(true, VariantKind::BetterFilling { frac: BREATHING });
        add(true, VariantKind::LaterInletClosing { deg: LATER_DEG });
        add(true, VariantKind::NeedsMore { octane: need });
        add(true, VariantKind::NeedsLess { octane: need });
        add(!ask.ignition.has_knock_control(), VariantKind::KnownKnock);
        for ignition in Ignition::ALL {
            add(ignition != ask.ignition, VariantKind::Ignition { ignition });
        }
        Ok(kinds)
    }

    /// Ethanol content of the weakest blend by volume [-].
    fn content(&self) -> f64 {
        self.here.readings.weakest_content()
    }

    /// Likely ethanol content of the weakest fuel of the run by volume [-].
    fn likely_content(&self) -> Result<f64, ChooseError> {
        let named = |source| EstimateError::Fuel { fuel: self.ask.range.base.name.clone(), source };
        Ok(self.ask.job.weakest_fuel().map_err(named)?.fuel.ethanol.likely)
    }

    /// The ratio to order in a changed case; none where none down to the lowest asked keeps the limits.
    ///
    /// # Arguments
    /// - `as_asked`: octane margin of the map as asked [-]
    ///
    /// # Returns
    /// The ratio to order and the highest within the limits.
    fn ratio(&self, kind: VariantKind, as_asked: f64) -> Result<Option<(f64, f64)>, ChooseError> {
        let mut ask = self.ask.clone();
        let mut content = self.content();
        let mut samples = self.samples.to_vec();
        self.change(kind, &mut ask, &mut content, &mut samples)?;
        ask.job.speeds_rpm = self.speeds_rpm();
        let contents = self.contents(content);
        let watch = Watch::of_contents(&ask, contents, (&samples, self.torque_rpm), self.watch)?;
        let Some(top) = self.top_of(&watch)? else { return Ok(None) };
        let end = |ratio: f64| RangeEnd { ratio, limit: None };
        let ends: Ends = (end(ask.lowest.get()), end(top));
        let keeps_map = ask.ignition == self.ask.ignition && !ask.ignition.has_knock_control();
        let shift_octane = if keeps_map { as_asked - self.margin(&watch, content)? } else { 0.0 };
        let view = View { timed: Timed { ignition: ask.ignition, shift_octane }, ..self.view };
        Ok(view.solve(&[ends])?.map(|solution| (solution.ratio, top)))
    }

    /// Octane margin of a map at MBT timing on one content, at the ordered ratio and the judged rpm of the nearest limit [-].
    fn margin(&self, watch: &Watch<'_>, content: f64) -> Result<f64, ChooseError> {
        watch.start_margin(content, self.solution.ratio, self.nearest.speed_rpm.max(self.torque_rpm))
    }

    /// The contents that decide: the weakest, and those at which a limit that is not of knock is worst, rising.
    fn contents(&self, weakest: f64) -> Vec<f64> {
        let mut contents = vec![weakest];
        contents.extend(self.elsewhere().map(|state| state.ethanol_vol_frac));
        contents.sort_by(f64::total_cmp);
        contents.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        contents
    }

    /// Limits that may be worst on another content and below peak torque.
    fn elsewhere(&self) -> impl Iterator<Item = &LimitState> {
        let is_elsewhere = |kind| matches!(kind, LimitKind::PeakPressure | LimitKind::Reserve);
        self.here.states.iter().filter(move |state| is_elsewhere(state.kind))
    }

    fn change(
        &self,
        kind: VariantKind,
        ask: &mut ChooseJob,
        content: &mut f64,
        samples: &mut [Sample],
    ) -> Result<(), ChooseError> {
        let service = &mut ask.service;
        match kind {
            VariantKind::NoHotDay => service.weather = ask.job.weather,
            VariantKind::NoHeatSoak => service.heat_soak_k = 0.0,
            VariantKind::NoDeposits => {
                service.deposits = Deposits::Clean;
                ask.job.knock.deposits = Deposits::Clean;
            }
            VariantKind::NoWeakTank => service.weak_tank_octane = 0.0,
            VariantKind::LikelyEthanol => *content = self.likely_content()?,
            VariantKind::GradeLower { octane } | VariantKind::NeedsMore { octane } => {
                service.weak_tank_octane += octane;
            }
            VariantKind::NeedsLess { octane } => service.weak_tank_octane -= octane,
            VariantKind::Hotter { air_k } => service.weather = heated(service.weather, air_k),
            VariantKind::HeatSoak { air_k } => service.heat_soak_k = air_k,
            // As much more air as denser air would bring.
            VariantKind::BetterFilling { frac } => {
                for air in [&mut service.weather, &mut ask.job.weather] {
                    air.pressure_pa *= 1.0 + frac;
                }
            }
            VariantKind::LaterInletClosing { deg } => ask.job.build.valves.inlet_closes_deg_abdc += deg,
            VariantKind::KnownKnock => {
                for sample in samples {
                    for input in [Input::KnockModel, Input::KnockEngine, Input::KnockSpeed] {
                        *sample = sample.with_deviate(input, 0.0);
                    }
                }
            }
            VariantKind::Ignition { ignition } => ask.ignition = ignition,
        }
        Ok(())
    }

    /// The speeds that decide: that of the nearest limit and its neighbours from that of peak torque, and those at which a limit
    /// that is not of knock is worst [rpm].
    fn speeds_rpm(&self) -> Vec<f64> {
        let speeds = &self.ask.job.speeds_rpm;
        let judged: Vec<f64> = speeds.iter().copied().filter(|s| *s >= self.torque_rpm).collect();
        let at = judged.partition_point(|speed| *speed < self.nearest.speed_rpm);
        let from = at.saturating_sub(1).min(judged.len().saturating_sub(SPEEDS));
        let mut chosen: Vec<f64> = judged.into_iter().skip(from).take(SPEEDS).collect();
        chosen.extend(self.elsewhere().map(|state| state.speed_rpm));
        chosen.sort_by(f64::total_cmp);
        chosen.dedup();
        chosen
    }

    /// The highest ratio up to the highest asked that keeps the limits of a watch; none when the lowest does not.
    fn top_of(&self, watch: &Watch<'_>) -> Result<Option<f64>, ChooseError> {
        let (lowest, highest) = (self.ask.lowest.get(), self.ask.highest.get());
        let excess =
            |ratio: f64| -> Result<f64, ChooseError> { Ok(most_excess(&Checked::new(watch, ratio)?.states)) };
        let mut ratio = self.solution.ends.1.ratio;
        let up = excess(ratio)? <= 0.0;
        loop {
            let next = (if up { ratio + STEP } else { ratio - STEP }).clamp(lowest, highest);
            if next == ratio {
                return Ok(up.then_some(ratio));
            }
            if (excess(next)? <= 0.0) != up {
                let within = |r: f64| excess(r).map_err(argmin::core::Error::new);
                let ends = (ratio.min(next), ratio.max(next));
                return Ok(Some(root(within, ends, TOLERANCE).map_err(ChooseError::from_search)?));
            }
            ratio = next;
        }
    }
}

/// Half of the 10-90 % band of the octane number that an engine needs against this model, over the samples [-].
fn octane_half_width(samples: &[Sample]) -> f64 {
    let need = |sample: &Sample| {
        let of = |input: Input| sample.deviate(input) * input.half_width();
        of(Input::KnockModel) + of(Input::KnockEngine)
    };
    let needs = band(samples.iter().map(need));
    0.5 * (needs.high - needs.low)
}
