//! Why a level book cannot be reduced.

use crate::notes::Place;

/// Why a level book cannot be reduced. Lines count from one.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LevelError {
    /// The first sight does not stand on a known elevation.
    #[error(
        "{}: the book starts on `{station}`, whose elevation is not known: give it in the book's elevation column or among \
         the site's marks", at(file, *line)
    )]
    NoStart {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Where the staff stood.
        station: String,
    },
    /// A reading before any backsight or height of collimation.
    #[error(
        "{}: the reading on `{station}` stands before any backsight or height of collimation", at(file, *line)
    )]
    NoSetup {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Where the staff stood.
        station: String,
    },
    /// A backsight on a point that the run has not reached.
    #[error(
        "{}: the backsight on `{station}` needs its elevation: no foresight stands on it and it is no known mark", at(file, *line)
    )]
    BacksightNowhere {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Where the staff stood.
        station: String,
    },
    /// A line whose readings contradict each other.
    #[error("{}: {why}", at(file, *line))]
    Row {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// What is wrong and what is accepted.
        why: &'static str,
    },
    /// No reading at all.
    #[error("{file}: there is no staff reading in it")]
    Empty {
        /// The file.
        file: String,
    },
}

fn at(file: &str, line: u64) -> Place {
    Place::File { file: file.to_owned(), line, column: 0 }
}

impl LevelError {
    /// Stable name of the fault, for programs to recognise.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoStart { .. } => "levels::no-start",
            Self::NoSetup { .. } => "levels::no-setup",
            Self::BacksightNowhere { .. } => "levels::backsight-nowhere",
            Self::Row { .. } => "levels::row",
            Self::Empty { .. } => "levels::empty",
        }
    }

    /// Where the fault is; line zero for the whole file.
    #[must_use]
    pub fn place(&self) -> Place {
        match self {
            Self::NoStart { file, line, .. }
            | Self::NoSetup { file, line, .. }
            | Self::BacksightNowhere { file, line, .. }
            | Self::Row { file, line, .. } => at(file, *line),
            Self::Empty { file } => at(file, 0),
        }
    }
}
