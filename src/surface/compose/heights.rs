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

    pub(super) fn face(&self, position: u32) -> [Point3; 3] {
        self.corners[position as usize]
    }

    /// True when the place lies on the surface.
    pub(super) fn holds(&self, place: Point) -> bool {
        let plan = |item: u32| self.corners[item as usize].map(Point3::plan);
        self.buckets.at(place).iter().any(|&item| holds(plan(item), place))
    }

    /// Elevation at a place; `None` away from the surface.
    pub(super) fn at(&self, place: Point) -> Option<f64> {
        let (depth, face) = self.best(place).filter(|&(depth, _)| depth >= -REACH)?;
        let weights = weights(face, place);
        if depth >= 0.0 {
            let [a, b, c] = face;
            return Some(a.z + (weights[1] * (b.z - a.z) + weights[2] * (c.z - a.z)));
        }
        // Just outside: the nearest place of the triangle, or nearly so, lest a sliver's plane run wild.
        let kept = weights.map(|w| w.max(0.0));
        let sum: f64 = kept.iter().sum();
        Some(face.iter().zip(kept).map(|(corner, w)| corner.z * (w / sum)).sum())
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
