//! What the far end of a pipe opens into: still gas, or a volume that the pipes of several cylinders share.
//!
//! One cylinder stands for all: the others are taken to do what this one did in the cycles before, each a firing interval
//! later.

use super::end::{Beyond, nozzle_flow_kg_per_m2_s};
use super::gas::PipeGas;

/// Crank angle of one record of what a pipe gave [deg], and records of one cycle.
const RECORD_DEG: f64 = 4.0;
const RECORDS: usize = 180;

/// Share of the last cycle in what the others are taken to do [-]: with all of it the cylinders can rock each other.
const RELAXATION: f64 = 0.4;
/// What the far end of a pipe opens into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Room {
    /// Gas at rest that nothing changes.
    Still(Beyond),
    /// A plenum or a collector.
    Volume(Volume),
}

/// A volume with one opening to still gas, and pipes of cylinders that fire at even intervals.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Volume {
    /// Volume [m3].
    pub volume_m3: f64,
    /// Effective area of the opening: throttle, or what the muffler leaves [m2].
    pub opening_m2: f64,
    /// The gas beyond that opening.
    pub beyond: Beyond,
    /// Cylinders whose pipes end in the volume.
    pub sharers: u32,
}

impl Room {
    /// The still gas that it stands in.
    pub fn beyond(&self) -> Beyond {
        match self {
            Self::Still(beyond) => *beyond,
            Self::Volume(volume) => volume.beyond,
        }
    }
}

/// A room on its way through the cycles.
#[derive(Clone, Debug)]
pub(super) struct Filled {
    gas: PipeGas,
    of: Room,
    /// Mass [kg], energy [J] and burned mass [kg].
    held: [f64; 3],
    /// What the own pipe gave up to the last cycle, by crank angle; none before the first is over.
    before: Option<Vec<[f64; 3]>>,
    /// What it gave in this cycle.
    now: Vec<[f64; 3]>,
}

impl Filled {
    pub(super) fn new(gas: PipeGas, of: Room) -> Self {
        let held = match of {
            Room::Still(_) => [0.0; 3],
            Room::Volume(volume) => filled(&gas, volume.volume_m3, &volume.beyond),
        };
        Self { gas, of, held, before: None, now: vec![[0.0; 3]; RECORDS] }
    }

    /// The gas in it; that it stands in until the pipes have been through a cycle.
    pub(super) fn gas(&self) -> Beyond {
        let (Room::Volume(volume), Some(_)) = (&self.of, &self.before) else { return self.of.beyond() };
        let burned_frac = (self.held[2] / self.held[0]).clamp(0.0, 1.0);
        let temperature_k = self.held[1] / (self.held[0] * self.gas.cv(burned_frac));
        let gas_constant = self.gas.gas_constant(burned_frac);
        let pressure_pa = self.held[0] * gas_constant * temperature_k / volume.volume_m3;
        Beyond { pressure_pa, temperature_k, burned_frac }
    }

    /// Goes on by a step; gives back what came in from beyond in it, the share of one cylinder.
    ///
    /// # Arguments
    /// - `at_deg`: crank angle at which the step begins
    /// - `gave`: mass, energy and burned mass that the own pipe gave in the step
    pub(super) fn advance(
        &mut self,
        at_deg: f64,
        (step_deg, step_s): (f64, f64),
        gave: [f64; 3],
    ) -> [f64; 3] {
        let Room::Volume(volume) = self.of else { return gave.map(|gave| -gave) };
        add(&mut self.now[record(at_deg + 0.5 * step_deg)], gave, 1.0);
        let through = self.through_opening(&volume, step_s);
        let share = through.map(|through| through / f64::from(volume.sharers));
        let Some(before) = &self.before else { return share };
        add(&mut self.held, gave, 1.0);
        for other in 1..volume.sharers {
            let later_deg = 720.0 * f64::from(other) / f64::from(volume.sharers);
            let from_deg = (at_deg - later_deg).rem_euclid(720.0);
            // A step lies in one entry or in two.
            let first_deg = step_deg.min(RECORD_DEG - from_deg % RECORD_DEG);
            add(&mut self.held, before[record(from_deg)], first_deg / RECORD_DEG);
            let next = before[(record(from_deg) + 1) % RECORDS];
            add(&mut self.held, next, (step_deg - first_deg) / RECORD_DEG);
        }
        add(&mut self.held, through, 1.0);
        share
    }

    /// Mass, energy and burned mass that come in through the opening in a step: at most what levels the pressures.
    fn through_opening(&self, volume: &Volume, step_s: f64) -> [f64; 3] {
        let (inside, outside) = (self.gas(), volume.beyond);
        let (from, to, way) = match inside.pressure_pa < outside.pressure_pa {
            true => (outside, inside, 1.0),
            false => (inside, outside, -1.0),
        };
        let ratio = to.pressure_pa / from.pressure_pa;
        let flow_kg = step_s * volume.opening_m2 * nozzle_flow_kg_per_m2_s(&self.gas, &from, ratio);
        let gas_constant = self.gas.gas_constant(from.burned_frac);
        let levels_kg = (from.pressure_pa - to.pressure_pa) * volume.volume_m3
            / (self.gas.gamma(inside.burned_frac) * gas_constant * from.temperature_k);
        let kg = way * flow_kg.min(levels_kg);
        let cp = self.gas.cv(from.burned_frac) + gas_constant;
        [kg, kg * cp * from.temperature_k, kg * from.burned_frac]
    }

    /// A cycle of some time is over.
    pub(super) fn turn(&mut self, cycle_s: f64) {
        let mut now = std::mem::replace(&mut self.now, vec![[0.0; 3]; RECORDS]);
        if let Some(before) = &self.before {
            // The course over the cycle follows slowly, its mean at once.
            let mut off = [0.0; 3];
            for (now, before) in now.iter_mut().zip(before) {
                let change: [f64; 3] = std::array::from_fn(|k| (1.0 - RELAXATION) * (before[k] - now[k]));
                add(now, change, 1.0);
                add(&mut off, change, 1.0 / RECORDS as f64);
            }
            now.iter_mut().for_each(|now| add(now, off, -1.0));
        } else if let Room::Volume(volume) = self.of {
            self.held = self.steady(&volume, &now, cycle_s);
        }
        self.before = Some(now);
    }

    /// What the room holds where its opening passes, all the time, the mean of what the pipes give: near enough to begin with.
    fn steady(&self, volume: &Volume, gave: &[[f64; 3]], cycle_s: f64) -> [f64; 3] {
        let mut sum = [0.0; 3];
        gave.iter().for_each(|gave| add(&mut sum, *gave, f64::from(volume.sharers)));
        let Beyond { pressure_pa: outside_pa, .. } = volume.beyond;
        let gas = &self.gas;
        let mean = match sum[0] > 0.0 {
            true => {
                let burned_frac = (sum[2] / sum[0]).clamp(0.0, 1.0);
                let cp = gas.cv(burned_frac) + gas.gas_constant(burned_frac);
                Beyond { temperature_k: sum[1] / (sum[0] * cp), burned_frac, ..volume.beyond }
            }
            false => volume.beyond,
        };
        let wanted = sum[0].abs() / (cycle_s * volume.opening_m2);
        let passes = |pressure_pa: f64| match sum[0] > 0.0 {
            true => nozzle_flow_kg_per_m2_s(gas, &Beyond { pressure_pa, ..mean }, outside_pa / pressure_pa),
            false => nozzle_flow_kg_per_m2_s(gas, &volume.beyond, pressure_pa / outside_pa),
        };
        let (mut near_pa, mut far_pa) = (outside_pa, if sum[0] > 0.0 { 2.0 } else { 0.6 } * outside_pa);
        for _ in 0..30 {
            let middle_pa = 0.5 * (near_pa + far_pa);
            if passes(middle_pa) < wanted { near_pa = middle_pa } else { far_pa = middle_pa }
        }
        filled(gas, volume.volume_m3, &Beyond { pressure_pa: near_pa, ..mean })
    }
}

/// Mass, energy and burned mass of a volume full of gas.
fn filled(gas: &PipeGas, volume_m3: f64, of: &Beyond) -> [f64; 3] {
    let Beyond { pressure_pa, temperature_k, burned_frac } = *of;
    let mass_kg = pressure_pa * volume_m3 / (gas.gas_constant(burned_frac) * temperature_k);
    [mass_kg, mass_kg * gas.cv(burned_frac) * temperature_k, mass_kg * burned_frac]
}

fn add(to: &mut [f64; 3], what: [f64; 3], times: f64) {
    for (to, what) in to.iter_mut().zip(what) {
        *to += times * what;
    }
}

fn record(crank_angle_deg: f64) -> usize {
    ((crank_angle_deg.rem_euclid(720.0) / RECORD_DEG) as usize).min(RECORDS - 1)
}
