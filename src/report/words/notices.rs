//! Notices of an estimate or a choice, and where its figures come from, as sentences.

use super::Say;
use super::changes::limit_words;
use crate::air::{CorrectedFor, Outside, OutsideStandard};
use crate::choose::result::ChoiceNotice;
use crate::engine::breathing::BreathingSource;
use crate::engine::driveline::LossBand;
use crate::engine::{Driveline, LimitPassed, PeakSpeeds};
use crate::estimate::Notice;
use crate::estimate::learned::KnownRemark;
use crate::fuel::OctaneConcern;
use crate::fuel::handling::LambdaSource;
use crate::fuel::pump::BEST_POWER_LAMBDA_SOURCE;
use crate::knock::delay::DAMPING_SPEED_RPM;
use crate::report::Units;
use crate::report::quantity::Dimension::{GasPressure, Temperature};
use crate::report::quantity::{fixed, percent};

metric_words!(
    BreathingSource,
    ChoiceNotice,
    Driveline,
    KnownRemark,
    LambdaSource,
    Notice,
    OctaneConcern,
    OutsideStandard
);

impl Say for Notice {
    fn say(&self, units: Units) -> String {
        match self {
            Self::NoSafeTiming { fuel, latest_deg_btdc, reserve_octane, speeds_rpm } => format!(
                "{fuel}: no timing down to {latest_deg_btdc:.0} deg BTDC keeps the safety margin of {reserve_octane:.1} octane numbers at {} rpm. Do not run this fuel at full throttle there: less ratio or more octane is needed.",
                speeds_rpm.iter().map(|rpm| fixed(*rpm, 0)).collect::<Vec<_>>().join(", ")
            ),
            Self::LimitPassed { passed, fuel, speed_rpm } => {
                let (start, on) = match passed {
                    LimitPassed::PeakPressure { .. } => ("Peak cylinder pressure", format!(" on {fuel}")),
                    LimitPassed::PistonSpeed { .. } => ("Mean piston speed", String::new()),
                };
                let (_, [found, allowed]) = limit_words(passed, units);
                format!("{start} reaches {found}{on} at {speed_rpm:.0} rpm; the stated limit is {allowed}.")
            }
            Self::MbtAtEarliest { deg_btdc } => format!(
                "The stated timing range ends at {deg_btdc:.0} deg BTDC and MBT timing lies at that end: more advance may give more torque."
            ),
            Self::MbtAtLatest { deg_btdc } => format!(
                "The stated timing range begins at {deg_btdc:.0} deg BTDC, earlier than MBT timing at some rpm: widen it."
            ),
            Self::BmepInDoubt { found_pa, credible_pa } => format!(
                "Brake mean effective pressure reaches {}; above {} even race engines on gasoline are in doubt. Check VE.",
                units.pressure_words(*found_pa, 1),
                units.pressure_words(*credible_pa, 1)
            ),
            Self::EthanolRange { fuel, content } => {
                let [low, likely, high] = [content.low, content.likely, content.high].map(|c| percent(c, 0));
                format!(
                    "{fuel}: ethanol content is taken as {likely} % and may be {low} to {high} %; the ranges include this."
                )
            }
            Self::OctaneInDoubt { fuel, concern } => format!("{fuel}: {}.", concern.say(units)),
            Self::OctaneAboveScale { fuels } => format!(
                "Octane above 100 lies beyond the scale on which the knock law was measured; the margins of {} are extrapolated.",
                fuels.join(", ")
            ),
            Self::Deposits(deposits) => format!(
                "Deposits are taken as {}: the engine needs {:.1} octane numbers more than when it was clean.",
                deposits.key(),
                deposits.octane()
            ),
            Self::Known(remark) => remark.say(units),
            Self::KnockSpeed { speed_rpm, half_width_octane } => format!(
                "At {speed_rpm:.0} rpm the knock limit also rests on how knock changes with rpm, which has no published figure: +/-{half_width_octane:.1} octane numbers beside those at {DAMPING_SPEED_RPM:.0} rpm. The ranges include this."
            ),
            Self::PowerStillRises { speed_rpm } => format!(
                "Power still rises at {speed_rpm:.0} rpm, the highest rpm asked: the engine's own peak may lie beyond."
            ),
            Self::BreathingTableEnds { low_rpm, high_rpm } => format!(
                "The VE table covers {low_rpm:.0} to {high_rpm:.0} rpm; its end values are held outside."
            ),
        }
    }
}

impl Say for KnownRemark {
    fn say(&self, _: Units) -> String {
        match self {
            Self::Octane { at, beyond_model, half_width, half_width_before } => format!(
                "{at}: the octane this engine needs there is taken as {beyond_model:+.1} against the model, +/-{half_width:.1} instead of +/-{half_width_before:.1}."
            ),
            Self::FewCases { cases, of } => format!(
                "The known knock points leave {cases:.0} of {of} cases: they hardly agree with the model or with each other. Check them before relying on the margins."
            ),
            Self::BurnSpeed(factor) => format!(
                "Torque over timing: the charge burns {factor:.2} times as fast as taken; MBT timing moves with it."
            ),
            Self::SwingOfAnotherShape => "The timing swing does not have the shape of torque over timing of such an engine: check its torque and timing.".to_owned(),
            Self::Contradiction { at, heard, spark_deg_btdc, against } => format!(
                "{at}: {} at {spark_deg_btdc:.1} deg BTDC contradicts {}. Check timing, fuel and what was heard at both.",
                heard.words(),
                against.as_deref().unwrap_or("the model")
            ),
        }
    }
}

impl Say for ChoiceNotice {
    fn say(&self, units: Units) -> String {
        match self {
            Self::HeldAtEveryRatio => "Breathing, friction and the burn-speed factor are held the same at every ratio. A high dome and deep valve reliefs slow the burn and shroud the plug: the gain of the highest ratios is then less than shown.".to_owned(),
            Self::NoPeakPressure => "No limit of peak cylinder pressure is stated: it is not checked.".to_owned(),
            Self::Knock(notice) => notice.say(units),
            Self::MostPowerAtEnd { ratio } => format!(
                "The most power lies at the highest ratio asked, {ratio:.1}:1: a wider range may move the order."
            ),
            Self::LowestMayDo => "The lowest ratio asked makes no measurable difference either: a lower one may do.".to_owned(),
        }
    }
}

impl Say for OctaneConcern {
    fn say(&self, _: Units) -> String {
        match self {
            Self::AboveScale { ron } => {
                format!("RON {ron:.1} is above 100, where the scale is extended and ratings scatter more")
            }
            Self::Base { ron, low, high } => format!(
                "what it holds besides ethanol has RON {ron:.1}, outside the {low:.0} to {high:.0} of the published blends: octane is extrapolated"
            ),
            Self::Methanol => {
                "no published blend with methanol is behind its octane numbers: linear in moles".to_owned()
            }
        }
    }
}

impl Say for OutsideStandard {
    fn say(&self, units: Units) -> String {
        let found: Vec<String> = self.found.iter().map(|outside| outside_words(outside, units)).collect();
        format!("{}: {}", self.standard.title(), found.join("; "))
    }
}

fn outside_words(outside: &Outside, units: Units) -> String {
    let gas = GasPressure.unit(units);
    let (what, unit, decimals) = match outside.quantity {
        CorrectedFor::Temperature => ("temperature", units.symbol(Temperature), 1),
        CorrectedFor::DryPressure => ("dry pressure", gas.symbol, gas.digits),
        CorrectedFor::Factor => ("factor", "", 3),
    };
    let [value, low, high] = [outside.value, outside.low, outside.high].map(|value| match outside.quantity {
        CorrectedFor::Temperature => units.of(Temperature, value),
        CorrectedFor::DryPressure => units.of(GasPressure, value),
        CorrectedFor::Factor => value,
    });
    // The ends of a range as short as they are stated.
    let [low, high] = [low, high].map(|end| (100.0 * end).round() / 100.0);
    let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
    format!("{what} {value:.decimals$}{unit} is outside {low} to {high}{unit}")
}

impl Say for BreathingSource {
    fn say(&self, _: Units) -> String {
        match self {
            Self::Table { spread_frac, has_follows } => {
                let with = if *has_follows { ", and with what a pull could not tell from it" } else { "" };
                format!(
                    "VE (volumetric efficiency) from the stated table, +/-{} %{with}",
                    percent(*spread_frac, 0)
                )
            }
            Self::Kind { kind, injection, peaks, speeds_rpm, best, at_peak_power } => {
                let figures = kind.figures(*injection);
                let told = match peaks {
                    PeakSpeeds::Torque(_) => "; peak-power rpm taken as usual for that peak-torque rpm",
                    PeakSpeeds::Power(_) => "; peak-torque rpm taken as usual for that peak-power rpm",
                    PeakSpeeds::Both { .. } => "",
                };
                let at = |ve: &f64, half_width: f64| format!("{ve:.2} +/-{} %", percent(half_width, 0));
                let (half_at_power, half_at_best) = figures.half_widths;
                let (kind, best, power) =
                    (kind.words(*injection), at(best, half_at_best), at(at_peak_power, half_at_power));
                let ((torque_rpm, power_rpm), source) = (speeds_rpm, figures.source);
                format!(
                    "VE (volumetric efficiency) of {kind}: {best} at best, near peak torque at {torque_rpm:.0} rpm; {power} at peak power at {power_rpm:.0} rpm ({source}{told})"
                )
            }
            Self::Computed { kind, injection, has_card, best: (best, rpm), half_width } => {
                let cam = if *has_card { "the cam card" } else { "a usual cam with these valve events" };
                format!(
                    "VE (volumetric efficiency) computed from {cam}, ports and pipes, at the level of {}: {best:.2} +/-{} % at best, at {rpm:.0} rpm; one cylinder stands for all",
                    kind.words(*injection),
                    percent(*half_width, 0)
                )
            }
            Self::PortFlow(flow) => {
                let (low, high) = flow.band_ratios();
                let [low, peak, high] = [low, 1.0, high].map(|ratio| flow.peak() * ratio);
                let gains = [flow.ram_gain.low, flow.ram_gain.likely, flow.ram_gain.high];
                format!(
                    "VE (volumetric efficiency) from port flow and cam through the mean intake Mach index (Taylor, from memory): mean flow coefficient {:.2}, best VE at index {:.2}, peak {low:.2} / {peak:.2} / {high:.2} with {} % from ram and tuning",
                    flow.mean_flow_coefficient,
                    flow.best_mach_index,
                    gains.map(|gain| percent(gain, 0)).join(" / ")
                )
            }
        }
    }
}

impl Say for Driveline {
    fn say(&self, _: Units) -> String {
        let LossBand { low, likely, high } = self.loss_band();
        let loss = [low, likely, high].map(|loss| percent(loss, 0)).join(" / ");
        let origin =
            if self.measured_loss.is_some() { "stated as measured" } else { "band of common practice" };
        format!("driveline loss at peak power {loss} % ({}, {origin})", self.layout.title())
    }
}

impl Say for LambdaSource {
    fn say(&self, _: Units) -> String {
        match self {
            Self::File => "as the fuel file states it, by volume where fuels are mixed".to_owned(),
            Self::Relation { has_methanol: false } => BEST_POWER_LAMBDA_SOURCE.to_owned(),
            Self::Relation { has_methanol: true } => format!(
                "{BEST_POWER_LAMBDA_SOURCE}; methanol as gasoline for want of a figure, racing practice runs it richer for cooling"
            ),
        }
    }
}
