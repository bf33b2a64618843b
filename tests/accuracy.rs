//! The accuracy table of the README: what the model gives beside what is published.
//!
//! Every row states its published band and source. A row that is missed says so and why; a miss
//! that is no longer one fails this test as much as a new miss does. Run with `UPDATE_README=1` to write
//! the table into the README.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test fails by panicking")]
#![allow(clippy::print_stdout, reason = "the figures are for a person to read")]

#[path = "common/bench.rs"]
mod bench;
#[path = "accuracy/breathing.rs"]
mod breathing;
mod common;
#[path = "fuel_reference/figures.rs"]
mod figures;
#[path = "accuracy/friction.rs"]
mod friction;
#[path = "accuracy/fuel.rs"]
mod fuel;
#[path = "accuracy/gas.rs"]
mod gas;
#[path = "accuracy/knock.rs"]
mod knock;
#[path = "fuel_reference/octane_rows.rs"]
mod octane_rows;
#[path = "fuel_reference/rows.rs"]
mod rows;
#[path = "accuracy/torque.rs"]
mod torque;

/// One published figure beside the model's.
pub(crate) struct Check {
    pub(crate) what: &'static str,
    pub(crate) unit: &'static str,
    pub(crate) low: f64,
    pub(crate) high: f64,
    pub(crate) found: f64,
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
        Self { what, unit, low: band.0, high: band.1, found, digits, source, fitted: false, missed: None }
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
        (self.low..=self.high).contains(&self.found)
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
            number(self.found),
            self.source
        )
    }
}

const BEGIN: &str = "<!-- accuracy table: written by tests/accuracy.rs -->";
const END: &str = "<!-- end of accuracy table -->";

fn table(checks: &[Check]) -> String {
    let mut out =
        String::from("| quantity | published | endgas | verdict | source |\n|---|---|---|---|---|\n");
    for check in checks {
        out += &check.row();
        out.push('\n');
    }
    let reasons: Vec<String> =
        checks.iter().filter_map(|c| c.missed.map(|why| format!("- Missed, {}: {why}\n", c.what))).collect();
    if !reasons.is_empty() {
        out.push('\n');
        out.extend(reasons);
    }
    out
}

#[test]
fn the_model_is_where_the_readme_says() {
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
        assert!(check.found.is_finite(), "{}", check.what);
        assert_eq!(check.within(), check.missed.is_none(), "{}: {}", check.what, check.row());
    }
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/README.md");
    let readme = std::fs::read_to_string(path).unwrap();
    let (before, rest) = readme.split_once(BEGIN).expect("the README has a place for the table");
    let (old, after) = rest.split_once(END).expect("the table of the README ends");
    if std::env::var_os("UPDATE_README").is_some() {
        std::fs::write(path, format!("{before}{BEGIN}\n{text}{END}{after}")).unwrap();
    } else {
        assert_eq!(old.trim(), text.trim(), "the README's table is stale: run with UPDATE_README=1");
    }
}
