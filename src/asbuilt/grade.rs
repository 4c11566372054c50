//! The answer of an as-built check.

use super::settings::Tolerance;
use crate::geom::Point;
use crate::stats::Verdict;

/// The part of a work that a shot lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Part {
    /// The spillway's level lip.
    Sill,
    /// The top of the berm.
    Crest,
    /// The channel's bed.
    Bed,
    /// Batters and the rest, against the designed surface.
    Other,
}

impl Part {
    /// As it is written.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sill => "sill",
            Self::Crest => "crest",
            Self::Bed => "bed",
            Self::Other => "other",
        }
    }
}

/// One shot against the design.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct ShotCheck {
    /// The shot as `file:number`.
    pub shot: String,
    /// The work it lies on.
    pub works: String,
    /// The part it lies on.
    pub part: Part,
    /// Metres along the work's line.
    pub station_m: f64,
    /// Metres from the work's line, positive uphill.
    pub offset_m: f64,
    /// Where, local metres.
    pub place: Point,
    /// As shot.
    pub measured_m: f64,
    /// As designed.
    pub design_elevation_m: f64,
    /// Measured minus design.
    pub difference_m: f64,
    /// What is allowed.
    pub tolerance: Tolerance,
    /// Standard deviation of the measured elevation.
    pub sigma_m: f64,
    /// The part of it that the shots round it share, so that pooling them does not take it away.
    pub shared_m: f64,
    /// This shot alone.
    pub verdict: Verdict,
}

impl ShotCheck {
    /// Standard deviation of what is this shot's own.
    pub(super) fn own_sigma(&self) -> f64 {
        (self.sigma_m * self.sigma_m - self.shared_m * self.shared_m).max(0.0).sqrt()
    }
}

/// A run of shots out of tolerance together, at 95 % for the whole part.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Stretch {
    /// Station where it begins, halfway to the shot before.
    pub from_m: f64,
    /// Station where it ends, halfway to the shot after.
    pub to_m: f64,
    /// Shots in it.
    pub shots: usize,
    /// Their mean difference.
    pub mean_m: f64,
    /// Standard error of that mean.
    pub standard_error_m: f64,
}

/// A shot that stands out.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Extreme {
    /// Its station on the work's line.
    pub station_m: f64,
    /// Measured minus design.
    pub difference_m: f64,
}

/// The straight line of the differences along a part.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Trend {
    /// Distance along the part where it is known best.
    pub along_m: f64,
    /// The difference there.
    pub difference_m: f64,
    /// Its slope.
    pub slope_m_per_m: f64,
    /// Standard error of the slope by the shots' sigma.
    pub slope_error_m_per_m: f64,
}

/// The trend at one end of a part.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct TrendEnd {
    /// Measured minus design.
    pub difference_m: f64,
    /// Half its width at 95 %.
    pub half_width_m: f64,
}

/// One part of a work along its length: a sill, or a piece of crest or bed.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PartCheck {
    /// The work.
    pub works: String,
    /// The part.
    pub part: Part,
    /// Which sill or piece of crest, from zero along the line.
    pub piece: usize,
    /// Station of the first of its shots on the work's line.
    pub from_m: f64,
    /// Station of the last.
    pub to_m: f64,
    /// Shots on it.
    pub shots: usize,
    /// What is allowed.
    pub tolerance: Tolerance,
    /// Mean difference.
    pub mean_m: f64,
    /// The lowest shot.
    pub lowest: Extreme,
    /// The highest shot.
    pub highest: Extreme,
    /// Highest minus lowest.
    pub spread_m: f64,
    /// Straight line of the differences over distance along the part; `None` when the shots stand in one place.
    pub trend: Option<Trend>,
    /// The trend at the first and the last shot.
    pub ends: Option<[TrendEnd; 2]>,
    /// Scatter about the trend beyond that of the shots themselves, metres; zero when they explain it all.
    pub waviness_m: f64,
    /// Stretches out of tolerance.
    pub failing: Vec<Stretch>,
    /// Of the part.
    pub verdict: Verdict,
    /// Shots along it that would prove it in tolerance if it lies as these say, when it cannot be told from them; `None`
    /// when it can, or when more shots would not help.
    pub shots_needed: Option<usize>,
}

/// Lowest crest minus mean sill against what the storm needs.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct FreeboardCheck {
    /// The work.
    pub works: String,
    /// Station of the lowest crest shot.
    pub lowest_crest_station_m: f64,
    /// Its elevation.
    pub lowest_crest_m: f64,
    /// Mean elevation of the sill's shots, or its design elevation when there are none.
    pub mean_sill_m: f64,
    /// True when the sill was shot.
    pub sill_shot: bool,
    /// Lowest crest minus mean sill.
    pub height_m: f64,
    /// Head + freeboard + settlement still to come.
    pub required_m: f64,
    /// How much may lack of that: what the crest's own tolerance allows it to lie low. Nothing, unless said.
    pub allowed_short_m: f64,
    /// Standard error of the height.
    pub standard_error_m: f64,
    /// Is it enough.
    pub verdict: Verdict,
}

/// Raise or lower.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PutRightAction {
    /// Too low.
    Raise,
    /// Too high.
    Lower,
}

impl PutRightAction {
    /// As it is written.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Raise => "raise",
            Self::Lower => "lower",
        }
    }
}

/// One line of the list of what to put right.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PutRight {
    /// The work.
    pub works: String,
    /// The part.
    pub part: Part,
    /// From this station on the work's line.
    pub from_m: f64,
    /// To this station.
    pub to_m: f64,
    /// What to do.
    pub action: PutRightAction,
    /// By how much at `from_m`, metres, above zero.
    pub by_from_m: f64,
    /// By how much at `to_m`: the same, except along a sill that is tilted.
    pub by_to_m: f64,
}

/// A part that must be proven, and was not shot or not over its whole length.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Gap {
    /// The work.
    pub works: String,
    /// The part.
    pub part: Part,
    /// True when other stretches of the part were shot.
    pub shot: bool,
    /// Stations of the stretch without shots; `None` where nothing of the part was shot, or it does not run along the work's
    /// line.
    pub stretch_m: Option<[f64; 2]>,
}

/// A shot that was not compared.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Unmatched {
    /// The shot as `file:number`.
    pub shot: String,
    /// Why.
    pub reason: String,
    /// True when it was meant for the works; a shot of natural ground among shots coded as works was not.
    pub meant: bool,
}

/// Did check shots on known marks open and close every file.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case", tag = "state")]
pub enum Checked {
    /// Yes, within the limit; greatest miss in height, metres.
    Checked {
        /// Measured minus mark, of greatest size.
        worst_m: f64,
    },
    /// No.
    NotChecked {
        /// What is missing.
        why: String,
    },
    /// A check shot missed its mark: the heights of its file are wrong or doubtful.
    Missed {
        /// File, mark and by how much.
        why: String,
        /// Measured minus mark, of greatest size.
        worst_m: f64,
    },
}

/// The whole answer.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct GradeCheck {
    /// Of the works: only sill, crest and freeboard decide.
    pub verdict: Verdict,
    /// First lines for a person: what the machine is kept for or that nothing is left for it, then each work's crest
    /// over its sill.
    pub headlines: Vec<String>,
    /// Signed difference of greatest size over all shots compared, metres.
    pub worst_m: f64,
    /// Root mean square difference over all shots compared, metres.
    pub rms_m: f64,
    /// Check shots.
    pub checked: Checked,
    /// Lowest crest minus mean sill, one for each work with crest shots.
    pub freeboard: Vec<FreeboardCheck>,
    /// Parts along their length.
    pub parts: Vec<PartCheck>,
    /// What must be proven and was not shot. With any of them nothing passes as a whole.
    pub not_shot: Vec<Gap>,
    /// What to put right.
    pub put_right: Vec<PutRight>,
    /// Shot by shot.
    pub shots: Vec<ShotCheck>,
    /// Shots that were not compared, and why.
    pub unmatched: Vec<Unmatched>,
}
