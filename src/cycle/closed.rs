//! The closed cycle from inlet valve closing to exhaust valve opening: one pressure, two zones.
//!
//! Three phases (compression, burn, expansion) are stepped on grids that begin and end on their borders, so nothing is
//! discontinuous inside a step; `stepper` holds the equations. Several cycles are run side by side where the processor
//! can: the equations are written once for both.

use super::burn::Burn;
use super::heat::HeatLaw;
use super::outcome::{ClosedResult, CycleState, PressurePeak};
use super::stepper::{Phase, Stepper, Vars};
use crate::engine::geometry::SliderCrank;
use crate::gas::{BurnedTable, UnburnedCharge};
use crate::lanes::{Lanes, MOST};
#[cfg(not(target_arch = "x86_64"))]
use fearless_simd::dispatch;
use fearless_simd::{Level, Simd, f64x4};

/// Burned fraction that appears at once, at constant volume, where the burned zone starts [-].
const KERNEL_FRACTION: f64 = 0.002;
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
/// use endgas::cycle::heat::HeatLaw;
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
/// let heat = HeatLaw::woschni(
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
pub struct ClosedCycle<'a> {
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
    pub heat: HeatLaw,
    /// Wall temperature [K].
    pub wall_temperature_k: f64,
    /// Multiplier on all step sizes [-]; 1 but for convergence tests.
    pub step_scale: f64,
}

/// What watches a cycle, alone or several side by side.
pub trait Watch: Copy {
    /// Several of them.
    type Beside<N: Lanes>: Copy;
    /// Several side by side.
    fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> Self::Beside<N>;
    /// Sees a step border of every cycle that is still `going`, in order of angle.
    fn see<N: Lanes>(beside: &mut Self::Beside<N>, state: &CycleState<N>, going: N::Mask);
    /// This one, as it is after what it has seen as one of several.
    #[must_use]
    fn seen_at<N: Lanes>(self, beside: &Self::Beside<N>, lane: usize) -> Self;
}

/// Nobody watches.
impl Watch for () {
    type Beside<N: Lanes> = ();

    #[inline(always)]
    fn beside<N: Lanes>(_token: N::Token, _of: impl Fn(usize) -> Self) {}

    #[inline(always)]
    fn see<N: Lanes>((): &mut (), _state: &CycleState<N>, _going: N::Mask) {}

    #[inline(always)]
    fn seen_at<N: Lanes>(self, (): &(), _lane: usize) {}
}

/// A step border of compression: what is integrated there, the pressures and the watch before it.
type Border<W> = (Vars<f64>, PressurePeak, W);

/// The compression of one cycle as far as it has been run, with what a watch has seen of it: every timing of one operating
/// point has the same.
#[derive(Clone)]
pub struct Compression<W> {
    watch: W,
    borders: Vec<Border<W>>,
}

impl<W: Watch> Compression<W> {
    /// One that is yet to be run.
    ///
    /// # Arguments
    /// - `watch`: before it has seen anything
    pub fn new(watch: W) -> Self {
        Self { watch, borders: Vec::new() }
    }
}

/// A cycle with a burn, begun and ready to be run on with others.
#[derive(Clone, Copy)]
pub struct Begun<'a, W> {
    cycle: ClosedCycle<'a>,
    burn: Burn,
    /// Whole steps of compression that are left, the rest to the burn, burn and expansion.
    phases: [Phase; 4],
    border: Border<W>,
}

impl<W: Watch> Begun<'_, W> {
    /// Runs the cycles to their ends, [`MOST`] at a time.
    ///
    /// # Returns
    /// For each its result, and the watch at the end: those of [`ClosedCycle::run`] but for rounding.
    pub fn finish(cycles: &[Self]) -> Vec<(ClosedResult, W)> {
        let level = Level::new();
        let mut found = Vec::with_capacity(cycles.len());
        for some in cycles.chunks(MOST) {
            match some {
                [one] => finish_beside::<f64, W>((), &[one; MOST], &mut found),
                _ => {
                    let all = std::array::from_fn(|lane| &some[lane.min(some.len() - 1)]);
                    finish_four(level, &all, &mut found);
                    found.truncate(found.len() + some.len() - MOST);
                }
            }
        }
        found
    }
}

/// [`finish_beside`] for four. Of x86 processors those with AVX2 and those without are told apart, and no more: AVX-512 gains a
/// tenth, and every level compiles the cycle anew.
fn finish_four<W: Watch>(level: Level, runs: &[&Begun<'_, W>; MOST], found: &mut Vec<(ClosedResult, W)>) {
    #[cfg(target_arch = "x86_64")]
    if let Some(avx2) = level.as_avx2() {
        avx2.vectorize(
            #[inline(always)]
            || finish_beside::<f64x4<_>, W>(avx2, runs, found),
        );
    } else if let Some(sse2) = level.as_sse2() {
        sse2.vectorize(
            #[inline(always)]
            || finish_beside::<f64x4<_>, W>(sse2, runs, found),
        );
    }
    #[cfg(not(target_arch = "x86_64"))]
    dispatch!(level, simd => finish_beside::<f64x4<_>, W>(simd, runs, found));
}

#[inline(always)]
fn finish_beside<N: Lanes, W: Watch>(
    token: N::Token,
    runs: &[&Begun<'_, W>; MOST],
    found: &mut Vec<(ClosedResult, W)>,
) {
    let stepper = Stepper::<N>::new(token, |lane| &runs[lane].cycle);
    let phases: [Phase<N>; 4] = std::array::from_fn(|i| Phase::beside(token, |lane| runs[lane].phases[i]));
    let burn = Burn::beside(token, |lane| runs[lane].burn);
    let mut peak = PressurePeak::beside(token, |lane| runs[lane].border.1);
    let mut watch = W::beside(token, |lane| runs[lane].border.2);
    let mut vars = Vars::beside(token, |lane| runs[lane].border.0);
    for phase in &phases[..2] {
        vars = stepper.compress(
            phase,
            vars,
            #[inline(always)]
            |vars, state, going| {
                peak.note(vars.p, state.crank_angle_deg, going);
                W::see(&mut watch, state, going);
            },
        );
    }
    stepper.note(
        &mut peak,
        &vars,
        (phases[1].to, vars.p.everywhere(0.0)),
        #[inline(always)]
        |state, going| W::see(&mut watch, state, going),
    );
    let (vars, left, peak) = stepper.burn_through(
        &burn,
        &[phases[2], phases[3]],
        (vars, peak),
        #[inline(always)]
        |state, going| W::see(&mut watch, state, going),
    );
    for (lane, run) in runs.iter().enumerate().take(N::WIDTH) {
        let result = run.cycle.result(Vars::of(&vars, lane), left.lane(lane), PressurePeak::of(&peak, lane));
        found.push((result, run.border.2.seen_at(&watch, lane)));
    }
}

impl<'a> ClosedCycle<'a> {
    /// Runs the cycle with a burn; `observe` sees every step border in order of angle.
    pub fn run(&self, burn: &Burn, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let ignition = self.ignition_deg(burn);
        let start = self.compress(ignition, &mut observe);
        let phases = self.burn_phases(burn, ignition);
        let (vars, left, peak) = self.stepper().burn_through(burn, &phases, start, |state, _| observe(state));
        self.result(vars, left, peak)
    }

    /// Begins the cycle with a burn, nothing run as yet.
    ///
    /// # Arguments
    /// - `watch`: before it has seen anything
    pub fn begun<W: Watch>(&self, watch: W, burn: &Burn) -> Begun<'a, W> {
        self.begun_from((self.start(), PressurePeak::default(), watch), 0, burn)
    }

    /// The cycle with a burn from a border of its compression.
    fn begun_from<W: Watch>(&self, border: Border<W>, done: usize, burn: &Burn) -> Begun<'a, W> {
        let ignition = self.ignition_deg(burn);
        let [whole, rest] = self.compression_phases(done, ignition);
        let [burning, expansion] = self.burn_phases(burn, ignition);
        Begun { cycle: *self, burn: *burn, phases: [whole, rest, burning, expansion], border }
    }

    /// Compresses the cycle for a burn, from a compression that other burns of the same cycle share; it is run on as far as this
    /// burn needs.
    ///
    /// # Arguments
    /// - `compression`: of this cycle alone, empty at first
    pub fn compressed<W: Watch<Beside<f64> = W>>(
        &self,
        compression: &mut Compression<W>,
        burn: &Burn,
    ) -> Begun<'a, W> {
        let ignition = self.ignition_deg(burn);
        let count = self.whole_compression_steps(ignition);
        let borders = &mut compression.borders;
        if borders.is_empty() {
            borders.push((self.start(), PressurePeak::default(), compression.watch));
        }
        let last = borders.len() - 1;
        if last < count {
            let (start, mut peak, mut watch) = borders[last];
            let [whole, _] = self.compression_phases(last, ignition);
            let vars = self.stepper().compress(&whole, start, |vars, state, going| {
                if state.crank_angle_deg > whole.from {
                    borders.push((*vars, peak, watch));
                }
                peak.note(vars.p, state.crank_angle_deg, going);
                W::see(&mut watch, state, going);
            });
            borders.push((vars, peak, watch));
        }
        self.begun_from(borders[count], count, burn)
    }

    /// Runs compression and expansion without any burn (motoring).
    pub fn run_motored(&self, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let (vars, peak) = self.compress(self.exhaust_opens_deg, &mut observe);
        self.result(vars, 0.0, peak)
    }

    /// Runs a cycle that burns all at once, at constant volume, at a crank angle.
    pub fn run_instant(&self, at_deg: f64, mut observe: impl FnMut(&CycleState)) -> ClosedResult {
        let (vars, mut peak) = self.compress(at_deg, &mut observe);
        let stepper = self.stepper();
        let phase = Phase::new((at_deg, self.exhaust_opens_deg), BURN_STEP_DEG * self.step_scale);
        let motored = stepper.motored(&vars, &phase);
        let vars = stepper.ignite(vars, &phase, 1.0);
        let vars = stepper.expand(&phase, vars, (1.0, motored), &mut peak, |state, _| observe(state));
        self.result(vars, 1.0, peak)
    }

    fn stepper(&self) -> Stepper<'_, f64> {
        Stepper::new((), |_| self)
    }

    /// Where the burned zone starts [deg].
    fn ignition_deg(&self, burn: &Burn) -> f64 {
        burn.angle_deg(KERNEL_FRACTION).max(self.inlet_closes_deg + 1.0)
    }

    /// Whole steps of compression after those that are done, and the rest to an angle [deg].
    fn compression_phases(&self, done: usize, to_deg: f64) -> [Phase; 2] {
        let (step, count) = (self.compression_step_deg(), self.whole_compression_steps(to_deg));
        let at = |i: usize| self.inlet_closes_deg + i as f64 * step;
        [
            Phase::of((at(done), at(count)), step, (count - done) as f64),
            Phase::of((at(count), to_deg), to_deg - at(count), 1.0),
        ]
    }

    /// Burn and expansion.
    fn burn_phases(&self, burn: &Burn, ignition: f64) -> [Phase; 2] {
        let burn_end = burn.end_deg().clamp(ignition + 1.0, self.exhaust_opens_deg - 1.0);
        let early = (burn.angle_deg(0.1) - burn.angle_deg(KERNEL_FRACTION)) / EARLY_BURN_STEPS;
        [
            Phase::new((ignition, burn_end), BURN_STEP_DEG.min(early) * self.step_scale),
            Phase::new((burn_end, self.exhaust_opens_deg), EXPANSION_STEP_DEG * self.step_scale),
        ]
    }

    fn start(&self) -> Vars<f64> {
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

    fn compress(&self, to_deg: f64, observe: &mut impl FnMut(&CycleState)) -> (Vars<f64>, PressurePeak) {
        let (stepper, mut peak) = (self.stepper(), PressurePeak::default());
        let mut vars = self.start();
        for phase in self.compression_phases(0, to_deg) {
            vars = stepper.compress(&phase, vars, |vars, state, going| {
                peak.note(vars.p, state.crank_angle_deg, going);
                observe(state);
            });
        }
        stepper.note(&mut peak, &vars, (to_deg, 0.0), |state, _| observe(state));
        (vars, peak)
    }

    /// Sums up; `x` is the fraction burned at the end.
    fn result(&self, vars: Vars<f64>, x: f64, peak: PressurePeak) -> ClosedResult {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cycle::BurnDurations;
    use crate::engine::Geometry;
    use crate::fuel::FuelLibrary;
    use crate::gas::FreshMixture;
    use crate::knock::{BlendDelay, EndGas, KnockFit, KnockIntegral};
    use crate::units::CompressionRatio;

    /// What the oldest of these processors gives is what the newest gives, to the last bit.
    #[cfg(target_arch = "x86_64")]
    #[test]
    fn every_processor_gives_the_same_bits() {
        let blend = FuelLibrary::shipped().unwrap().resolve("e85").unwrap().blend().unwrap();
        let fresh = FreshMixture::new((&blend).into(), 0.88, 0.008);
        let burned = BurnedTable::new(&fresh.elements()).unwrap();
        let geometry = Geometry {
            cylinders: 1,
            bore_m: 0.09,
            stroke_m: 0.08,
            rod_length_m: 0.14,
            pin_offset_m: 0.001,
            compression_ratio: CompressionRatio::new(12.0).unwrap(),
        };
        let cycle = ClosedCycle {
            crank: geometry.slider_crank(),
            bore_m: geometry.bore_m,
            inlet_closes_deg: -125.0,
            exhaust_opens_deg: 120.0,
            speed_rpm: 6500.0,
            charge: fresh.with_residual(0.05),
            burned: &burned,
            mass_kg: 5.5e-4,
            temperature_k: 350.0,
            heat: HeatLaw::woschni(1.0, geometry.bore_m, 17.0, geometry.swept_volume_m3(), 0.16),
            wall_temperature_k: 470.0,
            step_scale: 1.0,
        };
        let gas = EndGas { lambda: 0.88, residual_frac: 0.05, water_mole_frac: 0.01, ethanol_mole_frac: 0.9 };
        let mut compression =
            Compression::new(KnockIntegral::new(BlendDelay::new(&KnockFit::SHIPPED, &gas, cycle.speed_rpm)));
        let durations = BurnDurations { early_deg: 20.0, main_deg: 24.0, complete_frac: 0.97 };
        let runs = [30.0, 22.0, 15.0, -5.0]
            .map(|spark| cycle.compressed(&mut compression, &Burn::from_spark(spark, durations)));
        let at = |level: Level| {
            let (runs, mut found) = (runs.each_ref(), Vec::new());
            finish_four(level, &runs, &mut found);
            found.into_iter().map(|(result, knock)| (result, knock.value())).collect::<Vec<_>>()
        };
        assert_eq!(at(Level::baseline()), at(Level::new()));
    }
}
