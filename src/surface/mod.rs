//! Surfaces as triangulated irregular networks (TIN): build, locate, contour, overlay, compose, pool.
//!
//! Invariant: a [`Tin`] is a planar mesh of anticlockwise triangles whose vertices stand on the lattice of
//! [`crate::geom`]; each edge belongs to one or two triangles. The domain need not be convex.

mod buckets;
#[cfg(test)]
mod examples;
mod overlay;
mod pool;
mod prism;
mod tin;

pub use overlay::{CutFill, cut_and_fill};
pub use pool::{Pool, Stage, below, pool, spill_from, stage_storage};
pub use tin::{Tin, TinError, TriangleId, VertexId};
