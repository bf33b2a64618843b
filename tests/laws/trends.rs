//! Laws of order: which way torque, efficiency and octane requirement go when one thing changes.

use crate::bench::{Bench, best_of, requirement};
use crate::law::{Law, Tally};
use crate::random_build::{RandomBuild, SPARK_RANGE};
use endgas::air::saturation_pressure_pa;
use endgas::engine::Injection;
use endgas::estimate::point::{AtSpark, FuelInUse, Point, Shifts};
use endgas::estimate::spark::knock_limited_spark;
use endgas::fuel::pump::ContentRange;

/// What is allowed where runs at two searched sparks, or two peaks of pressure, are compared; all else is strict.
const SEARCHED: f64 = 5e-4;
const WHY_SEARCHED: &str = "strict but where best-torque sparks are compared, which are searched to 0.05 deg at some 1 octane \
     number per deg, and peaks, which are parabolas through states up to 3 deg apart";
/// Mean inlet Mach index up to which warmer air needs more octane.
const MOST_MACH_INDEX: f64 = 0.60;
/// Octane numbers by which the requirement at best torque may fall in warmer air.
const TAKEN_BACK: f64 = 0.1;
/// Valve overlap beyond which a throttled engine draws back so much hot exhaust that its end gas is the hotter for it.
const MOST_OVERLAP_DEG: f64 = 30.0;
/// Ethanol up to which throttling is sure to lower the octane needed: its delay follows the hotter residual gas more than the pressure.
const MOST_ETHANOL_THROTTLED: f64 = 0.35;

const fn trend(
    name: &'static str,
    reason: &'static str,
    when: &'static str,
    every: u64,
    holds: fn(&Bench, &mut Tally),
) -> Law {
    Law { name, reason, tolerance: SEARCHED, why_tolerance: WHY_SEARCHED, when, every, holds }
}

pub const LAWS: [Law; 14] = [
    trend(
        "more compression: higher efficiency and peak pressure, more octane needed at best torque",
        "longer expansion; denser and hotter end gas",
        "always",
        1,
        more_compression,
    ),
    trend(
        "more advance: earlier CA50, higher peak pressure, more octane needed",
        "the burn comes nearer to top centre",
        "spark at best torque or later; peak pressure where the burn makes it, 5 deg or more after top centre",
        1,
        more_advance,
    ),
    trend(
        "either side of best-torque spark torque is lower",
        "it is a maximum",
        "sparks inside the range that is searched",
        1,
        best_torque_is_flat,
    ),
    trend(
        "warmer intake air of the same humidity by mass: less air, less torque, more octane needed at best torque",
        "thinner air; hotter end gas",
        "octane: mean inlet Mach index up to 0.6; beyond, warmer air (a faster sound) is choked and rammed the less",
        1,
        warmer_air,
    ),
    trend(
        "thinner air of the same humidity by mass: less air, less torque, less octane needed at best torque",
        "less charge, lower pressure",
        "always",
        1,
        thinner_air,
    ),
    trend(
        "humid air: less air, less torque, less octane needed at best torque",
        "vapour takes the place of air, slows the burn and cools the end gas",
        "always",
        2,
        humid_air,
    ),
    trend(
        "more octane alone: as much more margin, torque at best-torque spark the same to the last digit, no less spark",
        "octane is no energy",
        "always",
        1,
        more_octane,
    ),
    trend(
        "more ethanol: lower stoichiometric ratio, more fuel flow, more margin at best torque",
        "oxygen in the fuel; octane and cooling",
        "fuels with something besides ethanol, content up to 90 %",
        2,
        more_ethanol,
    ),
    trend(
        "better filling: more torque, more octane needed, smaller residual share",
        "more charge in the same cylinder with the same residual gas",
        "always",
        1,
        better_filling,
    ),
    trend(
        "throttled: less torque, less octane needed, larger residual share",
        "less charge in the same cylinder with the same residual gas",
        "overlap up to 30 deg and ethanol up to 35 %: beyond, hot exhaust drawn back heats the end gas; with more ethanol 2 octane numbers more are allowed",
        1,
        throttled,
    ),
    trend(
        "quicker burn: shorter, earlier, more peak pressure at the same spark",
        "it is the same burn in less time",
        "spark at best torque or later",
        1,
        quicker_burn,
    ),
    trend(
        "richer mixture: more fuel for the same air, less efficiency",
        "fuel is air over lambda times the stoichiometric ratio; oxygen falls short",
        "lambda below 0.98",
        2,
        richer,
    ),
    trend(
        "direct injection: colder charge than by port injection",
        "more of the heat of vaporisation is taken from the charge",
        "always",
        1,
        direct_injection,
    ),
    trend(
        "speed and small valves cost pumping work; overlap and back pressure leave residual gas",
        "velocity heads; backflow while both valves are open",
        "always",
        1,
        gas_exchange,
    ),
];

/// Gross indicated efficiency at a run [-].
fn efficiency(point: &Point<'_>, at: &AtSpark) -> f64 {
    at.imep_gross_bar * 1e5 * point.setting().build.geometry.swept_volume_m3() / point.fuel_energy_j()
}

fn more_compression(bench: &Bench, tally: &mut Tally) {
    let other = bench.random.with_ratio_step(0.5);
    let (at, gross) = bench.with(&other, |point| {
        let at = best_of(point);
        (at, efficiency(point, &at))
    });
    tally.less("octane", requirement(&bench.best), requirement(&at));
    tally.less("peak pressure", bench.best.peak_pressure_bar, at.peak_pressure_bar);
    tally.less("efficiency", efficiency(&bench.point(), &bench.best), gross);
}

/// Angle of peak pressure from which it is that of the burn and not of the compression [deg after top dead centre].
const LEAST_PEAK_DEG: f64 = 5.0;
/// Advance over which peak pressure is compared [deg].
const PEAK_STEP_DEG: f64 = 3.0;

fn more_advance(bench: &Bench, tally: &mut Tally) {
    let spark = bench.spark.min(bench.best.spark_deg_btdc);
    let [late, early] = [spark - 0.5, spark].map(|s| bench.point().at_spark(s));
    tally.less("CA50", early.ca50_deg_atdc, late.ca50_deg_atdc);
    tally.less("octane", requirement(&late), requirement(&early));
    // A peak about top centre is that of the compression, which spark does not move; over less than some degrees what a flat
    // peak gains is no more than the steps of the cycle tell.
    let later = bench.point().at_spark(spark - PEAK_STEP_DEG);
    if later.peak_pressure_deg_atdc > LEAST_PEAK_DEG {
        tally.less("peak pressure", later.peak_pressure_bar, early.peak_pressure_bar);
    }
}

fn best_torque_is_flat(bench: &Bench, tally: &mut Tally) {
    let point = bench.point();
    for off in [-8.0, -3.0, -1.0, 1.0, 3.0, 8.0] {
        let spark = bench.best.spark_deg_btdc + off;
        if spark > SPARK_RANGE.earliest_deg_btdc {
            continue;
        }
        let beside = point.at_spark(spark);
        tally.less(&format!("{off} deg off"), beside.bmep_bar(), bench.best.bmep_bar());
    }
}

/// A run at best-torque spark, one at the spark that is best for the bench, and the air flow.
fn both_sparks(bench: &Bench, other: &RandomBuild) -> (AtSpark, AtSpark, f64) {
    bench.with(other, |point| {
        (best_of(point), point.at_spark(bench.best.spark_deg_btdc), point.air_flow_kg_per_s())
    })
}

fn warmer_air(bench: &Bench, tally: &mut Tally) {
    let day = bench.random.weather;
    let warmer = day.temperature_k + 6.0;
    let relative = day.vapour_pressure_pa() / saturation_pressure_pa(warmer);
    let other = bench.random.with_air(warmer, day.pressure_pa, relative);
    let (at, held, air) = both_sparks(bench, &other);
    tally.less("air", air, bench.point().air_flow_kg_per_s());
    tally.less("torque", at.bmep_bar(), bench.best.bmep_bar());
    if bench.point().exchange.mach_index < MOST_MACH_INDEX {
        // The burn of warmer gas is quicker and its best-torque spark later: that can take back what 6 K are worth.
        tally.at_most("octane at best torque", requirement(&bench.best) - TAKEN_BACK, requirement(&at));
        tally.less("octane at one spark", requirement(&bench.best), requirement(&held));
    }
}

fn thinner_air(bench: &Bench, tally: &mut Tally) {
    let day = bench.random.weather;
    let thinner = 0.96;
    // Vapour and air in the same proportion.
    let other =
        bench.random.with_air(day.temperature_k, thinner * day.pressure_pa, thinner * day.relative_humidity);
    let (at, held, air) = both_sparks(bench, &other);
    tally.less("air", air, bench.point().air_flow_kg_per_s());
    tally.less("torque", at.bmep_bar(), bench.best.bmep_bar());
    tally.at_most("octane at best torque", requirement(&at), requirement(&bench.best));
    tally.less("octane at one spark", requirement(&held), requirement(&bench.best));
}

fn humid_air(bench: &Bench, tally: &mut Tally) {
    let day = bench.random.weather;
    let run = |humidity: f64| {
        both_sparks(bench, &bench.random.with_air(day.temperature_k, day.pressure_pa, humidity))
    };
    let (dry, humid) = (run(0.1), run(0.9));
    tally.less("air", humid.2, dry.2);
    tally.less("torque", humid.0.bmep_bar(), dry.0.bmep_bar());
    tally.at_most("octane at best torque", requirement(&humid.0), requirement(&dry.0));
    tally.less("octane at one spark", requirement(&humid.1), requirement(&dry.1));
}

fn more_octane(bench: &Bench, tally: &mut Tally) {
    let mut blend = bench.gas.blend.clone();
    blend.octane.ron += 4.0;
    blend.octane.mon += 4.0;
    let gas = FuelInUse { blend, ..bench.gas.clone() };
    let point = bench.point();
    let other = Point::new(point.setting(), &gas, point.speed_rpm(), Shifts::NONE);
    tally.claim("torque at best torque", best_of(&other) == bench.best, (best_of(&other), bench.best));
    let index = bench.octane_index();
    let limit = |point: &Point<'_>, index: f64| {
        knock_limited_spark(point, bench.best.spark_deg_btdc, index, 1.0, SPARK_RANGE)
            .unwrap()
            .unwrap_or(SPARK_RANGE.latest_deg_btdc)
    };
    let (low, high) = (limit(&point, index), limit(&other, index + 4.0));
    tally.at_most("limit not beyond best torque", high, bench.best.spark_deg_btdc);
    tally.at_most("spark", SPARK_RANGE.earliest_deg_btdc + low, SPARK_RANGE.earliest_deg_btdc + high);
    let margin = |at: &AtSpark, index: f64| index - requirement(at);
    let (before, after) =
        (margin(&bench.best, index), margin(&best_of(&other), bench.octane_index_of(&other)));
    tally.near("margin at best torque", after - before, 4.0, 1e4);
}

fn more_ethanol(bench: &Bench, tally: &mut Tally) {
    let content = bench.random.fuel.ethanol.likely;
    if bench.random.fuel.base.is_empty() || content > 0.90 {
        return;
    }
    let other = bench.random.edit(|r| r.fuel.ethanol = ContentRange::known(content + 0.08));
    let point = bench.point();
    let (at, flow, index, stoichiometric) = bench.with(&other, |point| {
        let blend = &point.fuel().blend;
        let weight = endgas::knock::sensitivity_weight(point.setting().build.injection);
        (best_of(point), point.fuel_flow_kg_per_s(), blend.octane_index(weight), blend.afr_stoich)
    });
    tally.less("stoichiometric ratio", stoichiometric, bench.gas.blend.afr_stoich);
    tally.less("fuel flow", point.fuel_flow_kg_per_s(), flow);
    let margin = bench.octane_index() - requirement(&bench.best);
    // Margins may be negative: counted from 200 octane numbers below. In an end gas hotter than that of the RON test ethanol
    // counts for less than its rating: one octane number is allowed for it.
    tally.at_most("margin", 200.0 + margin, 201.0 + index - requirement(&at));
}

fn better_filling(bench: &Bench, tally: &mut Tally) {
    let shifts = Shifts { breathing: 1.03, ..Shifts::NONE };
    let (at, residual) =
        bench.shifted(&bench.random, shifts, |point| (best_of(point), point.trapped.residual_frac));
    tally.less("torque", bench.best.bmep_bar(), at.bmep_bar());
    tally.at_most("octane", requirement(&bench.best), requirement(&at));
    tally.less("residual share", residual, bench.point().trapped.residual_frac);
}

fn throttled(bench: &Bench, tally: &mut Tally) {
    if bench.random.build.valves.overlap_deg > MOST_OVERLAP_DEG {
        return;
    }
    let shifts = Shifts { manifold_ratio: 0.92, ..Shifts::NONE };
    let (at, residual) =
        bench.shifted(&bench.random, shifts, |point| (best_of(point), point.trapped.residual_frac));
    tally.less("torque", at.bmep_bar(), bench.best.bmep_bar());
    let (before, after) = (requirement(&bench.best), requirement(&at));
    if bench.gas.blend.ethanol_vol_frac <= MOST_ETHANOL_THROTTLED {
        tally.less("octane", after, before);
    } else {
        tally.at_most("octane", after, before + 2.0);
    }
    tally.less("residual share", bench.point().trapped.residual_frac, residual);
}

fn quicker_burn(bench: &Bench, tally: &mut Tally) {
    let spark = bench.spark.min(bench.best.spark_deg_btdc);
    let shifts = Shifts { burn_speed: 1.03, ..Shifts::NONE };
    let run = |point: &Point<'_>| {
        let burn = point.burn(spark);
        (burn.angle_deg(0.9) - burn.angle_deg(0.1), point.at_spark(spark))
    };
    let (long, slow) = run(&bench.point());
    let (short, quick) = bench.shifted(&bench.random, shifts, run);
    tally.less("10 to 90 %", short, long);
    tally.less("CA50", quick.ca50_deg_atdc, slow.ca50_deg_atdc);
    tally.at_most("peak pressure", slow.peak_pressure_bar, quick.peak_pressure_bar);
}

fn richer(bench: &Bench, tally: &mut Tally) {
    if bench.random.lambda > 0.98 {
        return;
    }
    let other = bench.random.edit(|r| r.lambda -= 0.03);
    let point = bench.point();
    let (fuel, air, gross) = bench.with(&other, |point| {
        (point.fuel_flow_kg_per_s(), point.air_flow_kg_per_s(), efficiency(point, &best_of(point)))
    });
    tally.less("fuel over air", point.fuel_flow_kg_per_s() / point.air_flow_kg_per_s(), fuel / air);
    tally.less("efficiency", gross, efficiency(&point, &bench.best));
}

fn direct_injection(bench: &Bench, tally: &mut Tally) {
    let run = |injection: Injection| {
        let other = bench.random.edit(|r| r.build.injection = injection);
        bench.with(&other, |point| point.trapped)
    };
    let (port, direct) = (run(Injection::Port), run(Injection::Direct));
    tally.less("charge temperature", direct.temperature_k, port.temperature_k);
}

fn gas_exchange(bench: &Bench, tally: &mut Tally) {
    let exchange = |r: &RandomBuild| bench.with(r, |point| (point.exchange, point.trapped));
    let (now, trapped) = exchange(&bench.random);
    tally.less("pumping costs", 0.0, now.pmep_pa());
    let faster = bench.random.edit(|r| r.speed_rpm *= 1.05);
    tally.less("speed", now.pmep_pa(), exchange(&faster).0.pmep_pa());
    let smaller = bench.random.edit(|r| r.build.valves.inlet_diameter_m *= 0.97);
    tally.less("inlet", now.mach_index, exchange(&smaller).0.mach_index);
    let open = bench.random.edit(|r| r.build.valves.overlap_deg += 10.0);
    tally.less("overlap", trapped.residual_frac, exchange(&open).1.residual_frac);
    let residual = |temperature: f64| {
        now.residual_mass_kg(&bench.random.build.valves, bench.random.speed_rpm, temperature)
    };
    tally.less("hotter residual weighs less", residual(1300.0), residual(1100.0));
}
