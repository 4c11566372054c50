//! The ground from a survey: a constrained TIN with its breaklines and boundary.
//!
//! Invariant: only shots whose pole tip stood on natural ground shape it (see [`crate::survey::Role::is_ground`]), and
//! every shot that did not become a vertex of its own is told in a note.

mod build;
pub mod classify;
mod cloud;
mod doubt;
mod error;
mod fitted;
mod local_model;
mod merge;
mod model;
mod sketch;
mod spacing;
mod wall;

pub use build::{GroundSettings, build};
pub use doubt::{Doubt, Unseen, doubts, shoot_here, unseen};
pub use error::GroundError;
pub use fitted::{Fitted, Fitter};
pub use model::{Ground, GroundFigures, OnBreakline, aspect};
pub use sketch::{Density, Sketch};

#[cfg(test)]
pub(crate) use fitted::tests as fitted_tests;
#[cfg(test)]
mod tests;
