//! Tests of pools: solids in closed form, spill and shore.

use super::super::examples::{grid, square};
use super::*;
use crate::geom::area_of_ring;

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "found {found}, wanted {wanted}");
}

/// A valley with planar faces: its floor falls by `fall` along y, its sides rise by 0.06 and 0.08, closed at y = 0.
fn valley(n: u32) -> Tin {
    let side = |x: f64| if x < 0.0 { -0.06 * x } else { 0.08 * x };
    grid(Point::new(-80.0, 0.0), Point::new(80.0, 320.0), n, |p| 100.0 + side(p.x) + 0.015 * p.y)
}

#[test]
fn a_valley_behind_a_wall() {
    // h^3/(6g) (1/m1 + 1/m2); a surface of planar faces holds it to rounding. The wall is the rim at y = 0.
    let water = pool(&valley(32), &[Point::new(0.0, 10.0)], 103.0);
    near(water.volume, 8750.0);
    near(water.area, 200.0 * (3.0 / 0.06 + 3.0 / 0.08) / 2.0);
    let shore: f64 = water.shore.iter().map(|line| area_of_ring(line)).sum();
    near(shore, water.area);
    // Without the wall the water runs off at the lowest place of the rim: not above the seed.
    assert_eq!((water.spill, water.holds()), (100.15, false));
}

#[test]
fn only_the_hollow_at_the_seed() {
    // Two hollows of depth 2 and 1 parted by a saddle; the rim is high.
    let surface = square(40, 40.0, |p| {
        let bowl = |x: f64, y: f64, depth: f64| (p.x - x).hypot(p.y - y) * 0.25 - depth;
        bowl(12.0, 20.0, 2.0).min(bowl(28.0, 20.0, 1.0)).min(1.0)
    });
    let (left, right) = (Point::new(12.0, 20.0), Point::new(28.0, 20.0));
    let (one, two) = (pool(&surface, &[left], 0.0), pool(&surface, &[right], 0.0));
    let both = below(&surface, 0.0);
    assert!(one.volume > two.volume && two.volume > 0.0);
    near(one.volume + two.volume, both.volume);
    near(one.area + two.area, both.area);
    near(pool(&surface, &[left, right], 0.0).volume, both.volume);
    assert_eq!(pool(&surface, &[Point::new(1.0, 1.0)], 0.0).volume, 0.0, "a dry seed has no pool");
    assert_eq!(one.shore.len(), 1);
    assert!(one.holds() && one.spill == 1.0);
    let rows = stage_storage(&surface, &[left], &[-1.0, 0.0, 0.75]);
    assert_eq!((rows[1].volume, rows[1].area), (one.volume, one.area));
    assert!(rows[0].volume < rows[1].volume && rows[1].volume < rows[2].volume);
}

#[test]
fn the_lowest_way_out_is_found_with_its_place() {
    // A round basin with a notch in its ring at (30, 16).
    let surface = square(32, 32.0, |p| {
        let r = (p.x - 16.0).hypot(p.y - 16.0);
        if p == Point::new(30.0, 16.0) || (p.x > 30.0 && p.y == 16.0) { 3.0 } else { (r * 0.5).min(7.0) }
    });
    let (spill, place) = spill_from(&surface, &[Point::new(16.0, 16.0)]);
    // The way runs through (29, 16) at 6.5, then falls into the notch.
    assert_eq!((spill, place.map(Point3::plan)), (6.5, Some(Point::new(29.0, 16.0))));
}
