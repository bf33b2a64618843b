//! Real engines predicted from what a catalogue says of them, for the tables of the docs and for the blind check.

pub mod compared;
pub mod rows;
pub mod rules;
