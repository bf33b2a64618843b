//! What must hold of whatever is read, written once: for the fuzz targets beside this folder and for `tests/inputs/`.
//!
//! Each public function takes the bytes of one input and panics when a law is broken. An input that is refused must be told
//! in words that can be printed and that name it; one that is taken must give finite numbers of the right sign.
#![allow(dead_code, unused_imports, reason = "each fuzz target uses its own part")]
#![allow(clippy::unwrap_used, reason = "a broken law panics")]

mod breathing;
mod choose;
mod fuel;
mod fueling;
mod goal;
mod page;
mod pull;
mod report;
mod run;
mod scenario;
#[path = "../../common/schema.rs"]
mod schema;
mod upload;
mod volumes;

pub use breathing::breathing;
pub use choose::choose;
pub use fuel::{fuel_file, words};
pub use fueling::fueling;
pub use goal::goal;
pub use page::{request, setting};
pub use pull::pull;
pub use report::report;
pub use scenario::scenario;
pub use upload::upload;
pub use volumes::volumes;

use endgas::fuel::FuelLibrary;
use endgas::live::{Base, Curves, Refusal};
use endgas::printable::is_hidden;
use endgas::report::all_finite;
use endgas::scenario::Scenario;
use std::ops::RangeInclusive;
use std::sync::LazyLock;

/// What every input is called: a name that no message may print as it is.
const LABEL: &str = "in\u{1b}[31mput\n\u{202e}.x";
/// The same as it may be printed.
const LABEL_SHOWN: &str = "in\\u{1b}[31mput\\n\\u{202e}.x";

static LIBRARY: LazyLock<FuelLibrary> = LazyLock::new(|| FuelLibrary::shipped().unwrap());

/// A message says something, and nothing in it acts on the screen.
fn said(message: &str) {
    assert!(!message.trim().is_empty(), "an error says nothing");
    shown(message);
}

/// Text in which nothing acts on the screen.
fn shown(text: &str) {
    let hidden = text.chars().find(|c| *c != '\n' && is_hidden(*c));
    assert!(hidden.is_none(), "{hidden:?} is printed raw: {text:?}");
}

fn within(what: &str, value: f64, range: RangeInclusive<f64>) {
    // One part in a billion for the conversion of units.
    let slack = 1e-9 * range.start().abs().max(range.end().abs());
    let wide = range.start() - slack..=range.end() + slack;
    assert!(wide.contains(&value), "{what} = {value} is outside {range:?}");
}

/// One input in so many, the same every time, for what is dear.
fn one_in(count: u64, bytes: &[u8]) -> bool {
    let hash = bytes
        .iter()
        .fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0100_0000_01b3));
    (hash >> 17).is_multiple_of(count)
}

/// The middle speed of a run alone.
fn keep_one_speed(speeds_rpm: &mut Vec<f64>) {
    let middle = speeds_rpm[speeds_rpm.len() / 2];
    *speeds_rpm = vec![middle];
}

/// A scenario at one speed, as the page holds it.
fn one_speed(scenario: &Scenario, text: &str) -> Result<Base, Refusal> {
    let mut scenario = scenario.clone();
    keep_one_speed(&mut scenario.speeds_rpm);
    Base::new(scenario, text, LIBRARY.clone())
}

/// What the page shows is finite and of the right sign, or is refused.
fn answers(found: Result<Curves, String>) {
    match found {
        Err(refusal) => said(&refusal),
        Ok(curves) => {
            all_finite(&curves).unwrap();
            shown(&curves.fuel);
            for p in &curves.curve {
                within("crank torque", p.crank_torque_nm.likely, 0.0..=1e5);
                within("wheel power", p.wheel_power_kw.likely, -1e-9..=1e5);
                within("volumetric efficiency", p.volumetric_efficiency, 1e-3..=3.0);
            }
        }
    }
}
