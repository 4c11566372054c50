//! Ways down: closed forms on planes, hollows by the pool's own spill, and rough ground.

use super::super::examples::{rough, square};
use super::*;
use crate::geom::Vector;
use crate::surface::{Locator, Tin, spill_from};

/// 200 m by 200 m, a shot every 10 m.
fn grid(height: impl Fn(f64, f64) -> f64) -> Tin {
    square(20, 200.0, |p| height(p.x, p.y))
}

#[test]
fn a_way_down_is_straight_on_a_plane_and_runs_in_the_valley() {
    let tin = grid(|x, y| 0.02 * y + 0.05 * (x - 100.0).abs());
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    // From (150, 90): 2 south for 5 west, into the valley at y = 70, and down it to the rim.
    let way = drainage.way_from(Point::new(150.0, 90.0), f64::INFINITY, 0.0);
    assert_eq!((way.end, way.deepest), (WayEnd::Rim, None));
    let points = &way.points;
    let last = points[points.len() - 1];
    assert!(last.plan().distance(Point::new(100.0, 0.0)) < 1e-9, "{last:?}");
    assert!(points.iter().any(|p| p.plan().distance(Point::new(100.0, 70.0)) < 1e-9), "{way:?}");
    assert!(points.windows(2).all(|pair| pair[1].z <= pair[0].z));
    for p in points.iter().filter(|p| p.y > 70.0 + 1e-9) {
        assert!((p.y - 70.0 - 0.4 * (p.x - 100.0)).abs() < 1e-9, "{p:?}");
    }
    // So many metres over the ground, and the piece on which they end.
    let short = drainage.way_from(Point::new(150.0, 90.0), 30.0, 0.0);
    assert_eq!(short.end, WayEnd::Far);
    assert!(short.points.len() < points.len() && short.points[..] == points[..short.points.len()]);
    let off = drainage.way_from(Point::new(-5.0, 9.0), 10.0, 0.0);
    assert!(off.points.is_empty() && off.end == WayEnd::Rim);
}

#[test]
fn every_way_down_on_rough_ground_ends_in_a_hollow() {
    let tin = rough(5, 400, 160.0, |p| {
        let wall = 0.01 * ((p.x - 80.0).powi(2) + (p.y - 80.0).powi(2));
        wall + 1.2 * (p.x * 0.7).sin() * (p.y * 0.9).cos()
    });
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    for k in 0..200 {
        let (sin, cos) = f64::from(k).sin_cos();
        let from = Point::new(80.0, 80.0) + Vector::new(cos, sin) * (0.3 * f64::from(k));
        let way = drainage.way_from(from, f64::INFINITY, 0.0);
        assert!(way.points.windows(2).all(|pair| pair[1].z <= pair[0].z + 1e-12));
        let end = way.points[way.points.len() - 1];
        let corners = tin.triangles().iter();
        let round = corners.filter(|ids| ids.iter().any(|&v| tin.vertices()[v as usize].plan() == end.plan()));
        assert!(round.flatten().all(|&v| tin.vertices()[v as usize].z >= end.z), "{end:?} is no hollow");
        assert_eq!(way.end, WayEnd::Hollow);
    }
}

/// A square pit, 1 m deep at its middle, in a plane that falls 10 % to the east and a little to the south. Water from above fills it to where the
/// pool's own spill lies, runs over there, and goes on down the plane; where only so shallow a hollow fills it stays.
#[test]
fn a_hollow_fills_to_its_spill_and_the_way_goes_on_from_there() {
    let tin = square(40, 40.0, |p| {
        let pit = 97.0 + (p.x - 20.0).abs().max((p.y - 20.0).abs());
        (100.0 - 0.1 * p.x + 0.013 * p.y).min(pit)
    });
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    let (from, middle) = (Point::new(5.3, 20.2), Point::new(20.0, 20.0));
    let (spill, place) = spill_from(&tin, &[middle]);
    let way = drainage.way_from(from, f64::INFINITY, 5.0);
    let (deep, bottom) = way.deepest.unwrap();
    assert_eq!(bottom.plan(), middle);
    assert!((deep - (spill - 97.0)).abs() < 1e-12, "{deep} {spill}");
    let over = place.unwrap();
    assert!(way.points.contains(&over), "{over:?} {way:?}");
    let last = way.points[way.points.len() - 1];
    assert!(way.end == WayEnd::Rim && (last.x == 40.0 || last.y == 0.0), "{last:?}");
    let after = way.points.iter().skip_while(|p| **p != over).collect::<Vec<_>>();
    assert!(after.len() > 5 && after.windows(2).all(|pair| pair[1].z < pair[0].z), "{after:?}");
    // A hair more than it is deep, and a hair less.
    assert_eq!(drainage.way_from(from, f64::INFINITY, deep + 1e-9).points, way.points);
    let stays = drainage.way_from(from, f64::INFINITY, deep - 1e-9);
    assert_eq!((stays.end, stays.points[stays.points.len() - 1].plan()), (WayEnd::Hollow, middle));
}

/// A level terrace across a slope: water stands on it no deeper than nothing, and goes on where it ends.
#[test]
fn level_ground_is_crossed() {
    let tin = square(40, 40.0, |p| 0.1 * if p.y > 25.0 { p.y - 10.0 } else { p.y.min(15.0) });
    let locator = Locator::new(&tin);
    let way = Drainage::new(&locator).way_from(Point::new(20.4, 33.3), f64::INFINITY, 0.0);
    let last = way.points[way.points.len() - 1];
    assert!(way.end == WayEnd::Rim && last.y == 0.0 && way.deepest.is_none(), "{way:?}");
    assert!(way.points.windows(2).all(|pair| pair[1].z <= pair[0].z + 1e-12), "{way:?}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]

    /// Where every hollow fills, every way reaches the rim, rises nowhere above the water that it stands in, and the
    /// water it leaves a hollow by is never below the pool's own spill from there on inside the survey.
    #[test]
    fn over_every_hollow_a_way_reaches_the_rim(seed in 0u64..1000, (x, y) in (5.0..55.0f64, 5.0..55.0f64)) {
        let tin = rough(seed, 300, 60.0, |p| {
            100.0 + 0.8 * (p.x * 0.5).sin() * (p.y * 0.4).cos() + 0.03 * p.x
        });
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        let from = Point::new(x, y);
        let way = drainage.way_from(from, f64::INFINITY, f64::INFINITY);
        proptest::prop_assert_eq!(way.end, WayEnd::Rim);
        let ground = way.points[0].z;
        let (spill, _) = spill_from(&tin, &[from]);
        let highest = way.points.iter().map(|p| p.z).fold(f64::NEG_INFINITY, f64::max);
        // The way's highest place is the least height at which water from here reaches the rim.
        proptest::prop_assert!((highest - spill.max(ground)).abs() < 1e-9, "{} {} {}", highest, spill, ground);
        for p in way.points.iter().skip(1) {
            proptest::prop_assert!((locator.elevation(p.plan()).unwrap_or(p.z) - p.z).abs() < 1e-9);
        }
    }
}
