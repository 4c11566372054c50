//! Quantities with their unit in the type, and the only place where units are converted.
//!
//! Invariant: inside the library every quantity is in metres, square metres, cubic metres, cubic metres a second or
//! radians; [`parse`] brings text in, [`show`] takes numbers out, and nothing else multiplies by a unit factor.
//! An elevation is not a length (a difference of two elevations is), and a fall along a line is not a batter.
//! Sources of the factors: international foot 0.3048 m exactly (NIST SP 811); US survey foot 1200/3937 m exactly
//! (85 FR 62698); one station, chain or mile is never assumed.

mod elevation;
mod figures;
mod parse;
mod quantity;
mod show;
mod slope;

pub use elevation::{Elevation, Station};
pub use figures::{FeetStyle, Figures};
pub use parse::{
    ParseError, parse_area, parse_batter, parse_bearing, parse_elevation, parse_fall, parse_flow, parse_length,
    parse_memory, parse_percent, parse_rain_rate, parse_small_slope, parse_volume,
};
pub use quantity::{Area, Flow, Length, RainRate, Volume};
pub use show::{ReadingUnits, feet_and_tenths, metres};
pub use slope::{Batter, Fall};

/// Metres in one international foot, exact (1959 agreement; NIST SP 811).
pub const METRES_PER_FOOT: f64 = 0.3048;
/// Metres in one US survey foot, exact: 1200/3937 (85 FR 62698).
pub const METRES_PER_US_SURVEY_FOOT: f64 = 1200.0 / 3937.0;

/// The length unit of a point file or of a coordinate system.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, serde::Serialize, serde::Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LengthUnit {
    /// Metre.
    #[default]
    #[serde(alias = "metric", alias = "metre", alias = "metres", alias = "m")]
    Metres,
    /// International foot, 0.3048 m.
    #[serde(alias = "foot", alias = "ft")]
    Feet,
    /// US survey foot, 1200/3937 m.
    #[serde(alias = "us-survey-foot", alias = "usft")]
    UsSurveyFeet,
}

impl LengthUnit {
    /// Metres in one of this unit.
    #[must_use]
    pub const fn metres(self) -> f64 {
        match self {
            Self::Metres => 1.0,
            Self::Feet => METRES_PER_FOOT,
            Self::UsSurveyFeet => METRES_PER_US_SURVEY_FOOT,
        }
    }

    /// The ending of a column name in this unit: `_m`, `_ft` or `_usft`.
    #[must_use]
    pub const fn suffix(self) -> &'static str {
        match self {
            Self::Metres => "m",
            Self::Feet => "ft",
            Self::UsSurveyFeet => "usft",
        }
    }

    /// The unit in words, as a person reads it.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Metres => "metres",
            Self::Feet => "feet",
            Self::UsSurveyFeet => "US survey feet",
        }
    }

    /// Reads a unit's name; `None` when it is none of ours.
    #[must_use]
    pub fn from_name(name: &str) -> Option<Self> {
        Some(match name.trim().to_ascii_lowercase().as_str() {
            "m" | "metre" | "metres" | "meter" | "meters" | "metric" => Self::Metres,
            "ft" | "foot" | "feet" | "international foot" | "international feet" => Self::Feet,
            "usft" | "us-ft" | "us survey foot" | "us survey feet" | "us-survey-foot" | "us-survey-feet" => {
                Self::UsSurveyFeet
            }
            _ => return None,
        })
    }
}
