//! How the program ends.

use super::error::CliError;
use std::process::ExitCode;

/// What came of a run that did not fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// All done, and every limit stated in the scenario is met.
    Done,
    /// All done, but a limit stated in the scenario is not met, or a pull is not credible.
    LimitNotMet,
}

/// Exit status of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum ExitStatus {
    /// Done.
    Done = 0,
    /// Done, but a limit stated in the scenario is not met, or a pull is not credible.
    LimitNotMet = 1,
    /// Input that cannot be used, or a file that cannot be read or written.
    BadInput = 2,
}

impl ExitStatus {
    /// The status that a run ends with.
    pub(crate) fn of(outcome: &Result<Outcome, CliError>) -> Self {
        match outcome {
            Ok(Outcome::Done) => Self::Done,
            Ok(Outcome::LimitNotMet) => Self::LimitNotMet,
            Err(_) => Self::BadInput,
        }
    }
}

impl From<ExitStatus> for ExitCode {
    fn from(status: ExitStatus) -> Self {
        Self::from(status as u8)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_outcome_has_its_status() {
        assert_eq!(ExitStatus::of(&Ok(Outcome::Done)) as u8, 0);
        assert_eq!(ExitStatus::of(&Ok(Outcome::LimitNotMet)) as u8, 1);
        assert_eq!(ExitStatus::of(&Err(CliError::SamePath { path: "x".into() })) as u8, 2);
    }
}
