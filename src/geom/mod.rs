//! Plane geometry on a lattice: points, exact predicates, polylines with station and offset, compensated sums.
//!
//! Invariant: coordinates are metres in a local frame (the site's origin subtracted), within 65 km of it, and every
//! vertex of a surface stands on the lattice of 2^-20 m (about 1 um). Kernels here and in [`crate::surface`] take raw
//! `f64` metres; borders above speak the types of [`crate::units`].

mod lattice;
mod point;
mod polygon;
mod polyline;
mod predicate;
mod sum;

pub use lattice::{LATTICE_STEP, LIMIT, snap, snap_point};
pub use point::{Bounds, Point, Point3, Vector};
pub use polygon::{Polygon, area_of_ring, contains, ring_is_simple};
pub(crate) use polyline::radius_through;
pub use polyline::{Foot, Polyline};
pub use predicate::{Side, circle, orient, segments_cross};
pub use sum::CompensatedSum;
