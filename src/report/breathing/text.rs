//! What cam, ports and pipes make of the filling as aligned text, the answer first.

use super::words::{answer, cam, change, pipe};
use super::{TAKEN_AWAY, WORTHS, tables};
use crate::air::CorrectionStandard;
use crate::estimate::PipedBreathing;
use crate::estimate::pipe_worth::{PipeWorth, PipeWorths};
use crate::report::Units;
use crate::report::quantity::Dimension::Temperature;
use crate::report::screen::Text;
use crate::report::table::{head, heading, list, wrap};
use crate::report::words::cautions;
use crate::scenario::job::REFERENCE_FUEL;

/// The whole text.
pub(super) fn render(b: &PipedBreathing, units: Units) -> Text {
    let mut out = Text::default();
    out.screen(&header(b, units));
    let said: String = answer(b).iter().map(|line| wrap("  ", line)).collect();
    out.screen(&(heading("Answer") + &said));
    out.screen(&(heading("Breathing over rpm") + &tables::curve(units).text(&b.curve)));
    out.screen(&list("Notes", notes(units).iter().map(String::as_str)));
    out.cautions(cautions::BREATHING);
    match &b.worths {
        Some(worths) => out.part(WORTHS, "What a change is worth", &worth(b, worths, units)),
        None => out.not_run(WORTHS),
    }
    match &b.parts {
        Some(parts) => {
            let table = tables::parts(units).text(parts) + &wrap("  ", TAKEN);
            out.part(TAKEN_AWAY, "VE with pipes taken away", &table);
        }
        None => out.not_run(TAKEN_AWAY),
    }
    out
}

/// What the table of parts means.
const TAKEN: &str = "No runner: the port in the head draws from the plenum or the air. No primary: the port opens into the \
                     collector. The difference is what the pipe gives by its waves.";

fn notes(units: Units) -> [String; 2] {
    [
        "One cylinder stands for all: what neighbours send through plenum and collector is left out but for their pressure."
            .to_owned(),
        format!(
            "VE on dry air of {} and {REFERENCE_FUEL} gasoline, with its 10th to 90th percentile: level, lengths, valve flow and \
             friction of pipes.",
            units.words(Temperature, CorrectionStandard::SaeJ1349.reference().temperature_k)
        ),
    ]
}

fn header(b: &PipedBreathing, units: Units) -> String {
    let sizes = &b.sizes;
    let runner = pipe(sizes.runner_length_m, sizes.runner_diameter_m, sizes.is_runner_stated, units);
    let primary = pipe(sizes.primary_length_m, sizes.primary_diameter_m, sizes.is_primary_stated, units);
    head(&[
        ("Scenario", b.scenario.as_str()),
        ("Note", b.note.as_str()),
        ("Kind", b.kind.as_str()),
        ("Cam", cam(b, units).as_str()),
        ("Runner", format!("{runner}, the port in the head included").as_str()),
        ("Primary", format!("{primary}, the port in the head included").as_str()),
    ])
}

fn worth(b: &PipedBreathing, worths: &PipeWorths, units: Units) -> String {
    let peaks = (b.torque_speed_rpm, b.power_speed_rpm);
    let mut out = tables::worths(worths, peaks, units).text(&worths.changes);
    let on = format!(
        "Each by itself, all else as built. Torque at the rpm of peak torque, power at that of peak power, on {}, the timing tuned \
         anew. Cam: both lobes; degrees of crank. A longer lobe keeps its centre. Lift: both valves. A larger valve: in a port that flows as well for its \
         size; runner as it is. Back pressure: that of the muffler.",
        b.fuel
    );
    out += &wrap("  ", &on);
    if !b.has_cam_card {
        let usual = "There is no cam card: what cam, duration and lift are worth is that of the usual lobe of the kind.";
        out += &wrap("  ", usual);
    }
    let is_far = |w: &PipeWorth| w.best_speed_change_rpm.is_none();
    if worths.changes.iter().any(is_far) {
        out += &wrap(
            "  ",
            "Far: best VE moves out of the 16 % of rpm about it that were run, or has no single top there.",
        );
    }
    if !worths.left_out.is_empty() {
        let names: Vec<String> = worths.left_out.iter().map(|left| change(left, units)).collect();
        out += &wrap(
            "  ",
            &format!("Not run, for it leaves no such part or no steady cycle: {}.", names.join("; ")),
        );
    }
    out
}
