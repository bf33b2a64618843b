//! Limits, blends, conditions and reasons in the trade's words.

use crate::choose::result::{AskedLimit, Bound, Choice, Maximised, StoodRange, Variant, VariantKind};
use crate::choose::{Ignition, LimitKind, LimitState, Service};
use crate::report::Units;
use crate::report::quantity::Dimension::{Pressure, Temperature, TemperatureStep};
use crate::report::quantity::{fixed, percent};
use crate::report::table::plain;

/// A compression ratio: to a tenth, in full where it is none.
pub(in crate::report) fn ratio(value: f64) -> String {
    let is_tenth = (10.0 * value - (10.0 * value).round()).abs() < 1e-6;
    fixed(value, if is_tenth { 1 } else { 2 })
}

/// The ratio to order in a variant.
pub(in crate::report) fn variant_ratio(variant: &Variant, choice: &Choice) -> String {
    match variant.compression_ratio {
        None => format!("below {}", ratio(choice.lowest_ratio)),
        Some(found) if variant.ends_the_range => format!("{}+", ratio(found)),
        Some(found) => ratio(found),
    }
}

/// The limits, in one sentence.
pub(in crate::report) fn limits(stood: &StoodRange, units: Units) -> String {
    let words: Vec<String> = stood.limits.iter().map(|limit| limit_words(limit, stood, units)).collect();
    let practice = if stood.limits_of_practice {
        "; retard and torque loss are what nine of ten production engines stay within in the same service conditions (docs)"
    } else {
        ""
    };
    words.join("; ") + practice
}

fn limit_words(limit: &AskedLimit, stood: &StoodRange, units: Units) -> String {
    let allowed = value(limit.kind, limit.allowed, units);
    let from = format!("from peak torque ({} rpm) up", fixed(stood.limits_from_rpm, 0));
    match limit.kind {
        LimitKind::Reserve => format!("knock margin of {allowed} or more at the latest timing"),
        LimitKind::Retard => format!("{allowed} of retard from MBT timing at most, {from}"),
        LimitKind::TorqueLoss => format!("{allowed} of torque lost to retard at most"),
        LimitKind::PeakPressure => format!("cylinder pressure {allowed} at most"),
        LimitKind::KnockProbability => {
            format!("timing without knock control knocks in {allowed} of cases at most")
        }
    }
}

/// A value of the kind with its unit.
fn value(kind: LimitKind, value: f64, units: Units) -> String {
    match kind {
        LimitKind::Reserve => format!("{} octane numbers", fixed(value, 1)),
        LimitKind::Retard => format!("{} deg", fixed(value, 1)),
        LimitKind::TorqueLoss => format!("{} %", percent(value, 1)),
        LimitKind::PeakPressure => {
            format!("{} {}", fixed(units.of(Pressure, value), 0), units.symbol(Pressure))
        }
        LimitKind::KnockProbability => format!("{} %", percent(value, 0)),
    }
}

/// What is measured against a limit.
fn quantity(kind: LimitKind) -> &'static str {
    match kind {
        LimitKind::Reserve => "knock margin at the latest timing",
        LimitKind::Retard => "retard from MBT timing",
        LimitKind::TorqueLoss => "torque lost to retard",
        LimitKind::PeakPressure => "cylinder pressure",
        LimitKind::KnockProbability => "share of cases that knock at the latest timing",
    }
}

/// The blend and rpm at which a limit is worst.
fn place(state: &LimitState) -> String {
    format!("with {} % ethanol at {} rpm", percent(state.ethanol_vol_frac, 0), fixed(state.speed_rpm, 0))
}

/// "torque lost to retard is 6.2 % with 10 % ethanol at 4500 rpm; 5.0 % is allowed".
pub(in crate::report) fn over(state: &LimitState, units: Units) -> String {
    format!(
        "{} is {} {}; {} {} allowed",
        quantity(state.kind),
        value(state.kind, state.found, units),
        place(state),
        value(state.kind, state.allowed, units),
        if state.kind == LimitKind::Reserve { "is the least" } else { "is" }
    )
}

/// The limit set so that it would be kept.
pub(super) fn loosened(state: &LimitState, units: Units) -> String {
    // Rounded up to what is shown, so that what is said is enough.
    let up = |scale: f64| value(state.kind, (scale * state.found).ceil() / scale, units);
    match state.kind {
        LimitKind::Reserve => "allow later timing".to_owned(),
        LimitKind::PeakPressure => format!("fit parts good for {}", up(1.0)),
        LimitKind::Retard => format!("allow {}", up(10.0)),
        LimitKind::TorqueLoss => format!("allow {}", up(1000.0)),
        LimitKind::KnockProbability => format!("allow {}", up(100.0)),
    }
}

/// What ends the ratios as good as the most power, at their highest.
pub(super) fn bound(bound: &Bound, highest: f64, units: Units) -> String {
    let above = format!("Above {}", ratio(highest));
    match bound {
        Bound::Power => format!("{above} power falls by more than that."),
        Bound::EndOfRange => "The range asked ends there; power still rises.".to_owned(),
        Bound::Limit(state) => format!(
            "{above} {} {} the {} allowed, {}.",
            quantity(state.kind),
            if state.kind == LimitKind::Reserve { "falls below" } else { "goes over" },
            value(state.kind, state.allowed, units),
            place(state)
        ),
    }
}

/// What is maximised.
pub(in crate::report) fn maximised(choice: &Choice) -> String {
    match choice.maximised {
        Maximised::PeakWheelPower => "peak wheel power".to_owned(),
        Maximised::MeanWheelPower { from_rpm, to_rpm } => {
            format!("mean wheel power from {} to {} rpm", fixed(from_rpm, 0), fixed(to_rpm, 0))
        }
    }
}

/// A head of a column for a limit.
pub(super) fn head(kind: LimitKind, units: Units) -> (&'static str, &'static str) {
    match kind {
        LimitKind::Reserve => ("margin", "octane"),
        LimitKind::Retard => ("retard", "deg"),
        LimitKind::TorqueLoss => ("torque lost", "%"),
        LimitKind::PeakPressure => ("pressure", units.symbol(Pressure)),
        LimitKind::KnockProbability => ("at latest", "knock, %"),
    }
}

/// A value of the kind as a cell of the column of [`head`].
pub(super) fn cell(state: &LimitState, units: Units) -> String {
    match state.kind {
        LimitKind::Reserve | LimitKind::Retard => fixed(state.found, 1),
        LimitKind::TorqueLoss => percent(state.found, 1),
        LimitKind::PeakPressure => fixed(units.of(Pressure, state.found), 0),
        LimitKind::KnockProbability => percent(state.found, 0),
    }
}

/// An ignition.
pub(in crate::report) fn ignition_words(ignition: Ignition) -> &'static str {
    match ignition {
        Ignition::KnockControl => "knock control",
        Ignition::MapPerFuel => "a map per fuel",
        Ignition::OneMap => "one map for all fuels",
    }
}

/// "if the car has ...".
pub(super) fn ignition_if(ignition: Ignition) -> &'static str {
    match ignition {
        Ignition::KnockControl => "if the car has knock control",
        Ignition::MapPerFuel => "with a fuel sensor and a map per fuel",
        Ignition::OneMap => "with one map for all fuels",
    }
}

/// The service condition that a variant leaves out, and what it is taken as; none for any other change.
pub(in crate::report) fn condition_words(
    kind: &VariantKind,
    choice: &Choice,
    units: Units,
) -> Option<(&'static str, String)> {
    let stood = &choice.stood;
    Some(match kind {
        VariantKind::NoHotDay => (
            "hot day",
            format!(
                "{}, {} % humidity{}",
                units.words(Temperature, stood.air_temperature_k),
                percent(stood.relative_humidity, 0),
                if is_usual_day(stood) { " (usual: 0.4 % of the year)" } else { "" }
            ),
        ),
        VariantKind::NoHeatSoak => {
            ("heat soak", format!("intake air {} hotter", step_words(stood.heat_soak_k, units)))
        }
        VariantKind::NoDeposits => {
            ("deposits", format!("{} octane numbers more needed", fixed(stood.deposits_octane, 1)))
        }
        VariantKind::NoWeakTank => {
            ("weak tank", format!("{} octane numbers below the pump", fixed(stood.weak_tank_octane, 1)))
        }
        VariantKind::LikelyEthanol => (
            "ethanol at the pump",
            format!(
                "{} to {} %, the worst of it",
                percent(stood.lowest_ethanol_vol_frac, 0),
                percent(stood.highest_ethanol_vol_frac, 0)
            ),
        ),
        _ => return None,
    })
}

/// Whether the hot day is the usual one.
fn is_usual_day(stood: &StoodRange) -> bool {
    !stood.worst_weather_stated && stood.air_temperature_k == Service::USUAL_TEMPERATURE_K
}

/// Ethanol contents from one to another.
pub(in crate::report) fn contents_words(stood: &StoodRange) -> String {
    let (low, high) = (percent(stood.lowest_ethanol_vol_frac, 0), percent(stood.highest_ethanol_vol_frac, 0));
    if low == high {
        format!("{low} % ethanol")
    } else {
        format!("{low} to {high} % ethanol, any content between")
    }
}

fn step_words(step_k: f64, units: Units) -> String {
    format!("{} {}", fixed(units.of(TemperatureStep, step_k), 0), units.symbol(Temperature))
}

/// What is different in a variant.
pub(in crate::report) fn variant_words(kind: &VariantKind, choice: &Choice, units: Units) -> String {
    let octane = |numbers: &f64| fixed(*numbers, 1);
    match kind {
        VariantKind::NoHotDay => "never hotter than the stated weather".to_owned(),
        VariantKind::NoHeatSoak => "no heat soak".to_owned(),
        VariantKind::NoDeposits => "an engine that stays clean".to_owned(),
        VariantKind::NoWeakTank => "every tank at the pump's octane".to_owned(),
        VariantKind::LikelyEthanol => {
            format!("{} always at its likely ethanol content", plain(&choice.stood.base))
        }
        VariantKind::GradeLower { octane: less } => {
            format!("a tank a grade lower ({} octane numbers)", fixed(*less, 0))
        }
        VariantKind::Hotter { air_k } => format!("a day {} hotter", step_words(*air_k, units)),
        VariantKind::HeatSoak { air_k } => {
            format!("heat soak or towing (intake air {} hotter)", step_words(*air_k, units))
        }
        VariantKind::BetterFilling { frac } => format!("VE {} % better", percent(*frac, 0)),
        VariantKind::LaterInletClosing { deg } => {
            format!("a cam that closes the intake {} deg later, same VE", fixed(*deg, 0))
        }
        VariantKind::NeedsMore { octane: more } => {
            format!("the engine needs {} octane numbers more than this model says (1 in 10)", octane(more))
        }
        VariantKind::NeedsLess { octane: less } => {
            format!("the engine needs {} octane numbers less than this model says (1 in 10)", octane(less))
        }
        VariantKind::KnownKnock => {
            "known knock points of this engine settle what is not known of its knock".to_owned()
        }
        VariantKind::Ignition { ignition } => ignition_words(*ignition).to_owned(),
    }
}
