//! All that measured volumes, or a ratio alone, say of the compression of an engine.

use super::{
    CamSheet, CrankingPressure, Cylinder, MeasuredPart, MeasuredVolumes, OctaneSlope, Spread, Tolerances,
    VolumesRemark, WantedRatio, cranking_pressure, squish,
};
use crate::engine::{Cam, Geometry};
use crate::units::CompressionRatio;
use schemars::JsonSchema;
use serde::Serialize;

/// What a sheet is made from.
#[derive(Clone, Copy, Debug)]
pub struct VolumesJob<'a> {
    /// Name of the build.
    pub scenario: &'a str,
    /// The engine; its ratio is that of `volumes` where they are given.
    pub geometry: &'a Geometry,
    /// Inlet closing [deg after bottom dead centre], 10 to 100.
    pub inlet_closes_deg_abdc: f64,
    /// Where the inlet valve seats [deg after bottom dead centre], up to 180.
    pub inlet_seats_deg_abdc: f64,
    /// The cam, where its card is known.
    pub cam: Option<&'a Cam>,
    /// Absolute air pressure [Pa].
    pub air_pressure_pa: f64,
    /// The mean cylinder, where volumes were measured.
    pub volumes: Option<&'a MeasuredVolumes>,
    /// Each cylinder, where measured one by one; else empty.
    pub by_cylinder: &'a [MeasuredVolumes],
    /// What a little more ratio asks of octane.
    pub octane: &'a OctaneSlope,
    /// A target ratio.
    pub wanted: Option<Wanted>,
}

/// A target ratio.
#[derive(Clone, Copy, Debug)]
pub struct Wanted {
    /// The ratio.
    pub ratio: CompressionRatio,
    /// Octane numbers more per unit of ratio, from the present ratio to the target, MBT timing at either.
    pub octane_per_ratio: f64,
}

/// Compression of an engine: ratio, volumes, what they are known to, and what a target ratio takes.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct VolumesSheet {
    /// Name of the build.
    pub scenario: String,
    /// Geometric compression ratio [-], from the mean clearance volume of all cylinders.
    pub compression_ratio: f64,
    /// Number of cylinders.
    pub cylinders: u32,
    /// Bore [m].
    pub bore_m: f64,
    /// Stroke [m].
    pub stroke_m: f64,
    /// Swept volume of one cylinder [m3].
    pub swept_m3: f64,
    /// Clearance volume of one cylinder, the mean of all [m3].
    pub clearance_m3: f64,
    /// Inlet closing at 1 mm of valve lift [deg after bottom dead centre].
    pub inlet_closes_deg_abdc: f64,
    /// Volume at inlet closing at 1 mm of valve lift over clearance volume [-], by the exact slider-crank.
    pub ratio_from_inlet_closing: f64,
    /// Absolute air pressure [Pa].
    pub air_pressure_pa: f64,
    /// Compression pressure at cranking speed.
    pub cranking: CrankingPressure,
    /// What a little more ratio asks of octane.
    pub octane: OctaneSlope,
    /// What was measured; null when only a ratio was stated.
    pub measured: Option<Measured>,
    /// Each cylinder; empty when none was measured by itself.
    pub by_cylinder: Vec<Cylinder>,
    /// How far the cylinders are apart; null when none was measured by itself.
    pub spread: Option<Spread>,
    /// What a target ratio takes; null when none is asked for.
    pub wanted: Option<WantedRatio>,
    /// What the reader should mind.
    pub cautions: Vec<VolumesCaution>,
    /// Where the inlet valve seats [deg after bottom dead centre]: by the cam card, or 15 deg later than at 1 mm.
    pub inlet_seats_deg_abdc: f64,
    /// Valve events at each lift, with the ratio from each inlet closing; null without a cam card.
    pub cam: Option<CamSheet>,
}

/// What a reader of a sheet should mind; the report says it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum VolumesCaution {
    /// What to mind of the volumes as measured.
    Remark(VolumesRemark),
    /// The crevice above the top ring is taken as nothing.
    CreviceNotStated {
        /// What a usual one, [`USUAL_CREVICE_M3`], would lower the ratio by [-].
        lowers_ratio_by: f64,
    },
    /// Volumes tell no clearance of valves and pistons.
    MeasureClearances,
    /// More ratio asks for more octane.
    MoreOctane,
    /// The seat events rest on a usual ramp, for the card states no advertised duration.
    UsualRamp,
    /// A cam card is not the cam as it stands in the engine.
    DegreeTheCam,
}

/// Usual crevice above the top ring of one cylinder [m3]. Common practice, no source.
pub const USUAL_CREVICE_M3: f64 = 0.5e-6;

/// The measurements and how well they make the ratio known.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Measured {
    /// 10th percentile of the ratio [-].
    pub ratio_low: f64,
    /// 90th percentile of the ratio [-].
    pub ratio_high: f64,
    /// Half width of that band [-].
    pub ratio_half_width: f64,
    /// Squish clearance, deck clearance plus gasket, of the tightest cylinder [m].
    pub squish_clearance_m: f64,
    /// The measurements.
    pub parts: Vec<Measurement>,
    /// Change of ratio for 1 cc more of chamber [-].
    pub ratio_per_chamber_cc: f64,
    /// Change of ratio for 0.1 mm more of gasket [-].
    pub ratio_per_gasket_tenth_mm: f64,
    /// Change of ratio for 0.1 mm more of deck clearance [-].
    pub ratio_per_deck_tenth_mm: f64,
}

/// One measurement.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Measurement {
    /// What was measured.
    pub part: MeasuredPart,
    /// Its value when it is a length [m].
    pub length_m: Option<f64>,
    /// What it adds to the clearance volume, dome negative [m3]; null for gasket bore, bore and stroke.
    pub clearance_m3: Option<f64>,
    /// Half width of its 10-90 band when it is a length [m].
    pub tolerance_m: Option<f64>,
    /// Half width of its 10-90 band when it is a volume [m3].
    pub tolerance_m3: Option<f64>,
    /// Whether that tolerance is the usual one of common practice.
    pub tolerance_is_usual: bool,
    /// Half width of the ratio that it alone would make [-].
    pub ratio_half_width: f64,
    /// Its share of the variance of the ratio [-].
    pub share_frac: f64,
}

impl VolumesJob<'_> {
    /// Squish clearance of the tightest cylinder [m]; that of the mean one where none was measured by
    /// itself.
    pub(super) fn tightest_squish_m(&self, mean: &MeasuredVolumes) -> f64 {
        let each = self.by_cylinder.iter().map(MeasuredVolumes::squish_clearance_m);
        each.fold(mean.squish_clearance_m(), f64::min)
    }
}

impl VolumesSheet {
    /// All that the job's volumes or ratio say.
    pub fn new(job: &VolumesJob<'_>) -> Self {
        let geometry = job.geometry;
        let from_closing = geometry.ratio_from_inlet_closing(job.inlet_closes_deg_abdc);
        let seated = geometry.ratio_from_inlet_closing(job.inlet_seats_deg_abdc);
        let by_cylinder = Cylinder::all(job);
        let wanted = job.wanted.map(|wanted| WantedRatio::new(job, wanted));
        Self {
            scenario: job.scenario.to_owned(),
            compression_ratio: geometry.compression_ratio.get(),
            cylinders: geometry.cylinders,
            bore_m: geometry.bore_m,
            stroke_m: geometry.stroke_m,
            swept_m3: geometry.swept_volume_m3(),
            clearance_m3: geometry.clearance_volume_m3(),
            inlet_closes_deg_abdc: job.inlet_closes_deg_abdc,
            ratio_from_inlet_closing: from_closing,
            air_pressure_pa: job.air_pressure_pa,
            cranking: cranking_pressure(job.air_pressure_pa, seated),
            octane: job.octane.clone(),
            measured: job.volumes.map(|volumes| measured(job, volumes)),
            spread: Spread::of(&by_cylinder, job),
            by_cylinder,
            cautions: cautions(job),
            wanted,
            inlet_seats_deg_abdc: job.inlet_seats_deg_abdc,
            cam: job.cam.map(|cam| CamSheet::new(cam, geometry)),
        }
    }
}

fn measured(job: &VolumesJob<'_>, volumes: &MeasuredVolumes) -> Measured {
    let geometry = job.geometry;
    let (bore_m, stroke_m) = (geometry.bore_m, geometry.stroke_m);
    let ratio = geometry.compression_ratio.get();
    let half = volumes.ratio_tolerance(bore_m, stroke_m);
    let slope = |part| volumes.ratio_slope(bore_m, stroke_m, part);
    Measured {
        ratio_low: ratio - half,
        ratio_high: ratio + half,
        ratio_half_width: half,
        squish_clearance_m: job.tightest_squish_m(volumes),
        parts: measurements(volumes, bore_m, stroke_m),
        ratio_per_chamber_cc: slope(MeasuredPart::Chamber) * 1e-6,
        ratio_per_gasket_tenth_mm: slope(MeasuredPart::GasketThickness) * 1e-4,
        ratio_per_deck_tenth_mm: slope(MeasuredPart::DeckClearance) * 1e-4,
    }
}

fn measurements(volumes: &MeasuredVolumes, bore_m: f64, stroke_m: f64) -> Vec<Measurement> {
    let usual = MeasuredVolumes { tolerances: Tolerances::USUAL, ..*volumes };
    let usual = usual.ratio_shares(bore_m, stroke_m);
    let shares = volumes.ratio_shares(bore_m, stroke_m).into_iter().zip(usual);
    shares
        .map(|(share, usual)| {
            let v = volumes;
            let (length_m, clearance_m3) = match share.part {
                MeasuredPart::Chamber => (None, Some(v.chamber_m3)),
                MeasuredPart::Dome => (None, Some(-v.dome_m3)),
                MeasuredPart::Relief => (None, Some(v.relief_m3)),
                MeasuredPart::DeckClearance => (Some(v.deck_clearance_m), Some(v.deck_volume_m3(bore_m))),
                MeasuredPart::GasketBore => (Some(v.gasket_bore_m), None),
                MeasuredPart::GasketThickness => (Some(v.gasket_thickness_m), Some(v.gasket_volume_m3())),
                MeasuredPart::Crevice => (None, Some(v.crevice_m3)),
                MeasuredPart::Bore => (Some(bore_m), None),
                MeasuredPart::Stroke => (Some(stroke_m), None),
            };
            let is_length = length_m.is_some();
            Measurement {
                part: share.part,
                length_m,
                clearance_m3,
                tolerance_m: is_length.then_some(share.tolerance),
                tolerance_m3: (!is_length).then_some(share.tolerance),
                tolerance_is_usual: share.tolerance.total_cmp(&usual.tolerance).is_eq(),
                ratio_half_width: share.ratio_half_width,
                share_frac: share.share,
            }
        })
        .collect()
}

fn cautions(job: &VolumesJob<'_>) -> Vec<VolumesCaution> {
    let mut cautions = Vec::new();
    if let Some(volumes) = job.volumes {
        let remarks = [squish::remark(job.tightest_squish_m(volumes)), squish::crown_remark(volumes)];
        cautions.extend(remarks.into_iter().flatten().map(VolumesCaution::Remark));
        if volumes.crevice_m3 <= 0.0 {
            let (bore_m, stroke_m) = (job.geometry.bore_m, job.geometry.stroke_m);
            let slope = volumes.ratio_slope(bore_m, stroke_m, MeasuredPart::Crevice);
            cautions.push(VolumesCaution::CreviceNotStated { lowers_ratio_by: -slope * USUAL_CREVICE_M3 });
        }
    }
    if let Some(cam) = job.cam {
        let is_ramp_usual = cam.inlet.is_ramp_usual() || cam.exhaust.is_ramp_usual();
        cautions.extend(is_ramp_usual.then_some(VolumesCaution::UsualRamp));
        cautions.push(VolumesCaution::DegreeTheCam);
    }
    cautions.extend([VolumesCaution::MeasureClearances, VolumesCaution::MoreOctane]);
    cautions
}
