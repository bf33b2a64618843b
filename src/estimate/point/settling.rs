//! The charge of a point settled: the residual gas is that of the cycle before.

use super::{FuelInUse, Point, PointSetting, Shifts};
use crate::cycle::{Begun, Burn, BurnDurations, ChargeConditions, ClosedResult, GasExchange};

/// Residual gas temperature from which the first cycle starts [K], and cycles that settle it.
const FIRST_RESIDUAL_TEMPERATURE_K: f64 = 1200.0;
const SETTLING_CYCLES: u32 = 2;

/// What the settled charge of a point has led to.
#[derive(Clone, Copy, Debug)]
pub struct Found {
    residual_temperature_k: f64,
    durations: BurnDurations,
}

impl Found {
    /// What lies between some, each with its weight.
    pub fn mixed<'f>(found: impl Iterator<Item = (f64, &'f Self)> + Clone) -> Self {
        let of = |figure: fn(&Self) -> f64| found.clone().map(|(weight, f)| weight * figure(f)).sum();
        Self {
            residual_temperature_k: of(|f| f.residual_temperature_k),
            durations: BurnDurations {
                early_deg: of(|f| f.durations.early_deg),
                main_deg: of(|f| f.durations.main_deg),
                complete_frac: of(|f| f.durations.complete_frac),
            },
        }
    }
}

/// What a point is made of besides its speed.
#[derive(Clone, Copy, Debug)]
pub struct PointInputs<'a> {
    /// Build and day.
    pub setting: PointSetting<'a>,
    /// Fuel at its mixture.
    pub fuel: &'a FuelInUse,
    /// What its inputs are moved by.
    pub shifts: Shifts,
}

/// A point whose charge is being settled.
struct Settling<'a> {
    point: Point<'a>,
    conditions: ChargeConditions<'a>,
    burn_speed: f64,
}

impl<'a> Settling<'a> {
    fn new(moved: &PointInputs<'a>, speed_rpm: f64, residual_temperature_k: f64) -> Self {
        let PointInputs { setting, fuel, shifts } = *moved;
        let (build, weather) = (setting.build, setting.weather);
        let on_pipes = build.breathing.exchange(speed_rpm);
        let exchange = GasExchange::new(
            &build.geometry,
            &build.valves,
            weather.pressure_pa,
            shifts.manifold_ratio,
            weather.temperature_k,
            speed_rpm,
        )
        .with_back_pressure(shifts.back_pressure_pa)
        .on_pipes(&on_pipes);
        let conditions = ChargeConditions {
            weather,
            fuel: &fuel.blend,
            reference: setting.reference,
            lambda: fuel.lambda,
            speed_rpm,
            // At part throttle the air trapped goes with manifold pressure.
            reference_volumetric_efficiency: shifts.breathing
                * shifts.manifold_ratio
                * build.breathing.at(speed_rpm, &build.intake(weather.temperature_k)).likely,
            temperature_shift_k: shifts.charge_temperature_k + on_pipes.fresh_added_k,
        };
        let point = Point {
            setting,
            fuel,
            speed_rpm,
            heat_factor: build.combustion.heat_factor * shifts.heat,
            durations: BurnDurations { early_deg: 0.0, main_deg: 0.0, complete_frac: 1.0 },
            exchange,
            residual_temperature_k,
            trapped: conditions.trapped(build, &exchange, residual_temperature_k),
        };
        Self { point, conditions, burn_speed: build.combustion.burn_speed * shifts.burn_speed }
    }

    /// The burn of its next cycle.
    fn burn(&mut self) -> Burn {
        self.point.durations = self.point.burn_durations(self.burn_speed);
        self.point.burn(self.point.near_mbt_spark())
    }

    /// Its charge after a cycle.
    fn fill(&mut self, closed: &ClosedResult) {
        let point = &mut self.point;
        point.residual_temperature_k = point.exchange.residual_temperature_k(closed);
        let build = point.setting.build;
        point.trapped = self.conditions.trapped(build, &point.exchange, point.residual_temperature_k);
    }
}

/// Settles some charges by one cycle more.
fn settle<'a>(all: &mut [Settling<'a>]) {
    let begin = |settling: &mut Settling<'a>| {
        let (burn, point) = (settling.burn(), &settling.point);
        point.cycle(point.heat_law(point.heat_factor)).begun((), &burn)
    };
    let begun: Vec<_> = all.iter_mut().map(begin).collect();
    for (settling, (closed, ())) in all.iter_mut().zip(Begun::finish(&begun)) {
        settling.fill(&closed);
    }
}

impl<'a> Point<'a> {
    /// Settles the charge of an operating point: the residual gas is that of the cycle before.
    pub fn new(setting: PointSetting<'a>, fuel: &'a FuelInUse, speed_rpm: f64, shifts: Shifts) -> Self {
        let [point] = Self::all(&[PointInputs { setting, fuel, shifts }], speed_rpm);
        point
    }

    /// Settles the charges of some points at a speed [rpm], side by side.
    pub fn all<const N: usize>(inputs: &[PointInputs<'a>; N], speed_rpm: f64) -> [Self; N] {
        let begin = |inputs| Settling::new(inputs, speed_rpm, FIRST_RESIDUAL_TEMPERATURE_K);
        let mut all = inputs.each_ref().map(begin);
        for _ in 0..SETTLING_CYCLES {
            settle(&mut all);
        }
        all.map(|settling| settling.point)
    }

    /// Settles the charges of points little different from this one, at the same speed, side by side: from its residual gas one
    /// cycle is enough, for what is left of an error in its temperature is some twentieth after each; the burn is then that of the
    /// charge it leaves.
    #[must_use]
    pub fn beside<'b>(&self, inputs: &[PointInputs<'b>]) -> Vec<Point<'b>> {
        let begin = |inputs| Settling::new(inputs, self.speed_rpm, self.residual_temperature_k);
        let mut all: Vec<Settling<'b>> = inputs.iter().map(begin).collect();
        settle(&mut all);
        let point = |settling: Settling<'b>| {
            let durations = settling.point.burn_durations(settling.burn_speed);
            Point { durations, ..settling.point }
        };
        all.into_iter().map(point).collect()
    }

    /// What settling a charge finds of a point, besides what follows from it.
    pub fn found(&self) -> Found {
        Found { residual_temperature_k: self.residual_temperature_k, durations: self.durations }
    }

    /// The likely case of a point whose charge has been settled elsewhere.
    pub fn with_found(setting: PointSetting<'a>, fuel: &'a FuelInUse, speed_rpm: f64, found: Found) -> Self {
        let inputs = PointInputs { setting, fuel, shifts: Shifts::NONE };
        let point = Settling::new(&inputs, speed_rpm, found.residual_temperature_k).point;
        Self { durations: found.durations, ..point }
    }
}
