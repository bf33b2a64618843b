//! A temperature by Newton's method.

/// Temperature [K] at which a quantity that rises with it meets its target, to 1e-10 of itself.
///
/// # Arguments
/// - `guess_k`: where the search begins [K]
/// - `off_and_slope`: how far the quantity lies above its target at a temperature, and its slope per kelvin
pub(crate) fn temperature_k(guess_k: f64, off_and_slope: impl Fn(f64) -> (f64, f64)) -> f64 {
    const MOST_STEPS: u32 = 30;
    let mut t = guess_k;
    for _ in 0..MOST_STEPS {
        let (off, slope) = off_and_slope(t);
        let step = off / slope;
        t -= step;
        if step.abs() < 1e-10 * t {
            break;
        }
    }
    t
}
