//! The charge at inlet valve closing, from an energy and volume balance of the intake.
//!
//! Volumetric efficiency is stated for gasoline and air of 25 C. On another fuel or day the cylinder
//! is filled with the same volume of fresh gas at the ambient pressure: fuel vapour takes the place
//! of air, evaporation makes the gas cooler and denser, hot air is heated less on its way in.

use super::gas_exchange::GasExchange;
use crate::air::Weather;
use crate::constants::GAS_CONSTANT_J_PER_MOL_K;
use crate::engine::{Breathing, Build, Cooling, Injection};
use crate::fuel::Blend;
use crate::gas::{FreshMixture, UnburnedCharge};

/// Share of the temperature difference that the fresh gas takes up at [`HEATING_SPEED_RPM`], from manifold and port and
/// from the walls of the cylinder (common practice, no source). Together a heating of some 30 K, and volumetric efficiency
/// that grows as about T^0.4 against the usual T^0.5 (Heywood 1988, ch. 6; `from memory`). The cylinder's share is
/// less than Woschni's law gives for the intake stroke (0.10, worked by hand), since flame side and intake
/// side are not equally hot.
const PORT_HEATING: f64 = 0.25;
const CYLINDER_HEATING: f64 = 0.08;
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
            Injection::Direct => Self { from_charge: 0.485, while_filling: 0.5 },
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
    /// Heat from walls to gas and to fuel that evaporates on them, per kilogram of fresh gas [J/kg].
    wall_heat_j_per_kg: f64,
}

/// The fresh mixture of a fuel on a day.
pub fn fresh_mixture(fuel: &Blend, lambda: f64, weather: &Weather) -> FreshMixture {
    FreshMixture::new(fuel.into(), lambda, weather.humidity_ratio())
}

/// Walls that warm the fresh gas on its way in.
#[derive(Clone, Copy, Debug)]
struct WarmWalls {
    /// Temperature rise that they would give a gas of 0 K [K].
    rise_k: f64,
    /// Share of the gas temperature that they take off again [-].
    share: f64,
}

impl WarmWalls {
    /// # Arguments
    /// - `cooling`: what sets the temperature of manifold and port
    /// - `wall_temperature_k`: surfaces of the cylinder [K]
    /// - `manifold_heat_k`: warming by a heated manifold [K]
    fn new(cooling: Cooling, wall_temperature_k: f64, manifold_heat_k: f64, speed_rpm: f64) -> Self {
        let by_speed = (speed_rpm / HEATING_SPEED_RPM).powf(HEATING_SPEED_EXPONENT);
        let (port, cylinder) = (PORT_HEATING * by_speed, CYLINDER_HEATING * by_speed);
        let walls_k = port * cooling.port_temperature_k() + cylinder * wall_temperature_k;
        let rise_k = walls_k + manifold_heat_k;
        Self { rise_k, share: port + cylinder }
    }

    /// Those of a build.
    fn of(build: &Build, speed_rpm: f64) -> Self {
        let combustion = &build.combustion;
        let manifold_heat_k = build.manifold_heat_k();
        Self::new(combustion.cooling, combustion.wall_temperature_k, manifold_heat_k, speed_rpm)
    }

    /// Temperature rise of a gas [K].
    fn heating_k(&self, gas_k: f64) -> f64 {
        self.rise_k - self.share * gas_k
    }
}

fn filling(
    fuel: &Blend,
    fresh: &FreshMixture,
    air_k: f64,
    injection: Injection,
    walls: &WarmWalls,
) -> Filling {
    let shares = Evaporation::of(injection);
    let charge = fresh.with_residual(0.0);
    let cp = charge.cp_j_per_kg_k(air_k);
    let evaporation = fresh.fuel_mass_frac() * fuel.hov_j_per_kg;
    let cooling_k = shares.from_charge * evaporation / cp;
    // Fuel in the port cools what the walls then warm; fuel in the cylinder cools what they have warmed.
    let met_k = match injection {
        Injection::Port => air_k - cooling_k,
        Injection::Direct => air_k,
    };
    let heating_k = walls.heating_k(met_k);
    let temperature_k = air_k - cooling_k + heating_k;
    let filling_k = match injection {
        Injection::Port => temperature_k,
        Injection::Direct => air_k + heating_k - shares.while_filling * cooling_k,
    };
    let fuel_moles = fresh.fuel_mass_frac() / fuel.molar_mass_kg_per_mol;
    let all_moles = charge.gas_constant_j_per_kg_k / GAS_CONSTANT_J_PER_MOL_K;
    let moles = (all_moles - (1.0 - shares.while_filling) * fuel_moles) / fresh.dry_air_mass_frac();
    Filling {
        volume: moles * filling_k,
        temperature_k,
        wall_heat_j_per_kg: cp * heating_k + (1.0 - shares.from_charge) * evaporation,
    }
}

/// Fresh gas as it comes to the inlet valve of a cylinder, walls left to what it flows along.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Incoming {
    /// Gas constant per mass of all of the mixture, of which a part of the fuel is still liquid [J/(kg K)].
    pub gas_constant_j_per_kg_k: f64,
    /// Heat capacity at constant volume [J/(kg K)].
    pub cv_j_per_kg_k: f64,
    /// Temperature, cooled by what evaporates on the way [K].
    pub temperature_k: f64,
    /// Dry air over all [-].
    pub dry_air_mass_frac: f64,
    /// Heat that evaporation takes from the gas only after the filling is settled [J/kg].
    pub later_cooling_j_per_kg: f64,
}

impl Incoming {
    /// That of a fuel on a day.
    pub fn new(fuel: &Blend, lambda: f64, weather: &Weather, injection: Injection) -> Self {
        let fresh = fresh_mixture(fuel, lambda, weather);
        let shares = Evaporation::of(injection);
        let charge = fresh.with_residual(0.0);
        let cp = charge.cp_j_per_kg_k(weather.temperature_k);
        let cooling_j_per_kg = shares.from_charge * fresh.fuel_mass_frac() * fuel.hov_j_per_kg;
        let by_then = match injection {
            Injection::Port => 1.0,
            Injection::Direct => shares.while_filling,
        };
        let liquid_moles = (1.0 - shares.while_filling) * fresh.fuel_mass_frac() / fuel.molar_mass_kg_per_mol;
        Self {
            gas_constant_j_per_kg_k: charge.gas_constant_j_per_kg_k - GAS_CONSTANT_J_PER_MOL_K * liquid_moles,
            cv_j_per_kg_k: cp - charge.gas_constant_j_per_kg_k,
            temperature_k: weather.temperature_k - by_then * cooling_j_per_kg / cp,
            dry_air_mass_frac: fresh.dry_air_mass_frac(),
            later_cooling_j_per_kg: (1.0 - by_then) * cooling_j_per_kg,
        }
    }
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
    /// Enthalpy of the residual gas as it stays or flows back [J].
    pub residual_enthalpy_j: f64,
    /// Heat from walls to the fresh gas and to fuel that evaporates on them [J].
    pub intake_heat_j: f64,
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
        let walls = WarmWalls::of(build, self.speed_rpm);
        let this = filling(self.fuel, &fresh, weather.temperature_k, build.injection, &walls);
        let reference =
            stated_filling(self.reference, weather, build.injection, &stated_walls(build, self.speed_rpm));
        let hotter = weather.temperature_k / STATED_TEMPERATURE_K;
        let volumetric_efficiency =
            self.reference_volumetric_efficiency * hotter * reference.volume / this.volume;
        let dry_air_kg =
            volumetric_efficiency * weather.dry_air_density_kg_per_m3() * geometry.swept_volume_m3();
        let fresh_kg = dry_air_kg / fresh.dry_air_mass_frac();
        let residual_kg = exchange.residual_mass_kg(&build.valves, self.speed_rpm, residual_temperature_k);
        let mass_kg = fresh_kg + residual_kg;
        let residual_frac = residual_kg / mass_kg;
        let charge = fresh.with_residual(residual_frac);
        let fresh_k = this.temperature_k + self.temperature_shift_k;
        let residual_enthalpy_j = residual_kg * fresh.residual().enthalpy_j_per_kg(residual_temperature_k);
        let enthalpy_j = fresh_kg * fresh.with_residual(0.0).enthalpy_j_per_kg(fresh_k) + residual_enthalpy_j;
        let temperature_k = exchange.closing_temperature_k(&charge, mass_kg, enthalpy_j);
        TrappedCharge {
            charge,
            mass_kg,
            temperature_k,
            density_kg_per_m3: mass_kg / (geometry.swept_volume_m3() + geometry.clearance_volume_m3()),
            dry_air_kg,
            fuel_kg: fresh_kg * fresh.fuel_mass_frac(),
            residual_frac,
            volumetric_efficiency,
            residual_enthalpy_j,
            intake_heat_j: fresh_kg * this.wall_heat_j_per_kg,
        }
    }
}

/// Walls for which volumetric efficiency is stated: the engine's own for a table, which was measured on it;
/// those of a usual water-cooled engine for a kind of build or port flow, with the manifold of the kind.
fn stated_walls(build: &Build, speed_rpm: f64) -> WarmWalls {
    match build.breathing {
        Breathing::Table { .. } | Breathing::Computed(_) => WarmWalls::of(build, speed_rpm),
        Breathing::Band { .. } | Breathing::PortFlow(_) => {
            let usual = Cooling::USUAL;
            let wall_k = usual.usual_wall_temperature_k();
            WarmWalls::new(usual, wall_k, build.manifold_heat_k(), speed_rpm)
        }
    }
}

/// Filling of the fuel and air for which volumetric efficiency is stated.
fn stated_filling(
    (fuel, lambda): (&Blend, f64),
    weather: &Weather,
    injection: Injection,
    walls: &WarmWalls,
) -> Filling {
    filling(fuel, &fresh_mixture(fuel, lambda, weather), STATED_TEMPERATURE_K, injection, walls)
}

/// What a table of the same filling says over what the build's own breathing says [-]: a table is measured on the walls
/// of the engine, a kind of build and port flow are stated for usual ones.
///
/// # Arguments
/// - `reference`: fuel for which volumetric efficiency is stated, and its lambda
/// - `speed_rpm`: engine speed [rpm]
pub fn table_over_stated(build: &Build, reference: (&Blend, f64), weather: &Weather, speed_rpm: f64) -> f64 {
    let volume = |walls: &WarmWalls| stated_filling(reference, weather, build.injection, walls).volume;
    volume(&stated_walls(build, speed_rpm)) / volume(&WarmWalls::of(build, speed_rpm))
}
