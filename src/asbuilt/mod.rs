//! The as-built check: shots of what was dug against what was designed, within what the survey can tell.
//!
//! Invariant: a difference is measured minus design, positive high; a verdict is given only where 95 % of the shots'
//! own scatter lies on one side of the tolerance, nothing passes of which a sill, crest or floor was not shot along its
//! length, and without check shots that hit known marks nothing passes or fails.

mod bed_fall;
mod check;
#[cfg(test)]
mod check_tests;
mod coverage;
mod design;
mod grade;
mod headline;
#[cfg(test)]
mod kinds_tests;
mod level;
mod levels;
mod marks;
mod matching;
mod measured;
mod settings;

pub use crate::stats::Verdict;
pub use check::check;
pub use design::{Design, Mark, SillDesign, WorkDesign};
pub use grade::{
    Checked, Extreme, FreeboardCheck, Gap, GradeCheck, Part, PartCheck, PutRight, PutRightAction, ShotCheck, Stretch,
    Trend, TrendEnd, Unmatched,
};
pub use measured::{Measured, NamedPlace};
pub use settings::{GradeSettings, Tolerance};
