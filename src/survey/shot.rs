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

impl Role {
    /// Every role with its name as the code table writes it.
    pub const NAMES: [(Self, &'static str); 13] = [
        (Self::Ground, "ground"),
        (Self::Breakline, "breakline"),
        (Self::Mark, "mark"),
        (Self::Check, "check"),
        (Self::Line, "line"),
        (Self::Water, "water"),
        (Self::Service, "service"),
        (Self::Boundary, "boundary"),
        (Self::KeepOut, "keep-out"),
        (Self::Sill, "sill"),
        (Self::Crest, "crest"),
        (Self::Bed, "bed"),
        (Self::Built, "built"),
    ];

    /// Its name as the code table writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(role, _)| *role == self).map_or("ground", |(_, name)| name)
    }

    /// From its name; `None` when it is none of ours.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Self::NAMES.iter().find(|(_, known)| *known == name).map(|(role, _)| *role)
    }

    /// True when the pole tip stood on natural ground, so that the shot shapes the surface. Marks stand proud, services
    /// and things to keep are not ground, and as-built shots are of the works.
    #[must_use]
    pub const fn is_ground(self) -> bool {
        matches!(self, Self::Ground | Self::Breakline | Self::Line | Self::Water | Self::Boundary)
    }
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

/// Whether the pole stood plumb or its lean was allowed for by the receiver.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tilt {
    /// The file says that no tilt correction was applied.
    NotUsed,
    /// The file says that a tilt correction was applied.
    Used,
    /// The file gives the angle off plumb, radians.
    Angle(f64),
}

/// What a file says of a shot's quality; `None` means unknown, never good.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Quality {
    /// The kind of solution.
    pub fix: Fix,
    /// Horizontal standard deviation (one sigma, radial: the root of the sum of both axes' squares), metres.
    pub horizontal_sigma: Option<f64>,
    /// Vertical standard deviation (one sigma), metres.
    pub vertical_sigma: Option<f64>,
    /// The part of it that the shots round it share, such as the backsight of a level's set-up, metres: no number of
    /// shots pools it away. `None` where it is not known.
    #[serde(default)]
    pub shared_sigma: Option<f64>,
    /// Position dilution of precision.
    pub pdop: Option<f64>,
    /// Horizontal dilution of precision.
    pub hdop: Option<f64>,
    /// Satellites used.
    pub satellites: Option<u32>,
    /// Age of the corrections, seconds.
    pub age: Option<f64>,
    /// Distance to the base, metres.
    pub base_distance: Option<f64>,
    /// Ratio of the second best to the best ambiguity solution.
    pub ratio: Option<f64>,
    /// Epochs averaged.
    pub epochs: Option<u32>,
    /// Sample standard deviation of the averaged epochs in plan (radial), metres: noise within one visit only, so never
    /// a sigma of the mean.
    pub horizontal_scatter: Option<f64>,
    /// The same in height.
    pub vertical_scatter: Option<f64>,
    /// Antenna (pole) height, metres.
    pub antenna_height: Option<f64>,
    /// Whether a tilt correction was applied.
    pub tilt: Option<Tilt>,
}

impl Default for Quality {
    fn default() -> Self {
        Self {
            fix: Fix::Unknown,
            horizontal_sigma: None,
            vertical_sigma: None,
            shared_sigma: None,
            pdop: None,
            hdop: None,
            satellites: None,
            age: None,
            base_distance: None,
            ratio: None,
            epochs: None,
            horizontal_scatter: None,
            vertical_scatter: None,
            antenna_height: None,
            tilt: None,
        }
    }
}

/// What a file says of how a shot was taken, as text; empty means unknown.
#[derive(Debug, Clone, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
pub struct Setup {
    /// Time of the last epoch, as the file gives it; the first is the shot's own time.
    pub until: String,
    /// The base or reference station.
    pub base: String,
    /// The visit or session.
    pub occupation: String,
    /// The geoid model behind the elevation.
    pub geoid: String,
    /// The antenna's type.
    pub antenna: String,
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
    /// Height above the ellipsoid, metres, where the file gives one beside or instead of the elevation.
    pub ellipsoid_height: Option<f64>,
    /// Code as the file gives it.
    pub code: String,
    /// What the code means here.
    pub role: Role,
    /// What the file says of its quality.
    pub quality: Quality,
    /// Time as the file gives it; of several epochs the first.
    pub time: Option<String>,
    /// How it was taken.
    pub setup: Setup,
}

impl Shot {
    /// Place with elevation.
    #[must_use]
    pub const fn point(&self) -> Point3 {
        self.place.at(self.elevation)
    }
}

/// A shot against what its neighbours say of its place without it.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct AmongNeighbours {
    /// Its height minus their estimate, metres.
    pub off: f64,
    /// Standard deviation of that difference, metres: the shot's noise and what the ground may do between shots.
    pub sigma: f64,
    /// Standard error of the ground's height at the shot as the neighbours alone know it, metres.
    #[serde(default)]
    pub ground: f64,
}

impl AmongNeighbours {
    /// Five standard deviations of a shot here against its neighbours, metres: smaller blunders may stand unseen; how often
    /// one of that size shows is measured in docs/accuracy.md.
    #[must_use]
    pub fn detectable(&self) -> f64 {
        5.0 * self.sigma
    }
}

/// How the shots of a survey scatter about the ground that their neighbours make of it.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Scatter {
    /// What the standard errors of a random field are multiplied with, so that the survey's own shots agree with them.
    pub widening: f64,
    /// Roughness of the ground under the pole as the shots show it, metres, what the receivers state taken off. `None`
    /// where the ground between shots is too uneven to tell.
    pub roughness_m: Option<f64>,
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
    /// Place in the local frame and elevation, metres; `None` when the line gives none that could be used.
    pub point: Option<Point3>,
}

impl SetAside {
    /// What `keep` takes to put the shot back.
    #[must_use]
    pub fn keep_line(&self) -> String {
        if self.shot.is_empty() {
            format!("{}:{}", self.file, self.line)
        } else {
            format!("{}:{}", self.file, self.shot)
        }
    }
}

/// When in a file a check shot was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CheckAt {
    /// Before the first working shot.
    Opening,
    /// Between working shots.
    During,
    /// After the last working shot.
    Closing,
}

/// A check shot against the given place of its mark.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct CheckShot {
    /// The file as the user named it.
    pub file: String,
    /// Line, from one.
    pub line: u64,
    /// Point number.
    pub shot: String,
    /// The mark's name.
    pub mark: String,
    /// When in the file it was taken.
    pub at: CheckAt,
    /// Easting measured minus given, metres.
    pub easting_m: f64,
    /// Northing measured minus given, metres.
    pub northing_m: f64,
    /// Elevation measured minus given, metres.
    pub elevation_m: f64,
    /// True when both plan and height are within the check limits.
    pub within: bool,
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
    /// How each of [`Survey::shots`] stands among its neighbours; `None` where they cannot tell, empty when not judged.
    pub neighbours: Vec<Option<AmongNeighbours>>,
    /// Shots that stand off their neighbours and are used all the same, indices into [`Survey::shots`].
    pub doubtful: Vec<u32>,
    /// How the shots scatter.
    pub scatter: Scatter,
    /// How the heights hang together, as all shots taught it; `None` when they were not judged. [`Survey::field`] asks it.
    #[serde(default)]
    pub(super) learned: Option<super::surroundings::Learned>,
    /// What places shot twice show.
    pub repeats: super::Repeats,
    /// Lines that are not, and why.
    pub set_aside: Vec<SetAside>,
    /// Ground points of clouds, local metres; empty without clouds.
    pub cloud: Vec<Point3>,
    /// Breaklines as runs of indices into [`Survey::shots`].
    pub breaklines: Vec<Vec<u32>>,
    /// Check shots on known marks, in file order.
    pub checks: Vec<CheckShot>,
    /// The fit to known marks, when one was made.
    #[serde(default)]
    pub fit: Option<super::FitReport>,
    /// The edge of the survey, indices into [`Survey::shots`]; empty when it was not shot.
    pub boundary: Vec<u32>,
}

impl Survey {
    /// A survey without shots yet, to be filled: for library users and tests.
    #[must_use]
    pub const fn empty(frame: SiteFrame) -> Self {
        Self {
            frame,
            files: Vec::new(),
            shots: Vec::new(),
            neighbours: Vec::new(),
            doubtful: Vec::new(),
            scatter: Scatter { widening: 1.0, roughness_m: None },
            learned: None,
            repeats: super::Repeats { pairs: 0, disagree: 0, sigma_m: None, roughness_m: None },
            set_aside: Vec::new(),
            cloud: Vec::new(),
            breaklines: Vec::new(),
            checks: Vec::new(),
            fit: None,
            boundary: Vec::new(),
        }
    }
}
