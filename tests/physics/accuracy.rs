//! The accuracy table of the docs: what the model gives beside what is published.
//!
//! Every row states its published band and source. A row that is missed says so and why; a miss
//! that is no longer one fails this test as much as a new miss does. Run with `UPDATE_DOCS=1` to write
//! the table into the docs.

mod breathing;
mod friction;
mod fuel;
mod gas;
mod knock;
mod torque;
use crate::common::kept;

/// One published figure beside the model's.
pub(crate) struct Check {
    pub(crate) what: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) low: f64,
    pub(crate) high: f64,
    /// One figure, or one for each engine of `knock_engines.rs`.
    pub(crate) found: Vec<f64>,
    pub(crate) digits: usize,
    pub(crate) source: &'static str,
    /// A constant was fitted or chosen with this row in view.
    pub(crate) fitted: bool,
    /// Why the row is missed, where it is.
    pub(crate) missed: Option<&'static str>,
}

impl Check {
    /// A row that no constant was fitted to.
    pub(crate) fn new(
        what: &'static str,
        unit: &'static str,
        band: (f64, f64),
        found: f64,
        digits: usize,
        source: &'static str,
    ) -> Self {
        Self::over(what, unit, band, vec![found], digits, source)
    }

    /// A row of several engines.
    pub(crate) fn over(
        what: &'static str,
        unit: &'static str,
        (low, high): (f64, f64),
        found: Vec<f64>,
        digits: usize,
        source: &'static str,
    ) -> Self {
        Self { what, unit, low, high, found, digits, source, fitted: false, missed: None }
    }

    pub(crate) fn fitted(mut self) -> Self {
        self.fitted = true;
        self
    }

    pub(crate) fn missed(mut self, why: &'static str) -> Self {
        self.missed = Some(why);
        self
    }

    fn within(&self) -> bool {
        // As printed: a band to one digit is not missed by the third.
        let printed = |x: f64| (x * 10f64.powi(self.digits as i32)).round();
        self.found.iter().all(|found| (printed(self.low)..=printed(self.high)).contains(&printed(*found)))
    }

    fn row(&self) -> String {
        let number = |x: f64| format!("{x:.*}", self.digits);
        let verdict = match (self.within(), self.fitted) {
            (true, true) => "in, fitted",
            (true, false) => "in",
            (false, _) => "**missed**",
        };
        format!(
            "| {} | {} to {} {} | {} | {verdict} | {} |",
            self.what,
            number(self.low),
            number(self.high),
            self.unit,
            self.found.iter().map(|found| number(*found)).collect::<Vec<_>>().join(" / "),
            self.source
        )
    }
}

fn table(checks: &[Check]) -> String {
    let mut out =
        String::from("| quantity | published | endgas | verdict | source |\n|---|---|---|---|---|\n");
    for check in checks {
        out += &check.row();
        out.push('\n');
    }
    // Rows missed for one reason stand together.
    let missed: Vec<(&str, &str)> = checks.iter().filter_map(|c| Some((c.missed?, c.what))).collect();
    let mut reasons: Vec<&str> = missed.iter().map(|(why, _)| *why).collect();
    reasons.dedup();
    for (i, why) in reasons.iter().enumerate() {
        let rows: Vec<&str> =
            missed.iter().filter(|(reason, _)| reason == why).map(|(_, what)| *what).collect();
        out += &format!("{}- Missed, {}: {why}\n", if i == 0 { "\n" } else { "" }, rows.join("; "));
    }
    out
}

#[test]
fn the_model_is_where_the_docs_say() {
    let checks: Vec<Check> = [
        gas::checks(),
        fuel::checks(),
        torque::checks(),
        breathing::checks(),
        friction::checks(),
        knock::checks(),
    ]
    .into_iter()
    .flatten()
    .collect();
    let text = table(&checks);
    println!("{text}");
    for check in &checks {
        assert!(check.found.iter().all(|found| found.is_finite()), "{}", check.what);
        assert_eq!(check.within(), check.missed.is_none(), "{}: {}", check.what, check.row());
    }
    kept::keep("accuracy table", &text);
}
