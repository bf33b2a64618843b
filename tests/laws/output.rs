//! Laws of what is told: figures of the whole estimate against one another.

use crate::bench::Bench;
use crate::law::{Law, Tally};
use endgas::constants::{GAS_CONSTANT_J_PER_MOL_K as RU, dry_air};
use endgas::estimate::likely_curve::likely_curve;
use endgas::estimate::tuned::Tuned;
use endgas::estimate::{Band, CurvePoint, Estimate, Job, Rung, estimate};
use endgas::fueling::{FuelSystem, fueling};
use std::f64::consts::PI;

const ROUNDING: &str = "rounding alone";

pub const LAWS: [Law; 9] = [
    Law {
        name: "power is torque times speed, mean effective pressure is work over displacement, consumption is fuel over power",
        reason: "definitions, with constants of their own here",
        tolerance: 1e-9,
        why_tolerance: ROUNDING,
        when: "points that the program runs",
        every: 8,
        holds: figures_agree,
    },
    Law {
        name: "each loss of the ladder leaves less than the one before",
        reason: "a loss takes",
        tolerance: 0.0,
        why_tolerance: "strict",
        when: "points that the program runs",
        every: 8,
        holds: ladder_falls,
    },
    Law {
        name: "low, likely and high are in this order, and shares are between nothing and all",
        reason: "percentiles; the wheels get less than the crank gives",
        tolerance: 0.0,
        why_tolerance: "strict where the samples differ",
        when: "points that the program runs",
        every: 8,
        holds: bands_are_ordered,
    },
    Law {
        name: "a band leaves one sample of ten below and one above; what knocks is what has no margin",
        reason: "10th and 90th percentile of the samples that are kept beside it",
        tolerance: 1.0e-9,
        why_tolerance: ROUNDING,
        when: "points that the program runs",
        every: 8,
        holds: bands_hold_eight_of_ten,
    },
    Law {
        name: "a point tells the figures of its run: timings, angle of the burn, pressures, heat, residual, exhaust",
        reason: "each figure of the likely case under its own name; pumping and friction are what the ladder loses to them",
        tolerance: 1e-9,
        why_tolerance: ROUNDING,
        when: "points that the program runs",
        every: 8,
        holds: points_tell_their_run,
    },
    Law {
        name: "spark held back: no more knock, no less margin, no more torque",
        reason: "the end gas is compressed less, the burn is later",
        tolerance: 1e-9,
        why_tolerance: ROUNDING,
        when: "a reserve of 6 octane numbers against one of none",
        every: 16,
        holds: retard_is_safer,
    },
    Law {
        name: "order of the fuels and number of threads change nothing",
        reason: "a fuel is run by itself; parallel work is put together in order",
        tolerance: 0.0,
        why_tolerance: "equal to the last digit",
        when: "points that the program runs",
        every: 32,
        holds: order_and_threads,
    },
    Law {
        name: "likely curve, estimate and fuel system agree on spark, margin, air and fuel",
        reason: "one model behind three commands",
        tolerance: 1e-9,
        why_tolerance: ROUNDING,
        when: "points that the program runs",
        every: 8,
        holds: commands_agree,
    },
    Law {
        name: "more driveline loss: less at the wheels, the same at the crank; as stated at peak power",
        reason: "the crank knows nothing of the wheels",
        tolerance: 1e-9,
        why_tolerance: ROUNDING,
        when: "points that the program runs",
        every: 32,
        holds: driveline_takes,
    },
];

/// The estimate of a job; none where the program refuses it.
fn run(job: &Job) -> Option<Estimate> {
    estimate(job).ok()
}

fn points(estimate: &Estimate) -> impl Iterator<Item = &CurvePoint> {
    estimate.fuels.iter().flat_map(|fuel| fuel.curve.iter())
}

fn figures_agree(bench: &Bench, tally: &mut Tally) {
    let job = bench.job();
    let Some(found) = bench.estimate() else { return };
    let (g, day) = (&job.build.geometry, &job.weather);
    let displacement = f64::from(g.cylinders) * 0.25 * PI * g.bore_m * g.bore_m * g.stroke_m;
    tally.equal("displacement", found.displacement_m3, displacement);
    let density = (day.pressure_pa - day.vapour_pressure_pa()) * dry_air::MOLAR_MASS_KG_PER_MOL
        / (RU * day.temperature_k);
    for fuel in &found.fuels {
        for p in &fuel.curve {
            let rev_per_s = p.speed_rpm / 60.0;
            let torque = p.bmep_bar * 1e5 * displacement / (4.0 * PI);
            let power_w = 2.0 * PI * rev_per_s * torque;
            tally.equal("brake", p.bmep_bar, p.imep_net_bar - p.fmep_bar);
            tally.equal("torque", job.build.geometry.torque_nm(p.bmep_bar), torque);
            tally.equal(
                "crank power",
                p.crank_power_kw.likely * 1e3,
                2.0 * PI * rev_per_s * p.crank_torque_nm.likely,
            );
            tally.equal("consumption", p.bsfc_g_per_kwh * power_w, p.fuel_flow_kg_per_s * 3.6e9);
            tally.equal("efficiency", p.efficiency_brake * p.fuel_flow_kg_per_s * fuel.lhv_j_per_kg, power_w);
            let air = p.volumetric_efficiency * density * displacement * rev_per_s / 2.0;
            tally.equal("air", p.air_flow_kg_per_s, air);
            tally.equal("fuel", p.fuel_flow_kg_per_s, air / (p.lambda * fuel.afr_stoich));
            tally.equal("margin", p.octane_index - p.octane_requirement, p.octane_margin);
            tally.equal("index", p.knock_margin_index * p.octane_requirement, p.octane_index);
            tally.equal("piston speed", p.mean_piston_speed_m_per_s, 2.0 * g.stroke_m * rev_per_s);
        }
    }
}

fn ladder_falls(bench: &Bench, tally: &mut Tally) {
    let Some(found) = bench.estimate() else { return };
    for fuel in &found.fuels {
        let rungs = &fuel.ladder;
        for pair in rungs.windows(2) {
            let (a, b) = (pair[0].mean_effective_pressure_bar, pair[1].mean_effective_pressure_bar);
            let step = format!("{} to {}", pair[0].rung, pair[1].rung);
            tally.less(&step, b, a);
        }
        for rung in rungs {
            tally.less("efficiency", rung.efficiency, 1.0);
        }
    }
}

fn bands_are_ordered(bench: &Bench, tally: &mut Tally) {
    let Some(found) = bench.estimate() else { return };
    let mut ordered = |what: &str, band: Band| {
        tally.at_most(what, band.low, band.likely);
        tally.at_most(what, band.likely, band.high);
    };
    for p in points(found) {
        ordered("crank torque", p.crank_torque_nm);
        ordered("crank power", p.crank_power_kw);
        ordered("wheel power", p.wheel_power_kw);
        ordered("margin", p.octane_margin_band);
    }
    for fuel in &found.fuels {
        ordered("peak at the crank", fuel.peak_power.crank);
        ordered("peak at the wheels", fuel.peak_power.wheel);
    }
    for p in points(found) {
        for (name, wheel, crank) in [
            ("low", p.wheel_power_kw.low, p.crank_power_kw.low),
            ("likely", p.wheel_power_kw.likely, p.crank_power_kw.likely),
            ("high", p.wheel_power_kw.high, p.crank_power_kw.high),
        ] {
            tally.less(name, wheel, crank);
        }
        tally.at_most("used spark", 90.0 + p.spark_deg_btdc, 90.0 + p.best_torque_spark_deg_btdc);
        let shares =
            [p.knock_probability, p.torque_lost_frac, p.efficiency_brake, p.heat_loss_frac, p.residual_frac];
        tally.claim("shares", shares.iter().all(|s| (0.0..=1.0).contains(s)), shares);
    }
}

fn retard_is_safer(bench: &Bench, tally: &mut Tally) {
    let at = |reserve_octane: f64| run(&Job { reserve_octane, ..bench.job() });
    let (Some(bold), Some(careful)) = (at(0.0), at(6.0)) else { return };
    for (bold, careful) in points(&bold).zip(points(&careful)) {
        tally.at_most("spark", 90.0 + careful.spark_deg_btdc, 90.0 + bold.spark_deg_btdc);
        tally.at_most("knock", careful.knock_probability, bold.knock_probability);
        tally.at_most("margin", 200.0 + bold.octane_margin, 200.0 + careful.octane_margin);
        tally.at_most(
            "margin low",
            200.0 + bold.octane_margin_band.low,
            200.0 + careful.octane_margin_band.low,
        );
        tally.at_most("brake", careful.bmep_bar, bold.bmep_bar);
        // Each sample is tuned to its own limit, by a search whose error is a hundred-thousandth of torque.
        let (held, free) = (careful.crank_torque_nm, bold.crank_torque_nm);
        for (careful, bold) in [(held.low, free.low), (held.likely, free.likely), (held.high, free.high)] {
            tally.at_most("torque of the samples", (1.0 - 1e-4) * careful, bold);
        }
        // Where the likely case pays for the reserve, at least half of the samples pay.
        if careful.torque_lost_frac > bold.torque_lost_frac + 0.01 {
            tally.less("torque of the samples", careful.crank_torque_nm.likely, bold.crank_torque_nm.likely);
        }
    }
}

fn bands_hold_eight_of_ten(bench: &Bench, tally: &mut Tally) {
    let Some(found) = bench.estimate() else { return };
    let tenth = 0.1 * found.samples as f64;
    let mut holds = |what: &str, band: Band, values: &[f64]| {
        let beyond = |out: &dyn Fn(f64) -> bool| values.iter().filter(|v| out(**v)).count() as f64;
        let (below, above) = (beyond(&|v| v < band.low), beyond(&|v| v > band.high));
        let middle = beyond(&|v| v < band.likely);
        // A percentile lies between two samples, so that no count is a whole sample off.
        let is_so =
            (below - tenth).abs() < 1.0 && (above - tenth).abs() < 1.0 && (middle - 5.0 * tenth).abs() < 1.0;
        tally.claim(what, is_so, (below, middle, above, values.len()));
    };
    for fuel in &found.fuels {
        for (point, kw) in fuel.curve.iter().zip(&fuel.samples.wheel_power_kw) {
            holds("power at the wheels", point.wheel_power_kw, kw);
        }
        holds("peak power at the wheels", fuel.peak_power.wheel, &fuel.sample_peak_wheel_kw);
        holds("peak torque at the wheels", fuel.peak_torque.wheel, &fuel.samples.peak_wheel_torque_nm);
    }
    for point in points(found) {
        let (band, share) = (point.octane_margin_band, point.knock_probability);
        let told = (band, share);
        tally.claim(
            "one in ten knocks below",
            band.low >= 0.0 || share >= 0.1 - 1.0 / found.samples as f64,
            told,
        );
        tally.claim("half knock", (band.likely < 0.0) == (share > 0.5) || (share - 0.5).abs() < 0.05, told);
        tally.claim("nine in ten knock", band.high >= 0.0 || share >= 0.9 - 1.0 / found.samples as f64, told);
        let Some((start, share)) = point.start_octane_margin_band.zip(point.start_knock_probability) else {
            continue;
        };
        tally.claim("knock-free in nine of ten", share <= 0.1, share);
        // The two timings are read off one curve; where they are the same the two ways differ by its last digits.
        tally.claim("margin to start from", start.likely >= band.likely - 0.05, (band, start));
        let torque = point.start_crank_torque_nm.unwrap();
        tally.less(
            "wheels and flywheel at the start",
            point.start_wheel_power_kw.unwrap().likely,
            2.0 * PI * point.speed_rpm / 60.0 * torque.likely / 1e3,
        );
    }
}

fn points_tell_their_run(bench: &Bench, tally: &mut Tally) {
    let job = bench.job();
    let Some(found) = bench.estimate() else { return };
    for (choice, fuel) in job.fuels.iter().zip(&found.fuels) {
        let in_use = choice.in_use(&job.weather).unwrap();
        let curve = likely_curve(&job, (&choice.fuel.name, &in_use)).unwrap();
        for (run, p) in curve.points.iter().zip(&fuel.curve) {
            for (what, told, run) in [
                ("MBT timing", p.best_torque_spark_deg_btdc, run.mbt.spark_deg_btdc),
                ("margin at MBT", p.best_torque_octane_margin, run.mbt_octane_margin()),
                ("CA50", p.ca50_deg_atdc, run.used.ca50_deg_atdc),
                ("net work", p.imep_net_bar, run.used.imep_net_bar),
                ("friction", p.fmep_bar, run.used.fmep_bar),
                ("pumping", p.pmep_bar, run.used.pmep_bar),
                ("gross work", p.imep_net_bar + p.pmep_bar, run.used.imep_gross_bar),
                ("peak pressure", p.peak_pressure_bar, run.used.peak_pressure_bar),
                ("angle of peak pressure", p.peak_pressure_deg_atdc, run.used.peak_pressure_deg_atdc),
                ("heat", p.heat_loss_frac, run.used.heat_loss_frac),
                ("residual", p.residual_frac, run.point.trapped.residual_frac),
                ("exhaust", p.exhaust_temperature_k, run.used.exhaust_temperature_k),
                ("mixture", p.lambda, choice.lambda_run()),
            ] {
                tally.equal(what, told, run);
            }
            tally.claim(
                "knock-limited",
                p.knock_limited == run.is_knock_limited(),
                (p.speed_rpm, p.knock_limited),
            );
            let limits = (p.knock_limited_spark_deg_btdc, run.limit_deg_btdc);
            tally.claim("limit", limits.0.is_some() == limits.1.is_some(), limits);
        }
        let at = fuel.curve.iter().find(|p| p.speed_rpm == fuel.peak_power.speed_rpm).unwrap();
        let rung = |rung: Rung| {
            let found = fuel.ladder.iter().find(|r| r.rung == rung).unwrap();
            found.mean_effective_pressure_bar
        };
        tally.equal("rung of pumping", rung(Rung::Pumping), at.imep_net_bar);
        tally.equal("rung of friction", rung(Rung::Friction), at.bmep_bar);
    }
}

/// Everything told of each fuel, by name, as text: equal texts are equal to the last digit.
fn told(estimate: &Estimate) -> Vec<String> {
    let mut told: Vec<String> = estimate.fuels.iter().map(|fuel| format!("{fuel:?}")).collect();
    told.sort();
    told
}

fn order_and_threads(bench: &Bench, tally: &mut Tally) {
    let job = bench.job();
    let mut turned = job.clone();
    turned.fuels.reverse();
    let (Some(one), Some(other)) = (bench.estimate(), run(&turned)) else { return };
    for (a, b) in told(one).iter().zip(&told(&other)) {
        let from = a.bytes().zip(b.bytes()).position(|(x, y)| x != y).unwrap_or(0).saturating_sub(60);
        let part = |text: &str| text.chars().skip(from).take(120).collect::<String>();
        tally.claim("fuels turned round", a == b, (part(a), part(b)));
    }
    let alone = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let single = alone.install(|| run(&job)).unwrap();
    tally.claim("one thread", told(one) == told(&single), "");
}

fn commands_agree(bench: &Bench, tally: &mut Tally) {
    let job = bench.job();
    let Some(found) = bench.estimate() else { return };
    let supply = fueling(&job, &FuelSystem::default()).unwrap();
    for (choice, fuel) in job.fuels.iter().zip(&found.fuels) {
        let in_use = choice.in_use(&job.weather).unwrap();
        let quick = likely_curve(&job, (&choice.fuel.name, &in_use)).unwrap();
        let need = supply.needs.iter().find(|n| n.fuel == fuel.name && !n.is_high_content).unwrap();
        for ((q, p), n) in quick.points.iter().zip(&fuel.curve).zip(&need.curve) {
            tally.equal("spark", q.used.spark_deg_btdc, p.spark_deg_btdc);
            tally.equal("margin", q.octane_margin(&q.used), p.octane_margin);
            tally.equal("torque", q.crank_torque_nm(), job.build.geometry.torque_nm(p.bmep_bar));
            tally.equal("filling", n.volumetric_efficiency, p.volumetric_efficiency);
            tally.at_most("fuel low", n.fuel_flow_kg_per_s.low, p.fuel_flow_kg_per_s);
            tally.at_most("fuel high", p.fuel_flow_kg_per_s, n.fuel_flow_kg_per_s.high);
            tally.at_most("air high", p.air_flow_kg_per_s, n.air_flow_kg_per_s.high);
        }
    }
}

fn driveline_takes(bench: &Bench, tally: &mut Tally) {
    let with = |loss: f64| {
        let mut job = bench.job();
        job.build.driveline.measured_loss = Some(loss);
        job.build.driveline.measured_loss_spread = Some(0.1);
        run(&job).map(|found| (found, job))
    };
    let (Some((light, job)), Some((heavy, _))) = (with(0.10), with(0.20)) else { return };
    for (a, b) in points(&light).zip(points(&heavy)) {
        tally.less("wheel", b.wheel_power_kw.likely, a.wheel_power_kw.likely);
        tally.equal("crank", b.crank_power_kw.likely, a.crank_power_kw.likely);
    }
    for choice in &job.fuels {
        let in_use = choice.in_use(&job.weather).unwrap();
        let curve = likely_curve(&job, (&choice.fuel.name, &in_use)).unwrap();
        let crank = |p: &Tuned<'_>| 2.0 * PI * p.speed_rpm() / 60.0 * p.crank_torque_nm() / 1e3;
        let peak = curve.points.iter().max_by(|a, b| crank(a).total_cmp(&crank(b))).unwrap();
        tally.equal("loss at peak power", curve.wheel_power_kw(peak), (1.0 - 0.10) * crank(peak));
    }
}
