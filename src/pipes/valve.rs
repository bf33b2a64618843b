//! Valves as openings: effective area over crank angle.

use crate::engine::cam::{EventLift, Lobe};
use crate::engine::port_flow::BenchSheet;
use std::f64::consts::PI;

/// Flow coefficient of valves over their lift, on head area.
#[derive(Clone, Debug, PartialEq)]
pub enum FlowCurve {
    /// It rises with lift and levels off where the port sets the flow: c = c_max (1 - exp(-(l/d) / 0.15)) (common practice,
    /// no source: flow benches show 0.30 to 0.34 at a tenth, 0.50 to 0.56 at a quarter of the diameter for good heads).
    Usual {
        /// Coefficient at very great lift [-], 0.3 to 0.9.
        greatest: f64,
    },
    /// As a flow bench found it: straight between the lifts of the sheet and from 0 on the seat, the last one beyond.
    Bench(BenchSheet),
}

/// Lift over diameter by which the usual coefficient has come to 63 % of its greatest [-] (common practice, no source).
const BEND: f64 = 0.15;

impl FlowCurve {
    /// The usual curve whose coefficient, added up over the open period of a lobe, comes to a sum.
    ///
    /// # Arguments
    /// - `sum_deg`: mean coefficient times open period [deg crank]
    pub fn usual(sum_deg: f64, lobe: &Lobe, diameter_m: f64) -> Self {
        const STEPS: u32 = 120;
        let half_deg = 0.5 * lobe.duration_deg(EventLift::Seat);
        let at = |i: u32| lobe.valve_lift_m((f64::from(i) + 0.5) / f64::from(STEPS) * half_deg);
        let mean = (0..STEPS).map(|i| usual_rise(at(i) / diameter_m)).sum::<f64>() / f64::from(STEPS);
        Self::Usual { greatest: sum_deg / (2.0 * half_deg * mean) }
    }
}

/// Usual coefficient over its greatest [-].
fn usual_rise(lift_over_diameter: f64) -> f64 {
    1.0 - (-lift_over_diameter / BEND).exp()
}

/// The inlet or the exhaust valves of one cylinder.
#[derive(Clone, Debug, PartialEq)]
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
        self.effective_area_at_m2(self.lobe.valve_lift_m(crank_angle_deg - self.centre_deg))
    }

    /// Effective flow area [m2] at a lift [m].
    pub fn effective_area_at_m2(&self, lift_m: f64) -> f64 {
        let heads_m2 = f64::from(self.count) * 0.25 * PI * self.diameter_m * self.diameter_m;
        let coefficient = match &self.flow {
            FlowCurve::Usual { greatest } => greatest * usual_rise(lift_m / self.diameter_m),
            FlowCurve::Bench(sheet) => sheet.flow_coefficient(lift_m, heads_m2),
        };
        heads_m2 * coefficient
    }
}
