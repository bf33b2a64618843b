//! Timing and knock margin against speed.

use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend, timing_legend, timing_panel};
use super::parts::fold;
use super::{Report, name_of};
use crate::estimate::FuelEstimate;
use crate::report::estimate::curve;
use crate::report::quantity::fixed;
use crate::report::table::plain;
use crate::report::words::verdict;
use crate::report::{ReportError, Units};
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let e = report.estimate;
    let margin = Banded::margin(e);
    let (mut timings, mut margins) = (Vec::new(), Vec::new());
    for (i, fuel) in e.fuels.iter().enumerate() {
        let name = name_of(&fuel.name);
        let says = plain(&verdict(fuel, e.reserve_octane));
        let (id, caption) = (format!("spark-{i}"), format!("{name}: timing"));
        let panel = timing_panel(e, i);
        timings.push(Chart { id, caption, says: says.clone(), panel: &panel, large: false }.render()?);
        let (id, caption) = (format!("margin-{i}"), format!("{name}: knock margin"));
        let panel = margin.panel(i);
        margins.push(Chart { id, caption, says, panel: &panel, large: false }.render()?);
    }
    let reserve = fixed(e.reserve_octane, 1);
    let tables: Vec<Markup> = e.fuels.iter().map(|fuel| numbers(fuel, report.units)).collect();
    Ok(html! {
        p .alert {
            "Never a calibration. Start from the timing to start from or less, with knock detection, and add timing towards the likely limit."
        }
        ul { @for fuel in &e.fuels { li { (plain(&verdict(fuel, e.reserve_octane))) } } }
        (curve::columns(report.units, &[]).page_of("At the worst rpm", &curve::WORST, curve::worst(e)))
        p .quiet {
            "Start: the timing to start from, knock-free in 9 cases of 10, all cases at this one timing. Limit: the likely knock \
             limit, MBT timing at most, each case tuned to its own. The knock margin is what the fuel resists more than the engine \
             asks for."
        }
        h3 { "Timing over rpm" }
        (legend(&timing_legend())?)
        div .charts { @for chart in &timings { (chart) } }
        h3 { "Knock margin" }
        p {
            "Below 0 the fuel knocks. At the timing to start from the low end lies at 0 wherever knock sets the timing: 9 cases of 10 \
             are above. The likely limit keeps a safety margin of " (reserve) " octane numbers in the likely case alone."
        }
        (legend(&band_legend())?)
        div .charts { @for chart in &margins { (chart) } }
        (fold("Timing by rpm", true, &html! { @for table in &tables { (table) } }))
    })
}

fn numbers(fuel: &FuelEstimate, units: Units) -> Markup {
    let caption =
        format!("{}: timing (* knock sets the limit, not MBT), knock and torque", name_of(&fuel.name));
    let rows = fuel.curve.iter().map(|point| (fuel, point));
    curve::columns(units, &fuel.curve).page_of(caption, &curve::TIMING_IN_SHORT, rows)
}
