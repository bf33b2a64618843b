//! Laws of units: what means the same, however it is written, gives the same.

use crate::bench::Bench;
use crate::law::{Law, Tally};
use assert_cmd::Command;
use endgas::air::{
    ALTITUDE_RANGE_M, CorrectionStandard, PressureKind, Weather, standard_atmosphere_pressure_pa,
};
use endgas::engine::Breathing;
use endgas::report::{Format, Units, render};
use endgas::scenario::{Scenario, read};
use serde_json::Value;

const PORTED: &str = include_str!("../../scenarios/ported-four-1800.toml");

pub const LAWS: [Law; 5] = [
    Law {
        name: "a scenario at an altitude is the one at the pressure of that altitude; higher is thinner",
        reason: "standard atmosphere",
        tolerance: 1e-12,
        why_tolerance: "rounding of kPa in text and back",
        when: "always; altitudes -400 to 5000 m",
        every: 1,
        holds: altitude_is_pressure,
    },
    Law {
        name: "a flow-bench sheet in litres and pascals is the one in cubic feet and inches of water",
        reason: "1 cfm is 0.028 316 846 592 m3/min, 1 inch of water 249.088 91 Pa (NIST SP 811)",
        tolerance: 1e-8,
        why_tolerance: "digits of the conversion",
        when: "always",
        every: 8,
        holds: bench_sheet_in_both,
    },
    Law {
        name: "US output is metric output converted",
        reason: "1 hp is 550 ft lbf/s, 1 lbf 4.448 221 615 260 5 N, 1 ft 0.3048 m, 1 lb 0.453 592 37 kg (NIST SP 811)",
        tolerance: 1.0,
        why_tolerance: "relative to what rounding to the decimals shown allows on both sides",
        when: "points that the program runs",
        every: 16,
        holds: output_in_both,
    },
    Law {
        name: "air typed in Fahrenheit, inches of mercury and feet is that in Celsius, kilopascals and metres",
        reason: "the command line takes both",
        tolerance: 2e-3,
        why_tolerance: "sparks are searched to 0.02 deg and told beside best torque of some 30 deg",
        when: "always; the program itself is run",
        every: 400,
        holds: typed_in_both,
    },
    Law {
        name: "power corrections are 1 at their reference, more on hotter, thinner and, where dry air counts, humid days",
        reason: "they bring a reading to the reference day; two days differ by the ratio of their factors",
        tolerance: 1e-12,
        why_tolerance: "rounding alone",
        when: "always",
        every: 1,
        holds: corrections,
    },
];

fn scenario(text: &str) -> Scenario {
    read("units", text).unwrap()
}

fn altitude_is_pressure(bench: &Bench, tally: &mut Tally) {
    let altitude_m = (-400.0 + 5400.0 * bench.any).round();
    let pressure_pa = standard_atmosphere_pressure_pa(altitude_m).unwrap();
    // ISO 2533 in its usual form: 44 330.8 m times 1 less the 0.190 263rd power of the pressure ratio.
    let back_m = 288.15 / 0.0065 * (1.0 - (pressure_pa / 101_325.0).powf(1.0 / 5.255_876));
    tally.near("altitude of the pressure", back_m, altitude_m, 1e12);
    tally.claim("altitude to a metre", (back_m - altitude_m).abs() < 0.5, (back_m, altitude_m));
    let higher = standard_atmosphere_pressure_pa((altitude_m + 50.0).min(*ALTITUDE_RANGE_M.end())).unwrap();
    tally.less("higher", higher, pressure_pa);
    if bench.seed.is_multiple_of(8) {
        let with = |line: String| scenario(&PORTED.replace("altitude_m = 150.0", &line)).weather;
        let (a, b) = (
            with(format!("altitude_m = {altitude_m}")),
            with(format!("pressure_kpa = {:?}", pressure_pa / 1e3)),
        );
        tally.equal("pressure", a.pressure_pa, b.pressure_pa);
    }
}

fn bench_sheet_in_both(bench: &Bench, tally: &mut Tally) {
    let inches = 10.0 + (30.0 * bench.any).round();
    let cfm = [62.0, 121.0, 168.0, 196.0, 208.0].map(|flow| flow * (inches / 28.0_f64).sqrt());
    let us = PORTED
        .replace("bench_depression_in_h2o = 28", &format!("bench_depression_in_h2o = {inches}"))
        .replace("bench_flow_cfm = [62, 121, 168, 196, 208]", &format!("bench_flow_cfm = {cfm:?}"));
    let litres = cfm.map(|flow| flow * 28.316_846_592 / 60.0);
    let metric = us
        .replace(
            &format!("bench_depression_in_h2o = {inches}"),
            &format!("bench_depression_pa = {:?}", inches * 249.088_91),
        )
        .replace(&format!("bench_flow_cfm = {cfm:?}"), &format!("bench_flow_l_per_s = {litres:?}"));
    let flow = |text: &str| match scenario(text).build.breathing {
        Breathing::PortFlow(flow) => flow.mean_flow_coefficient,
        other => panic!("{other:?}"),
    };
    tally.equal("mean flow coefficient", flow(&metric), flow(&us));
    // Twice the flow is twice the coefficient.
    tally.claim("flow at another depression", (0.2..0.5).contains(&flow(&us)), flow(&us));
}

/// Columns whose unit differs: metric name, US name, and the US value of a metric one.
type Column = (&'static str, &'static str, fn(f64) -> f64);

const LBF_N: f64 = 4.448_221_615_260_5;
const HP_KW: f64 = 0.55 * LBF_N * 0.3048;

const COLUMNS: [Column; 6] = [
    ("bmep_bar", "bmep_psi", |bar| bar * 1e5 * 0.0254 * 0.0254 / LBF_N),
    ("peak_pressure_bar", "peak_pressure_psi", |bar| bar * 1e5 * 0.0254 * 0.0254 / LBF_N),
    ("exhaust_temperature_c", "exhaust_temperature_f", |c| 1.8 * c + 32.0),
    ("bsfc_g_per_kwh", "bsfc_lb_per_hp_h", |g| g / 453.592_37 * HP_KW),
    ("crank_torque_likely_nm", "crank_torque_likely_lbf_ft", |nm| nm / (LBF_N * 0.3048)),
    ("wheel_power_high_kw", "wheel_power_high_hp", |kw| kw / HP_KW),
];

/// A CSV document by column.
fn column(document: &str, name: &str) -> Vec<(f64, f64)> {
    let mut reader = csv::Reader::from_reader(document.as_bytes());
    let at = reader.headers().unwrap().iter().position(|h| h == name).unwrap_or_else(|| panic!("no {name}"));
    let half = |text: &str| 0.5 * 10f64.powi(-(text.split_once('.').map_or(0, |(_, d)| d.len() as i32)));
    reader
        .records()
        .map(|row| {
            let row = row.unwrap();
            (row[at].parse().unwrap(), half(&row[at]))
        })
        .collect()
}

fn output_in_both(bench: &Bench, tally: &mut Tally) {
    let Some(found) = bench.estimate() else { return };
    let document = |units| render(found, Format::Csv, units).unwrap();
    let (metric, us) = (document(Units::Metric), document(Units::Us));
    for (metric_name, us_name, convert) in COLUMNS {
        for ((a, half_a), (b, half_b)) in column(&metric, metric_name).into_iter().zip(column(&us, us_name)) {
            // A hair more than both roundings.
            let rounding = 1.001 * (half_b + (convert(a + half_a) - convert(a)).abs());
            tally.near(us_name, b, convert(a), rounding);
        }
    }
}

fn typed_in_both(bench: &Bench, tally: &mut Tally) {
    let (c, m) = (-15.0 + (60.0 * bench.any).round(), (300.0 * bench.any).round() * 10.0);
    let kpa = 80.0 + (20.0 * bench.any).round();
    let sparks = |arguments: &[&str]| -> Vec<f64> {
        let mut command = Command::cargo_bin("endgas").unwrap();
        command.env_remove("ENDGAS_FUELS").args(["spark", "--fuel", "premium-91", "--format", "json"]);
        let output = command.args(arguments).output().unwrap();
        assert!(output.status.code() != Some(2), "{}", String::from_utf8_lossy(&output.stderr));
        let document: Value = serde_json::from_slice(&output.stdout).unwrap();
        let cells = document["maps"][0]["rows"].as_array().unwrap().iter();
        cells
            .flat_map(|row| row["cells"].as_array().unwrap())
            .map(|cell| cell["best_torque_spark_deg_btdc"].as_f64().unwrap())
            .collect()
    };
    let typed = |number: f64, unit: &str| format!("{number:.12} {unit}");
    let (celsius, fahrenheit) = (typed(c, "C"), typed(1.8 * c + 32.0, "F"));
    let (kilopascal, mercury) = (typed(kpa, "kPa"), typed(kpa / 3.386_389, "inHg"));
    let (metres, feet) = (typed(m, "m"), typed(m / 0.3048, "ft"));
    for (metric, us) in [
        (
            ["--air-temp", &celsius, "--pressure", &kilopascal],
            ["--air-temp", &fahrenheit, "--pressure", &mercury],
        ),
        (["--air-temp", &celsius, "--altitude", &metres], ["--air-temp", &fahrenheit, "--altitude", &feet]),
    ] {
        let (metric, us) = (sparks(&metric), sparks(&us));
        tally.claim("cells", !metric.is_empty() && metric.len() == us.len(), (metric.len(), us.len()));
        for (a, b) in metric.iter().zip(&us) {
            tally.near("spark", *b, *a, 30.0);
        }
    }
}

fn corrections(bench: &Bench, tally: &mut Tally) {
    let day = bench.random.weather;
    for standard in CorrectionStandard::ALL {
        let reference = standard.reference();
        let dry = Weather::new(reference.temperature_k, reference.pressure_pa, 0.0).unwrap();
        tally.equal("at the reference", standard.factor(&dry).factor, 1.0);
        let factor =
            |t: f64, p: f64, humidity: f64| standard.factor(&Weather::new(t, p, humidity).unwrap()).factor;
        let now = factor(day.temperature_k, day.pressure_pa, day.relative_humidity);
        tally.less("thinner", now, factor(day.temperature_k, 0.98 * day.pressure_pa, day.relative_humidity));
        tally.less("hotter", now, factor(day.temperature_k + 3.0, day.pressure_pa, day.relative_humidity));
        let humid = factor(day.temperature_k, day.pressure_pa, 1.0);
        match reference.kind {
            PressureKind::Dry => tally.at_most("humid", now, humid),
            PressureKind::Total => tally.equal("humid", now, humid),
        }
    }
}
