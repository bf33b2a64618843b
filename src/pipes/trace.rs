//! A record of one cycle at the valves, for plots.

/// Crank angle between two entries of a record [deg], at least.
const EVERY_DEG: f64 = 2.0;

/// What is at the valves of a cylinder at a crank angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtValves {
    /// Crank angle [deg after the top dead centre of gas exchange], -360 to 540.
    pub crank_angle_deg: f64,
    /// Pressure in the runner before the inlet valve [Pa].
    pub inlet_pressure_pa: f64,
    /// Pressure in the primary behind the exhaust valve [Pa].
    pub exhaust_pressure_pa: f64,
    /// Pressure in the cylinder [Pa]; none where both valves are shut and no closed cycle was asked.
    pub cylinder_pressure_pa: Option<f64>,
    /// Flow into the cylinder [kg/s].
    pub inlet_kg_per_s: f64,
    /// Flow out of the cylinder [kg/s].
    pub exhaust_kg_per_s: f64,
}

/// The record of the cycle that is run, where one was asked for.
#[derive(Clone, Debug)]
pub(super) struct Trace(Option<Vec<AtValves>>);

impl Trace {
    pub(super) fn new(is_wanted: bool) -> Self {
        Self(is_wanted.then(|| Vec::with_capacity((720.0 / EVERY_DEG) as usize + 1)))
    }

    /// Begins anew.
    pub(super) fn clear(&mut self) {
        if let Some(kept) = &mut self.0 {
            kept.clear();
        }
    }

    /// Keeps what is at the valves at an angle, unless the last entry is too near.
    pub(super) fn keep(&mut self, crank_angle_deg: f64, at: impl FnOnce() -> AtValves) {
        let Some(kept) = &mut self.0 else { return };
        if kept.last().is_none_or(|last| crank_angle_deg - last.crank_angle_deg > EVERY_DEG - 1e-9) {
            kept.push(at());
        }
    }

    pub(super) fn into_kept(self) -> Vec<AtValves> {
        self.0.unwrap_or_default()
    }
}
