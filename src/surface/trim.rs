//! Taking off what was not surveyed: long thin triangles along the hull, everything beyond the boundary, and, when asked,
//! gaps inside.

use super::tin::{Tin, TriangleId, triangle_area};
use crate::geom::{CompensatedSum, Point, Point3, Polygon};

/// A gap that was cut out of a surface: triangles side by side, each with an edge that is too long.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Plan area, square metres.
    pub area: f64,
    /// The middle of its largest triangle.
    pub middle: Point,
    /// Length of the breaklines that have no surface beside them any more, metres.
    pub breaklines: f64,
}

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

    /// The surface without any triangle that has an edge longer than `longest_edge` metres, breaklines apart, and the gaps that
    /// this cuts, the largest first. On a surface that was [trimmed](Self::trimmed) to the same length each is a hole. As there,
    /// what is left keeps its order.
    #[must_use]
    pub fn without_gaps(&self, longest_edge: f64) -> (Self, Vec<Gap>) {
        let stays: Vec<bool> = self.ids().map(|t| !too_long(self, t, longest_edge)).collect();
        let mut gaps: Vec<Gap> = Vec::new();
        let mut counted = stays.clone();
        for first in self.ids() {
            if std::mem::replace(&mut counted[first.0 as usize], true) {
                continue;
            }
            let (mut group, mut next) = (vec![first], 0);
            while let Some(&t) = group.get(next) {
                next += 1;
                for across in (0..3).filter_map(|k| self.neighbour(t, k)) {
                    if !std::mem::replace(&mut counted[across.0 as usize], true) {
                        group.push(across);
                    }
                }
            }
            gaps.push(gap(self, &group, &stays));
        }
        gaps.sort_by(|a, b| b.area.total_cmp(&a.area));
        (self.kept(&stays), gaps)
    }
}

/// A group of triangles that go, in figures.
fn gap(tin: &Tin, group: &[TriangleId], stays: &[bool]) -> Gap {
    let area = |t: TriangleId| triangle_area(tin.corners(t));
    let largest = group.iter().copied().reduce(|best, t| if area(t) > area(best) { t } else { best });
    let breaklines = group.iter().flat_map(|&t| (0..3).map(move |k| (t, k))).filter(|&(t, k)| tin.is_break(t, k));
    let lost = breaklines.map(|(t, k)| {
        let corners = tin.corners(t);
        let length = corners[k].plan().distance(corners[(k + 1) % 3].plan());
        match tin.neighbour(t, k) {
            Some(across) if stays[across.0 as usize] => 0.0,
            // Counted from both sides.
            Some(_) => length / 2.0,
            None => length,
        }
    });
    Gap {
        area: group.iter().map(|&t| area(t)).collect::<CompensatedSum>().total(),
        middle: largest.map_or(Point::new(0.0, 0.0), |t| middle(tin, t)),
        breaklines: lost.sum(),
    }
}

/// True when an edge that is no breakline is longer than a limit.
fn too_long(tin: &Tin, t: TriangleId, limit: f64) -> bool {
    let corners = tin.corners(t).map(Point3::plan);
    (0..3).any(|k| !tin.is_break(t, k) && corners[k].distance(corners[(k + 1) % 3]) > limit)
}

fn middle(tin: &Tin, t: TriangleId) -> Point {
    let [a, b, c] = tin.corners(t);
    Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0)
}

fn peel(tin: &Tin, limit: f64, stays: &mut [bool]) {
    let beside_rim = |t: TriangleId, stays: &[bool]| {
        (0..3).any(|k| tin.neighbour(t, k).is_none_or(|across| !stays[across.0 as usize]))
    };
    let mut waiting: Vec<TriangleId> = tin.ids().filter(|&t| beside_rim(t, stays)).collect();
    while let Some(t) = waiting.pop() {
        if stays[t.0 as usize] && too_long(tin, t, limit) {
            stays[t.0 as usize] = false;
            waiting.extend((0..3).filter_map(|k| tin.neighbour(t, k)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Polyline, area_of_ring, snap_point};
    use crate::surface::holes::{holes, rims};
    use crate::surface::sound::assert_sound;
    use crate::surface::{Locator, profile, thin, triangulate};
    use proptest::prelude::*;

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

    /// Three rings of 120 shots each round an empty middle, 20 to 22 m from it.
    fn rings() -> Vec<Point3> {
        let ring = |radius: f64| {
            (0..120).map(move |i| {
                let angle = std::f64::consts::TAU * f64::from(i) / 120.0;
                let place = snap_point(Point::new(radius * angle.cos(), radius * angle.sin()));
                place.at(0.0)
            })
        };
        [20.0, 21.0, 22.0].into_iter().flat_map(ring).collect()
    }

    /// Area of a regular polygon of 120 corners.
    fn of_ring(radius: f64) -> f64 {
        60.0 * radius * radius * (std::f64::consts::TAU / 120.0).sin()
    }

    #[test]
    fn no_hole_is_torn_inside_unasked() {
        let tin = triangulate(&rings(), &[]).unwrap().tin;
        let trimmed = tin.trimmed(Some(2.0), None);
        assert_eq!(trimmed.plan_area(), tin.plan_area());
        assert_eq!(holes(&trimmed), []);
    }

    /// What is left of a ring of shots is the ring, in closed form: two regular polygons of 120 corners.
    #[test]
    fn a_gap_is_cut_out_when_asked() {
        let tin = triangulate(&rings(), &[]).unwrap().tin;
        let (left, gaps) = tin.without_gaps(2.0);
        assert_sound(&left);
        assert!((left.plan_area() - (of_ring(22.0) - of_ring(20.0))).abs() < 1e-3, "{}", left.plan_area());
        let [gap] = gaps[..] else { panic!("{gaps:?}") };
        assert!((gap.area - of_ring(20.0)).abs() < 1e-3 && gap.breaklines == 0.0, "{gap:?}");
        assert!(gap.middle.distance(Point::new(0.0, 0.0)) < 20.0 && Locator::new(&left).find(gap.middle).is_none());
        let [hole] = &holes(&left)[..] else { panic!("one hole") };
        assert!(hole.ring.len() == 120 && (hole.area - gap.area).abs() < 1e-6, "{}", hole.area);
        // Whoever thins what is left keeps the hole, and nothing runs across it.
        let thinned = thin(&left, 0.01).unwrap().tin;
        assert!((thinned.plan_area() - left.plan_area()).abs() < 1e-6, "{}", thinned.plan_area());
        let section = profile(&Locator::new(&left), &across());
        assert!(section.iter().any(|p| p.elevation.is_none()));
        assert!(section.iter().all(|p| p.elevation.is_none() || p.place.x.abs() > 19.9), "{section:?}");
    }

    fn across() -> Polyline {
        Polyline::new(vec![Point::new(-21.5, 0.3), Point::new(21.5, 0.3)]).unwrap()
    }

    /// A breakline that runs through a gap with no shot near it has no ground beside it; its length is told. Along the gap's rim
    /// it has ground on one side and stays, however long it is.
    #[test]
    fn breaklines_in_a_gap_are_told_and_on_its_rim_stay() {
        let mut points = rings();
        let inside = [(-20.0, 0.0), (-5.0, 0.0), (5.0, 0.0), (20.0, 0.0)];
        points.extend(inside[1..3].iter().map(|&(x, y)| Point3::new(x, y, 0.0)));
        let tin = triangulate(&points, &[vec![60, 360, 361, 0]]).unwrap().tin;
        let (left, gaps) = tin.without_gaps(2.0);
        assert_sound(&left);
        // One gap, though the line runs through it.
        assert_eq!(gaps.len(), 1, "{gaps:?}");
        assert!((gaps[0].breaklines - 40.0).abs() < 1e-5, "{gaps:?}");
        assert_eq!(left.vertices().len(), 360);
        // Every second shot of the inner ring left out: its chords, 2.09 m, are breaklines.
        let points: Vec<Point3> =
            rings().into_iter().enumerate().filter_map(|(i, p)| (i >= 120 || i % 2 == 0).then_some(p)).collect();
        let ring: Vec<u32> = (0..60).chain([0]).collect();
        let open = triangulate(&points, &[]).unwrap().tin.without_gaps(2.0).0;
        let edged = triangulate(&points, &[ring]).unwrap().tin.without_gaps(2.0).0;
        assert!(edged.plan_area() > open.plan_area() + 60.0, "{} {}", edged.plan_area(), open.plan_area());
        assert_eq!(holes(&edged)[0].ring.len(), 60);
    }

    proptest! {
        /// After both cuts no edge but a breakline is too long, what went is what was told, and the rims are closed rings that
        /// bound just what is left.
        #[test]
        fn nothing_longer_than_the_bound_is_left(
            places in prop::collection::vec((0..600_i32, 0..600_i32), 30..160),
            lake in (100..500_i32, 100..500_i32, 60..220_i32),
            line in prop::collection::vec(0..30_u32, 0..5),
            bound in 8.0..40.0_f64,
        ) {
            let dry = |&(x, y): &(i32, i32)| (x - lake.0).pow(2) + (y - lake.1).pow(2) > lake.2.pow(2);
            let points: Vec<Point3> = places.iter().filter(|place| dry(place))
                .map(|&(x, y)| Point3::new(f64::from(x) / 4.0, f64::from(y) / 4.0, f64::from(x % 7))).collect();
            prop_assume!(points.len() > 30);
            let Ok(made) = triangulate(&points, &[line]) else { return Ok(()) };
            let trimmed = made.tin.trimmed(Some(bound), None);
            let (left, gaps) = trimmed.without_gaps(bound);
            assert_sound(&left);
            prop_assert!(left.ids().all(|t| !too_long(&left, t, bound)));
            let gone: f64 = gaps.iter().map(|gap| gap.area).sum();
            prop_assert!((left.plan_area() + gone - trimmed.plan_area()).abs() < 1e-6);
            let around: f64 = rims(&left).iter().map(|ring| area_of_ring(ring)).sum();
            prop_assert!((around - left.plan_area()).abs() < 1e-6, "{around} {}", left.plan_area());
            prop_assert!(gaps.is_empty() == (left == trimmed));
        }
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
