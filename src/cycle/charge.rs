//! The charge at inlet valve closing, from an energy and volume balance of the intake.
//!
//! Volumetric efficiency is stated for gasoline and air of 25 C. On another fuel or day the cylinder
//! is filled with the same volume of fresh gas at the ambient pressure: fuel vapour takes the place
//! of air, evaporation makes the gas cooler and denser, hot air is heated less on its way in.

use super::gas_exchange::GasExchange;
use crate::air::Weather;
use crate::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::engine::{Build, Injection};
use crate::fuel::Blend;
use crate::gas::{FreshMixture, UnburnedCharge};

/// Share of the temperature difference between intake walls and gas that the gas takes up at
/// [`HEATING_SPEED_RPM`] (common practice, no source); a heating of some 20 K, and volumetric
/// efficiency that grows as about T^0.4 against the usual T^0.5 (Heywood 1988, ch. 6; `from memory`).
const WALL_HEATING: f64 = 0.35;
const HEATING_SPEED_RPM: f64 = 3000.0;
/// Heating falls with speed as the Stanton number of turbulent pipe flow, Re^-0.2 (any
/// heat-transfer text).
const HEATING_SPEED_EXPONENT: f64 = -0.2;

/// How the fuel of an injection kind evaporates.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Evaporation {
    /// Share of the heat of vaporisation taken from the charge, not from walls [-].
    from_charge: f64,
    /// Share of the fuel that is vapour while the filling is settled [-].
    while_filling: f64,
}

impl Evaporation {
    /// Shares by injection kind.
    ///
    /// `from_charge` is set so that direct injection cools the charge, in intake air
    /// temperature at equal knock, by about 14 K on gasoline and 49 K on E85 more than port
    /// injection (Kasseris and Heywood, SAE 2012-01-1275, abstract); the port value and
    /// `while_filling` are common practice, no source.
    fn of(injection: Injection) -> Self {
        match injection {
            Injection::Port => Self { from_charge: 0.2, while_filling: 0.7 },
            Injection::Direct => Self { from_charge: 0.46, while_filling: 0.5 },
        }
    }
}

/// Air temperature for which volumetric efficiency is stated [K].
const STATED_TEMPERATURE_K: f64 = 298.15;

/// Fresh gas of one fuel by the end of the intake stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Filling {
    /// Volume per kilogram of dry air, in units of R T / p of one mole [mol K/kg].
    volume: f64,
    /// Temperature of the fresh gas before it meets residual gas [K].
    temperature_k: f64,
}

/// The fresh mixture of a fuel on a day.
pub fn fresh_mixture(fuel: &Blend, lambda: f64, weather: &Weather) -> FreshMixture {
    FreshMixture::new(fuel.into(), lambda, weather.humidity_ratio())
}

/// Heat taken up from coolant-warm intake walls, as a share of the temperature difference [-].
fn wall_heating(speed_rpm: f64) -> f64 {
    WALL_HEATING * (speed_rpm / HEATING_SPEED_RPM).powf(HEATING_SPEED_EXPONENT)
}

fn filling(
    fuel: &Blend,
    fresh: &FreshMixture,
    air_k: f64,
    injection: Injection,
    heating: f64,
    coolant_k: f64,
) -> Filling {
    let shares = Evaporation::of(injection);
    let charge = fresh.with_residual(0.0);
    let full_cooling = fresh.fuel_mass_frac() * fuel.hov_j_per_kg / charge.cp_j_per_kg_k(air_k);
    let heated = |t: f64| t + heating * (coolant_k - t);
    let (filling_k, end_k) = match injection {
        Injection::Port => {
            let t = heated(air_k - shares.from_charge * full_cooling);
            (t, t)
        }
        Injection::Direct => {
            let (t, cooling) = (heated(air_k), shares.from_charge * full_cooling);
            (t - shares.while_filling * cooling, t - cooling)
        }
    };
    let fuel_moles = fresh.fuel_mass_frac() / fuel.molar_mass_kg_per_mol;
    let all_moles = charge.gas_constant_j_per_kg_k / GAS_CONSTANT_J_PER_MOL_K;
    let moles = (all_moles - (1.0 - shares.while_filling) * fuel_moles) / fresh.dry_air_mass_frac();
    Filling { volume: moles * filling_k, temperature_k: end_k }
}

/// Temperature of the charge after its isentropic compression from intake pressure to the pressure at
/// inlet closing [K], by ram and by the piston rising while the valve still closes.
///
/// T = Tm (p/pi)^k with p = density R T, k = R/cp, so p = (density R Tm pi^-k)^(1/(1-k)).
fn rammed_temperature_k(
    charge: &UnburnedCharge,
    density_kg_per_m3: f64,
    mixed_k: f64,
    intake_pressure_pa: f64,
) -> f64 {
    let r = charge.gas_constant_j_per_kg_k;
    let k = r / charge.cp_j_per_kg_k(mixed_k);
    let ratio = density_kg_per_m3 * r * mixed_k / intake_pressure_pa;
    mixed_k * ratio.powf(k / (1.0 - k))
}

/// What the charge balance needs besides the build.
#[derive(Clone, Copy, Debug)]
pub struct ChargeConditions<'a> {
    /// Ambient air.
    pub weather: &'a Weather,
    /// Fuel in use.
    pub fuel: &'a Blend,
    /// Fuel for which volumetric efficiency is stated, and its lambda.
    pub reference: (&'a Blend, f64),
    /// Air-fuel equivalence ratio in use [-].
    pub lambda: f64,
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Volumetric efficiency with the reference fuel, dry air at ambient density [-].
    pub reference_volumetric_efficiency: f64,
    /// Added to the fresh charge temperature [K]; 0 but for uncertainty.
    pub temperature_shift_k: f64,
}

/// Trapped charge of one cylinder at inlet valve closing.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TrappedCharge {
    /// Fresh mixture and residual gas, composition frozen.
    pub charge: UnburnedCharge,
    /// Trapped mass [kg].
    pub mass_kg: f64,
    /// Temperature [K].
    pub temperature_k: f64,
    /// Density in the cylinder at bottom dead centre [kg/m3].
    pub density_kg_per_m3: f64,
    /// Dry air [kg].
    pub dry_air_kg: f64,
    /// Fresh fuel [kg].
    pub fuel_kg: f64,
    /// Residual gas mass fraction [-].
    pub residual_frac: f64,
    /// Volumetric efficiency with this fuel [-].
    pub volumetric_efficiency: f64,
}

impl ChargeConditions<'_> {
    /// Charge at inlet closing, given the residual gas temperature of the cycle before [K].
    pub fn trapped(
        &self,
        build: &Build,
        exchange: &GasExchange,
        residual_temperature_k: f64,
    ) -> TrappedCharge {
        let (weather, geometry) = (self.weather, &build.geometry);
        let fresh = fresh_mixture(self.fuel, self.lambda, weather);
        let heating = wall_heating(self.speed_rpm);
        let fill = |fuel: &Blend, fresh: &FreshMixture, air_k: f64| {
            filling(fuel, fresh, air_k, build.injection, heating, build.combustion.coolant_temperature_k)
        };
        let this = fill(self.fuel, &fresh, weather.temperature_k);
        let (reference_fuel, reference_lambda) = self.reference;
        let reference = fill(
            reference_fuel,
            &fresh_mixture(reference_fuel, reference_lambda, weather),
            STATED_TEMPERATURE_K,
        );
        let hotter = weather.temperature_k / STATED_TEMPERATURE_K;
        let volumetric_efficiency =
            self.reference_volumetric_efficiency * hotter * reference.volume / this.volume;
        let dry_air_kg =
            volumetric_efficiency * weather.dry_air_density_kg_per_m3() * geometry.swept_volume_m3();
        let fresh_kg = dry_air_kg / fresh.dry_air_mass_frac();
        let residual_kg =
            exchange.residual_mass_kg(geometry, &build.valves, self.speed_rpm, residual_temperature_k);
        let mass_kg = fresh_kg + residual_kg;
        let residual_frac = residual_kg / mass_kg;
        let charge = fresh.with_residual(residual_frac);
        let fresh_k = this.temperature_k + self.temperature_shift_k;
        let enthalpy = (1.0 - residual_frac) * fresh.with_residual(0.0).enthalpy_j_per_kg(fresh_k)
            + residual_frac * fresh.residual().enthalpy_j_per_kg(residual_temperature_k);
        let mixed_k = charge.temperature_at_enthalpy_k(enthalpy, fresh_k + 30.0);
        let closing = (build.valves.inlet_closes_deg_abdc - 180.0).to_radians();
        let volume = geometry.slider_crank().volume_m3(closing);
        let temperature_k =
            rammed_temperature_k(&charge, mass_kg / volume, mixed_k, exchange.intake_pressure_pa);
        TrappedCharge {
            charge,
            mass_kg,
            temperature_k,
            density_kg_per_m3: mass_kg / (geometry.swept_volume_m3() + geometry.clearance_volume_m3()),
            dry_air_kg,
            fuel_kg: fresh_kg * fresh.fuel_mass_frac(),
            residual_frac,
            volumetric_efficiency,
        }
    }
}
