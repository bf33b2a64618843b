//! The charts of the invented estimate hold what they should and stay inside their frame.

use super::*;
use crate::report::fixture;
use crate::report::plots;

fn drawn(units: Units) -> Vec<(String, String)> {
    plots(&fixture::estimate(), units).unwrap()
}

/// Text elements of an SVG: x, y and words.
fn texts(svg: &str) -> Vec<(f64, f64, String)> {
    let number = |head: &str, key: &str| -> f64 {
        head.split(&format!(" {key}=\"")).nth(1).and_then(|t| t.split('"').next()).unwrap().parse().unwrap()
    };
    svg.split("<text")
        .skip(1)
        .map(|part| {
            let (head, rest) = part.split_once('>').unwrap();
            let words = rest.split("</text>").next().unwrap().trim().to_owned();
            (number(head, "x"), number(head, "y"), words)
        })
        .collect()
}

#[test]
fn four_files_in_their_order() {
    let names: Vec<String> = drawn(Units::Metric).into_iter().map(|p| p.0).collect();
    assert_eq!(names, ["torque-power.svg", "spark.svg", "knock-margin.svg", "cylinder-pressure.svg"]);
}

#[test]
fn each_chart_names_scenario_estimate_fuels_and_axes() {
    for (units, torque, pressure) in [(Units::Metric, "N m", "bar"), (Units::Us, "lb-ft", "psi")] {
        let charts = drawn(units);
        for (name, svg) in &charts {
            let words: Vec<String> = texts(svg).into_iter().map(|t| t.2).collect();
            assert!(words[0].starts_with("invented 2.5 litre four: estimate of"), "{name}");
            for fuel in ["pump-a", "pump-b"] {
                assert!(words.iter().any(|w| w.starts_with(fuel)), "{name} {fuel}");
            }
        }
        assert!(charts[0].1.contains(&format!("flywheel torque, {torque}")));
        assert!(charts[2].1.contains("autoignition limit"));
        assert!(charts[3].1.contains(&format!("cylinder pressure, {pressure} absolute")));
        assert!(charts[3].1.contains("timing 28 deg BTDC"));
    }
}

#[test]
fn words_stand_inside_the_frame_and_never_on_the_same_spot() {
    for (name, svg) in drawn(Units::Us) {
        // Shown at 900 by 600; positions count in eighths of a pixel.
        assert!(svg.starts_with("<svg width=\"900\" height=\"600\" viewBox=\"0 0 7200 4800\""), "{name}");
        let texts = texts(&svg);
        for (i, (x, y, words)) in texts.iter().enumerate() {
            assert!((0.0..=7200.0).contains(x) && (0.0..=4800.0).contains(y), "{name} {words}");
            for (x2, y2, other) in &texts[..i] {
                assert!((x - x2).abs() > 64.0 || (y - y2).abs() > 64.0, "{name}: {words} on {other}");
            }
        }
    }
}

#[test]
fn names_are_escaped_and_cut() {
    let mut estimate = fixture::estimate();
    estimate.scenario = "a <b> & c ".repeat(20);
    for (_, svg) in plots(&estimate, Units::Metric).unwrap() {
        assert!(svg.contains("a &lt;b&gt; &amp; c"));
        assert!(!svg.contains("<b>"));
        assert!(texts(&svg)[0].2.len() < 200);
    }
}

#[test]
fn a_fuel_without_trace_and_numbers_that_are_not_finite_are_refused() {
    let mut estimate = fixture::estimate();
    estimate.fuels[1].trace.clear();
    assert!(matches!(
        plots(&estimate, Units::Metric),
        Err(ReportError::Empty { what: "pressure trace", .. })
    ));
    let mut estimate = fixture::estimate();
    estimate.fuels[0].trace[3].pressure_bar = f64::NAN;
    let error = plots(&estimate, Units::Metric).unwrap_err().to_string();
    assert!(error.contains("fuels[0].trace[3].pressure_bar"), "{error}");
}

#[test]
fn one_speed_and_no_allowed_spark_still_draw() {
    let mut estimate = fixture::estimate();
    for fuel in &mut estimate.fuels {
        fuel.curve.truncate(1);
        fuel.curve[0].knock_limited_spark_deg_btdc = None;
        fuel.curve[0].cautious_spark_deg_btdc = None;
        fuel.curve[0].start_crank_torque_nm = None;
        fuel.curve[0].start_wheel_power_kw = None;
        fuel.curve[0].start_octane_margin_band = None;
        fuel.start_peak_power = None;
    }
    for (name, svg) in plots(&estimate, Units::Metric).unwrap() {
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{name}");
    }
}

/// Five fuels of long names, so that the legend needs several rows.
fn five_fuels() -> Estimate {
    let mut estimate = fixture::estimate();
    for i in 2..5 {
        let mut fuel = estimate.fuels[i % 2].clone();
        fuel.name = format!("0.{i}0 pump-a + 0.{}0 pump-b, a mixture in the tank", 10 - i);
        for point in &mut fuel.curve {
            point.crank_torque_nm.likely += 3.0 * i as f64;
            point.knock_margin_index -= 0.01 * i as f64;
            point.spark_deg_btdc -= i as f64;
            point.cautious_spark_deg_btdc = point.cautious_spark_deg_btdc.map(|spark| spark - i as f64);
        }
        estimate.fuels.push(fuel);
    }
    estimate
}

#[test]
fn the_legend_of_many_fuels_stays_inside_the_frame() {
    for (name, svg) in plots(&five_fuels(), Units::Metric).unwrap() {
        for (x, y, words) in texts(&svg) {
            // Generous width of a letter, in eighths of a pixel.
            let is_legend = words.contains("pump-") && y > 300.0;
            assert!(!is_legend || x + 61.0 * words.len() as f64 <= 7200.0, "{name}: {words} at {x}");
            assert!(y <= 4800.0, "{name}: {words}");
        }
    }
}

/// Writes the charts for a person to look at: `ENDGAS_PLOTS=folder cargo test look_at -- --ignored`.
#[test]
#[ignore = "writes files for a person to look at"]
fn look_at_the_charts() {
    let folder = std::env::var("ENDGAS_PLOTS").unwrap();
    let cases = [
        ("metric", fixture::estimate(), Units::Metric),
        ("us", fixture::estimate(), Units::Us),
        ("five", five_fuels(), Units::Metric),
    ];
    for (prefix, estimate, units) in cases {
        let drawn = plots(&estimate, units).unwrap();
        let files: Vec<_> = drawn.into_iter().map(|(name, svg)| (format!("{prefix}-{name}"), svg)).collect();
        crate::report::write_all(std::path::Path::new(&folder), &files).unwrap();
    }
}
