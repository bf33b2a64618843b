//! Telling one pull of a file from the next.

use super::log::{KnockBy, Pull, PullPoint, SplitBy};
use crate::printable::printable;
use std::collections::HashMap;

/// A row with what may tell its pull.
#[derive(Debug)]
pub(super) struct Split {
    /// Cell of the pull column.
    pub(super) pull: Option<String>,
    /// Whether a blank line stands before it.
    pub(super) after_blank: bool,
    /// The row.
    pub(super) point: PullPoint,
}

/// Fall of speed from one row to the next that begins a new pull, as a share of the speed before; more than any
/// step of a table. Common practice, no source.
const FALL_FRAC: f64 = 0.25;

/// How pulls are told apart, in words.
pub(super) fn words(by: SplitBy) -> &'static str {
    match by {
        SplitBy::OnePull => "nothing",
        SplitBy::Column => "the pull column",
        SplitBy::SideBySide => "columns side by side",
        SplitBy::BlankLine => "blank lines",
        SplitBy::File => "files",
        SplitBy::SpeedFalls => "falling speed",
    }
}

/// Rows as pulls: by the pull column; else where speed is lower after a blank line, or falls back far.
pub(super) fn split(rows: Vec<Split>) -> (Vec<Pull>, SplitBy) {
    if rows.iter().any(|row| row.pull.is_some()) {
        return (by_column(rows), SplitBy::Column);
    }
    let mut groups: Vec<Vec<PullPoint>> = Vec::new();
    let mut by = SplitBy::OnePull;
    let mut last = f64::NEG_INFINITY;
    for Split { after_blank, point, .. } in rows {
        let falls = point.speed_rpm < last * (1.0 - FALL_FRAC);
        let begins = falls || after_blank && point.speed_rpm < last;
        last = point.speed_rpm;
        match groups.last_mut() {
            Some(group) if !begins => group.push(point),
            Some(_) => {
                by = match by {
                    SplitBy::SpeedFalls => SplitBy::SpeedFalls,
                    _ if after_blank => SplitBy::BlankLine,
                    _ => SplitBy::SpeedFalls,
                };
                groups.push(vec![point]);
            }
            None => groups.push(vec![point]),
        }
    }
    let named = (1..).zip(groups).map(|(number, points)| Pull {
        name: format!("{number}"),
        points,
        knock_by: KnockBy::Count,
    });
    (named.collect(), by)
}

fn by_column(rows: Vec<Split>) -> Vec<Pull> {
    let mut pulls: Vec<Pull> = Vec::new();
    let mut places: HashMap<String, usize> = HashMap::new();
    for Split { pull, point, .. } in rows {
        let name = pull.unwrap_or_default();
        let place = *places.entry(name.clone()).or_insert(pulls.len());
        match pulls.get_mut(place) {
            Some(pull) => pull.points.push(point),
            None => pulls.push(Pull {
                name: printable(&name).into_owned(),
                points: vec![point],
                knock_by: KnockBy::Count,
            }),
        }
    }
    pulls
}
