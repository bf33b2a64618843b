//! Peak power of every fuel with its range, as numbers and as a picture beside them.

use super::{Report, short_name};
use crate::estimate::{Band, FuelEstimate};
use crate::report::plot::axis::Axis;
use crate::report::quantity::Dimension::Power;
use crate::report::quantity::{band_words, digits_for, fixed};
use maud::{Markup, html};

/// Steps of the scale under the bars.
const STEPS: usize = 4;

/// A row per fuel: low, likely, high at the timing to start from, and a bar on a scale that all share, with the target on it.
pub(super) fn ranges(report: &Report<'_>) -> Markup {
    let (fuels, units) = (&report.estimate.fuels, report.units);
    let shown = |kw: f64| units.of(Power, kw);
    let target = report.goal.map(|goal| shown(goal.wheel_power_kw));
    let bands = fuels.iter().map(|fuel| start_or_limit(fuel).0);
    let ends = bands.clone().flat_map(|band| [shown(band.low), shown(band.high)]);
    let scale = Axis::enclosing(ends.chain(target), STEPS);
    let digits = digits_for(bands.map(|band| shown(band.high)));
    let caption = format!("Peak wheel power, {}", units.symbol(Power));
    html! {
        table .ranges aria-label=(caption) {
            caption { (caption) }
            thead { tr {
                th scope="col" { "fuel" }
                @for head in ["low", "likely", "high"] { th scope="col" .n { (head) } }
                td aria-hidden="true" {
                    div .scale {
                        @for end in [scale.low(), scale.high()] { span { (fixed(end, scale.decimals)) } }
                    }
                }
            } }
            tbody {
                @for fuel in fuels {
                    @let (band, can_start) = start_or_limit(fuel);
                    tr {
                        th scope="row" { (short_name(&fuel.name)) @if !can_start { " *" } }
                        @for words in band_words(band, shown, digits) { td .n { (words) } }
                        td aria-hidden="true" { (bar(band, shown, &scale, target)) }
                    }
                }
            }
        }
    }
}

/// Whether some fuel is shown at its likely limit for want of a timing to start from.
pub(super) fn some_cannot_start(fuels: &[FuelEstimate]) -> bool {
    fuels.iter().any(|fuel| fuel.start_peak_power.is_none())
}

/// Peak wheel power at the timing to start from and true, or that at the likely limit where no timing is safe to start from.
fn start_or_limit(fuel: &FuelEstimate) -> (Band, bool) {
    fuel.start_peak_power.map_or((fuel.peak_power.wheel, false), |start| (start.wheel, true))
}

/// The band from low to high with a stroke at the likely value and one at the target.
fn bar(band: Band, shown: impl Fn(f64) -> f64, scale: &Axis, target: Option<f64>) -> Markup {
    let place = |value: f64| 100.0 * (value - scale.low()) / (scale.high() - scale.low());
    let [low, likely, high] = [band.low, band.likely, band.high].map(|kw| place(shown(kw)));
    let at = |percent: f64| format!("left:{}%", fixed(percent, 1));
    html! {
        div .range {
            div .band style={ (at(low)) ";width:" (fixed(high - low, 1)) "%" } {}
            div .likely style=(at(likely)) {}
            @if let Some(target) = target { div .target style=(at(place(target))) {} }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: on a scale from 80 to 120 a band of 90 / 100 / 110 begins at a quarter, is half as wide and has its stroke in the
    // middle; a target of 120 is at its end.
    #[test]
    fn a_bar_lies_where_its_numbers_do() {
        let scale = Axis { ticks: vec![80.0, 120.0], decimals: 0 };
        let band = Band { low: 90.0, likely: 100.0, high: 110.0 };
        let drawn = bar(band, |kw| kw, &scale, Some(120.0)).into_string();
        for part in ["left:25.0%;width:50.0%", "left:50.0%", "left:100.0%"] {
            assert!(drawn.contains(part), "{drawn}");
        }
    }
}
