//! The lattice that plan coordinates stand on: steps of 2^-20 m (0.95 um), so that 131 km fit in 37 bits and a
//! coordinate is exact both as `f64` and as an integer.

use super::Point;

/// The lattice step in metres, 2^-20.
pub const LATTICE_STEP: f64 = 1.0 / 1_048_576.0;
/// Coordinates must lie within this distance of the local origin, in metres.
pub const LIMIT: f64 = 65_536.0;

/// The nearest lattice value.
#[must_use]
pub fn snap(value: f64) -> f64 {
    (value / LATTICE_STEP).round() * LATTICE_STEP
}

/// The nearest lattice point.
#[must_use]
pub fn snap_point(point: Point) -> Point {
    Point::new(snap(point.x), snap(point.y))
}
