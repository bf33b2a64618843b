//! The one table of what is not known: every uncertain input, how wide it is, and who says so.
//!
//! It is a table of the language and not a data file to be read: four of the bands belong to kinds of build,
//! layouts and fuels and stand beside those (`engine/breathing.rs`, `engine/driveline.rs`, the fuel files), and
//! a width that is missing or misspelt here does not compile.

use super::uncertainty::{INPUTS, Input, Sample};

/// How wide an input is about its likely value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Width {
    /// Half of the 10-90 % band, relative to the likely value [-].
    Relative(f64),
    /// Half of the 10-90 % band in the input's own unit.
    Absolute(f64),
    /// The band is stated with the build or the fuel.
    Stated,
}

/// One uncertain input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Distribution {
    /// Which.
    pub input: Input,
    /// How wide.
    pub width: Width,
    /// Where the width comes from; that of a temperature goes without the width, which the report says in either unit.
    pub source: &'static str,
}

const fn row(input: Input, width: Width, source: &'static str) -> Distribution {
    Distribution { input, width, source }
}

/// Every input, in the order of [`Input::ALL`].
pub const DISTRIBUTIONS: [Distribution; INPUTS] = [
    row(Input::Breathing, Width::Stated, "band of the scenario's table, kind of build or port flow"),
    row(
        Input::BurnSpeed,
        Width::Relative(0.12),
        "10-90 % duration of four-valve chambers, 16 to 25 deg about 20 (Heywood 1988, from memory; common practice, no source)",
    ),
    row(
        Input::Heat,
        Width::Relative(0.25),
        "spread of the coefficient of Woschni's law (common practice, no source)",
    ),
    row(Input::ChargeTemperature, Width::Absolute(8.0), "at intake closing (common practice, no source)"),
    row(
        Input::Mixture,
        Width::Absolute(0.02),
        "0.02 lambda held on a dynamometer (common practice, no source)",
    ),
    row(Input::EthanolContent, Width::Stated, "range of the fuel as sold, see its fuel file"),
    row(
        Input::Friction,
        Width::Relative(0.20),
        "spread of published friction laws (common practice, no source)",
    ),
    row(
        Input::Driveline,
        Width::Stated,
        "band of the layout, or of the measured loss (common practice, no source)",
    ),
    row(
        Input::KnockModel,
        Width::Absolute(4.0),
        "4 octane numbers: real engines lie about the model with a standard deviation of 2.9 to 3.5 (factory check, docs)",
    ),
    row(Input::FuelOctane, Width::Stated, "half width of rating and blend rule, see the fuel's components"),
    row(
        Input::SensitivityWeight,
        Width::Absolute(0.2),
        "spread of K at full load (Kalghatgi SAE 2001-01-3584, from memory)",
    ),
    row(
        Input::Powerband,
        Width::Stated,
        "3 % for a stated peak (common practice, no source); ratio of the two in real engines where one is stated",
    ),
    row(
        Input::KnockEngine,
        Width::Absolute(2.0),
        "2 octane numbers: cars of one model differ by up to 6 (Gasoline FAQ, B. Hamilton 1996, section 6.16)",
    ),
    row(
        Input::KnockSpeed,
        Width::Absolute(4.3),
        "3 octane numbers at 1500 and 6000 rpm, none at 3000: -1 to -3 per 1000 rpm (common practice, no source)",
    ),
    row(
        Input::ValveEvents,
        Width::Stated,
        "8 deg and half of the overlap where they are not stated, else none (common practice, no source)",
    ),
    row(
        Input::BoreAndStroke,
        Width::Stated,
        "17 % of their ratio where the displacement alone is stated, else none (rows of real engines)",
    ),
    row(
        Input::RunnerLength,
        Width::Stated,
        "5 % where stated, 20 % where usual of the kind, where VE is computed from pipes (common practice, no source)",
    ),
    row(
        Input::PrimaryLength,
        Width::Stated,
        "5 % where stated, 20 % where usual of the kind, where VE is computed from pipes (common practice, no source)",
    ),
    row(
        Input::ValveFlow,
        Width::Stated,
        "3 % of a bench sheet, 6 % where usual of the kind, where VE is computed from pipes (common practice, no source)",
    ),
    row(
        Input::WaveDamping,
        Width::Stated,
        "friction along pipes half as much again, where VE is computed from them (common practice, no source)",
    ),
];

impl Input {
    /// All inputs in the order of their discriminants.
    pub const ALL: [Self; INPUTS] = {
        let mut all = [Self::Breathing; INPUTS];
        let mut i = 0;
        while i < INPUTS {
            all[i] = DISTRIBUTIONS[i].input;
            i += 1;
        }
        all
    };

    /// Its row of the table.
    pub const fn distribution(self) -> &'static Distribution {
        const TABLE: &[Distribution; INPUTS] = &DISTRIBUTIONS;
        &TABLE[self as usize]
    }

    /// Half of the 10-90 % band, relative or in the input's own unit; 0 where the band is stated with the
    /// build or the fuel.
    pub const fn half_width(self) -> f64 {
        match self.distribution().width {
            Width::Relative(half) | Width::Absolute(half) => half,
            Width::Stated => 0.0,
        }
    }
}

impl Sample {
    /// Value of an input whose band of the table lies evenly about a middle, in the unit of its width.
    pub fn about(&self, input: Input, middle: f64) -> f64 {
        let half = input.half_width();
        self.between(input, middle - half, middle, middle + half)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_input_has_its_own_row_with_a_source() {
        for input in Input::ALL {
            let row = input.distribution();
            assert_eq!(row.input, input);
            assert!(!row.source.is_empty());
            assert!(row.width == Width::Stated || input.half_width() > 0.0, "{input:?}");
        }
    }
}
