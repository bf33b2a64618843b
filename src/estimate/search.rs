//! One-dimensional searches: by argmin's Brent solvers, over functions that may fail; and by polynomials through what was tried,
//! which takes half as many trials of a smooth function that costs a cycle each.

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

/// A place tried, and the value there.
type Tried = (f64, f64);

/// Where a cubic says a place this many tolerances from the best, and the next one, with that place tried, says it again to within
/// so many, the place is good to the tolerance: between places so near to each other a bend of the function would show.
const NEAR: f64 = 20.0;
const CONFIRMED: f64 = 2.0;

/// Tries a smooth function where it is highest between `low` and `high`, of one top: by the cubic through the four places tried
/// nearest to it, three of them about `guess` first.
///
/// # Arguments
/// - `step`: between the first places
/// - `tolerance`: of the place
///
/// # Returns
/// The place tried where it is highest.
///
/// # Errors
/// [`SearchFault`], where the function is no number or of no one top.
pub fn top(
    mut function: impl FnMut(f64) -> f64,
    (low, high): (f64, f64),
    guess: f64,
    step: f64,
    tolerance: f64,
) -> Result<f64, SearchFault> {
    let mut tried: Vec<Tried> = Vec::with_capacity(8);
    tried.extend(first_places((low, high), guess, step).map(|place| (place, function(place))));
    let mut within = tolerance;
    for _ in 0..MAX_ITERATIONS {
        if tried.iter().any(|(_, value)| value.is_nan()) {
            return Err(SearchFault::NoValue);
        }
        let best = (1..tried.len()).fold(0, |best, i| if tried[i].1 > tried[best].1 { i } else { best });
        let (next, is_cubic) = next_top(&tried, best, step);
        let mut next = next.clamp(low, high);
        let off = tried.iter().map(|(place, _)| (place - next).abs()).fold(f64::INFINITY, f64::min);
        if off <= within {
            let place = tried[best].0;
            let distance = |(other, _): &Tried| (place - other).abs();
            let before = best.checked_sub(1).map_or(f64::INFINITY, |i| distance(&tried[i]));
            let after = tried.get(best + 1).map_or(f64::INFINITY, distance);
            if before.min(after) <= NEAR * tolerance {
                return Ok(place);
            }
            // Said by places far from it alone: one beside it, inside the ends, shows.
            let beside = 0.75 * NEAR * tolerance;
            next = if best == 0 { place + beside } else { place - beside };
        }
        let is_near = (next - tried[best].0).abs() <= NEAR * tolerance;
        within = if is_cubic && is_near { CONFIRMED * tolerance } else { tolerance };
        let at = tried.partition_point(|(other, _)| *other < next);
        tried.insert(at, (next, function(next)));
    }
    Err(SearchFault::NotConverged { iterations: MAX_ITERATIONS })
}

/// The places that [`top`] tries first.
pub fn first_places((low, high): (f64, f64), guess: f64, step: f64) -> [f64; 3] {
    let step = step.min(0.5 * (high - low));
    let middle = guess.min(high - step).max(low + step);
    [(middle - step).max(low), middle, (middle + step).min(high)]
}

/// Where the function is highest by what was tried of it, and whether a cubic says so.
fn next_top(tried: &[Tried], best: usize, step: f64) -> (f64, bool) {
    let last = tried.len() - 1;
    let first = best.saturating_sub(1).min(last - 2);
    let three = [tried[first], tried[first + 1], tried[first + 2]];
    let (left, slope, bend) = through(&three);
    let place = tried[best].0;
    if bend >= 0.0 || !bend.is_finite() {
        // A trough: on towards the higher side.
        return (if best == 0 { place - 2.0 * step } else { place + 2.0 * step }, false);
    }
    let parabola = left - 0.5 * slope / bend;
    if best == 0 || best == last {
        return (parabola.clamp(place - 2.0 * step, place + 2.0 * step), false);
    }
    // The fourth: the nearer of those beside the three.
    let distance = |i: usize| (tried[i].0 - place).abs();
    let fourth = match (first.checked_sub(1), (first + 3 <= last).then_some(first + 3)) {
        (Some(a), Some(b)) => Some(if distance(a) < distance(b) { a } else { b }),
        (a, b) => a.or(b),
    };
    let cubic = fourth.and_then(|fourth| {
        let (x, y) = tried[fourth];
        let along = x - left;
        let cube =
            (y - three[0].1 - along * (slope + along * bend)) / (along * (x - three[1].0) * (x - three[2].0));
        // Slope of the parabola and of cube (x - x0)(x - x1)(x - x2), zero beside the top of the parabola.
        let by = |x: f64| {
            let [a, b, c] = three.map(|(place, _)| x - place);
            (
                slope + 2.0 * bend * (x - left) + cube * (a * b + a * c + b * c),
                2.0 * (bend + cube * (a + b + c)),
            )
        };
        let mut x = parabola;
        for _ in 0..8 {
            let (value, slope) = by(x);
            x -= value / slope;
        }
        (by(x).1 < 0.0 && x > three[0].0 && x < three[2].0).then_some(x)
    });
    cubic.map_or((parabola, false), |x| (x, true))
}

/// The parabola through three places: its left end, its slope there and its bend, y0 + slope (x - x0) + bend (x - x0)^2.
fn through(three: &[Tried; 3]) -> (f64, f64, f64) {
    let [(x0, y0), (x1, y1), (x2, y2)] = *three;
    let (first, second) = ((y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1));
    let bend = (second - first) / (x2 - x0);
    (x0, first - bend * (x1 - x0), bend)
}

/// Rounds after which every second one halves the bracket, where polynomials have not found the zero.
const SOON: u64 = 8;

/// Tries a smooth function that falls, and is negative at the highest place of `tried`, where it is zero above `low`: by the
/// inverse parabola through the three places tried nearest to zero.
///
/// # Arguments
/// - `tried`: places and values, at least one
/// - `first_step`: down from a place of which nothing else is known
/// - `tolerances`: of the place or of the value, whichever is met first
///
/// # Returns
/// The place tried nearest to zero; none where the function is negative at `low`.
///
/// # Errors
/// [`SearchFault`], where the function is no number or does not fall.
pub fn root_below(
    mut function: impl FnMut(f64) -> f64,
    low: f64,
    mut tried: Vec<Tried>,
    first_step: f64,
    (of_place, of_value): (f64, f64),
) -> Result<Option<f64>, SearchFault> {
    for round in 0..MAX_ITERATIONS {
        if tried.iter().any(|(_, value)| value.is_nan()) {
            return Err(SearchFault::NoValue);
        }
        tried.sort_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        if tried[0].1.abs() <= of_value {
            return Ok(Some(tried[0].0));
        }
        let places = |is_negative: bool| {
            tried.iter().filter(move |(_, value)| (*value < 0.0) == is_negative).map(|(place, _)| *place)
        };
        let above = places(true).fold(f64::INFINITY, f64::min);
        let below = places(false).filter(|place| *place < above).fold(f64::NEG_INFINITY, f64::max);
        if above <= low {
            return Ok(None);
        }
        if above - below <= of_place {
            return Ok(Some(below));
        }
        // Off the bracket the polynomial says nothing: halfway, or on towards the lowest place.
        let said = next_root(&tried).filter(|place| below < *place && *place < above);
        let otherwise = if below.is_finite() { 0.5 * (below + above) } else { above - first_step };
        let next = said.filter(|_| round < SOON || round % 2 == 0).unwrap_or(otherwise).max(low);
        tried.push((next, function(next)));
    }
    Err(SearchFault::NotConverged { iterations: MAX_ITERATIONS })
}

/// Where the function is zero by the two or three places nearest to zero; none where they do not say.
fn next_root(tried: &[Tried]) -> Option<f64> {
    let near = &tried[..tried.len().min(3)];
    if near.len() < 2 {
        return None;
    }
    let term = |i: usize| -> f64 {
        let others = (0..near.len()).filter(|j| *j != i);
        others.map(|j| near[j].1 / (near[j].1 - near[i].1)).product::<f64>() * near[i].0
    };
    let place: f64 = (0..near.len()).map(term).sum();
    place.is_finite().then_some(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: 1 - (x - 2)^2 + (x - 2)^3 / 50 is highest at 2, x exp(-x / 5) at 5; what rises throughout is highest at its end.
    #[test]
    fn tries_the_top_of_a_smooth_function_few_times() {
        let counted = |of: &dyn Fn(f64) -> f64, ends, guess| {
            let mut count = 0;
            let trial = |x: f64| {
                count += 1;
                of(x)
            };
            let found = top(trial, ends, guess, 2.0, 0.02).unwrap();
            (found, count)
        };
        let cubic = |x: f64| 1.0 - (x - 2.0).powi(2) + (x - 2.0).powi(3) / 50.0;
        let (found, count) = counted(&cubic, (-8.0, 12.0), 3.0);
        assert!((found - 2.0).abs() < 0.02 && count <= 5, "{found} in {count}");
        let skew = |x: f64| x * (-x / 5.0).exp();
        for guess in [1.0, 4.0, 11.0] {
            let (found, count) = counted(&skew, (0.0, 30.0), guess);
            assert!((found - 5.0).abs() < 0.02 && count <= 9, "{found} in {count} from {guess}");
        }
        for (ends, end) in
            [((0.0, 3.0), 3.0), ((7.0, 30.0), 7.0), ((4.9, 4.9001), 4.9001), ((20.0, 20.5), 20.0)]
        {
            assert_eq!(counted(&skew, ends, 10.0).0, end, "{ends:?}");
        }
        assert_eq!(top(|_| f64::NAN, (0.0, 1.0), 0.5, 0.1, 0.01), Err(SearchFault::NoValue));
    }

    // HAND: 8 - x^3 / 8 is zero at 4, and below 0 from there on.
    #[test]
    fn tries_the_zero_of_a_falling_function_few_times() {
        let of = |x: f64| 8.0 - x * x * x / 8.0;
        let found = |low: f64, known: &[f64]| {
            let mut count = 0;
            let tried = known.iter().map(|x| (*x, of(*x))).collect();
            let trial = |x: f64| {
                count += 1;
                of(x)
            };
            (root_below(trial, low, tried, 1.0, (0.005, 0.001)).unwrap(), count)
        };
        for (known, most) in
            [(&[6.0, 5.0, 5.5][..], 3), (&[6.0][..], 6), (&[9.0][..], 9), (&[1.0, 6.0][..], 7)]
        {
            let (place, count) = found(-10.0, known);
            assert!(
                (place.unwrap() - 4.0).abs() < 0.005 && count <= most,
                "{place:?} in {count} from {known:?}"
            );
        }
        assert_eq!(found(4.5, &[6.0]).0, None);
        // What levels off below 0 has no zero, however flat it is.
        let flat = |x: f64| -5.0 - 1e-9 * x.sin() - (x - 10.0).exp();
        assert_eq!(root_below(flat, -10.0, vec![(9.0, flat(9.0))], 6.0, (0.01, 0.005)), Ok(None));
        assert_eq!(
            root_below(|_| f64::NAN, 0.0, vec![(1.0, -1.0)], 0.5, (0.01, 0.0)),
            Err(SearchFault::NoValue)
        );
    }

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
