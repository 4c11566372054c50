//! Heights of a part of a surface at places.

use crate::geom::{Point, Point3};
use crate::surface::buckets::Buckets;
use crate::surface::{Tin, TriangleId};

/// A place this far outside a surface still counts as on its rim, metres: snapped edges stray by less.
const REACH: f64 = 4e-6;

/// Some triangles of a surface, ready to be asked for heights.
#[derive(Debug)]
pub(super) struct Heights {
    ids: Vec<TriangleId>,
    corners: Vec<[Point3; 3]>,
    buckets: Buckets,
}

impl Heights {
    pub(super) fn new(tin: &Tin, ids: Vec<TriangleId>) -> Self {
        let corners: Vec<[Point3; 3]> = ids.iter().map(|&id| tin.corners(id)).collect();
        Self { ids, ..Self::from_faces(corners) }
    }

    /// The same from corners; leaves [`Self::ids`] empty.
    pub(super) fn from_faces(corners: Vec<[Point3; 3]>) -> Self {
        let plan: Vec<[Point; 3]> = corners.iter().map(|face| face.map(Point3::plan)).collect();
        Self { ids: Vec::new(), corners, buckets: Buckets::new(&plan) }
    }

    pub(super) fn ids(&self) -> &[TriangleId] {
        &self.ids
    }

    /// Positions in [`Self::ids`] of the triangles that may meet a convex shape; some may come twice.
    pub(super) fn each_near(&self, shape: &[Point], call: impl FnMut(u32)) {
        self.buckets.each_near(shape, call);
    }

    pub(super) fn face(&self, position: usize) -> [Point3; 3] {
        self.corners[position]
    }

    /// True when the place lies on the surface.
    pub(super) fn holds(&self, place: Point) -> bool {
        let plan = |item: u32| self.corners[item as usize].map(Point3::plan);
        self.buckets.at(place).iter().any(|&item| holds(plan(item), place))
    }

    /// Elevation at a place; `None` away from the surface.
    pub(super) fn at(&self, place: Point) -> Option<f64> {
        let (depth, face) = self.best(place).filter(|&(depth, _)| depth >= -REACH)?;
        if depth < 0.0 {
            // Just outside: the nearest place on a side, lest a sliver's plane run wild.
            return Some(at_nearest_side(face, place));
        }
        let ([a, b, c], [_, v, w]) = (face, weights(face, place));
        Some(a.z + (v * (b.z - a.z) + w * (c.z - a.z)))
    }

    /// The triangle that holds a place, or else the nearest and how far outside (below zero).
    fn best(&self, place: Point) -> Option<(f64, [Point3; 3])> {
        let mut best: Option<(f64, [Point3; 3])> = None;
        for &item in self.buckets.at(place) {
            let face = self.corners[item as usize];
            let plan = face.map(Point3::plan);
            if holds(plan, place) {
                return Some((0.0, face));
            }
            let depth = depth(plan, place);
            if best.is_none_or(|(least, _)| depth > least) {
                best = Some((depth, face));
            }
        }
        best
    }
}

/// Height at the nearest place on the sides of a triangle.
fn at_nearest_side(face: [Point3; 3], place: Point) -> f64 {
    let on_side = |k: usize| {
        let (a, b) = (face[k], face[(k + 1) % 3]);
        let along = b.plan() - a.plan();
        let part = ((place - a.plan()).dot(along) / along.dot(along)).clamp(0.0, 1.0);
        (a.plan().towards(b.plan(), part).distance(place), a.z + part * (b.z - a.z))
    };
    [on_side(0), on_side(1), on_side(2)].into_iter().min_by(|s, t| s.0.total_cmp(&t.0)).map_or(face[0].z, |(_, z)| z)
}

fn holds(triangle: [Point; 3], place: Point) -> bool {
    (0..3).all(|k| (triangle[(k + 1) % 3] - triangle[k]).cross(place - triangle[k]) >= 0.0)
}

/// Distance of a place to the nearest side of an anticlockwise triangle, below zero outside.
pub(super) fn depth(triangle: [Point; 3], place: Point) -> f64 {
    (0..3).fold(f64::INFINITY, |least, k| {
        let side = triangle[(k + 1) % 3] - triangle[k];
        least.min(side.cross(place - triangle[k]) / side.dot(side).sqrt())
    })
}

/// Barycentric weights of a place.
pub(super) fn weights(face: [Point3; 3], place: Point) -> [f64; 3] {
    let [a, b, c] = face.map(Point3::plan);
    let whole = (b - a).cross(c - a);
    let (v, w) = ((place - a).cross(c - a) / whole, (b - a).cross(place - a) / whole);
    [1.0 - v - w, v, w]
}
