//! The equations of the closed cycle, and how they are stepped: for one cycle, or for several side by side.
//!
//! Per kilogram of charge, with x burned, u unburned and b burned:
//!
//! - unburned: cp_u dT_u = v_u dp - dq_u
//! - burned: x dh_b = x v_b dp - dq_b + (h_u - h_b) dx, h_b(T_b, p) in equilibrium
//! - volume: v = (1 - x) v_u + x v_b
//!
//! which is a linear equation for dp, stepped by the classical fourth-order Runge-Kutta method.

use super::burn::Burn;
use super::closed::ClosedCycle;
use super::heat::HeatLaw;
use super::outcome::{CycleState, PressurePeak};
use crate::engine::geometry::SliderCrank;
use crate::gas::table::BurnedState;
use crate::gas::{BurnedTable, UnburnedCharge};
use crate::lanes::{Lanes, MOST};

/// Exponent of the motored pressure in Woschni's law (common practice, no source).
const MOTORED_EXPONENT: f64 = 1.3;
/// Where Newton's method for the first burned gas begins [K].
const FLAME_GUESS_K: f64 = 2400.0;

/// Integration variables; slopes of the same form.
#[derive(Clone, Copy)]
pub(super) struct Vars<N> {
    /// Pressure [Pa].
    pub(super) p: N,
    /// Unburned temperature [K].
    pub(super) tu: N,
    /// Burned temperature [K].
    pub(super) tb: N,
    /// Temperature of the adiabatic core of the unburned gas [K].
    pub(super) tc: N,
    /// Work done [J].
    pub(super) work: N,
    /// Heat lost [J].
    pub(super) heat: N,
}

impl<N: Lanes> Vars<N> {
    #[inline(always)]
    fn with(self, other: Self, of: impl Fn(N, N) -> N) -> Self {
        Self {
            p: of(self.p, other.p),
            tu: of(self.tu, other.tu),
            tb: of(self.tb, other.tb),
            tc: of(self.tc, other.tc),
            work: of(self.work, other.work),
            heat: of(self.heat, other.heat),
        }
    }

    #[inline(always)]
    fn step(self, slopes: Self, by: N) -> Self {
        self.with(
            slopes,
            #[inline(always)]
            |value, slope| value + by * slope,
        )
    }
}

impl Vars<f64> {
    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> Vars<N> {
        let each = |get: fn(Self) -> f64| N::gathered(token, |lane| get(of(lane)));
        Vars {
            p: each(|v| v.p),
            tu: each(|v| v.tu),
            tb: each(|v| v.tb),
            tc: each(|v| v.tc),
            work: each(|v| v.work),
            heat: each(|v| v.heat),
        }
    }

    /// One of several.
    pub(super) fn of<N: Lanes>(beside: &Vars<N>, lane: usize) -> Self {
        let v = beside;
        Self {
            p: v.p.lane(lane),
            tu: v.tu.lane(lane),
            tb: v.tb.lane(lane),
            tc: v.tc.lane(lane),
            work: v.work.lane(lane),
            heat: v.heat.lane(lane),
        }
    }
}

/// A span of crank angles [deg] in even steps.
#[derive(Clone, Copy)]
pub(super) struct Phase<N = f64> {
    pub(super) from: N,
    pub(super) to: N,
    step: N,
    /// How many steps.
    count: N,
    /// Sine and cosine where it begins, and of half a step.
    begins: [N; 2],
    half: [N; 2],
}

impl Phase {
    /// Steps of at most a size.
    pub(super) fn new((from, to): (f64, f64), most: f64) -> Self {
        let count = ((to - from) / most).ceil().max(1.0);
        Self::of((from, to), (to - from) / count, count)
    }

    /// A number of steps of a size.
    pub(super) fn of((from, to): (f64, f64), step: f64, count: f64) -> Self {
        let turn = |deg: f64| <[f64; 2]>::from(deg.to_radians().sin_cos());
        Self { from, to, step, count, begins: turn(from), half: turn(0.5 * step) }
    }

    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> Phase<N> {
        let each = |get: fn(&Self) -> f64| N::gathered(token, |lane| get(&of(lane)));
        Phase {
            from: each(|phase| phase.from),
            to: each(|phase| phase.to),
            step: each(|phase| phase.step),
            count: each(|phase| phase.count),
            begins: [each(|phase| phase.begins[0]), each(|phase| phase.begins[1])],
            half: [each(|phase| phase.half[0]), each(|phase| phase.half[1])],
        }
    }
}

impl<N: Lanes> Phase<N> {
    /// Sine and cosine half a step on.
    #[inline(always)]
    fn turned(&self, [s, c]: [N; 2]) -> [N; 2] {
        let [sin, cos] = self.half;
        [s * cos + c * sin, c * cos - s * sin]
    }
}

/// What of a place along the cycle depends on its angle alone.
#[derive(Clone, Copy)]
struct Place<N> {
    /// Volume [m3], its slope [m3/deg] and its logarithm.
    volume: N,
    by_deg: N,
    ln_volume: N,
    /// Wall area times the time of a degree [m2 s].
    wall: N,
    motored_pa: N,
    /// Burned fraction [-], its slope [per deg], its root and its inverse.
    fraction: N,
    slope: N,
    root: N,
    inverse: N,
}

/// Several closed cycles side by side, or one.
pub(super) struct Stepper<'a, N: Lanes> {
    token: N::Token,
    crank: SliderCrank<N>,
    charge: UnburnedCharge<N>,
    heat: HeatLaw<N>,
    tables: [&'a BurnedTable; MOST],
    mass_kg: N,
    wall_temperature_k: N,
    /// Both crowns [m2], and wall of the liner per volume [m2/m3].
    crowns_m2: N,
    liner_per_m: N,
    inlet_closes_deg: N,
    second_per_deg: N,
}

impl<'a, N: Lanes> Stepper<'a, N> {
    #[inline(always)]
    pub(super) fn new(token: N::Token, of: impl Fn(usize) -> &'a ClosedCycle<'a>) -> Self {
        let each = |get: fn(&ClosedCycle<'_>) -> f64| N::gathered(token, |lane| get(of(lane)));
        Self {
            token,
            crank: SliderCrank::beside(token, |lane| of(lane).crank),
            charge: UnburnedCharge::beside(token, |lane| of(lane).charge),
            heat: HeatLaw::beside(token, |lane| of(lane).heat),
            tables: std::array::from_fn(|lane| of(lane.min(N::WIDTH - 1)).burned),
            mass_kg: each(|cycle| cycle.mass_kg),
            wall_temperature_k: each(|cycle| cycle.wall_temperature_k),
            crowns_m2: each(|cycle| 0.5 * std::f64::consts::PI * cycle.bore_m * cycle.bore_m),
            liner_per_m: each(|cycle| 4.0 / cycle.bore_m),
            inlet_closes_deg: each(|cycle| cycle.inlet_closes_deg),
            second_per_deg: each(|cycle| 1.0 / (6.0 * cycle.speed_rpm)),
        }
    }

    /// Steps a phase; `seen` gets the start of every step of the cycles that are still going.
    #[inline(always)]
    fn stepped(
        &self,
        phase: &Phase<N>,
        start: Vars<N>,
        place: impl Fn(&Self, [N; 2], N) -> Place<N>,
        slopes: impl Fn(&Self, &Vars<N>, &Place<N>) -> Vars<N>,
        mut seen: impl FnMut(&Self, &Vars<N>, (N, N), N::Mask),
    ) -> Vars<N> {
        let most = (0..N::WIDTH).map(|lane| phase.count.lane(lane)).fold(0.0, f64::max) as u32;
        let (mut vars, mut turned) = (start, phase.begins);
        let mut here = place(self, turned, phase.from);
        let h = phase.step;
        for i in 0..most {
            let number = h.everywhere(f64::from(i));
            let going = number.is_below(phase.count);
            let deg = phase.from + number * h;
            seen(self, &vars, (deg, here.fraction), going);
            turned = phase.turned(turned);
            let middle = place(self, turned, deg + h * 0.5);
            turned = phase.turned(turned);
            let end = place(self, turned, deg + h);
            let k1 = slopes(self, &vars, &here);
            let k2 = slopes(self, &vars.step(k1, h * 0.5), &middle);
            let k3 = slopes(self, &vars.step(k2, h * 0.5), &middle);
            let k4 = slopes(self, &vars.step(k3, h), &end);
            let (sixth, third) = (h * (1.0 / 6.0), h * (1.0 / 3.0));
            let next = vars.step(k1, sixth).step(k2, third).step(k3, third).step(k4, sixth);
            vars = next.with(
                vars,
                #[inline(always)]
                |next, last| N::select(going, next, last),
            );
            here = end;
        }
        vars
    }

    /// Runs compression over a phase; `seen` gets state and mask of every step before it is made.
    #[inline(always)]
    pub(super) fn compress(
        &self,
        phase: &Phase<N>,
        start: Vars<N>,
        mut seen: impl FnMut(&Vars<N>, &CycleState<N>, N::Mask),
    ) -> Vars<N> {
        let none = self.mass_kg.everywhere(0.0);
        self.stepped(
            phase,
            start,
            #[inline(always)]
            |on, turned, _| on.place(turned, (none, none), none),
            #[inline(always)]
            |on, vars, at| on.unburned(vars, at),
            #[inline(always)]
            |on, vars, at, going| seen(vars, &on.state(vars, at), going),
        )
    }

    /// Runs burn and expansion from the end of a compression.
    ///
    /// # Returns
    /// What is integrated, the fraction burned and the pressures.
    #[inline(always)]
    pub(super) fn burn_through(
        &self,
        burn: &Burn<N>,
        [burning, expansion]: &[Phase<N>; 2],
        (vars, mut peak): (Vars<N>, PressurePeak<N>),
        mut see: impl FnMut(&CycleState<N>, N::Mask),
    ) -> (Vars<N>, N, PressurePeak<N>) {
        let vars = self.ignite(vars, burning, burn.fraction_and_slope(burning.from).0);
        let motored = self.motored(&vars, burning);
        let vars = self.stepped(
            burning,
            vars,
            #[inline(always)]
            |on, turned, deg| on.place(turned, burn.fraction_and_slope(deg), motored),
            #[inline(always)]
            |on, vars, at| on.burning(vars, at),
            #[inline(always)]
            |on, vars, at, going| {
                peak.note(vars.p, at.0, going);
                see(&on.state(vars, at), going);
            },
        );
        let left = burn.fraction_and_slope(burning.to).0;
        self.note(&mut peak, &vars, (burning.to, left), &mut see);
        let vars = self.expand(expansion, vars, (left, motored), &mut peak, &mut see);
        (vars, left, peak)
    }

    /// Runs an expansion in which nothing burns any more.
    ///
    /// # Arguments
    /// - `left`, `motored`: the fraction burned; from [`Self::motored`]
    #[inline(always)]
    pub(super) fn expand(
        &self,
        phase: &Phase<N>,
        start: Vars<N>,
        (left, motored): (N, N),
        peak: &mut PressurePeak<N>,
        mut see: impl FnMut(&CycleState<N>, N::Mask),
    ) -> Vars<N> {
        let rest = (left, left.everywhere(0.0));
        let vars = self.stepped(
            phase,
            start,
            #[inline(always)]
            |on, turned, _| on.place(turned, rest, motored),
            #[inline(always)]
            |on, vars, at| on.burning(vars, at),
            #[inline(always)]
            |on, vars, at, going| {
                peak.note(vars.p, at.0, going);
                see(&on.state(vars, at), going);
            },
        );
        self.note(peak, &vars, (phase.to, left), &mut see);
        vars
    }

    /// Takes note of a border that ends all phases.
    #[inline(always)]
    pub(super) fn note(
        &self,
        peak: &mut PressurePeak<N>,
        vars: &Vars<N>,
        at: (N, N),
        mut see: impl FnMut(&CycleState<N>, N::Mask),
    ) {
        let all = at.0.everywhere(0.0).is_below(at.0.everywhere(1.0));
        peak.note(vars.p, at.0, all);
        see(&self.state(vars, at), all);
    }

    /// Constant p V^n of the motored pressure where a phase begins.
    #[inline(always)]
    pub(super) fn motored(&self, vars: &Vars<N>, phase: &Phase<N>) -> N {
        let [sin, cos] = phase.begins;
        let volume = self.crank.volume_and_slope_at(sin, cos).0;
        vars.p * (volume.ln() * MOTORED_EXPONENT).exp()
    }

    #[inline(always)]
    fn burned(&self, temperature_k: N, ln_pressure: N) -> BurnedState<N> {
        BurnedTable::beside(self.token, &self.tables, temperature_k, ln_pressure)
    }

    #[inline(always)]
    fn place(&self, [sin, cos]: [N; 2], (fraction, slope): (N, N), motored: N) -> Place<N> {
        let (volume, by_rad) = self.crank.volume_and_slope_at(sin, cos);
        let ln_volume = volume.ln();
        Place {
            volume,
            by_deg: by_rad * (std::f64::consts::PI / 180.0),
            ln_volume,
            wall: (self.crowns_m2 + volume * self.liner_per_m) * self.second_per_deg,
            motored_pa: motored * (ln_volume * -MOTORED_EXPONENT).exp(),
            fraction,
            slope,
            root: fraction.sqrt(),
            inverse: fraction.everywhere(1.0) / fraction,
        }
    }

    /// Slopes per degree while nothing is burned.
    #[inline(always)]
    fn unburned(&self, vars: &Vars<N>, at: &Place<N>) -> Vars<N> {
        let h = self.heat.of_logarithms(vars.p.ln(), vars.tu, vars.p.everywhere(0.0), at.ln_volume);
        let heat = h * at.wall * (vars.tu - self.wall_temperature_k);
        let work = vars.p * at.by_deg;
        let cv = self.charge.cp_j_per_kg_k(vars.tu) - self.charge.gas_constant_j_per_kg_k;
        let tu = -(work + heat) / (self.mass_kg * cv);
        let p = vars.p * (tu / vars.tu - at.by_deg / at.volume);
        Vars { p, tu, tb: vars.p.everywhere(0.0), tc: self.core_slope(vars, p), work, heat }
    }

    /// Slope of the core temperature, isentropic with the pressure slope `dp`.
    #[inline(always)]
    fn core_slope(&self, vars: &Vars<N>, dp: N) -> N {
        let Vars { p, tc, .. } = *vars;
        self.charge.gas_constant_j_per_kg_k * tc * dp / (p * self.charge.cp_j_per_kg_k(tc))
    }

    /// Slopes per degree while some is burned.
    ///
    /// The unburned zone covers the share 1 - sqrt(x) of the walls, the burned one sqrt(x) (common practice, no source).
    #[inline(always)]
    fn burning(&self, vars: &Vars<N>, at: &Place<N>) -> Vars<N> {
        let (x, dx, ru) = (at.fraction, at.slope, self.charge.gas_constant_j_per_kg_k);
        let left = -(x - 1.0);
        let dv = at.by_deg / self.mass_kg;
        let Vars { p, tu, tb, .. } = *vars;
        let (ln_p, per_p) = (p.ln(), p.everywhere(1.0) / p);
        let burned = self.burned(tb, ln_p);
        let rb = burned.gas_constant;
        let (vu, vb) = (ru * tu * per_p, rb.value * tb * per_p);
        let mean_temperature = p * at.volume / (self.mass_kg * (left * ru + x * rb.value));
        let h = self.heat.of_logarithms(ln_p, mean_temperature, p - at.motored_pa, at.ln_volume);
        let flux = h * at.wall / self.mass_kg;
        // Heat per kilogram of unburned gas: (1 - sqrt x) / (1 - x) = 1 / (1 + sqrt x).
        let qu = flux * (tu - self.wall_temperature_k) / (at.root + 1.0);
        let qb = flux * at.root * (tb - self.wall_temperature_k);
        let per_cpu = p.everywhere(1.0) / self.charge.cp_j_per_kg_k(tu);
        let hu = self.charge.enthalpy_j_per_kg(tu);
        let enthalpy = burned.enthalpy;
        let by_p = enthalpy.by_ln_pressure * per_p;
        let per_cpb = p.everywhere(1.0) / enthalpy.by_temperature;
        let psi = (rb.value + rb.by_temperature * tb) * per_cpb;
        let source = qb - (hu - enthalpy.value) * dx;
        let dp = (p * dv - dx * (rb.value * tb - ru * tu) + left * ru * qu * per_cpu + psi * source)
            / (left * (ru * per_cpu - 1.0) * vu
                + psi * x * (vb - by_p)
                + x * (rb.by_ln_pressure * tb * per_p - vb));
        Vars {
            p: dp,
            tu: (vu * dp - qu) * per_cpu,
            tb: ((vb - by_p) * dp - source * at.inverse) * per_cpb,
            tc: self.core_slope(vars, dp),
            work: p * at.by_deg,
            heat: (left * qu + qb) * self.mass_kg,
        }
    }

    /// Burns the fraction `x` at once at constant volume where a phase begins, energy kept; the unburned rest is compressed
    /// isentropically.
    #[inline(always)]
    pub(super) fn ignite(&self, vars: Vars<N>, phase: &Phase<N>, x: N) -> Vars<N> {
        let (ru, t0, p0) = (self.charge.gas_constant_j_per_kg_k, vars.tu, vars.p);
        let [sin, cos] = phase.begins;
        let v = self.crank.volume_and_slope_at(sin, cos).0 / self.mass_kg;
        let e0 = self.charge.internal_energy_j_per_kg(t0);
        let exponent = ru / self.charge.cp_j_per_kg_k(t0);
        let left = -(x - 1.0);
        let guess = self.burned(p0.everywhere(FLAME_GUESS_K), p0.ln()).enthalpy;
        let missing = self.charge.enthalpy_j_per_kg(t0) - guess.value;
        let mut next =
            Vars { tb: missing / guess.by_temperature + FLAME_GUESS_K, p: p0 * (x * 3.0 + 1.0), ..vars };
        for _ in 0..40 {
            next.tu = t0 * (exponent * (next.p / p0).ln()).exp();
            let tu_by_p = exponent * next.tu / next.p;
            let burned = self.burned(next.tb, next.p.ln());
            let (h, r) = (burned.enthalpy, burned.gas_constant);
            let energy =
                left * self.charge.internal_energy_j_per_kg(next.tu) + x * (h.value - r.value * next.tb) - e0;
            let volume = left * ru * next.tu + x * r.value * next.tb - next.p * v;
            let cvu = self.charge.cp_j_per_kg_k(next.tu) - ru;
            let energy_by_p =
                left * cvu * tu_by_p + x * (h.by_ln_pressure - r.by_ln_pressure * next.tb) / next.p;
            let volume_by_t = x * (r.value + r.by_temperature * next.tb);
            let energy_by_t = x * h.by_temperature - volume_by_t;
            let volume_by_p = left * ru * tu_by_p + x * r.by_ln_pressure * next.tb / next.p - v;
            let determinant = energy_by_p * volume_by_t - energy_by_t * volume_by_p;
            let dp = (volume * energy_by_t - energy * volume_by_t) / determinant;
            let dt = (energy * volume_by_p - volume * energy_by_p) / determinant;
            next.p = next.p + dp;
            next.tb = next.tb + dt;
            let (p_off, t_off) = (dp / next.p, dt / next.tb);
            let is_found =
                (p_off * p_off).is_below(x.everywhere(1e-20)) & (t_off * t_off).is_below(x.everywhere(1e-18));
            if N::all(is_found) {
                break;
            }
        }
        let by = (exponent * (next.p / p0).ln()).exp();
        Vars { tu: t0 * by, tc: vars.tc * by, ..next }
    }

    /// The state at an angle [deg] with a fraction burned.
    #[inline(always)]
    fn state(&self, vars: &Vars<N>, (deg, fraction): (N, N)) -> CycleState<N> {
        CycleState {
            crank_angle_deg: deg,
            time_s: (deg - self.inlet_closes_deg) * self.second_per_deg,
            pressure_pa: vars.p,
            unburned_temperature_k: vars.tu,
            burned_temperature_k: vars.tb,
            core_temperature_k: vars.tc,
            burn_fraction: fraction,
        }
    }
}
