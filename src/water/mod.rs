//! What water does at works: capacity of sills. Knows no works.
//!
//! Invariant: formulas take and give quantities in SI; a formula used outside its published range says so in a note.

pub mod weir;
