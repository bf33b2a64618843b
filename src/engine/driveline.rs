//! From crank to wheel.

/// Driveline layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Layout {
    /// Front-wheel drive, manual gearbox.
    FrontManual,
    /// Rear-wheel drive, manual gearbox.
    RearManual,
    /// Front-wheel drive, automatic gearbox.
    FrontAutomatic,
    /// Rear-wheel drive, automatic gearbox.
    RearAutomatic,
    /// All wheels driven.
    AllWheel,
}

/// The driveline of a build.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Driveline {
    /// Layout, which gives the band of loss.
    pub layout: Layout,
    /// Measured loss as a fraction of crank power [-], 0.02 to 0.40, where known.
    pub measured_loss: Option<f64>,
}
