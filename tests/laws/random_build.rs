//! Invented builds of every kind that a scenario may hold, by seed: the one generator that property tests share.

use endgas::air::Weather;
use endgas::engine::breathing::mach_index_per_rpm;
use endgas::engine::port_flow::RamGain;
use endgas::engine::volumes::SEATED_LATER_DEG;
use endgas::engine::{
    Breathing, Build, BuildKind, Chamber, Combustion, Cooling, Driveline, FrictionLaw, Geometry, HeatLawKind,
    Injection, Layout, Limits, PeakSpeeds, PortFlow, Valves,
};
use endgas::estimate::spark::SparkRange;
use endgas::estimate::{FuelChoice, Job};
use endgas::fuel::pump::ContentRange;
use endgas::fuel::{Blend, FuelLibrary, PumpFuel};
use endgas::scenario::job::REFERENCE_FUEL;
use endgas::units::{CompressionRatio, Lambda};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::sync::LazyLock;

/// Range in which sparks are searched [deg before top dead centre]: wider than best torque ever needs.
pub const SPARK_RANGE: SparkRange = SparkRange { earliest_deg_btdc: 75.0, latest_deg_btdc: -15.0 };

/// Mean inlet Mach index above which no engine is run: filling has fallen since 0.55.
const MOST_MACH_INDEX: f64 = 0.70;

static LIBRARY: LazyLock<FuelLibrary> = LazyLock::new(|| FuelLibrary::shipped().unwrap());
static REFERENCE: LazyLock<Blend> =
    LazyLock::new(|| LIBRARY.resolve(REFERENCE_FUEL).unwrap().blend().unwrap());

/// The shipped fuels.
pub fn library() -> &'static FuelLibrary {
    &LIBRARY
}

/// The gasoline for which volumetric efficiency is stated.
pub fn reference() -> &'static Blend {
    &REFERENCE
}

/// A source of random numbers.
pub struct Draw(ChaCha8Rng);

impl Draw {
    /// The source of a seed.
    pub fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A number between two, evenly.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.0.random::<f64>()
    }

    /// One of some things, evenly.
    pub fn one<T: Copy>(&mut self, of: &[T]) -> T {
        of[((self.between(0.0, of.len() as f64)) as usize).min(of.len() - 1)]
    }
}

/// A build, a day, a fuel with its mixture, and a speed.
#[derive(Clone, Debug, PartialEq)]
pub struct RandomBuild {
    pub build: Build,
    pub weather: Weather,
    /// Its content is known: the likely one is the one that is run.
    pub fuel: PumpFuel,
    pub lambda: f64,
    pub speed_rpm: f64,
}

impl RandomBuild {
    /// Draws one. Whether the engine makes torque at that speed is for the caller to see.
    pub fn new(draw: &mut Draw) -> Self {
        let geometry = geometry(draw);
        let valves = valves(draw, geometry.bore_m);
        // 2.5 to 26 m/s: idle to race engines, but not far beyond choking inlets.
        let speed_rpm = 30.0 * draw.between(2.5, 26.0) / geometry.stroke_m;
        let choked_rpm = MOST_MACH_INDEX / mach_index_per_rpm(&geometry, &valves, 298.15);
        let speed_rpm = speed_rpm.min(choked_rpm).clamp(700.0, 14_000.0);
        let breathing = breathing(draw, speed_rpm, &valves);
        Self {
            build: Build {
                geometry,
                valves,
                breathing,
                injection: draw.one(&[Injection::Port, Injection::Direct]),
                combustion: combustion(draw),
                friction: draw.one(&[FrictionLaw::ChenFlynn, FrictionLaw::SpeedQuadratic]),
                driveline: driveline(draw),
                limits: Limits::default(),
                unmeasured: Default::default(),
            },
            weather: Weather::new(
                draw.between(255.0, 320.0),
                draw.between(55e3, 107e3),
                draw.between(0.0, 1.0),
            )
            .unwrap(),
            fuel: fuel(draw),
            lambda: draw.between(0.75, 1.15),
            speed_rpm,
        }
    }

    /// The blend that is run.
    pub fn blend(&self) -> Blend {
        self.fuel.blend().unwrap()
    }

    /// The same with a change.
    pub fn edit(&self, change: impl Fn(&mut Self)) -> Self {
        let mut other = self.clone();
        change(&mut other);
        other
    }

    /// The same with a ratio changed by a step.
    pub fn with_ratio_step(&self, by: f64) -> Self {
        self.edit(|b| {
            let ratio = b.build.geometry.compression_ratio.get() + by;
            b.build.geometry.compression_ratio = CompressionRatio::new(ratio).unwrap();
        })
    }

    /// The same on other air.
    pub fn with_air(&self, temperature_k: f64, pressure_pa: f64, relative_humidity: f64) -> Self {
        self.edit(|b| b.weather = Weather::new(temperature_k, pressure_pa, relative_humidity).unwrap())
    }

    /// The job of this build on some fuels at some speeds.
    pub fn job(&self, fuels: &[PumpFuel], speeds_rpm: &[f64], samples: usize) -> Job {
        let lambda = Some(Lambda::new(self.lambda).unwrap());
        Job {
            scenario: "random".to_owned(),
            note: String::new(),
            build: self.build.clone(),
            weather: self.weather,
            fuels: fuels.iter().map(|fuel| FuelChoice { fuel: fuel.clone(), lambda }).collect(),
            reference_fuel: REFERENCE.clone(),
            speeds_rpm: speeds_rpm.to_vec(),
            reserve_octane: 1.0,
            spark_range: SPARK_RANGE,
            knock: Default::default(),
            assumed: Vec::new(),
            samples,
            seed: 1,
        }
    }
}

fn geometry(draw: &mut Draw) -> Geometry {
    let bore_m = draw.between(0.05, 0.125);
    let stroke_m = (bore_m * draw.between(0.6, 1.3)).max(0.032);
    Geometry {
        cylinders: draw.one(&[1, 2, 3, 4, 5, 6, 8, 10, 12]),
        bore_m,
        stroke_m,
        rod_length_m: stroke_m * draw.between(1.35, 2.2),
        pin_offset_m: stroke_m * draw.between(-0.015, 0.015),
        compression_ratio: CompressionRatio::new(draw.between(7.5, 16.5)).unwrap(),
    }
}

fn valves(draw: &mut Draw, bore_m: f64) -> Valves {
    let (inlet_count, exhaust_count) = draw.one(&[(1, 1), (2, 1), (2, 2), (3, 2)]);
    // Head area of all inlets, then of all exhausts, over piston area; both together at most 0.63.
    let head = |share: f64, count: u32| bore_m * (share / f64::from(count)).sqrt();
    Valves {
        inlet_count,
        inlet_diameter_m: head(draw.between(0.20, 0.37), inlet_count),
        exhaust_count,
        exhaust_diameter_m: head(draw.between(0.14, 0.26), exhaust_count),
        mean_flow_coefficient: draw.between(0.30, 0.55),
        inlet_closes_deg_abdc: draw.between(15.0, 90.0),
        exhaust_opens_deg_bbdc: draw.between(15.0, 85.0),
        overlap_deg: draw.between(0.0, 110.0),
        inlet_seats_later_deg: SEATED_LATER_DEG,
    }
}

fn breathing(draw: &mut Draw, speed_rpm: f64, valves: &Valves) -> Breathing {
    match draw.one(&[0, 1, 2]) {
        0 => Breathing::Band {
            kind: draw.one(&BuildKind::ALL),
            peaks: peaks(draw, speed_rpm),
            closes_deg_abdc: valves.inlet_closes_deg_abdc,
        },
        1 => Breathing::Table {
            speed_rpm: [0.6, 1.0, 1.5].map(|share| share * speed_rpm).to_vec(),
            volumetric_efficiency: (0..3).map(|_| draw.between(0.65, 1.25)).collect(),
            spread: draw.between(0.005, 0.10),
            follows: Default::default(),
        },
        _ => {
            let likely = draw.between(0.0, 0.2);
            let gain = RamGain {
                low: likely - draw.between(0.01, 0.05),
                likely,
                high: likely + draw.between(0.01, 0.05),
            };
            let flow = valves.mean_flow_coefficient;
            Breathing::PortFlow(PortFlow::new(flow, valves.inlet_closes_deg_abdc, gain))
        }
    }
}

/// Peaks about a speed, told in any of the three ways.
fn peaks(draw: &mut Draw, speed_rpm: f64) -> PeakSpeeds {
    let torque_rpm = speed_rpm * draw.between(0.75, 2.0);
    let power_rpm = torque_rpm / draw.between(0.45, 0.95);
    draw.one(&[
        PeakSpeeds::Torque(torque_rpm),
        PeakSpeeds::Power(power_rpm),
        PeakSpeeds::Both { torque_rpm, power_rpm },
    ])
}

fn combustion(draw: &mut Draw) -> Combustion {
    Combustion {
        chamber: draw.one(&[Chamber::PentRoof, Chamber::Wedge, Chamber::Hemispherical]),
        burn_speed: draw.between(0.65, 1.45),
        heat_law: draw.one(&[HeatLawKind::Woschni, HeatLawKind::Hohenberg]),
        heat_factor: draw.between(0.3, 1.7),
        wall_temperature_k: draw.between(385.0, 550.0),
        cooling: cooling(draw),
    }
}

fn cooling(draw: &mut Draw) -> Cooling {
    let liquid = Cooling::Liquid { coolant_temperature_k: draw.between(335.0, 390.0) };
    let air = Cooling::Air { head_temperature_k: draw.between(395.0, 520.0) };
    draw.one(&[liquid, liquid, liquid, air])
}

fn driveline(draw: &mut Draw) -> Driveline {
    let layout = draw.one(&[
        Layout::FrontManual,
        Layout::RearManual,
        Layout::FrontAutomatic,
        Layout::RearAutomatic,
        Layout::AllWheel,
    ]);
    let measured_loss = draw.one(&[true, false]).then(|| draw.between(0.05, 0.30));
    let measured_loss_spread = measured_loss.map(|_| draw.between(0.02, 0.25));
    Driveline { layout, measured_loss, measured_loss_spread }
}

/// Any pump fuel at any content of its range, or a mixture of two.
fn fuel(draw: &mut Draw) -> PumpFuel {
    let names = library().names();
    let mut fuel = match draw.one(&[0, 1]) {
        0 => library().resolve(draw.one(&names)).unwrap(),
        _ => {
            let base = draw.one(&["regular-87", "premium-91", "premium-93", "euro-95", "euro-98"]);
            let share = draw.between(1.0, 99.0).round();
            library().resolve(&format!("ethanol {share} % + {base} {} %", 100.0 - share)).unwrap()
        }
    };
    fuel.ethanol = ContentRange::known(draw.between(fuel.ethanol.low, fuel.ethanol.high));
    fuel
}
