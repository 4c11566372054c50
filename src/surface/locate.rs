//! Which triangle lies at a place, and the surface's elevation and slope there.
//!
//! Invariant: a place inside the surface or exactly on its rim is found, decided by exact tests; on an edge or a
//! vertex the triangle of lowest number answers, so an answer never depends on how the question came. The domain may
//! have notches and holes.

use super::buckets::Buckets;
use super::tin::{Tin, TriangleId, gradient};
use crate::geom::{Point, Point3, Side, Vector, orient};

/// Answers questions about places on a surface.
#[derive(Debug, Clone)]
pub struct Locator<'a> {
    tin: &'a Tin,
    grid: Buckets,
}

impl<'a> Locator<'a> {
    /// Makes ready for questions; time and memory are in proportion to the number of triangles.
    #[must_use]
    pub fn new(tin: &'a Tin) -> Self {
        let triangles = tin.triangles();
        let grid = Buckets::over(triangles.len(), |t| triangles[t].map(|v| tin.vertices()[v as usize].plan()));
        Self { tin, grid }
    }

    /// The surface it answers for.
    #[must_use]
    pub const fn tin(&self) -> &'a Tin {
        self.tin
    }

    /// The triangle that holds a place, its edge included; `None` outside the surface.
    #[must_use]
    pub fn find(&self, place: Point) -> Option<TriangleId> {
        self.grid.at(place).iter().map(|&t| TriangleId(t)).find(|&t| self.holds(t, place))
    }

    /// The elevation at a place, metres; `None` outside the surface.
    #[must_use]
    pub fn elevation(&self, place: Point) -> Option<f64> {
        self.find(place).map(|t| self.elevation_in(t, place))
    }

    /// The gradient (dz/dx, dz/dy) at a place; `None` outside the surface.
    #[must_use]
    pub fn gradient(&self, place: Point) -> Option<Vector> {
        self.find(place).map(|t| gradient(self.tin.corners(t)))
    }

    /// Answers a run of questions from place to place near by; see [`Walker`].
    #[must_use]
    pub const fn walker(&self) -> Walker<'_> {
        Walker { locator: self, last: TriangleId(0), steps: 0 }
    }

    /// Triangles that a segment may touch, in rising order; some only lie near it.
    pub(super) fn near(&self, from: Point, to: Point) -> Vec<TriangleId> {
        let mut found = Vec::new();
        self.grid.each_near(&[from, to], |t| found.push(TriangleId(t)));
        found.sort_unstable();
        found.dedup();
        found
    }

    fn holds(&self, t: TriangleId, place: Point) -> bool {
        let [a, b, c] = self.tin.corners(t).map(Point3::plan);
        orient(a, b, place) != Side::Right && orient(b, c, place) != Side::Right && orient(c, a, place) != Side::Right
    }

    /// Weights of the corners rather than a gradient: in a sliver too the answer stays between the corners.
    fn elevation_in(&self, t: TriangleId, place: Point) -> f64 {
        let corners = self.tin.corners(t);
        let [a, b, c] = corners.map(Point3::plan);
        let weight = |from: Point, to: Point| (to - from).cross(place - from).max(0.0);
        let [at_a, at_b, at_c] = [weight(b, c), weight(c, a), weight(a, b)];
        let whole = at_a + at_b + at_c;
        if whole > 0.0 {
            corners[0].z + (at_b * (corners[1].z - corners[0].z) + at_c * (corners[2].z - corners[0].z)) / whole
        } else {
            corners[0].z
        }
    }
}

/// Most triangles that a walk crosses before the buckets are asked instead.
const FAR: usize = 64;

/// Answers like its [`Locator`], from where it answered last: a walk from triangle to triangle, so along a path a question
/// costs no more than the triangles between two places. A walk that leaves the surface or goes far asks the locator.
#[derive(Debug, Clone)]
pub struct Walker<'a> {
    locator: &'a Locator<'a>,
    last: TriangleId,
    steps: u64,
}

impl Walker<'_> {
    /// The triangle that holds a place, as [`Locator::find`] has it.
    pub fn find(&mut self, place: Point) -> Option<TriangleId> {
        let tin = self.locator.tin;
        let mut t = self.last;
        if (t.0 as usize) < tin.triangles().len() {
            for _ in 0..FAR {
                self.steps += 1;
                let corners = tin.corners(t).map(Point3::plan);
                let sides = [0, 1, 2].map(|k| orient(corners[k], corners[(k + 1) % 3], place));
                match sides.iter().position(|&side| side == Side::Right) {
                    Some(k) => match tin.neighbour(t, k) {
                        Some(across) => t = across,
                        None => break,
                    },
                    // On an edge or a vertex others have a say too.
                    None if sides.contains(&Side::On) => break,
                    None => {
                        self.last = t;
                        return Some(t);
                    }
                }
            }
        }
        let found = self.locator.find(place);
        self.last = found.unwrap_or(self.last);
        found
    }

    /// The elevation at a place, metres; `None` outside the surface.
    pub fn elevation(&mut self, place: Point) -> Option<f64> {
        self.find(place).map(|t| self.locator.elevation_in(t, place))
    }

    /// Triangles looked at so far in walks.
    #[must_use]
    pub const fn steps(&self) -> u64 {
        self.steps
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::LATTICE_STEP;
    use crate::surface::{constrained, triangulate};
    use proptest::prelude::*;

    fn plane(p: Point) -> Point3 {
        p.at(431.25 + 0.03 * p.x - 0.02 * p.y)
    }

    fn places() -> impl Strategy<Value = Vec<Point>> {
        prop::collection::vec((-400..400_i32, -300..300_i32), 4..120).prop_map(|cells| {
            cells.into_iter().map(|(x, y)| Point::new(f64::from(x) * 0.5 + 30_000.0, f64::from(y) * 0.5)).collect()
        })
    }

    proptest! {
        #[test]
        fn answers_as_a_search_of_all_triangles_does(
            places in places(),
            asked in prop::collection::vec((-900..900_i32, -700..700_i32), 40),
        ) {
            let points: Vec<Point3> = places.iter().map(|&p| plane(p)).collect();
            let Ok(made) = triangulate(&points, &[]) else { return Ok(()) };
            let tin = made.tin.trimmed(Some(60.0), None);
            let locator = Locator::new(&tin);
            let mut walker = locator.walker();
            let asked = asked.iter().map(|&(x, y)| Point::new(f64::from(x) * 0.25 + 30_000.0, f64::from(y) * 0.25));
            for place in asked.chain(places.iter().copied()) {
                let found = locator.find(place);
                prop_assert_eq!(walker.find(place), found, "a walk answers the same");
                prop_assert_eq!(found, tin.ids().find(|&t| locator.holds(t, place)));
                if found.is_some() {
                    let z = locator.elevation(place).unwrap();
                    prop_assert!((z - plane(place).z).abs() < 1e-9, "{z} at {place:?}");
                    let slope = locator.gradient(place).unwrap();
                    prop_assert!((slope.x - 0.03).abs() < 1e-6 && (slope.y + 0.02).abs() < 1e-6, "{slope:?}");
                }
            }
        }
    }

    /// Places a quarter of a spacing apart: a question looks at the triangle it starts in and at those between, however many
    /// triangles the surface has.
    #[test]
    fn along_a_path_a_question_costs_the_same_on_any_surface() {
        for side in [20_u32, 80, 250] {
            let off = |i: u32, step: u32| f64::from(i.wrapping_mul(step) % 1009) / 2500.0;
            let points: Vec<Point3> = (0..side * side)
                .map(|i| {
                    crate::geom::snap_point(Point::new(
                        f64::from(i % side) + off(i, 7919),
                        f64::from(i / side) + off(i, 104_729),
                    ))
                })
                .map(plane)
                .collect();
            let tin = triangulate(&points, &[]).unwrap().tin;
            let locator = Locator::new(&tin);
            let mut walker = locator.walker();
            let asked = 4 * (side - 2);
            for i in 0..asked {
                let x = 0.6 + f64::from(i) * 0.25;
                let place = Point::new(x, f64::from(side) * (0.5 + 0.3 * (x / f64::from(side) * 6.0).sin()));
                assert!(walker.find(place).is_some());
            }
            // The first question may come from afar, and the path is steeper than its step along x.
            let each = (walker.steps() as f64 - 64.0) / f64::from(asked);
            assert!(each < 4.0, "{side}: {each} triangles for each question");
        }
    }

    #[test]
    fn vertices_edges_and_rim_belong_to_the_surface() {
        let points = [(0.0, 0.0, 1.0), (10.0, 0.0, 2.0), (10.0, 10.0, 3.0), (0.0, 10.0, 4.0)]
            .map(|(x, y, z)| Point3::new(x, y, z));
        let tin = constrained(&points, &[[0, 2]]).unwrap();
        let locator = Locator::new(&tin);
        for p in points {
            assert_eq!(locator.elevation(p.plan()), Some(p.z));
        }
        assert_eq!(locator.elevation(Point::new(5.0, 5.0)), Some(2.0));
        assert_eq!(locator.elevation(Point::new(0.0, 2.5)), Some(1.75));
        assert_eq!(locator.find(Point::new(-LATTICE_STEP, 5.0)), None);
        assert_eq!(locator.find(Point::new(f64::NAN, 5.0)), None);
    }

    #[test]
    fn an_empty_surface_answers_nothing() {
        let tin = Tin::default();
        assert_eq!(Locator::new(&tin).elevation(Point::new(0.0, 0.0)), None);
    }

    #[test]
    fn a_sliver_answers_between_its_corners() {
        let points =
            [Point3::new(0.0, 0.0, 1.0), Point3::new(60_000.0, 0.0, 2.0), Point3::new(30_000.0, LATTICE_STEP, 9.0)];
        let tin = triangulate(&points, &[]).unwrap().tin;
        let locator = Locator::new(&tin);
        assert_eq!(locator.elevation(Point::new(30_000.0, 0.0)), Some(1.5));
        let z = locator.elevation(Point::new(30_000.0, LATTICE_STEP / 2.0)).unwrap();
        assert!((z - 5.25).abs() < 1e-9, "{z}");
    }
}
