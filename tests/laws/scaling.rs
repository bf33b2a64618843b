//! Laws of size: more cylinders, and engines that are alike but for their scale.

use crate::bench::{Bench, best_of};
use crate::law::{Law, Tally};
use crate::random_build::RandomBuild;
use endgas::cycle::heat::HeatLaw;
use endgas::cycle::{ClosedCycle, ClosedResult};
use endgas::engine::{Breathing, FrictionLaw, HeatLawKind};
use endgas::estimate::point::Point;

pub const LAWS: [Law; 3] = [
    Law {
        name: "more cylinders alike: torque, air and fuel in proportion, nothing else changed",
        reason: "each cylinder is an engine of its own",
        tolerance: 1e-12,
        why_tolerance: "rounding alone",
        when: "always",
        every: 1,
        holds: more_cylinders,
    },
    Law {
        name: "closed cycles alike but for scale, at one mean piston speed and without heat, do work in proportion to volume",
        reason: "no length and no time enters but through the walls",
        tolerance: 1e-9,
        why_tolerance: "rounding over some hundred steps",
        when: "always; with heat the larger keeps more of it: Woschni's coefficient falls as bore^-0.2, Hohenberg's as volume^-0.06",
        every: 2,
        holds: closed_cycles_scale,
    },
    Law {
        name: "engines alike but for scale, at one mean piston speed, have one mean effective pressure up to heat and burn",
        reason: "same Mach index, pumping and friction; wall heating of the charge goes as rpm^-0.2",
        tolerance: 0.05,
        why_tolerance: "half the size: the fresh charge is some 4 K colder at twice the rpm; no wall heat, burn angle held",
        when: "friction by piston speed; band and table stretched with the speed",
        every: 2,
        holds: engines_scale,
    },
];

fn more_cylinders(bench: &Bench, tally: &mut Tally) {
    let geometry = &bench.random.build.geometry;
    let other = bench.random.edit(|r| r.build.geometry.cylinders = 2 * geometry.cylinders);
    let torque = |r: &RandomBuild, bmep: f64| r.build.geometry.torque_nm(bmep);
    let point = bench.point();
    let (at, air, fuel) = bench.with(&other, |p| (best_of(p), p.air_flow_kg_per_s(), p.fuel_flow_kg_per_s()));
    tally.claim("figures of a cylinder", at == bench.best, (at, bench.best));
    tally.equal("torque", torque(&other, at.bmep_bar()), 2.0 * torque(&bench.random, at.bmep_bar()));
    tally.equal("air", air, 2.0 * point.air_flow_kg_per_s());
    tally.equal("fuel", fuel, 2.0 * point.fuel_flow_kg_per_s());
}

/// The build at another scale, at the same mean piston speed.
fn scaled(random: &RandomBuild, scale: f64) -> RandomBuild {
    random.edit(|r| {
        let g = &mut r.build.geometry;
        for length in [&mut g.bore_m, &mut g.stroke_m, &mut g.rod_length_m, &mut g.pin_offset_m] {
            *length *= scale;
        }
        r.build.valves.inlet_diameter_m *= scale;
        r.build.valves.exhaust_diameter_m *= scale;
        r.speed_rpm /= scale;
        match &mut r.build.breathing {
            Breathing::Table { speed_rpm, .. } => speed_rpm.iter_mut().for_each(|s| *s /= scale),
            Breathing::Band { peaks, .. } => *peaks = peaks.scaled(1.0 / scale),
            Breathing::PortFlow(_) => {}
            Breathing::Computed(_) => unreachable!("no random build is on pipes"),
        }
    })
}

const SCALE: f64 = 0.5;

/// The closed cycle of the bench's charge in a cylinder at a scale.
fn closed(bench: &Bench, scale: f64, heat: impl Fn(&RandomBuild, f64) -> HeatLaw) -> (ClosedResult, f64) {
    let (random, point) = (scaled(&bench.random, scale), bench.point());
    let mass_kg = point.trapped.mass_kg * scale.powi(3);
    let cycle = ClosedCycle {
        crank: random.build.geometry.slider_crank(),
        bore_m: random.build.geometry.bore_m,
        inlet_closes_deg: random.build.valves.inlet_closes_deg_abdc - 180.0,
        exhaust_opens_deg: 180.0 - random.build.valves.exhaust_opens_deg_bbdc,
        speed_rpm: random.speed_rpm,
        charge: point.trapped.charge,
        burned: &bench.gas.burned,
        mass_kg,
        temperature_k: point.trapped.temperature_k,
        heat: heat(&random, mass_kg * point.trapped.charge.gas_constant_j_per_kg_k),
        wall_temperature_k: random.build.combustion.wall_temperature_k,
        step_scale: 1.0,
    };
    (cycle.run(&point.burn(bench.spark), |_| {}), mass_kg)
}

fn woschni(random: &RandomBuild, factor: f64, charge_j_per_k: f64) -> HeatLaw {
    let g = &random.build.geometry;
    let speed = g.mean_piston_speed_m_per_s(random.speed_rpm);
    HeatLaw::woschni(factor, g.bore_m, speed, g.swept_volume_m3(), charge_j_per_k)
}

fn hohenberg(random: &RandomBuild, factor: f64) -> HeatLaw {
    HeatLaw::hohenberg(factor, random.build.geometry.mean_piston_speed_m_per_s(random.speed_rpm))
}

fn closed_cycles_scale(bench: &Bench, tally: &mut Tally) {
    let run = |scale: f64| closed(bench, scale, |random, charge| woschni(random, 0.0, charge));
    let ((large, large_kg), (small, small_kg)) = (run(1.0), run(SCALE));
    tally.equal("work", small.work_j / small_kg, large.work_j / large_kg);
    tally.equal("pressure", small.peak_pressure_pa, large.peak_pressure_pa);
    tally.equal("end temperature", small.end_temperature_k, large.end_temperature_k);
    let heat = |scale: f64| {
        let (closed, kg) = match bench.random.build.combustion.heat_law {
            HeatLawKind::Woschni => closed(bench, scale, |random, charge| woschni(random, 1.0, charge)),
            HeatLawKind::Hohenberg => closed(bench, scale, |random, _| hohenberg(random, 1.0)),
        };
        closed.heat_j / kg
    };
    tally.less("heat of the larger", heat(1.0), heat(SCALE));
}

fn engines_scale(bench: &Bench, tally: &mut Tally) {
    let run = |scale: f64| {
        let other = scaled(&bench.random, scale).edit(|r| {
            r.build.combustion.heat_factor = 0.0;
            r.build.friction = FrictionLaw::ChenFlynn;
            // Burn angle goes as rpm^0.25.
            r.build.combustion.burn_speed *= scale.powf(-0.25);
        });
        bench.with(&other, |point: &Point<'_>| (best_of(point), point.exchange))
    };
    let ((large, flow), (small, small_flow)) = (run(1.0), run(SCALE));
    let exactly = |tally: &mut Tally, what: &str, a: f64, b: f64| {
        tally.near(what, a, b, b * 1e9);
        tally.claim(what, ((a - b) / b).abs() < 1e-9, (a, b));
    };
    exactly(tally, "Mach index", small_flow.mach_index, flow.mach_index);
    exactly(tally, "pumping", small_flow.pmep_pa(), flow.pmep_pa());
    tally.equal("mean effective pressure", small.imep_gross_bar, large.imep_gross_bar);
}
