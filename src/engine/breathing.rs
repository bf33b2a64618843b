//! Volumetric efficiency over speed: a measured table, or a band for a kind of build.

/// Kind of build for which a band of volumetric efficiency is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BuildKind {
    /// Production engine, two valves a cylinder.
    ProductionTwoValve,
    /// Production engine, four valves a cylinder.
    ProductionFourValve,
    /// Tuned engine: long runners or individual throttles, good cams and exhaust.
    Tuned,
    /// Race engine, intake and exhaust tuned to one speed range.
    Race,
}

/// Where volumetric efficiency comes from. It is stated on dry air at ambient density, with
/// gasoline at best-power mixture; the effect of another fuel is computed, not stated.
#[derive(Clone, Debug, PartialEq)]
pub enum Breathing {
    /// Measured or assumed values over speed, with a relative spread.
    Table {
        /// Engine speeds [rpm], rising.
        speed_rpm: Vec<f64>,
        /// Volumetric efficiency at each speed [-].
        volumetric_efficiency: Vec<f64>,
        /// Relative half-width of the 10-90 % band [-].
        spread: f64,
    },
    /// The published or common-practice band of a kind of build.
    Band {
        /// The kind of build.
        kind: BuildKind,
        /// Speed of the highest volumetric efficiency [rpm].
        peak_speed_rpm: f64,
    },
}
