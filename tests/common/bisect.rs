//! Where a rising function passes a value.

/// Highest place of a range that is not beyond, after halving it a number of times.
pub fn bisect((mut low, mut high): (f64, f64), halvings: u32, mut is_beyond: impl FnMut(f64) -> bool) -> f64 {
    for _ in 0..halvings {
        let middle = 0.5 * (low + high);
        if is_beyond(middle) { high = middle } else { low = middle }
    }
    low
}
