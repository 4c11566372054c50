//! The exit codes.

use std::process::ExitCode;
use swalewright::pipeline::{Fatality, PipelineError};

/// How the program ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Exit {
    /// Done.
    Done,
    /// Done, and a check failed.
    CheckFailed,
    /// Bad input or usage.
    BadInput,
    /// A fault of this program.
    OurFault,
    /// Stopped by the user.
    Interrupted,
}

impl Exit {
    pub(crate) const fn code(self) -> u8 {
        match self {
            Self::Done => 0,
            Self::CheckFailed => 1,
            Self::BadInput => 2,
            Self::OurFault => 3,
            Self::Interrupted => 130,
        }
    }

    /// A check that failed is told by the exit code; one that passed or cannot be told is not.
    pub(crate) const fn of_check(failed: bool) -> Self {
        if failed { Self::CheckFailed } else { Self::Done }
    }

    pub(crate) const fn of(error: &PipelineError) -> Self {
        match error.fatality() {
            Fatality::BadInput => Self::BadInput,
            Fatality::OurFault => Self::OurFault,
            Fatality::Interrupted => Self::Interrupted,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use swalewright::notes::Cancelled;

    #[test]
    fn codes_are_the_promised_ones() {
        let codes = [Exit::Done, Exit::CheckFailed, Exit::BadInput, Exit::OurFault, Exit::Interrupted];
        assert_eq!(codes.map(Exit::code), [0, 1, 2, 3, 130]);
    }

    #[test]
    fn errors_end_as_they_should() {
        assert_eq!(Exit::of(&Cancelled.into()), Exit::Interrupted);
        assert_eq!(Exit::of(&PipelineError::NoRun { path: "out".into() }), Exit::BadInput);
        assert_eq!(Exit::of(&PipelineError::Fault { what: String::new() }), Exit::OurFault);
    }
}
