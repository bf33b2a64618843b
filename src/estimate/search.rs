//! One-dimensional searches by argmin's Brent solvers, over functions that may fail.

use argmin::core::{CostFunction, Error, Executor, IterState, Solver, State, TerminationReason};
use argmin::solver::brent::{BrentOpt, BrentRoot};

const MAX_ITERATIONS: u64 = 60;

/// A search ended without an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum SearchFault {
    /// The solver ran out of iterations.
    #[error("not converged after {iterations} iterations")]
    NotConverged {
        /// Iterations made.
        iterations: u64,
    },
    /// The function gave no finite number anywhere.
    #[error("no finite value found")]
    NoValue,
}

/// A function as the solvers take it.
struct Callable<F>(F);

impl<F: Fn(f64) -> Result<f64, Error>> CostFunction for Callable<F> {
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
/// The function's own error, or [`SearchFault`].
pub fn minimum(
    function: impl Fn(f64) -> Result<f64, Error>,
    (low, high): (f64, f64),
    relative: f64,
    absolute: f64,
) -> Result<f64, Error> {
    solved(function, BrentOpt::new(low, high).set_tolerance(relative, absolute))
}

/// Where a function that differs in sign at `low` and `high` is zero between them, by Brent's root finder; to
/// within `tolerance`.
///
/// # Errors
/// The function's own error, the solver's when both ends have one sign, or [`SearchFault`].
pub fn root(
    function: impl Fn(f64) -> Result<f64, Error>,
    (low, high): (f64, f64),
    tolerance: f64,
) -> Result<f64, Error> {
    solved(function, BrentRoot::new(low, high, tolerance))
}

/// The answer of a solver that converged.
fn solved<F: Fn(f64) -> Result<f64, Error>>(
    function: F,
    solver: impl Solver<Callable<F>, IterState<f64, (), (), (), (), f64>>,
) -> Result<f64, Error> {
    let result =
        Executor::new(Callable(function), solver).configure(|s| s.max_iters(MAX_ITERATIONS)).run()?;
    let state = result.state();
    if state.get_termination_reason() != Some(&TerminationReason::SolverConverged) {
        return Err(SearchFault::NotConverged { iterations: state.get_iter() }.into());
    }
    state.get_best_param().copied().ok_or_else(|| SearchFault::NoValue.into())
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

    /// A minimiser that may never be satisfied, and a jump so far from both ends that halving takes too long.
    #[test]
    fn a_search_that_does_not_converge_says_so() {
        let said = |found: Result<f64, Error>| found.unwrap_err().downcast::<SearchFault>().unwrap();
        let fault = SearchFault::NotConverged { iterations: MAX_ITERATIONS };
        assert_eq!(said(minimum(|x| Ok((x - 0.3).abs()), (0.0, 1.0), 0.0, 0.0)), fault);
        let jump = |x: f64| Ok(if x < 0.3 { -1.0 } else { 1.0 });
        assert_eq!(said(root(jump, (0.0, 1e200), 1e-9)), fault);
        assert_eq!(fault.to_string(), "not converged after 60 iterations");
        assert_eq!(said(minimum(|_| Ok(f64::NAN), (0.0, 1.0), 1e-3, 1e-3)), fault);
        assert_eq!(said(root(|_| Ok(f64::NAN), (0.0, 1.0), 1e-3)), SearchFault::NoValue);
    }
}
