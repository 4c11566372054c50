//! A surface put together from quads and triangles on the lattice.

use crate::geom::{Point, Point3, Side, orient, snap_point};
use crate::surface::{Tin, TinError};

/// Corners and faces so far.
#[derive(Default)]
pub(super) struct Mesh {
    vertices: Vec<Point3>,
    triangles: Vec<[u32; 3]>,
}

impl Mesh {
    /// A corner; its number.
    pub(super) fn vertex(&mut self, place: Point, level: f64) -> u32 {
        let id = u32::try_from(self.vertices.len()).unwrap_or(u32::MAX);
        self.vertices.push(snap_point(place).at(level));
        id
    }

    /// A quad whose corners run round it; without width it gives no triangle.
    pub(super) fn quad(&mut self, a: u32, b: u32, c: u32, d: u32) {
        self.triangle(a, b, c);
        self.triangle(a, c, d);
    }

    /// A triangle; none without width.
    pub(super) fn triangle(&mut self, a: u32, b: u32, c: u32) {
        let place = |v: u32| self.vertices[v as usize].plan();
        if orient(place(a), place(b), place(c)) != Side::On {
            self.triangles.push([a, b, c]);
        }
    }

    pub(super) fn finish(self) -> Result<Tin, TinError> {
        Tin::from_triangles(self.vertices, self.triangles)
    }
}
