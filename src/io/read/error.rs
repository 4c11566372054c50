//! Why a file could not be read.

use crate::frame::FrameError;
use crate::notes::Place;

/// Why a file could not be read. Every variant names the file as the user named it.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The file is not there, or may not be read.
    #[error("{path} cannot be read: {}", crate::io::reason(source))]
    Open {
        /// The file.
        path: String,
        /// What the system says.
        source: std::io::Error,
    },
    /// Nothing in it.
    #[error("{path} is empty: {accepted} is needed")]
    Empty {
        /// The file.
        path: String,
        /// What it should hold.
        accepted: &'static str,
    },
    /// The file is no such file, or is broken.
    #[error("{path} is not a readable {format}: {why}")]
    Format {
        /// The file.
        path: String,
        /// The format's name.
        format: &'static str,
        /// What is wrong, and what is accepted.
        why: String,
    },
    /// One place in a text file is wrong.
    #[error("{}: found {found}, accepted is {accepted}", Place::File { file: path.clone(), line: *line, column: *column })]
    Fault {
        /// The file.
        path: String,
        /// Line from one, zero for the whole file.
        line: u64,
        /// Column from one, zero for the whole line.
        column: u64,
        /// What was found.
        found: String,
        /// What is accepted.
        accepted: String,
    },
    /// One cell of a sheet is wrong.
    #[error("{path}: cell {cell}: found {found}, accepted is {accepted}")]
    Cell {
        /// The file.
        path: String,
        /// The cell as the program shows it, `C7`.
        cell: String,
        /// Its row, from one.
        line: u64,
        /// Its column, from one.
        column: u64,
        /// What was found.
        found: String,
        /// What is accepted.
        accepted: String,
    },
    /// The file is sound, but what is wanted is not in it.
    #[error("{path}: {why}")]
    Lacks {
        /// The file.
        path: String,
        /// What is missing and what to do.
        why: String,
    },
    /// A place in it cannot be brought into the site's frame.
    #[error("{path}: {source}")]
    Frame {
        /// The file.
        path: String,
        /// Why.
        source: FrameError,
    },
}

impl ReadError {
    /// Stable name of the fault, for programs to recognise.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Open { .. } => "read::open",
            Self::Empty { .. } => "read::empty",
            Self::Format { .. } => "read::format",
            Self::Fault { .. } | Self::Cell { .. } => "read::fault",
            Self::Lacks { .. } => "read::lacks",
            Self::Frame { source, .. } => source.code(),
        }
    }

    /// Where the fault is.
    #[must_use]
    pub fn place(&self) -> Place {
        let (path, line, column) = match self {
            Self::Open { path, .. }
            | Self::Empty { path, .. }
            | Self::Format { path, .. }
            | Self::Lacks { path, .. }
            | Self::Frame { path, .. } => (path, 0, 0),
            Self::Fault { path, line, column, .. } | Self::Cell { path, line, column, .. } => (path, *line, *column),
        };
        Place::File { file: path.clone(), line, column }
    }
}
