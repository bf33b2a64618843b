//! Valve events of a cam card at each lift, with the ratio from each inlet closing.

use crate::engine::Geometry;
use crate::engine::cam::{Cam, EventLift, Lobe};
use schemars::JsonSchema;
use serde::Serialize;

/// What a cam card makes in an engine.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CamSheet {
    /// Events from the longest period to the shortest, as a rule: seat, 1 mm of the valve, 0.050 in of the lifter.
    pub events: Vec<EventRow>,
    /// Inlet lobe and what it makes of the valve.
    pub inlet: LobeSheet,
    /// Exhaust lobe and what it makes of the valve.
    pub exhaust: LobeSheet,
}

/// Valve events counted at one lift.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct EventRow {
    /// Where they count.
    pub counted: EventLift,
    /// Inlet opens [deg before top dead centre].
    pub inlet_opens_deg_btdc: f64,
    /// Inlet closes [deg after bottom dead centre].
    pub inlet_closes_deg_abdc: f64,
    /// Exhaust opens [deg before bottom dead centre].
    pub exhaust_opens_deg_bbdc: f64,
    /// Exhaust closes [deg after top dead centre].
    pub exhaust_closes_deg_atdc: f64,
    /// Inlet open [deg crank].
    pub inlet_duration_deg: f64,
    /// Exhaust open [deg crank].
    pub exhaust_duration_deg: f64,
    /// Both open [deg crank]; negative where both are shut.
    pub overlap_deg: f64,
    /// Volume at this inlet closing over clearance volume [-].
    pub ratio_from_inlet_closing: f64,
}

/// One lobe.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LobeSheet {
    /// Centre of the lobe [deg crank]: inlet after, exhaust before top dead centre of the overlap.
    pub centreline_deg: f64,
    /// Greatest lift of the lifter [m].
    pub lobe_lift_m: f64,
    /// Greatest lift of the valve, lash taken off [m].
    pub valve_lift_m: f64,
    /// Area under the lift of the valve from seat to seat [m deg].
    pub lift_area_m_deg: f64,
    /// Whether the ramp below 0.050 in is the usual one, for no advertised duration was stated.
    pub is_ramp_usual: bool,
}

impl LobeSheet {
    fn new(lobe: &Lobe, centreline_deg: f64) -> Self {
        Self {
            centreline_deg,
            lobe_lift_m: lobe.lobe_lift_m(),
            valve_lift_m: lobe.greatest_valve_lift_m(),
            lift_area_m_deg: lobe.lift_area_m_deg(),
            is_ramp_usual: lobe.is_ramp_usual(),
        }
    }
}

impl CamSheet {
    /// What a card makes in an engine of a geometry.
    pub fn new(cam: &Cam, geometry: &Geometry) -> Self {
        let row = |counted: EventLift| {
            let at = cam.events(counted);
            EventRow {
                counted,
                inlet_opens_deg_btdc: at.inlet_opens_deg_btdc,
                inlet_closes_deg_abdc: at.inlet_closes_deg_abdc,
                exhaust_opens_deg_bbdc: at.exhaust_opens_deg_bbdc,
                exhaust_closes_deg_atdc: at.exhaust_closes_deg_atdc,
                inlet_duration_deg: cam.inlet.duration_deg(counted),
                exhaust_duration_deg: cam.exhaust.duration_deg(counted),
                overlap_deg: at.overlap_deg(),
                ratio_from_inlet_closing: geometry.ratio_from_inlet_closing(at.inlet_closes_deg_abdc),
            }
        };
        Self {
            events: EventLift::ALL.map(row).to_vec(),
            inlet: LobeSheet::new(&cam.inlet, cam.inlet_centre_deg_atdc),
            exhaust: LobeSheet::new(&cam.exhaust, cam.exhaust_centre_deg_btdc),
        }
    }
}
