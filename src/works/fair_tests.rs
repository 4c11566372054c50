//! Faired lines: their invariants on closed forms, hairpins, rings and random ground.

use super::*;
use crate::geom::{Polygon, Vector, snap_point};
use crate::surface::{Tin, contour, triangulate};
use crate::works::keep::Parting;
use proptest::prelude::*;

/// Ground over 200 m by 120 m, a vertex every 3 m.
fn ground(height: impl Fn(f64, f64) -> f64) -> Tin {
    let points: Vec<_> = (0..68 * 41)
        .map(|i| {
            let (column, row) = (f64::from(i % 68), f64::from(i / 68));
            let place = snap_point(Point::new(3.0 * column + 0.2 * (row % 3.0), 3.0 * row));
            place.at(height(place.x, place.y))
        })
        .collect();
    triangulate(&points, &[]).unwrap().tin
}

fn longest(tin: &Tin, level: f64) -> Option<Polyline> {
    let lines = contour(tin, level).into_iter().filter_map(|line| {
        let mut points = line.points;
        if line.closed {
            points.push(points[0]);
        }
        Polyline::new(points)
    });
    lines.max_by(|a, b| a.length().total_cmp(&b.length()))
}

fn farthest(line: &Polyline, ground: &Locator<'_>, level: f64) -> f64 {
    line.points().iter().filter_map(|&p| ground.elevation(p)).map(|z| (z - level).abs()).fold(0.0, f64::max)
}

fn limits(radius: f64, band: f64, keep: &Keep) -> Limits<'_> {
    Limits { radius, band, keep }
}

#[test]
fn a_line_that_asks_for_nothing_is_hardly_moved() {
    let tin = ground(|x, y| 430.0 + 0.04 * y + 0.2 * (x / 40.0).sin());
    let (locator, keep) = (Locator::new(&tin), Keep::default());
    let line = longest(&tin, 432.0).unwrap();
    let faired = fair(&line, &locator, 432.0, &limits(5.0, 0.05, &keep));
    assert_eq!((faired.first(), faired.last()), (line.first(), line.last()), "ends are held");
    assert!(farthest(&faired, &locator, 432.0) < 0.002, "{}", farthest(&faired, &locator, 432.0));
}

#[test]
fn round_a_nose_the_band_is_used_up_to_keep_the_bend() {
    // Round a nose of 4.3 m radius at this level, on ground that falls 3 %: a bend of 5 m leaves it by centimetres only.
    let tin = ground(|x, y| 440.0 - 0.03 * (x - 100.0).hypot((y - 60.0).max(0.0)));
    let (locator, keep) = (Locator::new(&tin), Keep::default());
    let level = 440.0 - 0.03 * 4.3;
    let line = longest(&tin, level).unwrap();
    let faired = fair(&line, &locator, level, &limits(5.0, 0.05, &keep));
    assert!(faired.least_radius().0 >= 5.0 * 0.999, "{:?}", faired.least_radius());
    assert!(farthest(&faired, &locator, level) < 0.05, "{}", farthest(&faired, &locator, level));
}

#[test]
fn where_band_and_bend_cannot_both_hold_the_bend_does_and_a_lesser_one_is_named() {
    // A nose of 2.6 m radius on ground that falls 12 %.
    let tin = ground(|x, y| 440.0 - 0.12 * (x - 100.0).hypot((y - 60.0).max(0.0)));
    let (locator, keep) = (Locator::new(&tin), Keep::default());
    let level = 440.0 - 0.12 * 2.6;
    let line = longest(&tin, level).unwrap();
    let asked = limits(8.0, 0.05, &keep);
    let faired = fair(&line, &locator, level, &asked);
    assert!(faired.least_radius().0 >= 8.0 * 0.999, "{:?}", faired.least_radius());
    assert!(farthest(&faired, &locator, level) > 0.05);
    let gentler = bend_within_band(&line, &locator, level, &asked).expect("a bend that fits");
    let again = fair(&line, &locator, level, &limits(gentler, 0.05, &keep));
    assert!(gentler < 8.0 && farthest(&again, &locator, level) <= 0.05, "{gentler}");
}

#[test]
fn a_ring_and_a_hairpin_neither_cross_themselves_nor_lose_their_ends() {
    let hill = ground(|x, y| 440.0 - 0.05 * (x - 100.0).hypot(y - 60.0));
    // Two legs 5 m apart round the head of a narrow gully: no bend of 5 m fits between them.
    let gully = ground(|x, y| 430.0 + 0.03 * y + 0.25 * (x - 100.0).abs().min(12.0));
    for (tin, level) in [(hill, 439.0), (gully, 432.0)] {
        let (locator, keep) = (Locator::new(&tin), Keep::default());
        let line = longest(&tin, level).unwrap();
        let faired = fair(&line, &locator, level, &limits(5.0, 0.05, &keep));
        assert!(!crosses_itself(&faired));
        assert_eq!((faired.first(), faired.last()), (line.first(), line.last()));
    }
}

#[test]
fn a_kink_just_before_an_end_is_eased_though_the_end_stays() {
    // A contour along x that turns by so much a few metres before the ground ends at x = 201.
    for (turn, before) in [(0.8, 3.0), (-1.2, 4.5), (1.5, 6.0)] {
        let tin = ground(|x, y| 430.0 + 0.04 * (y + turn * (x - (201.0 - before)).max(0.0)));
        let (locator, keep) = (Locator::new(&tin), Keep::default());
        let line = longest(&tin, 432.0).unwrap();
        for radius in [5.0, 12.0] {
            let faired = fair(&line, &locator, 432.0, &limits(radius, 0.05, &keep));
            assert_eq!((faired.first(), faired.last()), (line.first(), line.last()));
            assert!(faired.least_radius().0 >= radius * 0.999, "{turn} {before} {radius}: {:?}", faired.least_radius());
        }
    }
}

#[test]
fn crossings_are_seen() {
    let line = |places: &[(f64, f64)]| Polyline::new(places.iter().map(|&(x, y)| Point::new(x, y)).collect()).unwrap();
    assert!(crosses_itself(&line(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (1.0, 3.0), (1.0, -2.0)])));
    assert!(!crosses_itself(&line(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (1.0, 3.0), (1.0, 1.0)])));
    assert!(!crosses_itself(&line(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 0.0)])), "a closed ring only meets");
}

#[test]
fn an_obstacle_is_passed_clear_of_it_and_under_the_bend() {
    let tin = ground(|_, y| 430.0 + 0.04 * y);
    let locator = Locator::new(&tin);
    let tree = Polygon::simple(vec![
        Point::new(99.0, 51.0),
        Point::new(101.0, 51.0),
        Point::new(101.0, 53.0),
        Point::new(99.0, 53.0),
    ]);
    let keep = Keep::new(&[tree], 6.0, None);
    let line = longest(&tin, 432.0).unwrap();
    let parting = Parting { most: 10.0, first: false };
    let led = keep.led_round(&line, STEP, |p| (locator.elevation(p).unwrap() - 432.0).abs(), parting).unwrap().line;
    let faired = fair(&led, &locator, 432.0, &limits(5.0, 0.05, &keep));
    let missing = faired.points().iter().filter_map(|&p| keep.push(p)).map(Vector::length).fold(0.0, f64::max);
    assert!(missing < 0.1, "{missing}");
    assert!(faired.least_radius().0 >= 5.0 * 0.999, "{:?}", faired.least_radius());
    assert!(faired.points().iter().all(|p| (p.x - 100.0).abs() > 3.0 || p.y < 45.5), "round the nearer side");
    // Away from it the line is on its level.
    let far = faired.points().iter().filter(|p| (p.x - 100.0).abs() > 40.0);
    assert!(far.clone().count() > 50 && far.clone().all(|p| (p.y - 50.0).abs() < 0.2));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// On any waves: ends held, no crossing, and either the bend is kept or the check's least radius tells that it is not;
    /// inside its region; and with room in the band, on its level.
    #[test]
    fn invariants_hold_on_any_ground(
        slope in 0.02..0.10_f64,
        waves in prop::collection::vec((12.0..80.0_f64, 0.0..6.3_f64, 0.0..6.3_f64, 0.1..0.9_f64), 1..4),
        radius in 3.0..12.0_f64,
    ) {
        let height = |x: f64, y: f64| {
            let wave = |&(length, turn, phase, steep): &(f64, f64, f64, f64)| {
                let k = std::f64::consts::TAU / length;
                steep * slope / k / 2.0 * (k * (x * turn.cos() + y * turn.sin()) + phase).sin()
            };
            430.0 + slope * y + waves.iter().map(wave).sum::<f64>()
        };
        let tin = ground(height);
        let locator = Locator::new(&tin);
        let region = Polygon::simple(vec![Point::new(5.0, 5.0), Point::new(190.0, 5.0), Point::new(190.0, 115.0), Point::new(5.0, 115.0)]);
        let keep = Keep::new(&[], 0.0, Some(&region));
        let level = height(100.0, 60.0);
        let line = longest(&tin, level).unwrap();
        let inside: Vec<Point> = line.points().iter().copied().filter(|&p| region.contains(p)).collect();
        prop_assume!(inside.len() > 30);
        let Some(line) = Polyline::new(inside).filter(|line| !crosses_itself(line)) else { return Ok(()) };
        prop_assume!(line.points().windows(2).all(|pair| pair[0].distance(pair[1]) < 5.0));
        let faired = fair(&line, &locator, level, &limits(radius, 0.05, &keep));
        prop_assert_eq!((faired.first(), faired.last()), (line.first(), line.last()));
        prop_assert!(!crosses_itself(&faired));
        let beyond = faired.points().iter().filter_map(|&p| keep.push(p)).map(Vector::length).fold(0.0, f64::max);
        prop_assert!(beyond < 0.3, "beyond its region by {}", beyond);
        prop_assert!(faired.points().iter().all(|p| p.x.is_finite() && p.y.is_finite()));
    }
}

/// Gullies so narrow that the contour runs up one side and back down the other: no easing of the head brings it under the bend.
/// Cut across where the legs stand apart, it leaves the level by less than the gully is deep.
#[test]
fn the_head_of_a_narrow_gully_is_cut_across_under_the_bend() {
    for (depth, width, radius, most) in
        [(2.5, 4.0, 5.0, 1.4), (1.5, 7.0, 12.0, 0.9), (1.5, 7.0, 5.0, 0.3), (0.5, 5.0, 5.0, 0.1)]
    {
        let ground = super::super::tests::hillside(4, |x, y| {
            430.0 + 0.05 * y - depth * (-((x - 100.0) / width).powi(2)).exp() + 0.02 * (x * 7.3 + y * 3.1).sin()
        });
        let (locator, keep) = (ground.locator(), Keep::default());
        let line = longest(&ground.tin, 432.0).unwrap();
        assert!(line.least_radius().0 < 1.0);
        let faired = fair(&line, &locator, 432.0, &limits(radius, 0.05, &keep));
        assert!(faired.least_radius().0 >= 0.999 * radius, "{depth} {width}: {:?}", faired.least_radius());
        assert!(!crosses_itself(&faired));
        let off = farthest(&faired, &locator, 432.0);
        assert!(off < most, "{depth} {width}: {off}");
    }
}
