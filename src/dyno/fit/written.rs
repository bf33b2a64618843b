//! From the fit to what a scenario can hold.
//!
//! A scenario holds VE, driveline loss and burn speed. Wall heat, friction and the rest have no measured value
//! and stay at their likely ones; so VE is written as it must be with those, loss and burn speed as written. Its
//! band is what is left with all of them held. How it goes with each of them is written beside it, so that samples of
//! both move together and the power that was measured stays measured: independent bands would add up to more than is
//! known.

use super::model::Model;
use super::parameters::{COUNT, place_of};
use super::pipes::within;
use super::posterior::{Posterior, filling_slopes};
use super::result::{FitFault, Followed, Written, WrittenPipes};
use super::summary::Summary;
use super::thin::{at, thin};
use crate::dyno::log::Place;
use crate::engine::{Breathing, Build, Follow, Follows, PipeInput, PipesLevel, interpolate};
use crate::estimate::sampling::{input_followed, input_of_pipes};
use crate::estimate::uncertainty::{Input, Z_90};
use crate::units::stated::{
    BURN_SPEED, DRIVELINE_LOSS, DRIVELINE_LOSS_SPREAD, FLOW_COEFFICIENT, PIPES_LEVEL, VE_CHANGE, VE_SPREAD,
    VOLUMETRIC_EFFICIENCY,
};
use nalgebra::{DMatrix, DVector};
use std::sync::Arc;

/// Changes with an input that are left out when no speed has more [%].
const LEAST_FOLLOW_PERCENT: f64 = 0.3;
/// Distance of VE from straight lines between the rpm that are written [-], and the most of these.
const STRAIGHT: f64 = 0.0015;
const MOST_RPM: usize = 16;
/// The same of its changes with an input [%].
const STRAIGHT_PERCENT: f64 = 0.15;
const MOST_FOLLOW_RPM: usize = 5;

/// Rounded to so many decimals, as it is written.
pub(crate) fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10f64.powi(decimals);
    // Adding zero turns a negative zero into a plain one.
    (value * scale).round() / scale + 0.0
}

/// Filling given the inputs that it follows: the regression of one on the other after the fit.
struct Given {
    /// Change of the logarithm of VE per deviate: one row per speed, one column per [`Follow`].
    changes: DMatrix<f64>,
    /// Standard deviation of the logarithm of VE with all of them held, by speed.
    left: Vec<f64>,
}

impl Given {
    fn of(slopes: &DMatrix<f64>, posterior: &Posterior) -> Result<Self, FitFault> {
        let places = Follow::ALL.map(|with| place_of(input_followed(with)));
        let covariance = &posterior.covariance;
        let own = covariance.select_rows(&places).select_columns(&places);
        let across = slopes * covariance.select_columns(&places);
        let inverse = own
            .cholesky()
            .ok_or_else(|| FitFault::Solver("the inputs that VE follows have no inverse".to_owned()))?
            .inverse();
        let changes = &across * inverse;
        let whole = slopes * covariance * slopes.transpose();
        let told = &changes * across.transpose();
        let left = (0..slopes.nrows()).map(|i| (whole[(i, i)] - told[(i, i)]).max(0.0).sqrt()).collect();
        Ok(Self { changes, left })
    }
}

/// Makes what is written; VE is that of the linear model, not yet held to the range of a scenario.
///
/// # Errors
/// [`FitFault::Solver`] when the fit is degenerate.
pub(super) fn written(summary: &Summary<'_>, build: &Build, place: Place) -> Result<Written, FitFault> {
    let (model, posterior): (&Model<'_>, &Posterior) = (summary.model, summary.posterior);
    let given = Given::of(&filling_slopes(model, &posterior.mean), posterior)?;
    let burn_factor = 1.0 + Input::BurnSpeed.half_width() * posterior.mean[place_of(Input::BurnSpeed)];
    let burn_speed = rounded(BURN_SPEED.clamp(build.combustion.burn_speed * burn_factor), 3);
    let loss = (place == Place::Wheel)
        .then(|| 100.0 * model.loss(posterior.mean[place_of(Input::Driveline)]))
        .map(|percent| rounded(DRIVELINE_LOSS.clamp(percent), 2));
    let spread = loss.map(|_| rounded(DRIVELINE_LOSS_SPREAD.clamp(100.0 * summary.loss_spread()), 1));
    let moved = &given.changes * off_the_fit(posterior, place);
    let filling = (0..model.speeds_rpm().len())
        .map(|i| model.stated_filling(i) * (model.ln_filling(&posterior.mean, i) + moved[i]).exp())
        .collect();
    let narrower = match (loss, spread) {
        (Some(loss), Some(spread)) => loss * spread / 1e4 / summary.loss_slope(),
        _ => 1.0,
    };
    let left = summary.readings.iter().map(|r| given.left[r.index]).fold(0.0, f64::max);
    Ok(Written {
        speed_rpm: model.speeds_rpm().to_vec(),
        volumetric_efficiency: filling,
        spread_percent: rounded(VE_SPREAD.clamp(100.0 * Z_90 * left), 2),
        follows_speed_rpm: model.speeds_rpm().to_vec(),
        follows: followed(&given, narrower),
        measured_loss_percent: loss,
        measured_loss_spread_percent: spread,
        burn_speed,
        // The bench sheet or the kind of build may have given it; a table has neither.
        mean_flow_coefficient: (!matches!(build.breathing, Breathing::Table { .. }))
            .then(|| rounded(FLOW_COEFFICIENT.clamp(build.valves.mean_flow_coefficient), 4)),
        pipes: None,
    })
}

/// Off the fit, in deviates by [`Follow::ALL`]: what no scenario holds stays at its likely value instead.
fn off_the_fit(posterior: &Posterior, place: Place) -> DVector<f64> {
    let off = |with: &Follow| match with {
        Follow::BurnSpeed => 0.0,
        Follow::Driveline if place == Place::Wheel => 0.0,
        with => -posterior.mean[place_of(input_followed(*with))],
    };
    DVector::from_iterator(Follow::ALL.len(), Follow::ALL.iter().map(off))
}

/// Deviates of the sizes of pipes with what no scenario holds at its likely value, by [`PipeInput::ALL`].
///
/// # Errors
/// [`FitFault::Solver`] when the fit is degenerate.
pub(super) fn sizes_held(
    posterior: &Posterior,
    place: Place,
) -> Result<[f64; PipeInput::ALL.len()], FitFault> {
    let places = PipeInput::ALL.map(|size| place_of(input_of_pipes(size)));
    let mut axes = DMatrix::zeros(places.len(), COUNT);
    for (row, place) in places.iter().enumerate() {
        axes[(row, *place)] = 1.0;
    }
    let moved = Given::of(&axes, posterior)?.changes * off_the_fit(posterior, place);
    Ok(within(std::array::from_fn(|i| posterior.mean[places[i]] + moved[i])))
}

fn followed(given: &Given, driveline_narrower: f64) -> Vec<Followed> {
    let of = |(column, with): (usize, &Follow)| {
        let scale = if *with == Follow::Driveline { driveline_narrower } else { 1.0 };
        let percent: Vec<f64> = given
            .changes
            .column(column)
            .iter()
            .map(|change| rounded(VE_CHANGE.clamp(100.0 * scale * change), 2))
            .collect();
        let is_felt = percent.iter().any(|p| p.abs() > LEAST_FOLLOW_PERCENT);
        is_felt.then_some(Followed { key: with.key(), percent })
    };
    Follow::ALL.iter().enumerate().filter_map(of).collect()
}

impl Written {
    /// Sets VE, rounded as it is written.
    ///
    /// # Errors
    /// [`FitFault::Filling`] when a scenario cannot hold it.
    pub(super) fn set_filling(&mut self, filling: Vec<f64>) -> Result<(), FitFault> {
        for (value, speed_rpm) in filling.iter().zip(&self.speed_rpm) {
            if !VOLUMETRIC_EFFICIENCY.range().contains(value) {
                return Err(FitFault::Filling { filling: *value, speed_rpm: *speed_rpm });
            }
        }
        self.volumetric_efficiency = filling.into_iter().map(|value| rounded(value, 4)).collect();
        Ok(())
    }

    /// Leaves out the rpm of VE between which straight lines say the same.
    pub(super) fn thin(&mut self) {
        let ln_filling = self.volumetric_efficiency.iter().map(|ve| ve.ln()).collect();
        let kept = thin(&self.speed_rpm, &[ln_filling], STRAIGHT, MOST_RPM);
        self.speed_rpm = at(&self.speed_rpm, &kept);
        self.volumetric_efficiency = at(&self.volumetric_efficiency, &kept);
    }

    /// Leaves out those of what it follows.
    pub(super) fn thin_follows(&mut self) {
        let changes: Vec<Vec<f64>> = self.follows.iter().map(|f| f.percent.clone()).collect();
        let kept = thin(&self.follows_speed_rpm, &changes, STRAIGHT_PERCENT, MOST_FOLLOW_RPM);
        self.follows_speed_rpm = at(&self.follows_speed_rpm, &kept);
        self.follows.iter_mut().for_each(|f| f.percent = at(&f.percent, &kept));
    }

    /// Volumetric efficiency at an rpm, between those that are written [-].
    pub(super) fn filling_at(&self, speed_rpm: f64) -> f64 {
        interpolate(&self.speed_rpm, &self.volumetric_efficiency, speed_rpm)
    }

    /// What VE follows, as shares.
    fn changes(&self) -> Vec<(Follow, Vec<f64>)> {
        let of = |followed: &Followed| {
            let with = Follow::ALL.into_iter().find(|with| with.key() == followed.key)?;
            Some((with, followed.percent.iter().map(|p| p / 100.0).collect()))
        };
        self.follows.iter().filter_map(of).collect()
    }

    /// Level of VE on pipes, with its band and what it follows.
    pub(super) fn pipes_level(&self, factor: f64) -> PipesLevel {
        PipesLevel {
            factor,
            half_width: Some(self.spread_percent / 100.0),
            follows_rpm: self.follows_speed_rpm.clone(),
            follows: Follows(self.changes()),
        }
    }

    /// Widens the band of VE by a standard deviation of its own [-].
    pub(super) fn widen(&mut self, by: f64) {
        let wider = (self.spread_percent / 100.0).hypot(Z_90 * by);
        self.spread_percent = rounded(VE_SPREAD.clamp(100.0 * wider), 2);
    }

    /// Sets the level of VE over what the pipes give [-] and its band, rounded as they are written.
    ///
    /// # Errors
    /// [`FitFault::Level`] when a scenario cannot hold it.
    pub(super) fn set_level(&mut self, factor: f64) -> Result<(), FitFault> {
        let percent = 100.0 * (factor - 1.0);
        if !PIPES_LEVEL.range().contains(&percent) {
            return Err(FitFault::Level { percent });
        }
        let level_percent = rounded(percent, 2);
        let level = self.pipes_level(1.0 + level_percent / 100.0);
        if let Some(WrittenPipes { level_percent: written, computed, .. }) = &mut self.pipes {
            *written = level_percent;
            Arc::make_mut(computed).on.level = level;
        }
        Ok(())
    }

    /// The build with everything that is written put in.
    pub fn build(&self, old: &Build) -> Build {
        let mut build = old.clone();
        match (&self.pipes, &old.breathing) {
            (Some(pipes), Breathing::Computed(before)) => {
                build = pipes.sizes.put(&build, &before.on).0;
                build.breathing = Breathing::Computed(Arc::clone(&pipes.computed));
            }
            _ => {
                build.breathing = Breathing::Table {
                    speed_rpm: self.speed_rpm.clone(),
                    volumetric_efficiency: self.volumetric_efficiency.clone(),
                    spread: self.spread_percent / 100.0,
                    follows: Follows::at(&self.follows_speed_rpm, &self.speed_rpm, self.changes()),
                };
            }
        }
        if let Some(loss) = self.measured_loss_percent {
            build.driveline.measured_loss = Some(loss / 100.0);
            build.driveline.measured_loss_spread = self.measured_loss_spread_percent.map(|p| p / 100.0);
        }
        build.combustion.burn_speed = self.burn_speed;
        if let Some(coefficient) = self.mean_flow_coefficient {
            build.valves.mean_flow_coefficient = coefficient;
        }
        build
    }
}
