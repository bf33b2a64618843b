//! Sizes of pipes that a fit has moved, in words.

use super::super::super::Units;
use super::super::super::quantity::{fixed, percent, signed};
use super::fit::{parameter_unit, told};
use crate::dyno::{Fit, FittedParameter, Parameter, WrittenPipes};
use crate::engine::PipeInput;
use crate::estimate::sampling::input_of_pipes;
use schemars::JsonSchema;
use serde::Serialize;

/// A change that is none [-].
const AS_BEFORE: f64 = 0.005;

/// One size of pipes that a fit may move.
#[derive(Serialize, JsonSchema)]
#[schemars(rename = "MovedSize")]
pub(in crate::report::dyno) struct SaidSize {
    /// What it is.
    name: &'static str,
    /// Its unit; "x" for a factor.
    unit: &'static str,
    /// Before the fit: as stated, or as usual of the kind.
    before: f64,
    /// As it is written.
    written: f64,
    /// Written over before, less one [-].
    change_frac: f64,
    /// How well the pull pins it down: none, little, some or good.
    told: &'static str,
    /// The whole in a sentence.
    words: String,
}

/// What became of the sizes of pipes; empty where VE is a table.
pub(in crate::report::dyno) fn sizes(fit: &Fit, units: Units) -> Vec<SaidSize> {
    let said = |pipes: &WrittenPipes, size: PipeInput| {
        let what = Parameter::Input(input_of_pipes(size));
        let row = fit.parameters.iter().find(|p| p.what == what)?;
        Some(said(pipes, size, row, units))
    };
    let of = |pipes| PipeInput::ALL.into_iter().filter_map(move |size| said(pipes, size));
    fit.written.pipes.iter().flat_map(of).collect()
}

/// The sentences, with the level of VE last.
pub(in crate::report::dyno) fn pipes_moved(fit: &Fit, units: Units) -> Vec<String> {
    let level = fit.written.pipes.as_ref().map(|pipes| {
        let spread = fixed(fit.written.spread_percent, 1);
        format!("VE {} % against these pipes, +/-{spread} %", signed(pipes.level_percent, 1))
    });
    sizes(fit, units).into_iter().map(|size| size.words).chain(level).collect()
}

fn said(pipes: &WrittenPipes, size: PipeInput, row: &FittedParameter, units: Units) -> SaidSize {
    let (unit, decimals, factor) = parameter_unit(row.what, units);
    let (before, written) = (factor * pipes.before.get(size), factor * pipes.sizes.get(size));
    let change_frac = written / before - 1.0;
    let told = told(row.width_ratio);
    let number = |value: f64| fixed(value, decimals);
    let with_unit =
        |value: f64| if unit == "x" { number(value) } else { format!("{} {unit}", number(value)) };
    let than = if pipes.was_stated(size) { "stated" } else { "usual" };
    let (name, more, less) = match size {
        PipeInput::RunnerLength => ("effective runner length", "longer", "shorter"),
        PipeInput::PrimaryLength => ("effective primary length", "longer", "shorter"),
        PipeInput::ValveFlow => ("valve flow", "more", "less"),
        PipeInput::WaveDamping => ("wave damping", "more", "less"),
    };
    let change = if change_frac.abs() < AS_BEFORE {
        format!("as {than}")
    } else {
        let by = percent(change_frac.abs(), 0);
        let was = if unit == "x" { String::new() } else { format!(" ({})", with_unit(before)) };
        format!("{by} % {} than {than}{was}", if change_frac > 0.0 { more } else { less })
    };
    // The range of the fit about what is written.
    let end = |end: f64| written * end / row.after.likely;
    let range = format!("{} to {}", number(end(row.after.low)), with_unit(end(row.after.high)));
    let pinned = match told {
        "none" => format!("the pull does not tell it, range {range}"),
        "little" => format!("the pull hardly tells it, range {range}"),
        _ => format!("range {range}"),
    };
    let words = format!("{name} {}: {change}; {pinned}", with_unit(written));
    SaidSize { name, unit, before, written, change_frac, told, words }
}
