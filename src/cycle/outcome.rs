//! What a closed cycle gives: its states, its sums, its highest pressure.

use crate::lanes::Lanes;

/// One state along the closed cycle, as observers see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CycleState<N = f64> {
    /// Crank angle [deg after firing top dead centre].
    pub crank_angle_deg: N,
    /// Time since inlet valve closing [s].
    pub time_s: N,
    /// Cylinder pressure [Pa].
    pub pressure_pa: N,
    /// Unburned temperature [K]; after the burn, that of its last part.
    pub unburned_temperature_k: N,
    /// Burned temperature [K]; 0 before the burn.
    pub burned_temperature_k: N,
    /// Temperature of the adiabatic core of the unburned gas [K]: the part that wall layers
    /// have not cooled, where autoignition begins.
    pub core_temperature_k: N,
    /// Burned mass fraction [-].
    pub burn_fraction: N,
}

/// What the closed cycle gives, for one cylinder.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ClosedResult {
    /// Work on the piston between the valve events [J].
    pub work_j: f64,
    /// Heat to the walls between the valve events [J].
    pub heat_j: f64,
    /// Internal energy at exhaust opening less that at inlet closing [J].
    pub energy_change_j: f64,
    /// Pressure at inlet closing [Pa].
    pub start_pressure_pa: f64,
    /// Pressure at exhaust opening [Pa].
    pub end_pressure_pa: f64,
    /// Temperature at exhaust opening [K].
    pub end_temperature_k: f64,
    /// Gas constant at exhaust opening [J/(kg K)].
    pub end_gas_constant_j_per_kg_k: f64,
    /// Heat capacity at exhaust opening, equilibrium [J/(kg K)].
    pub end_cp_j_per_kg_k: f64,
    /// Highest pressure [Pa].
    pub peak_pressure_pa: f64,
    /// Crank angle of the highest pressure [deg after top dead centre].
    pub peak_pressure_deg: f64,
}

impl ClosedResult {
    /// Work plus heat plus energy change [J]: zero when energy is conserved.
    pub fn energy_error_j(&self) -> f64 {
        self.work_j + self.heat_j + self.energy_change_j
    }
}

/// Highest pressure seen, refined by a parabola through its neighbours.
#[derive(Clone, Copy, Default)]
pub(super) struct PressurePeak<N = f64> {
    /// Pressures and angles.
    last: [(N, N); 2],
    around: [(N, N); 3],
}

impl<N: Lanes> PressurePeak<N> {
    /// Takes note of a pressure where the cycle is still `going`.
    #[inline(always)]
    pub(super) fn note(&mut self, pressure: N, deg: N, going: N::Mask) {
        let [before, last] = self.last;
        let is_same = !(last.1.is_below(deg)) & !(deg.is_below(last.1));
        // A jump at one angle: the top is not to be refined across it.
        let jumps = going & is_same & !(pressure.is_below(last.0));
        let tops = going & !jumps & self.around[1].0.is_below(last.0);
        let now = (pressure, deg);
        let [a, b, c] = self.around;
        self.around = [pick(tops, before, a), pick(tops, last, b), pick(tops, now, c)];
        let earlier = pick(jumps, (pressure.everywhere(0.0), deg), last);
        self.last = [pick(going, earlier, before), pick(going, now, last)];
    }
}

#[inline(always)]
fn pick<N: Lanes>(mask: N::Mask, then: (N, N), otherwise: (N, N)) -> (N, N) {
    (N::select(mask, then.0, otherwise.0), N::select(mask, then.1, otherwise.1))
}

impl PressurePeak {
    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> PressurePeak<N> {
        let point = |get: &dyn Fn(Self) -> (f64, f64)| {
            (N::gathered(token, |lane| get(of(lane)).0), N::gathered(token, |lane| get(of(lane)).1))
        };
        PressurePeak {
            last: std::array::from_fn(|i| point(&|peak| peak.last[i])),
            around: std::array::from_fn(|i| point(&|peak| peak.around[i])),
        }
    }

    /// One of several.
    pub(super) fn of<N: Lanes>(beside: &PressurePeak<N>, lane: usize) -> Self {
        let point = |(pressure, deg): (N, N)| (pressure.lane(lane), deg.lane(lane));
        Self { last: beside.last.map(point), around: beside.around.map(point) }
    }

    /// Pressure and angle of the top.
    pub(super) fn top(&self) -> (f64, f64) {
        let [(p0, a0), (p1, a1), (p2, a2)] = self.around;
        let (left, right) = (a1 - a0, a2 - a1);
        let (s0, s1) = ((p1 - p0) / left, (p2 - p1) / right);
        let curvature = (s1 - s0) / (left + right);
        if p0 > 0.0 && left > 0.0 && right > 0.0 && curvature < 0.0 && s0 >= 0.0 && s1 <= 0.0 {
            // p = p1 + slope (a - a1) + curvature (a - a1)^2 through the three points
            let slope = s0 + curvature * left;
            let shift = -0.5 * slope / curvature;
            (p1 + 0.5 * slope * shift, a1 + shift)
        } else if self.last[1].0 > p1 {
            self.last[1]
        } else {
            (p1, a1)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every energy test reads this sum, so it is held by itself.
    #[test]
    fn the_energy_error_is_what_does_not_add_up() {
        let closed = ClosedResult {
            work_j: 500.0,
            heat_j: 200.0,
            energy_change_j: -690.0,
            start_pressure_pa: 1e5,
            end_pressure_pa: 4e5,
            end_temperature_k: 1700.0,
            end_gas_constant_j_per_kg_k: 290.0,
            end_cp_j_per_kg_k: 1400.0,
            peak_pressure_pa: 8e6,
            peak_pressure_deg: 14.0,
        };
        assert_eq!(closed.energy_error_j(), 10.0);
    }
}
