//! What known knock points and timing swings have shown of an engine.

use super::uncertainty::Sample;

/// What known points have shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// Samples that agree with them, in random order.
    pub samples: Vec<Sample>,
    /// Octane numbers that the engine needs beyond the model at 3000 rpm [-].
    pub octane: f64,
    /// The same per unit of ln speed [-].
    pub octane_per_ln_speed: f64,
    /// Burn speed over that of the build [-]; 1 without a timing swing.
    pub burn_speed: f64,
    /// What a person should know of it, one line each.
    pub remarks: Vec<KnownRemark>,
}

/// What a person should know of known points and timing swings; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum KnownRemark {
    /// Octane that the engine needs at a known point.
    Octane {
        /// The point, as its scenario calls it.
        at: String,
        /// Octane numbers beyond the model [-].
        beyond_model: f64,
        /// Half width of its band [-].
        half_width: f64,
        /// The same without the known points [-].
        half_width_before: f64,
    },
    /// The known points hardly agree with the model or with each other.
    FewCases {
        /// Independent samples that are left [-].
        cases: f64,
        /// Samples that were weighted.
        of: usize,
    },
    /// Burn speed that torque over timing shows, over that of the build [-].
    BurnSpeed(f64),
    /// A timing swing that no sample comes near.
    SwingOfAnotherShape,
    /// What was heard at a point is unlikely by all else.
    Contradiction {
        /// The point, as its scenario calls it.
        at: String,
        /// What was heard.
        heard: HeardKnock,
        /// At which timing [deg before top dead centre].
        spark_deg_btdc: f64,
        /// The point that it goes least with; the model where there is no other.
        against: Option<String>,
    },
}

/// What was heard at a known point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HeardKnock {
    /// No knock.
    None,
    /// The first trace of it.
    Trace,
    /// Knock.
    Knock,
}

impl HeardKnock {
    /// All with the word for each.
    pub const ALL: [(&'static str, Self); 3] =
        [("none", Self::None), ("trace", Self::Trace), ("knock", Self::Knock)];

    /// The word for it.
    pub fn key(self) -> &'static str {
        Self::ALL.iter().find(|(_, heard)| *heard == self).map_or("", |(key, _)| *key)
    }
}
