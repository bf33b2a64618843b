//! The heated manifold of carburetted engines: a warmer charge at the volumetric efficiency that is stated.

use crate::common::bench::Trial;
use approx::assert_relative_eq;
use endgas::air::Weather;
use endgas::cycle::TrappedCharge;
use endgas::engine::{Breathing, BuildKind, Cooling, PeakSpeeds};

/// The bench engine as a kind of build, on the fuel and air for which volumetric efficiency is stated, with walls as stated.
fn of_kind(kind: BuildKind) -> Trial {
    Trial::new(8.5, 3000.0).edit(|t| {
        t.weather = Weather::new(298.15, 100e3, 0.0).unwrap();
        let closes_deg_abdc = t.build.valves.inlet_closes_deg_abdc;
        t.build.breathing = Breathing::Band { kind, peaks: PeakSpeeds::Power(5000.0), closes_deg_abdc };
        t.build.combustion.wall_temperature_k = Cooling::USUAL.usual_wall_temperature_k();
    })
}

fn trapped(trial: &Trial) -> TrappedCharge {
    trial.with(|point| point.trapped)
}

#[test]
fn a_heated_manifold_leaves_the_stated_filling() {
    for kind in [BuildKind::CarburettedTwoValve, BuildKind::InjectedTwoValve] {
        let trial = of_kind(kind);
        let stated = trial.with(|point| point.breathing().likely);
        assert_relative_eq!(trapped(&trial).volumetric_efficiency, stated, max_relative = 1e-9);
    }
}

/// HAND: at equal air the fresh gas is 10 K warmer. The work of filling stays, so that inner energy takes up all of its enthalpy:
/// 10 K times 1.36, the ratio of heat capacities, less 5 to 10 % for the residual gas, 12 to 13.6 K at inlet closing. The walls give
/// 10 K times some 1.05 kJ/(kg K) more to the fresh gas. 0.14 to 0.18 octane numbers per kelvin of intake air (the accuracy table)
/// make 0.19 to 0.24 with the pressure that rises too.
#[test]
fn a_heated_manifold_warms_the_charge() {
    let (heated, plain) = (of_kind(BuildKind::CarburettedTwoValve), of_kind(BuildKind::InjectedTwoValve));
    let air = |trial: &Trial| trapped(trial).volumetric_efficiency;
    let plain = plain.edit(|t| t.shifts.breathing = air(&heated) / air(&plain));
    let (warm, cool) = (trapped(&heated), trapped(&plain));
    assert_relative_eq!(warm.dry_air_kg, cool.dry_air_kg, max_relative = 1e-9);
    let warmer_k = warm.temperature_k - cool.temperature_k;
    assert!((11.6..=13.6).contains(&warmer_k), "{warmer_k:.1}");
    let fresh_kg = warm.mass_kg * (1.0 - warm.residual_frac);
    let per_kelvin = (warm.intake_heat_j - cool.intake_heat_j) / fresh_kg / 10.0;
    assert!((1000.0..=1100.0).contains(&per_kelvin), "{per_kelvin:.0}");
    let more = (heated.best_requirement() - plain.best_requirement()) / 10.0;
    assert!((0.17..=0.26).contains(&more), "{more:.3}");
}
