//! Unstable ground that the user marks: slips, springs, soft and filled ground, and how near the works and their water come to it.
//!
//! Invariant: only what is marked is told; nothing here finds such ground, and a distance is no leave to build.

mod ground;
mod near;
#[cfg(test)]
mod tests;

pub(super) use ground::caution;
pub use ground::{Approach, NearUnstable, Unstable, UnstableArea, UnstableGround};
pub use near::tell_unstable;
