//! A smooth curve through scattered rows that dips and spikes do not pull along: local regression with bisquare weights.
//!
//! Cleveland, W. S. (1979), Robust locally weighted regression and smoothing scatterplots, Journal of the American
//! Statistical Association 74, 829-836 (from memory): tricube weights over distance, local parabolas, and bisquare weights
//! of six median absolute residuals.

use nalgebra::{Matrix3, Vector3};

/// Passes of the bisquare weights.
const PASSES: usize = 8;
/// Median absolute residuals from which a row has no weight.
const NO_WEIGHT: f64 = 6.0;
/// Share of the largest residual from which a row has no weight after the first pass, where that is more; half after each other.
const FIRST_SHARE: f64 = 0.8;
/// Fewest rows of a local parabola.
const LEAST_ROWS: usize = 9;
/// Residual from which a row has no weight at the least, so that rows on a parabola have one.
const LEAST_RESIDUAL: f64 = 6e-9;

/// The smooth curve at each of some points.
///
/// # Arguments
/// - `points`: by rising x
/// - `half_width`: of the window in x; wider where it holds too few points
pub(super) fn smooth(points: &[(f64, f64)], half_width: f64) -> Vec<f64> {
    let mut robust = vec![1.0; points.len()];
    let (mut curve, mut share) = (Vec::new(), FIRST_SHARE);
    for _ in 0..PASSES {
        curve = (0..points.len()).map(|i| at(points, &robust, i, half_width)).collect();
        let off: Vec<f64> = points.iter().zip(&curve).map(|(p, c): (_, &f64)| (p.1 - c).abs()).collect();
        // The first curves still bend towards a dip: rows beside it must not lose their weight for that.
        let largest = off.iter().copied().fold(0.0, f64::max) * share;
        let most = (NO_WEIGHT * median(off.clone()).unwrap_or_default()).max(largest).max(LEAST_RESIDUAL);
        share *= 0.5;
        robust = off.iter().map(|off| bisquare(off / most)).collect();
    }
    curve
}

fn bisquare(share: f64) -> f64 {
    (1.0 - share.min(1.0).powi(2)).powi(2)
}

/// The local parabola at a point; the point itself where none is determined.
fn at(points: &[(f64, f64)], robust: &[f64], index: usize, half_width: f64) -> f64 {
    let x = points[index].0;
    let mut from = points.partition_point(|p| p.0 < x - half_width);
    let mut to = points.partition_point(|p| p.0 <= x + half_width);
    while to - from < LEAST_ROWS && (from > 0 || to < points.len()) {
        from = from.saturating_sub(1);
        to = (to + 1).min(points.len());
    }
    let near = &points[from..to];
    let reach = near.iter().map(|p| (p.0 - x).abs()).fold(half_width, f64::max) * 1.001;
    let (mut left, mut right) = (Matrix3::zeros(), Vector3::zeros());
    for (p, robust) in near.iter().zip(&robust[from..to]) {
        let d = (p.0 - x) / reach;
        let weight = (1.0 - d.abs().powi(3)).powi(3) * robust;
        let row = Vector3::new(1.0, d, d * d);
        left += row * row.transpose() * weight;
        right += row * (p.1 * weight);
    }
    let found = left.cholesky().map(|root| root.solve(&right)[0]);
    found.filter(|value| value.is_finite()).unwrap_or(points[index].1)
}

/// The middle value; the lower of two middles.
pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len().checked_sub(1)? / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// HAND: a parabola is kept, and a dip over a fifth of the window does not pull it along.
    #[test]
    fn a_parabola_is_kept_beside_a_dip() {
        let parabola = |x: f64| 5.0 + 0.1 * x - 0.02 * x * x;
        let clean: Vec<(f64, f64)> =
            (0..100).map(|i| (0.5 * f64::from(i), parabola(0.5 * f64::from(i)))).collect();
        for (p, c) in clean.iter().zip(smooth(&clean, 10.0)) {
            assert_relative_eq!(p.1, c, epsilon = 1e-6);
        }
        let mut dipped = clean.clone();
        dipped[50..58].iter_mut().for_each(|p| p.1 -= 3.0);
        for (p, c) in clean.iter().zip(smooth(&dipped, 10.0)) {
            assert_relative_eq!(p.1, c, epsilon = 0.02);
        }
    }
}
