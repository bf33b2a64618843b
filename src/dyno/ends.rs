//! The ends of a logged run that are no full-load curve: idle, roll-on, rev limiter, lift-off, coast-down.
//!
//! All limits are common practice, no source; tests hold them to invented pulls, honest ones and such with ends.

use super::average::Line;
use super::log::{Pull, PullEnd, PullPoint, TrimmedEnd};
use super::split::Split;

/// Torque of an engine that is not at full load, over the torque of the pull [-]: less than what honest curves show at any rpm.
const LOW: f64 = 0.35;
/// Torque of an engine that is dragged or coasts, over the torque of the pull [-].
const DRAGGED: f64 = 0.25;
/// Highest rpm of an idle [rpm].
const IDLE_RPM: f64 = 1300.0;
/// Least fall of rpm in a coast-down [rpm].
const LEAST_FALL_RPM: f64 = 50.0;
/// Rpm at which a limiter has let go again, over that at which it cut [-]: less is another run.
const BOUNCE: f64 = 0.75;
/// Wobble of rpm from row to row that is no rise [rpm].
const WOBBLE_RPM: f64 = 20.0;
/// Window over which a slope is taken, and the zone of rpm at the top in which a limiter or a lift-off sets in [rpm]; the zone is
/// at least this share of the highest rpm.
const WINDOW_RPM: f64 = 150.0;
const ZONE_FRAC: f64 = 0.03;
/// Rise of torque with rpm as the throttle opens, over the torque of the pull [1/rpm]: an engine that comes on its cam rises by less.
const STEEP_PER_RPM: f64 = 6e-4;
/// Least rise of torque over a roll-on, over the torque of the pull [-].
const LEAST_RISE: f64 = 0.15;
/// Torque of a cut or a closing throttle over the line of the rows below [-], that at which it sets in, and that of one that is back.
const CUT: f64 = 0.80;
const ONSET: f64 = 0.93;
const BACK: f64 = 0.90;
/// Fewest rows, and most rpm between them, from which a run is seen and not only points of it.
const LEAST_ROWS: usize = 12;
const MOST_STEP_RPM: f64 = 150.0;
/// What must be left of a pull.
const LEAST_SPAN_RPM: f64 = 1000.0;

/// Rows without those of coast-downs, and where these stood.
pub(super) fn without_coast_down(label: &str, rows: Vec<Split>) -> (Vec<Split>, Vec<TrimmedEnd>) {
    let mut names: Vec<&Option<String>> = Vec::new();
    for row in &rows {
        if !names.contains(&&row.pull) {
            names.push(&row.pull);
        }
    }
    let mut ends = Vec::new();
    let mut dragged = vec![false; rows.len()];
    for name in names {
        let own: Vec<usize> = (0..rows.len()).filter(|i| rows[*i].pull == *name).collect();
        let points: Vec<PullPoint> = own.iter().map(|i| rows[*i].point).collect();
        for (from, to) in coast_downs(&points) {
            own[from..to].iter().for_each(|i| dragged[*i] = true);
            let above = points[from..to].iter().rposition(|p| p.speed_rpm >= IDLE_RPM);
            let idle = above.map_or(from, |last| from + last + 1);
            ends.extend(some_trimmed(label, PullEnd::CoastDown, &points[from..idle]));
            ends.extend(some_trimmed(label, PullEnd::Idle, &points[idle..to]));
        }
    }
    let kept = rows.into_iter().zip(dragged).filter(|(_, dragged)| !dragged).map(|(row, _)| row).collect();
    (kept, ends)
}

/// Stretches of next to no torque in which rpm falls.
fn coast_downs(points: &[PullPoint]) -> Vec<(usize, usize)> {
    let least = DRAGGED * level(points);
    let mut found = Vec::new();
    let mut from = 0;
    while from < points.len() {
        let is_next = |i: usize| points[i].speed_rpm <= points[i - 1].speed_rpm + WOBBLE_RPM;
        let is_dragged = |i: usize| points[i].torque_nm < least;
        let to = (from..points.len()).find(|i| !is_dragged(*i) || *i > from && !is_next(*i));
        let to = to.unwrap_or(points.len());
        if to == from {
            from += 1;
            continue;
        }
        // The row before is still at load, and rpm falls from there.
        let before = from.checked_sub(1).map_or(points[from].speed_rpm, |i| points[i].speed_rpm);
        let start = before.max(points[from].speed_rpm);
        // A limiter lets go again at once.
        let is_cut =
            points.get(to).is_some_and(|next| next.torque_nm >= least && next.speed_rpm > BOUNCE * start);
        if !is_cut && start - points[to - 1].speed_rpm >= LEAST_FALL_RPM {
            found.push((from, to));
        }
        from = to;
    }
    found
}

/// Pulls without their other ends; a stretch of rows that is no pull at all, such as idle after the last, goes.
pub(super) fn without_ends(label: &str, pulls: Vec<Pull>, is_named: bool) -> (Vec<Pull>, Vec<TrimmedEnd>) {
    let highest = pulls.iter().map(|pull| level(&pull.points)).fold(0.0, f64::max);
    let (mut kept, mut ends) = (Vec::new(), Vec::new());
    for mut pull in pulls {
        if !is_named && level(&pull.points) < LOW * highest {
            ends.push(trimmed(label, PullEnd::Idle, &pull.points));
            continue;
        }
        if let Some(curve) = Curve::new(&pull.points) {
            let (lead, idle) = curve.lead();
            let (tail, what) = curve.tail();
            let rest = pull.points.get(lead..tail).unwrap_or_default();
            if is_pull(rest) {
                ends.extend(some_trimmed(label, PullEnd::Idle, &pull.points[..idle]));
                ends.extend(some_trimmed(label, PullEnd::RollOn, &pull.points[idle..lead]));
                ends.extend(some_trimmed(label, what, &pull.points[tail..]));
                pull.points = rest.to_vec();
            }
        }
        kept.push(pull);
    }
    // Names are numbers where the file has none.
    if !is_named {
        for (number, pull) in (1..).zip(&mut kept) {
            pull.name = format!("{number}");
        }
    }
    (kept, ends)
}

fn is_pull(points: &[PullPoint]) -> bool {
    let speeds = || points.iter().map(|p| p.speed_rpm);
    let span = speeds().fold(0.0, f64::max) - speeds().fold(f64::INFINITY, f64::min);
    points.len() >= Pull::LEAST_POINTS && span >= LEAST_SPAN_RPM
}

/// Torque that the pull holds over some rows: the highest running median of five [N m].
fn level(points: &[PullPoint]) -> f64 {
    let torque: Vec<f64> = points.iter().map(|p| p.torque_nm).collect();
    let median = |window: &[f64]| {
        let mut sorted = window.to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted.get(sorted.len() / 2).copied().unwrap_or_default()
    };
    torque.windows(torque.len().clamp(1, 5)).map(median).fold(0.0, f64::max)
}

fn some_trimmed(label: &str, end: PullEnd, points: &[PullPoint]) -> Option<TrimmedEnd> {
    (!points.is_empty()).then(|| trimmed(label, end, points))
}

fn trimmed(label: &str, end: PullEnd, points: &[PullPoint]) -> TrimmedEnd {
    let lines = || points.iter().map(|p| p.line);
    TrimmedEnd {
        log: label.to_owned(),
        end,
        rows: points.len(),
        first_line: lines().min().unwrap_or_default(),
        last_line: lines().max().unwrap_or_default(),
    }
}

/// A run logged row by row as rpm rises.
struct Curve<'a> {
    points: &'a [PullPoint],
    level_nm: f64,
}

impl<'a> Curve<'a> {
    /// None where the rows are points of a table, or rpm does not rise.
    fn new(points: &'a [PullPoint]) -> Option<Self> {
        let mut steps: Vec<f64> =
            points.windows(2).map(|pair| (pair[1].speed_rpm - pair[0].speed_rpm).abs()).collect();
        steps.sort_by(f64::total_cmp);
        let is_dense = steps.get(steps.len() / 2).is_some_and(|step| *step <= MOST_STEP_RPM);
        let rise: Vec<(f64, f64)> = (0_u32..).zip(points).map(|(i, p)| (f64::from(i), p.speed_rpm)).collect();
        (points.len() >= LEAST_ROWS && is_dense && Line::through(&rise).slope > 0.0)
            .then(|| Self { points, level_nm: level(points) })
    }

    fn torque(&self, i: usize) -> f64 {
        self.points[i].torque_nm
    }

    /// Whether torque rises from a row on as only an opening throttle makes it.
    fn is_steep(&self, from: usize) -> bool {
        const LEAST: usize = 4;
        let end = self.points[from].speed_rpm + WINDOW_RPM;
        let far = self.points.iter().skip(from).position(|p| p.speed_rpm >= end);
        let to =
            far.map_or(self.points.len(), |far| (from + far + 1).max(from + LEAST)).min(self.points.len());
        let window: Vec<(f64, f64)> =
            self.points[from..to].iter().map(|p| (p.speed_rpm, p.torque_nm)).collect();
        Line::through(&window).slope > STEEP_PER_RPM * self.level_nm
    }

    /// Rows before the curve, and how many of them idle.
    fn lead(&self) -> (usize, usize) {
        let is_low = |p: &PullPoint| p.torque_nm < LOW * self.level_nm;
        let idle = self.points.iter().take_while(|p| is_low(p) && p.speed_rpm < IDLE_RPM).count();
        let mut lead = self.points.iter().take_while(|p| is_low(p)).count();
        while lead + 1 < self.points.len() && self.is_steep(lead) {
            lead += 1;
        }
        let lowest = self.points[..lead].iter().map(|p| p.torque_nm).fold(f64::INFINITY, f64::min);
        let rises = lead < self.points.len() && self.torque(lead) - lowest >= LEAST_RISE * self.level_nm;
        if lead > 0 && rises { (lead, idle) } else { (0, 0) }
    }

    /// The first row behind the curve, and what sets in there.
    fn tail(&self) -> (usize, PullEnd) {
        let count = self.points.len();
        let none = (count, PullEnd::LiftOff);
        let top = self.points.iter().map(|p| p.speed_rpm).fold(0.0, f64::max);
        let zone = top - WINDOW_RPM.max(ZONE_FRAC * top);
        let first = self.points.iter().position(|p| p.speed_rpm >= zone).unwrap_or(count);
        let below: Vec<(f64, f64)> = self.points[..first]
            .iter()
            .filter(|p| p.speed_rpm >= zone - 4.0 * WINDOW_RPM && p.torque_nm > LOW * self.level_nm)
            .map(|p| (p.speed_rpm, p.torque_nm))
            .collect();
        if below.len() < 4 {
            return none;
        }
        let line = Line::through(&below);
        let share = |i: usize| self.torque(i) / line.at(self.points[i].speed_rpm).max(LOW * self.level_nm);
        let Some(mut tail) = (first..count).find(|i| share(*i) < CUT) else { return none };
        let cut = (tail..count).filter(|i| share(*i) < CUT).count();
        let (cut, rest) = (cut as f64, (count - tail) as f64);
        // One low row among good ones is a gap in the log.
        if !(cut >= 0.4 * rest || cut >= 2.0 && cut >= 0.2 * rest) {
            return none;
        }
        let is_back = (tail..count).any(|i| share(i) > BACK);
        while tail > first && share(tail - 1) < ONSET {
            tail -= 1;
        }
        (tail, if is_back { PullEnd::RevLimiter } else { PullEnd::LiftOff })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dyno::{Log, Mapping, read};

    /// Invented full-load torque [N m] at an rpm.
    fn full(rpm: f64) -> f64 {
        160.0 - 40.0 * ((rpm - 4200.0) / 2500.0).powi(2)
    }

    /// A pull from 1500 to 6500 rpm, a row each 50 rpm, with noise of about a percent.
    fn honest() -> Vec<(f64, f64)> {
        (0..=100)
            .map(|i| (1500.0 + 50.0 * f64::from(i), full(1500.0 + 50.0 * f64::from(i)) * noise(i)))
            .collect()
    }

    fn noise(i: i32) -> f64 {
        1.0 + 0.012 * (f64::from(i) * 12.9898).sin()
    }

    fn log(rows: &[(f64, f64)], keep_ends: bool) -> Log {
        let body: String = rows.iter().map(|(rpm, nm)| format!("{rpm:.1},{nm:.2}\n")).collect();
        let mapping = Mapping { keep_ends, ..Mapping::default() };
        read("pull.csv", format!("rpm,torque (Nm)\n{body}").as_bytes(), &mapping).unwrap()
    }

    fn ends(log: &Log) -> Vec<(PullEnd, u64, u64)> {
        log.ends().map(|end| (end.end, end.first_line, end.last_line)).collect()
    }

    #[test]
    fn an_honest_pull_keeps_every_row() {
        let honest = honest();
        let few: Vec<(f64, f64)> = honest.iter().copied().step_by(10).collect();
        // Peaky: next to nothing at the bottom, on the cam by 4500 rpm, falling fast beyond 6000.
        let peaky: Vec<(f64, f64)> = (0..=120)
            .map(|i| {
                let rpm = 2000.0 + 40.0 * f64::from(i);
                let on = 1.0 / (1.0 + ((4000.0 - rpm) / 400.0).exp());
                (rpm, (90.0 + 70.0 * on) * (1.0 - 0.03 * ((rpm - 6000.0).max(0.0) / 100.0)) * noise(i))
            })
            .collect();
        let down: Vec<(f64, f64)> = honest.iter().rev().copied().collect();
        for rows in [honest.clone(), few, peaky, down, [honest.clone(), honest].concat()] {
            let found = log(&rows, false);
            assert_eq!((ends(&found), found.points().count()), (Vec::new(), rows.len()));
        }
    }

    #[test]
    fn idle_and_roll_on_go_before_the_curve() {
        let idle = (0..20).map(|i| (900.0 + f64::from(i % 3) * 8.0, 8.0 * noise(i)));
        // From 20 % at 1200 rpm to all of it at 1500.
        let roll = (0..10).map(|i| {
            let rpm = 1200.0 + 30.0 * f64::from(i);
            (rpm, full(1500.0) * (0.2 + 0.8 * f64::from(i) / 10.0))
        });
        let rows: Vec<(f64, f64)> = idle.chain(roll).chain(honest()).collect();
        let found = log(&rows, false);
        let [(PullEnd::Idle, 2, last), (PullEnd::RollOn, first, end)] = ends(&found)[..] else {
            panic!("{:?}", ends(&found))
        };
        // Rows below 35 % at less than 1300 rpm count as idle. The roll-on ends at line 31.
        assert!(
            (21..=25).contains(&last) && first == last + 1 && (30..=32).contains(&end),
            "{:?}",
            ends(&found)
        );
        assert!(found.pulls[0].points[0].speed_rpm <= 1550.0);
        assert_eq!(log(&rows, true).points().count(), rows.len());
    }

    #[test]
    fn limiter_lift_off_and_coast_down_go_behind_it() {
        let limiter = (0..16).map(|i| {
            let is_cut = i % 3 == 1;
            (6500.0 + if is_cut { -40.0 } else { 30.0 }, if is_cut { 0.3 } else { 1.0 } * full(6500.0))
        });
        let rows: Vec<(f64, f64)> = honest().into_iter().chain(limiter).collect();
        let [(PullEnd::RevLimiter, first, last)] = ends(&log(&rows, false))[..] else {
            panic!("{:?}", ends(&log(&rows, false)))
        };
        assert!((103..=105).contains(&first) && last == 118, "{first} {last}");
        let lift = (1..=6).map(|i| (6500.0 + f64::from(i), full(6500.0) * (1.0 - 0.12 * f64::from(i))));
        let coast = (1..=40).map(|i| (6500.0 - 100.0 * f64::from(i), -6.0 + 0.1 * f64::from(i)));
        let rows: Vec<(f64, f64)> = honest().into_iter().chain(lift).chain(coast).collect();
        let found = log(&rows, false);
        let mut kinds = ends(&found);
        kinds.sort_by_key(|(_, first, _)| *first);
        let [(PullEnd::LiftOff, first, to), (PullEnd::CoastDown, from, last)] = kinds[..] else {
            panic!("{kinds:?}")
        };
        assert!((103..=105).contains(&first) && from == to + 1 && last == 148, "{kinds:?}");
        assert!(found.pulls[0].points.len() >= 100 && found.pulls[0].speed_range_rpm().1 >= 6450.0);
    }

    #[test]
    fn one_long_log_of_two_runs_is_two_pulls() {
        let idle = |n: i32| (0..n).map(|i| (880.0 + f64::from(i % 2) * 10.0, 5.0));
        let coast = || (1..=55).map(|i| (6500.0 - 100.0 * f64::from(i), 3.0));
        let run = || idle(12).chain(honest()).chain(coast());
        let rows: Vec<(f64, f64)> = run().chain(run()).chain(idle(9)).collect();
        let found = log(&rows, false);
        assert_eq!(found.pulls.iter().map(|p| p.points.len()).collect::<Vec<_>>(), [101, 101]);
        let count = |wanted: PullEnd| ends(&found).iter().filter(|(end, ..)| *end == wanted).count();
        assert_eq!((count(PullEnd::CoastDown), count(PullEnd::Idle)), (2, 3));
    }
}
