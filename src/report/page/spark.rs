//! Timing and knock margin against speed.

use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend, timing_legend, timing_panel};
use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::estimate::FuelEstimate;
use crate::report::ReportError;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::plain;
use crate::report::text::maybe;
use crate::report::words::verdict;
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
    let tables: Vec<Markup> = e.fuels.iter().map(numbers).collect();
    Ok(html! {
        p .alert {
            "Never a calibration. Start from the timing to start from or less, with knock detection, and add timing towards the likely limit."
        }
        ul { @for fuel in &e.fuels { li { (plain(&verdict(fuel, e.reserve_octane))) } } }
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

fn numbers(fuel: &FuelEstimate) -> Markup {
    let caption = format!(
        "{}: timing, deg BTDC (* knock sets the limit, not MBT), knock and torque",
        name_of(&fuel.name)
    );
    let heads = [
        "rpm",
        "timing to start from",
        "likely limit",
        "MBT timing",
        "knock at the start, % of cases",
        "knock at the limit, % of cases",
        "knock margin at the limit",
        "low to high",
        "torque lost to retard at the limit, %",
    ];
    let mut table = DataTable::new(caption, &heads);
    for p in &fuel.curve {
        let band = p.octane_margin_band;
        table.row(vec![
            fixed(p.speed_rpm, 0),
            maybe(p.cautious_spark_deg_btdc, 0),
            fixed(p.spark_deg_btdc, 0) + if p.knock_limited { "*" } else { "" },
            fixed(p.best_torque_spark_deg_btdc, 0),
            maybe(p.start_knock_probability.map(|share| 100.0 * share), 0),
            percent(p.knock_probability, 0),
            signed(p.octane_margin, 1),
            format!("{} to {}", signed(band.low, 0), signed(band.high, 0)),
            percent(p.torque_lost_frac, 1),
        ]);
    }
    table.render()
}
