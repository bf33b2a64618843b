//! One rpm of a full-load curve: what is said of it, and where each figure comes from.

use super::analysis::PointAnalysis;
use super::band::{Band, band};
use super::sampling::SampleOutcome;
use super::start::{StartPoint, share_knocking};
use schemars::JsonSchema;
use serde::Serialize;

/// One rpm on one fuel at full load, with the timing that is used there.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct CurvePoint {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency on dry air at ambient density, on this fuel [-].
    pub volumetric_efficiency: f64,
    /// Air-fuel equivalence ratio [-]; below 1 is rich.
    pub lambda: f64,
    /// Timing at the likely limit: the lesser of MBT timing and knock-limited timing in the likely case
    /// [deg before top dead centre]. The timing to start from is `cautious_spark_deg_btdc`.
    pub spark_deg_btdc: f64,
    /// MBT timing [deg before top dead centre].
    pub best_torque_spark_deg_btdc: f64,
    /// Whether knock, not torque, sets the timing used.
    pub knock_limited: bool,
    /// Crank angle of 50 % burned [deg after top dead centre].
    pub ca50_deg_atdc: f64,
    /// End-gas ignition integral at the timing used [-]; 1 is autoignition.
    pub knock_integral: f64,
    /// Octane index of the fuel in this engine at this point [-].
    pub octane_index: f64,
    /// Octane index at which the integral would be 1, at the timing used [-].
    pub octane_requirement: f64,
    /// Octane index less octane requirement [-].
    pub octane_margin: f64,
    /// Octane index over octane requirement [-]; 1 is the limit.
    pub knock_margin_index: f64,
    /// Degrees between the timing used and the timing at which the margin is zero [deg];
    /// capped at the end of the searched range.
    pub spark_margin_deg: f64,
    /// Share of samples that knock at the likely limit [-], 0 to 1.
    pub knock_probability: f64,
    /// Net indicated mean effective pressure [bar].
    pub imep_net_bar: f64,
    /// Friction mean effective pressure [bar].
    pub fmep_bar: f64,
    /// Pumping mean effective pressure, positive when it costs work [bar].
    pub pmep_bar: f64,
    /// Brake mean effective pressure [bar].
    pub bmep_bar: f64,
    /// Peak cylinder pressure [bar].
    pub peak_pressure_bar: f64,
    /// Brake efficiency on lower heating value [-].
    pub efficiency_brake: f64,
    /// Brake specific fuel consumption [g/kWh].
    pub bsfc_g_per_kwh: f64,
    /// Air flow of the engine, dry [kg/s].
    pub air_flow_kg_per_s: f64,
    /// Fuel flow of the engine [kg/s].
    pub fuel_flow_kg_per_s: f64,
    /// Torque at the flywheel, every sample tuned to its own limit [N m].
    pub crank_torque_nm: Band,
    /// Power at the flywheel, every sample tuned to its own limit [kW].
    pub crank_power_kw: Band,
    /// Power at the wheels, every sample tuned to its own limit [kW].
    pub wheel_power_kw: Band,
    /// Most advanced timing that keeps the safety margin [deg before top dead centre];
    /// null when no timing in the searched range does.
    pub knock_limited_spark_deg_btdc: Option<f64>,
    /// Timing to start from: the most advanced one, at most the likely limit, that is knock-free in 9 cases of 10
    /// [deg before top dead centre]; null when no timing in the searched range is so.
    pub cautious_spark_deg_btdc: Option<f64>,
    /// Octane margin over the samples, timing held at the value used [-].
    pub octane_margin_band: Band,
    /// Octane margin at MBT timing [-].
    pub best_torque_octane_margin: f64,
    /// Torque lost to retard against MBT timing [-], 0 to 1.
    pub torque_lost_frac: f64,
    /// Crank angle of peak pressure [deg after top dead centre].
    pub peak_pressure_deg_atdc: f64,
    /// Share of fuel energy lost to the cylinder walls [-].
    pub heat_loss_frac: f64,
    /// Residual gas mass fraction [-].
    pub residual_frac: f64,
    /// Mean exhaust gas temperature after blowdown [K].
    pub exhaust_temperature_k: f64,
    /// Mean piston speed [m/s].
    pub mean_piston_speed_m_per_s: f64,
    /// Mechanical efficiency: brake over net indicated work, friction but not pumping [-].
    pub mechanical_efficiency: f64,
    /// Share of samples that knock at the timing to start from [-], 0 to 0.1; null when there is no such timing.
    pub start_knock_probability: Option<f64>,
    /// Octane margin over the samples at the timing to start from [-]; its low end is about 0 wherever knock sets that
    /// timing, null when there is no such timing.
    pub start_octane_margin_band: Option<Band>,
    /// Torque at the flywheel, every sample run at the timing to start from [N m]; null when there is no such timing.
    pub start_crank_torque_nm: Option<Band>,
    /// Power at the wheels, every sample run at the timing to start from [kW]; null when there is no such timing.
    pub start_wheel_power_kw: Option<Band>,
    /// Octane numbers of margin that 1 deg of retard from the likely limit gives [-/deg].
    pub octane_per_deg: f64,
}

impl CurvePoint {
    /// The band of the octane margin at the likely limit as degrees of timing: how far the timing is from where each case
    /// begins to knock, negative beyond it, by the slope at the limit [deg]; none where retard gives no margin.
    pub fn margin_deg(&self) -> Option<Band> {
        let Band { low, high, .. } = self.octane_margin_band;
        let band = Band { low, likely: self.octane_margin, high };
        (self.octane_per_deg > LEAST_OCTANE_PER_DEG).then(|| band.times(1.0 / self.octane_per_deg))
    }
}

/// Slope of the margin below which it says nothing of timing [-/deg].
const LEAST_OCTANE_PER_DEG: f64 = 0.05;

impl CurvePoint {
    /// The figures of a point.
    ///
    /// # Arguments
    /// - `a`: the likely case
    /// - `start`: the samples at the timing to start from; none where there is no such timing
    /// - `outcomes`: of every sample at this rpm
    pub(super) fn new<'o>(
        a: &PointAnalysis<'_>,
        start: Option<&StartPoint>,
        outcomes: impl Iterator<Item = &'o SampleOutcome> + Clone,
    ) -> Self {
        let (likely, point) = (&a.likely, &a.likely.point);
        let (used, trapped, fuel) = (&likely.used, &point.trapped, point.fuel());
        let (speed_rpm, fuel_flow) = (point.speed_rpm(), point.fuel_flow_kg_per_s());
        let power_kw = point.power_kw(likely.crank_torque_nm());
        let requirement = likely.requirement(used);
        let crank = band(outcomes.clone().map(|o| o.crank_torque_nm));
        let wheel = band(outcomes.clone().map(|o| o.wheel_torque_nm));
        let to_power = |torque: Band| torque.times(point.power_kw(1.0));
        let margins: Vec<f64> = outcomes.map(|o| o.margin).collect();
        Self {
            speed_rpm,
            volumetric_efficiency: trapped.volumetric_efficiency,
            lambda: fuel.lambda,
            spark_deg_btdc: used.spark_deg_btdc,
            best_torque_spark_deg_btdc: likely.mbt.spark_deg_btdc,
            knock_limited_spark_deg_btdc: likely.limit_deg_btdc,
            cautious_spark_deg_btdc: start.map(|s| s.spark_deg_btdc),
            knock_limited: likely.is_knock_limited(),
            ca50_deg_atdc: used.ca50_deg_atdc,
            knock_integral: a.integral(),
            octane_index: likely.octane_index,
            octane_requirement: requirement,
            octane_margin: likely.octane_index - requirement,
            octane_margin_band: band(margins.iter().copied()),
            best_torque_octane_margin: likely.mbt_octane_margin(),
            knock_margin_index: likely.octane_index / requirement,
            spark_margin_deg: a.spark_margin_deg,
            knock_probability: share_knocking(margins.iter().copied()),
            torque_lost_frac: likely.torque_lost_frac(),
            imep_net_bar: used.imep_net_bar,
            fmep_bar: used.fmep_bar,
            pmep_bar: used.pmep_bar,
            bmep_bar: used.bmep_bar(),
            peak_pressure_bar: used.peak_pressure_bar,
            peak_pressure_deg_atdc: used.peak_pressure_deg_atdc,
            efficiency_brake: power_kw / (fuel_flow * fuel.blend.lhv_j_per_kg / 1000.0),
            heat_loss_frac: used.heat_loss_frac,
            residual_frac: trapped.residual_frac,
            exhaust_temperature_k: used.exhaust_temperature_k,
            bsfc_g_per_kwh: 3.6e6 * fuel_flow / power_kw,
            air_flow_kg_per_s: point.air_flow_kg_per_s(),
            fuel_flow_kg_per_s: fuel_flow,
            mean_piston_speed_m_per_s: point.setting().build.geometry.mean_piston_speed_m_per_s(speed_rpm),
            mechanical_efficiency: used.bmep_bar() / used.imep_net_bar,
            crank_torque_nm: crank,
            crank_power_kw: to_power(crank),
            wheel_power_kw: to_power(wheel),
            start_knock_probability: start.map(|s| s.knock_probability),
            start_octane_margin_band: start.map(StartPoint::octane_margin),
            start_crank_torque_nm: start.map(StartPoint::crank_torque_nm),
            start_wheel_power_kw: start.map(|s| s.wheel_power_kw(a)),
            octane_per_deg: a.octane_per_deg(),
        }
    }
}
