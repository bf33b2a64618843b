//! The limits a ratio must keep, and how far a blend is from each.

use super::job::{ChooseError, ChooseJob};
use crate::units::PA_PER_BAR;
use schemars::JsonSchema;
use serde::Serialize;

/// A limit by kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LimitKind {
    /// Octane reserve at the most retarded timing of the range.
    Reserve,
    /// Retard from MBT timing, at peak torque and above.
    Retard,
    /// Torque lost to that retard.
    TorqueLoss,
    /// Peak cylinder pressure.
    PeakPressure,
    /// Share of samples that knock at the most retarded timing of the range, at peak torque and above.
    KnockProbability,
}

impl LimitKind {
    /// By how much a value passes what is allowed, on the scale of [`LimitState::excess`].
    fn excess(self, found: f64, allowed: f64) -> f64 {
        let over = found - allowed;
        match self {
            Self::Reserve => -over,
            Self::Retard | Self::PeakPressure => over,
            Self::TorqueLoss | Self::KnockProbability => 100.0 * over,
        }
    }
}

/// One blend at one rpm on one day and ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BlendReading {
    /// Ethanol content by volume [-].
    pub ethanol_vol_frac: f64,
    /// Engine speed [rpm].
    pub speed_rpm: f64,
    /// Octane margin at MBT timing [-].
    pub best_torque_margin: f64,
    /// Octane margin less the safety margin at the most retarded timing, or more where an earlier one keeps it [-].
    pub kept_reserve: f64,
    /// Retard from MBT timing [deg].
    pub retard_deg: f64,
    /// Torque that costs, as a share [-].
    pub torque_lost_frac: f64,
    /// Peak cylinder pressure at the timing planned [bar].
    pub peak_pressure_bar: f64,
    /// Share of samples that knock at the most retarded timing, where that was asked [-].
    pub latest_knock_probability: f64,
}

/// A limit and the blend that comes closest to it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LimitState {
    /// Which limit.
    pub kind: LimitKind,
    /// What is allowed, in the unit of the kind: octane numbers, degrees, fraction, bar, fraction.
    pub allowed: f64,
    /// What the worst blend has, in the same unit.
    pub found: f64,
    /// Ethanol content of the worst blend by volume [-].
    pub ethanol_vol_frac: f64,
    /// Rpm at which it is worst [rpm].
    pub speed_rpm: f64,
    /// By how much it is over the limit, on a scale on which 1 is one octane number, one degree, 1 % of torque,
    /// 1 bar or 1 % of samples; within when not above 0 [-].
    pub excess: f64,
}

impl LimitState {
    /// Whether the limit is kept.
    pub fn kept(&self) -> bool {
        self.excess <= 0.0
    }
}

/// By how much the limit that is most over, or nearest, is over, on the scale of [`LimitState::excess`] [-].
pub(super) fn most_excess(states: &[LimitState]) -> f64 {
    states.iter().map(|state| state.excess).fold(f64::NEG_INFINITY, f64::max)
}

/// A limit as it is measured.
#[derive(Clone, Copy, Debug)]
pub(super) struct Limit {
    pub(super) kind: LimitKind,
    pub(super) allowed: f64,
    /// Lowest rpm at which it is judged [rpm].
    from_rpm: f64,
}

impl Limit {
    /// The limits that are asked; the reserve always is.
    ///
    /// # Arguments
    /// - `torque_rpm`: rpm of peak torque, from which retard and what it costs are judged [rpm]
    ///
    /// # Errors
    /// As [`ChooseJob::late`].
    pub(super) fn asked(ask: &ChooseJob, torque_rpm: f64) -> Result<Vec<Self>, ChooseError> {
        let (limits, job) = (&ask.limits, &ask.job);
        let (retard_deg, torque_lost_frac) = ask.late()?;
        let peak_pressure_bar = job.build.limits.peak_pressure_pa.map(|pa| pa / PA_PER_BAR);
        let knock = (!ask.ignition.has_knock_control()).then_some(limits.knock_probability);
        let stated = [
            (LimitKind::Reserve, Some(job.reserve_octane), 0.0),
            (LimitKind::Retard, retard_deg, torque_rpm),
            (LimitKind::TorqueLoss, torque_lost_frac, torque_rpm),
            (LimitKind::PeakPressure, peak_pressure_bar, 0.0),
            (LimitKind::KnockProbability, knock, torque_rpm),
        ];
        let limit =
            |(kind, allowed, from_rpm): (_, Option<f64>, _)| Some(Self { kind, allowed: allowed?, from_rpm });
        Ok(stated.into_iter().filter_map(limit).collect())
    }

    /// What a reading has of this limit's quantity.
    fn found(&self, reading: &BlendReading) -> f64 {
        match self.kind {
            LimitKind::Reserve => reading.kept_reserve + self.allowed,
            LimitKind::Retard => reading.retard_deg,
            LimitKind::TorqueLoss => reading.torque_lost_frac,
            LimitKind::PeakPressure => reading.peak_pressure_bar,
            LimitKind::KnockProbability => reading.latest_knock_probability,
        }
    }

    /// By how much a reading is over the limit.
    fn excess(&self, reading: &BlendReading) -> f64 {
        self.kind.excess(self.found(reading), self.allowed)
    }

    /// The worst of some readings; none without readings.
    pub(super) fn worst<'r>(&self, readings: impl Iterator<Item = &'r BlendReading>) -> Option<LimitState> {
        let judged = readings.filter(|reading| reading.speed_rpm >= self.from_rpm);
        let worst = judged.max_by(|a, b| self.excess(a).total_cmp(&self.excess(b)))?;
        Some(LimitState {
            kind: self.kind,
            allowed: self.allowed,
            found: self.found(worst),
            ethanol_vol_frac: worst.ethanol_vol_frac,
            speed_rpm: worst.speed_rpm,
            excess: self.excess(worst),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// HAND: 1 is one octane number, one degree, 1 % of torque, 1 bar or 1 % of samples, above 0 where the limit is passed.
    #[test]
    fn excess_is_on_the_scale_that_is_told() {
        for (kind, found, allowed, excess) in [
            (LimitKind::Reserve, -1.5, 0.5, 2.0),
            (LimitKind::Retard, 9.0, 6.0, 3.0),
            (LimitKind::TorqueLoss, 0.05, 0.03, 2.0),
            (LimitKind::PeakPressure, 104.0, 100.0, 4.0),
            (LimitKind::KnockProbability, 0.06, 0.10, -4.0),
        ] {
            let off = kind.excess(found, allowed) - excess;
            assert!(off.abs() < 1e-9, "{kind:?}: off by {off}");
        }
    }
}
