//! Surfaces for tests: grids over a box with heights from a function.

use super::{Tin, triangulate};
use crate::geom::{Point, Point3, Vector, snap_point};
use rand::{Rng, SeedableRng};
use std::f64::consts::{FRAC_PI_2, PI};

/// A grid of `n` by `n` squares over a box, each parted into two triangles, with heights from a function.
pub(super) fn grid(low: Point, high: Point, n: u32, height: impl Fn(Point) -> f64) -> Tin {
    let place = |i: u32, j: u32| {
        let (u, v) = (f64::from(i) / f64::from(n), f64::from(j) / f64::from(n));
        snap_point(Point::new(low.x + (high.x - low.x) * u, low.y + (high.y - low.y) * v))
    };
    let mut vertices = Vec::new();
    for j in 0..=n {
        vertices.extend((0..=n).map(|i| place(i, j)).map(|p| p.at(height(p))));
    }
    let at = |i: u32, j: u32| j * (n + 1) + i;
    let mut triangles = Vec::new();
    for j in 0..n {
        for i in 0..n {
            let (a, b, c, d) = (at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j + 1));
            if (i + j) % 2 == 0 {
                triangles.extend([[a, b, c], [a, c, d]]);
            } else {
                triangles.extend([[a, b, d], [b, c, d]]);
            }
        }
    }
    Tin::from_triangles(vertices, triangles).unwrap()
}

pub(super) fn square(n: u32, size: f64, height: impl Fn(Point) -> f64) -> Tin {
    grid(Point::new(0.0, 0.0), Point::new(size, size), n, height)
}

/// Random shots over a square, triangulated with its four corners.
pub(super) fn rough(seed: u64, count: usize, size: f64, height: impl Fn(Point) -> f64) -> Tin {
    let mut random = rand_chacha::ChaCha8Rng::seed_from_u64(seed);
    let corners = [(0.0, 0.0), (size, 0.0), (size, size), (0.0, size)].map(|(x, y)| Point::new(x, y));
    let inside = (4..count).map(|_| Point::new(random.random_range(0.0..size), random.random_range(0.0..size)));
    let places: Vec<Point> = corners.into_iter().chain(inside.collect::<Vec<_>>()).map(snap_point).collect();
    let points: Vec<Point3> = places.iter().map(|p| p.at(height(*p))).collect();
    triangulate(&points, &[]).unwrap().tin
}

/// A crest of some width between two places, its sides falling all round at `batter` (horizontal to vertical) for
/// `reach` metres; arcs of `facets` pieces a half circle.
pub(super) fn capped_strip([a, b]: [Point; 2], crest: f64, width: f64, batter: f64, reach: f64, facets: u32) -> Tin {
    let along = if a == b { Vector::new(1.0, 0.0) } else { (b - a).unit() };
    let mut directions = Vec::new();
    for (centre, start) in [(b, -FRAC_PI_2), (a, FRAC_PI_2)] {
        for i in 0..=facets {
            let turn = start + PI * f64::from(i) / f64::from(facets);
            let direction = along * turn.cos() + along.left() * turn.sin();
            directions.push((centre, direction));
        }
    }
    if a == b {
        directions.dedup_by(|x, y| (x.1 - y.1).length() < 1e-9);
        directions.pop();
    }
    let ring = |distance: f64| directions.iter().map(move |&(centre, direction)| centre + direction * distance);
    let count = u32::try_from(directions.len()).unwrap();
    let mut points: Vec<Point3> = ring(width / 2.0).map(|p| p.at(crest)).collect();
    points.extend(ring(width / 2.0 + reach).map(|p| p.at(crest - reach / batter)));
    let closed = |start: u32| (0..=count).map(|i| start + i % count).collect::<Vec<_>>();
    let mut lines = vec![closed(0), closed(count)];
    lines.extend((0..count).map(|i| vec![i, i + count]));
    triangulate(&points, &lines).unwrap().tin
}
