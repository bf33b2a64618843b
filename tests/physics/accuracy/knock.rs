//! Octane requirement against ratio, spark, speed, air and mixture, on the bench engine.

use super::Check;
use crate::common::bench::{Trial, blend};
use endgas::air::{Weather, standard_atmosphere_pressure_pa};

const RUSSELL: &str =
    "Russell factors by way of Stone, Introduction to Internal Combustion Engines (from memory)";
const PRACTICE: &str = "common practice, no source";
const FAQ: &str = "Gasoline FAQ v1.12, B. Hamilton 1996";

fn air(temperature_k: f64, pressure_pa: f64, humidity: f64) -> Weather {
    Weather::new(temperature_k, pressure_pa, humidity).unwrap()
}

/// Octane requirement on another day at the same spark.
fn on(trial: &Trial, spark: f64, weather: Weather) -> f64 {
    let other = trial.edit(|t| t.weather = weather);
    other.requirement(&other.at(spark))
}

/// Air-fuel ratio of the greatest octane requirement at one spark, by a scan of lambda.
fn greatest_requirement_afr(trial: &Trial, spark: f64) -> f64 {
    let need = |lambda: f64| {
        let other = trial.edit(|t| t.lambda = lambda);
        other.requirement(&other.at(spark))
    };
    let lambda =
        (0..31).map(|i| 0.80 + 0.01 * f64::from(i)).max_by(|a, b| need(*a).total_cmp(&need(*b))).unwrap();
    lambda * trial.fuel.afr_stoich
}

pub(crate) fn checks() -> Vec<Check> {
    let trial = Trial::new(10.0, 3000.0);
    let best = trial.best();
    let (spark, need) = (best.spark_deg_btdc, trial.requirement(&best));
    let per_ratio =
        (Trial::new(12.0, 3000.0).best_requirement() - Trial::new(9.0, 3000.0).best_requirement()) / 3.0;
    let per_deg = (need - trial.requirement(&trial.at(spark - 5.0))) / 5.0;
    let per_kelvin =
        (on(&trial, spark, air(308.15, 1e5, 0.0)) - on(&trial, spark, air(298.15, 1e5, 0.0))) / 10.0;
    let per_pressure = on(&trial, spark, air(298.15, 1.1e5, 0.3)) - on(&trial, spark, air(298.15, 1e5, 0.3));
    let (dry, wet) = (air(303.15, 1e5, 0.1), air(303.15, 1e5, 0.7));
    let per_gram = (on(&trial, spark, wet) - on(&trial, spark, dry))
        / (1000.0 * (wet.humidity_ratio() - dry.humidity_ratio()));
    let up = |altitude: f64| {
        on(&trial, spark, air(298.15, standard_atmosphere_pressure_pa(altitude).unwrap(), 0.3))
    };
    let warmer = trial.edit(|t| {
        t.build.combustion.cooling = t.build.combustion.cooling.hotter_by(10.0);
        t.build.combustion.wall_temperature_k += 10.0;
    });
    let per_coolant = (warmer.requirement(&warmer.at(spark)) - need) / 10.0;
    // Octane margin gained on the gasoline at its best-torque spark, by ethanol mass fraction, port injection, 10:1.
    let margin = |fuel: &str| {
        let other = trial.edit(|t| t.fuel = blend(fuel));
        other.fuel.octane.index(0.0) - other.requirement(&other.at(spark))
    };
    // Volume fractions of 51.5 and 100 % are mass fractions of about 0.53 and 1 (fuel densities of the library).
    let (none, half, all) =
        (margin("base-premium-91"), margin("ethanol 50 % + base-premium-91 50 %"), margin("e100"));
    let second_half = 100.0 * (all - half) / (all - none);
    let speed =
        (Trial::new(10.0, 6000.0).best_requirement() - Trial::new(10.0, 2000.0).best_requirement()) / 4.0;
    vec![
        Check::new("octane requirement per ratio unit, 9 to 12", "ON", (3.0, 6.0), per_ratio, 1, FAQ).fitted(),
        Check::new("octane requirement per degree of spark", "ON", (0.5, 1.0), per_deg, 2, RUSSELL).fitted(),
        Check::new("octane requirement per 1000 rpm, 2000 to 6000", "ON", (-3.0, -1.0), speed, 1, PRACTICE)
            .fitted(),
        Check::new("octane requirement per 10 kPa of intake pressure", "ON", (3.0, 4.0), per_pressure, 1, RUSSELL),
        Check::new("octane requirement per K of intake air", "ON", (0.10, 0.20), per_kelvin, 2, RUSSELL)
            .missed("hotter air is also thinner, which lowers the peak pressure and takes back part of the effect."),
        Check::new("octane requirement per K of coolant, walls following", "ON", (0.05, 0.15), per_coolant, 2, RUSSELL),
        Check::new("octane requirement per g/kg of humidity", "ON", (-0.35, -0.25), per_gram, 2, PRACTICE)
            .missed("the model has the slower burn and the thinner air, not the chemical effect of water on the delay. A dry day asks for more octane than the model says; a damp one for less."),
        Check::new("gain of ethanol beyond half mass, share of the whole gain, port", "%", (0.0, 50.0), second_half, 0, "Yashwanth, Venugopal and Ramesh, IJAME 10 (2014), abstract: gain diminishes"),
        Check::new("effective octane gain of neat ethanol over gasoline, port", "ON", (10.0, 20.0), all - none, 1, "same: 90 to 105, engine and scatter +/-5"),
        Check::new("octane requirement per 3000 ft of altitude", "ON", (-4.5, -1.0), up(914.4) - up(0.0), 1, "Russell factors (from memory) and common practice (no source), which disagree"),
        Check::new("air-fuel ratio of greatest octane requirement", "-", (13.5, 14.5), greatest_requirement_afr(&trial, spark), 1, FAQ),
    ]
}
