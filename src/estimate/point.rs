//! One operating point: a build on a fuel at a speed, full throttle, any timing.

mod settling;
mod timings;

pub use settling::{Found, PointInputs};
pub use timings::Timings;

use crate::air::Weather;
use crate::constants::{GAS_CONSTANT_J_PER_MOL_K, WATER_MOLAR_MASS_KG_PER_MOL};
use crate::cycle::charge::fresh_mixture;
use crate::cycle::heat::HeatLaw;
use crate::cycle::{
    Burn, BurnConditions, BurnDurations, ClosedCycle, ClosedResult, CycleState, GasExchange, TrappedCharge,
};
use crate::engine::breathing::VolumetricEfficiency;
use crate::engine::{Build, HeatLawKind, Intake};
use crate::fuel::Blend;
use crate::gas::{BurnedTable, EquilibriumError, newton};
use crate::knock::{
    BlendDelay, EndGas, KnockFit, KnockIntegral, OwnNeed, ln_integral_allowed, octane_requirement,
    sensitivity_weight,
};
use crate::units::{PA_PER_BAR, power_of_torque_kw};

/// CA50 near best torque [deg after top dead centre], at which residual temperature is settled (common practice, no source).
const NEAR_MBT_CA50_DEG: f64 = 8.0;

/// A blend at a mixture, with the burned-gas table that goes with it.
#[derive(Clone, Debug)]
pub struct FuelInUse {
    /// The blend.
    pub blend: Blend,
    /// Air-fuel equivalence ratio [-].
    pub lambda: f64,
    /// Burned gas of blend, lambda and humidity.
    pub burned: BurnedTable,
}

impl FuelInUse {
    /// Tabulates the burned gas of a blend at a mixture and a day's humidity.
    ///
    /// # Errors
    /// [`EquilibriumError`] when the mixture lies outside the solver's range.
    pub fn new(blend: Blend, lambda: f64, weather: &Weather) -> Result<Self, EquilibriumError> {
        let burned = BurnedTable::new(&fresh_mixture(&blend, lambda, weather).elements())?;
        Ok(Self { blend, lambda, burned })
    }
}

/// What multiplies or shifts the model's inputs; all neutral in the likely case.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shifts {
    /// Volumetric efficiency over its likely value [-].
    pub breathing: f64,
    /// Burn speed over the build's [-].
    pub burn_speed: f64,
    /// Wall heat over the build's [-].
    pub heat: f64,
    /// Added to the fresh charge temperature [K].
    pub charge_temperature_k: f64,
    /// Manifold over ambient pressure [-]; 1 is full throttle, less is throttled.
    pub manifold_ratio: f64,
    /// Added to the pressure behind the exhaust valve [Pa].
    pub back_pressure_pa: f64,
}

impl Shifts {
    /// The likely case.
    pub const NONE: Self = Self {
        breathing: 1.0,
        burn_speed: 1.0,
        heat: 1.0,
        charge_temperature_k: 0.0,
        manifold_ratio: 1.0,
        back_pressure_pa: 0.0,
    };
}

/// Everything that stays the same over one estimate.
#[derive(Clone, Copy, Debug)]
pub struct PointSetting<'a> {
    /// The engine.
    pub build: &'a Build,
    /// The day.
    pub weather: &'a Weather,
    /// Fuel for which volumetric efficiency is stated, and its lambda.
    pub reference: (&'a Blend, f64),
    /// Fitted constants of the knock model.
    pub fit: KnockFit,
    /// What this engine needs beyond the model.
    pub need: OwnNeed,
}

/// An operating point whose charge is settled, ready to be run at any timing.
#[derive(Clone, Copy, Debug)]
pub struct Point<'a> {
    setting: PointSetting<'a>,
    fuel: &'a FuelInUse,
    speed_rpm: f64,
    heat_factor: f64,
    durations: BurnDurations,
    /// Mean pressures of the gas exchange.
    pub exchange: GasExchange,
    residual_temperature_k: f64,
    /// Charge at inlet closing.
    pub trapped: TrappedCharge,
}

/// Results at one timing, for the whole engine where they are extensive.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AtSpark {
    /// Timing [deg before top dead centre].
    pub spark_deg_btdc: f64,
    /// 50 % burned [deg after top dead centre].
    pub ca50_deg_atdc: f64,
    /// Gross indicated mean effective pressure [bar].
    pub imep_gross_bar: f64,
    /// Net indicated mean effective pressure [bar].
    pub imep_net_bar: f64,
    /// Pumping mean effective pressure [bar].
    pub pmep_bar: f64,
    /// Friction mean effective pressure [bar].
    pub fmep_bar: f64,
    /// Peak pressure [bar].
    pub peak_pressure_bar: f64,
    /// Angle of peak pressure [deg after top dead centre].
    pub peak_pressure_deg_atdc: f64,
    /// Ignition integral at octane number 100 [-].
    pub integral_at_100: f64,
    /// Heat to the walls over fuel energy [-].
    pub heat_loss_frac: f64,
    /// Mean exhaust temperature [K].
    pub exhaust_temperature_k: f64,
}

impl AtSpark {
    /// What lies between some runs, each with its weight: every figure is taken as linear, but for the integral, of which the
    /// logarithm is.
    pub fn mixed<'r>(runs: impl Iterator<Item = (f64, &'r Self)> + Clone) -> Self {
        let of =
            |figure: fn(&Self) -> f64| runs.clone().map(|(weight, run)| weight * figure(run)).sum::<f64>();
        Self {
            spark_deg_btdc: of(|run| run.spark_deg_btdc),
            ca50_deg_atdc: of(|run| run.ca50_deg_atdc),
            imep_gross_bar: of(|run| run.imep_gross_bar),
            imep_net_bar: of(|run| run.imep_net_bar),
            pmep_bar: of(|run| run.pmep_bar),
            fmep_bar: of(|run| run.fmep_bar),
            peak_pressure_bar: of(|run| run.peak_pressure_bar),
            peak_pressure_deg_atdc: of(|run| run.peak_pressure_deg_atdc),
            integral_at_100: of(|run| run.integral_at_100.max(1e-12).ln()).exp(),
            heat_loss_frac: of(|run| run.heat_loss_frac),
            exhaust_temperature_k: of(|run| run.exhaust_temperature_k),
        }
    }

    /// Brake mean effective pressure [bar].
    pub fn bmep_bar(&self) -> f64 {
        self.imep_net_bar - self.fmep_bar
    }
}

impl<'a> Point<'a> {
    fn burn_durations(&self, burn_speed: f64) -> BurnDurations {
        BurnConditions {
            chamber: self.setting.build.combustion.chamber,
            burn_speed,
            speed_rpm: self.speed_rpm,
            lambda: self.fuel.lambda,
            dilution_frac: self.trapped.residual_frac
                + self.setting.weather.humidity_ratio() * self.trapped.dry_air_kg / self.trapped.mass_kg,
            charge_temperature_k: self.trapped.temperature_k,
            charge_density_kg_per_m3: self.trapped.density_kg_per_m3,
            ethanol_vol_frac: self.fuel.blend.ethanol_vol_frac,
        }
        .durations()
    }

    /// Timing near that of best torque [deg before top dead centre].
    pub fn near_mbt_spark(&self) -> f64 {
        self.spark_for_ca50(NEAR_MBT_CA50_DEG)
    }

    /// Timing that puts CA50 at an early angle [deg after top dead centre].
    pub fn spark_for_ca50(&self, ca50_deg: f64) -> f64 {
        Burn::early_spark_for(ca50_deg, self.durations)
    }

    fn cycle(&self, heat: HeatLaw) -> ClosedCycle<'a> {
        let build = self.setting.build;
        ClosedCycle {
            crank: build.geometry.slider_crank(),
            bore_m: build.geometry.bore_m,
            inlet_closes_deg: build.valves.inlet_closes_deg_abdc - 180.0,
            exhaust_opens_deg: 180.0 - build.valves.exhaust_opens_deg_bbdc,
            speed_rpm: self.speed_rpm,
            charge: self.trapped.charge,
            burned: &self.fuel.burned,
            mass_kg: self.trapped.mass_kg,
            temperature_k: self.trapped.temperature_k,
            heat,
            wall_temperature_k: build.combustion.wall_temperature_k,
            step_scale: 1.0,
        }
    }

    /// The build's heat law with a factor [-].
    fn heat_law(&self, factor: f64) -> HeatLaw {
        let (build, charge) = (self.setting.build, &self.trapped.charge);
        let (geometry, piston_speed) =
            (&build.geometry, build.geometry.mean_piston_speed_m_per_s(self.speed_rpm));
        match build.combustion.heat_law {
            HeatLawKind::Woschni => HeatLaw::woschni(
                factor,
                geometry.bore_m,
                piston_speed,
                geometry.swept_volume_m3(),
                self.trapped.mass_kg * charge.gas_constant_j_per_kg_k,
            ),
            HeatLawKind::Hohenberg => HeatLaw::hohenberg(factor, piston_speed),
        }
    }

    /// What sets the delay of the end gas besides pressure and temperature.
    pub fn end_gas(&self) -> EndGas {
        let water_kg = self.setting.weather.humidity_ratio() * self.trapped.dry_air_kg;
        let moles =
            self.trapped.mass_kg * self.trapped.charge.gas_constant_j_per_kg_k / GAS_CONSTANT_J_PER_MOL_K;
        EndGas {
            lambda: self.fuel.lambda,
            residual_frac: self.trapped.residual_frac,
            water_mole_frac: water_kg / WATER_MOLAR_MASS_KG_PER_MOL / moles,
            ethanol_mole_frac: self.fuel.blend.ethanol_octane_mole_frac,
        }
    }

    fn delay(&self) -> BlendDelay {
        BlendDelay::new(&self.setting.fit, &self.end_gas(), self.speed_rpm)
    }

    /// Runs the closed cycle of one cylinder; `observe` sees its states in order.
    pub fn closed(&self, burn: &Burn, observe: impl FnMut(&CycleState)) -> ClosedResult {
        self.cycle(self.heat_law(self.heat_factor)).run(burn, observe)
    }

    /// Runs a closed cycle that burns at once at top dead centre, without wall heat.
    pub fn closed_instant(&self) -> ClosedResult {
        self.cycle(self.heat_law(0.0)).run_instant(0.0, |_| {})
    }

    /// Runs the closed cycle of a burn without wall heat.
    pub fn closed_without_heat(&self, burn: &Burn) -> ClosedResult {
        self.cycle(self.heat_law(0.0)).run(burn, |_| {})
    }

    /// The burn that follows a timing [deg before top dead centre].
    pub fn burn(&self, spark_deg_btdc: f64) -> Burn {
        Burn::from_spark(spark_deg_btdc, self.durations)
    }

    /// Gross indicated work of one cylinder in a closed cycle [J].
    fn gross_work_j(&self, closed: &ClosedResult) -> f64 {
        let build = self.setting.build;
        self.exchange.gross_work_j(&build.geometry.slider_crank(), &build.valves, closed)
    }

    /// Gross mean effective pressure of a closed cycle [bar].
    pub fn imep_gross_bar(&self, closed: &ClosedResult) -> f64 {
        self.gross_work_j(closed) / self.setting.build.geometry.swept_volume_m3() / PA_PER_BAR
    }

    /// Runs the point at a timing [deg before top dead centre].
    pub fn at_spark(&self, spark_deg_btdc: f64) -> AtSpark {
        let burn = self.burn(spark_deg_btdc);
        let mut knock = KnockIntegral::new(self.delay());
        let closed = self.closed(&burn, |state| knock.add(state));
        self.summed_up(&burn, &closed, &knock)
    }

    fn summed_up(&self, burn: &Burn, closed: &ClosedResult, knock: &KnockIntegral) -> AtSpark {
        let build = self.setting.build;
        let (crank, swept_m3) = (build.geometry.slider_crank(), build.geometry.swept_volume_m3());
        let gross_j = self.gross_work_j(closed);
        let late_j = self.exchange.late_blowdown_work_j(&crank, &build.valves, closed);
        let imep_gross_bar = gross_j / swept_m3 / PA_PER_BAR;
        let pmep_bar = (self.exchange.pmep_pa() + late_j / swept_m3) / PA_PER_BAR;
        let peak_pressure_bar = closed.peak_pressure_pa / PA_PER_BAR;
        let fmep_bar = build.friction.fmep_bar(
            peak_pressure_bar,
            build.geometry.mean_piston_speed_m_per_s(self.speed_rpm),
            self.speed_rpm,
            pmep_bar,
        );
        AtSpark {
            spark_deg_btdc: -burn.start_deg(),
            ca50_deg_atdc: burn.angle_deg(0.5),
            imep_gross_bar,
            imep_net_bar: imep_gross_bar - pmep_bar,
            pmep_bar,
            fmep_bar,
            peak_pressure_bar,
            peak_pressure_deg_atdc: closed.peak_pressure_deg,
            integral_at_100: knock.value(),
            heat_loss_frac: closed.heat_j / self.fuel_energy_j(),
            exhaust_temperature_k: self.exhaust_temperature_k(closed, (gross_j, late_j)),
        }
    }

    /// Octane index that this engine needs at an ignition integral taken at octane number 100 [-].
    pub fn octane_requirement(&self, integral_at_100: f64) -> f64 {
        octane_requirement(integral_at_100, self.setting.fit.octane_exponent)
            + self.setting.need.octane(self.speed_rpm)
    }

    /// ln of the ignition integral at octane number 100 that a fuel of an octane index just stands in this engine [-].
    pub fn ln_integral_allowed(&self, octane_index: f64) -> f64 {
        let left = (octane_index - self.setting.need.octane(self.speed_rpm)).max(1.0);
        ln_integral_allowed(left, self.setting.fit.octane_exponent)
    }

    /// Octane index of the fuel in this engine [-].
    pub fn octane_index(&self) -> f64 {
        self.fuel.blend.octane_index(sensitivity_weight(self.setting.build.injection))
    }

    /// Torque at the flywheel at a run of this point [N m].
    pub fn crank_torque_nm(&self, at: &AtSpark) -> f64 {
        self.setting.build.geometry.torque_nm(at.bmep_bar())
    }

    /// Power of a torque at this speed [kW].
    pub fn power_kw(&self, torque_nm: f64) -> f64 {
        power_of_torque_kw(torque_nm, self.speed_rpm)
    }

    /// Share of the charge that leaves without having burned [-].
    pub fn unburned_frac(&self) -> f64 {
        1.0 - self.durations.complete_frac
    }

    /// Mean temperature of the gas that leaves the cylinder [K], from the enthalpy that the first law leaves it; heat
    /// lost in the exhaust port is not counted.
    ///
    /// # Arguments
    /// - `works_j`: gross work and that of late blowdown [J]
    fn exhaust_temperature_k(&self, closed: &ClosedResult, works_j: (f64, f64)) -> f64 {
        let trapped = &self.trapped;
        let energy_j = trapped.mass_kg * trapped.charge.internal_energy_j_per_kg(trapped.temperature_k)
            + closed.energy_change_j;
        let leaving_j =
            self.exchange.exhaust_enthalpy_j(closed, works_j, energy_j, trapped.residual_enthalpy_j);
        let enthalpy = leaving_j / (trapped.mass_kg * (1.0 - trapped.residual_frac));
        let (unburned, pressure) = (self.unburned_frac(), self.exchange.back_pressure_pa.ln());
        newton::temperature_k(closed.end_temperature_k, |t| {
            let burned = self.fuel.burned.at(t, pressure).enthalpy;
            let h = (1.0 - unburned) * burned.value + unburned * trapped.charge.enthalpy_j_per_kg(t);
            let cp = (1.0 - unburned) * burned.by_temperature + unburned * trapped.charge.cp_j_per_kg_k(t);
            (h - enthalpy, cp)
        })
    }

    /// Lower heating value of the fuel in one cylinder and cycle [J].
    pub fn fuel_energy_j(&self) -> f64 {
        self.trapped.fuel_kg * self.fuel.blend.lhv_j_per_kg
    }

    /// Dry air that the engine takes [kg/s].
    pub fn air_flow_kg_per_s(&self) -> f64 {
        self.trapped.dry_air_kg * self.cycles_per_s()
    }

    /// Fuel that the engine takes [kg/s].
    pub fn fuel_flow_kg_per_s(&self) -> f64 {
        self.trapped.fuel_kg * self.cycles_per_s()
    }

    fn cycles_per_s(&self) -> f64 {
        f64::from(self.setting.build.geometry.cylinders) * self.speed_rpm / 120.0
    }

    /// The fuel in use.
    pub fn fuel(&self) -> &FuelInUse {
        self.fuel
    }

    /// Volumetric efficiency of the build at this speed, with its band.
    pub fn breathing(&self) -> VolumetricEfficiency {
        self.setting.build.breathing.at(self.speed_rpm, &self.intake())
    }

    /// Factor on volumetric efficiency of a powerband that a deviate moves [-]; see [`crate::engine::Breathing::moved_by`].
    pub fn powerband_factor(&self, deviate: f64) -> f64 {
        self.setting.build.breathing.moved_by(deviate, self.speed_rpm, &self.intake())
    }

    fn intake(&self) -> Intake {
        self.setting.build.intake(self.setting.weather.temperature_k)
    }

    /// Engine speed [rpm].
    pub fn speed_rpm(&self) -> f64 {
        self.speed_rpm
    }

    /// The setting of the estimate.
    pub fn setting(&self) -> PointSetting<'a> {
        self.setting
    }
}
