//! Tests of composing: closed forms, properties on random surfaces.

use super::super::examples::{capped_strip, rough, square};
use super::super::sound::assert_sound;
use super::heights::Heights;
use super::*;
use crate::geom::{Vector, snap_point};
use crate::surface::cut_and_fill;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn plane(z: f64) -> Tin {
    square(20, 60.0, |_| z)
}

/// Everything that must hold of a surface laid on another.
#[track_caller]
fn check(surface: &Tin, roof: &Tin, composed: &Composed, way: Way) {
    assert_sound(&composed.tin);
    let (before, after) = (surface.plan_area(), composed.tin.plan_area());
    assert!((before - after).abs() < 1e-9 * before, "area {before} became {after}");
    assert!(composed.largest_difference < 1e-4, "differs by {}", composed.largest_difference);
    assert_eq!(composed.daylight.len(), composed.footprint.iter().map(|p| 1 + p.holes.len()).sum::<usize>());
    let [old, new, top] = [surface, &composed.tin, roof].map(|tin| Heights::new(tin, tin.ids().collect()));
    let bounds = surface.bounds().unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(7);
    for _ in 0..500 {
        let place = Point::new(
            random.random_range(bounds.low.x..bounds.high.x),
            random.random_range(bounds.low.y..bounds.high.y),
        );
        let ground = old.at(place).unwrap();
        let found = new.at(place).unwrap();
        let wanted = if composed.footprint.iter().any(|p| p.contains(place)) { top.at(place).unwrap() } else { ground };
        assert!((found - wanted).abs() < 1e-4, "at {place:?} found {found}, wanted {wanted}");
        let rise = if way == Way::Up { found - ground } else { ground - found };
        assert!(rise > -1e-4, "the wrong way by {rise} at {place:?}");
    }
    // What was laid on is the roof over its footprint.
    let made = cut_and_fill(surface, &composed.tin, None);
    let wanted: f64 = composed
        .footprint
        .iter()
        .map(|polygon| {
            let part = cut_and_fill(surface, roof, Some(polygon));
            if way == Way::Up { part.fill } else { part.cut }
        })
        .sum();
    let (moved, back) = if way == Way::Up { (made.fill, made.cut) } else { (made.cut, made.fill) };
    let area: f64 = composed.footprint.iter().map(Polygon::area).sum();
    assert!((moved - wanted).abs() < 1e-5 * area.max(1.0), "moved {moved}, wanted {wanted}");
    assert!(back < 1e-5 * area.max(1.0), "moved {back} the wrong way");
}

fn raised(surface: &Tin, roof: &Tin, seeds: &[Point]) -> Composed {
    let composed = raise(surface, roof, seeds).unwrap();
    check(surface, roof, &composed, Way::Up);
    composed
}

#[test]
fn a_frustum_on_a_plane() {
    let centre = Point::new(30.0, 30.0);
    let roof = capped_strip([centre, centre], 102.0, 4.0, 2.0, 8.0, 32);
    let composed = raised(&plane(100.0), &roof, &[centre]);
    // 64 sides: top radius 2, bottom radius 2 + 2 * 2.
    let sides = 64.0;
    let polygon = |r: f64| sides / 2.0 * r * r * (2.0 * std::f64::consts::PI / sides).sin();
    let (top, bottom) = (polygon(2.0), polygon(6.0));
    let volume = 2.0 / 3.0 * (top + bottom + (top * bottom).sqrt());
    let found = cut_and_fill(&plane(100.0), &composed.tin, None);
    assert!((found.fill - volume).abs() < 1e-5 * volume, "found {}, wanted {volume}", found.fill);
    assert_eq!(composed.footprint.len(), 1);
    assert!((composed.footprint[0].area() - bottom).abs() < 1e-5 * bottom);
    assert!(composed.daylight[0].iter().all(|p| (p.z - 100.0).abs() < 1e-5));
}

#[test]
fn digging_mirrors_raising() {
    let surface = rough(3, 400, 60.0, |p| 100.0 + 0.02 * p.x + 0.3 * (p.x * 0.3).sin() * (p.y * 0.2).cos());
    let line = [Point::new(20.0, 30.0), Point::new(41.0, 33.0)];
    let roof = capped_strip(line, 102.0, 2.0, 2.0, 12.0, 8);
    let up = raised(&surface, &roof, &line);
    let (hollow, bowl) = (mirrored(&surface, 0.0), mirrored(&roof, 0.0));
    let down = dig(&hollow, &bowl, &line).unwrap();
    check(&hollow, &bowl, &down, Way::Down);
    assert_eq!(up.footprint, down.footprint);
    assert_eq!(up.tin.triangles(), down.tin.triangles());
}

#[test]
fn a_second_hump_is_left_alone() {
    // A ridge of roof at 101 crosses ground that rises above it between x = 25 and x = 35.
    let ground = square(60, 60.0, |p| if p.x > 25.0 && p.x < 35.0 { 101.5 } else { 100.0 });
    let line = [Point::new(15.0, 30.0), Point::new(45.0, 30.0)];
    let roof = capped_strip(line, 101.0, 2.0, 2.0, 6.0, 8);
    let one = raised(&ground, &roof, &line[..1]);
    assert_eq!(one.footprint.len(), 1);
    assert!(one.footprint[0].contains(Point::new(18.0, 30.0)) && !one.footprint[0].contains(Point::new(42.0, 30.0)));
    assert_eq!(raised(&ground, &roof, &line).footprint.len(), 2, "both when both are meant");
    let none = raise(&ground, &roof, &[Point::new(30.0, 30.0)]).unwrap();
    assert!(none.footprint.is_empty() && none.tin == ground, "the seed is under ground");
}

#[test]
fn faults_have_their_place() {
    let ground = plane(100.0);
    let centre = Point::new(30.0, 30.0);
    let short = capped_strip([centre, centre], 102.0, 4.0, 2.0, 3.0, 8);
    assert!(matches!(raise(&ground, &short, &[centre]), Err(ComposeError::RoofTooShort { .. })));
    let edge = Point::new(57.0, 30.0);
    let outside = capped_strip([edge, edge], 102.0, 4.0, 2.0, 8.0, 8);
    match raise(&ground, &outside, &[edge]) {
        Err(ComposeError::LeavesSurvey { x, .. }) => assert!((x - 60.0).abs() < 0.01, "{x}"),
        other => panic!("{other:?}"),
    }
    let away = Point::new(-50.0, 0.0);
    let elsewhere = capped_strip([away, away], 102.0, 4.0, 2.0, 8.0, 8);
    assert!(matches!(raise(&ground, &elsewhere, &[away]), Err(ComposeError::NothingThere { .. })));
    // Reaching out of the survey below ground does no harm.
    let near = Point::new(50.0, 30.0);
    raised(&ground, &capped_strip([near, near], 102.0, 4.0, 2.0, 20.0, 8), &[near]);
}

#[test]
fn a_ring_leaves_a_hole() {
    // A roof at 101 over ground with a mound of 102 under its middle.
    let ground = square(60, 60.0, |p| 100.0 + (2.0 - 0.5 * (p.x - 30.0).hypot(p.y - 30.0)).max(0.0));
    let centre = Point::new(30.0, 30.0);
    let roof = capped_strip([centre, centre], 101.0, 12.0, 2.0, 5.0, 16);
    let composed = raised(&ground, &roof, &[Point::new(30.0, 35.0)]);
    assert_eq!((composed.footprint.len(), composed.footprint[0].holes.len()), (1, 1));
}

#[test]
fn the_same_roof_twice_changes_nothing() {
    let ground = rough(5, 1500, 60.0, |p| 100.0 + 0.03 * p.y + 0.1 * (p.x * 0.7).sin() * (p.y * 0.5).cos());
    let line = [Point::new(20.0, 30.0), Point::new(40.0, 31.0)];
    let roof = capped_strip(line, 102.0, 2.0, 2.0, 8.0, 12);
    let once = raised(&ground, &roof, &line);
    let twice = raise(&once.tin, &roof, &line).unwrap();
    assert!(twice.footprint.is_empty(), "{:?}", twice.footprint.iter().map(Polygon::area).collect::<Vec<_>>());
    assert_eq!(once.tin, twice.tin);
}

#[test]
fn pieces_along_a_bend_with_one_crest() {
    let ground = rough(11, 2500, 60.0, |p| 100.0 + 0.03 * p.y + 0.05 * (p.x * 1.7).sin() * (p.y * 1.5).cos());
    let bend: Vec<Point> = (0..=14)
        .map(|i| f64::from(i) * 0.1 - 0.7)
        .map(|t| snap(30.0 + 22.0 * t.sin(), 10.0 + 22.0 * t.cos()))
        .collect();
    let mut surface = ground.clone();
    for pair in bend.windows(2) {
        let line = [pair[0], pair[1]];
        let roof = capped_strip(line, 102.0, 1.5, 2.0, 6.0, 8);
        let composed = raised(&surface, &roof, &line);
        let again = raise(&composed.tin, &roof, &line).unwrap();
        assert!(again.footprint.is_empty(), "{:?}", again.footprint.iter().map(Polygon::area).collect::<Vec<_>>());
        surface = composed.tin;
    }
}

fn snap(x: f64, y: f64) -> Point {
    snap_point(Point::new(x, y))
}

/// A ground, and works laid on it in turn that overlap, repeat, nearly repeat, and share planes and edges with it and
/// with one another.
fn trial(seed: u64) -> usize {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut surface = match seed % 4 {
        0 => rough(seed, 1200, 60.0, |p| 100.0 + 0.02 * p.x + 0.2 * (p.x * 0.9).sin() * (p.y * 0.8).cos()),
        1 => square(30, 60.0, |_| 100.0),
        // A slope as steep as the batters, so that whole faces coincide.
        2 => square(20, 60.0, |p| 100.0 + 0.5 * (p.x - 30.0)),
        _ => rough(seed, 150, 60.0, |p| 100.0 + 0.5 * (p.y - 30.0).abs()),
    };
    let mut works: Vec<([Point; 2], Tin, Way)> = Vec::new();
    let mut changes = 0;
    for turn in 0..10 {
        let (line, shape, way) = if turn > 0 && random.random_range(0..4) == 0 {
            let (line, shape, way) = works[random.random_range(0..works.len())].clone();
            let nudge = Vector::new(1.0, 0.5) * [0.0, 1e-6, 1e-5, 1e-3][random.random_range(0..4)];
            let vertices = shape.vertices().iter().map(|v| snap_point(v.plan() + nudge).at(v.z)).collect();
            (line, Tin::from_triangles(vertices, shape.triangles().to_vec()).unwrap_or(shape), way)
        } else {
            let round = random.random_bool(0.5);
            let mut place = || {
                let (x, y) = (random.random_range(24.0..36.0), random.random_range(24.0..36.0));
                if round { Point::new(f64::round(x), f64::round(y)) } else { snap(x, y) }
            };
            let a = place();
            let b = match turn % 4 {
                0 => a,
                1 => Point::new(place().x, a.y),
                _ => place(),
            };
            let way = if random.random_range(0..3) == 0 { Way::Down } else { Way::Up };
            let crest = 100.0 + [1.0, 1.5][turn % 2];
            let shape = capped_strip([a, b], crest, 2.0, 2.0, 14.0, [2, 4, 7][turn % 3]);
            if way == Way::Up { ([a, b], shape, way) } else { ([a, b], mirrored(&shape, 200.0), way) }
        };
        let composed = match way {
            Way::Up => raise(&surface, &shape, &line),
            Way::Down => dig(&surface, &shape, &line),
        };
        match composed {
            Ok(composed) => {
                check(&surface, &shape, &composed, way);
                changes += usize::from(!composed.footprint.is_empty());
                surface = composed.tin;
            }
            // On level ground every side reaches the surface well inside the survey.
            Err(ComposeError::LeavesSurvey { .. } | ComposeError::RoofTooShort { .. }) if seed % 4 > 1 => {}
            Err(other) => panic!("seed {seed} turn {turn}: {other}"),
        }
        works.push((line, shape, way));
    }
    changes
}

/// The same mesh upside down about an elevation of half of `sum`.
fn mirrored(tin: &Tin, sum: f64) -> Tin {
    let vertices = tin.vertices().iter().map(|v| v.plan().at(sum - v.z)).collect();
    Tin::from_triangles(vertices, tin.triangles().to_vec()).unwrap()
}

#[test]
fn many_overlapping_works() {
    let changes: usize = (0..8).map(trial).sum();
    assert!(changes > 30, "only {changes} of 80 changed anything");
}
