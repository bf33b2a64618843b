//! A later inlet closing moves the powerband up and takes torque at low rpm, an earlier one the reverse.
//!
//! PUBLISHED, both read as far as their opening pages: "Dyno-tested camshaft theory" (Hot Rod magazine, 2006; year not
//! confirmed): the same engine with its cam advanced and retarded: advance improves torque at the bottom, retard costs it there and
//! gains slightly at higher rpm. "Variable valve timing system performance test" (Hot Rod magazine, 2010; year not confirmed):
//! a V8 of 600 hp with its cam phased back and forth: peak power swings by 18 hp, power after the peak by as much as 41 hp, which is
//! 3.0 and up to 6.8 %. How far the cam was phased is not in what was read.

use crate::common::bench::Trial;
use endgas::engine::{Breathing, BuildKind, PeakSpeeds};
use endgas::units::power_of_torque_kw;

/// Earliest to latest inlet closing tried [deg after bottom dead centre].
const CLOSINGS_DEG: [f64; 5] = [50.0, 55.0, 60.0, 65.0, 70.0];

/// An engine with a usual sport cam, closing at 60 deg, as its peaks are stated, run at another closing.
fn sport(closes_deg: f64, speed_rpm: f64) -> Trial {
    let peaks = PeakSpeeds::Both { torque_rpm: 5200.0, power_rpm: 7000.0 };
    let kind = BuildKind::SportFourValve;
    let mut trial = Trial::new(9.0, speed_rpm);
    trial.build.breathing = Breathing::Band { kind, peaks, closes_deg_abdc: 60.0 };
    trial.build.valves.inlet_closes_deg_abdc = closes_deg;
    trial
}

/// Brake torque at MBT timing [N m].
fn torque_nm(closes_deg: f64, speed_rpm: f64) -> f64 {
    let trial = sport(closes_deg, speed_rpm);
    trial.build.geometry.torque_nm(trial.best().bmep_bar())
}

/// Speed of the greatest of a curve at even steps, by the parabola through the greatest and its neighbours [rpm].
fn top_rpm(speeds_rpm: &[f64], values: &[f64]) -> f64 {
    let top = (1..values.len() - 1).max_by(|a, b| values[*a].total_cmp(&values[*b])).unwrap();
    let (before, at, after) = (values[top - 1], values[top], values[top + 1]);
    speeds_rpm[top] + 0.5 * (speeds_rpm[1] - speeds_rpm[0]) * (before - after) / (before - 2.0 * at + after)
}

#[test]
fn torque_and_power_peak_move_up_with_the_closing() {
    let speeds_rpm: Vec<f64> = (0..13).map(|i| 3600.0 + 400.0 * f64::from(i)).collect();
    let peaks: Vec<(f64, f64)> = [50.0, 60.0, 70.0]
        .iter()
        .map(|closes_deg| {
            let torque: Vec<f64> = speeds_rpm.iter().map(|rpm| torque_nm(*closes_deg, *rpm)).collect();
            let power: Vec<f64> =
                speeds_rpm.iter().zip(&torque).map(|(rpm, nm)| power_of_torque_kw(*nm, *rpm)).collect();
            (top_rpm(&speeds_rpm, &torque), top_rpm(&speeds_rpm, &power))
        })
        .collect();
    assert!(peaks.windows(2).all(|w| w[1].0 > w[0].0 && w[1].1 > w[0].1), "{peaks:?}");
    // Builders reckon with 20 to 80 rpm of torque peak for each degree (common practice, no source).
    let per_deg = (peaks[2].0 - peaks[0].0) / 20.0;
    println!("torque peak, power peak: {peaks:?}; {per_deg:.0} rpm a degree");
    assert!((20.0..80.0).contains(&per_deg), "{per_deg}");
}

/// PUBLISHED: signs at the bottom and the top, slightly at the top, and a swing after the peak larger than that at it.
#[test]
fn the_curve_turns_as_published() {
    let change = |closes_deg: f64, rpm: f64| torque_nm(closes_deg, rpm) / torque_nm(60.0, rpm) - 1.0;
    for (rpm, later_is_more) in
        [(2000.0, false), (3000.0, false), (4000.0, false), (7000.0, true), (8000.0, true)]
    {
        let all = CLOSINGS_DEG.map(|closes_deg| change(closes_deg, rpm));
        println!("{rpm}: {all:.4?}");
        assert!(all.windows(2).all(|w| (w[1] > w[0]) == later_is_more), "{rpm}: {all:?}");
    }
    let (gained, lost) = (change(70.0, 7000.0), -change(70.0, 2500.0));
    assert!(gained > 0.0 && gained < 0.6 * lost, "the top gains slightly: {gained} {lost}");
    let swing = |rpm: f64| change(70.0, rpm) - change(50.0, rpm);
    println!("swing at peak power {:.3}, after it {:.3}", swing(7000.0), swing(8400.0));
    assert!(swing(8400.0) > 1.3 * swing(7000.0), "{} {}", swing(7000.0), swing(8400.0));
}

/// What is not drawn in is not burned: trapped air, heat and pressure go down together where later closing fills less.
#[test]
fn less_air_makes_less_of_everything() {
    let at =
        |closes_deg: f64| sport(closes_deg, 2500.0).with(|p| (p.air_flow_kg_per_s(), p.fuel_flow_kg_per_s()));
    let all = CLOSINGS_DEG.map(at);
    assert!(all.windows(2).all(|w| w[1].0 < w[0].0 && w[1].1 < w[0].1), "{all:?}");
    let need = CLOSINGS_DEG.map(|closes_deg| sport(closes_deg, 2500.0).best_requirement());
    assert!(need.windows(2).all(|w| w[1] < w[0]), "octane at MBT: {need:?}");
}

/// The rows and the shipped scenarios with a usual cam keep their volumetric efficiency: the law is neutral there.
#[test]
fn a_usual_cam_as_stated_changes_nothing() {
    for name in ["circuit-2400", "street-2000", "air-twin-1100"] {
        let trial = Trial::of_scenario(name);
        let Breathing::Band { kind, closes_deg_abdc, .. } = trial.build.breathing else { panic!("{name}") };
        let usual_deg = kind.figures(trial.build.injection).usual_inlet_closes_deg_abdc;
        assert!((closes_deg_abdc - usual_deg).abs() <= 5.0, "{name}: {closes_deg_abdc} {usual_deg}");
        let mut usual = trial.clone();
        usual.build.valves.inlet_closes_deg_abdc = usual_deg;
        usual.build.breathing = match usual.build.breathing {
            Breathing::Band { kind, peaks, .. } => {
                Breathing::Band { kind, peaks, closes_deg_abdc: usual_deg }
            }
            other => other,
        };
        for rpm in [1500.0, 3000.0, 6000.0] {
            let ve = |t: &Trial| t.build.breathing.at(rpm, &t.build.intake(298.15)).likely;
            assert!((ve(&usual) / ve(&trial) - 1.0).abs() < 1e-12, "{name} {rpm}");
        }
    }
}
