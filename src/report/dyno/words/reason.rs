//! Why a check comes to what it does, in a sentence or two.

use super::super::super::Units;
use crate::air::CorrectionStandard;
use crate::dyno::{
    COPY_PERCENT, Check, CurveFinding, Finding, Implied, Interval, Measure, PowerRatio, RowFinding,
    SPIKE_PERCENT,
};
use crate::report::quantity::Dimension::TemperatureStep;
use crate::report::words::Say as _;

/// The reason of a check.
pub(in crate::report::dyno) fn reason(check: &Check, units: Units) -> String {
    let m = check.measure;
    match &check.finding {
        Finding::TorqueTimesSpeed(found) => power_ratio(m.value, *found),
        Finding::CorrectionRange { outside: Some(found), .. } => {
            format!("The weather is outside the range of the standard: {}.", found.say(units))
        }
        Finding::CorrectionRange { standard, outside: None } => {
            format!("{} corrects this weather by {:.3}.", standard.title(), m.value)
        }
        Finding::CorrectionLogged { standard, logged, computed, undone, other } => {
            let (title, off, undone) = (standard.title(), off(m.value), off(*undone));
            let both =
                format!("The log corrects by {logged:.3}; {title} gives {computed:.3} in this weather");
            if m.is_consistent() {
                return both + ".";
            }
            let other = other.map(|other| format!(" {logged:.3} is the factor of {}.", other.title()));
            format!(
                "{both}: the figures are {off} what this weather justifies. With the logged factor undone instead, torque is {undone} the likely estimate.{}",
                other.unwrap_or_default()
            )
        }
        Finding::FactorBeside { logged, standards } => factor_beside(m, *logged, standards),
        Finding::OverCorrection { factors, is_near, corrected } => {
            over_correction(m, *factors, *is_near, *corrected)
        }
        Finding::Implied(found) => implied(m, found, units),
        Finding::Curve(found) => curve(m, found),
        Finding::Rows(found) => rows(m, found, units),
    }
}

/// A ratio as a signed percentage.
fn off(ratio: f64) -> String {
    let percent = 100.0 * (ratio - 1.0);
    let way = if percent < 0.0 { "below" } else { "above" };
    format!("{:.0} % {way}", percent.abs())
}

fn power_ratio(ratio: f64, found: PowerRatio) -> String {
    match found {
        PowerRatio::Agrees => "Logged power is logged torque times rpm.".to_owned(),
        PowerRatio::MixedUp { is, labelled } => {
            format!("Power is {ratio:.3} times torque times rpm: {}.", super::causes::unit(is, labelled))
        }
        PowerRatio::Axle => {
            let gearing = 1.0 / ratio;
            format!(
                "Torque times rpm is {gearing:.2} times power at every rpm: torque may be that of the axle, not referred to crank speed (overall gearing {gearing:.2})."
            )
        }
        PowerRatio::Unknown(off) => format!(
            "Power is {ratio:.3} times torque times rpm, and half of the rows are more than {:.1} % off that ratio: they may come from different channels or smoothing.",
            100.0 * off
        ),
    }
}

fn factor_beside(m: Measure, logged: f64, standards: &[CorrectionStandard]) -> String {
    let titles: Vec<&str> = standards.iter().map(|standard| standard.title()).collect();
    let whose = if titles.is_empty() {
        String::new()
    } else {
        format!(", which {} gives in this weather", titles.join(" or "))
    };
    let end = if m.is_consistent() {
        ""
    } else {
        ": say by which standard the figures are corrected, or that the factor is shown and not applied"
    };
    format!(
        "The figures are said to be as measured, and a correction factor of {logged:.3} is logged beside them{whose}{end}."
    )
}

fn over_correction(m: Measure, [least, most]: [f64; 2], is_near: bool, corrected: bool) -> String {
    let end = match (is_near, m.is_consistent()) {
        (false, _) => ": the one is not the other",
        (true, true) => "; but the excess is within the band and need not be a correction",
        (true, false) if corrected => ": the figures may be corrected twice",
        (true, false) => ": the figures may be already corrected, though stated to be as measured",
    };
    let scale = m.value;
    format!(
        "Torque is {scale:.2} times expected torque everywhere, and published standards correct this weather by {least:.2} to {most:.2}{end}."
    )
}

/// What torque, fuel flow and mixture imply.
fn implied(m: Measure, found: &Implied, units: Units) -> String {
    let (value, off) = (m.value, off(m.value));
    match found {
        Implied::MeanEffectivePressure { speed_rpm, least_ratio } => {
            let lower = 100.0 * (1.0 - least_ratio);
            format!(
                "BMEP peaks at {speed_rpm:.0} rpm, with the likely driveline loss added; with the least loss of the band it is {lower:.0} % lower."
            )
        }
        Implied::VolumetricEfficiency { highest, speed_rpm, source } => format!(
            "To make this torque at the timing of the estimate the engine needs a VE of {highest:.2} at {speed_rpm:.0} rpm, {off} the likely VE over all rpm; {}.",
            source.say(units)
        ),
        Implied::AirFromFuel { lambda_logged } => {
            let whose = if *lambda_logged { "logged" } else { "planned" };
            format!(
                "Fuel flow and {whose} lambda give {value:.2} times the air that the torque needs; this does not depend on the VE of the scenario."
            )
        }
        Implied::FuelConsumption { lambda } => {
            let word = match m.consistent {
                Interval { low: Some(low), .. } if value < low => {
                    "too little fuel for the power, or too much power for the fuel"
                }
                Interval { high: Some(high), .. } if value > high => {
                    "too much fuel for the power, or too little power for the fuel"
                }
                _ => "the fuel explains the power",
            };
            format!(
                "Fuel flow over implied crank power against full-load figures for this fuel at lambda {lambda:.2}: {word}."
            )
        }
        Implied::Mixture { logged, planned, scale } => {
            let rich = if value < 0.0 { "richer" } else { "leaner" };
            let way = if m.is_consistent() { String::new() } else { format!(", {:.2} {rich}", value.abs()) };
            let scale = scale.map(|scale| {
                format!(
                    " On a scale of {scale:.1} at lambda 1 the same readings are near the planned mixture: try --afr-stoich {scale:.1}, or log lambda."
                )
            });
            format!(
                "The log has lambda {logged:.2}, the estimate runs at {planned:.2}{way}.{}",
                scale.unwrap_or_default()
            )
        }
        Implied::DrivelineLoss { layout } => {
            let (loss, way) = (value.abs(), if value < 0.0 { "more" } else { "less" });
            let [low, high] = [100.0 * layout.low, 100.0 * layout.high];
            format!(
                "Wheel torque is {loss:.0} % {way} than the likely crank torque of the estimate; the layout loses {low:.0} to {high:.0} % at peak power."
            )
        }
    }
}

/// How the curve stands to that of the estimate.
fn curve(m: Measure, found: &CurveFinding) -> String {
    let percent = m.value.abs();
    match found {
        CurveFinding::Band { inside, near, points, worst_ratio, worst_speed_rpm, .. } => format!(
            "{inside} of {points} points are within the limits of the level, {near} within the limits of what is credible; the worst is {} expected torque at {worst_speed_rpm:.0} rpm.",
            off(*worst_ratio)
        ),
        CurveFinding::Scale => {
            format!("Torque is {} expected torque, everywhere alike.", off(m.value))
        }
        CurveFinding::Tilt => {
            let way = if m.value < 0.0 { "falls" } else { "rises" };
            let tilt =
                format!("Measured over expected torque {way} by {percent:.0} % over the compared rpm.");
            if m.is_consistent() {
                return tilt;
            }
            tilt + " A power or torque added as a constant, or a loss that grows with rpm, makes it read progressively high or low; so does a VE that peaks at another rpm than the scenario says."
        }
        CurveFinding::Peak { found_rpm, wanted_rpm, at_end } => {
            let end = " One of them is at the end of the compared rpm and may lie beyond.";
            format!(
                "Power is highest about {found_rpm:.0} rpm, in the estimate about {wanted_rpm:.0} rpm.{}",
                if *at_end { end } else { "" }
            )
        }
        CurveFinding::Fall { found_percent, wanted_percent, end_rpm } => format!(
            "Torque falls by {found_percent:.0} % from its peak to {end_rpm:.0} rpm, in the estimate by {wanted_percent:.0} %."
        ),
        CurveFinding::SpeedAxis { share } if m.is_consistent() => format!(
            "A wrong gear explains the curve no better than other causes ({} of the probability).",
            percent_of(*share)
        ),
        CurveFinding::SpeedAxis { share } => format!(
            "Rpm divided by {:.2} and torque multiplied by it explain the curve better than anything else ({} of the probability): a wrong gear, or a wrong ratio of roller to engine rpm.",
            m.value,
            percent_of(*share)
        ),
    }
}

fn percent_of(share: f64) -> String {
    format!("{:.0} %", 100.0 * share)
}

/// How the rows scatter and the pulls differ.
fn rows(m: Measure, found: &RowFinding, units: Units) -> String {
    let percent = m.value;
    match found {
        RowFinding::Scatter if m.is_consistent() => {
            format!("Rows scatter by {percent:.2} % about their neighbours, as a measurement does.")
        }
        RowFinding::Scatter => format!(
            "Rows scatter by {percent:.3} % about their neighbours, far less than a measurement does: the curve is smoothed so hard that dips and peaks are gone and pulls cannot be told apart."
        ),
        RowFinding::Spikes { beyond: 0, .. } => {
            format!("No row is more than {percent:.1} % off its neighbours.")
        }
        RowFinding::Spikes { beyond, rows, line, speed_rpm } => {
            let most = m.consistent.high.unwrap_or(SPIKE_PERCENT);
            format!(
                "{beyond} of {rows} rows are more than {most:.0} % off their neighbours, the worst in line {line} at {speed_rpm:.0} rpm by {percent:.1} %."
            )
        }
        RowFinding::Dips(bumps) if bumps.is_empty() => {
            let way = if percent < 0.0 { "below" } else { "above" };
            format!("Torque is at most {:.1} % {way} the smooth curve of its own pull.", percent.abs())
        }
        RowFinding::Dips(bumps) => {
            let said: Vec<String> = bumps.iter().map(super::bump).collect();
            format!("Against the smooth curve of the same pull, {}.", said.join("; and "))
        }
        RowFinding::Order { off_first_percent, air_rise_k } => {
            order(m, off_first_percent, *air_rise_k, units)
        }
        RowFinding::Repeat { pulls } if percent < COPY_PERCENT => {
            format!("The {pulls} pulls differ by {percent:.3} %: they are copies of one pull.")
        }
        RowFinding::Repeat { pulls } => format!("The {pulls} pulls differ by {percent:.1} % in the mean."),
    }
}

/// How pulls stand to the first of them.
fn order(m: Measure, off_first_percent: &[f64], air_rise_k: Option<f64>, units: Units) -> String {
    let off: Vec<String> =
        off_first_percent.iter().skip(1).map(|percent| format!("{percent:+.1} %")).collect();
    let off = off.join(", ");
    if m.is_consistent() {
        return format!(
            "Torque of the later pulls against the first: {off}; they do not fall one after the other."
        );
    }
    let air = air_rise_k.map_or(String::new(), |rise_k| {
        format!(
            " The logged air temperature changes by {} from first to last.",
            units.words(TemperatureStep, rise_k)
        )
    });
    format!(
        "Each pull is lower than the one before: {off} against the first, {:.1} % a pull: heat soak.{air}",
        m.value
    )
}
