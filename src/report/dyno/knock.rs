//! What a log says about knock, for a person, and as tables for the scenario.

use super::super::Units;
use super::super::columns::Columns;
use super::super::screen::Text;
use super::super::table::wrap;
use crate::dyno::{Heard, Judgement, KnockPoint};
use crate::report::quantity::Dimension::Pure;
use crate::scenario::known_text;

/// Most characters of the name of a pull.
const NAME_LIMIT: usize = 20;

/// The part on knock; nothing when the log has no column of timing and one of knock.
pub(super) fn render(j: &Judgement, part: &'static str, out: &mut Text) {
    let Some(knock) = &j.knock else { return };
    let title = "What the log says about knock";
    if knock.points.is_empty() {
        return out.part(part, title, &wrap("  ", "No row holds both timing and knock."));
    }
    let doubt = "No count is no proof: a sensor can miss knock, and it can take other noise for knock.";
    let mut body = table(&knock.points) + &wrap("  ", doubt);
    let Some(fuel) = &knock.fuel else {
        let how = "For tables to paste into the scenario, name the fuel that was in the tank with --fuel: the scenario has several.";
        body += &wrap("  ", how);
        return out.part(part, title, &body);
    };
    out.part(part, title, &body);
    let tables = "\n".to_owned() + &known_text(fuel, &knock.points);
    out.part(part, "Known knock points, to paste into the scenario", &tables);
}

fn table(points: &[KnockPoint]) -> String {
    let mut c = Columns::<&KnockPoint>::new(Units::Metric);
    c.number("engine", Pure, |p| p.rpm).below("rpm");
    c.number("timing", Pure, |p| p.timing_deg_btdc).below("deg BTDC").digits(1);
    let heard = |p: &&KnockPoint| if p.heard == Heard::Knock { "counted" } else { "none counted" };
    c.words("knock", move |p| heard(p).to_owned());
    c.words("pull", |p| p.pull.clone()).at_most(NAME_LIMIT);
    c.number("line", Pure, |p| p.line as f64);
    c.text(points)
}
