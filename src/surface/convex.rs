//! A small convex shape and its clipping by triangles.
//!
//! Method: Sutherland and Hodgman 1974, Reentrant polygon clipping. Shapes stand relative to an origin near by, so that
//! nothing is lost to large coordinates.

use crate::geom::{Point, area_of_ring};

/// A triangle clipped by two others has nine corners at most.
pub(super) const MOST: usize = 9;

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
        let mut shape = *self;
        for k in 0..3 {
            shape.keep_left_of(triangle[k], triangle[(k + 1) % 3]);
            if shape.len < 3 {
                break;
            }
        }
        shape
    }

    fn keep_left_of(&mut self, a: Point, b: Point) {
        let along = b - a;
        let (mut side, mut highest, mut lowest) = ([0.0; MOST], f64::NEG_INFINITY, f64::INFINITY);
        for (value, &corner) in side.iter_mut().zip(&self.corners[..self.len]) {
            *value = along.cross(corner - a);
            (highest, lowest) = (highest.max(*value), lowest.min(*value));
        }
        if highest <= 0.0 {
            self.len = 0;
        } else if lowest < 0.0 {
            self.cut(&side);
        }
    }

    /// Drops what lies where `side` is below zero.
    fn cut(&mut self, side: &[f64; MOST]) {
        let whole = *self;
        self.len = 0;
        for i in 0..whole.len {
            let j = if i + 1 == whole.len { 0 } else { i + 1 };
            let (here, there) = (side[i], side[j]);
            if here >= 0.0 {
                self.push(whole.corners[i]);
            }
            if (here > 0.0 && there < 0.0) || (here < 0.0 && there > 0.0) {
                self.push(whole.corners[i].towards(whole.corners[j], here / (here - there)));
            }
        }
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
