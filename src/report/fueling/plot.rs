//! Fuel flow over rpm beside what the stated pump and injectors give.

use crate::fueling::{FuelNeed, Fueling, FuelingPoint};
use crate::report::Units;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{BEST_TORQUE, INK, LIMIT, Look, look};
use crate::report::quantity::Dimension::VolumeFlow;
use crate::report::quantity::percent;
use crate::report::table::shorten;
use plotters::style::RGBColor;

/// Most characters of a name in the title and in the legend.
const NAME_LIMIT: usize = 40;
const FUEL_LIMIT: usize = 22;

/// The flow of the engine with what the stated pump gives, and the rated flow of one injector with the stated one.
pub(super) fn figure(f: &Fueling, units: Units) -> Figure {
    let mut legend: Vec<Entry> = f
        .needs
        .iter()
        .enumerate()
        .map(|(i, need)| {
            let Look { colour, shape, .. } = look(i);
            let content = percent(need.ethanol_vol_frac, 0);
            let label = format!("{}, {content} % ethanol", shorten(&need.fuel, FUEL_LIMIT));
            Entry::new(label, colour, &[Mark::Line(None), Mark::Dots(shape, true)])
        })
        .collect();
    legend.push(Entry::new("likely; with markers the high end", INK, &[Mark::Line(LIMIT)]));
    let supply = &f.supply;
    let rated_unit = if units == Units::Us { "lb/h" } else { "cc/min" };
    let rated = |cc_per_min: f64| match units {
        Units::Metric => cc_per_min,
        Units::Us => supply.rated_lb_per_h(cc_per_min),
    };
    let pump =
        supply.pump_flow_l_per_h.map(|flow| units.of(VolumeFlow, flow / (1.0 + supply.pump_reserve_frac)));
    let injector = supply.injector_flow_cc_per_min.map(rated);
    if pump.is_some() || injector.is_some() {
        let words = "stated pump less its reserve; stated injector";
        legend.push(Entry::new(words, INK, &[Mark::Line(BEST_TORQUE)]));
    }
    let volume_unit = units.symbol(VolumeFlow);
    let flow = series(f, pump, &|_, p, high| {
        let band = p.fuel_flow_l_per_h;
        units.of(VolumeFlow, if high { band.high } else { band.likely })
    });
    let injectors = series(f, injector, &|need, p, high| {
        let band = p.fuel_flow_kg_per_s;
        let share = if high { band.high } else { band.likely } / need.peak_fuel_flow_kg_per_s.high;
        rated(share * need.injector_need_cc_per_min)
    });
    Figure {
        title: format!("{}: estimate of fuel flow", shorten(&f.scenario, NAME_LIMIT)),
        legend,
        panels: vec![
            Panel::over_speed(format!("fuel of the engine, {volume_unit}"), flow, &[0.0]),
            Panel::over_speed(
                format!("rated flow that each injector needs, {rated_unit}"),
                injectors,
                &[0.0],
            ),
        ],
    }
}

/// Each fuel and content at the likely and the high end, and what is stated.
fn series(
    f: &Fueling,
    stated: Option<f64>,
    of: &dyn Fn(&FuelNeed, &FuelingPoint, bool) -> f64,
) -> Vec<Series> {
    let line = |colour: RGBColor, mark: Mark, points: &[(f64, f64)]| Series {
        mark,
        colour,
        points: points.to_vec(),
    };
    let mut series = Vec::new();
    for (i, need) in f.needs.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        let [likely, high] = [false, true]
            .map(|high| need.curve.iter().map(|p| (p.speed_rpm, of(need, p, high))).collect::<Vec<_>>());
        series.push(line(colour, Mark::Line(LIMIT), &likely));
        series.push(line(colour, Mark::Line(None), &high));
        series.push(line(colour, Mark::Dots(shape, true), &high));
    }
    let speeds = f.needs.iter().flat_map(|need| &need.curve).map(|p| p.speed_rpm);
    let ends = (speeds.clone().fold(f64::INFINITY, f64::min), speeds.fold(0.0, f64::max));
    let stated = stated.map(|flow| [(ends.0, flow), (ends.1, flow)]);
    series.extend(stated.map(|points| line(INK, Mark::Line(BEST_TORQUE), &points)));
    series
}
