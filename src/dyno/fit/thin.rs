//! Fewest rpm between which straight lines still say what a curve says.

use crate::engine::interpolate;

/// Places of the points that are kept, rising: the ends, then wherever straight lines are farthest off.
///
/// # Arguments
/// - `curves`: one value per `x` each; the points serve all of them
/// - `tolerance`: distance of the lines from the curves that is left
/// - `most`: points that are kept at most
pub(super) fn thin(x: &[f64], curves: &[Vec<f64>], tolerance: f64, most: usize) -> Vec<usize> {
    let Some(last) = x.len().checked_sub(1) else { return Vec::new() };
    let mut kept = if last == 0 { vec![0] } else { vec![0, last] };
    while kept.len() < most {
        let off = |curve: &Vec<f64>, i: usize| {
            (interpolate(&at(x, &kept), &at(curve, &kept), x[i]) - curve[i]).abs()
        };
        let worst = |i: usize| curves.iter().map(|curve| off(curve, i)).fold(0.0, f64::max);
        let farthest = (0..x.len()).map(|i| (i, worst(i))).max_by(|a, b| a.1.total_cmp(&b.1));
        match farthest.filter(|(_, off)| *off > tolerance) {
            Some((i, _)) => kept.push(i),
            None => break,
        }
        kept.sort_unstable();
    }
    kept
}

/// The values at some places.
pub(super) fn at(values: &[f64], places: &[usize]) -> Vec<f64> {
    places.iter().filter_map(|i| values.get(*i).copied()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// HAND: a roof needs its ends and its ridge; a line needs its ends; a bound is kept.
    #[test]
    fn a_roof_is_three_points() {
        let x: Vec<f64> = (0..=20).map(f64::from).collect();
        let roof: Vec<f64> = x.iter().map(|x| 10.0 - (x - 8.0).abs()).collect();
        assert_eq!(thin(&x, std::slice::from_ref(&roof), 0.01, 16), [0, 8, 20]);
        assert_eq!(thin(&x, std::slice::from_ref(&x), 0.01, 16), [0, 20]);
        let wave: Vec<f64> = x.iter().map(|x| x.sin()).collect();
        assert_eq!(thin(&x, &[wave], 0.0, 5).len(), 5);
        assert_eq!(thin(&[3.0], &[vec![1.0]], 0.0, 5), [0]);
        assert_eq!(at(&roof, &[0, 8]), [2.0, 10.0]);
    }
}
