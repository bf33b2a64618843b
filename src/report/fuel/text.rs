//! Fuels as aligned text.

use super::columns::{NAME_LIMIT, SECTIONS, table};
use super::{FuelEntry, FuelReport, Occasion};
use crate::fuel::pump::BEST_POWER_LAMBDA_SOURCE;
use crate::fuel::tank::{Fill, TopUp};
use crate::fuel::{ContentRange, FuelError, FuelLibrary, FuelState, OCTANE_BLENDING, Part, PumpFuel};
use crate::report::Units;
use crate::report::columns::Columns;
use crate::report::quantity::Dimension::{FuelVolume, Share};
use crate::report::quantity::{fixed, percent};
use crate::report::table::wrap;
use crate::report::words::Say;
use crate::report::words::cautions::handling;

/// The whole text report.
pub(super) fn render(report: &FuelReport, units: Units) -> String {
    let mut out = header(report, units);
    for (title, section) in SECTIONS {
        out += &format!("\n{title}\n{}", table(report, units, section));
    }
    out += &reading(report, units);
    if report.occasion != Occasion::Sweep {
        out += &parts(report);
    }
    out += &notes(report);
    out += &bullets("Cautions", unique(report.fuels.iter().flat_map(|e| handling(&e.fuel))));
    let sources = report.fuels.iter().flat_map(|e| e.fuel.sources.iter().map(String::as_str));
    let more = ["The sources of the components' figures are in the JSON form."];
    out += &bullets("Sources", unique(sources.chain(more)));
    out
}

/// Names of all pump fuels with their content, then of the components.
pub(super) fn list(library: &FuelLibrary) -> Result<String, FuelError> {
    let mut out = String::new();
    for (title, names) in [("Fuels", library.names()), ("Components", library.component_names())] {
        let mut c = Columns::<(&str, PumpFuel)>::new(Units::Metric);
        c.words("name", |(name, _)| (*name).to_owned());
        c.words("what", |(_, fuel)| fuel.title.clone()).at_most(44);
        c.words("ethanol", |(_, fuel)| content(fuel.ethanol));
        let rows = names.into_iter().map(|name| Ok((name, library.resolve(name)?)));
        out += &format!("{title}\n{}\n", c.text(rows.collect::<Result<Vec<_>, FuelError>>()?));
    }
    out += "Any of them can go into a recipe by volume: \"premium-91 70 % + e85 30 %\".\n";
    Ok(out)
}

fn content(range: ContentRange) -> String {
    if range.is_known() {
        return format!("{} %", percent(range.likely, 1));
    }
    format!("{} % ({} to {})", percent(range.likely, 1), percent(range.low, 1), percent(range.high, 1))
}

fn header(report: &FuelReport, units: Units) -> String {
    match &report.occasion {
        Occasion::Mix { fills, top_up } => mixed(fills, top_up.as_deref(), &report.fuels, units),
        Occasion::Sweep => {
            let named = report.fuels.iter().map(|e| {
                let text = format!("{}, its base with ethanol from 0 to 100 %", title(&e.fuel));
                wrap("Sweep      ", &text)
            });
            named.collect()
        }
        Occasion::Asked => report
            .fuels
            .iter()
            .map(|e| wrap("Fuel       ", &format!("{}, ethanol {}", title(&e.fuel), content(e.fuel.ethanol))))
            .collect(),
    }
}

fn title(fuel: &PumpFuel) -> String {
    if fuel.name == fuel.title { fuel.name.clone() } else { format!("{}: {}", fuel.name, fuel.title) }
}

fn mixed(fills: &[Fill], top_up: Option<&TopUp>, fuels: &[FuelEntry], units: Units) -> String {
    let filled = |fill: &Fill| {
        let volume = units.words(FuelVolume, fill.volume_m3);
        format!("{volume} {} (ethanol {})", fill.fuel.name, content(fill.fuel.ethanol))
    };
    let mut total_m3: f64 = fills.iter().map(|f| f.volume_m3).sum();
    let in_tank = fills.iter().map(filled).collect::<Vec<_>>().join(" + ");
    let mut out = wrap("In tank    ", &in_tank);
    if let Some(TopUp { added, .. }) = top_up {
        out += &wrap("Add        ", &filled(added));
        total_m3 += added.volume_m3;
    }
    for entry in fuels {
        let text = format!("{}, ethanol {}", units.words(FuelVolume, total_m3), content(entry.fuel.ethanol));
        out += &wrap("Result     ", &text);
    }
    out
}

/// How the tables are to be read.
fn reading(report: &FuelReport, units: Units) -> String {
    let mut lambda: Vec<String> = Vec::new();
    for entry in &report.fuels {
        let text = match report.occasion {
            Occasion::Sweep => format!("Best-power lambda: {BEST_POWER_LAMBDA_SOURCE}."),
            _ => format!("Best-power lambda: {}.", entry.fuel.best_power_lambda_source().say(units)),
        };
        if !lambda.contains(&text) {
            lambda.push(text);
        }
    }
    let lines: Vec<String> = [
        format!(
            "Fuel flow is that of {} = 1, each at its best-power lambda and the same efficiency; by volume is what \
             injectors and pump must give.",
            report.reference_name
        ),
        "Cooling is theoretical: all fuel evaporates and no wall gives heat. Ports and pistons take a part of it."
            .to_owned(),
        format!("Heat of vaporisation of mixture: per {} of stoichiometric air and fuel together.", match units {
            Units::Metric => "kg (lb)",
            Units::Us => "lb",
        }),
    ]
    .into_iter()
    .chain(lambda)
    .collect();
    bullets("Reading", lines.iter().map(String::as_str).collect())
}

/// The components of every fuel at its likely content.
fn parts(report: &FuelReport) -> String {
    let mut c = Columns::<(&str, &Part)>::new(Units::Metric);
    c.words("fuel", |(fuel, _)| (*fuel).to_owned()).at_most(NAME_LIMIT);
    c.words("component", |(_, part)| part.name.clone());
    c.number("volume", Share, |(_, part)| part.vol_frac).digits(1);
    c.number("mass", Share, |(_, part)| part.mass_frac).digits(1);
    c.number("moles", Share, |(_, part)| part.mole_frac).digits(1);
    let rows = report.fuels.iter().filter_map(|entry| Some((entry.fuel.name.as_str(), likely(entry)?)));
    let rows = rows.flat_map(|(name, state)| state.blend.parts.iter().map(move |part| (name, part)));
    format!("\nParts, at the likely content\n{}", c.text(rows))
}

fn likely(entry: &FuelEntry) -> Option<&FuelState> {
    entry.states.iter().find(|s| s.content == crate::fuel::Content::Likely)
}

fn notes(report: &FuelReport) -> String {
    let rule = &OCTANE_BLENDING;
    let mut lines = vec![format!(
        "Octane goes by mole fraction, and RON rises by Z x (1 - x) with ethanol at mole fraction x: Z = {} of a band \
         {} to {}, fitted to published blends and checked by leaving out one base at a time.",
        fixed(rule.z_ron, 0),
        fixed(*rule.z_ron_band.start(), 0),
        fixed(*rule.z_ron_band.end(), 0)
    )];
    for entry in &report.fuels {
        let mut said: Vec<String> = Vec::new();
        // At the ends of a sweep nothing new is said.
        for state in &entry.states {
            for concern in state.blend.octane_concerns() {
                let kind = std::mem::discriminant(&concern);
                let text = format!(
                    "{} at {} % ethanol: {concern}.",
                    entry.fuel.name,
                    percent(state.blend.ethanol_vol_frac, 1)
                );
                if !entry
                    .states
                    .iter()
                    .take_while(|s| *s != state)
                    .any(|s| s.blend.octane_concerns().iter().any(|c| std::mem::discriminant(c) == kind))
                {
                    said.push(text);
                }
            }
        }
        lines.extend(said);
    }
    bullets("Octane", lines.iter().map(String::as_str).collect())
}

fn unique<'a>(lines: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut kept: Vec<&str> = Vec::new();
    for line in lines {
        if !kept.contains(&line) {
            kept.push(line);
        }
    }
    kept
}

fn bullets(title: &str, lines: Vec<&str>) -> String {
    if lines.is_empty() {
        return String::new();
    }
    let body: String = lines.iter().map(|line| wrap("  - ", line)).collect();
    format!("\n{title}\n{body}")
}
