//! Shots, their roles and quality, and the survey they make.

use crate::frame::SiteFrame;
use crate::geom::{Point, Point3};

/// What a shot is for; the user's code table says which code means which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// Natural ground.
    Ground,
    /// A vertex of a breakline: consecutive shots of one code and string number are joined.
    Breakline,
    /// A known mark, observed or given.
    Mark,
    /// A check shot on a known mark.
    Check,
    /// A shot along a line to be judged (a second pass along the swale).
    Line,
    /// The edge or surface of water.
    Water,
    /// A service: overhead line, buried pipe or cable.
    Service,
    /// The edge of what was surveyed.
    Boundary,
    /// A place that nothing may touch (a tree to keep, a grave, a well).
    KeepOut,
    /// As-built: a sill.
    Sill,
    /// As-built: a crest.
    Crest,
    /// As-built: a channel bed.
    Bed,
    /// As-built: anything else on the works.
    Built,
}

/// How the receiver had its position.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Fix {
    /// Carrier-phase ambiguities resolved.
    Fixed,
    /// Not resolved.
    Float,
    /// Code differential, autonomous, or worse.
    Coarse,
    /// The file does not say.
    Unknown,
}

/// What a file says of a shot's quality; `None` means unknown, never good.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Quality {
    /// The kind of solution.
    pub fix: Fix,
    /// Horizontal standard deviation, metres.
    pub horizontal_sigma: Option<f64>,
    /// Vertical standard deviation, metres.
    pub vertical_sigma: Option<f64>,
    /// Position dilution of precision.
    pub pdop: Option<f64>,
    /// Epochs averaged.
    pub epochs: Option<u32>,
    /// Antenna (pole) height, metres.
    pub antenna_height: Option<f64>,
}

impl Default for Quality {
    fn default() -> Self {
        Self {
            fix: Fix::Unknown,
            horizontal_sigma: None,
            vertical_sigma: None,
            pdop: None,
            epochs: None,
            antenna_height: None,
        }
    }
}

/// One surveyed point.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Shot {
    /// Point number as the file gives it; unique only within its file.
    pub id: String,
    /// Index into [`Survey::files`].
    pub file: u32,
    /// Line in that file, from one.
    pub line: u64,
    /// Place in the local frame, metres.
    pub place: Point,
    /// Elevation, metres.
    pub elevation: f64,
    /// Code as the file gives it.
    pub code: String,
    /// What the code means here.
    pub role: Role,
    /// What the file says of its quality.
    pub quality: Quality,
    /// Time as the file gives it.
    pub time: Option<String>,
}

impl Shot {
    /// Place with elevation.
    #[must_use]
    pub const fn point(&self) -> Point3 {
        self.place.at(self.elevation)
    }
}

/// A line of a file that is not used, and why.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct SetAside {
    /// The file as the user named it.
    pub file: String,
    /// Line, from one.
    pub line: u64,
    /// Point number, empty when there is none.
    pub shot: String,
    /// Why, in a stable word or two such as `not fixed`.
    pub reason: String,
    /// The value that decided, with its unit.
    pub value: String,
}

/// Checked shots in one frame.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Survey {
    /// The frame the local coordinates belong to.
    pub frame: SiteFrame,
    /// File names as the user named them.
    pub files: Vec<String>,
    /// Shots that are used.
    pub shots: Vec<Shot>,
    /// Lines that are not, and why.
    pub set_aside: Vec<SetAside>,
    /// Ground points of clouds, local metres; empty without clouds.
    pub cloud: Vec<Point3>,
    /// Breaklines as runs of indices into [`Survey::shots`].
    pub breaklines: Vec<Vec<u32>>,
    /// The edge of the survey, indices into [`Survey::shots`]; empty when it was not shot.
    pub boundary: Vec<u32>,
}
