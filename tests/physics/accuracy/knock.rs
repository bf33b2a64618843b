//! Octane requirement against ratio, timing, speed, air and mixture on three engines of shipped scenarios, and what ethanol
//! is worth on the bench engine.

use super::Check;
use crate::common::bench::{Trial, blend};
use crate::common::tables::table;
use crate::knock_engines::{Slopes, three};
use crate::octane_tests::critical_ratios;
use endgas::engine::Injection;
use endgas::knock::KnockFit;

const SAE_960497: &str = "SAE 960497 (1996), abstract";
const PRACTICE: &str = "common practice, no source";
const YASHWANTH: &str = "Yashwanth, Venugopal and Ramesh, IJAME 10 (2014), abstract";
const GUIDE: &str = "guide table of the RON test, recalled";

/// Published band of a row of `tests/data/knock_rows.csv`.
fn band(id: &str) -> (f64, f64) {
    let rows = table("knock_rows.csv");
    let row = rows.iter().find(|row| row.text("id") == id).unwrap();
    (row.number("low"), row.number("high"))
}

/// Octane margin at the timing of most torque on `base`, fuel by fuel.
fn margins(trial: &Trial, base: &str, fuels: &[&str]) -> Vec<f64> {
    let spark = trial.edit(|t| t.fuel = blend(base)).best().spark_deg_btdc;
    let margin = |fuel: &&str| {
        let other = trial.edit(|t| t.fuel = blend(fuel));
        other.fuel.octane_index(0.0) - other.requirement(&other.at(spark))
    };
    fuels.iter().map(margin).collect()
}

fn ethanol_rows() -> Vec<Check> {
    let trial = Trial::new(10.0, 3000.0);
    // Volume fractions of 51.5 and 100 % are mass fractions of about 0.53 and 1 (fuel densities of the library).
    let fuels = ["base-premium-91", "ethanol 50 % + base-premium-91 50 %", "e100"];
    let port = margins(&trial, "base-premium-91", &fuels);
    let (gain, second_half) = (port[2] - port[0], 100.0 * (port[2] - port[1]) / (port[2] - port[0]));
    let direct = |fuel: &str| {
        let by = |injection| {
            let other = trial.edit(|t| t.build.injection = injection);
            margins(&other, fuel, &[fuel])[0]
        };
        by(Injection::Direct) - by(Injection::Port)
    };
    vec![
        Check::new("gain of ethanol beyond half mass, share of the whole gain, port", "%", (0.0, 50.0), second_half, 0, YASHWANTH),
        Check::new("effective octane gain of neat ethanol over gasoline, port", "ON", (10.0, 20.0), gain, 1, YASHWANTH)
            .missed("17 of it is its RON over that of the base; the rest is the cooler charge and its own delay in an end gas cooler than the RON test."),
        Check::new("octane gain of direct for port injection, gasoline", "ON", (0.0, 7.0), direct("base-premium-91"), 1, "3 to 7, uncertain, recalled: Kasseris and Heywood SAE 2012-01-1275"),
        Check::new("octane gain of direct for port injection, E85", "ON", (8.0, 20.0), direct("e85"), 1, "10 to 20, uncertain, recalled: the same"),
    ]
}

pub(crate) fn checks() -> Vec<Check> {
    let slopes = three().map(|engine| engine.slopes(&KnockFit::SHIPPED));
    let over = |what, unit, band, of: fn(&Slopes) -> f64, digits, source| {
        Check::over(what, unit, band, slopes.iter().map(of).collect(), digits, source)
    };
    let critical = critical_ratios();
    let mut checks = vec![
        over("octane requirement per ratio unit, 9 to 12 (V8 / street / circuit)", "ON", band("R_CR"), |s| s.per_ratio, 1, SAE_960497).fitted(),
        over("octane requirement per degree of timing", "ON", band("R_SPARK"), |s| s.per_deg, 2, SAE_960497).fitted(),
        over("octane requirement per 10 kPa of intake pressure", "ON", band("R_MAP"), |s| s.per_10_kpa, 1, SAE_960497).fitted(),
        over("octane requirement per K of intake air", "ON", band("R_TIN"), |s| s.per_kelvin_air, 2, SAE_960497).fitted()
            .missed("the circuit four alone, by 0.01: its long overlap and high ratio make its end gas the hottest of the three."),
        over("octane requirement per K of coolant, walls following", "ON", band("R_COOL"), |s| s.per_kelvin_coolant, 2, SAE_960497).fitted(),
        over("lambda of greatest octane requirement", "-", band("R_AFR_PEAK"), |s| s.worst_lambda, 2, SAE_960497).fitted()
            .missed("the curve is flat there, 0.3 octane numbers from 0.95 to 1.00; a peak further on the rich side costs the fall of the next row. Chemistry alone (delay as phi^-0.9) puts it at 0.87."),
        over("fall of octane requirement per air-fuel ratio, lambda 0.95 to 0.80", "ON", (1.5, 2.5), |s| s.per_afr_rich, 1, SAE_960497).fitted(),
        over("octane requirement per 30 kPa of exhaust back pressure", "ON", band("R_BACKP"), |s| s.per_30_kpa_back, 1, SAE_960497)
            .missed("the circuit four alone: exhaust flows back through its overlap of 50 deg; the engines of the source had production cams."),
        over("octane requirement per 1000 rpm, from 2000", "ON", (-3.0, -1.0), |s| s.per_1000_rpm, 1, PRACTICE).fitted(),
        over("octane requirement per g/kg of humidity, same burn", "ON", band("CHEM_HUM"), |s| s.per_gram_water, 2, "two detailed mechanisms (rows CHEM_HUM of tests/data/knock_rows.csv)")
            .missed("by 0.005 to 0.015. At the same timing the slower burn brings it to about -0.13; a fuel supplier's page says -0.25 to -0.35 (read, no paper)."),
        over("octane requirement per 3000 ft of altitude", "ON", (-4.5, -1.0), |s| s.per_3000_ft, 1, "Russell factors (from memory) and common practice (no source), which disagree"),
        Check::new("ratio at standard knock in the RON test, PRF 90", "-", band("CFR_CR_90"), critical[1], 1, GUIDE)
            .missed("one exponent of the octane number spans the whole scale; the mechanisms have 3.4 to 4.3 from 80 to 90 and 6.0 to 6.7 from 90 to 100. Below RON 90 the model is too cautious."),
        Check::new("ratio at standard knock in the RON test, PRF 80", "-", band("CFR_CR_80"), critical[0], 1, GUIDE)
            .missed("one exponent of the octane number spans the whole scale; the mechanisms have 3.4 to 4.3 from 80 to 90 and 6.0 to 6.7 from 90 to 100. Below RON 90 the model is too cautious."),
    ];
    checks.extend(ethanol_rows());
    checks
}
