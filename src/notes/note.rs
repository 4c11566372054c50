//! A note: a warning or a told outcome as data, with its place.

use std::fmt;

/// Where in the world or in a file a note or a fault belongs.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
#[non_exhaustive]
pub enum Place {
    /// A place in a text file; line and column count from one, zero means the whole file or line.
    File {
        /// The file as the user named it.
        file: String,
        /// Line, from one.
        line: u64,
        /// Column, from one.
        column: u64,
    },
    /// A place on the ground, in the site frame's own units.
    Ground {
        /// Easting in the frame's units.
        easting: f64,
        /// Northing in the frame's units.
        northing: f64,
    },
    /// A station along a work.
    Station {
        /// The work's name.
        works: String,
        /// Metres from its start.
        station_m: f64,
    },
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::File { file, line: 0, .. } => write!(f, "{file}"),
            Self::File { file, line, column: 0 } => write!(f, "{file}:{line}"),
            Self::File { file, line, column } => write!(f, "{file}:{line}:{column}"),
            Self::Ground { easting, northing } => write!(f, "E {easting:.3} N {northing:.3}"),
            Self::Station { works, station_m } => write!(f, "{works} station {station_m:.1} m"),
        }
    }
}

/// What a note tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tidings {
    /// A doubt, a guess, or what was done otherwise than asked.
    #[default]
    Doubt,
    /// That something is as it should be.
    Good,
}

impl Tidings {
    #[expect(clippy::trivially_copy_pass_by_ref, reason = "serde hands over a reference")]
    const fn is_doubt(&self) -> bool {
        matches!(self, Self::Doubt)
    }
}

/// Something the user should know about a result. A note never changes an exit code.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Note {
    /// Stable name, such as `survey::not-checked`, for programs to recognise.
    pub code: String,
    /// One or two sentences for a person, with units.
    pub text: String,
    /// Whether it is a doubt or good news.
    #[serde(default, skip_serializing_if = "Tidings::is_doubt")]
    pub tidings: Tidings,
    /// Where it belongs, when it has a place.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub place: Option<Place>,
}

impl Note {
    /// A note without a place.
    #[must_use]
    pub fn new(code: &str, text: impl Into<String>) -> Self {
        Self { code: code.to_owned(), text: text.into(), tidings: Tidings::Doubt, place: None }
    }

    /// A note that says that all is well.
    #[must_use]
    pub fn good(code: &str, text: impl Into<String>) -> Self {
        Self { tidings: Tidings::Good, ..Self::new(code, text) }
    }

    /// The same note at a place.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }
}

/// A result and what is to be told beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Noted<T> {
    /// The result.
    pub value: T,
    /// What is to be told, in the order it was found.
    pub notes: Vec<Note>,
}

impl<T> Noted<T> {
    /// A result with nothing to tell.
    #[must_use]
    pub const fn plain(value: T) -> Self {
        Self { value, notes: Vec::new() }
    }

    /// Moves the notes to a list and gives the result.
    pub fn drain_into(self, notes: &mut Vec<Note>) -> T {
        notes.extend(self.notes);
        self.value
    }
}
