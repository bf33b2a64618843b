//! The gas in pipes: two perfect gases mixed by mass, fresh charge and burned gas.

/// A perfect gas with constant heat capacity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PerfectGas {
    /// Gas constant [J/(kg K)].
    pub gas_constant_j_per_kg_k: f64,
    /// Heat capacity at constant volume [J/(kg K)].
    pub cv_j_per_kg_k: f64,
}

/// What flows in pipes: fresh charge and burned gas.
///
/// Heat capacities are held constant over temperature: in an inlet they change by 1 % between 280 and 400 K, in an
/// exhaust by 8 % between 700 and 1200 K.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PipeGas {
    /// Fresh charge.
    pub fresh: PerfectGas,
    /// Burned gas.
    pub burned: PerfectGas,
}

impl PipeGas {
    /// Gas constant of a mixture [J/(kg K)].
    ///
    /// # Arguments
    /// - `burned_frac`: burned mass over mass [-], 0 to 1
    pub fn gas_constant(&self, burned_frac: f64) -> f64 {
        let (f, b) = (self.fresh.gas_constant_j_per_kg_k, self.burned.gas_constant_j_per_kg_k);
        f + burned_frac * (b - f)
    }

    /// Heat capacity of a mixture at constant volume [J/(kg K)].
    pub fn cv(&self, burned_frac: f64) -> f64 {
        let (f, b) = (self.fresh.cv_j_per_kg_k, self.burned.cv_j_per_kg_k);
        f + burned_frac * (b - f)
    }

    /// Ratio of heat capacities of a mixture [-].
    pub fn gamma(&self, burned_frac: f64) -> f64 {
        1.0 + self.gas_constant(burned_frac) / self.cv(burned_frac)
    }
}

/// The state of the gas at a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct State {
    /// Density [kg/m3].
    pub density_kg_per_m3: f64,
    /// Velocity along the pipe [m/s].
    pub velocity_m_per_s: f64,
    /// Static pressure [Pa].
    pub pressure_pa: f64,
    /// Burned mass over mass [-].
    pub burned_frac: f64,
}

/// Mass, momentum, energy and burned mass: per volume as a content, per area and time as a flux.
pub type Conserved = [f64; 4];

impl State {
    /// Gas at rest.
    pub fn at_rest(gas: &PipeGas, pressure_pa: f64, temperature_k: f64, burned_frac: f64) -> Self {
        let density_kg_per_m3 = pressure_pa / (gas.gas_constant(burned_frac) * temperature_k);
        Self { density_kg_per_m3, velocity_m_per_s: 0.0, pressure_pa, burned_frac }
    }

    /// Temperature [K].
    pub fn temperature_k(&self, gas: &PipeGas) -> f64 {
        self.pressure_pa / (self.density_kg_per_m3 * gas.gas_constant(self.burned_frac))
    }

    /// Speed of sound [m/s].
    pub fn sound_m_per_s(&self, gas: &PipeGas) -> f64 {
        (gas.gamma(self.burned_frac) * self.pressure_pa / self.density_kg_per_m3).sqrt()
    }

    /// Contents per volume.
    pub fn conserved(&self, gas: &PipeGas) -> Conserved {
        self.conserved_at(gas.gamma(self.burned_frac))
    }

    /// The same where the ratio of heat capacities is known [-].
    pub(super) fn conserved_at(&self, gamma: f64) -> Conserved {
        let Self { density_kg_per_m3: density, velocity_m_per_s: velocity, pressure_pa, burned_frac } = *self;
        let internal = pressure_pa / (gamma - 1.0);
        [density, density * velocity, internal + 0.5 * density * velocity * velocity, density * burned_frac]
    }

    /// The state of contents per volume.
    pub fn of(gas: &PipeGas, [mass, momentum, energy, burned]: Conserved) -> Self {
        let burned_frac = (burned / mass).clamp(0.0, 1.0);
        let velocity_m_per_s = momentum / mass;
        let internal = energy - 0.5 * momentum * velocity_m_per_s;
        let pressure_pa = (gas.gamma(burned_frac) - 1.0) * internal;
        Self { density_kg_per_m3: mass, velocity_m_per_s, pressure_pa, burned_frac }
    }

    /// What flows through an area that stands still, per area and time.
    pub fn flux(&self, gas: &PipeGas) -> Conserved {
        self.flux_of(self.conserved(gas))
    }

    /// The same of contents that are known.
    pub(super) fn flux_of(&self, [mass, momentum, energy, burned]: Conserved) -> Conserved {
        let u = self.velocity_m_per_s;
        [mass * u, momentum * u + self.pressure_pa, (energy + self.pressure_pa) * u, burned * u]
    }
}
