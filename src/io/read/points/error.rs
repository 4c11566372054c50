//! Why a point file could not be read: file, line, field, what was found, what is accepted.

use crate::notes::Place;

/// Why a point file could not be read. Lines and columns (fields) count from one.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum PointFileError {
    /// The file is not there.
    #[error("{file}: there is no such file")]
    Missing {
        /// The file.
        file: String,
    },
    /// The file is there but cannot be read.
    #[error("{file}: cannot be read: {why}")]
    Unreadable {
        /// The file.
        file: String,
        /// What the system says.
        why: String,
    },
    /// There is not one point in it.
    #[error(
        "{file}: is empty: a point file has one point a line, such as `101, 6187220.155, 412350.020, 431.252, ground`"
    )]
    Empty {
        /// The file.
        file: String,
    },
    /// It is not text.
    #[error("{file}: is not a text file{hint}: a point file is text with one point a line")]
    NotText {
        /// The file.
        file: String,
        /// What it seems to be, as ` (...)`.
        hint: &'static str,
    },
    /// No delimiter parts the lines in three fields or more.
    #[error(
        "{file}:{line}: no comma, semicolon, tab or space parts this line in three fields or more: found `{found}`"
    )]
    NoDelimiter {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// The line's text, shortened.
        found: String,
    },
    /// A comma cannot be both.
    #[error(
        "{file}: a decimal comma cannot stand in a file whose delimiter is the comma: say delimiter = \"semicolon\", \"tab\" or \"space\""
    )]
    CommaTwice {
        /// The file.
        file: String,
    },
    /// `columns` names a column that is none.
    #[error("{file}: unknown column `{found}` in columns: accepted are {accepted}")]
    UnknownColumn {
        /// The file.
        file: String,
        /// The name found.
        found: String,
        /// The names accepted.
        accepted: String,
    },
    /// A column stands twice.
    #[error("{file}:{line}: column {column}: there are two columns for `{name}`: name one of them `skip` in columns")]
    ColumnTwice {
        /// The file.
        file: String,
        /// The header line; zero when the user said the columns.
        line: u64,
        /// Field number of the second.
        column: u64,
        /// What both hold.
        name: String,
    },
    /// A point has no place or no elevation.
    #[error(
        "{file}:{line}: no column for {missing}: found `{found}`; needed are easting and northing (or latitude and longitude), and elevation (or height)"
    )]
    MissingColumn {
        /// The file.
        file: String,
        /// The header line; zero when the user said the columns.
        line: u64,
        /// What is missing.
        missing: String,
        /// The columns as found.
        found: String,
    },
    /// A line has too few or too many fields.
    #[error("{file}:{line}: {found} columns where {expected} are due ({names})")]
    ColumnCount {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Fields found.
        found: usize,
        /// Fields due.
        expected: usize,
        /// The names of the columns due.
        names: String,
    },
    /// Text where a number is due.
    #[error("{file}:{line}: column {column} ({name}): `{found}` is not a number{hint}")]
    NotANumber {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Field number.
        column: u64,
        /// What the column holds.
        name: &'static str,
        /// The text found.
        found: String,
        /// What may be the matter, as `: ...`.
        hint: &'static str,
    },
    /// Not a number, or infinite.
    #[error("{file}:{line}: column {column} ({name}): `{found}` is not a finite number")]
    NotFinite {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Field number.
        column: u64,
        /// What the column holds.
        name: &'static str,
        /// The text found.
        found: String,
    },
    /// A number that the column cannot hold.
    #[error("{file}:{line}: column {column} ({name}): {found} is out of range: {accepted}")]
    OutOfRange {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// Field number.
        column: u64,
        /// What the column holds.
        name: &'static str,
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
}

impl PointFileError {
    /// Stable name of the fault, for programs.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Missing { .. } => "points::missing-file",
            Self::Unreadable { .. } => "points::unreadable",
            Self::Empty { .. } => "points::empty",
            Self::NotText { .. } => "points::not-text",
            Self::NoDelimiter { .. } => "points::no-delimiter",
            Self::CommaTwice { .. } => "points::comma-twice",
            Self::UnknownColumn { .. } => "points::unknown-column",
            Self::ColumnTwice { .. } => "points::column-twice",
            Self::MissingColumn { .. } => "points::missing-column",
            Self::ColumnCount { .. } => "points::column-count",
            Self::NotANumber { .. } => "points::not-a-number",
            Self::NotFinite { .. } => "points::not-finite",
            Self::OutOfRange { .. } => "points::out-of-range",
        }
    }

    /// Where the fault lies.
    #[must_use]
    pub fn place(&self) -> Place {
        let (file, line, column) = match self {
            Self::Missing { file }
            | Self::Unreadable { file, .. }
            | Self::Empty { file }
            | Self::NotText { file, .. }
            | Self::CommaTwice { file }
            | Self::UnknownColumn { file, .. } => (file, 0, 0),
            Self::NoDelimiter { file, line, .. }
            | Self::MissingColumn { file, line, .. }
            | Self::ColumnCount { file, line, .. } => (file, *line, 0),
            Self::ColumnTwice { file, line, column, .. }
            | Self::NotANumber { file, line, column, .. }
            | Self::NotFinite { file, line, column, .. }
            | Self::OutOfRange { file, line, column, .. } => (file, *line, *column),
        };
        Place::File { file: file.clone(), line, column }
    }
}
