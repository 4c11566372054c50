//! Taking off what was not surveyed: long thin triangles along the hull and everything beyond the boundary.

use super::tin::{Tin, TriangleId};
use crate::geom::{Point, Point3, Polygon};

impl Tin {
    /// The surface without the triangles that an edge longer than `longest_edge` metres makes doubtful, taken from
    /// the rim inwards so that no hole is torn inside, and without those whose middle lies outside `boundary`. A
    /// breakline was surveyed as it is: its own length is no fault. Vertices and triangles that are left keep their
    /// order; vertices without a triangle go.
    #[must_use]
    pub fn trimmed(&self, longest_edge: Option<f64>, boundary: Option<&Polygon>) -> Self {
        let mut stays = vec![true; self.triangles().len()];
        if let Some(boundary) = boundary {
            for (t, stays) in self.ids().zip(&mut stays) {
                *stays = boundary.contains(middle(self, t));
            }
        }
        if let Some(limit) = longest_edge {
            peel(self, limit, &mut stays);
        }
        self.kept(&stays)
    }
}

fn middle(tin: &Tin, t: TriangleId) -> Point {
    let [a, b, c] = tin.corners(t);
    Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
}

fn peel(tin: &Tin, limit: f64, stays: &mut [bool]) {
    let too_long = |t: TriangleId| {
        let corners = tin.corners(t).map(Point3::plan);
        (0..3).any(|k| !tin.is_break(t, k) && corners[k].distance(corners[(k + 1) % 3]) > limit)
    };
    let beside_rim = |t: TriangleId, stays: &[bool]| {
        (0..3).any(|k| tin.neighbour(t, k).is_none_or(|across| !stays[across.0 as usize]))
    };
    let mut waiting: Vec<TriangleId> = tin.ids().filter(|&t| beside_rim(t, stays)).collect();
    while let Some(t) = waiting.pop() {
        if stays[t.0 as usize] && too_long(t) {
            stays[t.0 as usize] = false;
            waiting.extend((0..3).filter_map(|k| tin.neighbour(t, k)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::surface::sound::assert_sound;
    use crate::surface::triangulate;

    /// A grid of 11 by 11 shots a metre apart with a single one far to the east.
    fn grid_and_far_shot() -> Vec<Point3> {
        let mut points: Vec<Point3> =
            (0..121).map(|i| Point3::new(f64::from(i % 11), f64::from(i / 11), f64::from(i))).collect();
        points.push(Point3::new(60.0, 5.0, 0.0));
        points
    }

    #[test]
    fn long_triangles_go_from_the_rim_inwards() {
        let tin = triangulate(&grid_and_far_shot(), &[]).unwrap().tin;
        assert!(tin.plan_area() > 300.0);
        let trimmed = tin.trimmed(Some(2.0), None);
        assert_sound(&trimmed);
        assert_eq!(trimmed.plan_area(), 100.0);
        assert_eq!(trimmed.vertices().len(), 121);
    }

    #[test]
    fn no_hole_is_torn_inside() {
        // A ring of close shots round a wide gap: the long triangles in the gap are not on the rim.
        let ring = |radius: f64, count: i32| {
            (0..count).map(move |i| {
                let angle = std::f64::consts::TAU * f64::from(i) / f64::from(count);
                Point3::new(radius * angle.cos(), radius * angle.sin(), 0.0)
            })
        };
        let points: Vec<Point3> = ring(20.0, 120).chain(ring(21.0, 120)).chain(ring(22.0, 120)).collect();
        let tin = triangulate(&points, &[]).unwrap().tin;
        let trimmed = tin.trimmed(Some(3.0), None);
        assert_eq!(trimmed.plan_area(), tin.plan_area());
    }

    #[test]
    fn a_boundary_cuts_and_may_have_holes() {
        let tin = triangulate(&grid_and_far_shot(), &[]).unwrap().tin;
        let square = |low: f64, high: f64| {
            vec![Point::new(low, low), Point::new(high, low), Point::new(high, high), Point::new(low, high)]
        };
        let region = Polygon { outer: square(0.0, 8.0), holes: vec![square(3.0, 5.0)] };
        let trimmed = tin.trimmed(None, Some(&region));
        assert_sound(&trimmed);
        assert_eq!(trimmed.plan_area(), 60.0);
        let outer = Polygon::simple(square(100.0, 110.0));
        assert_eq!(tin.trimmed(None, Some(&outer)), Tin::default());
    }

    #[test]
    fn a_long_breakline_on_the_rim_is_no_fault() {
        let points: Vec<Point3> =
            [(0.0, 0.0), (30.0, 0.0), (15.0, 4.0)].iter().map(|&(x, y)| Point3::new(x, y, 0.0)).collect();
        let open = triangulate(&points, &[]).unwrap().tin;
        assert_eq!(open.trimmed(Some(20.0), None), Tin::default());
        let edged = triangulate(&points, &[vec![0, 1]]).unwrap().tin;
        let trimmed = edged.trimmed(Some(20.0), None);
        assert_eq!(trimmed.plan_area(), 60.0);
        assert!(trimmed.ids().any(|t| (0..3).any(|k| trimmed.is_break(t, k))), "breaklines survive");
    }
}
