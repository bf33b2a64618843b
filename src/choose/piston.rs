//! The chosen piston beside what builders and makers run.

use super::job::{ChooseError, ChooseJob};
use super::result::{PistonCheck, UsualBand};
use crate::engine::Geometry;
use crate::engine::volumes::cranking_pressure;
use crate::units::{CompressionRatio, PA_PER_PSI};

/// Cranking pressure that is usual by grade, on the gauge [psi]: regular, premium, strong ethanol blends (common practice, no
/// source). At sea level; it goes with the air pressure.
const CRANKING_PSI: [(f64, f64); 3] = [(130.0, 190.0), (150.0, 215.0), (170.0, 245.0)];
/// Ratio from the seated valve that is usual by grade [-] (common practice, no source).
const SEATED: [(f64, f64); 3] = [(6.5, 8.6), (7.3, 9.5), (8.3, 11.0)];
/// Air pressure for which the cranking pressures are usual [Pa].
const SEA_LEVEL_PA: f64 = 101_325.0;

/// The piston of a ratio [-].
///
/// # Errors
/// [`ChooseError::Ratio`], or of the weakest blend.
pub(super) fn check(ask: &ChooseJob, ratio: f64, content: f64) -> Result<PistonCheck, ChooseError> {
    let build = &ask.job.build;
    let geometry = Geometry { compression_ratio: CompressionRatio::new(ratio)?, ..build.geometry };
    let (class, grade) = ask.practice(content)?;
    let practice = class.band(grade);
    let closes_deg = build.valves.inlet_closes_deg_abdc;
    let air_pa = ask.job.weather.pressure_pa;
    let usual = |bands: [(f64, f64); 3]| {
        let (low, high) = bands[grade as usize];
        UsualBand { low, high }
    };
    let psi = usual(CRANKING_PSI);
    let to_pa = PA_PER_PSI * air_pa / SEA_LEVEL_PA;
    let (bore_m, stroke_m) = (geometry.bore_m, geometry.stroke_m);
    let dome_m3 = ask.volumes.map(|v| v.dome_for_ratio_m3(bore_m, stroke_m, ratio));
    Ok(PistonCheck {
        class,
        grade,
        usual_ratio: UsualBand { low: practice.low, high: practice.high },
        usual_ratio_source: practice.source,
        ratio_from_inlet_closing: geometry.ratio_from_inlet_closing(closes_deg),
        cranking: cranking_pressure(
            air_pa,
            geometry.ratio_from_inlet_closing(build.valves.inlet_seats_deg_abdc()),
        ),
        usual_cranking_gauge_pa: UsualBand { low: psi.low * to_pa, high: psi.high * to_pa },
        usual_ratio_from_seated_valve: usual(SEATED),
        dome_m3,
        dome_share_frac: ask.volumes.zip(dome_m3).map(|(v, dome)| dome / v.chamber_m3),
        squish_clearance_m: ask.volumes.map(|v| v.squish_clearance_m()),
        measured_ratio_tolerance: ask.volumes.map(|v| v.ratio_tolerance(bore_m, stroke_m)),
    })
}

impl UsualBand {
    /// Whether a value lies within.
    pub fn holds(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}
