//! The closed cycle from inlet valve closing to exhaust valve opening: one pressure, two zones.
//!
//! Per kilogram of charge, with x burned, u unburned and b burned:
//!
//! - unburned: cp_u dT_u = v_u dp - dq_u
//! - burned: x dh_b = x v_b dp - dq_b + (h_u - h_b) dx, h_b(T_b, p) in equilibrium
//! - volume: v = (1 - x) v_u + x v_b
//!
//! which is a linear equation for dp. The three phases (compression, burn, expansion) are stepped
//! by the classical fourth-order Runge-Kutta method on grids that begin and end on the phase
//! borders, so nothing is discontinuous inside a step.

use super::burn::Burn;
use super::heat::HeatLaw;
use super::outcome::{ClosedResult, CycleState, PressurePeak};
use crate::engine::geometry::SliderCrank;
use crate::gas::{BurnedTable, UnburnedCharge};

/// Burned fraction that appears at once, at constant volume, where the burned zone starts [-].
const KERNEL_FRACTION: f64 = 0.002;
/// Exponent of the motored pressure in Woschni's law (common practice, no source).
const MOTORED_EXPONENT: f64 = 1.3;
/// Step sizes of the three phases [deg crank] at [`ClosedCycle::step_scale`] 1.
const COMPRESSION_STEP_DEG: f64 = 3.0;
const BURN_STEP_DEG: f64 = 1.5;
/// Fewest steps from the kernel to 10 % burned, where the burned zone grows fastest for its size.
const EARLY_BURN_STEPS: f64 = 8.0;
const EXPANSION_STEP_DEG: f64 = 4.0;

/// Everything the closed cycle needs.
///
/// # Example
/// One cylinder of half a litre at 5000 rpm, its states seen as they come:
/// ```
/// use endgas::cycle::heat::Woschni;
/// use endgas::cycle::{Burn, BurnDurations, ClosedCycle};
/// use endgas::engine::Geometry;
/// use endgas::fuel::FuelLibrary;
/// use endgas::gas::{BurnedTable, FreshMixture};
/// use endgas::units::CompressionRatio;
///
/// let blend = FuelLibrary::shipped()?.resolve("premium-91")?.blend()?;
/// let fresh = FreshMixture::new((&blend).into(), 0.88, 0.008);
/// let (charge, burned) = (fresh.with_residual(0.04), BurnedTable::new(&fresh.elements())?);
/// let geometry = Geometry {
///     cylinders: 1,
///     bore_m: 0.086,
///     stroke_m: 0.086,
///     rod_length_m: 0.145,
///     pin_offset_m: 0.0,
///     compression_ratio: CompressionRatio::new(11.0)?,
/// };
/// let (speed_rpm, mass_kg) = (5000.0, 5.6e-4);
/// let heat = Woschni::new(
///     1.0,
///     geometry.bore_m,
///     geometry.mean_piston_speed_m_per_s(speed_rpm),
///     geometry.swept_volume_m3(),
///     mass_kg * charge.gas_constant_j_per_kg_k,
/// );
/// let cycle = ClosedCycle {
///     crank: geometry.slider_crank(),
///     bore_m: geometry.bore_m,
///     inlet_closes_deg: -130.0,
///     exhaust_opens_deg: 130.0,
///     speed_rpm,
///     charge,
///     burned: &burned,
///     mass_kg,
///     temperature_k: 355.0,
///     heat,
///     wall_temperature_k: 473.0,
///     step_scale: 1.0,
/// };
/// let durations = BurnDurations { early_deg: 19.0, main_deg: 22.0, complete_frac: 0.97 };
/// let burn = Burn::from_spark(26.0, durations);
/// let mut trace = Vec::new();
/// let result = cycle.run(&burn, |state| trace.push((state.crank_angle_deg, state.pressure_pa)));
///
/// let highest = trace.iter().map(|(_, p)| *p).fold(0.0, f64::max);
/// assert!(highest <= result.peak_pressure_pa && highest > 0.995 * result.peak_pressure_pa);
/// let fuel_energy = mass_kg * charge.fuel_mass_frac * blend.lhv_j_per_kg;
/// assert!(result.energy_error_j().abs() < 1e-5 * fuel_energy);
/// assert!((0.30..0.45).contains(&(result.work_j / fuel_energy)));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Clone, Copy, Debug)]
pub struct ClosedCycle<'a, H> {
    /// Piston motion.
    pub crank: SliderCrank,
    /// Bore [m].
    pub bore_m: f64,
    /// Inlet valve closing [deg after firing top dead centre], -170 to -80.
    pub inlet_closes_deg: f64,
    /// Exhaust valve opening [deg after firing top dead centre], 80 to 170.
    pub exhaust_opens_deg: f64,
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Unburned charge, residual included.
    pub charge: UnburnedCharge,
    /// Burned gas of the same elements.
    pub burned: &'a BurnedTable,
    /// Trapped mass of one cylinder [kg].
    pub mass_kg: f64,
    /// Charge temperature at inlet valve closing [K].
    pub temperature_k: f64,
    /// Heat-transfer law.
    pub heat: H,
    /// Wall temperature [K].
    pub wall_temperature_k: f64,
    /// Multiplier on all step sizes [-]; 1 but for convergence tests.
    pub step_scale: f64,
}

/// Integration variables; slopes of the same form.
#[derive(Clone, Copy)]
struct Vars {
    /// Pressure [Pa].
    p: f64,
    /// Unburned temperature [K].
    tu: f64,
    /// Burned temperature [K].
    tb: f64,
    /// Temperature of the adiabatic core of the unburned gas [K].
    tc: f64,
    /// Work done [J].
    work: f64,
    /// Heat lost [J].
    heat: f64,
}

impl Vars {
    #[inline]
    fn step(self, d: Self, by: f64) -> Self {
        Self {
            p: self.p + by * d.p,
            tu: self.tu + by * d.tu,
            tb: self.tb + by * d.tb,
            tc: self.tc + by * d.tc,
            work: self.work + by * d.work,
            heat: self.heat + by * d.heat,
        }
    }
}

/// Motored pressure against which Woschni's law measures the combustion pressure.
#[derive(Clone, Copy)]
struct Motored {
    /// p V^n at the start of the burn.
    constant: f64,
}

impl Motored {
    fn pressure(self, volume: f64) -> f64 {
        self.constant * (-MOTORED_EXPONENT * volume.ln()).exp()
    }
}

/// One step of the classical fourth-order Runge-Kutta method.
#[inline]
fn advanced(vars: &Vars, deg: f64, h: f64, slopes: impl Fn(&Vars, f64) -> Vars) -> Vars {
    let k1 = slopes(vars, deg);
    let k2 = slopes(&vars.step(k1, 0.5 * h), deg + 0.5 * h);
    let k3 = slopes(&vars.step(k2, 0.5 * h), deg + 0.5 * h);
    let k4 = slopes(&vars.step(k3, h), deg + h);
    vars.step(k1, h / 6.0).step(k2, h / 3.0).step(k3, h / 3.0).step(k4, h / 6.0)
}

/// A step border of compression: what is integrated there, the pressures and the observer before it.
type Border<O> = (Vars, PressurePeak, O);

/// The compression of one cycle as far as it has been run, with what an observer has seen of it: every timing of one operating
/// point has the same.
#[derive(Clone)]
pub struct Compression<O> {
    observer: O,
    borders: Vec<Border<O>>,
}

impl<O: Copy> Compression<O> {
    /// One that is yet to be run.
    ///
    /// # Arguments
    /// - `observer`: before it has seen anything
    pub fn new(observer: O) -> Self {
        Self { observer, borders: Vec::new() }
    }
}

impl<H: HeatLaw> ClosedCycle<'_, H> {
    /// Runs the cycle with a burn; `observe` sees every step border in order of angle.
    pub fn run(&self, burn: &Burn, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let ignition = self.ignition_deg(burn);
        let (vars, peak) = self.compress(ignition, &mut observe);
        self.burned_from(burn, ignition, (vars, peak), observe)
    }

    /// Runs the cycle with a burn from a compression that other burns of the same cycle share; it is run on as far as this burn
    /// needs. The result and the states are those of [`Self::run`].
    ///
    /// # Arguments
    /// - `compression`: of this cycle alone, empty at first
    /// - `see`: what an observer makes of every step border, in order of angle
    ///
    /// # Returns
    /// The result, and the observer at the end.
    pub fn run_after<O: Copy>(
        &self,
        compression: &mut Compression<O>,
        burn: &Burn,
        see: impl Fn(&mut O, &CycleState),
    ) -> (ClosedResult, O) {
        let ignition = self.ignition_deg(burn);
        let step = self.compression_step_deg();
        let count = self.whole_compression_steps(ignition);
        if compression.borders.is_empty() {
            let start = (self.start(), PressurePeak::default(), compression.observer);
            compression.borders.push(start);
        }
        let pass = |&(vars, mut peak, mut observer): &Border<O>, deg: f64, step: f64| -> Border<O> {
            peak.note(vars.p, deg);
            see(&mut observer, &self.state(&vars, deg, 0.0));
            (advanced(&vars, deg, step, |vars, deg| self.unburned(vars, deg)), peak, observer)
        };
        while compression.borders.len() <= count {
            let last = compression.borders.len() - 1;
            let next = pass(&compression.borders[last], self.inlet_closes_deg + last as f64 * step, step);
            compression.borders.push(next);
        }
        let from = self.inlet_closes_deg + count as f64 * step;
        let (vars, mut peak, mut observer) = pass(&compression.borders[count], from, ignition - from);
        peak.note(vars.p, ignition);
        see(&mut observer, &self.state(&vars, ignition, 0.0));
        let result = self.burned_from(burn, ignition, (vars, peak), |state| see(&mut observer, state));
        (result, observer)
    }

    /// Where the burned zone starts [deg].
    fn ignition_deg(&self, burn: &Burn) -> f64 {
        burn.angle_deg(KERNEL_FRACTION).max(self.inlet_closes_deg + 1.0)
    }

    /// Runs burn and expansion from the end of a compression.
    fn burned_from(
        &self,
        burn: &Burn,
        ignition: f64,
        (vars, mut peak): (Vars, PressurePeak),
        mut observe: impl FnMut(&CycleState),
    ) -> ClosedResult {
        let burn_end = burn.end_deg().clamp(ignition + 1.0, self.exhaust_opens_deg - 1.0);
        let step =
            BURN_STEP_DEG.min((burn.angle_deg(0.1) - burn.angle_deg(KERNEL_FRACTION)) / EARLY_BURN_STEPS);
        let vars = self.ignite(vars, ignition, burn.fraction_and_slope(ignition).0);
        let motored = Motored { constant: self.motored_constant(&vars, ignition) };
        let vars = self.phase(
            (ignition, burn_end, step),
            vars,
            |vars, deg| self.burning(vars, deg, burn.fraction_and_slope(deg), motored),
            |vars, deg| {
                peak.note(vars.p, deg);
                observe(&self.state(vars, deg, burn.fraction_and_slope(deg).0));
            },
        );
        let left = burn.fraction_and_slope(burn_end).0;
        let vars = self.phase(
            (burn_end, self.exhaust_opens_deg, EXPANSION_STEP_DEG),
            vars,
            |vars, deg| self.burning(vars, deg, (left, 0.0), motored),
            |vars, deg| {
                peak.note(vars.p, deg);
                observe(&self.state(vars, deg, left));
            },
        );
        self.result(vars, left, peak)
    }

    /// Runs compression and expansion without any burn (motoring).
    pub fn run_motored(&self, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let (vars, peak) = self.compress(self.exhaust_opens_deg, &mut observe);
        self.result(vars, 0.0, peak)
    }

    /// Runs a cycle that burns all at once, at constant volume, at a crank angle.
    pub fn run_instant(&self, at_deg: f64, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let (vars, mut peak) = self.compress(at_deg, &mut observe);
        let motored = Motored { constant: self.motored_constant(&vars, at_deg) };
        let vars = self.ignite(vars, at_deg, 1.0);
        let vars = self.phase(
            (at_deg, self.exhaust_opens_deg, BURN_STEP_DEG),
            vars,
            |vars, deg| self.burning(vars, deg, (1.0, 0.0), motored),
            |vars, deg| {
                peak.note(vars.p, deg);
                observe(&self.state(vars, deg, 1.0));
            },
        );
        self.result(vars, 1.0, peak)
    }

    fn motored_constant(&self, vars: &Vars, deg: f64) -> f64 {
        vars.p * self.crank.volume_m3(deg.to_radians()).powf(MOTORED_EXPONENT)
    }

    fn start(&self) -> Vars {
        let volume = self.crank.volume_m3(self.inlet_closes_deg.to_radians());
        let p = self.mass_kg * self.charge.gas_constant_j_per_kg_k * self.temperature_k / volume;
        Vars { p, tu: self.temperature_k, tb: 0.0, tc: self.temperature_k, work: 0.0, heat: 0.0 }
    }

    fn compression_step_deg(&self) -> f64 {
        COMPRESSION_STEP_DEG * self.step_scale
    }

    /// Whole steps of compression before an angle [deg]: they begin at inlet closing, so that they are the same wherever it ends.
    fn whole_compression_steps(&self, to_deg: f64) -> usize {
        ((to_deg - self.inlet_closes_deg) / self.compression_step_deg()).ceil().max(1.0) as usize - 1
    }

    fn compress(&self, to_deg: f64, observe: &mut impl FnMut(&CycleState)) -> (Vars, PressurePeak) {
        let (mut vars, mut peak) = (self.start(), PressurePeak::default());
        let (step, count) = (self.compression_step_deg(), self.whole_compression_steps(to_deg));
        for i in 0..=count {
            let deg = self.inlet_closes_deg + i as f64 * step;
            peak.note(vars.p, deg);
            observe(&self.state(&vars, deg, 0.0));
            let step = if i < count { step } else { to_deg - deg };
            vars = advanced(&vars, deg, step, |vars, deg| self.unburned(vars, deg));
        }
        peak.note(vars.p, to_deg);
        observe(&self.state(&vars, to_deg, 0.0));
        (vars, peak)
    }

    /// Steps one phase; `seen` gets the start and every step border.
    #[inline]
    fn phase(
        &self,
        (from, to, step): (f64, f64, f64),
        start: Vars,
        slopes: impl Fn(&Vars, f64) -> Vars,
        mut seen: impl FnMut(&Vars, f64),
    ) -> Vars {
        let steps = ((to - from) / (step * self.step_scale)).ceil().max(1.0);
        let h = (to - from) / steps;
        let mut vars = start;
        let count = steps as u32;
        for i in 0..count {
            let deg = from + f64::from(i) * h;
            seen(&vars, deg);
            vars = advanced(&vars, deg, h, &slopes);
        }
        seen(&vars, to);
        vars
    }

    /// Wall area of a disc-shaped chamber of the same volume [m2]: two crowns and the liner side.
    #[inline]
    fn wall_area_m2(&self, volume: f64) -> f64 {
        0.5 * std::f64::consts::PI * self.bore_m * self.bore_m + 4.0 * volume / self.bore_m
    }

    /// Seconds per degree of crank.
    #[inline]
    fn second_per_deg(&self) -> f64 {
        1.0 / (6.0 * self.speed_rpm)
    }

    /// Slopes per degree while nothing is burned.
    #[inline]
    fn unburned(&self, vars: &Vars, deg: f64) -> Vars {
        let (volume, by_rad) = self.crank.volume_and_slope(deg.to_radians());
        let dv = by_rad.to_radians();
        let r = self.charge.gas_constant_j_per_kg_k;
        let h = self.heat.coefficient_w_per_m2_k(vars.p, vars.tu, 0.0, volume);
        let heat =
            h * self.wall_area_m2(volume) * (vars.tu - self.wall_temperature_k) * self.second_per_deg();
        let work = vars.p * dv;
        let cv = self.charge.cp_j_per_kg_k(vars.tu) - r;
        let tu = -(work + heat) / (self.mass_kg * cv);
        let p = vars.p * (tu / vars.tu - dv / volume);
        Vars { p, tu, tb: 0.0, tc: self.core_slope(vars, p), work, heat }
    }

    /// Slope of the core temperature, isentropic with the pressure slope `dp`.
    #[inline]
    fn core_slope(&self, vars: &Vars, dp: f64) -> f64 {
        self.charge.gas_constant_j_per_kg_k * vars.tc * dp / (vars.p * self.charge.cp_j_per_kg_k(vars.tc))
    }

    /// Slopes per degree while `x` is burned and `dx` burns per degree.
    ///
    /// The unburned zone covers the share 1 - sqrt(x) of the walls, the burned one sqrt(x) (common practice, no source).
    #[inline]
    fn burning(&self, vars: &Vars, deg: f64, (x, dx): (f64, f64), motored: Motored) -> Vars {
        let (volume, by_rad) = self.crank.volume_and_slope(deg.to_radians());
        let dv = by_rad.to_radians() / self.mass_kg;
        let Vars { p, tu, tb, .. } = *vars;
        let ru = self.charge.gas_constant_j_per_kg_k;
        let burned = self.burned.at(tb, p.ln());
        let rb = burned.gas_constant;
        let (vu, vb) = (ru * tu / p, rb.value * tb / p);
        let mean_temperature = p * volume / (self.mass_kg * ((1.0 - x) * ru + x * rb.value));
        let h = self.heat.coefficient_w_per_m2_k(p, mean_temperature, p - motored.pressure(volume), volume);
        let flux = h * self.wall_area_m2(volume) * self.second_per_deg() / self.mass_kg;
        let root = x.sqrt();
        // Heat per kilogram of unburned gas: (1 - sqrt x) / (1 - x) = 1 / (1 + sqrt x).
        let qu = flux * (tu - self.wall_temperature_k) / (1.0 + root);
        let qb = flux * root * (tb - self.wall_temperature_k);
        let cpu = self.charge.cp_j_per_kg_k(tu);
        let hu = self.charge.enthalpy_j_per_kg(tu);
        let enthalpy = burned.enthalpy;
        let by_p = enthalpy.by_ln_pressure / p;
        let psi = (rb.value + rb.by_temperature * tb) / enthalpy.by_temperature;
        let source = qb - (hu - enthalpy.value) * dx;
        let dp = (p * dv - dx * (rb.value * tb - ru * tu) + (1.0 - x) * ru * qu / cpu + psi * source)
            / ((1.0 - x) * (ru / cpu - 1.0) * vu
                + psi * x * (vb - by_p)
                + x * (rb.by_ln_pressure * tb / p - vb));
        Vars {
            p: dp,
            tu: (vu * dp - qu) / cpu,
            tb: ((vb - by_p) * dp - source / x) / enthalpy.by_temperature,
            tc: self.core_slope(vars, dp),
            work: p * dv * self.mass_kg,
            heat: ((1.0 - x) * qu + qb) * self.mass_kg,
        }
    }

    /// Burns the fraction `x` at once at constant volume, energy kept; the unburned rest is
    /// compressed isentropically.
    fn ignite(&self, vars: Vars, deg: f64, x: f64) -> Vars {
        let (ru, t0, p0) = (self.charge.gas_constant_j_per_kg_k, vars.tu, vars.p);
        let v = self.crank.volume_m3(deg.to_radians()) / self.mass_kg;
        let e0 = self.charge.internal_energy_j_per_kg(t0);
        let exponent = ru / self.charge.cp_j_per_kg_k(t0);
        let hu = self.charge.enthalpy_j_per_kg(t0);
        let flame = self.burned.temperature_at_enthalpy_k(hu, p0.ln(), 2400.0);
        let mut next = Vars { tb: flame, p: p0 * (1.0 + 3.0 * x), ..vars };
        for _ in 0..40 {
            next.tu = t0 * (next.p / p0).powf(exponent);
            let tu_by_p = exponent * next.tu / next.p;
            let burned = self.burned.at(next.tb, next.p.ln());
            let (h, r) = (burned.enthalpy, burned.gas_constant);
            let energy = (1.0 - x) * self.charge.internal_energy_j_per_kg(next.tu)
                + x * (h.value - r.value * next.tb)
                - e0;
            let volume = (1.0 - x) * ru * next.tu + x * r.value * next.tb - next.p * v;
            let cvu = self.charge.cp_j_per_kg_k(next.tu) - ru;
            let energy_by_p =
                (1.0 - x) * cvu * tu_by_p + x * (h.by_ln_pressure - r.by_ln_pressure * next.tb) / next.p;
            let volume_by_t = x * (r.value + r.by_temperature * next.tb);
            let energy_by_t = x * h.by_temperature - volume_by_t;
            let volume_by_p = (1.0 - x) * ru * tu_by_p + x * r.by_ln_pressure * next.tb / next.p - v;
            let determinant = energy_by_p * volume_by_t - energy_by_t * volume_by_p;
            let dp = (-energy * volume_by_t + volume * energy_by_t) / determinant;
            let dt = (-volume * energy_by_p + energy * volume_by_p) / determinant;
            next.p += dp;
            next.tb += dt;
            if dp.abs() < 1e-10 * next.p && dt.abs() < 1e-9 * next.tb {
                break;
            }
        }
        next.tu = t0 * (next.p / p0).powf(exponent);
        next.tc = vars.tc * (next.p / p0).powf(exponent);
        next
    }

    fn state(&self, vars: &Vars, deg: f64, x: f64) -> CycleState {
        CycleState {
            crank_angle_deg: deg,
            time_s: (deg - self.inlet_closes_deg) * self.second_per_deg(),
            pressure_pa: vars.p,
            unburned_temperature_k: vars.tu,
            burned_temperature_k: vars.tb,
            core_temperature_k: vars.tc,
            burn_fraction: x,
        }
    }

    /// Sums up; `x` is the fraction burned at the end.
    fn result(&self, vars: Vars, x: f64, peak: PressurePeak) -> ClosedResult {
        let charge = &self.charge;
        let unburned = 1.0 - x;
        let burned = if x > 0.0 { self.burned.at(vars.tb, vars.p.ln()) } else { Default::default() };
        let (h, r) = (burned.enthalpy, burned.gas_constant);
        let energy = unburned * charge.internal_energy_j_per_kg(vars.tu) + x * (h.value - r.value * vars.tb);
        let gas_constant = unburned * charge.gas_constant_j_per_kg_k + x * r.value;
        let volume = self.crank.volume_m3(self.exhaust_opens_deg.to_radians());
        let start_volume = self.crank.volume_m3(self.inlet_closes_deg.to_radians());
        ClosedResult {
            work_j: vars.work,
            heat_j: vars.heat,
            energy_change_j: self.mass_kg * (energy - charge.internal_energy_j_per_kg(self.temperature_k)),
            start_pressure_pa: self.mass_kg * charge.gas_constant_j_per_kg_k * self.temperature_k
                / start_volume,
            end_pressure_pa: vars.p,
            end_temperature_k: vars.p * volume / (self.mass_kg * gas_constant),
            end_gas_constant_j_per_kg_k: gas_constant,
            end_cp_j_per_kg_k: unburned * charge.cp_j_per_kg_k(vars.tu) + x * h.by_temperature,
            peak_pressure_pa: peak.top().0,
            peak_pressure_deg: peak.top().1,
        }
    }
}
