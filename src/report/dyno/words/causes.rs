//! What may make a curve differ from the estimate, in words: what it is, and what to look at.

use crate::dyno::{Cause, Judgement, Place, RankedCause};

/// Causes that are named: at most so many, of at least so much of the probability.
const MOST: usize = 3;
const LEAST_SHARE: f64 = 0.05;

/// Units that are mixed up.
pub(super) fn unit(is: &str, labelled: &str) -> String {
    let what = if matches!(is, "N m" | "lb-ft") { "torque" } else { "power" };
    format!("{what} in {is} is labelled {labelled}")
}

fn more(ratio: f64) -> String {
    let percent = 100.0 * (ratio - 1.0);
    format!("{:.0} % {}", percent.abs(), if percent < 0.0 { "less" } else { "more" })
}

/// A cause in a few words.
pub(in crate::report::dyno) fn title(cause: &Cause) -> String {
    match cause {
        Cause::NothingWrong => "nothing is wrong".to_owned(),
        Cause::Powerband { factor } => format!(
            "the powerband lies {:.0} % {} than the scenario says",
            100.0 * (factor - 1.0).abs(),
            if *factor < 1.0 { "lower" } else { "higher" }
        ),
        Cause::OtherEngine { factor } => {
            format!("another displacement, cam or head than the scenario says ({} torque)", more(*factor))
        }
        Cause::Unit { is, labelled } => unit(is, labelled),
        Cause::OtherChannels { ratio } => {
            format!("torque and power are not of one channel (power is {ratio:.3} times torque times rpm)")
        }
        Cause::Place { taken: Place::Crank } => "crank figures are read as wheel figures".to_owned(),
        Cause::Place { taken: Place::Wheel } => "wheel figures are read as crank figures".to_owned(),
        Cause::Corrected { factors: [least, most], twice } => {
            let what = if *twice { "corrected twice" } else { "corrected, though said to be as measured" };
            let by =
                if most - least < 0.005 { format!("{most:.2}") } else { format!("{least:.2} to {most:.2}") };
            format!("{what} (standards give {by} in this weather)")
        }
        Cause::OtherStandard { used, also, stated } => {
            let same: String = also.iter().flatten().map(|other| format!(" or {other}")).collect();
            format!("corrected by {used}{same}, not by {stated}")
        }
        Cause::FactorByHand { factor } => {
            let way = if *factor < 1.0 { "low" } else { "high" };
            let percent = 100.0 * (factor - 1.0).abs();
            format!("a correction factor that no standard gives in this weather ({percent:.0} % too {way})")
        }
        Cause::Gear { factor } => format!(
            "rpm is logged {factor:.2} times the true rpm: wrong gear, or wrong ratio of roller to engine rpm"
        ),
        Cause::Scale { factor } => format!(
            "reads {:.0} % {} everywhere: roller inertia or calibration",
            100.0 * (factor - 1.0).abs(),
            if *factor < 1.0 { "low" } else { "high" }
        ),
        Cause::ZeroOffset { share } => format!(
            "the load cell is off at zero ({:.0} % of peak torque {})",
            100.0 * share.abs(),
            if *share < 0.0 { "missing" } else { "added" }
        ),
        Cause::Progressive { at_top_frac } => format!(
            "reads progressively {} with rpm ({:.0} % at the top): coast-down loss or windage",
            if *at_top_frac < 0.0 { "low" } else { "high" },
            100.0 * at_top_frac.abs()
        ),
        Cause::ForcedInduction { factor } => {
            format!("the engine is not naturally aspirated ({} torque)", more(*factor))
        }
        Cause::PartThrottle { lost_frac } => {
            format!("not at full throttle, or a blocked intake ({:.0} % lost at the top)", 100.0 * lost_frac)
        }
    }
}

/// What to look at.
pub(in crate::report::dyno) fn look_at(cause: &Cause) -> &'static str {
    match cause {
        Cause::NothingWrong => "",
        Cause::Powerband { .. } => "Peak rpm in the scenario, cam timing.",
        Cause::OtherEngine { .. } => "Bore, stroke, cam, head and kind of build in the scenario.",
        Cause::Unit { .. } => "Units of the columns at the dyno and in the export.",
        Cause::OtherChannels { .. } => {
            "Which channels the columns come from; torque of the axle is not referred to crank rpm."
        }
        Cause::Place { .. } => "Whether a loss was added to the figures; then state --at.",
        Cause::Corrected { .. } => {
            "Whether the dyno corrects before it shows and again when it exports; compare with figures as measured, then state --corrected."
        }
        Cause::OtherStandard { .. } => "Setting of the dyno; state --corrected by that standard.",
        Cause::FactorByHand { .. } => {
            "Weather station of the dyno, a factor typed in, air temperature read in a hot engine bay."
        }
        Cause::Gear { .. } => {
            "Gear that was driven, rpm set in that gear before the pull, tyre size and slip, ignition pick-up."
        }
        Cause::Scale { .. } => "Inertia set for the rollers and wheels, load-cell calibration.",
        Cause::ZeroOffset { .. } => "Zero of the load cell before the pull.",
        Cause::Progressive { .. } => "Coast-down run, and whether its loss is added.",
        Cause::ForcedInduction { .. } => "The engine: endgas models naturally aspirated engines alone.",
        Cause::PartThrottle { .. } => "Throttle opening logged at the stop, air filter, intake.",
    }
}

/// The causes that are named.
fn named(j: &Judgement) -> impl Iterator<Item = &RankedCause> {
    let first = j.causes.iter().take(1);
    first.chain(j.causes.iter().skip(1).take(MOST - 1).filter(|c| c.share >= LEAST_SHARE))
}

/// The first cause with its share, as a sentence.
pub(super) fn first(j: &Judgement) -> Option<String> {
    let ranked = j.causes.first()?;
    Some(format!(" Most likely cause ({}): {}.", share(ranked), title(&ranked.cause)))
}

fn share(ranked: &RankedCause) -> String {
    format!("{:.0} %", 100.0 * ranked.share)
}

/// The named causes, each with its share, what it leaves unexplained and what to look at.
pub(in crate::report::dyno) fn ranked(j: &Judgement) -> Vec<String> {
    let line = |ranked: &RankedCause| {
        format!(
            "{}: {}; with that undone torque is {:.0} % off. Look at: {}",
            share(ranked),
            title(&ranked.cause),
            100.0 * ranked.left_frac,
            look_at(&ranked.cause)
        )
    };
    named(j).map(line).collect()
}
