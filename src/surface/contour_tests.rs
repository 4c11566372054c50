//! Tests of contour lines: planes, a cone and a tilted cylinder in closed form, properties on any surface.

use super::*;
use crate::geom::{LIMIT, Point3, Polygon, segments_cross};
use crate::surface::{Locator, triangulate};
use proptest::prelude::*;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Random places over a square of side 200 m with its corners, lifted by a function.
fn surface(count: usize, centre: Point, height: impl Fn(Point) -> f64) -> Tin {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let corners = [(-100.0, -100.0), (100.0, -100.0), (100.0, 100.0), (-100.0, 100.0)];
    let inner = (0..count).map(|_| (rng.random_range(-100.0..100.0), rng.random_range(-100.0..100.0)));
    let places: Vec<Point> = inner.chain(corners).map(|(x, y)| Point::new(centre.x + x, centre.y + y)).collect();
    let points: Vec<Point3> = places.iter().map(|&p| crate::geom::snap_point(p)).map(|p| p.at(height(p))).collect();
    triangulate(&points, &[]).unwrap().tin
}

/// A line of the mesh's longest edge spans this much height error on a surface of curvature 1/R: h^2 / (8 R).
fn longest_edge(tin: &Tin) -> f64 {
    tin.triangles()
        .iter()
        .flat_map(|t| (0..3).map(move |k| [t[k], t[(k + 1) % 3]]))
        .map(|[a, b]| tin.vertices()[a as usize].plan().distance(tin.vertices()[b as usize].plan()))
        .fold(0.0, f64::max)
}

#[test]
fn a_plane_at_the_edge_of_the_frame_within_two_micrometres() {
    let centre = Point::new(LIMIT - 150.0, 150.0 - LIMIT);
    let height = |p: Point| 431.0 + 0.031 * (p.x - centre.x) - 0.017 * (p.y - centre.y);
    let tin = surface(2_000, centre, height);
    for level in [430.0, 431.0, 432.345] {
        let lines = contour(&tin, level);
        assert_eq!(lines.len(), 1);
        assert!(!lines[0].closed);
        assert!(lines[0].points.len() > 50);
        let worst = lines[0].points.iter().map(|&p| (height(p) - level).abs()).fold(0.0, f64::max);
        assert!(worst < 2e-6, "{worst}");
        let along = lines[0].points[lines[0].points.len() - 1] - lines[0].points[0];
        assert!(along.cross(crate::geom::Vector::new(0.031, -0.017)) > 0.0, "higher ground on the left");
    }
}

#[test]
fn a_cone_within_its_chord_error() {
    // z = s r has curvature s / r across its slope: a chord h at radius r - h lies at most s h^2 / (8 (r - h)) above.
    let slope = 0.1;
    let height = |p: Point| slope * p.x.hypot(p.y);
    let tin = surface(20_000, Point::default(), height);
    let h = longest_edge_near(&tin, 60.0);
    let lines = contour(&tin, slope * 60.0);
    assert_eq!(lines.len(), 1);
    let ring = &lines[0];
    assert!(ring.closed);
    let bound = slope * h * h / (8.0 * (60.0 - h));
    let worst = ring.points.iter().map(|&p| (height(p) - slope * 60.0).abs()).fold(0.0, f64::max);
    assert!(worst > 0.0 && worst <= bound, "{worst} within {bound}");
    let area = Polygon::simple(ring.points.clone()).area();
    assert!((area / (std::f64::consts::PI * 3_600.0) - 1.0).abs() < 2e-3, "{area}");
    assert!(crate::geom::area_of_ring(&ring.points) < 0.0, "clockwise round a hollow: higher ground on the left");
}

/// The longest edge among triangles that a circle of this radius may touch.
fn longest_edge_near(tin: &Tin, radius: f64) -> f64 {
    let far = |p: Point3| p.x.hypot(p.y);
    tin.ids()
        .map(|t| tin.corners(t))
        .filter(|c| c.iter().any(|&p| far(p) >= radius) && c.iter().any(|&p| far(p) <= radius))
        .flat_map(|c| (0..3).map(move |k| c[k].plan().distance(c[(k + 1) % 3].plan())))
        .fold(0.0, f64::max)
}

#[test]
fn a_tilted_cylinder_within_its_chord_error() {
    // A valley of radius R along the y axis, falling along it: z = R - sqrt(R^2 - x^2) + f y; curvature 1/R at its
    // bottom and (1 + z'^2)^(3/2) / R up its sides in plan.
    let (radius, fall) = (500.0_f64, 0.02);
    let height = |p: Point| radius - (radius * radius - p.x * p.x).sqrt() + fall * p.y;
    let tin = surface(20_000, Point::default(), height);
    let h = longest_edge(&tin);
    let steepest = 100.0 / (radius * radius - 100.0 * 100.0_f64).sqrt();
    let bound = h * h / (8.0 * radius) * (1.0 + steepest * steepest).powf(1.5);
    for level in [0.5, 1.0, 3.0] {
        for line in contour(&tin, level) {
            let worst = line.points.iter().map(|&p| (height(p) - level).abs()).fold(0.0, f64::max);
            assert!(worst <= bound, "{worst} within {bound}");
        }
    }
}

#[test]
fn flats_and_vertices_at_the_level_need_no_special_case() {
    // A table on a floor, its edge exactly at the level; and a single peak that just reaches it.
    let mut points = Vec::new();
    for x in 0..7 {
        for y in 0..7 {
            let table = (2..=4).contains(&x) && (2..=4).contains(&y);
            points.push(Point3::new(f64::from(x), f64::from(y), if table { 1.0 } else { 0.0 }));
        }
    }
    let tin = triangulate(&points, &[]).unwrap().tin;
    let lines = contour(&tin, 1.0);
    assert_eq!(lines.len(), 1);
    assert!(lines[0].closed);
    assert_eq!(crate::geom::area_of_ring(&lines[0].points), 4.0);
    assert!(contour(&tin, 1.5).is_empty() && contour(&tin, -1.0).is_empty() && contour(&tin, 0.0).is_empty());
    let mut peak: Vec<Point3> = points.iter().map(|p| Point3 { z: 0.0, ..*p }).collect();
    peak[24].z = 1.0;
    assert!(contour(&triangulate(&peak, &[]).unwrap().tin, 1.0).is_empty());
}

#[test]
fn an_empty_surface_has_no_contours() {
    assert!(contour(&Tin::default(), 0.0).is_empty());
}

#[test]
fn many_levels_are_each_as_alone() {
    let tin = surface(3_000, Point::default(), |p| (p.x * 0.05).sin() * 3.0 + p.y * 0.02);
    let levels: Vec<f64> = (-20..20).map(|k| f64::from(k) * 0.25).collect();
    let all = contours(&tin, &levels);
    assert!(all.iter().map(Vec::len).sum::<usize>() > 60);
    for (lines, &level) in all.iter().zip(&levels) {
        assert_eq!(lines, &contour(&tin, level), "{level}");
    }
    assert!(contours(&tin, &[]).is_empty());
    assert!(contours(&Tin::default(), &levels).iter().all(Vec::is_empty));
}

#[test]
fn smoothing_keeps_ends_and_stays_beside_the_line() {
    let corner = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0)].map(|(x, y)| Point::new(x, y)).to_vec();
    let open = ContourLine { points: corner.clone(), closed: false };
    let smooth = open.smoothed_to_show();
    assert_eq!((smooth.points.first(), smooth.points.last()), (corner.first(), corner.last()));
    // Of a corner of 90 degrees with legs of 8 the first cut takes a triangle of 2 by 2.
    assert!(smooth.points.iter().all(|p| p.y <= p.x && (p.y == 0.0 || p.x == 8.0 || p.x - p.y >= 5.0)));
    let closed = ContourLine { points: corner, closed: true };
    assert_eq!(closed.smoothed_to_show().points.len(), 12);
    assert!(Polygon::simple(closed.smoothed_to_show().points).area() < 32.0);
}

proptest! {
    /// Elevations from a handful of values, so that flats, saddles and vertices at the level are common.
    #[test]
    fn lines_never_cross_end_at_the_rim_and_keep_the_high_side_left(
        cells in prop::collection::vec((0..9_i32, 0..9_i32, 0..4_i32), 4..60),
        level in prop::sample::select(vec![0.0, 0.5, 1.0, 1.7, 2.0, 3.0]),
        jitter in prop::bool::ANY,
    ) {
        let points: Vec<Point3> = cells
            .iter()
            .map(|&(x, y, z)| {
                let shift = if jitter { 0.3 * f64::from((x * 7 + y * 13) % 5) / 5.0 } else { 0.0 };
                Point3::new(f64::from(x) + shift, f64::from(y) - shift, f64::from(z))
            })
            .collect();
        let Ok(made) = triangulate(&points, &[]) else { return Ok(()) };
        let tin = made.tin.trimmed(Some(4.0), None);
        let locator = Locator::new(&tin);
        let lines = contour(&tin, level);
        let mut pieces = Vec::new();
        for line in &lines {
            let mut points = line.points.clone();
            if line.closed {
                points.push(points[0]);
            } else {
                for end in [points[0], points[points.len() - 1]] {
                    prop_assert!(on_rim(&tin, end), "{end:?} on the rim");
                }
            }
            pieces.extend(points.windows(2).map(|pair| [pair[0], pair[1]]));
        }
        for (i, [a, b]) in pieces.iter().enumerate() {
            for [c, d] in &pieces[i + 1..] {
                // Rounded places may cross by rounding alone; a crossing with some depth is one.
                let deep = [*c, *d].iter().all(|&p| ((*b - *a).cross(p - *a) / a.distance(*b)).abs() > 1e-9)
                    && [*a, *b].iter().all(|&p| ((*d - *c).cross(p - *c) / c.distance(*d)).abs() > 1e-9);
                prop_assert!(!(deep && segments_cross(*a, *b, *c, *d)), "{a:?}-{b:?} and {c:?}-{d:?}");
            }
            let middle = a.towards(*b, 0.5);
            let aside = (*b - *a).left().unit() * 1e-4;
            // A ridge that just reaches the level has high ground of no width on the line's left.
            let ridge = [a, b].iter().all(|&p| tin.vertices().iter().any(|v| v.plan() == *p && v.z == level));
            let beside = (locator.elevation(middle + aside), locator.elevation(middle + -aside));
            if !ridge
                && a.distance(*b) > 1e-2
                && let (Some(left), Some(right)) = beside
            {
                prop_assert!(left >= level - 1e-9 && right < level + 1e-9, "{left} left, {right} right of {level}");
            }
        }
    }
}

fn on_rim(tin: &Tin, place: Point) -> bool {
    tin.ids().any(|t| {
        let corners = tin.corners(t);
        (0..3).any(|k| {
            let (a, b) = (corners[k].plan(), corners[(k + 1) % 3].plan());
            let part = (place - a).dot(b - a) / (b - a).dot(b - a);
            let off = ((b - a).cross(place - a) / a.distance(b)).abs();
            tin.neighbour(t, k).is_none() && off < 1e-9 && (-1e-9..=1.0 + 1e-9).contains(&part)
        })
    })
}
