//! Plots of a sweep of ethanol content.

use super::{FuelReport, check};
use crate::fuel::FuelState;
use crate::report::plot::figure::{Entry, Figure, Mark, Panel, Series};
use crate::report::plot::style::{INK, Look, look};
use crate::report::quantity::Dimension::{Evaporation, HeatByMass, HeatByVolume, TemperatureStep};
use crate::report::table::shorten;
use crate::report::{ReportError, Units};

const X_NAME: &str = "ethanol, % by volume";
/// Most characters of the fuel in a title.
const NAME_LIMIT: usize = 40;

/// The plots of a sweep.
///
/// - `ethanol-octane.svg`: RON with its band, MON and AKI
/// - `ethanol-heating-value.svg`: lower heating value by mass and by volume
/// - `ethanol-evaporation.svg`: heat of vaporisation per fuel and per stoichiometric mixture
/// - `ethanol-fuel-flow.svg`: stoichiometric air-fuel ratio; fuel flow at equal power
/// - `ethanol-cooling.svg`: theoretical cooling of the charge at best-power lambda
///
/// # Errors
/// [`ReportError`] when a number is not fit to be drawn.
pub(super) fn figures(report: &FuelReport, units: Units) -> Result<Vec<(String, Figure)>, ReportError> {
    check(report)?;
    let drawn = report.fuels.iter().flat_map(|entry| {
        let sweep =
            Sweep { name: &entry.fuel.name, states: &entry.states, reference: &report.reference, units };
        [
            ("ethanol-octane.svg", sweep.octane()),
            ("ethanol-heating-value.svg", sweep.heating_value()),
            ("ethanol-evaporation.svg", sweep.evaporation()),
            ("ethanol-fuel-flow.svg", sweep.fuel_flow()),
            ("ethanol-cooling.svg", sweep.cooling()),
        ]
    });
    Ok(drawn.map(|(name, figure)| (name.to_owned(), figure)).collect())
}

struct Sweep<'a> {
    name: &'a str,
    states: &'a [FuelState],
    reference: &'a FuelState,
    units: Units,
}

impl Sweep<'_> {
    /// Points against ethanol content.
    fn points(&self, value: impl Fn(&FuelState) -> f64) -> Vec<(f64, f64)> {
        self.states.iter().map(|s| (100.0 * s.blend.ethanol_vol_frac, value(s))).collect()
    }

    /// A curve over the sweep with a marker at the content of the fuel as sold.
    fn curve(&self, index: usize, value: impl Fn(&FuelState) -> f64) -> Vec<Series> {
        let Look { colour, dash, shape } = look(index);
        let sold = (100.0 * self.reference.blend.ethanol_vol_frac, value(self.reference));
        vec![
            Series { mark: Mark::Line(dash), colour, points: self.points(value) },
            Series { mark: Mark::Dots(shape, true), colour, points: vec![sold] },
        ]
    }

    fn panel(&self, y_name: String, series: Vec<Series>) -> Panel {
        Panel::over(X_NAME, y_name, series, &[])
    }

    fn figure(&self, what: &str, labels: &[&str], panels: Vec<Panel>) -> Figure {
        let mut legend: Vec<Entry> = labels
            .iter()
            .enumerate()
            .map(|(i, label)| {
                let Look { colour, dash, shape } = look(i);
                Entry::new(*label, colour, &[Mark::Line(dash), Mark::Dots(shape, true)])
            })
            .collect();
        let sold = format!("marker: {} as sold", shorten(self.name, NAME_LIMIT));
        legend.push(Entry::new(sold, INK, &[Mark::Dots(look(0).shape, true)]));
        Figure {
            title: format!("Ethanol in the base of {}: {what}", shorten(self.name, NAME_LIMIT)),
            legend,
            panels,
        }
    }

    fn octane(&self) -> Figure {
        let mut outline = self.points(|s| s.blend.octane.ron - s.blend.octane_band.below);
        let above = self.points(|s| s.blend.octane.ron + s.blend.octane_band.above);
        outline.extend(above.into_iter().rev());
        let mut series = vec![Series { mark: Mark::Area, colour: look(0).colour, points: outline }];
        series.extend(self.curve(0, |s| s.blend.octane.ron));
        series.extend(self.curve(1, |s| s.blend.octane.aki()));
        series.extend(self.curve(2, |s| s.blend.octane.mon));
        let mut figure = self.figure(
            "octane",
            &["RON", "AKI", "MON"],
            vec![self.panel("octane number".to_owned(), series)],
        );
        figure.legend.push(Entry::new("RON, 10th to 90th percentile", look(0).colour, &[Mark::Area]));
        figure
    }

    fn heating_value(&self) -> Figure {
        let units = self.units;
        // Numbers of five digits and more would run into the name of the axis.
        let (scale, times) = match units {
            Units::Metric => (1.0, ""),
            Units::Us => (1.0e-3, "1000 "),
        };
        let mass = self.curve(0, |s| scale * units.of(HeatByMass, s.blend.lhv_j_per_kg));
        let volume = self.curve(0, |s| scale * units.of(HeatByVolume, s.blend.lhv_j_per_m3()));
        self.figure(
            "lower heating value",
            &[],
            vec![
                self.panel(format!("by mass, {times}{}", units.symbol(HeatByMass)), mass),
                self.panel(format!("by volume, {times}{}", units.symbol(HeatByVolume)), volume),
            ],
        )
    }

    fn evaporation(&self) -> Figure {
        let units = self.units;
        let unit = units.symbol(Evaporation);
        let fuel = self.curve(0, |s| units.of(Evaporation, s.blend.hov_j_per_kg));
        let mixture = self.curve(0, |s| units.of(Evaporation, s.blend.hov_j_per_kg_mixture()));
        self.figure(
            "heat of vaporisation",
            &[],
            vec![
                self.panel(format!("of fuel, {unit}"), fuel),
                self.panel(format!("of stoichiometric mixture, {unit}"), mixture),
            ],
        )
    }

    fn fuel_flow(&self) -> Figure {
        let mut flow = self.curve(0, |s| s.volume_flow_ratio(self.reference));
        flow.extend(self.curve(1, |s| s.mass_flow_ratio(self.reference)));
        let air = self.curve(2, |s| s.blend.afr_stoich);
        self.figure(
            "fuel flow and air",
            &["flow by volume", "flow by mass", "air-fuel ratio"],
            vec![
                self.panel("fuel flow at equal power, as sold = 1".to_owned(), flow),
                self.panel("stoichiometric air-fuel ratio by mass".to_owned(), air),
            ],
        )
    }

    fn cooling(&self) -> Figure {
        let units = self.units;
        let cooling = self.curve(0, |s| units.of(TemperatureStep, s.charge_cooling_k));
        let name = format!("all fuel evaporated, no wall heat, {}", units.symbol(TemperatureStep));
        self.figure("theoretical charge cooling at best-power lambda", &[], vec![self.panel(name, cooling)])
    }
}
