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
const RELAXATION: f64 = 0.3;
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
        let Beyond { pressure_pa, temperature_k, burned_frac } = of.beyond();
        let volume_m3 = match of {
            Room::Still(_) => 0.0,
            Room::Volume(volume) => volume.volume_m3,
        };
        let mass_kg = pressure_pa * volume_m3 / (gas.gas_constant(burned_frac) * temperature_k);
        let held = [mass_kg, mass_kg * gas.cv(burned_frac) * temperature_k, mass_kg * burned_frac];
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

    /// Goes on by a step.
    ///
    /// # Arguments
    /// - `middle_deg`: crank angle in the middle of the step
    /// - `gave`: mass, energy and burned mass that the own pipe gave in the step
    pub(super) fn advance(&mut self, middle_deg: f64, (step_deg, step_s): (f64, f64), gave: [f64; 3]) {
        let Room::Volume(volume) = self.of else { return };
        add(&mut self.now[record(middle_deg)], gave, 1.0);
        let through = self.through_opening(&volume);
        let Some(before) = &self.before else { return };
        add(&mut self.held, gave, 1.0);
        for other in 1..volume.sharers {
            let later_deg = 720.0 * f64::from(other) / f64::from(volume.sharers);
            add(&mut self.held, before[record(middle_deg - later_deg)], step_deg / RECORD_DEG);
        }
        add(&mut self.held, through, step_s);
    }

    /// Mass, energy and burned mass that come in through the opening [per s].
    fn through_opening(&self, volume: &Volume) -> [f64; 3] {
        let (inside, outside) = (self.gas(), volume.beyond);
        let (from, to, way) = match inside.pressure_pa < outside.pressure_pa {
            true => (outside, inside, 1.0),
            false => (inside, outside, -1.0),
        };
        let ratio = to.pressure_pa / from.pressure_pa;
        let flow = way * volume.opening_m2 * nozzle_flow_kg_per_m2_s(&self.gas, &from, ratio);
        let cp = self.gas.cv(from.burned_frac) + self.gas.gas_constant(from.burned_frac);
        [flow, flow * cp * from.temperature_k, flow * from.burned_frac]
    }

    /// One cycle is over.
    pub(super) fn turn(&mut self) {
        let mut now = std::mem::replace(&mut self.now, vec![[0.0; 3]; RECORDS]);
        if let Some(before) = &self.before {
            for (now, before) in now.iter_mut().zip(before) {
                *now = std::array::from_fn(|k| before[k] + RELAXATION * (now[k] - before[k]));
            }
        }
        self.before = Some(now);
    }
}

fn add(to: &mut [f64; 3], what: [f64; 3], times: f64) {
    for (to, what) in to.iter_mut().zip(what) {
        *to += times * what;
    }
}

fn record(crank_angle_deg: f64) -> usize {
    ((crank_angle_deg.rem_euclid(720.0) / RECORD_DEG) as usize).min(RECORDS - 1)
}
