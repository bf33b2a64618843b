//! Mass and energy of one cylinder and its pipes over a cycle.

/// Mass and energy that are somewhere or pass somewhere in a cycle.
///
/// Energy counts from 0 K with the heat capacities of [`super::PipeGas`]; where gas passes, it is enthalpy and motion.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Moved {
    /// Mass [kg].
    pub mass_kg: f64,
    /// Energy [J].
    pub energy_j: f64,
}

impl Moved {
    pub(super) fn add(&mut self, [mass_kg, energy_j, _]: [f64; 3], times: f64) {
        self.mass_kg += times * mass_kg;
        self.energy_j += times * energy_j;
    }
}

/// What passes one cylinder and its pipes in a cycle, in the order of the flow.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ledger {
    /// Comes in from the air: through the throttle the share of one cylinder.
    pub taken: Moved,
    /// From the walls of the runner [J].
    pub runner_heat_j: f64,
    /// Passes the inlet valve.
    pub inlet: Moved,
    /// In the cylinder as the inlet valve seats.
    pub trapped: Moved,
    /// In the cylinder as the exhaust valve leaves its seat.
    pub released: Moved,
    /// From the walls of the cylinder between exhaust opening and inlet closing [J].
    pub cylinder_heat_j: f64,
    /// On the piston between exhaust opening and inlet closing [J].
    pub exchange_work_j: f64,
    /// Passes the exhaust valve.
    pub exhaust: Moved,
    /// From the walls of the primary [J].
    pub primary_heat_j: f64,
    /// Leaves behind the muffler: the share of one cylinder.
    pub given: Moved,
}

impl Ledger {
    /// What is missing of the mass of the inlet side, of the cylinder and of the exhaust side [kg]: nothing where cycles repeat.
    pub fn missing_kg(&self) -> [f64; 3] {
        let Self { taken, inlet, exhaust, given, .. } = self;
        [taken.mass_kg - inlet.mass_kg, inlet.mass_kg - exhaust.mass_kg, exhaust.mass_kg - given.mass_kg]
    }

    /// What is missing of the energy of the inlet side, of the open cylinder and of the exhaust side [J].
    pub fn missing_j(&self) -> [f64; 3] {
        let Self { taken, inlet, trapped, released, exhaust, given, .. } = self;
        [
            taken.energy_j + self.runner_heat_j - inlet.energy_j,
            released.energy_j + inlet.energy_j + self.cylinder_heat_j
                - self.exchange_work_j
                - exhaust.energy_j
                - trapped.energy_j,
            exhaust.energy_j + self.primary_heat_j - given.energy_j,
        ]
    }
}
