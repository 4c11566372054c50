//! Polygons in plan: a closed outer ring with holes.
//!
//! Invariant: a ring lists each vertex once (the first is not repeated at the end) and has at least three vertices.

use super::{Bounds, CompensatedSum, Point, Side, orient, segments_cross};

/// A region in plan, metres in the local frame.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Polygon {
    /// The outer ring.
    pub outer: Vec<Point>,
    /// Rings that are not part of it.
    pub holes: Vec<Vec<Point>>,
}

impl Polygon {
    /// A region without holes.
    #[must_use]
    pub const fn simple(outer: Vec<Point>) -> Self {
        Self { outer, holes: Vec::new() }
    }

    /// Its area without the holes, square metres.
    #[must_use]
    pub fn area(&self) -> f64 {
        area_of_ring(&self.outer).abs() - self.holes.iter().map(|hole| area_of_ring(hole).abs()).sum::<f64>()
    }

    /// True when the place lies inside or on the edge.
    #[must_use]
    pub fn contains(&self, point: Point) -> bool {
        contains(&self.outer, point) && !self.holes.iter().any(|hole| contains(hole, point))
    }

    /// The box around it.
    #[must_use]
    pub fn bounds(&self) -> Option<Bounds> {
        Bounds::around(self.outer.iter().copied())
    }
}

/// Signed area of a ring, positive when it runs anticlockwise.
#[must_use]
pub fn area_of_ring(ring: &[Point]) -> f64 {
    let Some(&origin) = ring.first() else { return 0.0 };
    let doubled: CompensatedSum =
        (0..ring.len()).map(|i| (ring[i] - origin).cross(ring[(i + 1) % ring.len()] - origin)).collect();
    doubled.total() / 2.0
}

/// True when a place lies inside a ring or exactly on it.
#[must_use]
pub fn contains(ring: &[Point], point: Point) -> bool {
    let mut inside = false;
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let side = orient(a, b, point);
        if side == Side::On
            && point.x >= a.x.min(b.x)
            && point.x <= a.x.max(b.x)
            && point.y >= a.y.min(b.y)
            && point.y <= a.y.max(b.y)
        {
            return true;
        }
        if (a.y <= point.y) != (b.y <= point.y) && (side == Side::Left) == (b.y > a.y) {
            inside = !inside;
        }
    }
    inside
}

/// True when no two edges of a ring cross.
#[must_use]
pub fn ring_is_simple(ring: &[Point]) -> bool {
    let n = ring.len();
    (0..n).all(|i| (i + 1..n).all(|j| !segments_cross(ring[i], ring[(i + 1) % n], ring[j], ring[(j + 1) % n])))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_a_hole() {
        let square = |low: f64, high: f64| {
            vec![Point::new(low, low), Point::new(high, low), Point::new(high, high), Point::new(low, high)]
        };
        let region = Polygon { outer: square(0.0, 10.0), holes: vec![square(4.0, 6.0)] };
        assert_eq!(region.area(), 96.0);
        assert!(region.contains(Point::new(0.0, 5.0)), "the edge belongs to it");
        assert!(!region.contains(Point::new(5.0, 5.0)));
        assert!(!region.contains(Point::new(11.0, 0.0)));
    }
}
