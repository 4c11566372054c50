//! Surfaces for tests: grids over a box with heights from a function.

use super::Tin;
use crate::geom::{Point, snap_point};

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
