//! A small convex shape and its clipping by triangles.
//!
//! Method: Sutherland and Hodgman 1974, Reentrant polygon clipping. Shapes stand relative to an origin near by, so that
//! nothing is lost to large coordinates.

use crate::geom::{Point, area_of_ring};

/// A triangle clipped by two others has nine corners at most.
pub(super) const MOST: usize = 9;

/// What a cut leaves of a shape.
enum Kept {
    All,
    Part,
    Nothing,
}

/// A small convex shape, anticlockwise, relative to some origin.
#[derive(Clone, Copy)]
pub(super) struct Convex {
    pub(super) corners: [Point; MOST],
    pub(super) len: usize,
}

/// A point relative to an origin; exact on the lattice.
pub(super) const fn moved(point: Point, origin: Point) -> Point {
    Point::new(point.x - origin.x, point.y - origin.y)
}

impl Convex {
    const NONE: Self = Self { corners: [Point::new(0.0, 0.0); MOST], len: 0 };

    pub(super) fn new(triangle: [Point; 3], origin: Point) -> Self {
        let mut corners = [Point::default(); MOST];
        for (corner, point) in corners.iter_mut().zip(triangle) {
            *corner = moved(point, origin);
        }
        Self { corners, len: 3 }
    }

    pub(super) fn area(&self) -> f64 {
        area_of_ring(&self.corners[..self.len])
    }

    pub(super) fn heights(&self, height: impl Fn(Point) -> f64) -> [f64; MOST] {
        let mut heights = [0.0; MOST];
        for (value, &corner) in heights.iter_mut().zip(&self.corners[..self.len]) {
            *value = height(corner);
        }
        heights
    }

    /// The part inside an anticlockwise triangle; fewer than three corners when there is none.
    pub(super) fn clipped(&self, triangle: [Point; 3]) -> Self {
        let (mut one, mut two) = (Self::NONE, Self::NONE);
        // The shape goes to and fro between the two, and is copied only where something is cut off.
        let mut at = 0;
        for k in 0..3 {
            let side = [triangle[k], triangle[(k + 1) % 3]];
            let kept = match at {
                0 => self.left_of(side, &mut one),
                1 => one.left_of(side, &mut two),
                _ => two.left_of(side, &mut one),
            };
            match kept {
                Kept::All => {}
                Kept::Part => at = if at == 1 { 2 } else { 1 },
                Kept::Nothing => return Self::NONE,
            }
        }
        match at {
            0 => *self,
            1 => one,
            _ => two,
        }
    }

    /// Writes what lies left of a side, unless that is all or nothing.
    fn left_of(&self, [a, b]: [Point; 2], part: &mut Self) -> Kept {
        let along = b - a;
        let (mut side, mut highest, mut lowest) = ([0.0; MOST], f64::NEG_INFINITY, f64::INFINITY);
        for (value, &corner) in side.iter_mut().zip(&self.corners[..self.len]) {
            *value = along.cross(corner - a);
            (highest, lowest) = (highest.max(*value), lowest.min(*value));
        }
        if highest <= 0.0 {
            return Kept::Nothing;
        }
        if lowest >= 0.0 {
            return Kept::All;
        }
        part.len = 0;
        for i in 0..self.len {
            let j = if i + 1 == self.len { 0 } else { i + 1 };
            let (here, there) = (side[i], side[j]);
            if here >= 0.0 {
                part.push(self.corners[i]);
            }
            if (here > 0.0 && there < 0.0) || (here < 0.0 && there > 0.0) {
                part.push(self.corners[i].towards(self.corners[j], here / (here - there)));
            }
        }
        if part.len < 3 { Kept::Nothing } else { Kept::Part }
    }

    fn push(&mut self, point: Point) {
        // A convex shape gains one corner a cut at most; where rounding made it a little hollow, what is dropped has no
        // area to speak of.
        if self.len < MOST {
            self.corners[self.len] = point;
            self.len += 1;
        }
    }
}
