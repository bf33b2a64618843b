//! Findings that stand beside the numbers of an estimate.

use super::learned::KnownRemark;
use crate::engine::LimitPassed;
use crate::fuel::{ContentRange, OctaneConcern};
use crate::knock::Deposits;

/// What the builder should know beside the numbers; the report says it.
#[derive(Clone, Debug, PartialEq)]
pub enum Notice {
    /// No timing of the range keeps the wanted margin at some speeds.
    NoSafeTiming {
        /// Name of the fuel.
        fuel: String,
        /// Latest timing of the range [deg before top dead centre].
        latest_deg_btdc: f64,
        /// Octane numbers wanted in hand [-].
        reserve_octane: f64,
        /// Where [rpm].
        speeds_rpm: Vec<f64>,
    },
    /// A limit stated in the scenario is passed.
    LimitPassed {
        /// The limit.
        passed: LimitPassed,
        /// Name of the fuel on which it is passed by most.
        fuel: String,
        /// Where [rpm].
        speed_rpm: f64,
    },
    /// MBT timing lies at the early end of the range.
    MbtAtEarliest {
        /// That end [deg before top dead centre].
        deg_btdc: f64,
    },
    /// MBT timing lies at the late end of the range.
    MbtAtLatest {
        /// That end [deg before top dead centre].
        deg_btdc: f64,
    },
    /// Brake mean effective pressure is beyond what race engines reach.
    BmepInDoubt {
        /// Highest found [Pa].
        found_pa: f64,
        /// Highest of race engines on gasoline [Pa].
        credible_pa: f64,
    },
    /// The ethanol content of a fuel is a range, by volume [-].
    EthanolRange {
        /// Name of the fuel.
        fuel: String,
        /// The range.
        content: ContentRange,
    },
    /// The octane of a fuel rests on no published blend.
    OctaneInDoubt {
        /// Name of the fuel.
        fuel: String,
        /// Why.
        concern: OctaneConcern,
    },
    /// Fuels with octane beyond the scale.
    OctaneAboveScale {
        /// Their names.
        fuels: Vec<String>,
    },
    /// Deposits that the engine is taken to have.
    Deposits(Deposits),
    /// What known points have shown.
    Known(KnownRemark),
    /// A knock limit far from the speed at which the knock model is surest.
    KnockSpeed {
        /// Where [rpm].
        speed_rpm: f64,
        /// What the law over speed adds to the half width of the octane band there [-].
        half_width_octane: f64,
    },
    /// The highest speed asked is that of most power.
    PowerStillRises {
        /// That speed [rpm].
        speed_rpm: f64,
    },
    /// Some speed lies outside the table of volumetric efficiency.
    BreathingTableEnds {
        /// Lowest speed of the table [rpm].
        low_rpm: f64,
        /// Highest speed of the table [rpm].
        high_rpm: f64,
    },
}

impl Notice {
    /// Whether it says that a limit stated in the scenario is not met.
    pub fn is_limit(&self) -> bool {
        matches!(self, Self::NoSafeTiming { .. } | Self::LimitPassed { .. })
    }

    /// Whether it says what the ranges include or rest on; the others ask for a look at the build or at what was asked.
    pub fn is_of_the_range(&self) -> bool {
        match self {
            Self::EthanolRange { .. }
            | Self::OctaneAboveScale { .. }
            | Self::Deposits(_)
            | Self::KnockSpeed { .. } => true,
            Self::Known(remark) => matches!(remark, KnownRemark::Octane { .. } | KnownRemark::BurnSpeed(_)),
            _ => false,
        }
    }
}
