//! What is said of cam, ports and pipes.

use crate::estimate::PipedBreathing;
use crate::estimate::pipe_curve::TopOfCurve;
use crate::estimate::pipe_worth::PipeChange;
use crate::report::Units;
use crate::report::quantity::Dimension::Length;
use crate::report::quantity::{fixed, percent};

/// To the next so many rpm: a peak is flat.
pub(super) const ROUND_RPM: f64 = 50.0;

/// A length of a part, as a shop says it: no finer than 0.1 mm or 0.01 in.
pub(super) fn length(length_m: f64, units: Units) -> String {
    let unit = Length.unit(units);
    let shown = unit.of(length_m);
    let digits = match units {
        Units::Metric if (shown - shown.round()).abs() < 0.05 => 0,
        Units::Metric => 1,
        Units::Us => 2,
    };
    format!("{} {}", fixed(shown, digits), unit.symbol)
}

/// A change of one thing.
pub(super) fn change(change: &PipeChange, units: Units) -> String {
    let by = |m: f64| length(m.abs(), units);
    let either = |value: f64, more: &'static str, less: &'static str| if value >= 0.0 { more } else { less };
    let longer = |lobe: &str, by_deg: f64| {
        format!("{lobe} duration {} deg {}", fixed(by_deg.abs(), 0), either(by_deg, "longer", "shorter"))
    };
    let share = |frac: f64| format!("{} %", percent(frac.abs(), 0));
    match *change {
        PipeChange::RunnerLength { by_m } => {
            format!("runner {} {}", by(by_m), either(by_m, "longer", "shorter"))
        }
        PipeChange::RunnerDiameter { by_m } => {
            format!("runner {} {}", by(by_m), either(by_m, "wider", "narrower"))
        }
        PipeChange::PrimaryLength { by_m } => {
            format!("primary {} {}", by(by_m), either(by_m, "longer", "shorter"))
        }
        PipeChange::PrimaryDiameter { by_m } => {
            format!("primary {} {}", by(by_m), either(by_m, "wider", "narrower"))
        }
        PipeChange::CamAdvance { by_deg } => {
            format!("cam {} deg {}", fixed(by_deg.abs(), 0), either(by_deg, "advanced", "retarded"))
        }
        PipeChange::InletDuration { by_deg } => longer("intake", by_deg),
        PipeChange::ExhaustDuration { by_deg } => longer("exhaust", by_deg),
        PipeChange::Lift { by_m } => format!("lift {} {}", by(by_m), either(by_m, "more", "less")),
        PipeChange::InletValve { by_m } => {
            format!("intake valve {} {}", by(by_m), either(by_m, "larger", "smaller"))
        }
        PipeChange::Plenum { by_frac } => {
            format!("plenum {} {}", share(by_frac), either(by_frac, "larger", "smaller"))
        }
        PipeChange::BackPressure { by_frac } => {
            format!("back pressure {} {}", share(by_frac), either(by_frac, "more", "less"))
        }
    }
}

fn near(rpm: f64) -> String {
    fixed((rpm / ROUND_RPM).round() * ROUND_RPM, 0)
}

/// Where VE and air flow peak.
pub(super) fn answer(b: &PipedBreathing) -> Vec<String> {
    let ve = |top: &TopOfCurve| fixed(top.volumetric_efficiency, 2);
    let top = |what: &str, top: &TopOfCurve| match top.is_at_end {
        false => format!("{what} peaks near {} rpm, at a VE of {}.", near(top.speed_rpm), ve(top)),
        true => format!(
            "{what} is greatest at {} rpm, an end of what was run, at a VE of {}.",
            near(top.speed_rpm),
            ve(top)
        ),
    };
    vec![
        top("VE", &b.best),
        top("Air flow (VE times rpm)", &b.most_air),
        format!(
            "By the estimate on {}, torque peaks at {} rpm and power at {} rpm.",
            b.fuel,
            fixed(b.torque_speed_rpm, 0),
            fixed(b.power_speed_rpm, 0)
        ),
    ]
}

/// The cam and where it comes from.
pub(super) fn cam(b: &PipedBreathing, units: Units) -> String {
    let lift = length(b.sizes.inlet_lift_m, units);
    match b.has_cam_card {
        true => format!("of the card, intake valve lift {lift}"),
        false => format!(
            "no card: the usual lobe of the kind with the valve events, intake valve lift {lift}; [valves.cam] takes the card"
        ),
    }
}

/// A pipe by its size, and whether its length was stated.
pub(super) fn pipe(length_m: f64, diameter_m: f64, is_stated: bool, units: Units) -> String {
    let usual = if is_stated { "" } else { " (length usual for the kind)" };
    format!("{} by {}{usual}", length(length_m, units), length(diameter_m, units))
}
