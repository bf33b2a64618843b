//! What a choice of compression is asked.

use super::accepted::accepted;
use super::ignition::Ignition;
use super::service::Service;
use crate::air::Weather;
use crate::engine::MeasuredVolumes;
use crate::engine::practice::{FuelGrade, PracticeClass};
use crate::estimate::known::DYNO_REPEATS;
use crate::estimate::start::START_KNOCK_SHARE;
use crate::estimate::{EstimateError, Job};
use crate::fuel::PumpFuel;
use crate::units::{CompressionRatio, Lambda, OutOfRange, k_to_celsius};

/// Which power is to be as high as it can be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Objective {
    /// Peak wheel power.
    PeakPower,
    /// Mean wheel power over a band of speeds.
    MeanPower {
        /// Lowest speed of the band [rpm].
        from_rpm: f64,
        /// Highest speed of the band [rpm].
        to_rpm: f64,
    },
}

impl Objective {
    /// Whether a speed [rpm] counts.
    pub fn counts(self, speed_rpm: f64) -> bool {
        match self {
            Self::PeakPower => true,
            Self::MeanPower { from_rpm, to_rpm } => (from_rpm..=to_rpm).contains(&speed_rpm),
        }
    }

    /// The power that counts [kW], from speed [rpm] and power [kW] by rising speed: the highest, or the mean over
    /// speed (trapezoids between the speeds of the band).
    pub fn power(self, curve: &[(f64, f64)]) -> f64 {
        if self == Self::PeakPower {
            return curve.iter().map(|(_, power)| *power).fold(f64::NEG_INFINITY, f64::max);
        }
        let band: Vec<_> = curve.iter().copied().filter(|(speed, _)| self.counts(*speed)).collect();
        let (Some(first), Some(last)) = (band.first(), band.last()) else { return 0.0 };
        if last.0 <= first.0 {
            return first.1;
        }
        let area: f64 = band.windows(2).map(|w| 0.5 * (w[0].1 + w[1].1) * (w[1].0 - w[0].0)).sum();
        area / (last.0 - first.0)
    }
}

/// How much power on one fuel matters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weighting {
    /// Worth of power on this fuel against the others [-], 0 or more.
    pub weight: f64,
    /// How often it is filled against the others [-], 0 or more.
    pub likelihood: f64,
}

/// Blends that the engine must stand: one base with any ethanol content of a range.
#[derive(Clone, Debug)]
pub struct BlendRange {
    /// Fuel whose base is blended.
    pub base: PumpFuel,
    /// Lowest ethanol content by volume [-].
    pub low_vol_frac: f64,
    /// Highest ethanol content by volume [-].
    pub high_vol_frac: f64,
    /// Mixture to run; best power of each content where none is given.
    pub lambda: Option<Lambda>,
}

/// Retard from MBT timing, and the torque lost to it, at peak torque and above.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LateLimits {
    /// As production practice has them for the class of build, the grade of its weakest fuel and its ignition.
    Practice,
    /// As stated; none means not asked.
    Stated {
        /// Retard [deg], at most.
        retard_deg: Option<f64>,
        /// Torque lost to it [-], at most.
        torque_lost_frac: Option<f64>,
    },
}

/// Limits that the ratio must keep on every blend of the range under the service conditions, beside the octane reserve of
/// the job and the peak pressure of its build.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChoiceLimits {
    /// Retard and torque lost to it.
    pub late: LateLimits,
    /// Share of samples that may knock at the timing of an ignition without knock control [-], at most.
    pub knock_probability: f64,
}

impl Default for ChoiceLimits {
    fn default() -> Self {
        Self { late: LateLimits::Practice, knock_probability: START_KNOCK_SHARE }
    }
}

/// A whole choice to be made.
#[derive(Clone, Debug)]
pub struct ChooseJob {
    /// The engine, the day, the fuels that are weighed, the speeds, the reserve and the samples.
    pub job: Job,
    /// What is maximised.
    pub objective: Objective,
    /// One entry per fuel of the job.
    pub weights: Vec<Weighting>,
    /// Blends that the engine has to run on.
    pub range: BlendRange,
    /// Ignition as fitted.
    pub ignition: Ignition,
    /// Whether it was stated.
    pub ignition_stated: bool,
    /// Conditions in which they must be stood.
    pub service: Service,
    /// Difference of power that a chassis dynamometer does not show [-], 0.001 to 0.05.
    pub measurable_frac: f64,
    /// Lowest ratio considered.
    pub lowest: CompressionRatio,
    /// Highest ratio considered, at least [`LEAST_SPAN`] above the lowest.
    pub highest: CompressionRatio,
    /// Ratios of pistons that can be bought, within the range.
    pub pistons: Vec<CompressionRatio>,
    /// Limits.
    pub limits: ChoiceLimits,
    /// Measured volumes of one cylinder, from which the dome of the best ratio follows.
    pub volumes: Option<MeasuredVolumes>,
}

/// Difference of power that pulls of one car on one chassis dynamometer do not tell apart [-].
pub const USUAL_MEASURABLE: f64 = DYNO_REPEATS;
/// Least span of ratios that can be searched [-].
pub const LEAST_SPAN: f64 = 0.5;

/// A choice could not be made.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ChooseError {
    /// An estimate on the way failed.
    #[error(transparent)]
    Estimate(#[from] EstimateError),
    /// An estimate failed at one ratio.
    #[error("at compression ratio {ratio:.2}: {source}")]
    AtRatio {
        /// The ratio.
        ratio: f64,
        /// What failed.
        source: EstimateError,
    },
    /// A ratio is outside the model.
    #[error(transparent)]
    Ratio(#[from] OutOfRange),
    /// The weights do not go with the fuels.
    #[error(
        "no fuel counts: a choice needs one weight and one likelihood per fuel, none negative and not all products zero; found {found} for {fuels} fuels"
    )]
    Weights {
        /// Entries found.
        found: usize,
        /// Fuels of the job.
        fuels: usize,
    },
    /// The ratios leave nothing to choose.
    #[error("the ratios {lowest:.2} to {highest:.2} leave less than {LEAST_SPAN} to choose from")]
    Span {
        /// Lowest ratio asked.
        lowest: f64,
        /// Highest ratio asked.
        highest: f64,
    },
    /// A piston lies outside the ratios asked.
    #[error("the piston of {ratio} lies outside the compression ratios asked, {lowest} to {highest}")]
    Piston {
        /// Its ratio.
        ratio: f64,
        /// Lowest ratio asked.
        lowest: f64,
        /// Highest ratio asked.
        highest: f64,
    },
    /// No speed of the job lies in the band of the objective.
    #[error("no rpm of the run lies in the band {from_rpm:.0} to {to_rpm:.0} rpm")]
    Band {
        /// Lowest speed of the band [rpm].
        from_rpm: f64,
        /// Highest speed of the band [rpm].
        to_rpm: f64,
    },
    /// The blend range is empty or outside 0 to 1.
    #[error(
        "the blend range {low:.2} to {high:.2} of ethanol by volume is not within 0 to 1, or is reversed"
    )]
    Range {
        /// Lowest content.
        low: f64,
        /// Highest content.
        high: f64,
    },
    /// The hot day and the heat soak are hotter together than air may be.
    #[error(
        "the hot day and the heat soak make intake air of {air_c:.0} C; {most_c:.0} C is the most (choose.worst_weather, choose.service.heat_soak_c)"
    )]
    Soak {
        /// Air then [C].
        air_c: f64,
        /// Hottest allowed [C].
        most_c: f64,
    },
    /// A search failed.
    #[error("the search of the ratio failed: {0}")]
    Search(String),
}

impl ChooseError {
    /// An estimate that failed at a ratio.
    pub(super) fn at(ratio: f64) -> impl Fn(EstimateError) -> Self {
        move |source| Self::AtRatio { ratio, source }
    }

    /// From a searcher's error, which may carry one of ours.
    pub(super) fn from_search(error: argmin::core::Error) -> Self {
        match error.downcast::<Self>() {
            Ok(own) => own,
            Err(other) => Self::Search(other.to_string()),
        }
    }
}

impl ChooseJob {
    /// Class of the build, and grade of its fuel at an ethanol content of the range [-].
    ///
    /// # Errors
    /// [`ChooseError::Estimate`] when the content makes no blend.
    pub(super) fn practice(&self, content: f64) -> Result<(PracticeClass, FuelGrade), ChooseError> {
        let base = &self.range.base;
        let named = |source| EstimateError::Fuel { fuel: base.name.clone(), source };
        let blend = base.blend_at(content).map_err(named)?;
        Ok((PracticeClass::of(&self.job.build), FuelGrade::of(&blend)))
    }

    /// Retard [deg] and torque lost to it [-], at most; none where not asked.
    ///
    /// # Errors
    /// As [`Self::practice`].
    pub(super) fn late(&self) -> Result<(Option<f64>, Option<f64>), ChooseError> {
        Ok(match self.limits.late {
            LateLimits::Practice => {
                let (class, grade) = self.practice(self.range.low_vol_frac)?;
                let late = accepted(class, grade, self.ignition);
                (Some(late.retard_deg), Some(late.torque_lost_frac))
            }
            LateLimits::Stated { retard_deg, torque_lost_frac } => (retard_deg, torque_lost_frac),
        })
    }

    /// Share of each fuel in the objective: weight times likelihood, adding to 1.
    ///
    /// # Errors
    /// [`ChooseError::Weights`].
    pub fn shares(&self) -> Result<Vec<f64>, ChooseError> {
        let (found, fuels) = (self.weights.len(), self.job.fuels.len());
        let products: Vec<f64> = self.weights.iter().map(|w| w.weight * w.likelihood).collect();
        let total: f64 = products.iter().sum();
        let sound = self.weights.iter().all(|w| w.weight >= 0.0 && w.likelihood >= 0.0);
        if found != fuels || !sound || !total.is_finite() || total <= 0.0 {
            return Err(ChooseError::Weights { found, fuels });
        }
        Ok(products.iter().map(|product| product / total).collect())
    }

    /// Checks what the types do not.
    ///
    /// # Errors
    /// [`ChooseError`] naming what is wrong.
    pub(super) fn check(&self) -> Result<(), ChooseError> {
        let (lowest, highest) = (self.lowest.get(), self.highest.get());
        if highest - lowest < LEAST_SPAN {
            return Err(ChooseError::Span { lowest, highest });
        }
        let outside = |piston: &&CompressionRatio| !(lowest..=highest).contains(&piston.get());
        if let Some(ratio) = self.pistons.iter().find(outside).map(|piston| piston.get()) {
            return Err(ChooseError::Piston { ratio, lowest, highest });
        }
        if let Objective::MeanPower { from_rpm, to_rpm } = self.objective
            && !self.job.speeds_rpm.iter().any(|speed| self.objective.counts(*speed))
        {
            return Err(ChooseError::Band { from_rpm, to_rpm });
        }
        let hottest_k = self.service.weather.temperature_k + self.service.heat_soak_k;
        let most_k = *Weather::TEMPERATURE_RANGE_K.end();
        if hottest_k > most_k {
            return Err(ChooseError::Soak { air_c: k_to_celsius(hottest_k), most_c: k_to_celsius(most_k) });
        }
        let (low, high) = (self.range.low_vol_frac, self.range.high_vol_frac);
        if !(0.0 <= low && low <= high && high <= 1.0) {
            return Err(ChooseError::Range { low, high });
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // HAND: from 4000 to 6000 rpm: (100 + 120) / 2 * 1000 + (120 + 130) / 2 * 1000 = 235 000; over 2000: 117.5.
    #[test]
    fn the_power_that_counts_by_hand() {
        let curve = [(3000.0, 70.0), (4000.0, 100.0), (5000.0, 120.0), (6000.0, 130.0), (7000.0, 125.0)];
        assert_eq!(Objective::PeakPower.power(&curve), 130.0);
        let band = |from_rpm, to_rpm| Objective::MeanPower { from_rpm, to_rpm }.power(&curve);
        assert!((band(4000.0, 6000.0) - 117.5).abs() < 1e-12);
        assert!((band(3500.0, 6500.0) - 117.5).abs() < 1e-12, "only speeds of the run count");
        assert_eq!(band(5000.0, 5000.0), 120.0);
    }
}
