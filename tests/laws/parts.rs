//! Laws of the parts that a cycle is made of: geometry, air, filling, burn angle, wall heat, friction, octane index.

use crate::bench::Bench;
use crate::law::{Law, Tally};
use endgas::cycle::BurnConditions;
use endgas::cycle::heat::HeatLaw;
use endgas::engine::{Breathing, BuildKind, FrictionLaw, HeatLawKind, Injection, Intake, PeakSpeeds};
use endgas::knock::sensitivity_weight;
use std::f64::consts::PI;

const ROUNDING: &str = "strict, or rounding alone";

const fn part(
    name: &'static str,
    reason: &'static str,
    when: &'static str,
    holds: fn(&Bench, &mut Tally),
) -> Law {
    Law { name, reason, tolerance: 1e-12, why_tolerance: ROUNDING, when, every: 1, holds }
}

pub const LAWS: [Law; 7] = [
    part(
        "volume at bottom over volume at top centre is the ratio; from a later closing it is less",
        "definition of the compression ratio",
        "a centred pin: an offset lengthens the stroke by less than 0.1 %",
        geometry,
    ),
    Law {
        name: "dry air and vapour make the pressure; humidity by mass is 18.015 / 28.965 of their ratio",
        reason: "Dalton's law; molar masses of water and dry air",
        tolerance: 2e-4,
        why_tolerance: "digits of the molar masses",
        when: "always",
        every: 1,
        holds: humidity,
    },
    part(
        "a band fills best at its speed and runs on past its power peak, a table as it says",
        "definitions of the two; dyno pulls go on past peak power",
        "inlets far from choking",
        breathing,
    ),
    part(
        "burn: longer in angle but shorter in time at speed; longer when diluted, cold or thin, shorter with ethanol",
        "turbulence grows with speed, but not as fast; the laminar flame speed does the rest",
        "a change of 5 %, dilution below 0.3",
        burn_angle,
    ),
    Law {
        name: "heat to the walls is coefficient times wall times temperature difference over time, both zones together",
        reason: "the zones share the whole wall, sqrt(x) of it burned",
        tolerance: 0.005,
        why_tolerance: "trapezoids over the steps of the cycle",
        when: "Hohenberg's law, which needs no motored pressure; relative to heat without regard to its sign",
        every: 2,
        holds: wall_heat,
    },
    part(
        "friction is above nothing, rises with speed, and by Chen-Flynn with peak pressure",
        "more rubbing, more load",
        "always",
        friction,
    ),
    part(
        "octane index is RON at K 0 and MON at K 1; direct injection gets more out of a sensitive fuel",
        "definition; K is below 0 where the end gas is cooler than in the RON test",
        "fuels whose RON is above their MON",
        octane_index,
    ),
];

fn geometry(bench: &Bench, tally: &mut Tally) {
    let mut g = bench.random.build.geometry;
    g.pin_offset_m = 0.0;
    let crank = g.slider_crank();
    let (bottom, top) = (crank.volume_m3(PI), crank.volume_m3(0.0));
    tally.equal("ratio", bottom / top, g.compression_ratio.get());
    tally.equal("swept", bottom - top, 0.25 * PI * g.bore_m * g.bore_m * g.stroke_m);
    let closes = bench.random.build.valves.inlet_closes_deg_abdc;
    let at = crank.volume_m3((180.0 + closes).to_radians());
    tally.equal("ratio from closing", g.ratio_from_inlet_closing(closes), at / top);
    tally.less("later closing", g.ratio_from_inlet_closing(closes + 2.0), g.ratio_from_inlet_closing(closes));
}

fn humidity(bench: &Bench, tally: &mut Tally) {
    let day = &bench.random.weather;
    tally.equal("pressures", day.dry_pressure_pa() + day.vapour_pressure_pa(), day.pressure_pa);
    let by_mass = 18.015 / 28.965 * day.vapour_pressure_pa() / (day.pressure_pa - day.vapour_pressure_pa());
    tally.equal("by mass", day.humidity_ratio(), by_mass);
}

fn breathing(bench: &Bench, tally: &mut Tally) {
    let torque_rpm = bench.random.speed_rpm;
    let intake = bench.random.build.intake(bench.random.weather.temperature_k);
    // Small Mach indices, where valves of any size let all through.
    let open = Intake { mach_index_per_rpm: 1e-7, ..intake };
    for kind in BuildKind::ALL {
        let power_rpm = torque_rpm / (0.4 + 0.58 * bench.any);
        let closes_deg_abdc = intake.inlet_closes_deg_abdc;
        let peaks = PeakSpeeds::Both { torque_rpm, power_rpm };
        let band = Breathing::Band { kind, peaks, closes_deg_abdc };
        let best_rpm = torque_rpm + 0.15 * (power_rpm - torque_rpm);
        let at = |rpm: f64| band.at(rpm, &open).likely;
        for rpm in [0.5, 0.8, 0.95].map(|share| share * best_rpm) {
            tally.less(&format!("{kind:?} below its best"), at(rpm), at(best_rpm));
        }
        for share in [0.5, 1.0, 1.5] {
            let rpm = best_rpm + share * (power_rpm - best_rpm);
            tally.less(&format!("{kind:?} above its best"), at(rpm), at(best_rpm));
        }
        let kept = at(power_rpm) / at(best_rpm);
        tally.at_most("real engines keep 0.88 to 1 at peak power", 0.88, kept);
        // However near the two peaks lie, engines run on past the second: at 1.2 times its speed.
        let beyond = at(1.2 * power_rpm) / at(power_rpm);
        tally.at_most("0.8 of filling is left beyond", 0.8, beyond);
    }
    if let Breathing::Table { speed_rpm, volumetric_efficiency, .. } = &bench.random.build.breathing {
        for (speed, efficiency) in speed_rpm.iter().zip(volumetric_efficiency) {
            tally.equal("table", bench.random.build.breathing.at(*speed, &intake).likely, *efficiency);
        }
    }
}

fn burn_angle(bench: &Bench, tally: &mut Tally) {
    let (trapped, random) = (bench.point().trapped, &bench.random);
    let now = BurnConditions {
        chamber: random.build.combustion.chamber,
        burn_speed: random.build.combustion.burn_speed,
        speed_rpm: random.speed_rpm,
        lambda: random.lambda,
        dilution_frac: trapped.residual_frac.min(0.27),
        charge_temperature_k: trapped.temperature_k,
        charge_density_kg_per_m3: trapped.density_kg_per_m3,
        ethanol_vol_frac: 0.9 * bench.any,
    };
    let angle = |c: BurnConditions| c.durations().main_deg;
    let faster = BurnConditions { speed_rpm: 1.05 * now.speed_rpm, ..now };
    tally.less("angle at speed", angle(now), angle(faster));
    tally.less("time at speed", angle(faster) / faster.speed_rpm, angle(now) / now.speed_rpm);
    for (what, slower) in [
        ("diluted", BurnConditions { dilution_frac: now.dilution_frac + 0.01, ..now }),
        ("cold", BurnConditions { charge_temperature_k: 0.95 * now.charge_temperature_k, ..now }),
        ("thin", BurnConditions { charge_density_kg_per_m3: 0.95 * now.charge_density_kg_per_m3, ..now }),
    ] {
        tally.less(what, angle(now), angle(slower));
    }
    let ethanol = BurnConditions { ethanol_vol_frac: now.ethanol_vol_frac + 0.05, ..now };
    tally.less("ethanol", angle(ethanol), angle(now));
}

fn wall_heat(bench: &Bench, tally: &mut Tally) {
    let other = bench.random.edit(|r| r.build.combustion.heat_law = HeatLawKind::Hohenberg);
    let build = &other.build;
    let (g, factor) = (&build.geometry, build.combustion.heat_factor);
    let crank = g.slider_crank();
    let law = HeatLaw::hohenberg(factor, g.mean_piston_speed_m_per_s(other.speed_rpm));
    let (heat, wanted, scale) = bench.with(&other, |point| {
        let trapped = point.trapped;
        let (mut last, mut sum, mut size) = (None, 0.0, 0.0);
        let closed = point.closed(&point.burn(bench.spark), |state| {
            let volume = crank.volume_m3(state.crank_angle_deg.to_radians());
            let x = state.burn_fraction;
            let burned = if x > 0.0 {
                let ln_pressure = state.pressure_pa.ln();
                bench.gas.burned.at(state.burned_temperature_k, ln_pressure).gas_constant.value
            } else {
                0.0
            };
            let gas = (1.0 - x) * trapped.charge.gas_constant_j_per_kg_k + x * burned;
            let mean_k = state.pressure_pa * volume / (trapped.mass_kg * gas);
            let wall = build.combustion.wall_temperature_k;
            let area = 0.5 * PI * g.bore_m * g.bore_m + 4.0 * volume / g.bore_m;
            let drive = (1.0 - x.sqrt()) * (state.unburned_temperature_k - wall)
                + x.sqrt() * (state.burned_temperature_k - wall);
            let watt = law.coefficient_w_per_m2_k(state.pressure_pa, mean_k, 0.0, volume) * area * drive;
            if let Some((time_s, before)) = last {
                let joule: f64 = 0.5 * (before + watt) * (state.time_s - time_s);
                sum += joule;
                size += joule.abs();
            }
            last = Some((state.time_s, watt));
        });
        (closed.heat_j, sum, size)
    });
    tally.near("heat", heat, wanted, scale);
}

fn friction(bench: &Bench, tally: &mut Tally) {
    let (peak, speed) = (bench.best.peak_pressure_bar, bench.random.speed_rpm);
    let piston = bench.random.build.geometry.mean_piston_speed_m_per_s(speed);
    for law in [FrictionLaw::ChenFlynn, FrictionLaw::SpeedQuadratic] {
        let now = law.fmep_bar(peak, piston, speed, 0.1);
        tally.less("above nothing", 0.0, now);
        tally.less("speed", now, law.fmep_bar(peak, 1.05 * piston, 1.05 * speed, 0.1));
        tally.at_most("peak pressure", now, law.fmep_bar(1.05 * peak, piston, speed, 0.1));
    }
    let chen_flynn = |peak: f64| FrictionLaw::ChenFlynn.fmep_bar(peak, piston, speed, 0.1);
    tally.less("peak pressure", chen_flynn(peak), chen_flynn(1.05 * peak));
}

fn octane_index(bench: &Bench, tally: &mut Tally) {
    let blend = &bench.gas.blend;
    if blend.gasoline_sensitivity <= 0.0 {
        return;
    }
    tally.equal("K 0", blend.octane_index(0.0), blend.octane.ron);
    if blend.ethanol_vol_frac == 0.0 {
        tally.equal("K 1", blend.octane_index(1.0), blend.octane.mon);
    }
    let by = |injection| blend.octane_index(sensitivity_weight(injection));
    tally.less("direct injection", by(Injection::Port), by(Injection::Direct));
}
