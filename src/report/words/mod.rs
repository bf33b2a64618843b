//! What the findings of the physics are called and said: the one place of their words, in either unit system.
//!
//! JSON holds the metric sentence of a finding, whatever units are asked of text, tables and plots.

/// The words of findings as their [`std::fmt::Display`], their JSON and its schema: those in metric units.
macro_rules! metric_words {
    ($($finding:ty),* $(,)?) => {$(
        impl std::fmt::Display for $finding {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str(&$crate::report::Say::say(self, $crate::report::Units::Metric))
            }
        }

        impl serde::Serialize for $finding {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.collect_str(self)
            }
        }

        impl schemars::JsonSchema for $finding {
            fn inline_schema() -> bool {
                true
            }

            fn schema_name() -> std::borrow::Cow<'static, str> {
                String::schema_name()
            }

            fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
                String::json_schema(generator)
            }
        }
    )*};
}

mod assumed;
mod build_difference;
pub(super) mod cautions;
mod changes;
mod matters;
mod names;
mod notices;
mod verdict;
mod volumes;

use super::Units;
pub(super) use build_difference::build_words;
pub(super) use names::{input_source, squish};
pub(super) use verdict::{start_retard_deg, tightest_as_used, verdict};
pub(super) use volumes::OVER_THE_GASKET_BORE;

/// A finding that has words; its `Display` and JSON take the metric ones.
pub trait Say {
    /// The finding in words: a sentence, or a part of one where its type is a part.
    fn say(&self, units: Units) -> String;
}

/// Findings in words, in the order given.
pub(super) fn said<T: Say>(findings: &[T], units: Units) -> Vec<String> {
    findings.iter().map(|finding| finding.say(units)).collect()
}
