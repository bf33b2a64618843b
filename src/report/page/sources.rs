//! What the numbers rest on.

use super::parts::{DataTable, fold};
use super::{Report, name_of};
use crate::report::quantity::{fixed, output_decimals, percent};
use crate::report::table::plain;
use crate::report::text::band_cells;
use maud::{Markup, html};

/// The methods, as the README tells them at length.
const METHODS: [(&str, &str); 6] = [
    (
        "Fuel",
        "blended by volume; octane linear in mole fraction with a fitted interaction of ethanol; its band is carried as uncertainty",
    ),
    (
        "Cycle",
        "one pressure, two zones; NASA polynomials for the charge, chemical equilibrium of twelve species for burned gas; Wiebe burn",
    ),
    ("Wall heat", "Woschni's law, or Hohenberg's where the scenario says so"),
    (
        "Knock",
        "ignition integral of the end gas (Livengood and Wu 1955) with a delay of the form of Douaud and Eyzat, SAE 780080, its constants fitted; octane index after Kalghatgi, SAE 2001-01-3584",
    ),
    (
        "Samples",
        "Latin hypercube (McKay, Beckman and Conover, Technometrics 21, 1979), the same draws for every fuel",
    ),
    ("Accuracy", "the accuracy tables of the endgas README, misses included"),
];

pub(super) fn section(report: &Report<'_>) -> Markup {
    let body = html! {
        (build(report))
        (fuels(report).render())
        (corrected(report))
        (inputs(report))
        (methods())
    };
    fold("What was assumed, and where each figure comes from", true, &body)
}

fn build(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        dl {
            dt { "Breathing" } dd { (plain(&e.breathing_source)) }
            dt { "Driveline" } dd { (plain(&e.driveline_source)) }
            dt { "Effective ratio" } dd { (fixed(e.effective_compression_ratio, 1)) ":1 from inlet valve closing" }
            dt { "Kept in hand" } dd { (fixed(e.reserve_octane, 1)) " octane numbers" }
            dt { "Samples" } dd { (e.samples) ", seed " (e.seed) "; low, likely and high are the 10th, 50th and 90th percentile" }
        }
    }
}

fn fuels(report: &Report<'_>) -> DataTable {
    let (mass_unit, _, mass_decimals) = report.units.heat_by_mass_unit();
    let heat = format!("heating value, {mass_unit}");
    let heads = ["fuel", "what it is", "ethanol, %", "RON", "MON", "AKI", "air-fuel ratio", heat.as_str()];
    let mut table = DataTable::new("Fuels", &heads);
    for fuel in &report.estimate.fuels {
        table.row(vec![
            name_of(&fuel.name),
            plain(&fuel.title),
            percent(fuel.ethanol_vol_frac, 0),
            fixed(fuel.ron, 1),
            fixed(fuel.mon, 1),
            fixed(0.5 * (fuel.ron + fuel.mon), 1),
            fixed(fuel.afr_stoich, 1),
            fixed(report.units.heat_by_mass(fuel.lhv_j_per_kg), mass_decimals.min(1)),
        ]);
    }
    table
}

/// Peak power at the crank, on the day and brought to reference days.
fn corrected(report: &Report<'_>) -> Markup {
    let (e, units) = (report.estimate, report.units);
    let caption = format!("Peak power at the crank, driveline not taken off, {}", units.power_unit());
    let standards = e.corrections.iter().map(|c| format!("likely, {}", c.standard));
    let mut table = DataTable::new(caption, &["fuel", "low", "likely", "high"]).more_heads(standards);
    for fuel in &e.fuels {
        let crank = fuel.peak_power.crank;
        let decimals = output_decimals(units.power(crank.high));
        let mut cells = vec![name_of(&fuel.name)];
        cells.extend(band_cells(crank, |kw| units.power(kw), decimals));
        cells
            .extend(e.corrections.iter().map(|c| fixed(units.power(crank.times(c.factor).likely), decimals)));
        table.row(cells);
    }
    html! {
        (table.render())
        @for c in &e.corrections {
            @if let Some(why) = &c.outside { p { "Outside the range of the standard: " (why) "." } }
        }
    }
}

fn inputs(report: &Report<'_>) -> Markup {
    let mut table = DataTable::new("Uncertain inputs", &["input", "where its width comes from"]);
    for driver in report.estimate.fuels.first().into_iter().flat_map(|fuel| &fuel.drivers) {
        table.row(vec![driver.name.to_owned(), driver.source.to_owned()]);
    }
    table.render()
}

fn methods() -> Markup {
    html! {
        h3 { "Methods" }
        dl { @for (name, what) in METHODS { dt { (name) } dd { (what) "." } } }
    }
}
