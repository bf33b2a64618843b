//! Wheel power of the builds over rpm on one fuel, and beside it what each makes more than the first.

use crate::estimate::Band;
use crate::estimate::compare::{BuildOnFuel, ComparedFuel, ComparedPoint};
use crate::report::Units;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{GREY, INK, LIMIT, Look, look};
use crate::report::quantity::Dimension::Power;
use crate::report::table::shorten;

/// Most characters of a name in the title and in the legend.
const NAME_LIMIT: usize = 40;

/// A file for the plot of a fuel, of what any system takes in a name.
pub(super) fn file_name(index: usize, fuel: &str) -> String {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c.to_ascii_lowercase() } else { '-' };
    let name: String = fuel.chars().take(NAME_LIMIT).map(plain).collect();
    let parts: Vec<&str> = name.split('-').filter(|part| !part.is_empty()).collect();
    format!("wheel-power-{}-{}.svg", index + 1, parts.join("-"))
}

/// The chart of one fuel.
pub(super) fn figure(fuel: &ComparedFuel, units: Units) -> Figure {
    let mut legend: Vec<Entry> = fuel
        .builds
        .iter()
        .enumerate()
        .map(|(i, build)| {
            let Look { colour, shape, .. } = look(i);
            let marks = [Mark::Line(None), Mark::Dots(shape, true)];
            Entry::new(shorten(&build.build, NAME_LIMIT), colour, &marks)
        })
        .collect();
    legend.push(Entry::new("10th to 90th percentile", GREY, &[Mark::Area]));
    let symbol = units.symbol(Power);
    let first = fuel.builds.first().map_or(String::new(), |build| shorten(&build.build, NAME_LIMIT));
    let powers = series(fuel, units, |p| Some(p.wheel_power_kw));
    let mut steps = series(fuel, units, |p| Some(p.power_difference_kw?.band));
    let speeds = || fuel.builds.iter().flat_map(|b| &b.curve).map(|p| p.speed_rpm);
    let ends = [speeds().fold(f64::INFINITY, f64::min), speeds().fold(0.0, f64::max)];
    let zero = ends.map(|rpm| (rpm, 0.0)).to_vec();
    steps.push(Series { mark: Mark::Line(LIMIT), colour: INK, points: zero });
    Figure {
        title: format!("{}: estimate of wheel power at the limit", shorten(&fuel.name, NAME_LIMIT)),
        legend,
        panels: vec![
            Panel::over_speed(format!("wheel power, {symbol}"), powers, &[]),
            Panel::over_speed(format!("more than {first}, {symbol}"), steps, &[0.0]),
        ],
    }
}

/// Bands first, so that no curve is covered.
fn series(
    fuel: &ComparedFuel,
    units: Units,
    of: impl Fn(&ComparedPoint) -> Option<Band> + Copy,
) -> Vec<Series> {
    let mut bands = Vec::new();
    let mut curves = Vec::new();
    for (i, build) in fuel.builds.iter().enumerate() {
        let Look { colour, shape, .. } = look(i);
        for run in runs(build, of) {
            let line = |pick: fn(&Band) -> f64| {
                run.iter().map(|(rpm, band)| (*rpm, units.of(Power, pick(band)))).collect::<Vec<_>>()
            };
            let mut outline = line(|b| b.low);
            outline.extend(line(|b| b.high).into_iter().rev());
            bands.push(Series { mark: Mark::Area, colour, points: outline });
            let likely = line(|b| b.likely);
            curves.push(Series { mark: Mark::Line(None), colour, points: likely.clone() });
            curves.push(Series { mark: Mark::Dots(shape, true), colour, points: likely });
        }
    }
    bands.extend(curves);
    bands
}

/// The speeds that have a band, in runs.
fn runs(build: &BuildOnFuel, of: impl Fn(&ComparedPoint) -> Option<Band>) -> Vec<Vec<(f64, Band)>> {
    let parts = build.curve.split(|p| of(p).is_none());
    let run =
        |part: &[ComparedPoint]| part.iter().filter_map(|p| Some((p.speed_rpm, of(p)?))).collect::<Vec<_>>();
    parts.map(run).filter(|run| !run.is_empty()).collect()
}
