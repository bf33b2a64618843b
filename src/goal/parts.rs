//! Parts that a shop fits for power, and what each does to a build.
//!
//! What cam, head, intake and exhaust are worth is the step in VE from the kind of build that the engine is to the next
//! ([`BuildKind::next`]), split over them by the shares below. The shares, the shifts of the powerband and the losses at low rpm
//! are a judgement from common practice, no source; so is that a gain may come out half or one and a half times as large.

use crate::engine::BuildKind;
use crate::estimate::{Job, JobChange};
use crate::units::CompressionRatio;
use schemars::JsonSchema;
use serde::Serialize;

/// What is changed, in the order in which a shop proposes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lever {
    /// Cam and springs.
    Cam,
    /// Ported head or larger valves.
    Head,
    /// Intake and exhaust.
    IntakeExhaust,
    /// Higher compression ratio.
    Ratio,
    /// Another fuel of the list.
    Fuel,
    /// Rods, valve gear and bearings for more rpm.
    Rpm,
    /// Race cam, head, intake and exhaust in place of those of the next kind.
    RaceTopEnd,
}

/// A part as a person is told of it; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum Part {
    /// Cam and springs.
    Cam,
    /// Ported head or larger valves.
    Head,
    /// Intake and exhaust.
    IntakeExhaust,
    /// Race cam, head, intake and exhaust.
    RaceTopEnd,
    /// A higher compression ratio.
    Ratio {
        /// The ratio then [-].
        ratio: f64,
        /// Against now [-].
        step: f64,
    },
    /// Another fuel.
    Fuel {
        /// Its name.
        name: String,
    },
    /// Rods, valve gear and bearings for more rpm.
    Rpm {
        /// Highest rpm then [rpm].
        to_rpm: f64,
        /// Whether the cam has to go too, for no other part brings one.
        needs_cam: bool,
    },
}

/// What a part of the top end does, apart from its share of the step of kind (judgement from common practice, no source).
struct TopEndPart {
    /// Share of the step of kind in VE [-].
    share: f64,
    /// How much higher the powerband lies [-].
    shift: f64,
    /// VE lost at low rpm [-].
    low_rpm_loss: f64,
    /// How much later the inlet closes [deg].
    closes_later_deg: f64,
}

const CAM: TopEndPart = TopEndPart { share: 0.40, shift: 0.035, low_rpm_loss: 0.04, closes_later_deg: 5.0 };
const HEAD: TopEndPart = TopEndPart { share: 0.35, shift: 0.015, low_rpm_loss: 0.01, closes_later_deg: 0.0 };
const INTAKE_EXHAUST: TopEndPart =
    TopEndPart { share: 0.25, shift: 0.010, low_rpm_loss: 0.0, closes_later_deg: 0.0 };
/// Of the step to race engines.
const RACE: TopEndPart = TopEndPart { share: 1.0, shift: 0.12, low_rpm_loss: 0.12, closes_later_deg: 12.0 };

/// Share of the step to race engines that parts short of race parts win, where the next kind is race engines [-] (judgement).
const SHARE_TOWARDS_RACE: f64 = 0.5;

/// Gain over likely at its low and high end [-] (judgement).
pub(super) const GAIN_RANGE: [f64; 2] = [0.5, 1.5];
/// Rpm over that of peak power up to which VE is that of low rpm, and from which it is that of the top [-] (judgement).
const LOW_TO_TOP: [f64; 2] = [0.5, 0.8];
/// Latest effective inlet closing, the end of what the model takes [deg after bottom dead centre].
const LATEST_CLOSING_DEG: f64 = 100.0;

/// Parts fitted together.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct PartSet {
    pub(super) cam: bool,
    pub(super) head: bool,
    pub(super) intake_exhaust: bool,
    pub(super) race_top_end: bool,
    /// Step of compression ratio [-]; 0 is none.
    pub(super) ratio_step: f64,
    /// Factor on rpm beyond what the other parts shift [-]; 1 is none.
    pub(super) rpm_factor: f64,
    /// Index of the fuel in the job.
    pub(super) fuel: usize,
}

impl PartSet {
    /// The engine as built on a fuel.
    pub(super) const fn none(fuel: usize) -> Self {
        Self {
            cam: false,
            head: false,
            intake_exhaust: false,
            race_top_end: false,
            ratio_step: 0.0,
            rpm_factor: 1.0,
            fuel,
        }
    }

    /// Its levers, in the order of a shop.
    ///
    /// # Arguments
    /// - `judged`: index of the fuel against which another fuel counts as a change
    pub(super) fn levers(&self, judged: usize) -> Vec<Lever> {
        let all = [
            (self.cam, Lever::Cam),
            (self.head, Lever::Head),
            (self.intake_exhaust, Lever::IntakeExhaust),
            (self.race_top_end, Lever::RaceTopEnd),
            (self.ratio_step > 0.0, Lever::Ratio),
            (self.fuel != judged, Lever::Fuel),
            (self.needs_rpm(), Lever::Rpm),
        ];
        all.into_iter().filter_map(|(is_fitted, lever)| is_fitted.then_some(lever)).collect()
    }

    /// The top-end parts that are fitted.
    fn top_end(&self) -> impl Iterator<Item = &'static TopEndPart> {
        let fitted = [
            (self.cam, &CAM),
            (self.head, &HEAD),
            (self.intake_exhaust, &INTAKE_EXHAUST),
            (self.race_top_end, &RACE),
        ];
        fitted.into_iter().filter_map(|(is_fitted, part)| is_fitted.then_some(part))
    }

    /// Whether it takes rods, valve gear and bearings for more rpm: a race top end does by itself.
    pub(super) fn needs_rpm(&self) -> bool {
        self.rpm_factor > 1.0 || self.race_top_end
    }

    /// How far the powerband moves up, over now [-].
    pub(super) fn shift(&self) -> f64 {
        self.top_end().fold(self.rpm_factor, |shift, part| shift * (1.0 + part.shift))
    }
}

/// What there is to gain in the top end of a build.
#[derive(Clone, Copy, Debug)]
pub(super) struct TopEnd {
    /// Step in VE to the next kind [-], 0 or more; none for a race engine.
    pub(super) next_step: Option<f64>,
    /// Step in VE to race engines [-], 0 or more; none for a race engine.
    pub(super) race_step: Option<f64>,
    /// Whether it is of a kind made for the street, with sport or ported engines between it and race engines.
    pub(super) is_for_street: bool,
}

impl TopEnd {
    /// # Arguments
    /// - `peak_ve`: likely VE at its best over the rpm of the job [-]; it says the kind where none is stated
    /// - `peak_power_rpm`: rpm of peak power as built [rpm]
    pub(super) fn new(job: &Job, peak_ve: f64, peak_power_rpm: f64) -> Self {
        let build = &job.build;
        let nearest = || BuildKind::nearest(build.valves.has_several_inlets(), build.injection, peak_ve);
        let kind = build.breathing.kind().unwrap_or_else(nearest);
        let piston_speed = build.geometry.mean_piston_speed_m_per_s(peak_power_rpm);
        let step = |to: BuildKind| (kind.kind_step(to, build.injection, piston_speed) - 1.0).max(0.0);
        let next = kind.next();
        let is_for_street = next.is_some_and(|next| next != BuildKind::Race);
        let share = if is_for_street { 1.0 } else { SHARE_TOWARDS_RACE };
        Self {
            next_step: next.map(|next| share * step(next)),
            race_step: next.map(|_| step(BuildKind::Race)),
            is_for_street,
        }
    }

    /// Factor on VE at the top of a set [-].
    fn top_gain(&self, set: &PartSet) -> f64 {
        let step = if set.race_top_end { self.race_step } else { self.next_step }.unwrap_or(0.0);
        set.top_end().fold(1.0, |gain, part| gain * (1.0 + part.share * step))
    }
}

/// A job with parts fitted.
#[derive(Clone, Debug)]
pub(super) struct Fitted {
    /// With ratio, powerband and inlet closing as they are then.
    pub(super) job: Job,
    /// With the powerband alone.
    moved: Job,
    /// Factors on VE at the top and at low rpm [-].
    top: f64,
    low: f64,
    /// Rpm of peak power then, about [rpm].
    peak_power_rpm: f64,
}

impl Fitted {
    /// # Arguments
    /// - `peak_power_rpm`: rpm of peak power as built [rpm]
    pub(super) fn new(job: &Job, top_end: &TopEnd, set: &PartSet, peak_power_rpm: f64) -> Self {
        let shift = set.shift();
        let moved = if shift > 1.0 { job.with(JobChange::Powerband(shift)) } else { job.clone() };
        let mut fitted = moved.clone();
        let ratio = job.build.geometry.compression_ratio.get() + set.ratio_step;
        if let Ok(ratio) = CompressionRatio::new(ratio) {
            fitted.build.geometry.compression_ratio = ratio;
        }
        let later: f64 = set.top_end().map(|part| part.closes_later_deg).sum();
        let closes = &mut fitted.build.valves.inlet_closes_deg_abdc;
        *closes = (*closes + later).min(LATEST_CLOSING_DEG.max(*closes));
        let low = set.top_end().fold(1.0, |low, part| low * (1.0 - part.low_rpm_loss));
        Self { job: fitted, moved, top: top_end.top_gain(set), low, peak_power_rpm: shift * peak_power_rpm }
    }

    /// Factor on the VE of the fitted job at a rpm [-]: the parts' gain at the top; at low rpm never more than as built.
    pub(super) fn ve_factor(&self, as_built: &Job, speed_rpm: f64) -> f64 {
        let ve = |job: &Job| {
            let intake = job.build.intake(job.weather.temperature_k);
            job.build.breathing.at(speed_rpm, &intake).likely
        };
        let [low, top] = LOW_TO_TOP;
        let along = ((speed_rpm / self.peak_power_rpm - low) / (top - low)).clamp(0.0, 1.0);
        let (moved, built) = (ve(&self.moved), ve(as_built));
        let wanted = along * moved * self.top + (1.0 - along) * moved.min(built) * self.low;
        wanted / ve(&self.job)
    }
}
