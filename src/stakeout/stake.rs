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
    /// On the berm's crest line.
    Crest,
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
    /// Metres along the works' line.
    pub station: f64,
    /// `uphill`, `downhill` or `on line`.
    pub side: &'static str,
    /// Metres from the works' line, positive uphill.
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
    /// `sill`, `crest`, `bed`, `section`.
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
