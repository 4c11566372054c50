//! Works on the ground: contour lines, swales and spillways, designed to hold and to balance.
//!
//! Invariant: every elevation in a design is said to be one of water level, sill, bed, crest or natural ground; a work
//! changes the surface only inside its own footprint.

mod plan;
mod wanted;

pub use plan::{ContourCheck, ContourStation, CrestLevels, End, Section, SitePlan, Spillway, Storage, Swale};
pub use wanted::{Berm, Ends, LineEdge, SillLength, SpillwayPlace, SpillwayWanted, SwaleWanted, WaterLevel};
