//! A chart as data: panels side by side, series in them, a legend above them.

use super::axis::Axis;
use super::style::{Dash, Look, Shape, look};
use crate::estimate::{CurvePoint, Estimate, FuelEstimate};
use crate::report::table::shorten;
use plotters::style::RGBColor;

/// Steps wanted on an axis.
pub(super) const STEPS: usize = 6;
/// Most characters of a name in a title or a legend.
const NAME_LIMIT: usize = 44;

/// One chart as data: panels side by side under a title and a legend.
#[derive(Clone, Debug)]
pub struct Figure {
    pub(in crate::report) title: String,
    pub(in crate::report) legend: Vec<Entry>,
    pub(in crate::report) panels: Vec<Panel>,
}

/// One set of axes.
#[derive(Clone, Debug)]
pub(in crate::report) struct Panel {
    pub(super) x: Axis,
    pub(in crate::report) x_name: String,
    pub(super) y: Axis,
    pub(in crate::report) y_name: String,
    pub(in crate::report) series: Vec<Series>,
    /// Words on the curves, each in the middle of a point.
    pub(in crate::report) labels: Vec<((f64, f64), String)>,
    /// Words outside the axes: to the right of a value of y.
    pub(super) right_note: Option<(f64, &'static str)>,
    /// Words outside the axes: above a value of x.
    pub(super) top_note: Option<(f64, String)>,
}

/// How points are drawn.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) enum Mark {
    /// A line through the points.
    Line(Dash),
    /// Every so many dashes of a line through the points, for lines that lie on each other.
    Turn {
        /// Place among those that share the line, from 0.
        place: usize,
        /// How many share it.
        of: usize,
    },
    /// A marker on each point, filled or open.
    Dots(Shape, bool),
    /// A pale area whose outline the points are.
    Area,
}

/// Points drawn one way in one colour.
#[derive(Clone, Debug)]
pub(in crate::report) struct Series {
    pub(in crate::report) mark: Mark,
    pub(in crate::report) colour: RGBColor,
    pub(in crate::report) points: Vec<(f64, f64)>,
}

/// One line of the legend: its marks drawn over each other, and its words.
#[derive(Clone, Debug)]
pub(in crate::report) struct Entry {
    pub(in crate::report) label: String,
    pub(in crate::report) colour: RGBColor,
    pub(super) marks: Vec<Mark>,
}

impl Entry {
    /// An entry of the legend.
    pub(in crate::report) fn new(label: impl Into<String>, colour: RGBColor, marks: &[Mark]) -> Self {
        Self { label: label.into(), colour, marks: marks.to_vec() }
    }
}

impl Panel {
    /// A panel against engine speed whose y axis encloses its series and the given values.
    pub(in crate::report) fn over_speed(y_name: String, series: Vec<Series>, also: &[f64]) -> Self {
        Self::over("engine rpm", y_name, series, also)
    }

    /// A panel whose axes enclose its series, the y axis also the given values.
    pub(in crate::report) fn over(x_name: &str, y_name: String, series: Vec<Series>, also: &[f64]) -> Self {
        let xs = series.iter().flat_map(|s| &s.points).map(|p| p.0);
        let ys = series.iter().flat_map(|s| &s.points).map(|p| p.1).chain(also.iter().copied());
        let (x, y) = (Axis::enclosing(xs, STEPS), Axis::enclosing(ys, STEPS));
        Self {
            x,
            x_name: x_name.to_owned(),
            y,
            y_name,
            series,
            labels: Vec::new(),
            right_note: None,
            top_note: None,
        }
    }

    /// A pale ground from one x to another over the whole height, below everything else.
    pub(in crate::report) fn ground(&mut self, (from, to): (f64, f64), colour: RGBColor) {
        let (low, high) = (self.y.low(), self.y.high());
        let points = vec![(from, low), (to, low), (to, high), (from, high)];
        self.series.insert(0, Series { mark: Mark::Area, colour, points });
    }

    /// An upright line over the whole height, with words above it.
    pub(in crate::report) fn upright(&mut self, x: f64, mark: Mark, colour: RGBColor, words: String) {
        let points = vec![(x, self.y.low()), (x, self.y.high())];
        self.series.push(Series { mark, colour, points });
        self.top_note = Some((x, words));
    }

    /// Markers at values of x, on the axis.
    pub(in crate::report) fn on_the_axis(
        &mut self,
        xs: impl Iterator<Item = f64>,
        mark: Mark,
        colour: RGBColor,
    ) {
        let points = xs.map(|x| (x, self.y.low())).collect();
        self.series.push(Series { mark, colour, points });
    }
}

/// A number of a curve against speed, in runs that are broken where there is none.
pub(in crate::report) fn runs(
    curve: &[CurvePoint],
    value: impl Fn(&CurvePoint) -> Option<f64>,
) -> Vec<Vec<(f64, f64)>> {
    let parts = curve.split(|p| value(p).is_none());
    parts
        .map(|run| run.iter().filter_map(|p| Some((p.speed_rpm, value(p)?))).collect::<Vec<_>>())
        .filter(|run| !run.is_empty())
        .collect()
}

/// Title of a chart: the scenario, what is shown, and that it is an estimate.
pub(super) fn title(estimate: &Estimate, what: &str) -> String {
    format!("{}: estimate of {what}", shorten(&estimate.scenario, NAME_LIMIT))
}

/// The fuels in a legend, each by its marker.
pub(super) fn fuel_entries(estimate: &Estimate) -> Vec<Entry> {
    let entry = |(i, fuel): (usize, &FuelEstimate)| {
        let Look { colour, shape, .. } = look(i);
        Entry::new(fuel_name(fuel), colour, &[Mark::Dots(shape, true)])
    };
    estimate.fuels.iter().enumerate().map(entry).collect()
}

/// Name of a fuel in a legend.
pub(super) fn fuel_name(fuel: &FuelEstimate) -> String {
    shorten(&fuel.name, NAME_LIMIT)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::fixture;

    #[test]
    fn a_run_ends_where_there_is_no_number() {
        let mut fuel = fixture::estimate().fuels.swap_remove(0);
        fuel.curve[0].knock_limited_spark_deg_btdc = None;
        fuel.curve[3].knock_limited_spark_deg_btdc = None;
        let speeds: Vec<Vec<f64>> = runs(&fuel.curve, |p| p.knock_limited_spark_deg_btdc)
            .iter()
            .map(|run| run.iter().map(|p| p.0).collect())
            .collect();
        assert_eq!(speeds, [vec![3000.0, 4000.0], vec![6000.0, 7000.0]]);
    }
}
