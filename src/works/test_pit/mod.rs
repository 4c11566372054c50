//! Test pits: what was found where somebody dug, held against what the works take the ground to be.
//!
//! Invariant: a pit speaks for the ground within a reach and for no more; what no pit speaks for is unproven, and nothing is
//! guessed between pits. Depths are below natural ground, there and here: layers are taken to follow the ground.

mod pit;
mod proof;
mod samples;
mod standing;
mod tell;
#[cfg(test)]
mod tests;
mod to_dig;

pub use pit::{Crumb, Layer, Met, Odds, TestPit};
pub use proof::prove_soil;
pub use samples::Extent;
pub use standing::{PartProof, PitWord, SoilProof, SoilStanding};
pub use to_dig::PitToDig;
