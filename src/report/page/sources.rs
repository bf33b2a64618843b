//! What the numbers rest on.

use super::parts::fold;
use super::{NAME_LIMIT, Report};
use crate::estimate::{Driver, FuelEstimate};
use crate::report::columns::Columns;
use crate::report::estimate::peaks::corrected;
use crate::report::quantity::Dimension::{HeatByMass, Pure, Share};
use crate::report::quantity::fixed;
use crate::report::table::plain;
use crate::report::words::{Say, input_source};
use maud::{Markup, html};

/// The methods, as the docs tell them at length.
const METHODS: [(&str, &str); 6] = [
    (
        "Fuel",
        "blended by volume; octane linear in mole fraction with a fitted interaction of ethanol; its band is carried as uncertainty",
    ),
    (
        "Cycle",
        "one pressure, two zones; NASA polynomials for the charge, chemical equilibrium of twelve species for burned gas; Wiebe burn",
    ),
    ("Heat lost to coolant and oil", "Woschni's law, or Hohenberg's where that is stated"),
    (
        "Knock",
        "ignition integral of the end gas (Livengood and Wu 1955) with a delay of the form of Douaud and Eyzat, SAE 780080, its constants fitted; octane index after Kalghatgi, SAE 2001-01-3584",
    ),
    (
        "Samples",
        "Latin hypercube (McKay, Beckman and Conover, Technometrics 21, 1979), the same draws for every fuel",
    ),
    ("Accuracy", "the accuracy tables of the endgas docs, misses included"),
];

pub(super) fn section(report: &Report<'_>) -> Markup {
    let body = html! {
        (build(report))
        (fuels(report))
        (at_the_crank(report))
        (inputs(report))
        (methods())
    };
    fold("What was assumed, and where each figure comes from", true, &body)
}

fn build(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        dl {
            dt { "Breathing" } dd { (plain(&e.breathing_source.say(report.units))) }
            dt { "Driveline" } dd { (plain(&e.driveline_source.say(report.units))) }
            dt { "Effective ratio" } dd { (fixed(e.effective_compression_ratio, 1)) ":1 from intake valve closing (IVC)" }
            dt { "Safety margin" } dd { (fixed(e.reserve_octane, 1)) " octane numbers" }
            dt { "Samples" } dd { (e.samples) ", seed " (e.seed) "; low, likely and high are the 10th, 50th and 90th percentile" }
        }
    }
}

fn fuels(report: &Report<'_>) -> Markup {
    let heat = HeatByMass.unit(report.units).digits.min(1);
    let mut c = Columns::<&FuelEstimate>::new(report.units);
    c.words("fuel", |f| f.name.clone()).at_most(NAME_LIMIT);
    c.words("what it is", |f| f.title.clone());
    c.number("ethanol", Share, |f| f.ethanol_vol_frac);
    c.number("RON", Pure, |f| f.ron).digits(1);
    c.number("MON", Pure, |f| f.mon).digits(1);
    c.number("AKI", Pure, |f| 0.5 * (f.ron + f.mon)).digits(1);
    c.number("air-fuel ratio", Pure, |f| f.afr_stoich).digits(1);
    c.number("heating value", HeatByMass, |f| f.lhv_j_per_kg).digits(heat);
    c.page("Fuels", &report.estimate.fuels)
}

/// Peak power at the flywheel, on the day and brought to reference days.
fn at_the_crank(report: &Report<'_>) -> Markup {
    let e = report.estimate;
    html! {
        (corrected(e, report.units).page("Peak power at the flywheel", &e.fuels))
        @for c in &e.corrections {
            @if let Some(why) = &c.outside { p { "Outside the range of the standard: " (why.say(report.units)) "." } }
        }
    }
}

fn inputs(report: &Report<'_>) -> Markup {
    let mut c = Columns::<&Driver>::new(report.units);
    c.words("input", |driver| driver.input.title().to_owned());
    c.words("where its width comes from", |driver| input_source(driver.input, report.units));
    c.page("Uncertain inputs", report.estimate.fuels.first().into_iter().flat_map(|fuel| &fuel.drivers))
}

fn methods() -> Markup {
    html! {
        h3 { "Methods" }
        dl { @for (name, what) in METHODS { dt { (name) } dd { (what) "." } } }
    }
}
