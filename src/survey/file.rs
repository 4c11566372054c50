//! A point file as read: its records in their own units, and how the file was understood.
//!
//! Invariant: numbers are finite and stand in the file's own unit; nothing is projected, tested or left out yet. What
//! was guessed about the file is in its notes.

use super::Quality;
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
    /// Position dilution of precision.
    Pdop,
    /// Epochs averaged.
    Epochs,
    /// Antenna (pole) height.
    AntennaHeight,
    /// Time, kept as text.
    Time,
    /// Latitude, decimal degrees, north positive.
    Latitude,
    /// Longitude, decimal degrees, east positive.
    Longitude,
    /// Height above the ellipsoid.
    Height,
    /// Not read.
    Skip,
}

impl Column {
    /// Every column with its name, in the order that messages list them.
    pub const NAMES: [(Self, &'static str); 16] = [
        (Self::Point, "point"),
        (Self::Northing, "northing"),
        (Self::Easting, "easting"),
        (Self::Elevation, "elevation"),
        (Self::Code, "code"),
        (Self::Fix, "fix"),
        (Self::HorizontalSigma, "horizontal sigma"),
        (Self::VerticalSigma, "vertical sigma"),
        (Self::Pdop, "pdop"),
        (Self::Epochs, "epochs"),
        (Self::AntennaHeight, "antenna height"),
        (Self::Time, "time"),
        (Self::Latitude, "latitude"),
        (Self::Longitude, "longitude"),
        (Self::Height, "height"),
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
    /// Code and description.
    pub code: String,
    /// What the line says of its quality; sigmas and antenna height in the file's unit.
    pub quality: Quality,
    /// Time as the file gives it.
    pub time: Option<String>,
}

/// A point file as read.
#[derive(Debug, Clone, PartialEq)]
pub struct PointFile {
    /// The file as the user named it.
    pub name: String,
    /// The unit of its coordinates and elevations, when the user or the header said so.
    pub unit: Option<LengthUnit>,
    /// What stands between its fields.
    pub delimiter: Delimiter,
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
