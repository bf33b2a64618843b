//! Work over several cases in parallel, its results and its error in the order of the cases.

use rayon::prelude::*;

/// What `run` makes of every item, in their order.
///
/// # Errors
/// That of the first item in order that fails, whatever the threads do: results are gathered before one is looked for.
pub(crate) fn in_order<'i, I: Sync, T: Send, E: Send>(
    items: &'i [I],
    run: impl Fn(&'i I) -> Result<T, E> + Sync + Send,
) -> Result<Vec<T>, E> {
    items.par_iter().map(run).collect::<Vec<_>>().into_iter().collect()
}

/// What `run` makes of every case at every speed [rpm]: all speeds of the first case, then of the next.
///
/// # Errors
/// As [`in_order`].
pub(crate) fn over_speeds<'i, I: Sync, T: Send, E: Send>(
    cases: &'i [I],
    speeds_rpm: &[f64],
    run: impl Fn(&'i I, f64) -> Result<T, E> + Sync + Send,
) -> Result<Vec<T>, E> {
    let pairs: Vec<(&'i I, f64)> =
        cases.iter().flat_map(|case| speeds_rpm.iter().map(move |speed| (case, *speed))).collect();
    in_order(&pairs, |(case, speed)| run(case, *speed))
}

/// Index of the greatest value; the first of equals.
pub(super) fn top_index<T>(items: &[T], value: impl Fn(&T) -> f64) -> usize {
    let mut top = 0;
    for (i, item) in items.iter().enumerate() {
        if value(item) > value(&items[top]) {
            top = i;
        }
    }
    top
}
