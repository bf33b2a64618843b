//! Builds of every kind on usual pipes. All are invented.

use crate::common::job;
use endgas::engine::{Build, BuildKind, Geometry, PeakSpeeds, Pipework};
use endgas::estimate::Job;
use endgas::estimate::breath::{breathe, breathe_traced};
use endgas::estimate::point::FuelInUse;
use endgas::pipes::{Airway, usual_cam};
use endgas::units::CompressionRatio;

/// A build of a kind on pipes that are usual of it.
struct OnPipes {
    job: Job,
    fuel: FuelInUse,
    pipework: Pipework,
    cam: endgas::engine::Cam,
}

impl OnPipes {
    fn new(kind: BuildKind, (cylinders, bore_m, stroke_m): (u32, f64, f64), power_rpm: f64) -> Self {
        let mut job = job::demo();
        let geometry = Geometry {
            cylinders,
            bore_m,
            stroke_m,
            rod_length_m: Geometry::usual_rod_length_m(stroke_m),
            pin_offset_m: 0.0,
            compression_ratio: CompressionRatio::new(10.0).unwrap(),
        };
        job.build = Build::of_kind(kind, geometry, PeakSpeeds::Power(power_rpm));
        let setting = job.setting();
        let fuel = FuelInUse::new(setting.reference.0.clone(), setting.reference.1, &job.weather).unwrap();
        let build = &job.build;
        let pipework = Pipework::usual(kind, build.injection, &build.geometry, &build.valves);
        let cam = usual_cam(&build.valves).unwrap();
        Self { fuel, pipework, cam, job }
    }

    fn airway(&self) -> Airway<'_> {
        (&self.pipework, &self.cam).into()
    }
}

/// The record of the last cycle is that of the breath: what it lets in and out adds up to the same, its steps are short, the cylinder's
/// pressure goes on through the closed cycle, and without it the breath is the same.
///
/// Tolerance: the record leaves out steps, 1 %.
#[test]
fn the_record_of_a_cycle_adds_up() {
    for (kind, rpm) in [(BuildKind::InjectedTwoValve, 2500.0), (BuildKind::SportFourValve, 6500.0)] {
        let on = OnPipes::new(kind, (4, 0.086, 0.086), 6000.0);
        let (breath, trace) = breathe_traced(on.job.setting(), &on.fuel, on.airway(), rpm).unwrap();
        assert_eq!(breath, breathe(on.job.setting(), &on.fuel, on.airway(), rpm).unwrap());
        let angles: Vec<f64> = trace.iter().map(|at| at.crank_angle_deg).collect();
        let steps: Vec<f64> = angles.windows(2).map(|pair| pair[1] - pair[0]).collect();
        assert!(trace.len() <= 361 && steps.iter().all(|step| (1.99..4.0).contains(step)), "{angles:?}");
        assert!(angles[angles.len() - 1] - angles[0] > 714.0);
        let sum = |of: fn(&endgas::pipes::AtValves) -> f64| -> f64 {
            trace.iter().zip(&steps).map(|(at, step)| of(at) * step / (6.0 * rpm)).sum()
        };
        let trapped = breath.breath.trapped;
        let came_in =
            trapped.mass_kg * (1.0 - trapped.burned_frac) / (1.0 - breath.breath.short_circuit_frac);
        for found in [sum(|at| at.inlet_kg_per_s), sum(|at| at.exhaust_kg_per_s)] {
            assert!((found / came_in - 1.0).abs() < 0.01, "{kind:?}: {found} {came_in}");
        }
        let pressures: Vec<f64> = trace.iter().map(|at| at.cylinder_pressure_pa.unwrap()).collect();
        let highest = (0..trace.len()).max_by(|a, b| pressures[*a].total_cmp(&pressures[*b])).unwrap();
        assert!((365.0..385.0).contains(&angles[highest]) && pressures[highest] > 4e6, "{}", angles[highest]);
    }
}
