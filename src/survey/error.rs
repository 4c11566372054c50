//! Why a survey cannot be used, or a shot not found.

use crate::notes::Place;

/// Why a survey cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SurveyError {
    /// There is nothing to check.
    #[error("no point file holds a shot: {files}")]
    NoShots {
        /// The files read.
        files: String,
    },
    /// Every shot failed a check.
    #[error("all {read} shots were set aside, most of them because of `{reason}`: nothing is left to make ground of")]
    NothingKept {
        /// Shots read.
        read: usize,
        /// The commonest reason.
        reason: String,
    },
    /// Degrees where metres or feet are due.
    #[error(
        "{file}:{line}: column {column}: {easting}, {northing} looks like longitude and latitude in degrees, but {crs} has its coordinates in {unit}: \
         name the columns `longitude` and `latitude`, or give projected coordinates"
    )]
    Degrees {
        /// The file.
        file: String,
        /// The first such line.
        line: u64,
        /// Field number, from one.
        column: u64,
        /// As found.
        easting: f64,
        /// As found.
        northing: f64,
        /// The site's frame.
        crs: String,
        /// Its unit in words.
        unit: &'static str,
    },
    /// Latitude and longitude in a site grid.
    #[error("{file}: holds latitude and longitude, but the site's frame is `local`: name a projected system as `crs`")]
    NoProjection {
        /// The file.
        file: String,
    },
    /// A place that the frame cannot take.
    #[error("{file}:{line}: {why}")]
    OutsideFrame {
        /// The file.
        file: String,
        /// The first such line.
        line: u64,
        /// What the frame says.
        why: String,
    },
    /// The frame itself cannot be used.
    #[error("{0}")]
    Frame(String),
    /// No shot has that number.
    #[error("no shot `{wanted}`: write `file:point`, such as `{example}`")]
    NoSuchShot {
        /// As asked.
        wanted: String,
        /// A right one.
        example: String,
    },
    /// More than one shot has that number.
    #[error("point `{wanted}` is ambiguous: {found}; write `file:point`")]
    Ambiguous {
        /// As asked.
        wanted: String,
        /// The shots that have it, with file and line.
        found: String,
    },
}

impl SurveyError {
    /// Where in a file the fault lies, when it has such a place.
    #[must_use]
    pub fn place(&self) -> Option<Place> {
        match self {
            Self::Degrees { file, line, column, .. } => {
                Some(Place::File { file: file.clone(), line: *line, column: *column })
            }
            Self::OutsideFrame { file, line, .. } => Some(Place::File { file: file.clone(), line: *line, column: 0 }),
            Self::NoProjection { file } => Some(Place::File { file: file.clone(), line: 0, column: 0 }),
            _ => None,
        }
    }
}
