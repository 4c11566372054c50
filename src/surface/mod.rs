//! Surfaces as triangulated irregular networks (TIN): build, locate, contour, overlay, compose, pool.
//!
//! Invariant: a [`Tin`] is a planar mesh of anticlockwise triangles whose vertices stand on the lattice of
//! [`crate::geom`]; each edge belongs to one or two triangles. The domain need not be convex.

mod buckets;
mod compose;
mod contour;
mod convex;
mod delaunay;
mod drainage;
#[cfg(test)]
mod examples;
mod fall;
mod fix;
mod grid;
mod hilbert;
mod holes;
mod locate;
mod mesh;
mod node;
mod overlap;
mod overlay;
mod pool;
mod prism;
mod profile;
mod refine;
#[cfg(test)]
pub(crate) mod sound;
mod thin;
mod tin;
mod triangulate;
mod trim;
mod way_down;
mod ways_out;

pub(crate) use buckets::Buckets;
pub use compose::{ComposeError, Composed, dig, raise};
pub use contour::{ContourLine, contour, contours, contours_every};
pub use drainage::{Catchment, Drainage};
pub use fall::{FallEnd, FallPath};
pub use grid::{Grid, Nodes};
pub use holes::{Hole, holes, rims};
pub use locate::{Locator, Walker};
pub use node::{Noded, Piece, node};
pub use overlap::overlapping;
pub use overlay::{CutFill, cut_and_fill};
pub use pool::{Hollow, Pool, Stage, below, hollow, pool, spill_from, stage_storage, standing, standing_to};
pub use profile::{ProfilePoint, profile};
pub use refine::refined;
pub use thin::{Thinned, thin};
pub(crate) use tin::gradient;
pub use tin::{Tin, TinError, TriangleId, VertexId};
pub use triangulate::{Crossing, Duplicate, Passed, Triangulated, constrained, triangulate};
pub use trim::Gap;
pub use way_down::{Way, WayEnd};
pub use ways_out::{WayOut, ways_out};
