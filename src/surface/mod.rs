//! Surfaces as triangulated irregular networks (TIN): build, locate, contour, overlay, compose, pool.
//!
//! Invariant: a [`Tin`] is a planar mesh of anticlockwise triangles whose vertices stand on the lattice of
//! [`crate::geom`]; each edge belongs to one or two triangles. The domain need not be convex.

mod tin;

pub use tin::{Tin, TinError, TriangleId, VertexId};
