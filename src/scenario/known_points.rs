//! Knock points of a log as `[[knock.known]]` tables of a scenario.

use super::fitted::FittedError;
use super::knock::MOST_POINTS;
use super::read;
use crate::dyno::{KnockPoint, rounded};
use crate::printable::printable;
use crate::units::stated::TIMING;
use crate::units::{Lambda, k_to_celsius};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, value};

/// Most characters of the name of a pull.
const NAME_LIMIT: usize = 20;

fn entry(fuel: &str, p: &KnockPoint) -> Table {
    let mut entry = Table::new();
    entry.insert("fuel", value(fuel));
    entry.insert("rpm", value(p.rpm.round() as i64));
    entry.insert("timing_deg_btdc", value(rounded(p.timing_deg_btdc, 1)));
    entry.insert("heard", value(p.heard.word()));
    if let Some(lambda) = p.lambda.filter(|lambda| Lambda::RANGE.contains(lambda)) {
        entry.insert("lambda", value(rounded(lambda, 3)));
    }
    if let Some(kelvin) = p.air_temperature_k {
        entry.insert("air_temperature_c", value(rounded(k_to_celsius(kelvin), 1)));
    }
    let pull: String = printable(&p.pull).chars().take(NAME_LIMIT).collect();
    entry.insert("note", value(format!("pull {pull}, line {}", p.line)));
    entry
}

/// The points as text to paste into a scenario.
pub(crate) fn known_text(fuel: &str, points: &[KnockPoint]) -> String {
    let mut knock = Table::new();
    knock.set_implicit(true);
    knock.insert(
        "known",
        Item::ArrayOfTables(points.iter().map(|p| entry(fuel, p)).collect::<ArrayOfTables>()),
    );
    let mut document = DocumentMut::new();
    document.insert("knock", Item::Table(knock));
    document.to_string()
}

/// Text of a scenario with knock points of a log behind those that it has, as many as it may hold; and how many were added.
///
/// # Arguments
/// - `text`: the scenario
/// - `fuel`: fuel that was in the tank
/// - `points`: what the log says, by rising rpm
///
/// # Errors
/// [`FittedError`] when the text cannot be edited or would hold mistakes.
pub fn with_known_points(
    text: &str,
    fuel: &str,
    points: &[KnockPoint],
) -> Result<(String, usize), FittedError> {
    let mut document: DocumentMut = text.parse()?;
    let mut implicit = Table::new();
    implicit.set_implicit(true);
    let section = document.entry("knock").or_insert(Item::Table(implicit));
    let section = section.as_table_like_mut().ok_or(FittedError::NoSection("knock"))?;
    let known = section.entry("known").or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
    let known = known.as_array_of_tables_mut().ok_or(FittedError::NoSection("[knock.known]"))?;
    let room = MOST_POINTS.saturating_sub(known.len());
    let held = points.iter().filter(|p| TIMING.range().contains(&p.timing_deg_btdc)).take(room);
    let mut added = 0;
    for point in held {
        let mut table = entry(fuel, point);
        if added == 0 {
            table.decor_mut().set_prefix(
                "\n# Read from a log by endgas dyno: a sensor can miss knock, so check by ear.\n",
            );
        }
        known.push(table);
        added += 1;
    }
    if added == 0 {
        return Ok((text.to_owned(), 0));
    }
    let new = document.to_string();
    read("fitted scenario", &new).map_err(FittedError::Mistakes)?;
    Ok((new, added))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dyno::Heard;
    use crate::scenario::DEMO;

    fn point(rpm: f64) -> KnockPoint {
        KnockPoint {
            rpm,
            timing_deg_btdc: 24.04,
            heard: Heard::Knock,
            lambda: Some(0.88),
            air_temperature_k: None,
            pull: "1".to_owned(),
            line: 7,
        }
    }

    /// HAND: points stand behind those that are there, up to forty of them in all.
    #[test]
    fn points_are_added_up_to_what_a_scenario_holds() {
        let (once, added) = with_known_points(DEMO, "premium-91", &[point(3000.0), point(4000.0)]).unwrap();
        let known = |text: &str| read("new", text).unwrap().knock.known;
        let before = known(DEMO).len();
        assert_eq!((added, known(&once).len()), (2, before + 2));
        assert_eq!((known(&once)[before].at.speed_rpm, known(&once)[before].spark_deg_btdc), (3000.0, 24.0));
        let many: Vec<KnockPoint> = (0..60).map(|i| point(2000.0 + 10.0 * f64::from(i))).collect();
        let (full, added) = with_known_points(&once, "premium-91", &many).unwrap();
        assert_eq!((added, known(&full).len()), (MOST_POINTS - before - 2, MOST_POINTS));
        assert_eq!(with_known_points(&full, "premium-91", &many).unwrap(), (full, 0));
        assert!(with_known_points("knock = 3", "premium-91", &many).is_err());
    }
}
