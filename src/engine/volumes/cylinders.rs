//! Cylinders that were measured one by one: the ratio of each, and how far they are apart.

use super::{CrankingPressure, MeasuredPart, OctaneChange, VolumesJob, cranking_pressure};
use schemars::JsonSchema;
use serde::Serialize;

/// One cylinder.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Cylinder {
    /// Number of the cylinder, from 1, in the order of the scenario's lists.
    pub cylinder: u32,
    /// Chamber volume [m3].
    pub chamber_m3: f64,
    /// Dome volume, dish negative [m3].
    pub dome_m3: f64,
    /// Deck clearance [m].
    pub deck_clearance_m: f64,
    /// Squish clearance [m].
    pub squish_clearance_m: f64,
    /// Clearance volume [m3].
    pub clearance_m3: f64,
    /// Its geometric ratio [-].
    pub compression_ratio: f64,
    /// 10th percentile of it [-].
    pub ratio_low: f64,
    /// 90th percentile of it [-].
    pub ratio_high: f64,
    /// Its ratio from inlet closing [-].
    pub ratio_from_inlet_closing: f64,
    /// Its compression pressure at cranking speed.
    pub cranking: CrankingPressure,
    /// Volume to be added to its chamber to bring it to the mean clearance [m3]; negative when it
    /// would have to shrink.
    pub to_mean_m3: f64,
    /// Clearance volume to be added for the target ratio [m3]; null when none is asked for.
    pub to_wanted_m3: Option<f64>,
}

/// How far the cylinders are apart.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Spread {
    /// Number of the cylinder with the highest ratio; the first of several.
    pub highest_cylinder: u32,
    /// Its ratio [-].
    pub highest_ratio: f64,
    /// Number of the cylinder with the lowest ratio; the first of several.
    pub lowest_cylinder: u32,
    /// Its ratio [-].
    pub lowest_ratio: f64,
    /// Volume to take out of the metal of the highest cylinder's chamber to bring it to the mean [m3].
    pub highest_to_mean_m3: f64,
    /// Half width of the 10-90 band of the difference of two cylinders' ratios [-]: from the tolerances
    /// of chamber, dome and deck clearance, the rest being common to all.
    pub apart_half_width: f64,
    /// How much more octane the highest asks for than the lowest.
    pub octane: OctaneChange,
}

impl Cylinder {
    /// Every cylinder of a job that was measured by itself.
    pub(super) fn all(job: &VolumesJob<'_>) -> Vec<Self> {
        let geometry = job.geometry;
        let (bore_m, stroke_m) = (geometry.bore_m, geometry.stroke_m);
        let mean_m3 = geometry.clearance_volume_m3();
        let seated_m3 = geometry.swept_from_inlet_closing_m3(job.inlet_seats_deg_abdc);
        let swept_m3 = geometry.swept_from_inlet_closing_m3(job.inlet_closes_deg_abdc);
        (1..)
            .zip(job.by_cylinder)
            .map(|(cylinder, parts)| {
                let clearance_m3 = parts.clearance_m3(bore_m);
                let ratio = parts.ratio(bore_m, stroke_m);
                let half = parts.ratio_tolerance(bore_m, stroke_m);
                let from_closing = 1.0 + swept_m3 / clearance_m3;
                Self {
                    cylinder,
                    chamber_m3: parts.chamber_m3,
                    dome_m3: parts.dome_m3,
                    deck_clearance_m: parts.deck_clearance_m,
                    squish_clearance_m: parts.squish_clearance_m(),
                    clearance_m3,
                    compression_ratio: ratio,
                    ratio_low: ratio - half,
                    ratio_high: ratio + half,
                    ratio_from_inlet_closing: from_closing,
                    cranking: cranking_pressure(job.air_pressure_pa, 1.0 + seated_m3 / clearance_m3),
                    to_mean_m3: mean_m3 - clearance_m3,
                    to_wanted_m3: job.wanted.map(|wanted| {
                        parts.clearance_change_for_ratio_m3(bore_m, stroke_m, wanted.ratio.get())
                    }),
                }
            })
            .collect()
    }
}

impl Spread {
    /// How far cylinders are apart; none when there is none.
    pub(super) fn of(cylinders: &[Cylinder], job: &VolumesJob<'_>) -> Option<Self> {
        let (bore_m, stroke_m) = (job.geometry.bore_m, job.geometry.stroke_m);
        let first = cylinders.first()?;
        let own = |part: &MeasuredPart| {
            matches!(part, MeasuredPart::Chamber | MeasuredPart::Dome | MeasuredPart::DeckClearance)
        };
        let shares = job.by_cylinder.first()?.ratio_shares(bore_m, stroke_m);
        let squares = shares.iter().filter(|s| own(&s.part)).map(|s| s.ratio_half_width.powi(2));
        let apart_half_width = (2.0 * squares.sum::<f64>()).sqrt();
        let (mut highest, mut lowest) = (first, first);
        for cylinder in cylinders {
            if cylinder.compression_ratio > highest.compression_ratio {
                highest = cylinder;
            }
            if cylinder.compression_ratio < lowest.compression_ratio {
                lowest = cylinder;
            }
        }
        Some(Self {
            highest_cylinder: highest.cylinder,
            highest_ratio: highest.compression_ratio,
            lowest_cylinder: lowest.cylinder,
            lowest_ratio: lowest.compression_ratio,
            highest_to_mean_m3: highest.to_mean_m3,
            apart_half_width,
            octane: OctaneChange::of_ratio(
                highest.compression_ratio - lowest.compression_ratio,
                job.octane.per_ratio,
            ),
        })
    }
}
