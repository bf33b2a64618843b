#![no_main]

#[path = "../checks/mod.rs"]
mod checks;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| checks::fueling(bytes));
