//! Pressures and flow at the valves over crank angle, and VE over rpm with its parts.

use super::words::length;
use crate::engine::cam::EFFECTIVE_LIFT_M;
use crate::estimate::PipedBreathing;
use crate::estimate::pipe_curve::{PipedParts, ValveCycle, ValveTrace};
use crate::report::Units;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{GREY, INK, LIMIT, Look, look};
use crate::report::quantity::Dimension::{MassFlow, Pressure};
use crate::report::quantity::fixed;
use crate::report::table::shorten;
use plotters::style::RGBColor;

/// Most characters of a name in the title.
const NAME_LIMIT: usize = 40;
/// Crank angle shown beyond the valve events [deg].
const BEYOND_DEG: f64 = 20.0;
/// Highest cylinder pressure drawn [bar]: blowdown begins far above what pipes do.
const HIGHEST_BAR: f64 = 3.0;
/// What inlet and exhaust look like.
const INLET: usize = 0;
const EXHAUST: usize = 1;

/// The plots with their file names.
pub(super) fn figures(b: &PipedBreathing, units: Units) -> Vec<(String, Figure)> {
    let mut figures = vec![("valve-pressure.svg", pressures(b, units)), ("valve-flow.svg", flows(b, units))];
    figures.extend(b.parts.as_ref().map(|parts| ("volumetric-efficiency.svg", filling(b, parts))));
    figures.into_iter().map(|(name, figure)| (name.to_owned(), figure)).collect()
}

fn title(b: &PipedBreathing, what: &str) -> String {
    format!("{}: estimate of {what}", shorten(&b.scenario, NAME_LIMIT))
}

/// Crank angles that are shown: while a valve is open.
fn window(cycle: &ValveCycle) -> (f64, f64) {
    (cycle.exhaust_open_deg.0 - BEYOND_DEG, cycle.inlet_open_deg.1 + BEYOND_DEG)
}

fn line(cycle: &ValveCycle, index: usize, value: impl Fn(&ValveTrace) -> Option<f64>) -> Series {
    let (from, to) = window(cycle);
    let shown = cycle.trace.iter().filter(|at| (from..=to).contains(&at.crank_angle_deg));
    let points = shown.filter_map(|at| Some((at.crank_angle_deg, value(at)?))).collect();
    let Look { colour, dash, .. } = look(index);
    Series { mark: Mark::Line(dash), colour, points }
}

/// A panel over crank angle, the open periods of both valves as pale grounds.
fn over_crank(cycle: &ValveCycle, y_name: String, series: Vec<Series>, also: &[f64]) -> Panel {
    let name = "crank angle, deg after top dead centre of gas exchange";
    let mut panel = Panel::over(name, y_name, series, also);
    panel.ground(cycle.inlet_open_deg, look(INLET).colour);
    panel.ground(cycle.exhaust_open_deg, look(EXHAUST).colour);
    panel.upright(0.0, Mark::Line(LIMIT), GREY, "TDC".to_owned());
    panel
}

fn grounds(units: Units) -> [Entry; 2] {
    let lift = length(EFFECTIVE_LIFT_M, units);
    let open = |valve: &str, index: usize| {
        Entry::new(format!("{valve} open, {lift} of lift"), look(index).colour, &[Mark::Area])
    };
    [open("intake", INLET), open("exhaust", EXHAUST)]
}

fn entry(words: &str, index: usize) -> Entry {
    let Look { colour, dash, .. } = look(index);
    Entry::new(words, colour, &[Mark::Line(dash)])
}

fn pressures(b: &PipedBreathing, units: Units) -> Figure {
    let cycle = &b.cycle;
    let shown = |bar: f64| units.of(Pressure, bar);
    let mut series = vec![
        line(cycle, INLET, |at| Some(shown(at.inlet_pressure_bar))),
        line(cycle, EXHAUST, |at| Some(shown(at.exhaust_pressure_bar))),
    ];
    let in_cylinder =
        line(cycle, INLET, |at| at.cylinder_pressure_bar.filter(|bar| *bar <= HIGHEST_BAR).map(shown));
    series.push(Series { mark: Mark::Line(None), colour: INK, ..in_cylinder });
    let mut legend = vec![
        entry("runner before the intake valve", INLET),
        entry("primary behind the exhaust valve", EXHAUST),
        Entry::new("cylinder", INK, &[Mark::Line(None)]),
    ];
    legend.extend(grounds(units));
    Figure {
        title: title(b, &format!("pressures at the valves, {} rpm", fixed(cycle.speed_rpm, 0))),
        legend,
        panels: vec![over_crank(
            cycle,
            format!("pressure, {} absolute", units.symbol(Pressure)),
            series,
            &[0.0],
        )],
    }
}

fn flows(b: &PipedBreathing, units: Units) -> Figure {
    let cycle = &b.cycle;
    let flow = |kg_per_s: f64| Some(units.of(MassFlow, kg_per_s));
    let series = vec![
        line(cycle, INLET, |at| flow(at.inlet_flow_kg_per_s)),
        line(cycle, EXHAUST, |at| flow(at.exhaust_flow_kg_per_s)),
    ];
    let mut legend = vec![
        entry("through the intake, into the cylinder", INLET),
        entry("through the exhaust, out of it", EXHAUST),
    ];
    legend.extend(grounds(units));
    Figure {
        title: title(b, &format!("flow of one cylinder, {} rpm", fixed(cycle.speed_rpm, 0))),
        legend,
        panels: vec![over_crank(cycle, format!("flow, {}", units.symbol(MassFlow)), series, &[0.0])],
    }
}

/// A curve over rpm with its name.
type Named = (&'static str, RGBColor, Mark, fn(&PipedParts) -> f64);

fn filling(b: &PipedBreathing, parts: &[PipedParts]) -> Figure {
    let of = |index: usize| (look(index).colour, Mark::Line(look(index).dash));
    let ((runner, runner_mark), (primary, primary_mark)) = (of(INLET), of(EXHAUST));
    let curves: [Named; 4] = [
        ("as built", INK, Mark::Line(None), |p| p.volumetric_efficiency),
        ("no runner", runner, runner_mark, |p| p.without_runner),
        ("no primary", primary, primary_mark, |p| p.without_primary),
        ("neither", GREY, Mark::Line(LIMIT), |p| p.without_either),
    ];
    let series = curves.iter().map(|(_, colour, mark, value)| Series {
        mark: *mark,
        colour: *colour,
        points: parts.iter().map(|p| (p.speed_rpm, value(p))).collect(),
    });
    Figure {
        title: title(b, "VE with pipes taken away"),
        legend: curves.iter().map(|(words, colour, mark, _)| Entry::new(*words, *colour, &[*mark])).collect(),
        panels: vec![Panel::over_speed("VE".to_owned(), series.collect(), &[])],
    }
}
