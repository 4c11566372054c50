//! Why no ground can be made of a survey.

use crate::surface::TinError;

/// Why no ground can be made of a survey.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum GroundError {
    /// No shot has a role that shapes the ground.
    #[error(
        "none of {shots} shots is of the ground: [survey.roles] must give a code the role ground, breakline, line, water or \
         boundary"
    )]
    NoGroundShots {
        /// Shots kept.
        shots: usize,
    },
    /// The points do not make a surface.
    #[error("the ground shots make no surface: {0}")]
    Surface(#[from] TinError),
    /// Two breaklines in one place in plan, one above the other.
    #[error(
        "the breaklines from {first} and from {second} run in one place in plan, {dz:.2} m apart in height at E {easting:.2} \
         N {northing:.2}: a surface has one height at a place. For a wall or a vertical bank shoot top and toe at least 50 mm \
         apart in plan; if one of the two is no ground, give its code another role"
    )]
    Wall {
        /// First shot of one.
        first: String,
        /// First shot of the other.
        second: String,
        /// Apart in height, metres.
        dz: f64,
        /// Where, in the frame's unit.
        easting: f64,
        /// Where, in the frame's unit.
        northing: f64,
    },
    /// Trimming left nothing.
    #[error(
        "no ground is left: {triangles} triangles, none inside the boundary with edges of {longest_edge:.1} m or less: give \
         a greater longest-edge, or a boundary that meets the survey"
    )]
    AllTrimmed {
        /// Triangles before.
        triangles: usize,
        /// The longest edge that may stay, metres.
        longest_edge: f64,
    },
}

impl GroundError {
    /// Stable name of the fault, for programs.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::NoGroundShots { .. } => "ground::no-ground-shots",
            Self::Surface(_) => "ground::no-surface",
            Self::Wall { .. } => "ground::wall",
            Self::AllTrimmed { .. } => "ground::all-trimmed",
        }
    }
}
