//! What to mind of measured volumes and of ways to a target ratio.

use super::{Say, squish};
use crate::engine::volumes::squish::{
    ALUMINIUM_SQUISH_M, DEEP_RELIEF_SHARE, DOME_SHARES, LAZY_SQUISH_M, TIGHT_SQUISH_M,
};
use crate::engine::volumes::{USUAL_CREVICE_M3, USUAL_GASKETS_M, VolumesCaution, VolumesRemark, WayFault};
use crate::report::Units;
use crate::report::quantity::{fixed, percent};
use crate::units::M_PER_INCH;

metric_words!(VolumesCaution, VolumesRemark, WayFault);

/// Why a head cut is only the least where the chamber was not measured at its face.
pub(in crate::report) const OVER_THE_GASKET_BORE: &str = "taken over the whole gasket bore; most chambers are narrower at the \
     face and need more: measure one and give head_cut_cc_per_mm";

/// A small length, in inches beside it where it is metric: shops have gauges of both.
fn gap(length_m: f64, units: Units) -> String {
    let inches = format!("{} in", fixed(length_m / M_PER_INCH, 3));
    match units {
        Units::Metric => format!("{} mm ({inches})", fixed(length_m * 1e3, 2)),
        Units::Us => inches,
    }
}

impl Say for WayFault {
    fn say(&self, units: Units) -> String {
        let gap = |length_m: f64| gap(length_m, units);
        match *self {
            Self::DomeOverChamber => "a dome larger than the chamber it stands in".to_owned(),
            Self::DishTooDeep { depth_m } => {
                format!("a dish {} deep over the whole bore; a usual crown is too thin for it", gap(depth_m))
            }
            Self::NoGasketThinEnough => {
                "no gasket is thin enough: its thickness would be negative".to_owned()
            }
            Self::GasketTooThick { most_m } => format!("it would have to be thicker than {}", gap(most_m)),
            Self::NoChamberLeft => "no chamber would be left".to_owned(),
            Self::ChamberOnlyGrows => {
                "metal cannot be put back into a chamber; cut the head or weld".to_owned()
            }
            Self::CutOnlyRaises => "a cut only raises the ratio; metal cannot be put back".to_owned(),
            Self::PistonInHead { by_m } => format!("the piston would be {} into the head", gap(by_m)),
            Self::PistonHitsHead { clearance_m } => {
                format!("the piston would come within {} of the head, and hit it", gap(clearance_m))
            }
        }
    }
}

impl Say for VolumesRemark {
    fn say(&self, units: Units) -> String {
        let gap = |length_m: f64| gap(length_m, units);
        let squish = squish(units);
        match *self {
            Self::SquishTooTight { found_m } => format!(
                "{squish} clearance of {} is below the {} that steel rods need at high rpm (aluminium rods more, some {}): the piston may hit the head",
                gap(found_m),
                gap(TIGHT_SQUISH_M.0),
                gap(ALUMINIUM_SQUISH_M)
            ),
            Self::SquishTight { found_m } => {
                format!(
                    "{squish} clearance of {} is tight: for steel rods and measured pistons only",
                    gap(found_m)
                )
            }
            Self::SquishWide { found_m } => format!(
                "{squish} clearance of {} is over {}: {squish} does little, and the rim burns late",
                gap(found_m),
                gap(LAZY_SQUISH_M)
            ),
            Self::DomeSlowsBurn { share } => {
                let much = if share > DOME_SHARES.1 { " much" } else { "" };
                let [share, over] = [share, DOME_SHARES.0].map(|share| percent(share, 0));
                format!(
                    "a dome of {share} % of the chamber slows the burn{much} (over {over} %): a smaller chamber with a flatter crown is better"
                )
            }
            Self::DeepReliefs { share } => {
                let [share, over] = [share, DEEP_RELIEF_SHARE].map(|share| percent(share, 0));
                format!("reliefs of {share} % of the chamber are deep (over {over} %) and slow the burn")
            }
            Self::UnusualGasket => {
                format!("gaskets are commonly {} to {}", gap(USUAL_GASKETS_M.0), gap(USUAL_GASKETS_M.1))
            }
            Self::PistonsStandOut { by_m } => {
                format!("the pistons are then {} out of the block", gap(by_m))
            }
            Self::HeadFaceNotMeasured => OVER_THE_GASKET_BORE.to_owned(),
            Self::DeepCut => "a deep cut: ask how much metal the part has left".to_owned(),
        }
    }
}

impl Say for VolumesCaution {
    fn say(&self, units: Units) -> String {
        match self {
            Self::Remark(remark) => sentence(&remark.say(units)),
            Self::CreviceNotStated { lowers_ratio_by } => format!(
                "The crevice above the top ring is not stated and taken as nothing; a usual {:.1} cc would lower the ratio by {lowers_ratio_by:.2}.",
                1e6 * USUAL_CREVICE_M3
            ),
            Self::UsualRamp => "The cam card gives no advertised duration. The events at the seat, and the cranking pressure, rest on a usual ramp (common practice, no source): give inlet_advertised_duration_deg.".to_owned(),
            Self::DegreeTheCam => "The lift between the figures of the cam card is a smooth curve through them, and a cam may be a few degrees off its card: degree it in, and read the events where they matter.".to_owned(),
            Self::MeasureClearances => "After any change of piston, gasket, deck or head measure valve-to-piston clearance (clay, or a light spring and a dial gauge) and piston-to-head clearance: no volume tells them.".to_owned(),
            Self::MoreOctane => "More ratio needs more octane: an estimate, not a calibration. Start retarded, listen for knock; measure the ethanol content; the law on emissions and the qualified practitioner's judgement come first.".to_owned(),
        }
    }
}

/// A remark as a sentence of its own.
fn sentence(remark: &str) -> String {
    let mut letters = remark.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    first.into_iter().chain(letters).chain(['.']).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn gaps_are_said_in_the_units_of_the_shop() {
        let tight = VolumesRemark::SquishTight { found_m: 0.95e-3 };
        let end = "is tight: for steel rods and measured pistons only";
        assert_eq!(tight.to_string(), format!("squish clearance of 0.95 mm (0.037 in) {end}"));
        assert_eq!(tight.say(Units::Us), format!("quench clearance of 0.037 in {end}"));
        let caution = VolumesCaution::Remark(VolumesRemark::DomeSlowsBurn { share: 0.24 });
        assert!(
            caution.to_string().starts_with("A dome of 24 % of the chamber slows the burn much (over 10 %)")
        );
        let some = VolumesRemark::DomeSlowsBurn { share: 0.12 };
        assert!(some.to_string().contains("slows the burn (over"));
    }
}
