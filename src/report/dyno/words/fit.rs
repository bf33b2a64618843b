//! What a fit found, in words.

use super::super::super::Units;
use super::super::super::quantity::fixed;
use super::summary;
use crate::dyno::{Fit, FitNote, Judgement, Parameter, Verdict};
use crate::estimate::uncertainty::Input;
use crate::report::quantity::Dimension::{Length, TemperatureStep};

/// Name of what is fitted.
pub(in crate::report::dyno) fn parameter(what: Parameter) -> &'static str {
    match what {
        Parameter::Filling => "VE",
        Parameter::FillingLevel => "VE, level",
        Parameter::FillingTilt => "VE, slope with rpm",
        Parameter::Input(Input::Heat) => "heat loss",
        Parameter::Input(input) => input.title(),
        Parameter::DynoReading => "reading of the dyno",
    }
}

/// Its unit, "x" for a factor on the scenario's, with its decimals and the factor to it from the unit inside.
pub(in crate::report::dyno) fn parameter_unit(what: Parameter, units: Units) -> (&'static str, usize, f64) {
    match what {
        Parameter::FillingTilt | Parameter::Input(Input::Driveline) => ("%", 1, 1.0),
        Parameter::Input(Input::ChargeTemperature) => {
            (units.symbol(TemperatureStep), 1, units.of(TemperatureStep, 1.0))
        }
        Parameter::Input(Input::RunnerLength | Input::PrimaryLength) => match units {
            Units::Metric => ("mm", 0, 1.0),
            Units::Us => ("in", 1, units.of(Length, 1e-3)),
        },
        Parameter::Input(Input::Mixture) => ("lambda", 3, 1.0),
        Parameter::Input(Input::KnockModel) => ("octane", 1, 1.0),
        Parameter::Input(_) => ("x", 2, 1.0),
        Parameter::Filling | Parameter::FillingLevel | Parameter::DynoReading => ("x", 3, 1.0),
    }
}

/// How much a pull tells of what has so much of the width of its band left [-].
pub(in crate::report::dyno) fn told(width_ratio: f64) -> &'static str {
    match width_ratio {
        r if r > 0.97 => "none",
        r if r > 0.85 => "little",
        r if r > 0.5 => "some",
        _ => "good",
    }
}

/// The notes on a fit of a judged pull.
pub(in crate::report::dyno) fn fit_notes(fit: &Fit, judgement: &Judgement) -> Vec<String> {
    let all_the_same = || format!("{} Fitted all the same.", summary(judgement));
    let doubt = (judgement.verdict > Verdict::Consistent).then(all_the_same);
    doubt.into_iter().chain(fit.notes.iter().map(note)).collect()
}

/// Those of the notes that say not to trust the fit.
pub(in crate::report::dyno) fn fit_alarms(fit: &Fit) -> impl Iterator<Item = String> {
    let alarms = fit.notes.iter().filter(|note| {
        matches!(
            note,
            FitNote::DoesNotMakeThePull { .. }
                | FitNote::PipesDoNotMakeThePull { .. }
                | FitNote::Restless
                | FitNote::FarBeyond(_)
        )
    });
    alarms.map(note)
}

fn note(found: &FitNote) -> String {
    match found {
        FitNote::DoesNotMakeThePull { rms_percent } => format!(
            "The build as fitted does not make this pull: its torque is {rms_percent:.1} % off (rms). Do not trust it."
        ),
        FitNote::PipesDoNotMakeThePull { rms_percent } => format!(
            "No lengths, valve flow and wave damping within reach make this pull: torque is {rms_percent:.1} % off (rms). Do not trust the sizes. Check the cam card and the pipes as typed; --free-table fits VE as a table in their place."
        ),
        FitNote::Restless => {
            "The search for the build did not settle; the best build found is written.".to_owned()
        }
        FitNote::Held { spread_percent } => format!(
            "The file holds VE, driveline loss and burn speed. Friction, wall heat and the rest have no reading of their own and stay at their likely values, so VE is written as it must be beside them, +/-{} % with all of them held. [breathing.follows] says how VE goes with each: samples of both move together, and the power that was measured stays measured. Ranges taken one by one would add up to more than is known.",
            fixed(*spread_percent, 1)
        ),
        FitNote::HeldOnPipes { spread_percent } => format!(
            "The file holds sizes of the pipes and the level of their VE, driveline loss and burn speed. Friction, heat lost to coolant and oil and the rest have no reading of their own and stay at their likely values, so sizes and level are written as they must be beside them: VE is known within +/-{} % with all of them held, what the sizes may still be off included. [breathing.pipes.follows] says how VE goes with each, so that the power that was measured stays measured. The sizes are effective: they stand for all that acts alike, an open end, a bend or a port of another length.",
            fixed(*spread_percent, 1)
        ),
        FitNote::OneDyno => {
            "The power is that of this dyno: chassis dynos differ by 5 to 8 % among themselves (common practice, no source), and a fit takes over what its reading is off.".to_owned()
        }
        FitNote::TunedTiming => {
            "The model sets the timing as a tuner would: MBT, or what knock allows. A pull on less timing or on another mixture is fitted as lost VE.".to_owned()
        }
        FitNote::AtTheCrank => {
            "The pull was taken at the flywheel and says nothing of the driveline: its loss is left as it was.".to_owned()
        }
        FitNote::DayNotKnown => {
            "The weather of the pull is not known: any error in it is fitted as VE. State it with --air-temp, --pressure and --humidity.".to_owned()
        }
        FitNote::SpeedsLeftOut { pulls_rpm: (low, high) } => format!(
            "The pulls cover {low:.0} to {high:.0} rpm. Beyond, VE keeps the shape of the scenario and is less sure than the band written."
        ),
        FitNote::FarBeyond(what) => {
            let names: Vec<&str> = what.iter().copied().map(parameter).collect();
            format!(
                "Moved far beyond the band that was known: {}. Look for the cause in the pull or in the scenario before the fit is believed.",
                names.join(", ")
            )
        }
        FitNote::OtherMixture { logged, planned } => format!(
            "The log holds lambda {logged:.3}, the scenario {planned:.3}: the fit uses the logged one, the new scenario keeps its own. An estimate of it is for that."
        ),
    }
}
