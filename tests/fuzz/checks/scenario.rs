//! Scenario files.

use super::volumes::{is_sheet, sheet_job};
use super::{LABEL, LABEL_SHOWN, LIBRARY, answers, keep_one_speed, one_in, one_speed, said, shown, within};
use endgas::dyno::Written;
use endgas::engine::volumes::{OctaneSlope, VolumesSheet, Wanted};
use endgas::estimate::likely_curve::likely_curve;
use endgas::estimate::{Job, estimate};
use endgas::live::{Base, Setting};
use endgas::report::{Format, Units, plots, render};
use endgas::scenario::{Diagnostics, ProblemKind, Scenario, fitted_text, read, typed};

/// A scenario file.
pub fn scenario(bytes: &[u8]) {
    // Bytes that are no text are refused before a scenario is read.
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match read(LABEL, text) {
        Err(problems) => are_told(&problems, text),
        Ok(scenario) => {
            shown(&scenario.name);
            shown(&scenario.note);
            runs(&scenario, text, bytes);
            is_measured(&scenario);
            is_edited(&scenario, text);
        }
    }
}

/// What is wrong with a text names file, line and key.
pub(super) fn are_told(problems: &Diagnostics, text: &str) {
    said(&problems.to_string());
    assert!(!problems.0.is_empty());
    let lines = 1 + text.bytes().filter(|b| *b == b'\n').count();
    for problem in &problems.0 {
        let told = problem.to_string();
        assert!(told.starts_with(LABEL_SHOWN), "{told}");
        assert!((1..=lines).contains(&problem.line) && problem.column >= 1, "{told}");
        let is_syntax = matches!(problem.kind, ProblemKind::Syntax { .. });
        assert_eq!(problem.key.is_empty(), is_syntax, "{told}");
    }
}

/// A scenario that was read makes an estimate at one speed, or says why not.
fn runs(scenario: &Scenario, text: &str, bytes: &[u8]) {
    let mut job = match scenario.job(&LIBRARY, 50, 1) {
        Ok(job) => job,
        Err(error) => return said(&error.to_string()),
    };
    keep_one_speed(&mut job.speeds_rpm);
    job.fuels.truncate(1);
    let fuel = match job.fuels[0].in_use(&job.weather) {
        Ok(fuel) => fuel,
        Err(error) => return said(&error.to_string()),
    };
    match likely_curve(&job, (&job.fuels[0].fuel.name, &fuel)) {
        Err(error) => said(&error.to_string()),
        Ok(curve) => {
            let frac = -1e-9..=1.0;
            within("lambda", fuel.lambda, 0.5..=1.6);
            within("ethanol", fuel.blend.ethanol_vol_frac, 0.0..=1.0);
            within("power given up", curve.peak_power_lost_frac(), frac.clone());
            for p in &curve.points {
                within("volumetric efficiency", p.point.trapped.volumetric_efficiency, 1e-3..=3.0);
                within("torque given up", p.torque_lost_frac(), frac.clone());
                within("crank torque", p.crank_torque_nm(), 0.0..=1e5);
                within("octane margin", p.octane_margin(&p.used), -1e3..=1e3);
                let crank_kw = p.crank_torque_nm() * p.speed_rpm() * std::f64::consts::PI / 30e3;
                within("wheel power", curve.wheel_power_kw(p), -1e-9..=crank_kw);
                let (late, early) = (job.spark_range.latest_deg_btdc, job.spark_range.earliest_deg_btdc);
                within("spark", p.used.spark_deg_btdc - late, 0.0..=early - late);
                within("best spark", p.mbt.spark_deg_btdc - late, 0.0..=early - late);
            }
        }
    }
    if let Ok(base) = one_speed(scenario, text) {
        answers(base.likely(&Setting::default()).map_err(|refusal| refusal.to_string()));
    }
    if one_in(32, bytes) {
        is_estimated(&job);
    }
}

/// A whole estimate with every number finite in its three forms.
fn is_estimated(job: &Job) {
    match estimate(job) {
        Err(error) => said(&error.to_string()),
        Ok(found) => {
            for format in [Format::Text, Format::Json, Format::Csv] {
                shown(&render(&found, format, Units::Us).unwrap());
            }
            plots(&found, Units::Metric).unwrap().iter().for_each(|(_, svg)| shown(svg));
        }
    }
}

/// The sheet of measured volumes.
fn is_measured(scenario: &Scenario) {
    let octane = OctaneSlope { per_ratio: 4.0, speed_rpm: 4000.0, fuel: "premium-91".to_owned() };
    let wanted = typed::ratio("12").ok().map(|ratio| Wanted { ratio, octane_per_ratio: octane.per_ratio });
    is_sheet(&VolumesSheet::new(&sheet_job(scenario, &octane, wanted)));
}

/// The text of a scenario takes fitted values and saved settings.
fn is_edited(scenario: &Scenario, text: &str) {
    let written = Written {
        speed_rpm: vec![3000.0, 6000.5],
        volumetric_efficiency: vec![0.9, 1.01],
        spread_percent: 3.0,
        follows_speed_rpm: Vec::new(),
        follows: Vec::new(),
        measured_loss_percent: Some(15.0),
        measured_loss_spread_percent: Some(10.0),
        burn_speed: 1.1,
        // What a fit writes is held to the range of the key.
        mean_flow_coefficient: Some(scenario.build.valves.mean_flow_coefficient.clamp(0.2, 0.6)),
        pipes: None,
    };
    let new = fitted_text(text, &written, LABEL).unwrap();
    assert_eq!(read("new", &new).unwrap().build.breathing, written.build(&scenario.build).breathing);
    let Ok(base) = Base::new(scenario.clone(), text, LIBRARY.clone()) else { return };
    match base.scenario_text(&Setting::read("compression_ratio=11&ve_band_position=0.1&lambda=0.9").unwrap())
    {
        Ok(saved) => assert_eq!(read("saved", &saved).unwrap().build.geometry.compression_ratio.get(), 11.0),
        Err(refusal) => said(&refusal.to_string()),
    }
}
