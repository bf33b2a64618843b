//! What real engines make of the VE that pipes of usual sizes give: its level, kind by kind.

use super::{BuildKind, Injection, interpolate};

/// VE over that computed on usual valves, cam and pipes of a kind [-].
///
/// Fitted to the rows of `tests/data/engines`, each row counting alike; `tests/physics/engines/computed.rs` finds it again and
/// demands it. It stands for what the usual sizes and the gas dynamics of one pipe miss: cams and runners that move with rpm, ports
/// and valves that are better or worse than usual, cylinders that help or rob each other.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ComputedLevel {
    /// At peak torque [-].
    pub at_torque: f64,
    /// At peak power [-].
    pub at_power: f64,
    /// Half of the range from the 10th to the 90th percentile of what is left at peak torque with that level, rows left out one by one [-].
    pub half_width_at_torque: f64,
    /// The same at peak power [-].
    pub half_width_at_power: f64,
    /// Charge at inlet closing warmer than by the closed formulas, at peak torque and at peak power [K]: the median of the rows. The
    /// constants of knock, and the margins that makers accept, were found with the temperatures of the formulas, so only what a build is
    /// warmer than this counts.
    pub warmer_k: (f64, f64),
}

impl ComputedLevel {
    /// Level and half width at an rpm [-]: straight between both peaks, those of the nearer peak beyond them.
    pub fn at(&self, speed_rpm: f64, (torque_rpm, power_rpm): (f64, f64)) -> (f64, f64) {
        let between = |ends: [f64; 2]| interpolate(&[torque_rpm, power_rpm], &ends, speed_rpm);
        (
            between([self.at_torque, self.at_power]),
            between([self.half_width_at_torque, self.half_width_at_power]),
        )
    }

    /// By how much the charge of the kind is warmer than by the closed formulas at an rpm [K].
    pub fn warmer_k_at(&self, speed_rpm: f64, (torque_rpm, power_rpm): (f64, f64)) -> f64 {
        interpolate(&[torque_rpm, power_rpm], &[self.warmer_k.0, self.warmer_k.1], speed_rpm)
    }
}

/// Level and half width at peak torque, then at peak power, and how much warmer at both.
const fn level(
    (at_torque, half_width_at_torque): (f64, f64),
    (at_power, half_width_at_power): (f64, f64),
    warmer_k: (f64, f64),
) -> ComputedLevel {
    ComputedLevel { at_torque, at_power, half_width_at_torque, half_width_at_power, warmer_k }
}

impl BuildKind {
    /// Level of the computed VE of a kind. Race engines have no rows and take that of motorcycles, which have their pipes; carburetted
    /// engines have none with their torque and take at peak torque what holds at peak power.
    pub const fn computed_level(self, injection: Injection) -> ComputedLevel {
        match self {
            Self::CarburettedTwoValve => level((0.908, 0.085), (0.908, 0.085), (-4.0, -4.0)),
            Self::InjectedTwoValve => level((1.002, 0.102), (0.970, 0.147), (-3.0, -1.0)),
            Self::PerformanceTwoValve => level((0.999, 0.077), (0.990, 0.113), (-16.0, -11.0)),
            Self::ProductionFourValve => match injection {
                Injection::Port => level((1.087, 0.088), (1.038, 0.094), (17.0, 13.0)),
                Injection::Direct => level((1.113, 0.091), (1.122, 0.075), (14.0, 14.0)),
            },
            Self::SportFourValve => level((1.157, 0.059), (1.138, 0.063), (-3.0, -11.0)),
            Self::Motorcycle | Self::Race => level((1.115, 0.140), (1.083, 0.111), (-5.0, -8.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: from 0.90 at 4000 to 1.10 at 6000 rpm, 0.05 to 0.13 wide; a quarter of the way 0.95 and 0.07, and 2 of 8 K.
    #[test]
    fn the_level_is_straight_between_the_peaks_and_holds_beyond() {
        let level = level((0.90, 0.05), (1.10, 0.13), (0.0, 8.0));
        for (rpm, wanted) in [(3000.0, (0.90, 0.05)), (4500.0, (0.95, 0.07)), (7000.0, (1.10, 0.13))] {
            let found = level.at(rpm, (4000.0, 6000.0));
            assert!(
                (found.0 - wanted.0).abs() < 1e-12 && (found.1 - wanted.1).abs() < 1e-12,
                "{rpm}: {found:?}"
            );
        }
        assert!((level.warmer_k_at(4500.0, (4000.0, 6000.0)) - 2.0).abs() < 1e-12);
    }
}
