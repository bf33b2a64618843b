//! How well the ratio is known when each measurement is known within a tolerance.

use super::{MeasuredVolumes, area_m2};
use schemars::JsonSchema;
use serde::Serialize;
use std::f64::consts::PI;

/// Half width of the 10-90 band of each measurement: eight of ten repeats fall within plus or minus
/// this much of the true value. All are 0 or more.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerances {
    /// Of the chamber volume [m3].
    pub chamber_m3: f64,
    /// Of the dome or dish volume [m3].
    pub dome_m3: f64,
    /// Of the volume of the valve reliefs [m3].
    pub relief_m3: f64,
    /// Of the deck clearance [m].
    pub deck_clearance_m: f64,
    /// Of the gasket bore [m].
    pub gasket_bore_m: f64,
    /// Of the compressed gasket thickness [m].
    pub gasket_thickness_m: f64,
    /// Of the ring-land crevice [m3].
    pub crevice_m3: f64,
    /// Of the cylinder bore [m].
    pub bore_m: f64,
    /// Of the stroke [m].
    pub stroke_m: f64,
}

impl Tolerances {
    /// What a careful shop reaches with burette and plate, depth gauge, bore gauge and a catalogue
    /// gasket. Common practice, no source.
    pub const USUAL: Self = Self {
        chamber_m3: 0.3e-6,
        dome_m3: 0.4e-6,
        relief_m3: 0.2e-6,
        deck_clearance_m: 0.05e-3,
        gasket_bore_m: 0.3e-3,
        gasket_thickness_m: 0.05e-3,
        crevice_m3: 0.2e-6,
        bore_m: 0.01e-3,
        stroke_m: 0.03e-3,
    };
}

/// A measurement that the ratio rests on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum MeasuredPart {
    /// Chamber volume.
    Chamber,
    /// Dome or dish volume.
    Dome,
    /// Volume of the valve reliefs.
    Relief,
    /// Deck clearance.
    DeckClearance,
    /// Gasket bore.
    GasketBore,
    /// Compressed gasket thickness.
    GasketThickness,
    /// Ring-land crevice.
    Crevice,
    /// Cylinder bore.
    Bore,
    /// Stroke.
    Stroke,
}

/// What the tolerance of one measurement does to the ratio.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RatioShare {
    /// The measurement.
    pub part: MeasuredPart,
    /// Half width of its 10-90 band [m3 or m].
    pub tolerance: f64,
    /// Half width of the 10-90 band of the ratio that it alone would make [-], 0 or more.
    pub ratio_half_width: f64,
    /// Its share of the variance of the ratio [-], 0 to 1.
    pub share: f64,
}

impl MeasuredVolumes {
    /// Slope of the ratio over each measurement [1/m3 or 1/m], and the tolerance of that measurement.
    ///
    /// r = 1 + V/c with V = pi/4 B^2 S: dr/dc = -(r-1)/c times the slope of c; bore and stroke move V
    /// as well.
    fn slopes(&self, bore_m: f64, stroke_m: f64) -> [(MeasuredPart, f64, f64); 9] {
        let above_one = self.ratio(bore_m, stroke_m) - 1.0;
        let by_volume = -above_one / self.clearance_m3(bore_m);
        let t = &self.tolerances;
        let bore_slope = above_one * 2.0 / bore_m + by_volume * 0.5 * PI * bore_m * self.deck_clearance_m;
        let gasket_bore_slope = by_volume * 0.5 * PI * self.gasket_bore_m * self.gasket_thickness_m;
        [
            (MeasuredPart::Chamber, by_volume, t.chamber_m3),
            (MeasuredPart::Dome, -by_volume, t.dome_m3),
            (MeasuredPart::Relief, by_volume, t.relief_m3),
            (MeasuredPart::DeckClearance, by_volume * area_m2(bore_m), t.deck_clearance_m),
            (MeasuredPart::GasketBore, gasket_bore_slope, t.gasket_bore_m),
            (MeasuredPart::GasketThickness, by_volume * area_m2(self.gasket_bore_m), t.gasket_thickness_m),
            (MeasuredPart::Crevice, by_volume, t.crevice_m3),
            (MeasuredPart::Bore, bore_slope, t.bore_m),
            (MeasuredPart::Stroke, above_one / stroke_m, t.stroke_m),
        ]
    }

    /// Slope of the ratio over one measurement [1/m3 or 1/m]: the change of ratio per unit of it.
    pub fn ratio_slope(&self, bore_m: f64, stroke_m: f64, part: MeasuredPart) -> f64 {
        self.slopes(bore_m, stroke_m)
            .into_iter()
            .find(|(p, ..)| *p == part)
            .map_or(0.0, |(_, slope, _)| slope)
    }

    /// Half width of the 10-90 band of the ratio [-]: the root of the sum of squares over all
    /// measurements, to first order.
    ///
    /// # Arguments
    /// - `bore_m`, `stroke_m`: of the cylinder [m]
    ///
    /// # Validity
    /// Independent, normally spread errors, small against the clearance; a tolerance of 5 % of the
    /// clearance shifts the ends of the band by some 5 % of its width.
    ///
    /// # Source
    /// First-order propagation of independent errors (JCGM 100:2008, section 5.1.2; from memory).
    pub fn ratio_tolerance(&self, bore_m: f64, stroke_m: f64) -> f64 {
        self.slopes(bore_m, stroke_m)
            .into_iter()
            .map(|(_, slope, tolerance)| (slope * tolerance).powi(2))
            .sum::<f64>()
            .sqrt()
    }

    /// What each measurement adds to the tolerance of the ratio, in the order of [`MeasuredPart`]; see
    /// [`Self::ratio_tolerance`]. The shares sum to 1 unless every tolerance is 0.
    pub fn ratio_shares(&self, bore_m: f64, stroke_m: f64) -> [RatioShare; 9] {
        let whole = self.ratio_tolerance(bore_m, stroke_m);
        self.slopes(bore_m, stroke_m).map(|(part, slope, tolerance)| {
            let ratio_half_width = (slope * tolerance).abs();
            let share = if whole > 0.0 { (ratio_half_width / whole).powi(2) } else { 0.0 };
            RatioShare { part, tolerance, ratio_half_width, share }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::parts;
    use super::*;
    use approx::assert_relative_eq;

    const BORE_M: f64 = 0.084;
    const STROKE_M: f64 = 0.090;

    /// The parts, bore and stroke with one measurement moved by `step`.
    fn moved(part: MeasuredPart, step: f64) -> f64 {
        let (mut v, mut bore, mut stroke) = (parts(), BORE_M, STROKE_M);
        let target = match part {
            MeasuredPart::Chamber => &mut v.chamber_m3,
            MeasuredPart::Dome => &mut v.dome_m3,
            MeasuredPart::Relief => &mut v.relief_m3,
            MeasuredPart::DeckClearance => &mut v.deck_clearance_m,
            MeasuredPart::GasketBore => &mut v.gasket_bore_m,
            MeasuredPart::GasketThickness => &mut v.gasket_thickness_m,
            MeasuredPart::Crevice => &mut v.crevice_m3,
            MeasuredPart::Bore => &mut bore,
            MeasuredPart::Stroke => &mut stroke,
        };
        *target += step;
        v.ratio(bore, stroke)
    }

    #[test]
    fn slopes_are_those_of_the_exact_ratio_moved_both_ways() {
        for share in parts().ratio_shares(BORE_M, STROKE_M) {
            let t = share.tolerance;
            let exact = 0.5 * (moved(share.part, t) - moved(share.part, -t));
            assert_relative_eq!(share.ratio_half_width, exact.abs(), max_relative = 1e-3);
            let slope = parts().ratio_slope(BORE_M, STROKE_M, share.part);
            assert_relative_eq!(slope * t, exact, max_relative = 1e-3);
        }
    }

    #[test]
    fn shares_sum_to_one_and_go_with_the_tolerance() {
        let shares = parts().ratio_shares(BORE_M, STROKE_M);
        assert_relative_eq!(shares.iter().map(|s| s.share).sum::<f64>(), 1.0, epsilon = 1e-12);
        // HAND: 0.05 mm of an 85 mm gasket is 0.284 cc, of an 84 mm deck 0.277 cc, below 0.4 cc of dome.
        let most = shares.iter().max_by(|a, b| a.share.total_cmp(&b.share)).unwrap();
        assert_eq!(most.part, MeasuredPart::Dome);
        let zero = Tolerances { chamber_m3: 0.0, ..Tolerances::USUAL };
        let exact = MeasuredVolumes { tolerances: zero, ..parts() };
        assert!(exact.ratio_tolerance(BORE_M, STROKE_M) < parts().ratio_tolerance(BORE_M, STROKE_M));
    }
}
