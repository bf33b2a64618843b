//! Spark and octane in hand against speed.

use super::chart::{Chart, legend};
use super::fuel_charts::{Banded, band_legend, spark_legend, spark_panel};
use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::estimate::FuelEstimate;
use crate::report::ReportError;
use crate::report::quantity::{fixed, percent, signed};
use crate::report::table::plain;
use crate::report::words::verdict;
use maud::{Markup, html};

pub(super) fn section(report: &Report<'_>) -> Result<Markup, ReportError> {
    let e = report.estimate;
    let margin = Banded::margin(e);
    let (mut sparks, mut margins) = (Vec::new(), Vec::new());
    for (i, fuel) in e.fuels.iter().enumerate() {
        let name = name_of(&fuel.name);
        let says = plain(&verdict(fuel, e.reserve_octane));
        let (id, caption) = (format!("spark-{i}"), format!("{name}: spark"));
        let panel = spark_panel(e, i);
        sparks.push(Chart { id, caption, says: says.clone(), panel: &panel, large: false }.render()?);
        let (id, caption) = (format!("margin-{i}"), format!("{name}: octane in hand at the spark used"));
        let panel = margin.panel(i);
        margins.push(Chart { id, caption, says, panel: &panel, large: false }.render()?);
    }
    let reserve = fixed(e.reserve_octane, 1);
    let tables: Vec<Markup> = e.fuels.iter().map(numbers).collect();
    Ok(html! {
        p .alert {
            "Never a calibration. Start from the cautious spark or less, with knock detection, and come up to the likely limit."
        }
        ul { @for fuel in &e.fuels { li { (plain(&verdict(fuel, e.reserve_octane))) } } }
        h3 { "Spark against engine speed" }
        (legend(&spark_legend())?)
        div .charts { @for chart in &sparks { (chart) } }
        h3 { "Octane in hand" }
        p { "Below 0 the fuel knocks. The spark is held back where it must be to keep " (reserve) " octane numbers in hand in the likely case." }
        (legend(&band_legend())?)
        div .charts { @for chart in &margins { (chart) } }
        (fold("Spark by engine speed", true, &html! { @for table in &tables { (table) } }))
    })
}

fn numbers(fuel: &FuelEstimate) -> Markup {
    let caption = format!(
        "{}: spark, degrees before top dead centre (* knock sets it), and octane",
        name_of(&fuel.name)
    );
    let heads = [
        "rpm",
        "cautious",
        "used",
        "best torque",
        "octane in hand",
        "low to high",
        "samples that knock, %",
        "torque given up, %",
    ];
    let mut table = DataTable::new(caption, &heads);
    for p in &fuel.curve {
        let band = p.octane_margin_band;
        table.row(vec![
            fixed(p.speed_rpm, 0),
            p.cautious_spark_deg_btdc.map_or_else(|| "none".to_owned(), |spark| fixed(spark, 0)),
            fixed(p.spark_deg_btdc, 0) + if p.knock_limited { "*" } else { "" },
            fixed(p.best_torque_spark_deg_btdc, 0),
            signed(p.octane_margin, 1),
            format!("{} to {}", signed(band.low, 0), signed(band.high, 0)),
            percent(p.knock_probability, 0),
            percent(p.torque_lost_frac, 1),
        ]);
    }
    table.render()
}
