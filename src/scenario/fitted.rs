//! A new scenario from an old one and a fit: the text is edited, comments stay.

use super::{Diagnostics, read};
use crate::dyno::{Written, WrittenPipes};
use crate::input::without_unit;
use crate::printable::printable;
use toml_edit::{Array, DocumentMut, Item, Table, TableLike, Value};

/// Width of a line of comment.
const COMMENT_WIDTH: usize = 100;

/// The text of a scenario could not be given fitted values.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum FittedError {
    /// The old text is not TOML.
    #[error("the scenario cannot be edited: {0}")]
    Syntax(#[from] toml_edit::TomlError),
    /// A section of the old text is not one.
    #[error("the scenario cannot be edited: [{0}] is not a section")]
    NoSection(&'static str),
    /// The new text would hold mistakes.
    #[error("the fitted scenario would hold mistakes: {0}")]
    Mistakes(Diagnostics),
}

/// Text of a scenario with fitted VE, driveline loss and burn speed in place of its own.
///
/// `[breathing]` becomes a table beside its kind, or keeps its pipes with the sizes that the fit found; everything else stays as typed,
/// comments too.
///
/// # Arguments
/// - `text`: the old scenario
/// - `written`: what the fit found
/// - `told`: a sentence that says where the values come from
///
/// # Errors
/// [`FittedError`] when the old text cannot be edited or the new one does not read.
pub fn fitted_text(text: &str, written: &Written, told: &str) -> Result<String, FittedError> {
    let mut document: DocumentMut = text.parse()?;
    let old = section_as_table(&mut document, "breathing").ok_or(FittedError::NoSection("breathing"))?;
    match &written.pipes {
        Some(pipes) => on_pipes(old, (written, pipes), told)?,
        None => breathing(old, written, told),
    }
    let driveline = section(&mut document, "driveline")?;
    if let (Some(loss), Some(spread)) = (written.measured_loss_percent, written.measured_loss_spread_percent)
    {
        put(driveline, "measured_loss_percent", loss.into());
        put(driveline, "measured_loss_spread_percent", spread.into());
    }
    put(section(&mut document, "combustion")?, "burn_speed", written.burn_speed.into());
    if let Some(coefficient) = written.mean_flow_coefficient {
        put(section(&mut document, "valves")?, "mean_flow_coefficient", coefficient.into());
    }
    let new = document.to_string();
    read("fitted scenario", &new).map_err(FittedError::Mistakes)?;
    Ok(new)
}

fn section<'a>(
    document: &'a mut DocumentMut,
    name: &'static str,
) -> Result<&'a mut dyn TableLike, FittedError> {
    let section = document.entry(name).or_insert(Item::Table(Table::new()));
    section.as_table_like_mut().ok_or(FittedError::NoSection(name))
}

/// A section as one with a head of its own. One written in a line, `breathing = {...}`, or by dotted keys becomes such a
/// one, at the end: comments and sections below it have no place in a line. None when there is no such section.
pub(crate) fn section_as_table<'d>(document: &'d mut Table, name: &str) -> Option<&'d mut Table> {
    if let Some(inline) = document.get(name)?.as_inline_table().cloned() {
        let above = document.key(name).and_then(|key| key.leaf_decor().prefix()?.as_str().map(str::to_owned));
        let mut table = inline.into_table();
        table.fmt();
        table.decor_mut().set_prefix(format!("\n{}", above.unwrap_or_default()));
        table.set_position(Some(isize::MAX));
        document.key_mut(name)?.fmt();
        *document.get_mut(name)? = Item::Table(table);
    }
    let item = document.get_mut(name)?;
    let table = item.as_table_mut()?;
    if table.is_dotted() {
        table.set_dotted(false);
        table.set_position(Some(isize::MAX));
        table.fmt();
    }
    table.set_implicit(false);
    Some(table)
}

/// Puts a value in place of the one of its key, whose comment stays.
pub(crate) fn put(table: &mut dyn TableLike, key: &str, mut value: Value) {
    without_unit(key).map(|short| table.remove(short));
    match table.get_mut(key).and_then(Item::as_value_mut) {
        Some(old) => {
            *value.decor_mut() = old.decor().clone();
            *old = value;
        }
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

/// Takes a key out, by whichever name it stands.
pub(crate) fn take_out(table: &mut dyn TableLike, key: &str) {
    table.remove(key);
    without_unit(key).map(|short| table.remove(short));
}

/// A list of numbers.
pub(crate) fn numbers(numbers: &[f64]) -> Value {
    Value::Array(numbers.iter().copied().collect::<Array>())
}

/// A list of rpm; a whole number is written as one.
fn speeds(speeds_rpm: &[f64]) -> Value {
    let of = |speed: &f64| {
        if speed.fract() == 0.0 { Value::from(*speed as i64) } else { Value::from(*speed) }
    };
    Value::Array(speeds_rpm.iter().map(of).collect())
}

/// A text as lines of comment.
pub(super) fn comment(text: &str) -> String {
    let mut lines = vec!["#".to_owned()];
    for word in text.split_whitespace() {
        if lines.last().is_some_and(|line| line.len() > 1 && line.len() + word.len() >= COMMENT_WIDTH) {
            lines.push("#".to_owned());
        }
        if let Some(line) = lines.last_mut() {
            line.push(' ');
            line.push_str(&printable(word));
        }
    }
    lines.join("\n") + "\n"
}

fn breathing(section: &mut Table, written: &Written, told: &str) {
    let kind = section.remove("kind");
    section.clear();
    section.insert("speed_rpm", Item::Value(speeds(&written.speed_rpm)));
    section.insert("volumetric_efficiency", Item::Value(numbers(&written.volumetric_efficiency)));
    section.insert("spread_percent", Item::Value(written.spread_percent.into()));
    if let Some(mut first) = section.key_mut("speed_rpm") {
        first.leaf_decor_mut().set_prefix(comment(told));
    }
    if let Some(mut spread) = section.key_mut("spread_percent") {
        spread.leaf_decor_mut().set_prefix("# With all that it follows held.\n");
    }
    // The kind goes on to say what is usual for valves that are not stated.
    if let Some(mut kind) = kind {
        if let Some(value) = kind.as_value_mut() {
            value.decor_mut().clear();
        }
        section.insert("kind", kind);
    }
    put_follows(section, written);
}

/// Puts what VE follows beside it.
fn put_follows(section: &mut Table, written: &Written) {
    if written.follows.is_empty() {
        return;
    }
    let mut follows = Table::new();
    follows
        .decor_mut()
        .set_prefix("# By how much VE goes up, in %, when each stands at the high end of its band.\n");
    follows.insert("speed_rpm", Item::Value(speeds(&written.follows_speed_rpm)));
    for followed in &written.follows {
        follows.insert(followed.key, Item::Value(numbers(&followed.percent)));
    }
    section.insert("follows", Item::Table(follows));
}

/// Puts the sizes and the level of pipes in place of those that were there.
fn on_pipes(
    breathing: &mut Table,
    (written, pipes): (&Written, &WrittenPipes),
    told: &str,
) -> Result<(), FittedError> {
    const NAME: &str = "breathing.pipes";
    let section = section_as_table(breathing, "pipes").ok_or(FittedError::NoSection(NAME))?;
    let said = [
        (
            "runner_length_mm",
            pipes.sizes.runner_length_mm,
            "# Effective lengths: what the open ends add beyond the usual is in them.\n",
        ),
        ("primary_length_mm", pipes.sizes.primary_length_mm, ""),
        ("flow_factor", pipes.sizes.flow_factor, ""),
        ("damping", pipes.sizes.damping, ""),
        ("level_percent", pipes.level_percent, "# VE against what these pipes give.\n"),
        ("spread_percent", written.spread_percent, "# With all that it follows held.\n"),
    ];
    for (key, value, above) in said {
        take_out(section, key);
        section.insert(key, Item::Value(value.into()));
        if let (Some(mut key), false) = (section.key_mut(key), above.is_empty()) {
            key.leaf_decor_mut().set_prefix(above);
        }
    }
    if let Some(mut first) = section.key_mut("runner_length_mm") {
        let above = format!("{}{}", comment(told), said[0].2);
        first.leaf_decor_mut().set_prefix(above);
    }
    put_follows(section, written);
    Ok(())
}
