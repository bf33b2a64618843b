//! One cylinder between an inlet runner and an exhaust primary, run until its cycles repeat.
//!
//! While a valve is open the cylinder is an open system of one temperature; its pressure is what the valves see. From
//! inlet closing to exhaust opening the caller says what becomes of the charge, and the pipes go on with closed ends.

use super::duct::{Duct, Opening, Passed, Pipe};
use super::end::{Beyond, Side};
use super::gas::PipeGas;
use super::ledger::{Ledger, Moved};
use super::room::{Filled, Room};
use super::trace::{AtValves, Trace};
use super::valve::ValveGear;
use crate::engine::geometry::SliderCrank;
use std::f64::consts::PI;

/// Most cycles that are run, and what the fresh mass may change by, and either side miss, in a cycle that repeats, over the fresh mass [-].
const MOST_CYCLES: usize = 60;
const SETTLED: f64 = 1e-3;
/// Cycles after which what a side misses is left to the ledger.
const PATIENCE: usize = 25;
/// Cycles after which such as repeat in pairs count, and the most that the two may differ by [-].
const QUIET_PAIRS: usize = 6;
const MOST_IN_PAIR: f64 = 0.03;
/// Longest step [deg crank]: valve lift and volume are taken as constant over it.
const LONGEST_STEP_DEG: f64 = 2.0;
/// Engine speed below which cells grow with the time of a cycle [rpm], and by how much at most.
const CELL_RPM: f64 = 4000.0;
const LONGEST_CELL: f64 = 2.0;
/// Cells of the primary over those of the runner [-]: sound is as much faster in hot gas, and waves as much longer.
const HOT_CELL: f64 = 1.6;
/// Velocity in Woschni's law while a valve is open, over mean piston speed [-] (Woschni, SAE 670931, 1967; `from memory`).
const EXCHANGE_VELOCITY: f64 = 6.18;
/// Fresh charge and its temperature before the first cycle: share of the cylinder filled [-], and exhaust pipe [K].
const FIRST_FILL: f64 = 0.9;
const FIRST_EXHAUST_K: f64 = 900.0;

/// One cylinder, its valves and pipes.
#[derive(Clone, Debug)]
pub struct Breather {
    /// Gas of the pipes.
    pub gas: PipeGas,
    /// Piston motion.
    pub crank: SliderCrank,
    /// Bore [m].
    pub bore_m: f64,
    /// Stroke [m].
    pub stroke_m: f64,
    /// Inlet valves.
    pub inlet: ValveGear,
    /// Exhaust valves.
    pub exhaust: ValveGear,
    /// From plenum or air to the inlet valve; last diameter at the valve.
    pub runner: Pipe,
    /// From the exhaust valve to the collector; first diameter at the valve.
    pub primary: Pipe,
    /// What the runner draws from.
    pub plenum: Room,
    /// What the primary ends in.
    pub collector: Room,
    /// Effective area of the first end of the runner over that of the pipe [-]: 1 for a bell, less behind a throttle of its own.
    pub runner_open_frac: f64,
    /// Walls of the cylinder [K].
    pub wall_temperature_k: f64,
    /// Multiplier on the heat-transfer coefficient [-].
    pub heat_factor: f64,
    /// Length of the cells of the runner at 4000 rpm and above [m], about 0.03; longer below, where waves are longer.
    pub cell_m: f64,
}

/// The charge when the inlet valve seats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Trapped {
    /// Mass [kg].
    pub mass_kg: f64,
    /// Burned mass over mass [-].
    pub burned_frac: f64,
    /// Temperature [K].
    pub temperature_k: f64,
    /// Pressure [Pa].
    pub pressure_pa: f64,
}

impl Trapped {
    /// The mean of two.
    fn mean_with(&self, other: &Self) -> Self {
        let mass_kg = 0.5 * (self.mass_kg + other.mass_kg);
        let share = 0.5 * self.mass_kg / mass_kg;
        Self {
            mass_kg,
            burned_frac: share * self.burned_frac + (1.0 - share) * other.burned_frac,
            temperature_k: share * self.temperature_k + (1.0 - share) * other.temperature_k,
            pressure_pa: 0.5 * (self.pressure_pa + other.pressure_pa),
        }
    }
}

/// The burned charge when the exhaust valve leaves its seat.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Released {
    /// Temperature [K].
    pub temperature_k: f64,
}

/// How a cylinder breathes at one speed.
#[derive(Clone, Debug, PartialEq)]
pub struct Breath {
    /// The charge at inlet closing.
    pub trapped: Trapped,
    /// Fresh mass that passed the inlet valve and stayed, over that of the swept volume at the density of the gas before the plenum [-].
    pub volumetric_efficiency: f64,
    /// Fresh mass that left through the exhaust valve over that which came in [-].
    pub short_circuit_frac: f64,
    /// Mean pressure on the piston over the exhaust stroke [Pa].
    pub exhaust_stroke_pa: f64,
    /// Mean pressure on the piston over the intake stroke [Pa].
    pub intake_stroke_pa: f64,
    /// Mass and energy of the last cycle.
    pub ledger: Ledger,
    /// Cycles run.
    pub cycles: usize,
}

/// Cycles that do not repeat.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
#[error("the cycles at {speed_rpm:.0} rpm do not repeat after {cycles}")]
pub struct NotSettled {
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Cycles run.
    pub cycles: usize,
}

/// Sums over one cycle.
#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    /// Of the exhaust stroke and of the intake stroke.
    stroke_work_j: [f64; 2],
    fresh_in_kg: f64,
    fresh_out_kg: f64,
    ledger: Ledger,
}

/// A breather at a speed, on its way.
struct Run<'a> {
    of: &'a Breather,
    speed_rpm: f64,
    runner: Duct,
    primary: Duct,
    plenum: Filled,
    collector: Filled,
    mass_kg: f64,
    energy_j: f64,
    burned_kg: f64,
    sums: Sums,
    trace: Trace,
}

impl Breather {
    /// Runs cycles at a speed until they repeat.
    ///
    /// # Arguments
    /// - `speed_rpm`: engine speed
    /// - `closed`: what becomes of a trapped charge by exhaust opening
    ///
    /// # Errors
    /// [`NotSettled`] when they do not.
    pub fn settled(
        &self,
        speed_rpm: f64,
        closed: impl Fn(&Trapped) -> Released,
    ) -> Result<Breath, NotSettled> {
        self.cycles(speed_rpm, closed, Trace::new(false)).map(|(breath, _)| breath)
    }

    /// The same with a record of the last cycle, from exhaust opening on, about every 2 deg; the cylinder's pressure is left out
    /// between the valve events.
    ///
    /// # Errors
    /// As [`Self::settled`].
    pub fn settled_traced(
        &self,
        speed_rpm: f64,
        closed: impl Fn(&Trapped) -> Released,
    ) -> Result<(Breath, Vec<AtValves>), NotSettled> {
        self.cycles(speed_rpm, closed, Trace::new(true))
    }

    fn cycles(
        &self,
        speed_rpm: f64,
        closed: impl Fn(&Trapped) -> Released,
        trace: Trace,
    ) -> Result<(Breath, Vec<AtValves>), NotSettled> {
        let mut run = Run::new(self, speed_rpm, trace);
        let mut trapped = run.first_charge();
        let (mut fresh, mut pairs) = ([0.0; 3], 0);
        for cycle in 1..=MOST_CYCLES {
            run.release(&trapped, &closed(&trapped));
            run.exchange();
            let before = std::mem::replace(&mut trapped, run.trapped());
            run.wait();
            run.turn();
            fresh = [trapped.mass_kg * (1.0 - trapped.burned_frac), fresh[0], fresh[1]];
            if !fresh[0].is_finite() {
                break;
            }
            let off = |earlier: usize| (fresh[0] - fresh[earlier]).abs() / fresh[0];
            let [taken, _, given] = run.sums.ledger.missing_kg();
            let missing_kg = if cycle < PATIENCE { taken.abs().max(given.abs()) } else { 0.0 };
            if off(1).max(missing_kg / fresh[0]) < SETTLED {
                return Ok((self.breath(trapped, &run.sums, cycle), run.trace.into_kept()));
            }
            // Some cycles repeat in pairs, a little fuller and a little emptier: their mean stands for both.
            let is_pair = off(2) < SETTLED && (SETTLED..MOST_IN_PAIR).contains(&off(1));
            pairs = if is_pair { pairs + 1 } else { 0 };
            if pairs == QUIET_PAIRS {
                let mean = trapped.mean_with(&before);
                return Ok((self.breath(mean, &run.sums, cycle), run.trace.into_kept()));
            }
        }
        Err(NotSettled { speed_rpm, cycles: MOST_CYCLES })
    }

    fn breath(&self, trapped: Trapped, sums: &Sums, cycles: usize) -> Breath {
        let swept_m3 = self.swept_m3();
        let Beyond { pressure_pa, temperature_k, burned_frac } = self.plenum.beyond();
        let density = pressure_pa / (self.gas.gas_constant(burned_frac) * temperature_k);
        Breath {
            volumetric_efficiency: trapped.mass_kg * (1.0 - trapped.burned_frac) / (density * swept_m3),
            trapped,
            short_circuit_frac: sums.fresh_out_kg / sums.fresh_in_kg,
            exhaust_stroke_pa: -sums.stroke_work_j[0] / swept_m3,
            intake_stroke_pa: sums.stroke_work_j[1] / swept_m3,
            ledger: sums.ledger,
            cycles,
        }
    }

    fn swept_m3(&self) -> f64 {
        0.25 * PI * self.bore_m * self.bore_m * self.stroke_m
    }

    /// Exhaust opening and inlet closing [deg after the top dead centre of gas exchange].
    fn open_deg(&self) -> (f64, f64) {
        (self.exhaust.seated_deg().0, self.inlet.seated_deg().1)
    }

    fn volume_m3(&self, crank_angle_deg: f64) -> f64 {
        self.crank.volume_m3(crank_angle_deg.to_radians())
    }
}

impl<'a> Run<'a> {
    fn new(of: &'a Breather, speed_rpm: f64, trace: Trace) -> Self {
        let cell_m = of.cell_m * (CELL_RPM / speed_rpm).clamp(1.0, LONGEST_CELL);
        let duct = |pipe: &Pipe, cell_m: f64, filled: &Beyond| {
            Duct::new(of.gas, pipe.clone(), (pipe.length_m / cell_m).round() as usize, filled)
        };
        let (plenum, collector) = (of.plenum.beyond(), of.collector.beyond());
        let hot = Beyond { temperature_k: FIRST_EXHAUST_K, burned_frac: 1.0, ..collector };
        Self {
            of,
            speed_rpm,
            runner: duct(&of.runner, cell_m, &plenum),
            primary: duct(&of.primary, HOT_CELL * cell_m, &hot),
            plenum: Filled::new(of.gas, of.plenum),
            collector: Filled::new(of.gas, of.collector),
            mass_kg: 0.0,
            energy_j: 0.0,
            burned_kg: 0.0,
            sums: Sums::default(),
            trace,
        }
    }

    fn first_charge(&self) -> Trapped {
        let Beyond { pressure_pa, temperature_k, burned_frac } = self.of.plenum.beyond();
        let density = pressure_pa / (self.of.gas.gas_constant(burned_frac) * temperature_k);
        Trapped {
            mass_kg: FIRST_FILL * density * self.of.swept_m3(),
            burned_frac: 0.05,
            temperature_k,
            pressure_pa,
        }
    }

    /// The cylinder full of burned gas at exhaust opening.
    fn release(&mut self, trapped: &Trapped, released: &Released) {
        self.mass_kg = trapped.mass_kg;
        self.burned_kg = trapped.mass_kg;
        self.trace.clear();
        self.energy_j = trapped.mass_kg * self.of.gas.cv(1.0) * released.temperature_k;
        self.sums = Sums::default();
        self.sums.ledger.released = Moved { mass_kg: self.mass_kg, energy_j: self.energy_j };
    }

    /// The gas in the cylinder at a crank angle.
    fn gas_at(&self, crank_angle_deg: f64) -> Beyond {
        let gas = &self.of.gas;
        let burned_frac = (self.burned_kg / self.mass_kg).clamp(0.0, 1.0);
        let temperature_k = self.energy_j / (self.mass_kg * gas.cv(burned_frac));
        let volume_m3 = self.of.volume_m3(crank_angle_deg);
        let pressure_pa = self.mass_kg * gas.gas_constant(burned_frac) * temperature_k / volume_m3;
        Beyond { pressure_pa, temperature_k, burned_frac }
    }

    fn trapped(&self) -> Trapped {
        let Beyond { pressure_pa, temperature_k, burned_frac } = self.gas_at(self.of.open_deg().1);
        Trapped { mass_kg: self.mass_kg, burned_frac, temperature_k, pressure_pa }
    }

    fn degrees_per_s(&self) -> f64 {
        6.0 * self.speed_rpm
    }

    /// Step that pipes and crank allow, at most up to an end [deg].
    fn step_deg(&self, left_deg: f64) -> f64 {
        let allowed_s = self.runner.longest_step_s().min(self.primary.longest_step_s());
        (allowed_s * self.degrees_per_s()).min(LONGEST_STEP_DEG).min(left_deg)
    }

    /// Both pipes and their rooms go on by a step from a crank angle, the inlet and the exhaust valves open by an area [m2] to the
    /// cylinder; shut without one.
    fn pipes(
        &mut self,
        at_deg: f64,
        step_deg: f64,
        cylinder: Option<Beyond>,
        open_m2: [f64; 2],
    ) -> [Passed; 2] {
        let [inlet_m2, exhaust_m2] = open_m2;
        let step_s = step_deg / self.degrees_per_s();
        let valve = |area_m2: f64, pipe_m2: f64| Opening {
            beyond: cylinder.unwrap_or(self.of.plenum.beyond()),
            open_frac: (area_m2 / pipe_m2).min(1.0),
        };
        let at_inlet = valve(inlet_m2, self.runner.area_m2(Side::Last));
        let at_exhaust = valve(exhaust_m2, self.primary.area_m2(Side::First));
        let before = Opening { beyond: self.plenum.gas(), open_frac: self.of.runner_open_frac };
        let after = Opening { beyond: self.collector.gas(), open_frac: 1.0 };
        let inlet = self.runner.advance(step_s, &before, &at_inlet);
        let exhaust = self.primary.advance(step_s, &at_exhaust, &after);
        self.trace.keep(at_deg, || AtValves {
            crank_angle_deg: at_deg,
            inlet_pressure_pa: self.runner.end_pressure_pa(Side::Last),
            exhaust_pressure_pa: self.primary.end_pressure_pa(Side::First),
            cylinder_pressure_pa: cylinder.map(|gas| gas.pressure_pa),
            inlet_kg_per_s: inlet.last[0] / step_s,
            exhaust_kg_per_s: exhaust.first[0] / step_s,
        });
        let taken = self.plenum.advance(at_deg, (step_deg, step_s), inlet.first.map(|taken| -taken));
        let refilled = self.collector.advance(at_deg, (step_deg, step_s), exhaust.last);
        let ledger = &mut self.sums.ledger;
        ledger.taken.add(taken, 1.0);
        ledger.given.add(refilled, -1.0);
        ledger.inlet.add(inlet.last, 1.0);
        ledger.exhaust.add(exhaust.first, 1.0);
        ledger.runner_heat_j += inlet.heat_j;
        ledger.primary_heat_j += exhaust.heat_j;
        [inlet, exhaust]
    }

    fn turn(&mut self) {
        let cycle_s = 720.0 / self.degrees_per_s();
        self.plenum.turn(cycle_s);
        self.collector.turn(cycle_s);
    }

    /// From exhaust opening to inlet closing.
    fn exchange(&mut self) {
        let (opens_deg, closes_deg) = self.of.open_deg();
        let mut at_deg = opens_deg;
        while closes_deg - at_deg > 1e-9 {
            let step_deg = self.step_deg(closes_deg - at_deg);
            self.open_step(at_deg, step_deg);
            at_deg += step_deg;
        }
        self.sums.ledger.trapped = Moved { mass_kg: self.mass_kg, energy_j: self.energy_j };
    }

    fn open_step(&mut self, at_deg: f64, step_deg: f64) {
        let step_s = step_deg / self.degrees_per_s();
        let middle_deg = at_deg + 0.5 * step_deg;
        let cylinder = self.gas_at(at_deg);
        let open_m2 =
            [self.of.inlet.effective_area_m2(middle_deg), self.of.exhaust.effective_area_m2(middle_deg)];
        let [inlet, exhaust] = self.pipes(at_deg, step_deg, Some(cylinder), open_m2);
        let (entered, left) = (inlet.last, exhaust.first);
        let volumes_m3 = [at_deg, at_deg + step_deg].map(|deg| self.of.volume_m3(deg));
        let grown_m3 = volumes_m3[1] - volumes_m3[0];
        // Pressure in the middle of the step, by compression alone.
        let gamma = self.of.gas.gamma(cylinder.burned_frac);
        let work_j = cylinder.pressure_pa * (1.0 - 0.5 * gamma * grown_m3 / volumes_m3[0]) * grown_m3;
        self.mass_kg += entered[0] - left[0];
        let heat_j = self.heat_w(&cylinder, volumes_m3[0]) * step_s;
        self.energy_j += entered[1] - left[1] - work_j + heat_j;
        self.burned_kg = (self.burned_kg + entered[2] - left[2]).min(self.mass_kg).max(0.0);
        let sums = &mut self.sums;
        sums.ledger.cylinder_heat_j += heat_j;
        sums.ledger.exchange_work_j += work_j;
        if (-180.0..180.0).contains(&middle_deg) {
            sums.stroke_work_j[usize::from(middle_deg > 0.0)] += work_j;
        }
        sums.fresh_in_kg += entered[0] - entered[2];
        sums.fresh_out_kg += left[0] - left[2];
    }

    /// Heat from the walls into the gas [W].
    fn heat_w(&self, gas: &Beyond, volume_m3: f64) -> f64 {
        let of = self.of;
        let velocity = EXCHANGE_VELOCITY * of.stroke_m * self.speed_rpm / 30.0;
        let film = 3.26
            * of.bore_m.powf(-0.2)
            * (1e-3 * gas.pressure_pa * velocity).powf(0.8)
            * gas.temperature_k.powf(-0.55);
        let area_m2 = 0.5 * PI * of.bore_m * of.bore_m + 4.0 * volume_m3 / of.bore_m;
        of.heat_factor * film * area_m2 * (of.wall_temperature_k - gas.temperature_k)
    }

    /// From inlet closing to exhaust opening: the pipes alone.
    fn wait(&mut self) {
        let (opens_deg, closes_deg) = self.of.open_deg();
        let end_deg = opens_deg + 720.0;
        let mut at_deg = closes_deg;
        while end_deg - at_deg > 1e-9 {
            let step_deg = self.step_deg(end_deg - at_deg);
            self.pipes(at_deg, step_deg, None, [0.0, 0.0]);
            at_deg += step_deg;
        }
    }
}
