//! The stake and the stake list.

use crate::geom::Point;

/// Which series a stake belongs to; each series is one rover file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum StakeKind {
    /// On the contour line.
    Line,
    /// At one round distance uphill of the line.
    Offset,
    /// On the sill.
    Sill,
    /// On the crest line of a berm or wall.
    Crest,
    /// At the foot of a wall.
    Toe,
    /// On the middle of a spillway's cut, and where its sides meet the ground.
    Channel,
}

/// The thing whose elevation a stake tells.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Target {
    /// Bed of the channel.
    Bed,
    /// Sill of the spillway.
    Sill,
    /// Crest of the berm as built.
    Crest,
    /// The water level on the line.
    WaterLevel,
}

/// A way from a stake, across the work's line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Way {
    /// Up the slope.
    Uphill,
    /// Down the slope.
    Downhill,
    /// Out of a pit.
    Outwards,
    /// Into a pit.
    Inwards,
    /// Towards the water behind a wall.
    WaterSide,
    /// Away from the water.
    DrySide,
    /// Along the line.
    Along,
}

impl Way {
    /// As it is said: `uphill`, `inwards`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Uphill => "uphill",
            Self::Downhill => "downhill",
            Self::Outwards => "outwards",
            Self::Inwards => "inwards",
            Self::WaterSide => "to the water side",
            Self::DrySide => "to the dry side",
            Self::Along => "along the line",
        }
    }

    /// The side of the line that lies there.
    #[must_use]
    pub const fn side(self) -> &'static str {
        match self {
            Self::Uphill => "uphill",
            Self::Downhill => "downhill",
            Self::Outwards => "outside",
            Self::Inwards => "inside",
            Self::WaterSide => "water side",
            Self::DrySide => "dry side",
            Self::Along => "on line",
        }
    }
}

/// What to do at the target, seen from the stake: a word and a number, never a sign.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Action {
    /// Go down by so many metres.
    Cut(f64),
    /// Go up by so many metres.
    Fill(f64),
    /// Within 5 mm of it.
    OnGrade,
}

/// One stake.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct Stake {
    /// Its short name, unique, letters and digits, at most 8.
    pub id: String,
    /// The work it belongs to.
    pub works: String,
    /// Its series.
    pub kind: StakeKind,
    /// Metres along the works' line; in a spillway's cut along its own middle.
    pub station: f64,
    /// `uphill`, `downhill` or `on line`; of a pit `outside`, `inside`; of a wall `water side`, `dry side`; of a spillway's cut
    /// `middle`, `left side`, `right side`, as the water runs.
    pub side: &'static str,
    /// Metres from the works' line, positive to its left: uphill, outside a pit, or the water side of a wall.
    pub offset: f64,
    /// Where it stands, local metres.
    pub place: Point,
    /// Natural ground predicted there; `None` off the survey.
    pub predicted_ground: Option<f64>,
    /// Elevation of its own mark once it has been shot.
    pub mark_elevation: Option<f64>,
    /// What it refers to.
    pub refers_to: Target,
    /// Plan distance from the stake to what it refers to, metres.
    pub away: f64,
    /// The way to it.
    pub way: Way,
    /// Elevation of what it refers to, metres.
    pub design_elevation: f64,
    /// Cut or fill from the mark, or from the predicted ground, to the design elevation; `None` off the survey.
    pub action: Option<Action>,
    /// What is written on it.
    pub writes: String,
}

/// A shot to take after the dig.
#[derive(Debug, Clone, PartialEq, serde::Serialize)]
pub struct AsBuiltShot {
    /// Name to give it in the rover.
    pub id: String,
    /// The work.
    pub works: String,
    /// `sill`, `crest`, `bed`, `channel`, `section`.
    pub part: &'static str,
    /// Metres along the works' line.
    pub station: f64,
    /// Where, local metres.
    pub place: Point,
    /// Its design elevation, metres.
    pub design_elevation: f64,
    /// Field code to give it, one that the site's roles read back.
    pub code: String,
}

/// All stakes of a site and the shots to take after the dig.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize)]
pub struct StakeList {
    /// Stakes in the order of works and stations.
    pub stakes: Vec<Stake>,
    /// Shots to take after the dig.
    pub as_built_shots: Vec<AsBuiltShot>,
}
