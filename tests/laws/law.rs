//! What a law is, and what is found of it over many builds.

use crate::bench::Bench;

/// A law of the model: a function of a build that compares what must agree or must be in order.
pub struct Law {
    /// What is claimed.
    pub name: &'static str,
    /// Why it must be so.
    pub reason: &'static str,
    /// What is allowed of a difference, relative to the quantity or the scale that the law names.
    pub tolerance: f64,
    /// Why that much.
    pub why_tolerance: &'static str,
    /// When it holds; builds outside are not counted.
    pub when: &'static str,
    /// It is tried on one build of so many; dear laws on fewer.
    pub every: u64,
    /// The comparisons.
    pub holds: fn(&Bench, &mut Tally),
}

/// What was found of one law.
#[derive(Clone, Debug, Default)]
pub struct Tally {
    tolerance: f64,
    /// Builds on which something was compared.
    pub builds: u64,
    /// Largest difference found of things that must be equal, relative.
    pub largest_residual: Option<f64>,
    /// Smallest step found of things that must be in order, relative; negative where they are not.
    pub smallest_step: Option<f64>,
    /// Failed comparisons, with both values.
    pub failures: Vec<String>,
    /// Number of failed builds.
    pub failed: u64,
    compared: bool,
}

/// Failures told in full; more of one law say nothing new.
const TOLD: usize = 3;

impl Tally {
    /// Tries a law on one build.
    pub fn of(law: &Law, bench: &Bench) -> Self {
        let mut tally = Self { tolerance: law.tolerance, ..Self::default() };
        if bench.seed.is_multiple_of(law.every) {
            (law.holds)(bench, &mut tally);
        }
        tally.builds = u64::from(tally.compared);
        if !tally.failures.is_empty() {
            tally.failed = 1;
            let what = tally.failures.join("\n  ");
            tally.failures = vec![format!("law: {}\n  {what}\n  {}", law.name, bench.describe())];
        }
        tally
    }

    /// Two findings together.
    pub fn and(mut self, other: Self) -> Self {
        let either = |a: Option<f64>, b: Option<f64>, pick: fn(f64, f64) -> f64| match (a, b) {
            (Some(a), Some(b)) => Some(pick(a, b)),
            (a, b) => a.or(b),
        };
        self.builds += other.builds;
        self.failed += other.failed;
        self.largest_residual = either(self.largest_residual, other.largest_residual, f64::max);
        self.smallest_step = either(self.smallest_step, other.smallest_step, f64::min);
        self.failures.extend(other.failures);
        self.failures.truncate(TOLD);
        self
    }

    /// Two values must agree, to the tolerance of `scale`.
    pub fn near(&mut self, what: &str, found: f64, wanted: f64, scale: f64) {
        let residual = (found - wanted).abs() / scale.abs();
        self.compared = true;
        self.largest_residual = Some(self.largest_residual.unwrap_or(0.0).max(residual));
        // Not `residual > tolerance`: what is not a number must fail.
        if !(residual <= self.tolerance) {
            self.failures.push(format!("{what}: {found:.9e} is not {wanted:.9e}, off by {residual:.2e}"));
        }
    }

    /// Two values must agree, to the tolerance relative to the second.
    pub fn equal(&mut self, what: &str, found: f64, wanted: f64) {
        // Zero has no relative error: 0 and 0 agree.
        let scale = if found == wanted { 1.0 } else { wanted };
        self.near(what, found, wanted, scale);
    }

    /// The first value must be below the second, strictly and whatever the tolerance.
    pub fn less(&mut self, what: &str, lesser: f64, greater: f64) {
        self.step(what, lesser, greater, |step| step > 0.0);
    }

    /// The first value must not be above the second by more than the tolerance, relative.
    pub fn at_most(&mut self, what: &str, lesser: f64, greater: f64) {
        let tolerance = self.tolerance;
        self.step(what, lesser, greater, |step| step >= -tolerance);
    }

    fn step(&mut self, what: &str, lesser: f64, greater: f64, is_good: impl Fn(f64) -> bool) {
        let scale = greater.abs().max(lesser.abs()).max(f64::MIN_POSITIVE);
        let step = (greater - lesser) / scale;
        self.compared = true;
        self.smallest_step = Some(self.smallest_step.unwrap_or(f64::INFINITY).min(step));
        if !is_good(step) {
            self.failures.push(format!("{what}: {lesser:.9e} must be below {greater:.9e}, step {step:.2e}"));
        }
    }

    /// A claim that is no comparison of two numbers.
    pub fn claim(&mut self, what: &str, is_so: bool, both: impl std::fmt::Debug) {
        self.compared = true;
        if !is_so {
            self.failures.push(format!("{what}: {both:?}"));
        }
    }
}
