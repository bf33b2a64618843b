//! Valves as openings: effective area over crank angle.

use crate::engine::cam::{EventLift, Lobe};
use std::f64::consts::PI;

/// Flow coefficient of a valve over its lift, on head area.
///
/// It rises with lift and levels off where the port sets the flow: c = c_max (1 - exp(-(l/d) / 0.15)) (common practice,
/// no source: flow benches show 0.30 to 0.34 at a tenth, 0.50 to 0.56 at a quarter of the diameter for good heads).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlowCurve {
    /// Coefficient at very great lift [-], 0.3 to 0.9.
    pub greatest: f64,
}

/// Lift over diameter by which the coefficient has come to 63 % of its greatest [-] (common practice, no source).
const BEND: f64 = 0.15;

impl FlowCurve {
    /// Greatest coefficient [-] with which the coefficient, added up over the open period of a lobe, comes to a sum.
    ///
    /// # Arguments
    /// - `sum_deg`: mean coefficient times open period [deg crank]
    pub fn greatest_for(sum_deg: f64, lobe: &Lobe, diameter_m: f64) -> f64 {
        const STEPS: u32 = 120;
        let half_deg = 0.5 * lobe.duration_deg(EventLift::Seat);
        let one = Self { greatest: 1.0 };
        let at = |i: u32| lobe.valve_lift_m((f64::from(i) + 0.5) / f64::from(STEPS) * half_deg);
        let mean = (0..STEPS).map(|i| one.at(at(i) / diameter_m)).sum::<f64>() / f64::from(STEPS);
        sum_deg / (2.0 * half_deg * mean)
    }

    /// Coefficient at a lift over diameter [-].
    pub fn at(&self, lift_over_diameter: f64) -> f64 {
        self.greatest * (1.0 - (-lift_over_diameter / BEND).exp())
    }
}

/// The inlet or the exhaust valves of one cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ValveGear {
    /// Valves of one cylinder.
    pub count: u32,
    /// Diameter of the head [m].
    pub diameter_m: f64,
    /// Lift over crank angle.
    pub lobe: Lobe,
    /// Centre of the lobe [deg crank after the top dead centre of gas exchange]; below 0 for exhaust valves.
    pub centre_deg: f64,
    /// How they flow.
    pub flow: FlowCurve,
}

impl ValveGear {
    /// Where the valves leave and find their seats [deg after the top dead centre of gas exchange].
    pub fn seated_deg(&self) -> (f64, f64) {
        let half = 0.5 * self.lobe.duration_deg(EventLift::Seat);
        (self.centre_deg - half, self.centre_deg + half)
    }

    /// Effective flow area [m2] at a crank angle [deg after the top dead centre of gas exchange]; 0 on the seat.
    pub fn effective_area_m2(&self, crank_angle_deg: f64) -> f64 {
        let (opens, closes) = self.seated_deg();
        if crank_angle_deg <= opens || crank_angle_deg >= closes {
            return 0.0;
        }
        let lift_m = self.lobe.valve_lift_m(crank_angle_deg - self.centre_deg);
        let head_m2 = 0.25 * PI * self.diameter_m * self.diameter_m;
        f64::from(self.count) * head_m2 * self.flow.at(lift_m / self.diameter_m)
    }
}
