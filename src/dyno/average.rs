//! A measured curve at any speed, and several pulls as one.

use super::log::{Pull, PullPoint};

/// A logged quantity over speed.
#[derive(Clone, Debug)]
pub(super) struct Curve {
    /// Speed [rpm] and value, by rising speed.
    points: Vec<(f64, f64)>,
    /// Half width of the window in which rows are averaged [rpm].
    window_rpm: f64,
}

/// Fewest rows in the window from which a straight line is fitted; with fewer the neighbours are joined.
const LEAST_IN_WINDOW: usize = 4;

impl Curve {
    /// The rows of a pull that hold the quantity.
    pub(super) fn new(pull: &Pull, window_rpm: f64, of: impl Fn(&PullPoint) -> Option<f64>) -> Self {
        let mut points: Vec<(f64, f64)> =
            pull.points.iter().filter_map(|p| Some((p.speed_rpm, of(p)?))).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        Self { points, window_rpm }
    }

    /// Value at a speed: the line of least squares through the rows of the window, or the line between the
    /// neighbours where rows are few; none outside the speeds of the pull.
    pub(super) fn at(&self, speed_rpm: f64) -> Option<f64> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        if speed_rpm < first.0 || speed_rpm > last.0 {
            return None;
        }
        let from = self.points.partition_point(|p| p.0 < speed_rpm - self.window_rpm);
        let to = self.points.partition_point(|p| p.0 <= speed_rpm + self.window_rpm);
        let near = &self.points[from..to];
        let has_both_sides =
            near.first().is_some_and(|p| p.0 <= speed_rpm) && near.last().is_some_and(|p| p.0 >= speed_rpm);
        if near.len() >= LEAST_IN_WINDOW && has_both_sides {
            return Some(Line::through(near).at(speed_rpm)).filter(|value| value.is_finite());
        }
        let above = self.points.partition_point(|p| p.0 < speed_rpm);
        let high = self.points.get(above)?;
        let Some(low) = above.checked_sub(1).and_then(|i| self.points.get(i)) else {
            return Some(high.1);
        };
        Some(low.1 + (high.1 - low.1) * (speed_rpm - low.0) / (high.0 - low.0))
    }
}

/// A line of least squares.
pub(super) struct Line {
    middle: (f64, f64),
    /// Rise of y per x; 0 where all x are one.
    pub(super) slope: f64,
}

impl Line {
    /// Through points.
    pub(super) fn through(points: &[(f64, f64)]) -> Self {
        let n = points.len() as f64;
        let mean = |of: fn(&(f64, f64)) -> f64| points.iter().map(of).sum::<f64>() / n;
        let (x, y) = (mean(|p| p.0), mean(|p| p.1));
        let (xx, xy) = points
            .iter()
            .fold((0.0, 0.0), |(xx, xy), p| (xx + (p.0 - x).powi(2), xy + (p.0 - x) * (p.1 - y)));
        Self { middle: (x, y), slope: if xx > 0.0 { xy / xx } else { 0.0 } }
    }

    /// Value of y at an x.
    pub(super) fn at(&self, x: f64) -> f64 {
        self.middle.1 + self.slope * (x - self.middle.0)
    }
}

/// Several pulls at one speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mean {
    /// Mean over the pulls.
    pub(super) value: f64,
    /// Highest less lowest, over the mean [-]; 0 with one pull.
    pub(super) spread_frac: f64,
}

/// Mean of the pulls at a speed; none unless every curve reaches it.
pub(super) fn mean_at(curves: &[Curve], speed_rpm: f64) -> Option<Mean> {
    let values: Vec<f64> = curves.iter().map(|curve| curve.at(speed_rpm)).collect::<Option<_>>()?;
    let value = values.iter().sum::<f64>() / values.len() as f64;
    let (low, high) =
        values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
    let mean = Mean { value, spread_frac: (high - low) / value };
    (mean.value.is_finite() && mean.spread_frac.is_finite()).then_some(mean)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn curve(points: &[(f64, f64)]) -> Curve {
        Curve { points: points.to_vec(), window_rpm: 125.0 }
    }

    /// HAND: a straight line is met between its points, many or few.
    #[test]
    fn a_straight_line_is_kept() {
        let dense: Vec<(f64, f64)> =
            (0..100).map(|i| (2000.0 + 20.0 * f64::from(i), 100.0 + f64::from(i))).collect();
        assert_relative_eq!(curve(&dense).at(2510.0).unwrap(), 125.5, epsilon = 1e-9);
        let sparse = curve(&[(2000.0, 100.0), (3000.0, 200.0), (4000.0, 100.0)]);
        assert_relative_eq!(sparse.at(2500.0).unwrap(), 150.0, epsilon = 1e-9);
        assert_relative_eq!(sparse.at(2000.0).unwrap(), 100.0, epsilon = 1e-9);
        assert_eq!(sparse.at(1999.0), None);
        assert_eq!(sparse.at(4001.0), None);
    }

    /// HAND: 100 and 104 are 102 in the mean and 4 apart.
    #[test]
    fn pulls_are_averaged_where_all_reach() {
        let both = [curve(&[(2000.0, 100.0), (3000.0, 100.0)]), curve(&[(2500.0, 104.0), (3500.0, 104.0)])];
        let mean = mean_at(&both, 2600.0).unwrap();
        assert_relative_eq!(mean.value, 102.0, epsilon = 1e-9);
        assert_relative_eq!(mean.spread_frac, 4.0 / 102.0, epsilon = 1e-9);
        assert_eq!(mean_at(&both, 2400.0), None);
    }
}
