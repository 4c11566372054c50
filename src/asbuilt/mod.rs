//! The as-built check: shots of what was dug against what was designed, within what the survey can tell.
//!
//! Invariant: a difference is measured minus design, positive high; a verdict is given only where 95 % of the shots'
//! own scatter lies on one side of the tolerance, and without check shots on known marks nothing is in tolerance.

mod check;
#[cfg(test)]
mod check_tests;
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
    Checked, Extreme, FreeboardCheck, GradeCheck, Part, PartCheck, PutRight, PutRightAction, ShotCheck, Stretch, Trend,
    TrendEnd, Unmatched,
};
pub use measured::{Measured, NamedPlace};
pub use settings::{GradeSettings, Tolerance};
