//! Do two triangles of a mesh lie over one another?
//!
//! A mesh whose edges have two triangles at most may still fold back over itself, or hold two sheets. Two convex shapes
//! lie beside each other just when a line along an edge of one of them parts them; where none does, they overlap by as
//! much as the best of those lines is crossed.

use super::buckets::Buckets;
use super::tin::{Tin, TriangleId};
use crate::geom::{Point, Point3, Side, orient};

/// Two triangles that overlap in plan by more than so many metres, the first such pair in the order of the mesh.
///
/// A little is to be allowed where coordinates were rounded on their way.
#[must_use]
pub fn overlapping(tin: &Tin, more_than: f64) -> Option<(TriangleId, TriangleId)> {
    let plan = |t: TriangleId| tin.corners(t).map(Point3::plan);
    let triangles: Vec<[Point; 3]> = tin.ids().map(plan).collect();
    let buckets = Buckets::new(&triangles);
    for first in tin.ids() {
        let own = triangles[first.0 as usize];
        let mut found: Option<TriangleId> = None;
        buckets.each_near(&own, |other| {
            let other = TriangleId(other);
            // Neighbours lie on two sides of their edge.
            let known = other <= first || found.is_some_and(|found| found <= other);
            if !known
                && (0..3).all(|edge| tin.neighbour(first, edge) != Some(other))
                && depth(&own, &triangles[other.0 as usize]) > more_than
            {
                found = Some(other);
            }
        });
        if let Some(other) = found {
            return Some((first, other));
        }
    }
    None
}

/// By how much two anticlockwise triangles overlap, metres; zero when they do not.
fn depth(a: &[Point; 3], b: &[Point; 3]) -> f64 {
    let across = |edges: &[Point; 3], other: &[Point; 3]| {
        (0..3)
            .map(|k| {
                let (from, to) = (edges[k], edges[(k + 1) % 3]);
                if other.iter().all(|&place| orient(from, to, place) != Side::Left) {
                    return 0.0;
                }
                let along = to - from;
                let off = |place: &Point| along.cross(*place - from) / along.length();
                other.iter().map(off).fold(0.0, f64::max)
            })
            .fold(f64::INFINITY, f64::min)
    };
    across(a, b).min(across(b, a))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::triangulate;

    fn mesh(places: &[(f64, f64)], triangles: &[[u32; 3]]) -> Tin {
        let vertices = places.iter().map(|&(x, y)| Point3::new(x, y, 1.0)).collect();
        Tin::from_triangles(vertices, triangles.to_vec()).unwrap()
    }

    #[test]
    fn triangulations_never_overlap() {
        let points: Vec<Point3> = (0..400_u32)
            .map(|i| {
                let at = |step: u32| f64::from(i.wrapping_mul(step) % 1009);
                Point3::new(at(7919), at(104_729), 0.0)
            })
            .collect();
        assert_eq!(overlapping(&triangulate(&points, &[]).unwrap().tin, 0.0), None);
    }

    #[test]
    fn a_second_sheet_is_found_and_a_touch_is_none() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        // A triangle apart, in the middle of the square: all of its edges are crossed.
        let apart = [(4.0, 4.0), (6.0, 4.0), (5.0, 6.0)];
        let places = [&square[..], &apart].concat();
        let sheets = mesh(&places, &[[0, 1, 2], [0, 2, 3], [4, 5, 6]]);
        assert_eq!(overlapping(&sheets, 0.001), Some((TriangleId(0), TriangleId(2))));
        // Only a corner in common, or only part of an edge.
        let beside = mesh(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (8.0, 4.0), (8.0, 8.0)], &[[0, 1, 2], [2, 3, 4]]);
        assert_eq!(overlapping(&beside, 0.0), None);
        let along =
            mesh(&[(0.0, 0.0), (4.0, 0.0), (2.0, 4.0), (1.0, 0.0), (2.0, -3.0), (3.0, 0.0)], &[[0, 1, 2], [3, 4, 5]]);
        assert_eq!(overlapping(&along, 0.0), None);
    }

    #[test]
    fn a_fold_about_a_vertex_is_found_and_rounding_is_let_pass() {
        // Two triangles with one corner in common; the second reaches 1 m, or half a millimetre, into the first.
        let fold = |into: f64| {
            mesh(
                &[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (20.0, 5.0), (10.0 - into, 5.0), (20.0, 6.0)],
                &[[0, 1, 2], [4, 3, 5]],
            )
        };
        assert_eq!(overlapping(&fold(1.0), 0.001), Some((TriangleId(0), TriangleId(1))));
        assert_eq!(overlapping(&fold(0.0005), 0.001), None);
        assert!(overlapping(&fold(0.0005), 0.0).is_some());
    }

    #[test]
    fn breaklines_stay_with_their_edges_when_a_triangle_is_turned() {
        let vertices: Vec<Point3> =
            [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].iter().map(|&(x, y)| Point3::new(x, y, 0.0)).collect();
        // The second triangle is clockwise: 0, 3, 2; its edge from 2 back to 0 and its edge 0 to 3 are breaklines.
        let tin = Tin::from_faces(vertices, vec![[0, 1, 2], [0, 3, 2]], vec![[false; 3], [true, false, true]]).unwrap();
        crate::surface::sound::assert_sound(&tin);
        assert!(crate::surface::sound::has_break(&tin, 0, 2) && crate::surface::sound::has_break(&tin, 0, 3));
        assert!(!crate::surface::sound::has_break(&tin, 2, 3) && !crate::surface::sound::has_break(&tin, 0, 1));
        assert!(tin.is_break(TriangleId(0), 2), "told on the other side as well");
    }
}
