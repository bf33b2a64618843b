//! Measured torque and power over the band of the estimate.

use super::super::Units;
use super::super::plot::figure::{Entry, Figure, Mark, Panel, Series};
use super::super::plot::style::{Look, look};
use super::super::table::shorten;
use super::words;
use crate::dyno::{ComparedPoint, Judgement};
use crate::report::quantity::Dimension::{Power, Torque};
use crate::units::rpm_to_rad_per_s;

/// Most characters of a name in the title.
const NAME_LIMIT: usize = 64;

/// The chart.
pub(super) fn figure(j: &Judgement, units: Units) -> Figure {
    let (estimate, measured) = (look(0), look(1));
    let place = j.place.word();
    let to_power = |p: &ComparedPoint, nm: f64| units.of(Power, nm * rpm_to_rad_per_s(p.speed_rpm) / 1e3);
    let pulls = match j.pulls.len() {
        1 => "one pull".to_owned(),
        count => format!("mean of {count} pulls"),
    };
    let legend = vec![
        Entry::new(
            format!("measured, {pulls}, uncorrected"),
            measured.colour,
            &[Mark::Line(None), Mark::Dots(measured.shape, true)],
        ),
        Entry::new(
            format!("estimate on {}, likely", shorten(&j.fuel, NAME_LIMIT)),
            estimate.colour,
            &[Mark::Line(Some((5, 5)))],
        ),
        Entry::new("estimate, 10th to 90th percentile", estimate.colour, &[Mark::Area]),
    ];
    Figure {
        title: format!("{}: {}", shorten(&j.log, NAME_LIMIT), words::verdict(j.verdict).to_lowercase()),
        legend,
        panels: vec![
            Panel::over_speed(
                format!("{place} torque, {}", units.symbol(Torque)),
                series(j, [estimate, measured], |_, nm| units.of(Torque, nm)),
                &[],
            ),
            Panel::over_speed(
                format!("{place} power, {}", units.symbol(Power)),
                series(j, [estimate, measured], to_power),
                &[],
            ),
        ],
    }
}

/// Band first, so that no curve is covered.
fn series(
    j: &Judgement,
    [estimate, measured]: [Look; 2],
    convert: impl Fn(&ComparedPoint, f64) -> f64,
) -> Vec<Series> {
    let line = |of: fn(&ComparedPoint) -> f64| -> Vec<(f64, f64)> {
        j.curve.iter().map(|p| (p.speed_rpm, convert(p, of(p)))).collect()
    };
    let mut outline = line(|p| p.estimate_low_torque_nm);
    outline.extend(line(|p| p.estimate_high_torque_nm).into_iter().rev());
    let found = line(|p| p.torque_nm);
    vec![
        Series { mark: Mark::Area, colour: estimate.colour, points: outline },
        Series {
            mark: Mark::Line(Some((5, 5))),
            colour: estimate.colour,
            points: line(|p| p.estimate_likely_torque_nm),
        },
        Series { mark: Mark::Line(None), colour: measured.colour, points: found.clone() },
        Series { mark: Mark::Dots(measured.shape, true), colour: measured.colour, points: found },
    ]
}
