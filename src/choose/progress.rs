//! How far a choice is.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Progress through the parts of a choice, told after every step, from any thread.
pub(super) struct Progress<'a> {
    tell: &'a (dyn Fn(f64) + Sync),
}

/// One part of the whole, from a share of it to another.
pub(super) struct ProgressPart<'a> {
    tell: &'a (dyn Fn(f64) + Sync),
    from: f64,
    to: f64,
    steps: usize,
    done: AtomicUsize,
}

impl<'a> Progress<'a> {
    pub(super) fn new(tell: &'a (dyn Fn(f64) + Sync)) -> Self {
        Self { tell }
    }

    /// A part of some steps between two shares of the whole.
    pub(super) fn part(&self, (from, to): (f64, f64), steps: usize) -> ProgressPart<'a> {
        ProgressPart { tell: self.tell, from, to, steps: steps.max(1), done: AtomicUsize::new(0) }
    }
}

impl ProgressPart<'_> {
    /// One step is done; more than were announced stay at the end.
    pub(super) fn step(&self) {
        let done = self.done.fetch_add(1, Ordering::Relaxed) + 1;
        let share = (done as f64 / self.steps as f64).min(1.0);
        (self.tell)(self.from + (self.to - self.from) * share);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Mutex;

    // HAND: four steps from 0.2 to 0.6 are 0.3, 0.4, 0.5, 0.6; a fifth stays.
    #[test]
    fn steps_share_their_part() {
        let said = Mutex::new(Vec::new());
        let tell = |share: f64| said.lock().unwrap().push((share * 10.0).round() / 10.0);
        let part = Progress::new(&tell).part((0.2, 0.6), 4);
        (0..5).for_each(|_| part.step());
        assert_eq!(*said.lock().unwrap(), [0.3, 0.4, 0.5, 0.6, 0.6]);
    }
}
