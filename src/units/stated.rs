//! What people state in more than one place, with its unit and the values that are allowed: keys of files, options,
//! columns of logs, sliders and what a fit may write take them from here. A key that stands in one place alone has its
//! range there, in the reader of its section. All of them are common practice without source: they refuse slips.

use super::{Allowed, CompressionRatio, Lambda, Unit};

/// Temperature of the air.
pub const AIR_TEMPERATURE: Allowed = Unit::Celsius.of(-20.0..=50.0);
/// Absolute pressure of the air, not reduced to sea level.
pub const AIR_PRESSURE: Allowed = Unit::Kilopascal.of(50.0..=110.0);
/// Altitude, in place of the pressure of the air.
pub const ALTITUDE: Allowed = Unit::Metre.of(-400.0..=5000.0);
/// A share of a whole, such as relative humidity or ethanol by volume.
pub const SHARE_PERCENT: Allowed = Unit::Percent.of(0.0..=100.0);
/// Engine speeds the model is meant for.
pub const ENGINE_SPEED: Allowed = Unit::Rpm.of(500.0..=15_000.0);
/// Geometric compression ratio.
pub const COMPRESSION_RATIO: Allowed = Unit::None.of(CompressionRatio::RANGE);
/// Mixture at full load.
pub const LAMBDA: Allowed = Unit::Lambda.of(Lambda::RANGE);
/// Ignition timing that an engine may have been run at, before top dead centre.
pub const TIMING: Allowed = Unit::CrankDegree.of(-40.0..=80.0);
/// Octane numbers to keep in hand, or that a weak tank lacks.
pub const OCTANE_MARGIN: Allowed = Unit::None.of(0.0..=10.0);
/// Volumetric efficiency in a table.
pub const VOLUMETRIC_EFFICIENCY: Allowed = Unit::Fraction.of(0.4..=1.5);
/// Half width of the band of such a table.
pub const VE_SPREAD: Allowed = Unit::Percent.of(0.5..=30.0);
/// Change of volumetric efficiency with an input that it follows.
pub const VE_CHANGE: Allowed = Unit::Percent.of(-30.0..=30.0);
/// Mean flow coefficient of the inlet valves.
pub const FLOW_COEFFICIENT: Allowed = Unit::None.of(0.2..=0.6);
/// Runner of the intake, from where it begins to the face of the head.
pub const RUNNER_LENGTH: Allowed = Unit::Millimetre.of(20.0..=1000.0);
/// Primary of the exhaust, from the valve to the collector.
pub const PRIMARY_LENGTH: Allowed = Unit::Millimetre.of(80.0..=2000.0);
/// Flow through the valves over that of the bench sheet or as usual.
pub const VALVE_FLOW: Allowed = Unit::None.of(0.8..=1.25);
/// Friction along the pipes over the usual.
pub const PIPE_DAMPING: Allowed = Unit::None.of(0.3..=3.0);
/// VE against what is computed from pipes.
pub const PIPES_LEVEL: Allowed = Unit::Percent.of(-40.0..=40.0);
/// Burn speed against a usual chamber of the same shape.
pub const BURN_SPEED: Allowed = Unit::None.of(0.6..=1.5);
/// Driveline loss at peak power, of the power at the flywheel.
pub const DRIVELINE_LOSS: Allowed = Unit::Percent.of(2.0..=40.0);
/// Half width of the band of the driveline loss, of the loss.
pub const DRIVELINE_LOSS_SPREAD: Allowed = Unit::Percent.of(1.0..=60.0);
/// Temperature of the coolant.
pub const COOLANT_TEMPERATURE: Allowed = Unit::Celsius.of(60.0..=120.0);
/// Power at the wheels that can be asked for.
pub const WHEEL_POWER: Allowed = Unit::Kilowatt.of(2.0..=2000.0);
