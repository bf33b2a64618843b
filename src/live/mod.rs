//! The whole job on a page: a build as typed into a form or read from a file, moved by hand, and the questions of every other
//! command asked of it.
//!
//! [`Setting::read`] takes a query such as `compression_ratio=13&fuel=e85`; [`Base`] holds the scenario as stated;
//! [`routes()`] answers the requests of the page. Nothing here knows of sockets or files.
//!
//! # Example
//! ```
//! use endgas::{fuel::FuelLibrary, live::{Base, Setting}, scenario};
//! let read = scenario::read("demo", scenario::DEMO)?;
//! let base = Base::new(read, scenario::DEMO, FuelLibrary::shipped()?)?;
//! let (as_loaded, fuller) = (base.likely(&Setting::default())?, Setting::read("ve_band_position=1")?);
//! assert!(base.likely(&fuller)?.peak_power.of.likely > as_loaded.peak_power.of.likely);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod base;
mod control;
mod curves;
mod edit;
mod field;
mod form;
mod guard;
mod page;
mod pull;
mod refusal;
mod routes;
mod save;
mod setting;
mod shop;
mod shown;
mod sliders;
mod stream;
mod talk;

pub use base::{Base, SAMPLES, SEED};
pub use control::Control;
pub use curves::{Curves, LiveBand, LivePeak, LivePoint, Tightest, Worst};
pub use guard::MOST_QUERY;
pub use page::Start;
pub use refusal::Refusal;
pub use routes::{answer, routes};
pub use setting::Setting;
