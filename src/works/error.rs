//! Why works could not be designed. Each message names the work, the place, what was found and the limit.

use crate::notes::Cancelled;
use crate::surface::{ComposeError, TinError};
use crate::water::weir::WeirError;

/// A design that cannot be made as asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WorksError {
    /// No ground stands at the water level.
    #[error(
        "swale `{swale}`: no ground stands at the water level {water_level:.3} m: the survey runs from {lowest:.3} m to {highest:.3} m"
    )]
    WaterLevelOffGround {
        /// The swale.
        swale: String,
        /// What was asked for, metres.
        water_level: f64,
        /// Lowest ground, metres.
        lowest: f64,
        /// Highest ground, metres.
        highest: f64,
    },
    /// The place that the water level is taken from lies off the survey.
    #[error("swale `{swale}`: {what} lies off the survey, so the ground there is not known")]
    PlaceOffSurvey {
        /// The swale.
        swale: String,
        /// The shot or place.
        what: String,
    },
    /// The region or the two ends leave no contour line.
    #[error("swale `{swale}`: no contour line at {water_level:.3} m runs inside the region: {why}")]
    NoLineInRegion {
        /// The swale.
        swale: String,
        /// Metres.
        water_level: f64,
        /// What was found.
        why: String,
    },
    /// The line that is left is too short for the section with its two ends.
    #[error(
        "swale `{swale}`: the contour line is {found:.1} m long: its two ends and the spillway need at least {needed:.1} m"
    )]
    LineTooShort {
        /// The swale.
        swale: String,
        /// Metres found.
        found: f64,
        /// Metres needed.
        needed: f64,
    },
    /// No depth that can be tried holds the water asked for.
    #[error(
        "swale `{swale}`: it cannot hold {wanted:.1} m3: at a depth of {depth:.2} m it holds {held:.1} m3; ask for another volume, or a longer line or wider bed"
    )]
    CannotHold {
        /// The swale.
        swale: String,
        /// Cubic metres asked for.
        wanted: f64,
        /// Cubic metres held at `depth`.
        held: f64,
        /// Metres.
        depth: f64,
    },
    /// A batter flatter than the ground never meets it.
    #[error(
        "swale `{swale}`: the {side} batter {batter:.2}H:1V never meets ground that falls {fall:.1} % across the line: make it steeper than {limit:.2}H:1V"
    )]
    BatterNeverMeets {
        /// The swale.
        swale: String,
        /// Which batter.
        side: &'static str,
        /// Horizontal for one vertical.
        batter: f64,
        /// Cross fall, per cent.
        fall: f64,
        /// The limit, horizontal for one vertical.
        limit: f64,
    },
    /// The spillway does not fit on the line.
    #[error(
        "swale `{swale}`: a sill of {sill_length:.2} m centred at station {station:.1} m does not fit between stations {from:.1} m and {to:.1} m"
    )]
    SillDoesNotFit {
        /// The swale.
        swale: String,
        /// Metres.
        sill_length: f64,
        /// Metres.
        station: f64,
        /// Metres.
        from: f64,
        /// Metres.
        to: f64,
    },
    /// A work would dig into an earlier work's fill.
    #[error("swale `{swale}` digs into the berm of `{earlier}` near station {station:.1} m: move one of them")]
    CutsEarlierWork {
        /// The swale.
        swale: String,
        /// The earlier one.
        earlier: String,
        /// Metres along the swale.
        station: f64,
    },
    /// The sill's hydraulics do not work out.
    #[error("swale `{swale}`: {cause}")]
    Weir {
        /// The swale.
        swale: String,
        /// Why.
        cause: WeirError,
    },
    /// A part of the works reaches beyond the survey.
    #[error(
        "swale `{swale}`: the {part} reaches the edge of the survey at E {easting:.2} N {northing:.2}: survey more ground there, or end the line before it (`within` or `between`)"
    )]
    LeavesSurvey {
        /// The swale.
        swale: String,
        /// Which part.
        part: &'static str,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// The sides of a part never meet the ground.
    #[error(
        "swale `{swale}`: the sides of the {part} do not meet the ground near E {easting:.2} N {northing:.2}: make its batter steeper, or move the line off ground as steep as that"
    )]
    NeverMeetsGround {
        /// The swale.
        swale: String,
        /// Which part.
        part: &'static str,
        /// In the frame's unit.
        easting: f64,
        /// In the frame's unit.
        northing: f64,
    },
    /// A part of the works could not be laid on the ground.
    #[error("swale `{swale}`: the {part} could not be laid on the ground: {cause}")]
    Compose {
        /// The swale.
        swale: String,
        /// Which part.
        part: &'static str,
        /// Why.
        cause: ComposeError,
    },
    /// A part of the works is not a surface.
    #[error("swale `{swale}`: the {part} is not a surface: {cause}")]
    Shape {
        /// The swale.
        swale: String,
        /// Which part.
        part: &'static str,
        /// Why.
        cause: TinError,
    },
    /// The user asked to stop.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
