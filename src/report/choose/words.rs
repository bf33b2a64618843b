//! Limits, blends and reasons in the trade's words.

use crate::choose::result::{Bound, Choice, Maximised};
use crate::choose::{LimitKind, LimitState};
use crate::report::Units;
use crate::report::quantity::{fixed, percent};

/// A limit with what is allowed.
pub(in crate::report) fn limit(kind: LimitKind, allowed: f64, confidence: f64, units: Units) -> String {
    let sure = percent(confidence, 0);
    match kind {
        LimitKind::Reserve => format!("at least {} in hand at the latest spark", octane(allowed)),
        LimitKind::Retard => {
            format!("spark held back at most {} in {sure} % of samples", value(kind, allowed, units))
        }
        LimitKind::TorqueLoss => {
            format!("torque given up to knock at most {} in {sure} % of samples", value(kind, allowed, units))
        }
        LimitKind::PeakPressure => format!("cylinder pressure at most {}", value(kind, allowed, units)),
        LimitKind::KnockProbability => format!(
            "on the weakest blend spark held back until at most {} of samples knock",
            value(kind, allowed, units)
        ),
    }
}

fn octane(numbers: f64) -> String {
    format!("{} octane numbers", fixed(numbers, 1))
}

/// A value of the kind with its unit.
pub(super) fn value(kind: LimitKind, value: f64, units: Units) -> String {
    match kind {
        LimitKind::Reserve => octane(value),
        LimitKind::Retard => format!("{} deg", fixed(value, 1)),
        LimitKind::TorqueLoss => format!("{} %", percent(value, 1)),
        LimitKind::PeakPressure => {
            format!("{} {}", fixed(units.pressure(value), 0), units.pressure_unit())
        }
        LimitKind::KnockProbability => format!("{} %", percent(value, 0)),
    }
}

/// What is measured against a limit.
fn quantity(kind: LimitKind) -> &'static str {
    match kind {
        LimitKind::Reserve => "octane margin at the latest spark",
        LimitKind::Retard => "spark held back",
        LimitKind::TorqueLoss => "torque given up to knock",
        LimitKind::PeakPressure => "cylinder pressure",
        LimitKind::KnockProbability => "knock probability at the latest spark",
    }
}

/// The blend and speed at which a limit is worst.
pub(super) fn place(state: &LimitState) -> String {
    format!("with {} % ethanol at {} rpm", percent(state.ethanol_vol_frac, 0), fixed(state.speed_rpm, 0))
}

/// "torque given up to knock is 6.2 % with 10 % ethanol at 4500 rpm; 5.0 % is allowed".
pub(in crate::report) fn passed(state: &LimitState, units: Units) -> String {
    format!(
        "{} is {} {}; {} {}",
        quantity(state.kind),
        value(state.kind, state.found, units),
        place(state),
        value(state.kind, state.allowed, units),
        if state.kind == LimitKind::Reserve { "are asked" } else { "is allowed" }
    )
}

/// The limit set so that it would be kept.
pub(super) fn loosened(state: &LimitState, units: Units) -> String {
    match state.kind {
        LimitKind::Reserve => "allow a later spark in the scenario".to_owned(),
        LimitKind::PeakPressure => {
            format!("fit parts that stand {}", value(state.kind, state.found.ceil(), units))
        }
        // Rounded up to what is shown, so that what is said is enough.
        LimitKind::Retard => {
            format!("allow {}", value(state.kind, (10.0 * state.found).ceil() / 10.0, units))
        }
        LimitKind::TorqueLoss => {
            format!("allow {}", value(state.kind, (1000.0 * state.found).ceil() / 1000.0, units))
        }
        LimitKind::KnockProbability => {
            format!("allow {}", value(state.kind, (100.0 * state.found).ceil() / 100.0, units))
        }
    }
}

/// What ends the best on one side.
pub(super) fn bound(bound: &Bound, side: &str, units: Units) -> String {
    match bound {
        Bound::Power => format!("{side} the weighted power falls."),
        Bound::EndOfRange => format!("{side} the range asked ends; power still rises there."),
        Bound::Limit(state) => format!(
            "{side} {} passes the allowed {}, {}.",
            quantity(state.kind),
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
        LimitKind::Reserve => ("at latest", "octane"),
        LimitKind::Retard => ("held back", "deg"),
        LimitKind::TorqueLoss => ("given up", "%"),
        LimitKind::PeakPressure => ("pressure", units.pressure_unit()),
        LimitKind::KnockProbability => ("at latest", "knock, %"),
    }
}

/// A value of the kind as a cell of the column of [`head`].
pub(super) fn cell(state: &LimitState, units: Units) -> String {
    match state.kind {
        LimitKind::Reserve | LimitKind::Retard => fixed(state.found, 1),
        LimitKind::TorqueLoss => percent(state.found, 1),
        LimitKind::PeakPressure => fixed(units.pressure(state.found), 0),
        LimitKind::KnockProbability => percent(state.found, 0),
    }
}
