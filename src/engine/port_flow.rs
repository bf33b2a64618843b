//! Port flow and cam: from a flow-bench sheet to the mean flow coefficient of the inlet, and from the mean
//! inlet Mach index to volumetric efficiency.

use super::cam::{EventLift, Lobe};
use crate::constants::plain_air::{GAMMA, GAS_CONSTANT_J_PER_KG_K};

/// Air of the bench room [K, Pa]. Both hardly matter: flow is compared with the ideal flow of the same air.
const ROOM_TEMPERATURE_K: f64 = 293.15;
const ROOM_PRESSURE_PA: f64 = 101_325.0;
/// Cam duration, seat to seat, to which the mean flow coefficient is referred [deg crank]: the usual cam of
/// the engines on which the curve over the Mach index was found (common practice, no source). Time and
/// area count alike: Fukutani and Watanabe, SAE 790484 (`from memory`).
const USUAL_DURATION_DEG: f64 = 260.0;
/// Steps of the mean over the lift curve.
const STEPS: u32 = 360;

/// Volumetric efficiency at the best Mach index without help from tuned pipes, as (low, likely, high) [-]
/// (Taylor, The Internal-Combustion Engine in Theory and Practice; `from memory`, rounded).
const UNTUNED: (f64, f64, f64) = (0.80, 0.86, 0.92);
/// Mach index of best VE for an inlet that closes 60 deg after bottom centre at about 1 mm of lift; it
/// goes with the closing angle (Taylor, same place; `from memory`).
const BEST_INDEX_AT_60_DEG: f64 = 0.5;
/// Fall below the best index, over the index ratio: gas is pushed back before a late closing
/// (common practice, no source; that of the production band).
const BACKFLOW_CURVATURE: f64 = 0.30;
/// Mach index beyond which the inlet chokes, and the slope of the fall beyond it (Taylor, same place;
/// `from memory`).
const CHOKE_MACH_INDEX: f64 = 0.55;
const CHOKE_SLOPE: f64 = 0.6;

/// A flow-bench sheet of the inlet of one cylinder.
#[derive(Clone, Debug, PartialEq)]
pub struct BenchSheet {
    /// Pressure drop across port and valve [Pa], 500 to 20 000.
    pub depression_pa: f64,
    /// Valve lifts [m], rising, above 0.
    pub lift_m: Vec<f64>,
    /// Flow of all inlet valves of one cylinder at each lift, as volume of room air [m3/s].
    pub flow_m3_per_s: Vec<f64>,
}

/// The cam of the inlet valves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum InletCam {
    /// Lift and duration alone: lift over crank angle is taken as a sine squared from seat to seat.
    Plain {
        /// Greatest valve lift [m].
        max_lift_m: f64,
        /// Open period from seat to seat [deg crank].
        duration_deg: f64,
    },
    /// The lobe of a cam card.
    Lobe(Lobe),
}

impl InletCam {
    /// Open period from seat to seat [deg crank].
    fn duration_deg(&self) -> f64 {
        match self {
            Self::Plain { duration_deg, .. } => *duration_deg,
            Self::Lobe(lobe) => lobe.duration_deg(EventLift::Seat),
        }
    }

    /// Lift of the valve at a share of that period [m].
    fn valve_lift_m(&self, along: f64) -> f64 {
        match self {
            Self::Plain { max_lift_m, .. } => max_lift_m * (std::f64::consts::PI * along).sin().powi(2),
            Self::Lobe(lobe) => lobe.valve_lift_m((along - 0.5) * self.duration_deg()),
        }
    }
}

/// Gain of ram and tuned pipes over an untuned intake, as a band [-]; taken at every speed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RamGain {
    /// 10th percentile [-].
    pub low: f64,
    /// Likely [-].
    pub likely: f64,
    /// 90th percentile [-].
    pub high: f64,
}

/// Gain when nothing is stated: from no tuning at all to a good production manifold (common practice, no source).
pub const USUAL_RAM_GAIN: RamGain = RamGain { low: 0.0, likely: 0.05, high: 0.10 };

/// Breathing by port flow and cam.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PortFlow {
    /// Mean flow coefficient on valve head area, see [`BenchSheet::mean_flow_coefficient`] [-].
    pub mean_flow_coefficient: f64,
    /// Mach index of best VE with the inlet closing below [-].
    pub best_mach_index: f64,
    /// Inlet closing for which that holds [deg after bottom dead centre, at about 1 mm of lift]; the index goes with it.
    pub closes_deg_abdc: f64,
    /// Gain of ram and tuning.
    pub ram_gain: RamGain,
}

/// Flow per area of an ideal nozzle across a depression, as volume of room air [m/s]: isentropic flow from rest,
/// v = sqrt(2 cp T (1 - r^((g-1)/g))), thinned by r^(1/g), r = 1 - dp/p.
fn ideal_flow_m_per_s(depression_pa: f64) -> f64 {
    let ratio = 1.0 - depression_pa / ROOM_PRESSURE_PA;
    let cp = GAS_CONSTANT_J_PER_KG_K * GAMMA / (GAMMA - 1.0);
    let speed = (2.0 * cp * ROOM_TEMPERATURE_K * (1.0 - ratio.powf((GAMMA - 1.0) / GAMMA))).sqrt();
    speed * ratio.powf(1.0 / GAMMA)
}

impl BenchSheet {
    /// The same sheet with its flow times a factor [-].
    #[must_use]
    pub fn times(mut self, factor: f64) -> Self {
        self.flow_m3_per_s.iter_mut().for_each(|flow| *flow *= factor);
        self
    }

    /// Flow coefficient at a lift, on valve head area [-]: linear between the sheet's lifts and from zero at the
    /// seat; the last value holds beyond.
    pub fn flow_coefficient(&self, lift_m: f64, head_area_m2: f64) -> f64 {
        let (mut from, mut flow) = ((0.0, 0.0), None);
        for to in self.lift_m.iter().copied().zip(self.flow_m3_per_s.iter().copied()) {
            if lift_m <= to.0 {
                flow = Some(from.1 + (to.1 - from.1) * (lift_m - from.0) / (to.0 - from.0));
                break;
            }
            from = to;
        }
        flow.unwrap_or(from.1) / (head_area_m2 * ideal_flow_m_per_s(self.depression_pa))
    }

    /// Mean flow coefficient over the open period, on valve head area [-], times the period over the usual
    /// 260 deg.
    ///
    /// # Arguments
    /// - `cam`: lift and duration
    /// - `head_area_m2`: head area of the inlet valves of one cylinder
    pub fn mean_flow_coefficient(&self, cam: InletCam, head_area_m2: f64) -> f64 {
        let mut sum = 0.0;
        for i in 0..STEPS {
            let along = (f64::from(i) + 0.5) / f64::from(STEPS);
            sum += self.flow_coefficient(cam.valve_lift_m(along), head_area_m2);
        }
        sum / f64::from(STEPS) * cam.duration_deg() / USUAL_DURATION_DEG
    }
}

/// Factor of the fall beyond the choking index [-].
pub(super) fn choke(mach_index: f64) -> f64 {
    1.0 - CHOKE_SLOPE * (mach_index - CHOKE_MACH_INDEX).max(0.0)
}

impl PortFlow {
    /// Port flow of an inlet that closes at an angle [deg after bottom centre, at about 1 mm of lift].
    pub fn new(mean_flow_coefficient: f64, inlet_closes_deg_abdc: f64, ram_gain: RamGain) -> Self {
        let best_mach_index = BEST_INDEX_AT_60_DEG * inlet_closes_deg_abdc / 60.0;
        Self { mean_flow_coefficient, best_mach_index, closes_deg_abdc: inlet_closes_deg_abdc, ram_gain }
    }

    /// Likely volumetric efficiency at a mean inlet Mach index, with an inlet closing [deg after bottom dead centre] [-].
    pub fn likely(&self, mach_index: f64, inlet_closes_deg_abdc: f64) -> f64 {
        let best = self.best_mach_index * inlet_closes_deg_abdc / self.closes_deg_abdc;
        let below = (1.0 - mach_index / best).max(0.0);
        let shape = (1.0 - BACKFLOW_CURVATURE * below * below) * choke(mach_index).max(0.2);
        self.peak() * shape
    }

    /// Likely volumetric efficiency at the best Mach index, choking apart [-].
    pub fn peak(&self) -> f64 {
        UNTUNED.1 * (1.0 + self.ram_gain.likely)
    }

    /// 10th and 90th percentile over likely [-]: the band of the untuned level and that of the gain, which are
    /// independent, joined by their squares.
    pub fn band_ratios(&self) -> (f64, f64) {
        let (low, likely, high) = UNTUNED;
        let gain = self.ram_gain;
        let joined = |level: f64, gain_off: f64| (level / likely - 1.0).hypot(gain_off / (1.0 + gain.likely));
        (1.0 - joined(low, gain.likely - gain.low), 1.0 + joined(high, gain.high - gain.likely))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;
    use std::f64::consts::PI;

    const HEAD_M2: f64 = 0.25 * PI * 0.040 * 0.040;

    /// A port whose coefficient grows in proportion to lift, 0.6 at 10 mm, with a 40 mm valve at 28 in of water.
    fn sheet() -> BenchSheet {
        BenchSheet {
            depression_pa: 6974.5,
            lift_m: vec![0.005, 0.010],
            flow_m3_per_s: vec![0.039_05, 0.078_09],
        }
    }

    // HAND: r = 1 - 6974.5/101325 = 0.93117; r^0.2857 = 0.97983; v = sqrt(2 1004.5 293.15 0.02017) = 109.0 m/s;
    // r^0.7143 = 0.95034; ideal flow 103.58 m/s times 1.25664e-3 m2 = 0.13015 m3/s; 0.07809 / 0.13015 = 0.600.
    // The mean of sin^2 is 1/2: mean coefficient 0.300 at 260 deg, 0.300 270/260 = 0.3115 at 270 deg.
    #[test]
    fn mean_coefficient_by_hand() {
        assert_relative_eq!(sheet().flow_coefficient(0.010, HEAD_M2), 0.600, epsilon = 5e-4);
        assert_relative_eq!(sheet().flow_coefficient(0.012, HEAD_M2), 0.600, epsilon = 5e-4);
        assert_relative_eq!(sheet().flow_coefficient(0.0025, HEAD_M2), 0.150, epsilon = 5e-4);
        let mean = |duration_deg| {
            sheet().mean_flow_coefficient(InletCam::Plain { max_lift_m: 0.010, duration_deg }, HEAD_M2)
        };
        assert_relative_eq!(mean(260.0), 0.300, epsilon = 5e-4);
        assert_relative_eq!(mean(270.0), 0.3115, epsilon = 5e-4);
    }

    // HAND, goes on from above: bore and stroke 86 mm, 6000 rpm, 25 C. Sp = 17.2 m/s, Ap = 5.8088e-3 m2,
    // c = sqrt(1.4 287 298.15) = 346.1 m/s, Z = 5.8088e-3 / (1.25664e-3 0.300) 17.2 / 346.1 = 0.766.
    // Choked: 1 - 0.6 (0.766 - 0.55) = 0.870; VE = 0.86 1.05 0.870 = 0.786.
    // Slow, inlet closing at 48 deg: best index 0.4; at Z = 0.2: 1 - 0.3 0.5^2 = 0.925; VE = 0.86 1.05 0.925 = 0.835.
    // Band: low -sqrt((0.06/0.86)^2 + (0.05/1.05)^2) = -0.0845, high the same.
    #[test]
    fn volumetric_efficiency_by_hand() {
        let flow = PortFlow::new(0.300, 48.0, USUAL_RAM_GAIN);
        let mach = 5.8088e-3 / (HEAD_M2 * flow.mean_flow_coefficient) * 17.2 / 346.1;
        assert_relative_eq!(mach, 0.766, epsilon = 1e-3);
        assert_relative_eq!(flow.likely(mach, 48.0), 0.786, epsilon = 1e-3);
        assert_relative_eq!(flow.likely(0.2, 48.0), 0.835, epsilon = 1e-3);
        // HAND: closing at 60 deg puts the best index to 0.5: 1 - 0.3 0.6^2 = 0.892; VE = 0.86 1.05 0.892 = 0.8055.
        assert_relative_eq!(flow.likely(0.2, 60.0), 0.8055, epsilon = 1e-3);
        let (low, high) = flow.band_ratios();
        assert_relative_eq!(low, 0.9155, epsilon = 1e-3);
        assert_relative_eq!(high, 1.0845, epsilon = 1e-3);
    }
}
