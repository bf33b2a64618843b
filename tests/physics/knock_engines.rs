//! Octane requirement of three engines of shipped scenarios against ratio, timing, speed, air and mixture, from end-gas
//! histories that are run once and can be read with any constants of the knock model.

use crate::common::bench::{self, Trial};
use crate::common::bisect::bisect;
use endgas::air::{Weather, standard_atmosphere_pressure_pa};
use endgas::cycle::CycleState;
use endgas::engine::Injection;
use endgas::knock::{BlendDelay, EndGas, KnockFit, KnockIntegral, octane_requirement};

/// The end gas of one cycle.
#[derive(Clone)]
pub(crate) struct Run {
    states: Vec<CycleState>,
    gas: EndGas,
    speed_rpm: f64,
}

impl Run {
    pub(crate) fn of(trial: &Trial, spark_deg_btdc: f64) -> Self {
        trial.with(|point| {
            let mut states = Vec::new();
            point.closed(&point.burn(spark_deg_btdc), |state| states.push(*state));
            Self { states, gas: point.end_gas(), speed_rpm: point.speed_rpm() }
        })
    }

    /// Ignition integral at octane number 100.
    pub(crate) fn integral(&self, fit: &KnockFit) -> f64 {
        let mut integral = KnockIntegral::new(BlendDelay::new(fit, &self.gas, self.speed_rpm));
        self.states.iter().for_each(|state| integral.add(state));
        integral.value()
    }

    pub(crate) fn requirement(&self, fit: &KnockFit) -> f64 {
        octane_requirement(self.integral(fit), fit.octane_exponent)
    }
}

/// Two runs and how far apart they are in what is changed.
struct Pair {
    from: Run,
    to: Run,
    by: f64,
}

impl Pair {
    fn slope(&self, fit: &KnockFit) -> f64 {
        (self.to.requirement(fit) - self.from.requirement(fit)) / self.by
    }
}

/// Lambda of the scan: from, step, count.
const LAMBDA_FROM: f64 = 0.78;
const LAMBDA_STEP: f64 = 0.02;
const LAMBDAS: usize = 14;
/// Timing about which the slopes are taken: so far from MBT, or where the engine needs this octane number.
const OFF_MBT_DEG: f64 = 2.5;
const BORDERLINE: f64 = 96.0;
const RETARD_DEG: f64 = 5.0;

/// Slopes of octane requirement of one engine [ON per unit], and its mixture of greatest requirement.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Slopes {
    pub(crate) per_ratio: f64,
    pub(crate) per_deg: f64,
    pub(crate) per_kelvin_air: f64,
    pub(crate) per_10_kpa: f64,
    pub(crate) per_kelvin_coolant: f64,
    pub(crate) per_1000_rpm: f64,
    pub(crate) worst_lambda: f64,
    /// From lambda 0.91 to 0.99: nothing where 0.95 asks for most.
    pub(crate) about_095: f64,
    /// Fall from lambda 0.95 to 0.80 per unit of air-fuel ratio.
    pub(crate) per_afr_rich: f64,
    pub(crate) per_gram_water: f64,
    pub(crate) per_30_kpa_back: f64,
    pub(crate) per_3000_ft: f64,
}

/// An engine with the runs behind its slopes.
pub(crate) struct Engine {
    ratio: Pair,
    timing: Pair,
    air: Pair,
    intake: Pair,
    coolant: Pair,
    speed: Pair,
    lambdas: Vec<Run>,
    afr_rich: f64,
    humidity: Pair,
    back: Pair,
    altitude: Pair,
}

fn day(temperature_k: f64, pressure_pa: f64, humidity: f64) -> Weather {
    Weather::new(temperature_k, pressure_pa, humidity).unwrap()
}

/// Timing at MBT less a little, or later where the engine needs more than the borderline octane number there.
fn borderline_deg(trial: &Trial) -> f64 {
    let most = trial.best().spark_deg_btdc - OFF_MBT_DEG;
    let need = |spark: f64| Run::of(trial, spark).requirement(&KnockFit::SHIPPED);
    if need(most) <= BORDERLINE {
        return most;
    }
    bisect((most - 30.0, most), 12, |spark| need(spark) > BORDERLINE)
}

/// The trial with 30 kPa more behind the exhaust valve and so much less air that the pressure at inlet closing stays: the
/// residual gas takes the room.
fn against_back_pressure(trial: &Trial) -> Trial {
    let closing = |t: &Trial| {
        t.with(|p| p.trapped.mass_kg * p.trapped.charge.gas_constant_j_per_kg_k * p.trapped.temperature_k)
    };
    let wanted = closing(trial);
    let mut other = trial.edit(|t| t.shifts.back_pressure_pa = 30e3);
    for _ in 0..6 {
        other.shifts.breathing *= wanted / closing(&other);
    }
    other
}

impl Engine {
    /// # Arguments
    /// - `fastest_rpm`: speed to which the slope over speed is taken, from 2000 rpm
    fn new(trial: Trial, fastest_rpm: f64) -> Self {
        // The tests behind the slopes were made with port injection.
        let trial = trial.edit(|t| {
            t.speed_rpm = 3000.0;
            t.build.injection = Injection::Port;
        });
        let spark = borderline_deg(&trial);
        let base = Run::of(&trial, spark);
        let at = |edit: &dyn Fn(&mut Trial)| Run::of(&trial.edit(edit), spark);
        let weather = |w: Weather| at(&|t| t.weather = w);
        let mbt = |t: Trial| Run::of(&t, t.best().spark_deg_btdc);
        let pair = |from: Run, to: Run, by: f64| Pair { from, to, by };
        // At the timing that burns half at the same angle: the slower burn apart.
        let same_burn = |w: Weather| {
            let other = trial.edit(|t| t.weather = w);
            Run::of(&other, timing_of_ca50(&other, trial.at(spark).ca50_deg_atdc))
        };
        let (dry, wet) = (day(303.15, 1e5, 0.1), day(303.15, 1e5, 0.7));
        let grams = 1000.0 * (wet.humidity_ratio() - dry.humidity_ratio());
        let altitude = |m: f64| weather(day(298.15, standard_atmosphere_pressure_pa(m).unwrap(), 0.3));
        let speed = |rpm: f64| mbt(trial.edit(|t| t.speed_rpm = rpm));
        Self {
            ratio: pair(mbt(trial.ratio(9.0)), mbt(trial.ratio(12.0)), 3.0),
            timing: pair(Run::of(&trial, spark - RETARD_DEG), base.clone(), RETARD_DEG),
            air: pair(weather(day(293.15, 1e5, 0.0)), weather(day(303.15, 1e5, 0.0)), 10.0),
            intake: pair(weather(day(298.15, 0.95e5, 0.3)), weather(day(298.15, 1.05e5, 0.3)), 1.0),
            coolant: pair(
                base.clone(),
                at(&|t| {
                    t.build.combustion = t.build.combustion.hotter_by(10.0);
                }),
                10.0,
            ),
            speed: pair(speed(2000.0), speed(fastest_rpm), (fastest_rpm - 2000.0) / 1000.0),
            lambdas: (0..LAMBDAS).map(|i| at(&|t| t.lambda = LAMBDA_FROM + LAMBDA_STEP * i as f64)).collect(),
            afr_rich: (0.95 - 0.80) * trial.fuel.afr_stoich,
            humidity: pair(same_burn(dry), same_burn(wet), grams),
            back: pair(base.clone(), Run::of(&against_back_pressure(&trial), spark), 1.0),
            altitude: pair(altitude(0.0), altitude(914.4), 1.0),
        }
    }

    pub(crate) fn slopes(&self, fit: &KnockFit) -> Slopes {
        let needs: Vec<f64> = self.lambdas.iter().map(|run| run.requirement(fit)).collect();
        let top = (1..LAMBDAS - 1).max_by(|a, b| needs[*a].total_cmp(&needs[*b])).unwrap();
        let [left, middle, right] = [needs[top - 1], needs[top], needs[top + 1]];
        let off = 0.5 * (left - right) / (left - 2.0 * middle + right);
        let index = |lambda: f64| (lambda - LAMBDA_FROM) / LAMBDA_STEP;
        let at = |lambda: f64| {
            let (low, part) = (index(lambda).floor(), index(lambda).fract());
            needs[low as usize] * (1.0 - part) + needs[low as usize + 1] * part
        };
        Slopes {
            per_ratio: self.ratio.slope(fit),
            per_deg: self.timing.slope(fit),
            per_kelvin_air: self.air.slope(fit),
            per_10_kpa: self.intake.slope(fit),
            per_kelvin_coolant: self.coolant.slope(fit),
            per_1000_rpm: self.speed.slope(fit),
            worst_lambda: LAMBDA_FROM + LAMBDA_STEP * (top as f64 + off.clamp(-1.0, 1.0)),
            about_095: at(0.99) - at(0.91),
            per_afr_rich: (at(0.95) - at(0.8001)) / self.afr_rich,
            per_gram_water: self.humidity.slope(fit),
            per_30_kpa_back: self.back.slope(fit),
            per_3000_ft: self.altitude.slope(fit),
        }
    }
}

/// A two-valve V8, a street four and a circuit four, all on premium of 91 AKI at lambda 0.90, 3000 rpm.
pub(crate) fn three() -> [Engine; 3] {
    [
        Engine::new(Trial::of_scenario("big-eight-6200"), 5500.0),
        Engine::new(Trial::of_scenario("street-2000"), 6000.0),
        Engine::new(Trial::of_scenario("circuit-2400"), 7000.0),
    ]
}

/// Full load near peak torque at 12.5:1 with a long cam.
pub(crate) fn high_ratio() -> Trial {
    Trial::new(12.5, 4500.0).edit(|t| {
        t.build = bench::build(12.5, 1.0);
        t.build.valves.inlet_closes_deg_abdc = 65.0;
    })
}

/// Timing of a trial at which half is burned at an angle, by bisection [deg before top dead centre].
pub(crate) fn timing_of_ca50(trial: &Trial, ca50_deg_atdc: f64) -> f64 {
    bisect((-10.0, 45.0), 30, |spark| trial.at(spark).ca50_deg_atdc <= ca50_deg_atdc)
}
