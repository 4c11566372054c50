//! Roofs of every awkward shape laid on three grounds, against the roof by its definition: right angle, hairpin, closed ring, a free
//! end with unequal batters, a wall across a gully, a face that lies in the slope.

use super::super::apply::{Laid, Owner, lay, outline};
use super::super::work::Kind;
use super::*;
use crate::geom::{Polygon, area_of_ring};
use crate::ground::Ground;
use crate::surface::sound::assert_sound;
use crate::surface::{Locator, cut_and_fill};
use std::f64::consts::PI;

const CREST: f64 = 103.0;
const HALF: f64 = 1.0;

fn axis(points: &[(f64, f64)]) -> Polyline {
    let snapped = points.iter().map(|&(x, y)| crate::geom::snap_point(Point::new(x, y)));
    Polyline::new(snapped.collect()).unwrap()
}

/// Places on a circle, from one angle to another in degrees.
fn arc((x, y): (f64, f64), radius: f64, from: f64, to: f64, chords: u32) -> Vec<(f64, f64)> {
    let angle = |k: u32| (from + (to - from) * f64::from(k) / f64::from(chords)).to_radians();
    (0..=chords).map(|k| (x + radius * angle(k).cos(), y + radius * angle(k).sin())).collect()
}

/// 100 m by 100 m: level, a slope as steep as a batter of 4:1, and a gully from south to north.
fn grounds() -> [Ground; 3] {
    let over = |height: &dyn Fn(f64, f64) -> f64| {
        let mut points = Vec::new();
        for i in 0..=10 {
            for j in 0..=10 {
                let (x, y) = (f64::from(i) * 10.0, f64::from(j) * 10.0);
                points.push(Point::new(x, y).at(height(x, y)));
            }
        }
        Ground::of_points(&points)
    };
    [
        over(&|_, _| 100.0),
        over(&|_, y| 100.0 + 0.02 * (y - 50.0)),
        over(&|x, y| 99.5 + 0.03 * (x - 50.0).abs() + 0.01 * y),
    ]
}

/// Lays a roof and holds it against `roof`, the height of it by definition at a place, within `bound`.
fn held(
    ground: &Ground,
    axis: &Polyline,
    profile: &Profile,
    roof: &dyn Fn(Point) -> f64,
    bound: f64,
) -> (Laid, Vec<Polygon>) {
    let owner = Owner { kind: Kind::Dam, name: "wall", part: "wall", ground };
    let laid = lay(&ground.tin, axis, &vec![CREST; axis.points().len()], profile, owner).unwrap();
    // Every edge has two triangles or lies on the hull, no triangle is inverted, the area is the hull's.
    assert_sound(&laid.tin);
    let rim = crate::surface::rims(&laid.tin);
    assert_eq!(rim.len(), 1, "a gap");
    assert!((area_of_ring(&rim[0]) - 10_000.0).abs() < 1e-9 && (laid.tin.plan_area() - 10_000.0).abs() < 1e-7);
    assert!(laid.largest_difference < 1e-4, "differs by {}", laid.largest_difference);
    let (was, is) = (Locator::new(&ground.tin), Locator::new(&laid.tin));
    let (mut built, mut worst) = (0, (0.0_f64, Point::new(0.0, 0.0)));
    for i in 0..200 {
        for j in 0..200 {
            let place = Point::new(0.25 + f64::from(i) * 0.5, 0.25 + f64::from(j) * 0.5);
            let exact = was.elevation(place).unwrap().max(roof(place));
            let off = is.elevation(place).unwrap() - exact;
            built += u32::from(exact > was.elevation(place).unwrap());
            worst = if off.abs() > worst.0.abs() { (off, place) } else { worst };
        }
    }
    assert!(built > 300 && worst.0.abs() < bound, "{worst:?} of {built}");
    let footprint = outline(&laid.footprint);
    (laid, footprint)
}

/// What is left of the crest so far beyond its half width.
fn fallen(away: f64, batter: f64) -> f64 {
    CREST - (away - HALF).max(0.0) / batter
}

/// Two legs that meet square: mitred outside, where both faces go on to their edge, and inside the higher of both.
#[test]
fn a_right_angle_is_mitred() {
    let line = axis(&[(25.0, 40.0), (60.0, 40.0), (60.0, 75.0)]);
    let roof = |p: Point| {
        let (from_first, from_second) = (p.y - 40.0, 60.0 - p.x);
        let away = if p.x < 25.0 && from_first.abs() < from_second {
            p.distance(Point::new(25.0, 40.0))
        } else if p.y > 75.0 && from_second.abs() < from_first {
            p.distance(Point::new(60.0, 75.0))
        } else if from_first > 0.0 && from_second > 0.0 {
            from_first.min(from_second)
        } else {
            (-from_first).max(-from_second)
        };
        fallen(away, 2.0)
    };
    for ground in grounds() {
        let (_, footprint) = held(&ground, &line, &Profile::even(Sense::Roof, HALF, 2.0, 4.5), &roof, 0.0055);
        assert_eq!((footprint.len(), footprint[0].holes.len()), (1, 0));
    }
}

/// Two legs 6 m apart whose faces meet between them, joined by half a circle that its own sides fold over.
#[test]
fn a_hairpin_is_the_higher_of_both_legs() {
    let mut places = vec![(25.0, 47.0)];
    places.extend(arc((65.0, 50.0), 3.0, -90.0, 90.0, 24));
    places.push((25.0, 53.0));
    let line = axis(&places);
    let roof = |p: Point| fallen(line.foot(p).point.distance(p), 2.0);
    // Over the gully; on the others it would be the same work again.
    for ground in grounds().into_iter().skip(2) {
        // Each chord of 7.5 degrees is mitred outside: 0.2 % of the reach farther out.
        held(&ground, &line, &Profile::even(Sense::Roof, HALF, 2.0, 4.5), &roof, 0.013);
    }
}

/// A wall that closes on itself leaves a hole in its footprint, and on level ground takes its section times its length (Pappus).
#[test]
fn a_closed_ring_leaves_its_middle() {
    let line = axis(&arc((50.0, 50.0), 20.0, 0.0, 360.0, 144));
    let roof = |p: Point| fallen((p.distance(Point::new(50.0, 50.0)) - 20.0).abs(), 2.0);
    for (k, ground) in grounds().into_iter().enumerate() {
        let (laid, footprint) = held(&ground, &line, &Profile::even(Sense::Roof, HALF, 2.0, 4.5), &roof, 0.012);
        assert_eq!((footprint.len(), footprint[0].holes.len()), (1, 1));
        let fill = cut_and_fill(&ground.tin, &laid.tin, None).fill;
        let section = 3.0 * (2.0 * HALF + 2.0 * 3.0);
        assert!(k > 0 || (fill / (section * 2.0 * PI * 20.0) - 1.0).abs() < 2e-3, "{fill}");
    }
}

/// Round a free end the batter turns evenly from that of the left side through that of the end to that of the right; also where the
/// water side is twice as flat as the dry side. The wall stands across the gully of the third ground.
#[test]
fn a_free_end_turns_from_one_batter_to_the_other() {
    let line = axis(&[(30.0, 50.0), (70.0, 50.0)]);
    for (left, end, right) in [(1.5, 2.0, 3.0), (3.0, 2.5, 2.0), (2.0, 4.0, 2.0)] {
        let profile = Profile { left, right, end, ..Profile::even(Sense::Roof, HALF, left, 4.5) };
        let roof = |p: Point| {
            let off = p.y - 50.0;
            let beyond = (p.x - 70.0).max(30.0 - p.x);
            if beyond <= 0.0 {
                return fallen(off.abs(), if off > 0.0 { left } else { right });
            }
            // From nothing straight to the side to one straight ahead.
            let turned = beyond.atan2(off.abs()) / (PI / 2.0);
            let side = if off > 0.0 { left } else { right };
            fallen(off.hypot(beyond), side + (end - side) * turned)
        };
        for ground in grounds() {
            let (_, footprint) = held(&ground, &line, &profile, &roof, 0.006);
            assert_eq!((footprint.len(), footprint[0].holes.len()), (1, 0));
        }
    }
}

/// Ground that rises to the north as steep as the wall's faces: its south face lies in the slope, or a micrometre off it, and what is
/// raised is its crest and what lies behind.
#[test]
fn a_face_in_the_slope_is_neither_cut_nor_torn() {
    for lift in [0.0, 1e-6, -1e-6] {
        // 2:1 from y = 44 to y = 56, level beside: the crest's south edge at y = 50 and 103 m stands in the slope.
        let slope = |y: f64| 100.0 + lift + (y - 44.0).clamp(0.0, 5.5) / 2.0;
        let mut points = Vec::new();
        for x in [0.0, 20.0, 40.0, 60.0, 80.0, 100.0] {
            for y in [0.0, 44.0, 49.5, 100.0] {
                points.push(Point::new(x, y).at(slope(y)));
            }
        }
        let ground = Ground::of_points(&points);
        let line = axis(&[(30.0, 51.0), (70.0, 51.0)]);
        let roof = |p: Point| {
            let beyond = (p.x - 70.0).max(30.0 - p.x).max(0.0);
            fallen((p.y - 51.0).hypot(beyond), 2.0)
        };
        let (laid, _) = held(&ground, &line, &Profile::even(Sense::Roof, HALF, 2.0, 4.5), &roof, 0.0055);
        let moved = cut_and_fill(&ground.tin, &laid.tin, None);
        assert!(moved.cut < 1e-4 && moved.fill > 1.0, "{moved:?}");
    }
}
