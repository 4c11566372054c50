//! Why a survey cannot be used, or a shot not found.

use crate::notes::{Cancelled, Place};

/// Why a survey cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SurveyError {
    /// The user wants the work to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
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
    /// One shot is to be put back and to be left out.
    #[error(
        "`keep` puts back `{keep}` and `drop` leaves out `{drop}`, which are one shot, {file}:{line}: write it in one of them"
    )]
    KeptAndDropped {
        /// As `drop` names it.
        drop: String,
        /// As `keep` names it.
        keep: String,
        /// Its file.
        file: String,
        /// Its line.
        line: u64,
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
    /// The frame's area of use says that northing and easting are the wrong way round.
    #[error(
        "{file}: easting {easting:.0}, northing {northing:.0} lies outside the area of use of {crs}, the other way round it \
         lies inside (columns {how}): say `columns = \"point, easting, northing, elevation, code\"` or as the file has them"
    )]
    Swapped {
        /// The file.
        file: String,
        /// Median easting as read, in the frame's unit.
        easting: f64,
        /// Median northing as read, in the frame's unit.
        northing: f64,
        /// The site's frame.
        crs: String,
        /// How the columns came to be known.
        how: &'static str,
    },
    /// The frame's area of use says that the numbers are in another unit.
    #[error(
        "{file}: easting {easting:.0}, northing {northing:.0}, taken as {taken}, lies outside the area of use of {crs}; as {unit} it lies \
         inside: say units = \"{unit}\" (or \"us-survey-feet\"), or units = \"{taken}\" if that is what they are"
    )]
    UnitForgotten {
        /// The file.
        file: String,
        /// Median easting as read, in the frame's unit.
        easting: f64,
        /// Median northing as read, in the frame's unit.
        northing: f64,
        /// The site's frame.
        crs: String,
        /// The unit that was taken.
        taken: &'static str,
        /// The unit that fits.
        unit: &'static str,
    },
    /// Nothing says which column is the northing.
    #[error(
        "{file}: northing and easting cannot be told apart: no header, no columns said, and {why}; {readings}: say \
         columns = \"{read}\" or columns = \"{swapped}\" (--columns)"
    )]
    OrderUnknown {
        /// The file.
        file: String,
        /// Why the frame's area of use does not decide.
        why: String,
        /// Both readings.
        readings: String,
        /// The columns as assumed.
        read: String,
        /// The columns the other way round.
        swapped: String,
    },
    /// The file names another frame than the site's.
    #[error("{file}: it stands in {own}, the site in {site}: convert it first, or save it in longitude and latitude")]
    OtherFrame {
        /// The file.
        file: String,
        /// The frame it names.
        own: String,
        /// The site's frame.
        site: String,
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
    /// Heights that need a place on the ellipsoid.
    #[error("{file}: a geoid grid or an inclined plane needs a frame that is tied to the earth, not a site grid")]
    HeightsNeedFrame {
        /// The file.
        file: String,
    },
    /// The survey cannot be fitted to its marks.
    #[error("the survey cannot be fitted to the marks of {marks}: {why}")]
    Fit {
        /// The file of known marks.
        marks: String,
        /// Why.
        why: String,
    },
    /// No shot has that number.
    #[error("no shot `{wanted}`: {held}, such as `{example}`")]
    NoSuchShot {
        /// As asked.
        wanted: String,
        /// What there is instead.
        held: String,
        /// A right one.
        example: String,
    },
    /// The shot is there but was set aside.
    #[error("shot `{wanted}` ({file}:{line}) was set aside: {reason}, {value}")]
    SetAside {
        /// As asked.
        wanted: String,
        /// Its file.
        file: String,
        /// Its line.
        line: u64,
        /// Why.
        reason: String,
        /// The value that decided.
        value: String,
    },
    /// More than one shot has that number.
    #[error("point `{wanted}` is ambiguous: {found}; write {write}")]
    Ambiguous {
        /// As asked.
        wanted: String,
        /// The shots that have it, with file and line.
        found: String,
        /// What tells them apart.
        write: String,
    },
}

impl SurveyError {
    /// Stable name of the fault, for programs.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::Cancelled(_) => "interrupted",
            Self::NoShots { .. } => "survey::no-shots",
            Self::NothingKept { .. } => "survey::nothing-kept",
            Self::KeptAndDropped { .. } => "survey::kept-and-dropped",
            Self::Degrees { .. } => "survey::degrees",
            Self::NoProjection { .. } => "survey::no-projection",
            Self::Swapped { .. } => "survey::swapped",
            Self::UnitForgotten { .. } => "survey::unit-forgotten",
            Self::OrderUnknown { .. } => "survey::order-unknown",
            Self::OtherFrame { .. } => "survey::other-frame",
            Self::OutsideFrame { .. } => "survey::outside-frame",
            Self::Frame(_) => "survey::frame",
            Self::HeightsNeedFrame { .. } => "survey::heights-need-frame",
            Self::Fit { .. } => "survey::fit",
            Self::NoSuchShot { .. } => "survey::no-such-shot",
            Self::SetAside { .. } => "survey::set-aside",
            Self::Ambiguous { .. } => "survey::ambiguous",
        }
    }

    /// Where in a file the fault lies, when it has such a place.
    #[must_use]
    pub fn place(&self) -> Option<Place> {
        match self {
            Self::Degrees { file, line, column, .. } => {
                Some(Place::File { file: file.clone(), line: *line, column: *column })
            }
            Self::OutsideFrame { file, line, .. } => Some(Place::File { file: file.clone(), line: *line, column: 0 }),
            Self::NoProjection { file }
            | Self::HeightsNeedFrame { file }
            | Self::Swapped { file, .. }
            | Self::UnitForgotten { file, .. }
            | Self::OrderUnknown { file, .. }
            | Self::OtherFrame { file, .. } => Some(Place::File { file: file.clone(), line: 0, column: 0 }),
            _ => None,
        }
    }
}
