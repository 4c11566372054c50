//! A point file as read: its records in their own units, and how the file was understood.
//!
//! Invariant: numbers are finite and stand in the file's own unit; nothing is projected, tested or left out yet. What
//! was guessed about the file is in its notes.

use super::{Quality, Setup};
use crate::frame::Geographic;
use crate::notes::Note;
use crate::units::LengthUnit;

/// What a column of a point file holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Column {
    /// Point number or name.
    Point,
    /// Northing.
    Northing,
    /// Easting.
    Easting,
    /// Elevation above the site's datum.
    Elevation,
    /// Field code and description.
    Code,
    /// Kind of solution.
    Fix,
    /// Horizontal standard deviation (one sigma).
    HorizontalSigma,
    /// Vertical standard deviation (one sigma).
    VerticalSigma,
    /// Standard deviation of the northing (one sigma).
    NorthSigma,
    /// Standard deviation of the easting (one sigma).
    EastSigma,
    /// Position dilution of precision.
    Pdop,
    /// Horizontal dilution of precision.
    Hdop,
    /// Satellites used.
    Satellites,
    /// Age of the corrections, seconds.
    Age,
    /// The base or reference station.
    Base,
    /// Distance to the base.
    BaseDistance,
    /// Ratio of the two best ambiguity solutions.
    Ratio,
    /// Epochs averaged.
    Epochs,
    /// Antenna (pole) height.
    AntennaHeight,
    /// The antenna's type, kept as text.
    Antenna,
    /// Whether a tilt correction was applied, or the angle off plumb in degrees.
    Tilt,
    /// The geoid model, kept as text.
    Geoid,
    /// The visit or session, kept as text.
    Occupation,
    /// Date, kept as text, where the time stands in a column of its own.
    Date,
    /// Time, kept as text.
    Time,
    /// Time of the last epoch, kept as text.
    EndTime,
    /// Latitude, decimal degrees, north positive.
    Latitude,
    /// Longitude, decimal degrees, east positive.
    Longitude,
    /// Height above the ellipsoid.
    Height,
    /// Geocentric X, metres.
    GeocentricX,
    /// Geocentric Y, metres.
    GeocentricY,
    /// Geocentric Z, metres.
    GeocentricZ,
    /// Not read.
    Skip,
}

impl Column {
    /// Every column with its name, in the order that messages list them.
    pub const NAMES: [(Self, &'static str); 33] = [
        (Self::Point, "point"),
        (Self::Northing, "northing"),
        (Self::Easting, "easting"),
        (Self::Elevation, "elevation"),
        (Self::Code, "code"),
        (Self::Fix, "fix"),
        (Self::HorizontalSigma, "horizontal sigma"),
        (Self::VerticalSigma, "vertical sigma"),
        (Self::NorthSigma, "north sigma"),
        (Self::EastSigma, "east sigma"),
        (Self::Pdop, "pdop"),
        (Self::Hdop, "hdop"),
        (Self::Satellites, "satellites"),
        (Self::Age, "age"),
        (Self::Base, "base"),
        (Self::BaseDistance, "base distance"),
        (Self::Ratio, "ratio"),
        (Self::Epochs, "epochs"),
        (Self::AntennaHeight, "antenna height"),
        (Self::Antenna, "antenna"),
        (Self::Tilt, "tilt"),
        (Self::Geoid, "geoid"),
        (Self::Occupation, "occupation"),
        (Self::Date, "date"),
        (Self::Time, "time"),
        (Self::EndTime, "end time"),
        (Self::Latitude, "latitude"),
        (Self::Longitude, "longitude"),
        (Self::Height, "height"),
        (Self::GeocentricX, "geocentric x"),
        (Self::GeocentricY, "geocentric y"),
        (Self::GeocentricZ, "geocentric z"),
        (Self::Skip, "skip"),
    ];

    /// Its name as `columns = "..."` writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(column, _)| *column == self).map_or("skip", |(_, name)| name)
    }
}

/// How the columns of a file came to be known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum ColumnsFrom {
    /// The user said so.
    Said,
    /// The file's header line says so.
    Header,
    /// Neither: point, northing, easting, elevation, code was assumed.
    Assumed,
    /// Neither, and which of the two coordinates is the northing was found out by evidence.
    Settled,
}

/// What stands between the fields of a line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Delimiter {
    /// `,`
    Comma,
    /// `;`
    Semicolon,
    /// A tab.
    Tab,
    /// One or more spaces (or tabs).
    Space,
}

impl Delimiter {
    /// Its name as `delimiter = "..."` writes it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Comma => "comma",
            Self::Semicolon => "semicolon",
            Self::Tab => "tab",
            Self::Space => "space",
        }
    }

    /// From a name or the character itself; `None` when it is none of ours.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Some(match name {
            "," => Self::Comma,
            ";" => Self::Semicolon,
            "\t" => Self::Tab,
            " " => Self::Space,
            _ => match name.trim().to_ascii_lowercase().as_str() {
                "comma" => Self::Comma,
                "semicolon" => Self::Semicolon,
                "tab" => Self::Tab,
                "space" | "spaces" => Self::Space,
                _ => return None,
            },
        })
    }
}

/// What kind of file the points came in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Format {
    /// Lines of text with fields.
    Text(Delimiter),
    /// A sheet of a workbook.
    Spreadsheet,
    /// A log of NMEA 0183 sentences.
    Nmea,
    /// A position log of post-processing, in columns.
    PositionLog,
    /// GeoJSON features.
    GeoJson,
    /// Rows of a GeoPackage table.
    GeoPackage,
    /// Points of a LandXML document.
    LandXml,
}

impl Format {
    /// Its name for people.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Text(_) => "point file",
            Self::Spreadsheet => "spreadsheet",
            Self::Nmea => "NMEA 0183 log",
            Self::PositionLog => "position log",
            Self::GeoJson => "GeoJSON points",
            Self::GeoPackage => "GeoPackage points",
            Self::LandXml => "LandXML points",
        }
    }

    /// What [`Record::line`] counts.
    #[must_use]
    pub const fn line_word(self) -> &'static str {
        match self {
            Self::Text(_) | Self::Nmea | Self::PositionLog | Self::LandXml => "line",
            Self::Spreadsheet | Self::GeoPackage => "row",
            Self::GeoJson => "feature",
        }
    }
}

/// What the file's elevations are above.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum HeightsAre {
    /// The site's datum, as far as the file says.
    Elevations,
    /// The ellipsoid: the file has no elevations, so these stand in for them.
    Ellipsoidal,
    /// The geoid model inside the receiver, which may be a coarse one.
    ReceiverGeoid,
    /// A geoid grid of the user's: they were made of ellipsoidal heights.
    ByGeoid,
}

/// Where a record stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Position {
    /// In the site's grid, the file's unit.
    Grid {
        /// Easting.
        easting: f64,
        /// Northing.
        northing: f64,
    },
    /// On the ellipsoid, decimal degrees.
    Geographic {
        /// Longitude, east positive.
        longitude: f64,
        /// Latitude, north positive.
        latitude: f64,
    },
}

/// One line of a point file.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Line in the file, from one.
    pub line: u64,
    /// Point number; empty when the file has none.
    pub id: String,
    /// Where it stands.
    pub position: Position,
    /// Elevation in the file's unit; `None` when the field is empty.
    pub elevation: Option<f64>,
    /// Height above the ellipsoid in the file's unit, where the file gives one.
    pub ellipsoid_height: Option<f64>,
    /// Code and description.
    pub code: String,
    /// What the line says of its quality; sigmas, distances and antenna height in the file's unit.
    pub quality: Quality,
    /// Time as the file gives it; of several epochs the first.
    pub time: Option<String>,
    /// How it was taken.
    pub setup: Setup,
}

/// A point file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFile {
    /// The file as the user named it.
    pub name: String,
    /// The unit of its coordinates and elevations, when the user or the header said so.
    pub unit: Option<LengthUnit>,
    /// What kind of file it is.
    pub format: Format,
    /// The frame that the file itself names for its grid coordinates, such as `EPSG:32755`.
    pub crs: Option<String>,
    /// Which latitude and longitude it means, when its format says so; else the survey's settings do.
    pub geographic: Option<Geographic>,
    /// What its elevations are above.
    pub heights: HeightsAre,
    /// Its columns, first to last.
    pub columns: Vec<Column>,
    /// The header line's own titles, empty without a header.
    pub titles: Vec<String>,
    /// How the columns came to be known.
    pub columns_from: ColumnsFrom,
    /// Its records in file order.
    pub records: Vec<Record>,
    /// What was guessed or noticed on reading.
    pub notes: Vec<Note>,
}
