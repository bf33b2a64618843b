//! What the inlet closing does to volumetric efficiency over speed.
//!
//! A cylinder that closes its inlet away from the best angle for its speed keeps what the piston sweeps from there: the share that
//! the slider-crank leaves at so many degrees beside bottom centre, of all that it sweeps. The best angle grows with speed in proportion,
//! for the inflow needs its time: Taylor (`from memory`), as the best Mach index of port flow goes with the closing; Asmus, SAE 820749
//! (as another paper quotes it), has VE grow with later closing at higher speed, and backflow as its price. At its speed of
//! best VE the stated cam stands at its best angle; near standstill, where bottom centre is best, what is left is the ratio of
//! the swept volumes at the two closings. No constant is fitted.
//!
//! 10 deg later than 60 leave 4 % less at half that speed and 3 % more at one and a half times. The signs at low and high rpm
//! are those of the two published dyno tests of `tests/physics/closing.rs`.

/// How far the closing may lie from that of the kind and still count as the usual one [deg]: cards and degree wheels do not agree
/// better (common practice, no source).
pub const USUAL_WITHIN_DEG: f64 = 5.0;
/// Speed over that of best VE from which the best angle stays [-]: ports and pipes choke there, not the closing.
const FARTHEST: f64 = 1.6;

/// Inlet closings between which VE is compared [deg after bottom dead centre, at about 1 mm of lift].
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Closings {
    /// As the engine has it now.
    pub now_deg: f64,
    /// Of the engine as its peaks are stated.
    pub stated_deg: f64,
    /// Usual for its kind.
    pub usual_deg: f64,
    /// Crank radius over rod length [-].
    pub crank_to_rod: f64,
}

impl Closings {
    /// Share of the swept volume that is left at an angle beside bottom dead centre [-]: the slider-crank to the second order in
    /// crank over rod (any text on machine dynamics).
    fn kept(&self, off_deg: f64) -> f64 {
        let (sin, cos) = off_deg.to_radians().sin_cos();
        1.0 - 0.5 * (1.0 - cos) + 0.25 * self.crank_to_rod * sin * sin
    }

    /// Factor on the VE of the kind with its stated peaks [-].
    ///
    /// # Arguments
    /// - `along`: speed over that of best VE [-]
    ///
    /// # Returns
    /// What the closing makes now against the stated one, times, below best VE, what the stated one makes against a usual one: a
    /// cam that is long for its kind falls off more.
    pub fn factor(&self, along: f64) -> f64 {
        let best_deg = self.stated_deg * along.min(FARTHEST);
        let moved = self.kept(self.now_deg - best_deg) / self.kept(self.stated_deg - best_deg);
        let below = (1.0 - along).max(0.0);
        let usual_deg =
            self.stated_deg.clamp(self.usual_deg - USUAL_WITHIN_DEG, self.usual_deg + USUAL_WITHIN_DEG);
        moved * self.kept(self.stated_deg * below) / self.kept(usual_deg * below)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    const USUAL: Closings = Closings { now_deg: 60.0, stated_deg: 60.0, usual_deg: 58.0, crank_to_rod: 0.30 };

    // HAND: 30 deg beside bottom 0.5 0.13397 - 0.075 0.25 = 0.06699 - 0.01875 = 0.04824 is lost; 40 deg: 0.5 0.23396 -
    // 0.075 0.41318 = 0.11698 - 0.03099 = 0.08599. At half speed the best closing is 30: 0.91401 / 0.95176 = 0.96034.
    #[test]
    fn later_and_earlier_by_hand() {
        assert_relative_eq!(USUAL.kept(30.0), 0.951_76, epsilon = 1e-5);
        let later = Closings { now_deg: 70.0, ..USUAL };
        assert_relative_eq!(later.factor(0.5), 0.960_34, epsilon = 1e-4);
        // At standstill the swept volumes of 70 and of 60 deg.
        assert_relative_eq!(later.factor(0.0), USUAL.kept(70.0) / USUAL.kept(60.0), epsilon = 1e-12);
    }

    #[test]
    fn a_usual_cam_as_stated_changes_nothing() {
        for along in [0.0, 0.3, 0.7, 1.0, 1.3, 2.5] {
            assert_eq!(USUAL.factor(along), 1.0);
        }
    }

    #[test]
    fn a_long_cam_for_its_kind_falls_off_more_below_its_best_alone() {
        let long = Closings { now_deg: 75.0, stated_deg: 75.0, ..USUAL };
        let short = Closings { now_deg: 45.0, stated_deg: 45.0, ..USUAL };
        for along in [0.2, 0.5, 0.8] {
            assert!(long.factor(along) < 1.0 && short.factor(along) > 1.0, "{along}");
        }
        assert_relative_eq!(long.factor(1.0), 1.0, epsilon = 1e-12);
        assert_relative_eq!(long.factor(1.4), 1.0, epsilon = 1e-12);
    }

    #[test]
    fn later_closing_turns_the_curve_about_its_best() {
        let at = |now_deg: f64, along: f64| Closings { now_deg, ..USUAL }.factor(along);
        for (along, later_fills_more) in
            [(0.3, false), (0.6, false), (0.7, false), (1.3, true), (1.6, true), (3.0, true)]
        {
            let all = [45.0, 50.0, 55.0, 60.0, 65.0, 70.0].map(|now_deg| at(now_deg, along));
            let does_rise = all.windows(2).all(|w| w[1] > w[0]);
            let does_fall = all.windows(2).all(|w| w[1] < w[0]);
            assert!(if later_fills_more { does_rise } else { does_fall }, "{along}: {all:?}");
        }
    }
}
