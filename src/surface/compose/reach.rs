//! The part of a surface that a roof may change, found before anything is built.
//!
//! Invariant: every triangle is in it that has a place where the roof rules, or nearly does, and that is connected to
//! a seed through such triangles; across its border the surface rules by more than [`CLEAR`].

use super::heights::{Heights, depth};
use super::{Way, difference};
use crate::geom::{Point, Point3, Vector};
use crate::surface::buckets::Buckets;
use crate::surface::convex::{Convex, moved};
use crate::surface::tin::gradient;
use crate::surface::{Tin, TriangleId};

/// A seed this near to a part touches it, metres.
pub(super) const TOUCH: f64 = 1e-3;

/// Where the surface rules by more than this in the whole of a triangle, the triangle is left alone, metres.
const CLEAR: f64 = 1e-3;

/// Triangles of the surface, and those of the roof that matter over them, both in order.
pub(super) struct Reach {
    pub(super) surface: Vec<TriangleId>,
    pub(super) roof: Vec<TriangleId>,
}

impl Reach {
    pub(super) fn new(surface: &Tin, roof: &Heights, seeds: &[Point], way: Way) -> Self {
        let slopes: Vec<Vector> = (0..roof.ids().len()).map(|item| gradient(roof.face(item))).collect();
        let mut known = vec![false; surface.triangles().len()];
        let mut used = vec![false; roof.ids().len()];
        let mut open = at_seeds(surface, seeds);
        while let Some(id) = open.pop() {
            if std::mem::replace(&mut known[id.0 as usize], true) {
                continue;
            }
            // A triangle is entered when the one before it has a place where the roof rules; it is kept in any case, so
            // that the edge between them has both its sides.
            if may_rule(surface.corners(id), roof, &slopes, way, &mut used) {
                open.extend((0..3).filter_map(|edge| surface.neighbour(id, edge)));
            }
        }
        Self {
            surface: surface.ids().filter(|id| known[id.0 as usize]).collect(),
            roof: roof.ids().iter().zip(used).filter(|&(_, used)| used).map(|(&id, _)| id).collect(),
        }
    }
}

/// Triangles of the surface that a seed touches.
fn at_seeds(surface: &Tin, seeds: &[Point]) -> Vec<TriangleId> {
    let around: Vec<[Point; 3]> = seeds
        .iter()
        .map(|seed| {
            [(-2.0, -1.0), (2.0, -1.0), (0.0, 3.0)].map(|(x, y)| Point::new(seed.x + x * TOUCH, seed.y + y * TOUCH))
        })
        .collect();
    let buckets = Buckets::new(&around);
    surface
        .ids()
        .filter(|&id| {
            let corners = surface.corners(id).map(Point3::plan);
            let mut touched = false;
            buckets.each_near(&corners, |seed| {
                touched = touched || depth(corners, seeds[seed as usize]) >= -TOUCH;
            });
            touched
        })
        .collect()
}

/// True when somewhere on a face of the surface the roof is not clearly on the other side; marks the roof's triangles
/// that the face meets.
fn may_rule(face: [Point3; 3], roof: &Heights, slopes: &[Vector], way: Way, used: &mut [bool]) -> bool {
    let plan = face.map(Point3::plan);
    let (origin, slope) = (plan[0], gradient(face));
    let whole = Convex::new(plan, origin);
    let mut rules = false;
    roof.each_near(&plan, |item| {
        let item = item as usize;
        let above = roof.face(item);
        let clip = above.map(|corner| moved(corner.plan(), origin));
        let cell = whole.clipped(clip);
        used[item] = used[item] || cell.len >= 3;
        rules = rules
            || cell.corners[..cell.len].iter().any(|&p| {
                let ground = face[0].z + slope.dot(Vector::new(p.x, p.y));
                difference([ground, above[0].z + slopes[item].dot(p - clip[0])], way) > -CLEAR
            });
    });
    rules
}
