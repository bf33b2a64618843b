//! From crank to wheel.

/// Driveline layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Front-wheel drive, manual gearbox.
    FrontManual,
    /// Rear-wheel drive, manual gearbox.
    RearManual,
    /// Front-wheel drive, automatic gearbox.
    FrontAutomatic,
    /// Rear-wheel drive, automatic gearbox.
    RearAutomatic,
    /// All wheels driven.
    AllWheel,
    /// Two wheels driven, how is not known.
    Unstated,
}

/// The driveline of a build.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driveline {
    /// Layout, which gives the band of loss.
    pub layout: Layout,
    /// Measured loss as a fraction of crank power [-], 0.02 to 0.40, where known.
    pub measured_loss: Option<f64>,
    /// Relative half-width of the 10-90 % band of a measured loss [-], 0.01 to 0.60; the usual one where none is
    /// stated.
    pub measured_loss_spread: Option<f64>,
}

/// Loss between crank and wheel hub or roller at peak power, as a fraction of crank power.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LossBand {
    /// 10th percentile [-].
    pub low: f64,
    /// Likely [-].
    pub likely: f64,
    /// 90th percentile [-].
    pub high: f64,
}

/// Share of the loss that is drag torque, there at any load; the rest goes with the torque
/// carried (common practice, no source).
const DRAG_SHARE: f64 = 0.4;
/// Relative 10-90 % half-width of a loss that was measured (common practice, no source).
const MEASURED_SPREAD: f64 = 0.10;

impl Layout {
    /// Published-practice band of the loss at peak power [-]; chassis dynamometers differ by 5 to
    /// 8 % among themselves (common practice, no source).
    pub fn loss_band(self) -> LossBand {
        let (low, likely, high) = match self {
            Self::FrontManual => (0.09, 0.12, 0.14),
            Self::RearManual => (0.11, 0.14, 0.16),
            Self::FrontAutomatic => (0.13, 0.16, 0.20),
            Self::RearAutomatic => (0.14, 0.18, 0.22),
            Self::AllWheel => (0.17, 0.21, 0.26),
            // The middle of the four layouts of two driven wheels, from the least to the most of them.
            Self::Unstated => (0.09, 0.15, 0.22),
        };
        LossBand { low, likely, high }
    }
}

impl Driveline {
    /// Loss at peak power with its band.
    pub fn loss_band(&self) -> LossBand {
        match self.measured_loss {
            Some(likely) => {
                let spread = self.measured_loss_spread.unwrap_or(MEASURED_SPREAD);
                LossBand { low: likely * (1.0 - spread), likely, high: likely * (1.0 + spread) }
            }
            None => self.layout.loss_band(),
        }
    }

    /// Torque at the wheels referred to crank speed [N m]; where the engine has to be driven, the wheels drive it and the loss.
    ///
    /// # Arguments
    /// - `crank_torque_nm`: torque at the flywheel
    /// - `loss`: loss at peak power as a fraction [-]
    /// - `peak_power_torque_nm`: crank torque at peak power, at which the loss is stated
    pub fn wheel_torque_nm(crank_torque_nm: f64, loss: f64, peak_power_torque_nm: f64) -> f64 {
        let carried = (loss * (1.0 - DRAG_SHARE)).copysign(crank_torque_nm);
        crank_torque_nm * (1.0 - carried) - loss * DRAG_SHARE * peak_power_torque_nm
    }

    /// Torque at the flywheel [N m] of a torque at the wheels: [`Self::wheel_torque_nm`] turned round.
    ///
    /// # Arguments
    /// - `wheel_torque_nm`: torque at the wheels referred to crank speed
    /// - `loss`: loss at peak power as a fraction [-], below 1
    /// - `wheel_torque_at_peak_power_nm`: wheel torque at peak power, at which the loss is stated
    pub fn crank_torque_nm(wheel_torque_nm: f64, loss: f64, wheel_torque_at_peak_power_nm: f64) -> f64 {
        let peak_power_torque_nm = wheel_torque_at_peak_power_nm / (1.0 - loss);
        let gross_nm = wheel_torque_nm + loss * DRAG_SHARE * peak_power_torque_nm;
        gross_nm / (1.0 - (loss * (1.0 - DRAG_SHARE)).copysign(gross_nm))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn loss_is_as_stated_at_peak_power_and_drags_more_at_part_torque() {
        assert_relative_eq!(Driveline::wheel_torque_nm(200.0, 0.14, 200.0), 172.0, epsilon = 1e-12);
        assert!(Driveline::wheel_torque_nm(100.0, 0.14, 200.0) < 86.0);
        let back = Driveline::crank_torque_nm(Driveline::wheel_torque_nm(150.0, 0.14, 200.0), 0.14, 172.0);
        assert_relative_eq!(back, 150.0, epsilon = 1e-9);
    }

    // HAND: 0.6 of 20 % carried and 0.4 of 20 % dragging: -50 (1 + 0.12) - 0.08 100 = -64.
    #[test]
    fn an_engine_that_is_driven_costs_the_wheels_more_than_its_crank_takes() {
        assert_relative_eq!(Driveline::wheel_torque_nm(-50.0, 0.2, 100.0), -64.0, epsilon = 1e-12);
        assert_relative_eq!(Driveline::crank_torque_nm(-64.0, 0.2, 80.0), -50.0, epsilon = 1e-9);
    }
}
