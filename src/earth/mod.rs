//! How much earth: topsoil, cut, fill and balance by exact overlay, stage and storage, and a second method beside it.
//!
//! Invariant: bank, loose and placed volumes never mix; each work is the difference between the surface before it and
//! the surface after it, so that works in the order applied add up in net.

#[cfg(test)]
pub(crate) mod examples;
pub mod formulas;
#[cfg(test)]
mod kinds_tests;
mod measure;
#[cfg(test)]
mod measure_tests;
mod quantities;
mod sections;
mod soil_met;
mod storage;

pub use measure::quantities;
pub use quantities::{PoolStage, Quantities, QuantityRow, SectionVolumes, SoilChange, StageStorage, ThreeWays};
