//! One pipe: a finite-volume scheme of second order for the flow of a gas along it.
//!
//! Mass, momentum, energy and burned mass in cells of equal length; the state is laid through each cell in a line that a
//! limiter holds (van Leer), fluxes are those of [`super::riemann`], time goes in two stages (Heun, strong stability
//! preserving). Area may change along the pipe; walls rub and exchange heat.

use super::end::{self, Beyond, Side};
use super::gas::{Conserved, PipeGas, State};
use super::riemann;
use std::f64::consts::PI;

/// Shape and walls of a pipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Pipe {
    /// Length [m].
    pub length_m: f64,
    /// Diameter at the first end [m].
    pub first_diameter_m: f64,
    /// Diameter at the last end [m]; straight taper in between.
    pub last_diameter_m: f64,
    /// Temperature of the wall [K].
    pub wall_temperature_k: f64,
    /// Darcy friction factor [-]; heat to the wall follows it by the analogy of Reynolds.
    pub friction_factor: f64,
}

/// What is beyond an end and how far it is open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Opening {
    /// The gas at rest beyond the end.
    pub beyond: Beyond,
    /// Effective area of the opening over that of the pipe [-].
    pub open_frac: f64,
}

/// A pipe full of gas.
#[derive(Clone, Debug)]
pub struct Duct {
    gas: PipeGas,
    pipe: Pipe,
    step_m: f64,
    /// Areas of the faces [m2], one more than cells.
    face_m2: Vec<f64>,
    /// Diameters of the cells [m].
    diameter_m: Vec<f64>,
    cells: Vec<Conserved>,
    room: Workroom,
}

/// Lists that every step fills anew.
#[derive(Clone, Debug, Default)]
struct Workroom {
    before: Vec<Conserved>,
    states: Vec<State>,
    edges: Vec<[State; 2]>,
    faces: Vec<Conserved>,
}

/// What has passed both ends in a step, along the pipe: mass [kg], energy [J], burned mass [kg].
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Passed {
    /// Into the pipe at its first end.
    pub first: [f64; 3],
    /// Out of the pipe at its last end.
    pub last: [f64; 3],
    /// Heat from the walls [J].
    pub heat_j: f64,
}

/// Largest share of a cell that a wave may cross in a step [-]: 1 is the limit of the scheme.
const COURANT: f64 = 0.8;

impl Duct {
    /// A pipe of some cells, three or more, filled with gas at rest.
    pub fn new(gas: PipeGas, pipe: Pipe, cells: usize, filled: &Beyond) -> Self {
        let cells = cells.max(3);
        let at = |i: usize| {
            let share = i as f64 / cells as f64;
            let diameter = pipe.first_diameter_m + share * (pipe.last_diameter_m - pipe.first_diameter_m);
            0.25 * PI * diameter * diameter
        };
        let face_m2: Vec<f64> = (0..=cells).map(at).collect();
        let middle = |pair: &[f64]| (2.0 * (pair[0] + pair[1]) / PI).sqrt();
        let diameter_m = face_m2.windows(2).map(middle).collect();
        let state = State::at_rest(&gas, filled.pressure_pa, filled.temperature_k, filled.burned_frac);
        let step_m = pipe.length_m / cells as f64;
        Self {
            gas,
            pipe,
            step_m,
            face_m2,
            diameter_m,
            cells: vec![state.conserved(&gas); cells],
            room: Workroom::default(),
        }
    }

    /// The state in each cell, first to last.
    pub fn states(&self) -> impl DoubleEndedIterator<Item = State> + ExactSizeIterator {
        self.cells.iter().map(|cell| State::of(&self.gas, *cell))
    }

    /// Sets the state of each cell, first to last.
    pub fn fill(&mut self, states: impl IntoIterator<Item = State>) {
        for (cell, state) in self.cells.iter_mut().zip(states) {
            *cell = state.conserved(&self.gas);
        }
    }

    /// Place of the middle of a cell [m].
    pub fn place_m(&self, cell: usize) -> f64 {
        (cell as f64 + 0.5) * self.step_m
    }

    /// Area of the pipe at an end [m2].
    pub fn area_m2(&self, side: Side) -> f64 {
        match side {
            Side::First => self.face_m2[0],
            Side::Last => self.face_m2[self.cells.len()],
        }
    }

    /// Pressure in the cell at an end [Pa].
    pub fn end_pressure_pa(&self, side: Side) -> f64 {
        let cell = match side {
            Side::First => 0,
            Side::Last => self.cells.len() - 1,
        };
        State::of(&self.gas, self.cells[cell]).pressure_pa
    }

    /// Longest step of time that the scheme allows now [s].
    pub fn longest_step_s(&self) -> f64 {
        let fastest = self
            .states()
            .map(|state| state.velocity_m_per_s.abs() + state.sound_m_per_s(&self.gas))
            .fold(0.0, f64::max);
        COURANT * self.step_m / fastest
    }

    /// Mass [kg] and energy [J] of the gas in the pipe.
    pub fn contents(&self) -> [f64; 2] {
        let volume = |i: usize| 0.5 * (self.face_m2[i] + self.face_m2[i + 1]) * self.step_m;
        [0, 2].map(|k| self.cells.iter().enumerate().map(|(i, cell)| cell[k] * volume(i)).sum())
    }

    /// Goes on by a step of time, both ends open as stated all through it.
    pub fn advance(&mut self, step_s: f64, first: &Opening, last: &Opening) -> Passed {
        self.room.before.clone_from(&self.cells);
        let passed = self.stage(step_s, first, last);
        let again = self.stage(step_s, first, last);
        for (cell, before) in self.cells.iter_mut().zip(&self.room.before) {
            *cell = std::array::from_fn(|k| 0.5 * (cell[k] + before[k]));
        }
        let mean = |a: [f64; 3], b: [f64; 3]| std::array::from_fn(|k| 0.5 * step_s * (a[k] + b[k]));
        Passed {
            first: mean(passed.first, again.first),
            last: mean(passed.last, again.last),
            heat_j: 0.5 * step_s * (passed.heat_j + again.heat_j),
        }
    }

    /// Adds the change of a step to every cell; what passes the ends is per second.
    fn stage(&mut self, step_s: f64, first: &Opening, last: &Opening) -> Passed {
        let mut room = std::mem::take(&mut self.room);
        room.states.clear();
        room.states.extend(self.states());
        self.fluxes(&mut room, first, last);
        let faces = &room.faces;
        let mut heat_w = 0.0;
        for (i, state) in room.states.iter().enumerate() {
            let (left, right) = (self.face_m2[i], self.face_m2[i + 1]);
            let volume = 0.5 * (left + right) * self.step_m;
            let mut slope: Conserved =
                std::array::from_fn(|k| (left * faces[i][k] - right * faces[i + 1][k]) / volume);
            let [drag, heat] = self.walls(state, self.diameter_m[i]);
            slope[1] += state.pressure_pa * (right - left) / volume - drag;
            slope[2] += heat;
            heat_w += heat * volume;
            for (content, change) in self.cells[i].iter_mut().zip(slope) {
                *content += step_s * change;
            }
        }
        let end = |flux: &Conserved, area: f64| [flux[0] * area, flux[2] * area, flux[3] * area];
        let count = self.cells.len();
        let passed = Passed {
            first: end(&faces[0], self.face_m2[0]),
            last: end(&faces[count], self.face_m2[count]),
            heat_j: heat_w,
        };
        self.room = room;
        passed
    }

    /// Flux through every face per area and time.
    fn fluxes(&self, room: &mut Workroom, first: &Opening, last: &Opening) {
        let (gas, states) = (&self.gas, &room.states);
        let count = states.len();
        room.edges.clear();
        room.edges.extend((0..count).map(|i| {
            let (before, after) = (states[i.saturating_sub(1)], states[(i + 1).min(count - 1)]);
            edges(&before, &states[i], &after)
        }));
        let at_end = |side, inside: &State, opening: &Opening| {
            end::flux(gas, side, inside, &opening.beyond, opening.open_frac)
        };
        room.faces.clear();
        room.faces.push(at_end(Side::First, &room.edges[0][0], first));
        room.faces.extend(room.edges.windows(2).map(|pair| riemann::flux(gas, &pair[0][1], &pair[1][0])));
        room.faces.push(at_end(Side::Last, &room.edges[count - 1][1], last));
    }

    /// Drag [N/m3] and heat from the wall [W/m3] in a pipe of a diameter [m].
    fn walls(&self, state: &State, diameter: f64) -> [f64; 2] {
        let State { density_kg_per_m3: density, velocity_m_per_s: velocity, burned_frac, .. } = *state;
        let friction = self.pipe.friction_factor;
        let drag = 0.5 * friction * density * velocity * velocity.abs() / diameter;
        let cp = self.gas.cv(burned_frac) + self.gas.gas_constant(burned_frac);
        // Reynolds: h = f / 8 rho u cp.
        let film = 0.125 * friction * density * velocity.abs() * cp;
        let heat = 4.0 / diameter * film * (self.pipe.wall_temperature_k - state.temperature_k(&self.gas));
        [drag, heat]
    }
}

/// The state at both edges of a cell, by slopes that a limiter holds.
fn edges(before: &State, at: &State, after: &State) -> [State; 2] {
    let half = |of: fn(&State) -> f64| 0.5 * limited(of(at) - of(before), of(after) - of(at));
    let density = half(|s| s.density_kg_per_m3);
    let velocity = half(|s| s.velocity_m_per_s);
    let pressure = half(|s| s.pressure_pa);
    let burned = half(|s| s.burned_frac);
    [-1.0, 1.0].map(|way| State {
        density_kg_per_m3: at.density_kg_per_m3 + way * density,
        velocity_m_per_s: at.velocity_m_per_s + way * velocity,
        pressure_pa: at.pressure_pa + way * pressure,
        burned_frac: at.burned_frac + way * burned,
    })
}

/// Van Leer's limiter: the harmonic mean of two slopes of one sign, else 0.
fn limited(a: f64, b: f64) -> f64 {
    let product = a * b;
    if product > 0.0 { 2.0 * product / (a + b) } else { 0.0 }
}
