//! Writing readings as logs, in the ways that shops have them.

use super::pulls::{Fault, Reading};
use endgas::air::{CorrectionStandard, Weather};
use endgas::units::{NM_PER_LBF_FT, PA_PER_INCH_OF_MERCURY, W_PER_HP, k_to_fahrenheit};

/// What every file says of itself.
const INVENTED: &str = "# Invented pull of an invented build, made by tests/dyno/pulls.rs. No engine, car or dyno has these numbers.";

/// A metric log with commas, a run column, weather, mixture and fuel flow; corrected to SAE J1349.
pub fn metric_corrected(rows: &[Reading], weather: &Weather, fault: Fault, note: &str) -> String {
    let factor = CorrectionStandard::SaeJ1349.factor(weather).factor;
    let logged = if fault == Fault::OverCorrected { factor * 1.09 } else { factor };
    let mut out = format!("{INVENTED}\n# {note}\n# at: wheel\n# corrected: sae-j1349\n");
    out += "run,Engine Speed [rpm],torque (Nm),power [kW],lambda,fuel flow (kg/h),air temp (C),baro (kPa),humidity (%),cf,oil temp (C)\n";
    for r in rows {
        out += &format!(
            "{},{:.0},{:.1},{:.2},{:.3},{:.2},{:.1},{:.1},{:.0},{logged:.3},{:.0}\n",
            r.pull + 1,
            r.speed_rpm,
            r.torque_nm * factor,
            r.power_w() * factor / 1e3,
            r.lambda,
            r.fuel_flow_kg_per_s * 3600.0,
            weather.temperature_k - 273.15,
            weather.pressure_pa / 1e3,
            100.0 * weather.relative_humidity,
            90.0 + r.speed_rpm / 1000.0
        );
    }
    out
}

/// A metric log as measured, with torque and power under their units; blank lines between pulls.
pub fn metric_as_measured(rows: &[Reading], weather: &Weather, fault: Fault, note: &str) -> String {
    let torque = |r: &Reading| match fault {
        Fault::LbFtAsNm => r.torque_nm / NM_PER_LBF_FT,
        _ => r.torque_nm,
    };
    let mut out = format!("{INVENTED}\n# {note}\n# at: wheel\n# corrected: none\n");
    out += "rpm,torque_nm,power_kw,lambda,air temp (C),baro (hPa),humidity (%)\n";
    for (i, r) in rows.iter().enumerate() {
        if i > 0 && rows[i - 1].pull != r.pull {
            out += "\n";
        }
        out += &format!(
            "{:.0},{:.2},{:.2},{:.3},{:.1},{:.0},{:.0}\n",
            r.speed_rpm,
            torque(r),
            r.power_w() / 1e3,
            r.lambda,
            weather.temperature_k - 273.15,
            weather.pressure_pa / 1e2,
            100.0 * weather.relative_humidity
        );
    }
    out
}

/// A log in US units with semicolons, decimal commas and a row of units; pulls follow each other.
pub fn us_decimal_comma(rows: &[Reading], weather: &Weather, note: &str) -> String {
    let mut out = format!("{INVENTED}\n# {note}\n# at: wheel\n# corrected: none\n");
    out += "time;speed;torque;power;afr;air temp;baro;humidity\ns;rpm;lb ft;hp;;F;in Hg;%\n";
    for (i, r) in rows.iter().enumerate() {
        let line = format!(
            "{:.1};{:.0};{:.2};{:.2};{:.2};{:.1};{:.2};{:.0}\n",
            0.1 * i as f64,
            r.speed_rpm,
            r.torque_nm / NM_PER_LBF_FT,
            r.power_w() / W_PER_HP,
            r.lambda * 14.7,
            k_to_fahrenheit(weather.temperature_k),
            weather.pressure_pa / PA_PER_INCH_OF_MERCURY,
            100.0 * weather.relative_humidity
        );
        out += &line.replace('.', ",");
    }
    out
}
