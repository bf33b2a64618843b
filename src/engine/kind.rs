//! Kinds of build: how well each fills, where its torque and power peak, and what it usually has for valves.
//!
//! The levels are those that ratings of real engines imply through this model; `tests/physics/kinds.rs` finds them
//! again from its rows, says which rows those are, and which were kept out.

use super::{Build, Injection};

/// Kind of build for which the VE of real engines is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BuildKind {
    /// Carburettor, two valves a cylinder, as made in series.
    CarburettedTwoValve,
    /// Fuel injection, two valves a cylinder, as made in series.
    InjectedTwoValve,
    /// Two valves with ports, cam and manifold made for power: modern pushrod engines, ported heads with a long cam.
    PerformanceTwoValve,
    /// Four valves a cylinder, as made in series.
    ProductionFourValve,
    /// Four valves, power peak at 7000 rpm and more, long cams or individual throttles.
    SportFourValve,
    /// Motorcycle engine with four valves and a throttle for each cylinder.
    Motorcycle,
    /// Race engine, intake and exhaust tuned to one powerband.
    Race,
}

/// What is known of one kind of build.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KindFigures {
    /// Word of the kind in a scenario.
    pub key: &'static str,
    /// Likely volumetric efficiency at peak power, when that is at [`Self::piston_speed_m_per_s`] [-].
    pub at_peak_power: f64,
    /// Mean piston speed at peak power for which that holds [m/s].
    pub piston_speed_m_per_s: f64,
    /// Change of VE at peak power with that piston speed, relative [per m/s]: an engine that peaks faster has the ports, cam
    /// and pipes for it.
    pub by_piston_speed_per_m_per_s: f64,
    /// Filling at peak power over the best, when the speeds of peak torque and power lie far apart [-].
    pub kept_at_peak_power: f64,
    /// Half of the 10-90 % band at peak power and at peak torque, relative [-].
    pub half_widths: (f64, f64),
    /// Speed of peak torque over that of peak power: 10th percentile, geometric mean and 90th percentile [-].
    pub speed_ratio: (f64, f64, f64),
    /// Half of the 10-90 % band of the speed of peak power where that of peak torque alone is known, relative [-]. It is the width
    /// with which the rated power of the rows comes out, somewhat less than the speeds themselves scatter: engines that
    /// peak later than expected fill less there.
    pub power_speed_half_width: f64,
    /// Curvature of the fall below the speed of best VE, over the speed ratio [-].
    pub low_speed_curvature: f64,
    /// Inlet head area over piston area of its usual valves, and their mean flow coefficient on head area [-].
    pub usual_inlet: (f64, f64),
    /// Effective inlet closing of its usual cam [deg after bottom dead centre, at about 1 mm of lift] (common practice, no source).
    pub usual_inlet_closes_deg_abdc: f64,
    /// Warming of the fresh charge by a manifold heated with exhaust or coolant, beyond that of a plain manifold, at the volumetric
    /// efficiency that is stated [K]; 0 where the manifold is not heated. Carburetted engines made in series heat the riser under
    /// the carburettor so that fuel does not stay on its walls, by 20 to 30 K at part load and less at full load (common practice, no
    /// source); 10 K is the most that the margins of engines of 1985 bear, carburetted against injected
    /// (`tests/physics/factory.rs`).
    pub manifold_heat_k: f64,
    /// Brake mean effective pressure at peak torque that the middle nine tenths of the rows reach [bar].
    pub bmep_bar: (f64, f64),
    /// Where the figures come from.
    pub source: &'static str,
}

const ROWS: &str = "ratings of real engines, in the docs";
const PRACTICE: &str = "common practice, no source";

/// Usual inlet valves (common practice, no source): one of 0.47 of the bore, one of 0.52 with a ported head, two of 0.385; mean
/// flow coefficients 0.36, 0.38 and 0.40.
const TWO_VALVE_INLET: (f64, f64) = (0.47 * 0.47, 0.36);
const PERFORMANCE_INLET: (f64, f64) = (0.52 * 0.52, 0.38);
const FOUR_VALVE_INLET: (f64, f64) = (2.0 * 0.385 * 0.385, 0.40);

/// Falls below the speed of best VE: production cams, long cams, race cams. The first follows the two measured
/// torque curves of `tests/data/engines`; the others are common practice, no source.
const PRODUCTION_CURVATURE: f64 = 0.25;
const LONG_CAM_CURVATURE: f64 = 0.34;
const RACE_CURVATURE: f64 = 0.50;

const CARBURETTED: KindFigures = KindFigures {
    key: "carburetted-two-valve",
    at_peak_power: 0.75,
    piston_speed_m_per_s: 13.0,
    by_piston_speed_per_m_per_s: 0.004,
    kept_at_peak_power: 0.92,
    half_widths: (0.042, 0.045),
    speed_ratio: (0.50, 0.61, 0.75),
    power_speed_half_width: 0.2,
    low_speed_curvature: PRODUCTION_CURVATURE,
    usual_inlet: TWO_VALVE_INLET,
    usual_inlet_closes_deg_abdc: 48.0,
    manifold_heat_k: 10.0,
    bmep_bar: (8.3, 10.4),
    source: ROWS,
};
const INJECTED: KindFigures = KindFigures {
    key: "injected-two-valve",
    at_peak_power: 0.83,
    piston_speed_m_per_s: 14.5,
    by_piston_speed_per_m_per_s: 0.009,
    kept_at_peak_power: 0.92,
    half_widths: (0.075, 0.055),
    speed_ratio: (0.53, 0.71, 0.81),
    power_speed_half_width: 0.11,
    usual_inlet: TWO_VALVE_INLET,
    manifold_heat_k: 0.0,
    bmep_bar: (9.7, 11.2),
    ..CARBURETTED
};
const PERFORMANCE: KindFigures = KindFigures {
    key: "performance-two-valve",
    at_peak_power: 0.92,
    piston_speed_m_per_s: 17.5,
    by_piston_speed_per_m_per_s: 0.002,
    kept_at_peak_power: 0.93,
    half_widths: (0.038, 0.043),
    speed_ratio: (0.71, 0.78, 0.84),
    power_speed_half_width: 0.06,
    low_speed_curvature: LONG_CAM_CURVATURE,
    usual_inlet: PERFORMANCE_INLET,
    usual_inlet_closes_deg_abdc: 55.0,
    manifold_heat_k: 0.0,
    bmep_bar: (10.2, 12.6),
    source: ROWS,
};
const FOUR_VALVE: KindFigures = KindFigures {
    key: "production-four-valve",
    at_peak_power: 0.91,
    piston_speed_m_per_s: 16.5,
    by_piston_speed_per_m_per_s: 0.018,
    kept_at_peak_power: 0.925,
    half_widths: (0.048, 0.048),
    speed_ratio: (0.58, 0.68, 0.76),
    power_speed_half_width: 0.1,
    low_speed_curvature: PRODUCTION_CURVATURE,
    usual_inlet: FOUR_VALVE_INLET,
    usual_inlet_closes_deg_abdc: 48.0,
    manifold_heat_k: 0.0,
    bmep_bar: (10.7, 12.8),
    source: ROWS,
};
const DIRECT_FOUR_VALVE: KindFigures = KindFigures {
    at_peak_power: 0.985,
    piston_speed_m_per_s: 19.5,
    by_piston_speed_per_m_per_s: 0.0,
    kept_at_peak_power: 0.925,
    half_widths: (0.025, 0.01),
    speed_ratio: (0.50, 0.64, 0.75),
    power_speed_half_width: 0.085,
    bmep_bar: (12.4, 13.8),
    ..FOUR_VALVE
};
const SPORT: KindFigures = KindFigures {
    key: "sport-four-valve",
    at_peak_power: 1.04,
    piston_speed_m_per_s: 22.5,
    by_piston_speed_per_m_per_s: 0.007,
    kept_at_peak_power: 0.94,
    half_widths: (0.032, 0.038),
    speed_ratio: (0.58, 0.72, 0.88),
    power_speed_half_width: 0.06,
    low_speed_curvature: LONG_CAM_CURVATURE,
    usual_inlet_closes_deg_abdc: 60.0,
    bmep_bar: (12.1, 14.2),
    ..FOUR_VALVE
};
const MOTORCYCLE: KindFigures = KindFigures {
    key: "motorcycle",
    at_peak_power: 1.035,
    piston_speed_m_per_s: 20.5,
    by_piston_speed_per_m_per_s: 0.016,
    kept_at_peak_power: 0.94,
    half_widths: (0.085, 0.062),
    speed_ratio: (0.73, 0.80, 0.86),
    power_speed_half_width: 0.05,
    bmep_bar: (11.9, 14.6),
    ..SPORT
};
const RACE: KindFigures = KindFigures {
    key: "race",
    at_peak_power: 1.15,
    piston_speed_m_per_s: 24.0,
    by_piston_speed_per_m_per_s: 0.007,
    kept_at_peak_power: 0.94,
    half_widths: (0.07, 0.07),
    speed_ratio: (0.78, 0.85, 0.92),
    power_speed_half_width: 0.06,
    low_speed_curvature: RACE_CURVATURE,
    usual_inlet_closes_deg_abdc: 70.0,
    bmep_bar: (14.0, 15.8),
    source: PRACTICE,
    ..SPORT
};

impl BuildKind {
    /// All kinds, from the one that fills least to the one that fills most.
    pub const ALL: [Self; 7] = [
        Self::CarburettedTwoValve,
        Self::InjectedTwoValve,
        Self::PerformanceTwoValve,
        Self::ProductionFourValve,
        Self::SportFourValve,
        Self::Motorcycle,
        Self::Race,
    ];

    /// What is known of it; production engines with four valves differ by injection.
    pub const fn figures(self, injection: Injection) -> &'static KindFigures {
        match self {
            Self::CarburettedTwoValve => &CARBURETTED,
            Self::InjectedTwoValve => &INJECTED,
            Self::PerformanceTwoValve => &PERFORMANCE,
            Self::ProductionFourValve => match injection {
                Injection::Port => &FOUR_VALVE,
                Injection::Direct => &DIRECT_FOUR_VALVE,
            },
            Self::SportFourValve => &SPORT,
            Self::Motorcycle => &MOTORCYCLE,
            Self::Race => &RACE,
        }
    }

    /// Word of the kind in a scenario.
    pub const fn key(self) -> &'static str {
        self.figures(Injection::Port).key
    }
}

impl BuildKind {
    /// The kind into which a shop builds this one with cam, head, intake and exhaust; none beyond race engines.
    pub const fn next(self) -> Option<Self> {
        match self {
            Self::CarburettedTwoValve | Self::InjectedTwoValve => Some(Self::PerformanceTwoValve),
            Self::ProductionFourValve => Some(Self::SportFourValve),
            Self::PerformanceTwoValve | Self::SportFourValve | Self::Motorcycle => Some(Self::Race),
            Self::Race => None,
        }
    }

    /// VE of another kind at peak power over that of this one [-], the peak where it is, each with its usual valves.
    ///
    /// # Arguments
    /// - `piston_speed_m_per_s`: mean, at peak power [m/s]
    pub fn kind_step(self, to: Self, injection: Injection, piston_speed_m_per_s: f64) -> f64 {
        let at_peak = |kind: Self| kind.figures(injection).filling_at_peak_power(piston_speed_m_per_s);
        at_peak(to) / at_peak(self)
    }

    /// The kind whose best VE lies nearest to one that was measured or follows from port flow [-], among engines with one or
    /// more inlet valves.
    pub fn nearest(has_several_inlets: bool, injection: Injection, best_ve: f64) -> Self {
        let kinds = if has_several_inlets {
            [Self::ProductionFourValve, Self::SportFourValve, Self::Race]
        } else {
            [Self::InjectedTwoValve, Self::PerformanceTwoValve, Self::Race]
        };
        let off = |kind: Self| (kind.figures(injection).best_filling().1 - best_ve).abs();
        let nearer = |near: Self, kind: Self| if off(kind) < off(near) { kind } else { near };
        kinds.into_iter().reduce(nearer).unwrap_or(Self::Race)
    }
}

impl Build {
    /// Warming of the fresh charge by a heated manifold, beyond that of a plain one [K]; a table and port flow have a plain one.
    pub fn manifold_heat_k(&self) -> f64 {
        self.breathing.kind().map_or(0.0, |kind| kind.figures(self.injection).manifold_heat_k)
    }
}

/// Piston speeds beyond which VE does not go on with them, about that of the kind [m/s].
const MOST_OFF_M_PER_S: f64 = 5.0;

/// Speed of peak torque over that of peak power from which VE at peak power rises to its best, where the two meet [-]
/// (the same rows).
const FAR_APART: f64 = 0.75;

impl KindFigures {
    /// Likely volumetric efficiency at peak power [-] for the mean piston speed at which that peak lies [m/s].
    pub fn filling_at_peak_power(&self, piston_speed_m_per_s: f64) -> f64 {
        let off = piston_speed_m_per_s - self.piston_speed_m_per_s;
        let off = off.clamp(-MOST_OFF_M_PER_S, MOST_OFF_M_PER_S);
        self.at_peak_power * (self.by_piston_speed_per_m_per_s * off).exp()
    }

    /// Inlet flow area (head area times mean flow coefficient) over piston area of its usual valves [-].
    pub fn usual_flow_share(&self) -> f64 {
        self.usual_inlet.0 * self.usual_inlet.1
    }

    /// Best volumetric efficiency over speed at its usual speeds, as (low, likely, high) [-].
    pub fn best_filling(&self) -> (f64, f64, f64) {
        let likely = self.at_peak_power / self.filling_kept(self.speed_ratio.1);
        let half = self.half_widths.1;
        (likely * (1.0 - half), likely, likely * (1.0 + half))
    }

    /// Filling at peak power over the best [-], by the speed of peak torque over that of peak power: that of the kind up to 0.75,
    /// 1 where the two meet.
    pub(super) fn filling_kept(&self, speed_ratio: f64) -> f64 {
        let apart = ((1.0 - speed_ratio) / (1.0 - FAR_APART)).clamp(0.0, 1.0);
        1.0 - (1.0 - self.kept_at_peak_power) * apart
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn every_kind_is_built_on_towards_race() {
        for kind in BuildKind::ALL {
            let mut at = kind;
            let mut steps = 0;
            while let Some(next) = at.next() {
                for piston_speed in [12.0, 17.0, 22.0, 25.0] {
                    let step = at.kind_step(next, Injection::Port, piston_speed);
                    assert!((1.0..1.35).contains(&step), "{at:?} at {piston_speed}: {step}");
                }
                (at, steps) = (next, steps + 1);
            }
            assert!(at == BuildKind::Race && steps <= 2, "{kind:?}");
        }
    }

    // HAND: 16.5 m/s is the middle of four-valve engines, 0.91; sport engines are held 5 m/s below theirs: 1.04 exp(-0.035) =
    // 1.0042; 1.1036 times.
    #[test]
    fn a_step_of_kind_by_hand() {
        let step = BuildKind::ProductionFourValve.kind_step(BuildKind::SportFourValve, Injection::Port, 16.5);
        assert_relative_eq!(step, 1.1036, epsilon = 1e-4);
    }

    // HAND: best VE over rpm is 0.90 of injected, 0.98 of ported and 1.19 of race engines.
    #[test]
    fn a_measured_ve_has_its_nearest_kind() {
        let nearest = |several, ve| BuildKind::nearest(several, Injection::Port, ve);
        assert_eq!(nearest(false, 0.85), BuildKind::InjectedTwoValve);
        assert_eq!(nearest(false, 0.96), BuildKind::PerformanceTwoValve);
        assert_eq!(nearest(true, 0.96), BuildKind::ProductionFourValve);
        assert_eq!(nearest(true, 1.4), BuildKind::Race);
    }
}
