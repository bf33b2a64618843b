//! Why a pull leaves its own smooth curve: named causes, ranked by what else the log shows there.
//!
//! The weights are a judgement (common practice, no source): how often such things happen in shops, and how much more or less often
//! with what is seen there.

use crate::dyno::bump::{Bump, LocalCause, RankedLocalCause, Signs};

use LocalCause::{ClutchSlip, Cut, KnockRetard, PickUp, Tuning, ValveFloat, WheelSlip};

/// Weights before anything is seen: of a dip, of a hump.
const OF_DIPS: [(LocalCause, f64); 6] =
    [(KnockRetard, 4.0), (ValveFloat, 2.0), (Cut, 1.5), (WheelSlip, 2.0), (ClutchSlip, 1.0), (Tuning, 1.5)];
const OF_HUMPS: [(LocalCause, f64); 4] = [(Tuning, 2.0), (WheelSlip, 1.5), (PickUp, 1.5), (ClutchSlip, 0.3)];

/// Ranks the causes of a dip or hump.
pub(in crate::dyno) fn rank(bump: &Bump) -> Vec<RankedLocalCause> {
    let all: &[(LocalCause, f64)] = if bump.is_dip() { &OF_DIPS } else { &OF_HUMPS };
    let weight = |(cause, before): &(LocalCause, f64)| {
        let seen =
            by_shape(*cause, bump) * by_pulls(*cause, bump) * by_signs(*cause, &bump.signs, bump.off_frac);
        RankedLocalCause { cause: *cause, share: before * seen }
    };
    let mut causes: Vec<RankedLocalCause> = all.iter().map(weight).collect();
    let sum: f64 = causes.iter().map(|c| c.share).sum();
    causes.iter_mut().for_each(|c| c.share /= sum);
    causes.sort_by(|a, b| b.share.total_cmp(&a.share));
    causes
}

/// How deep it is, and whether torque comes back.
fn by_shape(cause: LocalCause, bump: &Bump) -> f64 {
    let depth = bump.off_frac.abs();
    let by_depth = match cause {
        KnockRetard if depth > 0.30 => 0.02,
        KnockRetard if depth > 0.18 => 0.2,
        Cut if depth > 0.25 => 3.0,
        Cut if depth < 0.08 => 0.3,
        Tuning if depth > 0.12 => 0.03,
        Tuning if depth > 0.07 => 0.25,
        _ => 1.0,
    };
    let by_end = match (cause, bump.returns) {
        (ValveFloat, true) => 0.02,
        (ValveFloat, false) => 4.0,
        (KnockRetard | Tuning, false) => 0.3,
        (WheelSlip, false) => 0.7,
        _ => 1.0,
    };
    by_depth * by_end
}

/// Whether it comes again in every pull.
fn by_pulls(cause: LocalCause, bump: &Bump) -> f64 {
    match cause {
        _ if bump.of_pulls < 2 => 1.0,
        Tuning if bump.pulls == bump.of_pulls => 2.0,
        Tuning => 0.1,
        WheelSlip | ClutchSlip if bump.pulls == bump.of_pulls => 0.6,
        WheelSlip => 1.5,
        ValveFloat if bump.pulls < bump.of_pulls => 0.5,
        _ => 1.0,
    }
}

/// Likelihood of a cause over that of others: where a sign is seen, and where it is logged and not seen.
fn seen(is_seen: Option<bool>, with: f64, without: f64) -> f64 {
    match is_seen {
        Some(true) => with,
        Some(false) => without,
        None => 1.0,
    }
}

/// What else is logged there.
fn by_signs(cause: LocalCause, signs: &Signs, off_frac: f64) -> f64 {
    /// Sizes from which a sign counts: timing [deg], lambda, step of rpm, power over torque times rpm [-].
    const TIMING_DEG: f64 = -1.0;
    const LEAN: f64 = 0.04;
    const FLARE: f64 = 1.6;
    const APART: f64 = 0.02;
    let pulled = signs.timing_deg.map(|deg| deg < TIMING_DEG);
    let is_lean = signs.lambda.map(|lambda| lambda > LEAN);
    let flares = signs.rpm_step_ratio.map(|ratio| ratio > FLARE);
    let is_apart = signs.power_frac.map(|frac| frac.abs() > APART);
    // Fuel falls with the torque, or goes on as before.
    let falls = signs.fuel_frac.map(|frac| frac < 0.5 * off_frac).filter(|_| off_frac < 0.0);
    match cause {
        KnockRetard => seen(signs.knocks, 15.0, 0.15) * seen(pulled, 8.0, 0.2) * seen(falls, 0.2, 1.5),
        ValveFloat => seen(signs.knocks, 0.5, 1.0) * seen(flares, 0.5, 1.0) * seen(falls, 2.0, 0.3),
        Cut => seen(is_lean, 6.0, 0.5) * seen(falls, 3.0, 0.4) * seen(signs.knocks, 0.5, 1.0),
        WheelSlip => seen(flares, 8.0, 0.4) * seen(falls, 0.3, 1.5) * seen(is_apart, 0.5, 1.0),
        ClutchSlip => seen(flares, 4.0, 0.5) * seen(is_apart, 8.0, 0.7) * seen(falls, 0.3, 1.5),
        Tuning => seen(flares, 0.3, 1.0) * seen(is_apart, 0.2, 1.0) * seen(falls, 2.0, 0.4),
        PickUp => seen(flares, 3.0, 0.7) * seen(is_apart, 3.0, 0.8),
    }
}
