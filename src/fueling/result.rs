//! What is said of the fuel system. Keys of the JSON form are the names of the fields; units are in the names.

use super::limits::MechanicalLimit;
use super::system::Supply;
use crate::estimate::{Band, Job};
use schemars::JsonSchema;
use serde::Serialize;

/// One fuel at one rpm, full throttle.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelingPoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Likely volumetric efficiency with this fuel [-].
    pub volumetric_efficiency: f64,
    /// Dry air of the engine [kg/s].
    pub air_flow_kg_per_s: Band,
    /// Fuel of the engine [kg/s].
    pub fuel_flow_kg_per_s: Band,
    /// The same as liquid of 15 C [L/h].
    pub fuel_flow_l_per_h: Band,
    /// Share of the cycle that the stated injectors are open [-]; null when none are stated.
    pub injector_duty_frac: Option<Band>,
}

/// What one fuel at one ethanol content needs.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FuelNeed {
    /// Name of the fuel.
    pub fuel: String,
    /// Ethanol by volume [-].
    pub ethanol_vol_frac: f64,
    /// Whether this is the high end of its range of content.
    pub is_high_content: bool,
    /// Mixture [-].
    pub lambda: f64,
    /// Density at 15 C [kg/L].
    pub density_15c_kg_per_l: f64,
    /// Rpm of the largest flow [rpm].
    pub peak_speed_rpm: f64,
    /// Largest fuel flow [kg/s].
    pub peak_fuel_flow_kg_per_s: Band,
    /// The same as liquid of 15 C [L/h].
    pub peak_fuel_flow_l_per_h: Band,
    /// Rated flow that each injector must have for the high end of it, at the duty limit [cc/min].
    pub injector_need_cc_per_min: f64,
    /// The same by mass of the rating fluid [lb/h].
    pub injector_need_lb_per_h: f64,
    /// What the pump must give at the fuel pressure for the high end of it, reserve included [L/h].
    pub pump_need_l_per_h: f64,
    /// By rpm.
    pub curve: Vec<FuelingPoint>,
}

/// The fuel and content that asks most.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct WorstCase {
    /// Name of the fuel.
    pub fuel: String,
    /// Ethanol by volume [-].
    pub ethanol_vol_frac: f64,
    /// Rpm of its largest flow [rpm].
    pub speed_rpm: f64,
    /// What it asks: rated injector flow [cc/min] or pump flow [L/h].
    pub need: f64,
}

/// Whether stated injectors are enough.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StatedInjectors {
    /// Highest duty over fuels, contents and rpm, high end of the flow [-].
    pub highest_duty_frac: f64,
    /// Whether it keeps to the duty limit.
    pub is_enough: bool,
}

/// Whether a stated pump is enough.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct StatedPump {
    /// What it gives beyond the high end of the flow [-]; negative when it falls short.
    pub reserve_frac: f64,
    /// Whether it keeps the safety margin.
    pub is_enough: bool,
}

/// Everything said about fuel supply and mechanical limits.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Fueling {
    /// Name of the scenario.
    pub scenario: String,
    /// Note of the scenario.
    pub note: String,
    /// The fuel system, stated or usual.
    pub supply: Supply,
    /// What each fuel and content needs, in the order of the list.
    pub needs: Vec<FuelNeed>,
    /// What sets the injectors [cc/min].
    pub injector_worst: WorstCase,
    /// What sets the pump [L/h].
    pub pump_worst: WorstCase,
    /// Whether stated injectors are enough; null when none are stated.
    pub stated_injectors: Option<StatedInjectors>,
    /// Whether a stated pump is enough; null when none is stated.
    pub stated_pump: Option<StatedPump>,
    /// Mechanical figures beside the bands of their class.
    pub mechanical: Vec<MechanicalLimit>,
    /// Whether production bands are those of engines with more than one inlet valve a cylinder.
    pub has_several_inlets: bool,
    /// True when stated injectors, pump or limits are not enough.
    pub limit_missed: bool,
    /// Air temperature for which the flows hold [K].
    pub air_temperature_k: f64,
    /// Air pressure for which the flows hold [Pa].
    pub air_pressure_pa: f64,
    /// Number of samples behind the bands.
    pub samples: usize,
}

/// The result from its parts; `needs` must not be empty.
pub(super) fn whole(
    job: &Job,
    supply: Supply,
    needs: Vec<FuelNeed>,
    mechanical: Vec<MechanicalLimit>,
) -> Fueling {
    let injector_worst = worst(&needs, |n| n.injector_need_cc_per_min);
    let pump_worst = worst(&needs, |n| n.pump_need_l_per_h);
    let stated_injectors = supply.injector_flow_cc_per_min.map(|stated| {
        let highest = supply.duty_limit_frac * injector_worst.need / stated;
        StatedInjectors { highest_duty_frac: highest, is_enough: highest <= supply.duty_limit_frac }
    });
    let stated_pump = supply.pump_flow_l_per_h.map(|stated| {
        let reserve = stated * (1.0 + supply.pump_reserve_frac) / pump_worst.need - 1.0;
        StatedPump { reserve_frac: reserve, is_enough: reserve >= supply.pump_reserve_frac }
    });
    let limit_missed = stated_injectors.as_ref().is_some_and(|i| !i.is_enough)
        || stated_pump.as_ref().is_some_and(|p| !p.is_enough)
        || mechanical.iter().any(|m| !m.is_met);
    Fueling {
        scenario: job.scenario.clone(),
        note: job.note.clone(),
        supply,
        needs,
        injector_worst,
        pump_worst,
        stated_injectors,
        stated_pump,
        mechanical,
        has_several_inlets: job.build.valves.has_several_inlets(),
        limit_missed,
        air_temperature_k: job.weather.temperature_k,
        air_pressure_pa: job.weather.pressure_pa,
        samples: job.samples,
    }
}

fn worst(needs: &[FuelNeed], of: impl Fn(&FuelNeed) -> f64) -> WorstCase {
    let empty = WorstCase { fuel: String::new(), ethanol_vol_frac: 0.0, speed_rpm: 0.0, need: 0.0 };
    needs.iter().fold(empty, |worst, n| {
        if of(n) > worst.need {
            WorstCase {
                fuel: n.fuel.clone(),
                ethanol_vol_frac: n.ethanol_vol_frac,
                speed_rpm: n.peak_speed_rpm,
                need: of(n),
            }
        } else {
            worst
        }
    })
}
