//! What parts and work cost, so that ways to a goal can be put in the order of a shop: cheapest first.

use super::parts::Lever;

/// Cost of each part with its work, all in one unit: money, or against cam and springs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Costs {
    /// Cam and springs.
    pub cam: f64,
    /// Ported head or larger valves.
    pub head: f64,
    /// Intake and exhaust.
    pub intake_exhaust: f64,
    /// Higher compression ratio: pistons, or the head cut.
    pub ratio: f64,
    /// Another fuel: injectors, pump, tune.
    pub fuel: f64,
    /// Rods, valve gear and bearings for more rpm.
    pub rpm: f64,
    /// Race cam, head, intake and exhaust together.
    pub race: f64,
    /// Whether they were stated, not the usual ones.
    pub is_stated: bool,
}

impl Costs {
    /// Usual costs against cam and springs, fitted and tuned (common practice, no source).
    pub const USUAL: Self = Self {
        cam: 1.0,
        head: 1.8,
        intake_exhaust: 1.2,
        ratio: 3.0,
        fuel: 0.5,
        rpm: 5.0,
        race: 9.0,
        is_stated: false,
    };

    /// Cost of one part.
    pub const fn of(&self, lever: Lever) -> f64 {
        match lever {
            Lever::Cam => self.cam,
            Lever::Head => self.head,
            Lever::IntakeExhaust => self.intake_exhaust,
            Lever::Ratio => self.ratio,
            Lever::Fuel => self.fuel,
            Lever::Rpm => self.rpm,
            Lever::RaceTopEnd => self.race,
        }
    }
}

impl Default for Costs {
    fn default() -> Self {
        Self::USUAL
    }
}
