//! Catchments against closed forms, and against the whole: with a rim that nothing leaves over, every place drains to a
//! hollow, and every place above a level to a line at that level or to a hollow above it.

use super::*;
use crate::geom::Point3;
use crate::surface::{contour, triangulate};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn grid(height: impl Fn(f64, f64) -> f64) -> Tin {
    let place = |i: u32, j: u32| (f64::from(i) * 10.0, f64::from(j) * 10.0);
    let all = (0..=20).flat_map(|i| (0..=10).map(move |j| place(i, j)));
    triangulate(&all.map(|(x, y)| Point3::new(x, y, height(x, y))).collect::<Vec<_>>(), &[]).unwrap().tin
}

fn scattered(seed: u64, height: impl Fn(f64, f64, f64) -> f64) -> Tin {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut points = Vec::new();
    for k in 0..48 {
        let (sin, cos) = (std::f64::consts::TAU * f64::from(k) / 48.0).sin_cos();
        points.push((100.0 * cos, 100.0 * sin, 3.0));
    }
    while points.len() < 500 {
        let (x, y): (f64, f64) = (rng.random_range(-100.0..100.0), rng.random_range(-100.0..100.0));
        if x.hypot(y) < 97.0 {
            points.push((x, y, rng.random_range(-1.0..1.0)));
        }
    }
    let on_lattice = points.iter().map(|&(x, y, random)| {
        let place = crate::geom::snap_point(Point::new(x, y));
        place.at(height(place.x, place.y, random))
    });
    triangulate(&on_lattice.collect::<Vec<_>>(), &[]).unwrap().tin
}

fn polyline(points: &[(f64, f64)]) -> Polyline {
    Polyline::new(points.iter().map(|&(x, y)| Point::new(x, y)).collect()).unwrap()
}

fn closed(line: crate::surface::ContourLine) -> Polyline {
    let mut points = line.points;
    if line.closed {
        points.extend(points.first().copied());
    }
    Polyline::new(points).unwrap()
}

#[test]
fn on_a_plane_a_line_catches_the_strip_above_it_up_to_the_rim() {
    let tin = grid(|_, y| 430.0 + 0.04 * y);
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    for (line, area, open) in [
        (polyline(&[(0.0, 47.0), (200.0, 47.0)]), 200.0 * 53.0, 200.0),
        (polyline(&[(53.0, 47.0), (150.0, 47.0)]), 97.0 * 53.0, 97.0),
        // Along edges, from corner to corner.
        (polyline(&[(50.0, 50.0), (150.0, 50.0)]), 100.0 * 50.0, 100.0),
    ] {
        let found = drainage.to_line(&line);
        assert!((found.area - area).abs() < 1e-8 && (found.open - open).abs() < 1e-9, "{found:?}, {area}");
    }
}

/// A valley along x = 100 that falls 2 % to the south between sides of 5 %: a short line across it takes all that runs in the
/// valley, and the strips on both sides of it. On one side, with E = (120, 10) the line's end and 2 : 5 the way uphill from it:
/// 40 x 20 + 2.5 x 20^2 / 2 beside the line, 90 x 80 - 0.4 x 80^2 / 2 beyond.
#[test]
fn across_a_valley_a_line_takes_what_the_valley_brings() {
    let tin = grid(|x, y| 0.02 * y + 0.05 * (x - 100.0).abs());
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    let found = drainage.to_line(&polyline(&[(80.0, 10.0), (100.0, 60.0), (120.0, 10.0)]));
    assert!((found.area - 2.0 * (800.0 + 500.0 + 7200.0 - 1280.0)).abs() < 1e-8, "{found:?}");
    // The same through a place of the valley between two corners.
    let found = drainage.to_line(&polyline(&[(80.0, 5.0), (100.0, 55.0), (120.0, 5.0)]));
    let side = 45.0 * 20.0 + 500.0 + 95.0 * 80.0 - 1280.0;
    assert!((found.area - 2.0 * side).abs() < 1e-8, "{found:?}");
}

#[test]
fn a_ring_round_a_cone_catches_all_inside_it_and_a_part_of_it_its_share() {
    let tin = scattered(1, |x, y, _| 100.0 - 0.1 * x.hypot(y));
    let locator = Locator::new(&tin);
    let drainage = Drainage::new(&locator);
    let ring = contour(&tin, 95.0).pop().unwrap();
    let inside = crate::geom::area_of_ring(&ring.points).abs();
    let ring = closed(ring);
    let found = drainage.to_line(&ring);
    assert!((found.area - inside).abs() < 1e-9 * inside && found.open == 0.0, "{found:?}, {inside}");
    // Cut anywhere, its parts share it out among them.
    let cuts = [0.0, 31.7, 100.0, 222.2, ring.length()];
    let parts: f64 = cuts.windows(2).map(|pair| drainage.to_line(&ring.between(pair[0], pair[1]).unwrap()).area).sum();
    assert!((parts - inside).abs() < 1e-9 * inside, "{parts}, {inside}");
    // An eighth of the turn of a true cone has an eighth of it; the chords of the mesh are what is off.
    let eighth = drainage.to_line(&ring.between(0.0, ring.length() / 8.0).unwrap()).area;
    assert!((eighth / inside - 0.125).abs() < 0.02, "{}", eighth / inside);
}

/// Area of a surface above a level: each triangle cut by it.
fn above(tin: &Tin, level: f64) -> f64 {
    let part = |t| {
        let corners = tin.corners(t);
        let mut ring = Vec::new();
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if a.z >= level {
                ring.push(a.plan());
            }
            if (a.z >= level) != (b.z >= level) {
                ring.push(a.plan().towards(b.plan(), (level - a.z) / (b.z - a.z)));
            }
        }
        if ring.len() < 3 { 0.0 } else { crate::geom::area_of_ring(&ring).abs() }
    };
    tin.ids().map(part).sum()
}

#[test]
fn inside_a_rim_that_nothing_leaves_over_every_place_is_counted_once() {
    for (seed, rough) in (0..40).zip([8.0, 3.0, 1.0, 0.2].into_iter().cycle()) {
        // From rough all over to a smooth bowl with a few dents.
        let tin = scattered(seed, |x, y, random| 0.004 * (x * x + y * y) + rough * random);
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        let whole = tin.plan_area();
        let found = drainage.to_hollows_above(f64::NEG_INFINITY);
        assert!((found - whole).abs() < 1e-9 * whole, "seed {seed}: {found}, {whole}");
        for level in [3.0, 11.0, 22.0] {
            let lines: f64 = contour(&tin, level).into_iter().map(|line| drainage.to_line(&closed(line)).area).sum();
            let (found, whole) = (lines + drainage.to_hollows_above(level), above(&tin, level));
            assert!((found - whole).abs() < 1e-9 * whole, "seed {seed}, {level}: {found}, {whole}");
        }
    }
}

/// Ground over a box, a shot every `step` metres nudged by up to a third of that, on the rim along it only.
fn sampled(height: &dyn Fn(f64, f64) -> f64, [west, east, south, north]: [f64; 4], step: f64) -> Tin {
    let mut rng = ChaCha8Rng::seed_from_u64(11);
    let count = |from: f64, to: f64| ((to - from) / step).round();
    let (columns, rows) = (count(west, east), count(south, north));
    let mut points = Vec::new();
    let (mut i, mut j) = (0.0, 0.0);
    while j <= rows {
        let mut nudge = |at: f64, last: f64| {
            if at == 0.0 || at == last { 0.0 } else { rng.random_range(-step / 3.0..step / 3.0) }
        };
        let place = Point::new(west + i * step + nudge(i, columns), south + j * step + nudge(j, rows));
        let place = crate::geom::snap_point(place);
        points.push(place.at(height(place.x, place.y)));
        i += 1.0;
        if i > columns {
            (i, j) = (0.0, j + 1.0);
        }
    }
    triangulate(&points, &[]).unwrap().tin
}

/// Two smooth grounds, what drains where by steepest descent on the formulas themselves (`SciPy` 1.17.1, Runge-Kutta from the middle of
/// every cell of a metre, for the hollows of half a metre) and, for the hollows, by flooding a raster of half a metre (scikit-image 0.26.0,
/// watershed): both by tests/oracle/drainage/descent.py. With cells twice as wide the descent gives the same to 0.2 %; the raster's
/// basins are up to 0.9 % off the descent's. The surface comes nearer with its shots: within 2, 1 and 0.4 % at 4, 2 and 1 m.
#[test]
fn catchments_of_smooth_grounds_are_those_of_an_independent_descent() {
    let valley = |x: f64, y: f64| {
        let bed = x - 14.0 * (y / 35.0).sin();
        430.0 + 0.03 * y + 0.0012 * bed * bed + 0.5 * (x / 17.0 + 0.8).sin() * (y / 23.0).cos()
    };
    let hollows = |x: f64, y: f64| {
        let wall = (x.abs() - 70.0).max(y.abs() - 60.0).max(0.0);
        3.0 * ((std::f64::consts::TAU * x / 80.0).cos() + (std::f64::consts::TAU * y / 70.0).cos()) + 0.012 * x
            - 0.02 * y
            + 0.7 * (x / 23.0).sin() * (y / 19.0 + 0.4).sin()
            + 0.4 * wall * wall
    };
    for (step, bound) in [(4.0, 0.02), (2.0, 0.01), (1.0, 0.004)] {
        let tin = sampled(&valley, [-80.0, 80.0, 0.0, 160.0], step);
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        for (line, due) in [
            (polyline(&[(-12.0, 20.0), (28.0, 20.0)]), 20_734.0),
            (polyline(&[(30.0, 60.0), (45.0, 85.0), (50.0, 120.0)]), 1_912.0),
        ] {
            let found = drainage.to_line(&line).area;
            assert!((found / due - 1.0).abs() < bound, "{step}: {found} for {due}");
        }
        let tin = sampled(&hollows, [-80.0, 80.0, -70.0, 70.0], step);
        let locator = Locator::new(&tin);
        let drainage = Drainage::new(&locator);
        for ((x, y), by_paths, by_raster) in [
            ((-40.988, -33.894), 5_397.75, 5_446.75),
            ((39.139, -34.412), 5_660.25, 5_616.75),
            ((-40.409, 34.902), 5_871.5, 5_830.75),
            ((39.525, 36.887), 5_470.5, 5_505.75),
        ] {
            let ring: Vec<(f64, f64)> = (0..=32)
                .map(|k| (std::f64::consts::TAU * f64::from(k % 32) / 32.0).sin_cos())
                .map(|(sin, cos)| (x + 6.0 * cos, y + 6.0 * sin))
                .collect();
            let inside = 16.0 * 36.0 * (std::f64::consts::TAU / 32.0).sin();
            let found = drainage.to_line(&polyline(&ring)).area + inside;
            assert!((found / by_paths - 1.0).abs() < bound, "{step}: {found} for {by_paths}");
            assert!((found / by_raster - 1.0).abs() < bound + 0.01, "{step}: {found} for {by_raster}");
        }
    }
}
