//! Why a point file could not be read: the place in it, what was found, what is accepted.

use crate::io::read::ReadError;
use crate::notes::Place;
use crate::survey::Format;
use std::fmt;

/// A place in a point file, as the format counts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Spot {
    /// The file as the user named it.
    pub file: String,
    /// Line, row or feature, from one; zero for the whole file.
    pub line: u64,
    /// Field, from one; zero for the whole line.
    pub column: u64,
    /// What the field holds; empty for the whole line.
    pub name: &'static str,
    /// The file's format.
    pub format: Format,
}

impl fmt::Display for Spot {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { file, line, column, name, format } = self;
        write!(f, "{file}")?;
        match (format, line, column) {
            (_, 0, _) => {}
            (Format::Spreadsheet, line, 1..) => write!(f, ": cell {}{line}", letters(*column))?,
            (Format::Spreadsheet | Format::GeoPackage | Format::GeoJson, line, _) => {
                write!(f, ": {} {line}", format.line_word())?;
            }
            (_, line, _) => write!(f, ":{line}")?,
        }
        let by_number = *line > 0 && matches!(format, Format::Text(_) | Format::PositionLog | Format::Nmea);
        match (by_number && *column > 0, name.is_empty()) {
            (true, false) => write!(f, ": column {column} ({name})"),
            (true, true) => write!(f, ": column {column}"),
            (false, false) => write!(f, " ({name})"),
            (false, true) => Ok(()),
        }
    }
}

/// The letters of a spreadsheet's column, from one: A, B, ... Z, AA.
pub(in crate::io::read) fn letters(column: u64) -> String {
    let mut rest = column;
    let mut letters = Vec::new();
    while rest > 0 {
        rest -= 1;
        letters.push(char::from(b'A' + u8::try_from(rest % 26).unwrap_or_default()));
        rest /= 26;
    }
    letters.iter().rev().collect()
}

/// Why a point file could not be read.
#[derive(Debug, thiserror::Error)]
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
        "{file}: is empty of points: a point file has one point a line, such as `101, 6187220.155, 412350.020, 431.252, ground`"
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
    /// The file is sound, but holds no points that can be used.
    #[error("{file}: {why}")]
    Lacks {
        /// The file.
        file: String,
        /// What is missing, and what is accepted.
        why: String,
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
        "{file}: a decimal comma cannot stand in a file whose delimiter is the comma: leave the decimal comma out, or say delimiter = \"semicolon\", \"tab\" or \"space\""
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
    /// `columns` gives characters that cannot be.
    #[error("{file}: `{found}` in columns: {why}; a fixed width is written as `point 1-8, northing 9-20, ...`")]
    Characters {
        /// The file.
        file: String,
        /// As written.
        found: String,
        /// What is wrong with it.
        why: &'static str,
    },
    /// A column of fixed width holds part of a word.
    #[error(
        "{file}:{line}: characters {characters} hold only part of `{word}`: accepted are columns whose characters hold whole words"
    )]
    WordCut {
        /// The file.
        file: String,
        /// The line.
        line: u64,
        /// The column's characters as said.
        characters: String,
        /// The word.
        word: String,
    },
    /// A column stands twice.
    #[error("{spot}: there are two columns for `{name}`: name one of them `skip` in columns")]
    ColumnTwice {
        /// The second of them.
        spot: Spot,
        /// What both hold.
        name: String,
    },
    /// A point has no place or no elevation.
    #[error(
        "{spot}: no column for {missing}: found `{found}`; needed are easting and northing (or latitude and longitude), and elevation (or height)"
    )]
    MissingColumn {
        /// The header line.
        spot: Spot,
        /// What is missing.
        missing: String,
        /// The columns as found.
        found: String,
    },
    /// A line has too few or too many fields.
    #[error("{spot}: {found} columns where {expected} are due ({names})")]
    ColumnCount {
        /// The line.
        spot: Spot,
        /// Fields found.
        found: usize,
        /// Fields due.
        expected: usize,
        /// The names of the columns due.
        names: String,
    },
    /// Text where a number is due.
    #[error("{spot}: `{found}` is not a number{hint}")]
    NotANumber {
        /// The field.
        spot: Spot,
        /// The text found.
        found: String,
        /// What may be the matter, as `: ...`.
        hint: &'static str,
    },
    /// Not a number, or infinite.
    #[error("{spot}: `{found}` is not a finite number")]
    NotFinite {
        /// The field.
        spot: Spot,
        /// The text found.
        found: String,
    },
    /// A number that the column cannot hold.
    #[error("{spot}: {found} is out of range: {accepted}")]
    OutOfRange {
        /// The field.
        spot: Spot,
        /// The text found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
    /// A line of a log that is not as it should be.
    #[error("{spot}: found {found}, accepted is {accepted}")]
    Log {
        /// The line.
        spot: Spot,
        /// What was found.
        found: String,
        /// What is accepted.
        accepted: &'static str,
    },
    /// A map file or document is broken.
    #[error(transparent)]
    Read(#[from] ReadError),
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
            Self::Lacks { .. } => "points::lacks",
            Self::NoDelimiter { .. } => "points::no-delimiter",
            Self::CommaTwice { .. } => "points::comma-twice",
            Self::UnknownColumn { .. } => "points::unknown-column",
            Self::Characters { .. } => "points::characters",
            Self::WordCut { .. } => "points::word-cut",
            Self::ColumnTwice { .. } => "points::column-twice",
            Self::MissingColumn { .. } => "points::missing-column",
            Self::ColumnCount { .. } => "points::column-count",
            Self::NotANumber { .. } => "points::not-a-number",
            Self::NotFinite { .. } => "points::not-finite",
            Self::OutOfRange { .. } => "points::out-of-range",
            Self::Log { .. } => "points::log",
            Self::Read(error) => error.code(),
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
            | Self::Lacks { file, .. }
            | Self::CommaTwice { file }
            | Self::Characters { file, .. }
            | Self::UnknownColumn { file, .. } => (file, 0, 0),
            Self::NoDelimiter { file, line, .. } | Self::WordCut { file, line, .. } => (file, *line, 0),
            Self::MissingColumn { spot, .. }
            | Self::ColumnCount { spot, .. }
            | Self::ColumnTwice { spot, .. }
            | Self::NotANumber { spot, .. }
            | Self::NotFinite { spot, .. }
            | Self::OutOfRange { spot, .. }
            | Self::Log { spot, .. } => (&spot.file, spot.line, spot.column),
            Self::Read(error) => return error.place(),
        };
        Place::File { file: file.clone(), line, column }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spot_is_told_as_its_format_counts() {
        let spot = |format, line, column, name| Spot { file: "f".into(), line, column, name, format }.to_string();
        let text = Format::Text(crate::survey::Delimiter::Comma);
        assert_eq!(spot(text, 7, 3, "easting"), "f:7: column 3 (easting)");
        assert_eq!(spot(text, 7, 0, ""), "f:7");
        assert_eq!(spot(Format::Spreadsheet, 7, 3, "easting"), "f: cell C7 (easting)");
        assert_eq!(spot(Format::Spreadsheet, 7, 28, ""), "f: cell AB7");
        assert_eq!(spot(Format::Spreadsheet, 7, 0, ""), "f: row 7");
        assert_eq!(spot(Format::GeoJson, 7, 3, "easting"), "f: feature 7 (easting)");
        assert_eq!(spot(Format::LandXml, 7, 3, "easting"), "f:7 (easting)");
        assert_eq!(spot(Format::Nmea, 0, 0, ""), "f");
    }
}
