//! MBT timing by search, and the most advanced timing that knock allows.

use super::point::{AtSpark, Point};
use super::search::{SearchFault, first_places, root_below, top};
use schemars::JsonSchema;
use serde::Serialize;

/// Window of CA50 that holds MBT timing [deg after top dead centre].
const EARLIEST_CA50_DEG: f64 = -6.0;
const WINDOW_DEG: f64 = 30.0;
/// How far on either side of where MBT timing usually is it is looked for first [deg].
const FIRST_STEP_DEG: f64 = 6.0;
/// How closely MBT timing is searched [deg].
const SPARK_TOLERANCE_DEG: f64 = 0.02;
/// How closely the knock limit is searched: in timing [deg], or in octane number [-], of which a degree is some 0.3 to 0.6
/// (seen in this model).
const LIMIT_TOLERANCES: (f64, f64) = (0.01, 0.004);

/// Safety margin between the knock limit and the timing of the map.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Reserve {
    /// Octane numbers.
    Octane(f64),
    /// Degrees of timing.
    Degrees(f64),
}

/// Range in which timing may be set [deg before top dead centre].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SparkRange {
    /// Most advanced.
    pub earliest_deg_btdc: f64,
    /// Most retarded; negative is after top dead centre.
    pub latest_deg_btdc: f64,
}

impl SparkRange {
    /// The range taken where none is stated (common practice, no source).
    pub const USUAL: Self = Self { earliest_deg_btdc: 50.0, latest_deg_btdc: -10.0 };
}

/// Timings of one point that are searched, with all that has been run.
pub struct TimingSearch<'p, 'a, R> {
    point: &'p Point<'a>,
    run: R,
    range: SparkRange,
    runs: Vec<AtSpark>,
}

impl<'p, 'a, R: FnMut(&[f64]) -> Vec<AtSpark>> TimingSearch<'p, 'a, R> {
    /// Nothing run as yet.
    ///
    /// # Arguments
    /// - `range`: latest after earliest, however narrow
    /// - `run`: runs the point at some timings [deg before top dead centre], as [`super::point::Timings::at_sparks`] does
    pub fn new(point: &'p Point<'a>, range: SparkRange, run: R) -> Self {
        Self { point, run, range, runs: Vec::with_capacity(12) }
    }

    /// Runs the point at a timing [deg before top dead centre], once.
    pub fn at(&mut self, spark_deg_btdc: f64) -> AtSpark {
        if let Some(run) = self.runs.iter().find(|run| run.spark_deg_btdc == spark_deg_btdc) {
            return *run;
        }
        let run = (self.run)(&[spark_deg_btdc])[0];
        self.runs.push(run);
        run
    }

    /// Timing of best brake torque within the range.
    ///
    /// Torque has one maximum over timing, and it lies in the usual window of CA50: where that window and the range meet, it is
    /// searched there; where they do not, at the end of the range next to the window.
    ///
    /// # Errors
    /// [`SearchFault`], which is not expected on a finite torque.
    pub fn best_torque(&mut self) -> Result<AtSpark, SearchFault> {
        let (earliest, latest) = (self.range.earliest_deg_btdc, self.range.latest_deg_btdc);
        let inside = |spark: f64| spark.min(earliest).max(latest);
        let most = self.point.spark_for_ca50(EARLIEST_CA50_DEG);
        let (low, high) = (inside(most - WINDOW_DEG), inside(most));
        // Some width is left to search where window and range hardly meet.
        let ends = (inside(low.min(high - 1.0)), inside(high.max(low + 1.0)));
        let guess = self.point.near_mbt_spark();
        // Side by side, with one more where knock may set the timing, which costs nothing besides.
        let [low, middle, high] = first_places(ends, guess, FIRST_STEP_DEG);
        let lower = inside(low - FIRST_STEP_DEG);
        self.runs.extend((self.run)(&[lower, low, middle, high]));
        let made = |spark| self.at(spark).bmep_bar();
        let spark = top(made, ends, guess, FIRST_STEP_DEG, SPARK_TOLERANCE_DEG)?;
        Ok(self.at(spark))
    }

    /// Most advanced timing, at most `most_deg_btdc`, at which the octane margin keeps the safety margin; none when
    /// the most retarded timing of the range does not. The margin is monotone in timing.
    ///
    /// # Errors
    /// [`SearchFault`], which is not expected on a finite margin.
    pub fn knock_limit(
        &mut self,
        most_deg_btdc: f64,
        octane_index: f64,
        reserve: f64,
    ) -> Result<Option<AtSpark>, SearchFault> {
        let point = self.point;
        let margin = |at: &AtSpark| octane_index - point.octane_requirement(at.integral_at_100) - reserve;
        let most = self.at(most_deg_btdc);
        if margin(&most) >= 0.0 {
            return Ok(Some(most));
        }
        let known = self.runs.iter().filter(|run| run.spark_deg_btdc <= most_deg_btdc);
        let known = known.map(|run| (run.spark_deg_btdc, margin(run))).collect();
        let latest = self.range.latest_deg_btdc;
        let kept = |spark| margin(&self.at(spark));
        let found = root_below(kept, latest, known, FIRST_STEP_DEG, LIMIT_TOLERANCES)?;
        Ok(found.map(|spark| self.at(spark)))
    }
}

/// Timing of best brake torque within a range; see [`TimingSearch::best_torque`].
///
/// # Errors
/// As there.
pub fn best_torque_spark(point: &Point<'_>, range: SparkRange) -> Result<AtSpark, SearchFault> {
    let mut timings = point.timings();
    TimingSearch::new(point, range, |sparks| timings.at_sparks(sparks)).best_torque()
}

/// Most advanced timing that keeps a safety margin [deg before top dead centre]; see [`TimingSearch::knock_limit`].
///
/// # Errors
/// As there.
pub fn knock_limited_spark(
    point: &Point<'_>,
    most_deg_btdc: f64,
    octane_index: f64,
    reserve: f64,
    range: SparkRange,
) -> Result<Option<f64>, SearchFault> {
    let mut timings = point.timings();
    let mut search = TimingSearch::new(point, range, |sparks| timings.at_sparks(sparks));
    let found = search.knock_limit(most_deg_btdc, octane_index, reserve)?;
    Ok(found.map(|run| run.spark_deg_btdc))
}
