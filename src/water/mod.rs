//! What water does at works: capacity of sills, flow in channels, the peak of a storm. Knows no works.
//!
//! Invariant: formulas take and give quantities in SI; a formula used outside its published range says so in a note.

pub mod channel;
pub mod rational;
pub mod weir;
