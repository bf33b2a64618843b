//! One-dimensional searches by argmin's Brent solvers, over functions that may fail.

use argmin::core::{CostFunction, Error, Executor, State};
use argmin::solver::brent::{BrentOpt, BrentRoot};

const MAX_ITERATIONS: u64 = 60;

/// A function as the solvers take it.
struct Of<F>(F);

impl<F: Fn(f64) -> Result<f64, Error>> CostFunction for Of<F> {
    type Param = f64;
    type Output = f64;

    fn cost(&self, x: &f64) -> Result<f64, Error> {
        (self.0)(*x)
    }
}

/// Where a function of one minimum is least between `low` and `high`, by Brent's minimiser; to within
/// `relative` of x and `absolute`.
///
/// # Errors
/// The function's own error, or the solver's.
pub fn minimum(
    function: impl Fn(f64) -> Result<f64, Error>,
    (low, high): (f64, f64),
    relative: f64,
    absolute: f64,
) -> Result<f64, Error> {
    let solver = BrentOpt::new(low, high).set_tolerance(relative, absolute);
    let result = Executor::new(Of(function), solver).configure(|s| s.max_iters(MAX_ITERATIONS)).run()?;
    Ok(result.state().get_best_param().copied().unwrap_or(0.5 * (low + high)))
}

/// Where a function that differs in sign at `low` and `high` is zero between them, by Brent's root finder; to
/// within `tolerance`.
///
/// # Errors
/// The function's own error, or the solver's when both ends have one sign.
pub fn root(
    function: impl Fn(f64) -> Result<f64, Error>,
    (low, high): (f64, f64),
    tolerance: f64,
) -> Result<f64, Error> {
    let solver = BrentRoot::new(low, high, tolerance);
    let result = Executor::new(Of(function), solver).configure(|s| s.max_iters(MAX_ITERATIONS)).run()?;
    Ok(result.state().get_best_param().copied().unwrap_or(0.5 * (low + high)))
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: (x - 2)^2 is least at 2; x^3 - 8 is zero at 2.
    #[test]
    fn finds_a_minimum_and_a_root() {
        let least = minimum(|x| Ok((x - 2.0).powi(2)), (0.0, 5.0), 1e-6, 1e-6).unwrap();
        assert!((least - 2.0).abs() < 1e-4, "{least}");
        let zero = root(|x| Ok(x.powi(3) - 8.0), (0.0, 5.0), 1e-9).unwrap();
        assert!((zero - 2.0).abs() < 1e-6, "{zero}");
    }

    #[test]
    fn an_error_of_the_function_comes_back() {
        let failing = |_| Err(Error::msg("out of range"));
        assert!(minimum(failing, (0.0, 1.0), 1e-3, 1e-3).unwrap_err().to_string().contains("out of range"));
        assert!(root(|x| Ok(1.0 + x), (0.0, 1.0), 1e-3).is_err(), "no change of sign");
    }
}
