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
            Self::AllTrimmed { .. } => "ground::all-trimmed",
        }
    }
}
