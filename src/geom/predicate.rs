//! Exact orientation and in-circle tests.
//!
//! Source: Shewchuk 1997, Adaptive Precision Floating-Point Arithmetic and Fast Robust Geometric Predicates, through
//! the `robust` crate; exact for every finite `f64`.

use super::Point;

/// On which side of a directed line a point lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// To the left.
    Left,
    /// To the right.
    Right,
    /// Exactly on it.
    On,
}

const fn coord(point: Point) -> robust::Coord<f64> {
    robust::Coord { x: point.x, y: point.y }
}

/// The side of the line from `a` to `b` on which `c` lies, exactly.
#[must_use]
pub fn orient(a: Point, b: Point, c: Point) -> Side {
    let value = robust::orient2d(coord(a), coord(b), coord(c));
    if value > 0.0 {
        Side::Left
    } else if value < 0.0 {
        Side::Right
    } else {
        Side::On
    }
}

/// Positive when `d` lies inside the circle through `a`, `b`, `c` (anticlockwise), negative outside, zero on it; the
/// sign is exact.
#[must_use]
pub fn circle(a: Point, b: Point, c: Point, d: Point) -> f64 {
    robust::incircle(coord(a), coord(b), coord(c), coord(d))
}

/// True when two segments cross at a place inside both (shared ends and touching ends do not count).
#[must_use]
pub fn segments_cross(a: Point, b: Point, c: Point, d: Point) -> bool {
    let (side_c, side_d) = (orient(a, b, c), orient(a, b, d));
    if side_c == Side::On || side_d == Side::On || side_c == side_d {
        return false;
    }
    let (side_a, side_b) = (orient(c, d, a), orient(c, d, b));
    side_a != Side::On && side_b != Side::On && side_a != side_b
}
