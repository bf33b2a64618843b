//! How octane blends with ethanol: the relation's constants, the rows they rest on, and its limits.
//!
//! ON = sum of x ON over the parts, and for RON also Z x (1 - x), x the mole fraction of ethanol.
//! Linear part: Anderson et al., Energy Fuels 24 (2010) 6576 (abstract read). Interaction: form of
//! Anderson and Wallington, Energy Fuels (2020), doi 10.1021/acs.energyfuels.9b04204 (abstract
//! read; their values not seen).

use crate::fuel::component::{ETHANOL, OctaneRating};
use std::ops::RangeInclusive;

/// Constants of the octane relation with the range of the rows behind them.
#[derive(Clone, Debug, PartialEq)]
pub struct OctaneBlending {
    /// Interaction of ethanol with gasoline in RON [-].
    pub z_ron: f64,
    /// Band of the interaction [-]; it differs from base to base.
    pub z_ron_band: RangeInclusive<f64>,
    /// Half width of octane as rated, interaction apart [-].
    pub rating_half_width: f64,
    /// Ethanol by volume up to which a gasoline is rated as it is sold, ethanol and all [-].
    pub as_sold_to: f64,
    /// Ethanol by volume from which octane is all the relation's own [-]; between the two it goes over.
    pub blended_from: f64,
    /// RON of the bases in the rows, below [`Self::any_base_from`] [-].
    pub base_ron: RangeInclusive<f64>,
    /// Ethanol by volume from which blends of all bases tried come together [-].
    pub any_base_from: f64,
    /// RON of the bases from there on [-].
    pub any_base_ron: RangeInclusive<f64>,
}

/// The shipped relation.
///
/// Z is fitted in `tests/physics/fuel_reference/octane_fit.rs` to the published rows: 6.8 without the rows
/// whose base is only assumed, 8.7 with them. Leaving out one base at a time, the fitted Z predicts
/// the base left out better than Z = 0 does, both ways. 7 is the lower one, rounded: the
/// safe side for knock. Band: aromatic bases blend linearly (Foong et al. 2014, abstract), 15 is what
/// the RON 103 to 105 plateau above 30 to 40 % asks of a RON 88 base (SAE 2015-01-0763, abstract). No
/// row fixes an interaction of MON. Half width 1.5: spread of the rows at low and high content,
/// judgement. Bases: rows from RON 84 to 95 (from memory); the plateau abstract tried four bases,
/// natural gasoline among them.
pub const OCTANE_BLENDING: OctaneBlending = OctaneBlending {
    z_ron: 7.0,
    z_ron_band: 0.0..=15.0,
    rating_half_width: 1.5,
    as_sold_to: 0.10,
    blended_from: 0.20,
    base_ron: 84.0..=96.0,
    any_base_from: 0.40,
    any_base_ron: 70.0..=96.0,
};

/// How far octane numbers may lie from those stated: their 10-90 % band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OctaneBand {
    /// Distance of the 10th percentile below [-], positive.
    pub below: f64,
    /// Distance of the 90th percentile above [-], positive.
    pub above: f64,
}

impl OctaneBlending {
    /// What the interaction adds to RON [-] at a mole fraction of ethanol.
    pub fn interaction(&self, ethanol_mole_frac: f64) -> f64 {
        self.z_ron * ethanol_mole_frac * (1.0 - ethanol_mole_frac)
    }

    /// Band of the octane numbers of a blend.
    ///
    /// Up to [`Self::as_sold_to`] it is that of a rating; the band of Z is added in quadrature, in
    /// full from [`Self::blended_from`] on.
    ///
    /// # Arguments
    /// - `ethanol_vol_frac`: ethanol by liquid volume [-], 0 to 1
    /// - `ethanol_mole_frac`: ethanol by moles among the parts that have octane numbers [-], 0 to 1
    pub fn band(&self, ethanol_vol_frac: f64, ethanol_mole_frac: f64) -> OctaneBand {
        let share = (ethanol_vol_frac - self.as_sold_to) / (self.blended_from - self.as_sold_to);
        let factor = share.clamp(0.0, 1.0) * ethanol_mole_frac * (1.0 - ethanol_mole_frac);
        let side = |z: f64| self.rating_half_width.hypot(z * factor);
        OctaneBand {
            below: side(self.z_ron - self.z_ron_band.start()),
            above: side(self.z_ron_band.end() - self.z_ron),
        }
    }
}

/// A reason why the octane of a blend is less certain than its band says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum OctaneConcern {
    /// RON above 100: beyond the primary reference scale (ASTM D2699, from memory).
    AboveScale {
        /// RON of the blend [-].
        ron: f64,
    },
    /// The rest of the blend has a RON outside that of the rows.
    Base {
        /// RON of the blend without its ethanol [-].
        ron: f64,
        /// Lowest RON of the rows' bases [-].
        low: f64,
        /// Highest RON of the rows' bases [-].
        high: f64,
    },
    /// Methanol in a blend: no published row of such a blend is behind the relation.
    Methanol,
}

/// Octane numbers of parts by mole fraction, those without octane left out.
pub(super) struct Blended {
    /// Numbers with the interaction.
    pub(super) octane: OctaneRating,
    /// Mole fraction of ethanol among the rated parts [-].
    pub(super) ethanol_mole_frac: f64,
    /// RON of the rated parts but ethanol; none when there are no such parts.
    pub(super) base_ron: Option<f64>,
    /// RON less MON of the rated parts but ethanol, by their share of all rated parts [-].
    pub(super) gasoline_sensitivity: f64,
}

impl Blended {
    /// The octane of parts, each with its name, rating and mole fraction; none when no part is rated.
    pub(super) fn of<'a>(parts: impl Iterator<Item = (&'a str, Option<OctaneRating>, f64)>) -> Option<Self> {
        let (mut ron, mut mon, mut total) = (0.0, 0.0, 0.0);
        let (mut ethanol, mut ethanol_ron, mut sensitivity) = (0.0, 0.0, 0.0);
        for (name, octane, x) in parts {
            let Some(octane) = octane else { continue };
            ron += x * octane.ron;
            mon += x * octane.mon;
            total += x;
            if name == ETHANOL {
                ethanol += x;
                ethanol_ron += x * octane.ron;
            } else {
                sensitivity += x * octane.sensitivity();
            }
        }
        if total <= 0.0 {
            return None;
        }
        let x = ethanol / total;
        let base = total - ethanol;
        Some(Self {
            octane: OctaneRating { ron: ron / total + OCTANE_BLENDING.interaction(x), mon: mon / total },
            ethanol_mole_frac: x,
            base_ron: (base > 1e-12).then(|| (ron - ethanol_ron) / base),
            gasoline_sensitivity: sensitivity / total,
        })
    }
}
