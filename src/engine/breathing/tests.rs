//! Volumetric efficiency by hand.

use super::*;
use approx::assert_relative_eq;

const FOUR: BuildKind = BuildKind::ProductionFourValve;
/// The usual inlet closing of that kind.
const CLOSES_DEG: f64 = 48.0;

/// A four-valve engine with its usual valves, 90 mm of stroke, at a mean inlet Mach index per 1000 rpm.
fn intake(mach_index_per_1000_rpm: f64) -> Intake {
    Intake {
        mach_index_per_rpm: mach_index_per_1000_rpm / 1000.0,
        flow_share: FOUR.figures(Injection::Port).usual_flow_share(),
        piston_speed_per_rpm: 2.0 * 0.090 / 60.0,
        inlet_closes_deg_abdc: CLOSES_DEG,
        crank_to_rod: 0.30,
        injection: Injection::Port,
    }
}

fn band(peaks: PeakSpeeds) -> Breathing {
    Breathing::Band { kind: FOUR, peaks, closes_deg_abdc: CLOSES_DEG }
}

const BOTH: PeakSpeeds = PeakSpeeds::Both { torque_rpm: 4200.0, power_rpm: 6000.0 };

#[test]
fn a_table_is_interpolated_and_held() {
    let table = Breathing::Table {
        speed_rpm: vec![2000.0, 4000.0],
        volumetric_efficiency: vec![0.8, 1.0],
        spread: 0.03,
        follows: Follows::default(),
    };
    let at = |rpm| table.at(rpm, &intake(0.07));
    assert_relative_eq!(at(3000.0).likely, 0.9, epsilon = 1e-12);
    assert_relative_eq!(at(1000.0).likely, 0.8, epsilon = 1e-12);
    assert_relative_eq!(at(6000.0).likely, 1.0, epsilon = 1e-12);
    assert_relative_eq!(at(3000.0).low_ratio, 0.97, epsilon = 1e-12);
    assert_relative_eq!(at(3000.0).high_ratio, 1.03, epsilon = 1e-12);
    assert_eq!(table.moved_by(1.0, 3000.0, &intake(0.07)), 1.0);
}

// HAND: best VE at 4200 + 0.15 1800 = 4470 rpm; at 6000 rpm (18 m/s) the level of the kind, moved by its own slope over
// piston speed; the peaks stand 0.70 apart, so the best is that over what the kind keeps, k. Half way in the curve's own
// measure, e = 0.65 (1 - 4470/6000) / (1 - k): at 4470 + 1530 0.5^(1/e) rpm VE is best / (1 + 0.5 (1/k - 1)).
#[test]
fn a_band_has_its_level_at_peak_power_and_its_best_near_peak_torque() {
    let figures = FOUR.figures(Injection::Port);
    let off = 18.0 - figures.piston_speed_m_per_s;
    let level = figures.at_peak_power * (figures.by_piston_speed_per_m_per_s * off).exp();
    let kept = figures.kept_at_peak_power;
    let at = |rpm| band(BOTH).at(rpm, &intake(0.07)).likely;
    assert_relative_eq!(at(6000.0), level, max_relative = 1e-12);
    assert_relative_eq!(at(4470.0), level / kept, max_relative = 1e-12);
    let exponent = 0.65 * 0.255 / (1.0 - kept);
    let between = 4470.0 + 1530.0 * 0.5f64.powf(1.0 / exponent);
    assert_relative_eq!(at(between), level / kept / (1.0 + 0.5 * (1.0 / kept - 1.0)), max_relative = 1e-12);
    let slow = 1.0 - figures.low_speed_curvature * 0.25;
    assert_relative_eq!(at(2235.0), level / kept * slow, max_relative = 1e-12);
}

#[test]
fn valves_count_against_the_usual_ones() {
    let at = |rpm: f64, intake: Intake| band(BOTH).at(rpm, &intake).likely;
    let usual = intake(0.11);
    for rpm in [2500.0, 5500.0, 7500.0, 12_000.0] {
        // Flow area so many times the usual: the Mach index goes with its inverse.
        let sized = |by: f64| Intake {
            mach_index_per_rpm: usual.mach_index_per_rpm / by,
            flow_share: usual.flow_share * by,
            ..usual
        };
        let by_size = [0.7, 0.85, 1.0, 1.2, 1.5].map(|by| at(rpm, sized(by)));
        assert!(by_size.windows(2).all(|w| w[0] <= w[1]), "{rpm}: {by_size:?}");
        assert_relative_eq!(by_size[2], at(rpm, intake(0.05)), max_relative = 1e-12);
    }
    // HAND: Mach index 0.66 at 6000 rpm with usual valves, 0.55 with 1.2 times the area: 1 over 1 - 0.6 0.11.
    let larger = Intake { mach_index_per_rpm: 0.11e-3 / 1.2, flow_share: usual.flow_share * 1.2, ..usual };
    assert_relative_eq!(at(6000.0, larger) / at(6000.0, usual), 1.0 / 0.934, max_relative = 1e-6);
}

#[test]
fn a_speed_that_is_not_stated_follows_by_the_ratio_of_the_kind() {
    let figures = FOUR.figures(Injection::Port);
    let (low, likely, high) = figures.speed_ratio;
    let at = |peaks: PeakSpeeds, z: f64| peaks.resolved(figures, intake(0.07).piston_speed_per_rpm, z);
    let (power, torque) = (PeakSpeeds::Power(6000.0), PeakSpeeds::Torque(4200.0));
    assert_relative_eq!(at(power, 0.0).0, 6000.0 * likely);
    assert_eq!(at(BOTH, 0.0), (4200.0, 6000.0));
    // HAND: 4200 rpm over the ratio of the kind, and its piston speed over 0.003 m/s per rpm, joined 0.4 to 0.6.
    let joined = (4200.0 / likely).powf(0.4) * (figures.piston_speed_m_per_s / 0.003).powf(0.6);
    assert_relative_eq!(at(torque, 0.0).1, joined, max_relative = 1e-12);
    // The ends of its band: 3 % on the stated speed; on the other the ratio of the kind, or its own width.
    let (up, far) = (0.03f64.exp(), figures.power_speed_half_width.exp());
    assert_relative_eq!(at(power, 1.0).0, 6000.0 * up * high, max_relative = 1e-12);
    assert_relative_eq!(at(power, -1.0).0, 6000.0 / up * low, max_relative = 1e-12);
    assert_relative_eq!(at(torque, 1.0).1, joined * up * far, max_relative = 1e-12);
    assert_relative_eq!(at(torque, -1.0).1, joined / (up * far), max_relative = 1e-12);
    // The power peak lies above the torque peak, however fast the engine turns.
    let fast = at(PeakSpeeds::Torque(12_000.0), 0.0);
    assert_relative_eq!(fast.0 / fast.1, MOST_RATIO, max_relative = 1e-12);
}

/// A guess at the speed widens what is said of VE: less is known of it far above the torque peak when that alone is
/// stated than when power is stated too.
#[test]
fn an_unknown_speed_widens_the_band() {
    let width = |peaks: PeakSpeeds| {
        let (low, high) = band(peaks).at(6500.0, &intake(0.07)).whole_ratios();
        high - low
    };
    let (both, torque) = (width(BOTH), width(PeakSpeeds::Torque(4200.0)));
    assert!(torque > 1.3 * both, "{both} {torque}");
    let at = band(BOTH).at(6500.0, &intake(0.07));
    for z in [-1.0, -0.5, 0.0, 0.5, 1.0] {
        let moved = band(BOTH).moved_by(z, 6500.0, &intake(0.07));
        assert!(moved >= at.moved.0 - 1e-12 && moved <= at.moved.1 + 1e-12, "{z}: {moved}");
    }
}

#[test]
fn filling_stays_positive_far_beyond_its_peaks() {
    for kind in BuildKind::ALL {
        for (torque_rpm, power_rpm) in [(2000.0, 5000.0), (4800.0, 5000.0), (1500.0, 5000.0)] {
            let peaks = PeakSpeeds::Both { torque_rpm, power_rpm };
            let breathing = Breathing::Band { kind, peaks, closes_deg_abdc: CLOSES_DEG };
            let mut last = f64::INFINITY;
            for rpm in [5000.0, 6000.0, 8000.0, 12_000.0, 15_000.0] {
                let at = breathing.at(rpm, &intake(0.09));
                assert!(at.likely > 0.0 && at.likely <= last, "{kind:?} {rpm}: {at:?}");
                last = at.likely;
            }
        }
    }
}

/// HAND: 3 % by itself, 4 % with one thing and 12 % with another are 13 % together.
#[test]
fn what_filling_follows_widens_its_band() {
    let mut at = VolumetricEfficiency::alone(1.0, (0.97, 1.03));
    assert_relative_eq!(at.whole_ratios().0, 0.97, epsilon = 1e-12);
    (at.follows[0], at.follows[1]) = (0.04, 0.12);
    let (low, high) = at.whole_ratios();
    assert_relative_eq!(low, 0.87, epsilon = 1e-12);
    assert_relative_eq!(high, 1.13, epsilon = 1e-12);
}
