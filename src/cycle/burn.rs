//! How fast the charge burns: a Wiebe law laid through the 0-10 % and 10-90 % durations.

use crate::engine::Chamber;
use crate::lanes::Lanes;
use statrs::distribution::{Continuous, ContinuousCDF, Normal};

/// Reference point of the durations: speed [rpm], lambda, dilution, temperature at inlet closing [K], density at bottom
/// centre [kg/m3].
const REFERENCE_SPEED_RPM: f64 = 2500.0;
const REFERENCE_LAMBDA: f64 = 0.87;
const REFERENCE_DILUTION: f64 = 0.05;
const REFERENCE_TEMPERATURE_K: f64 = 375.0;
const REFERENCE_DENSITY_KG_PER_M3: f64 = 1.10;
/// Duration in degrees grows as speed to this power; 0.1 to 0.33 (Hires, Tabaczynski and Novak,
/// SAE 780232, 1978, gives 1/3 with piston speed; `from memory`). Low in that band, since timing of best torque is
/// known to grow little with speed: some 33 to 38 deg from 3000 to 6500 rpm with two valves in a wedge, 26 to 32 deg on E85
/// from 4000 to 7000 rpm with four at 12.5:1 (common practice, no source).
const SPEED_EXPONENT: f64 = 0.2;
/// Curvature of duration over lambda about the fastest mixture: 4 % at lambda 1, 8 % at 1.05
/// (bands 2-8 and 8-25 %; Heywood 1988 from laminar flame speed data, `from memory`).
const LAMBDA_CURVATURE: f64 = 2.6;
/// Relative change of duration per volume fraction of ethanol: -7 % for E85, -3 to -15 %
/// (common practice, no source).
const ETHANOL_SLOPE: f64 = -0.07 / 0.85;
/// Laminar flame speed falls as 1 - 2.06 x^0.77 with dilution and grows as T^2.18 with unburned
/// temperature (Metghalchi and Keck 1982, `from memory`); the duration follows its inverse square root,
/// between the powers 1/3 and 2/3 of Hires et al. 1978 (`from memory`).
const FLAME_SPEED_POWER: f64 = 0.5;
const FLAME_TEMPERATURE_EXPONENT: f64 = 2.18;
/// Duration goes as density to this power: -1/3 through the kinematic viscosity in the law of Hires et al. 1978, and
/// +0.08 through the flame speed, which falls as p^-0.16 (Metghalchi and Keck; both `from memory`). It is what makes
/// light loads burn slowly.
const DENSITY_EXPONENT: f64 = -0.25;
/// A late burn: its flame starts in denser, hotter gas and ends in expanding gas. Relative change of
/// the 0-10 % and 10-90 % durations per degree of CA50 beyond [`LATE_FROM_DEG`], together such that CA50
/// moves by 0.8 to 1.0 deg per degree of timing (common practice, no source).
const LATE_EARLY_SLOPE_PER_DEG: f64 = -0.008;
const LATE_MAIN_SLOPE_PER_DEG: f64 = 0.012;
const LATE_FROM_DEG: f64 = 8.0;
/// Angle over which lateness sets in, so that torque stays smooth in timing [deg].
const LATE_ONSET_DEG: f64 = 4.0;
/// Lateness beyond which the durations do not change further [deg].
const LATEST_DEG: f64 = 40.0;

/// Standard deviation of lambda within the charge and between cylinders [-]. Chosen so that the fuel energy not
/// released at lambda 1 is 3 % (1.5 to 3 %, chemical share of the exhaust; common practice, no source), which
/// puts best torque at lambda 0.91, close to 0.85 to 0.90 (Heywood 1988; `from memory`); see `tests/physics/accuracy.rs`.
const UNMIXED_LAMBDA: f64 = 0.075;

/// Burned fraction at the end of the Wiebe law, where it is scaled to 1.
const END_FRACTION: f64 = 0.999;
/// -ln(1 - x) at 10 and 90 % and the end of the law.
const LN_10: f64 = 0.105_360_515_657_826_3;
const LN_90: f64 = std::f64::consts::LN_10;
const LN_END: f64 = 3.0 * std::f64::consts::LN_10;

/// 0-10 % and 10-90 % durations of a chamber shape at the reference point [deg crank].
///
/// 0-10 %: 12 to 25 at full load and 2000 to 3000 rpm (Heywood 1988, ch. 9; `from memory`). 10-90 %: four-valve pent roof
/// 16 to 25, two-valve wedge 22 to 35 (Heywood 1988 and common practice, no source); hemispherical chambers
/// between (common practice, no source). Within these bands they are set by the timing of best torque that
/// [`SPEED_EXPONENT`] names.
fn durations_deg(chamber: Chamber) -> (f64, f64) {
    match chamber {
        Chamber::PentRoof => (23.0, 24.0),
        Chamber::Hemispherical => (24.0, 26.5),
        Chamber::Wedge => (25.0, 28.0),
    }
}

/// What the burn duration depends on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BurnConditions {
    /// Chamber shape.
    pub chamber: Chamber,
    /// Burn speed against a usual chamber of this shape [-].
    pub burn_speed: f64,
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Air-fuel equivalence ratio [-].
    pub lambda: f64,
    /// Residual gas and water vapour of the air, mass fraction of the charge [-].
    pub dilution_frac: f64,
    /// Charge temperature at inlet closing [K].
    pub charge_temperature_k: f64,
    /// Charge density at bottom dead centre [kg/m3].
    pub charge_density_kg_per_m3: f64,
    /// Ethanol in the fuel by volume [-].
    pub ethanol_vol_frac: f64,
}

/// Durations at early phasing, before the slowing of a late burn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BurnDurations {
    /// 0 to 10 % burned [deg crank].
    pub early_deg: f64,
    /// 10 to 90 % burned [deg crank].
    pub main_deg: f64,
    /// Share of the charge that burns at all [-].
    pub complete_frac: f64,
}

impl BurnConditions {
    /// Durations at these conditions for a burn that is not late.
    pub fn durations(&self) -> BurnDurations {
        let diluted = |x: f64| 1.0 - 2.06 * x.powf(0.77);
        let flame_speed = diluted(self.dilution_frac.clamp(0.0, 0.3)) / diluted(REFERENCE_DILUTION)
            * (self.charge_temperature_k / REFERENCE_TEMPERATURE_K).powf(FLAME_TEMPERATURE_EXPONENT);
        let factor = (self.speed_rpm / REFERENCE_SPEED_RPM).powf(SPEED_EXPONENT)
            * (1.0 + LAMBDA_CURVATURE * (self.lambda - REFERENCE_LAMBDA).powi(2))
            * (1.0 + ETHANOL_SLOPE * self.ethanol_vol_frac)
            * flame_speed.powf(-FLAME_SPEED_POWER)
            * (self.charge_density_kg_per_m3 / REFERENCE_DENSITY_KG_PER_M3).powf(DENSITY_EXPONENT)
            / self.burn_speed;
        let (early, main) = durations_deg(self.chamber);
        BurnDurations {
            early_deg: early * factor,
            main_deg: main * factor,
            complete_frac: 1.0 - unmixed_loss(self.lambda),
        }
    }
}

/// A burn placed in the cycle: x = 1 - exp(-((a - start) / scale)^shape), scaled to end at 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Burn<N = f64> {
    start_deg: N,
    scale_deg: N,
    shape: N,
    complete_frac: N,
}

impl<N: Lanes> Burn<N> {
    /// Burned fraction of the charge [-] and its slope [per deg] at a crank angle [deg].
    #[inline(always)]
    pub fn fraction_and_slope(&self, crank_angle_deg: N) -> (N, N) {
        let along = (crank_angle_deg - self.start_deg) / self.scale_deg;
        let nothing = along.everywhere(0.0);
        let is_burning = nothing.is_below(along);
        let power = (self.shape * along.ln()).exp();
        let left = (-power).exp();
        let slope = self.shape * power / along * left / self.scale_deg;
        let scale = self.complete_frac / END_FRACTION;
        let fraction = -(left - 1.0) * scale;
        (N::select(is_burning, fraction, nothing), N::select(is_burning, slope * scale, nothing))
    }
}

impl Burn {
    /// Burn that begins at the timing, with the durations of a late burn when its 50 % point falls late.
    ///
    /// # Arguments
    /// - `spark_deg_btdc`: timing [deg before top dead centre]
    /// - `durations`: from [`BurnConditions::durations`]
    pub fn from_spark(spark_deg_btdc: f64, durations: BurnDurations) -> Self {
        let beyond = Self::laid_through(spark_deg_btdc, durations).angle_deg(0.5) - LATE_FROM_DEG;
        let beyond = beyond.clamp(0.0, LATEST_DEG);
        let late = beyond * beyond / (beyond + LATE_ONSET_DEG);
        let slowed = BurnDurations {
            early_deg: durations.early_deg * (1.0 + LATE_EARLY_SLOPE_PER_DEG * late),
            main_deg: durations.main_deg * (1.0 + LATE_MAIN_SLOPE_PER_DEG * late),
            ..durations
        };
        Self::laid_through(spark_deg_btdc, slowed)
    }

    fn laid_through(spark_deg_btdc: f64, durations: BurnDurations) -> Self {
        let shape = wiebe_shape(durations.early_deg / durations.main_deg);
        Self {
            start_deg: -spark_deg_btdc,
            scale_deg: durations.early_deg / LN_10.powf(1.0 / shape),
            shape,
            complete_frac: durations.complete_frac,
        }
    }

    /// Timing [deg before top dead centre] whose burn has its 50 % point at `ca50_deg` after top dead
    /// centre, at most 8 (`LATE_FROM_DEG`), where a burn is not slowed.
    pub fn early_spark_for(ca50_deg: f64, durations: BurnDurations) -> f64 {
        let unplaced = Self::from_spark(90.0, durations);
        unplaced.angle_deg(0.5) - unplaced.start_deg - ca50_deg.min(LATE_FROM_DEG)
    }

    /// Crank angle at which the burn starts [deg after top dead centre].
    pub fn start_deg(&self) -> f64 {
        self.start_deg
    }

    /// Crank angle at which all is burned [deg after top dead centre].
    pub fn end_deg(&self) -> f64 {
        self.start_deg + self.scale_deg * LN_END.powf(1.0 / self.shape)
    }

    /// Crank angle at which a fraction, 0 to 1, of all that will burn has burned [deg after top dead centre].
    pub fn angle_deg(&self, fraction: f64) -> f64 {
        let log = -(1.0 - fraction * END_FRACTION).ln();
        self.start_deg + self.scale_deg * log.powf(1.0 / self.shape)
    }

    /// Several side by side.
    #[inline(always)]
    pub(super) fn beside<N: Lanes>(token: N::Token, of: impl Fn(usize) -> Self) -> Burn<N> {
        Burn {
            start_deg: N::gathered(token, |lane| of(lane).start_deg),
            scale_deg: N::gathered(token, |lane| of(lane).scale_deg),
            shape: N::gathered(token, |lane| of(lane).shape),
            complete_frac: N::gathered(token, |lane| of(lane).complete_frac),
        }
    }
}

/// Share of the charge that does not burn because fuel and air are not fully mixed [-].
///
/// Lambda varies from place to place and cylinder to cylinder, normal with deviation s about its mean. Where it
/// is rich, fuel is left over, where lean, oxygen; against a uniform mixture s L(|lambda - 1| / s) is lost,
/// L(u) = phi(u) - u (1 - Phi(u)) the loss function of the standard normal.
fn unmixed_loss(lambda: f64) -> f64 {
    let normal = Normal::standard();
    let u = (lambda - 1.0).abs() / UNMIXED_LAMBDA;
    UNMIXED_LAMBDA * (normal.pdf(u) - u * normal.sf(u))
}

/// Shape exponent of the Wiebe law whose 0-10 % over 10-90 % duration is `ratio`.
///
/// LN_10^(1/k) / (LN_90^(1/k) - LN_10^(1/k)) = ratio, solved in closed form for k.
fn wiebe_shape(ratio: f64) -> f64 {
    (LN_90 / LN_10).ln() / (1.0 / ratio + 1.0).ln()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn law_passes_through_both_durations() {
        let durations = BurnDurations { early_deg: 17.0, main_deg: 21.0, complete_frac: 1.0 };
        let burn = Burn::from_spark(35.0, durations);
        let unscaled = |deg: f64| burn.fraction_and_slope(deg).0 * END_FRACTION;
        assert_relative_eq!(unscaled(-35.0 + 17.0), 0.10, epsilon = 1e-9);
        assert_relative_eq!(unscaled(-35.0 + 17.0 + 21.0), 0.90, epsilon = 1e-9);
        assert_relative_eq!(burn.fraction_and_slope(burn.end_deg()).0, 1.0, epsilon = 1e-9);
    }

    #[test]
    fn slope_is_the_derivative_and_angle_the_inverse() {
        let burn =
            Burn::from_spark(20.0, BurnDurations { early_deg: 17.0, main_deg: 21.0, complete_frac: 1.0 });
        let (fraction, slope) = burn.fraction_and_slope(6.0);
        let d = 1e-5;
        let difference =
            (burn.fraction_and_slope(6.0 + d).0 - burn.fraction_and_slope(6.0 - d).0) / (2.0 * d);
        assert_relative_eq!(slope, difference, max_relative = 1e-7);
        assert_relative_eq!(burn.angle_deg(fraction), 6.0, epsilon = 1e-9);
    }

    #[test]
    fn a_late_burn_is_longer_and_ca50_follows_the_spark() {
        let durations = BurnDurations { early_deg: 17.0, main_deg: 21.0, complete_frac: 1.0 };
        let (early, late) = (Burn::from_spark(30.0, durations), Burn::from_spark(8.0, durations));
        let main = |burn: &Burn| burn.angle_deg(0.9) - burn.angle_deg(0.1);
        assert!(main(&late) > main(&early));
        // CA50 moves 0.8 to 1.0 deg per degree of timing from best torque on (common practice, no source).
        let moved = Burn::from_spark(10.0, durations).angle_deg(0.5)
            - Burn::from_spark(20.0, durations).angle_deg(0.5);
        assert!((8.0..=10.0).contains(&moved), "{moved}");
    }

    #[test]
    fn durations_follow_the_published_trends() {
        let base = BurnConditions {
            chamber: Chamber::PentRoof,
            burn_speed: 1.0,
            speed_rpm: 2500.0,
            lambda: 0.87,
            dilution_frac: 0.05,
            charge_temperature_k: 375.0,
            charge_density_kg_per_m3: 1.10,
            ethanol_vol_frac: 0.0,
        };
        let main = |c: BurnConditions| c.durations().main_deg;
        let at_base = main(base);
        assert!((16.0..=25.0).contains(&at_base), "{at_base}");
        let stoichiometric = main(BurnConditions { lambda: 1.0, ..base }) / at_base;
        assert!((1.02..=1.08).contains(&stoichiometric), "{stoichiometric}");
        let lean = main(BurnConditions { lambda: 1.05, ..base }) / at_base;
        assert!((1.08..=1.25).contains(&lean), "{lean}");
        let doubled = main(BurnConditions { speed_rpm: 5000.0, ..base }) / at_base;
        assert!((2f64.powf(0.1)..=2f64.powf(0.33)).contains(&doubled), "{doubled}");
        // Exhaust chemical energy at lambda 1 is 1.5 to 3 % of the fuel's (common practice, no source).
        let lost = 1.0 - BurnConditions { lambda: 1.0, ..base }.durations().complete_frac;
        assert!((0.015..=0.03).contains(&lost), "{lost}");
        assert!(main(BurnConditions { ethanol_vol_frac: 0.85, ..base }) < at_base);
        assert!(main(BurnConditions { dilution_frac: 0.08, ..base }) > at_base);
        assert!(main(BurnConditions { charge_density_kg_per_m3: 0.6, ..base }) > at_base);
        assert!(main(BurnConditions { charge_temperature_k: 385.0, ..base }) < at_base);
        assert!(main(BurnConditions { charge_density_kg_per_m3: 1.3, ..base }) < at_base);
        assert!(main(BurnConditions { burn_speed: 1.2, ..base }) < at_base);
    }
}
