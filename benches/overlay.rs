//! How fast surfaces are compared, and laid on one another; the same work by a general-purpose polygon library in the
//! same run. Figures are kept in `docs/performance.md`.

use criterion::{Criterion, criterion_group, criterion_main};
use geo::{Area, BooleanOps, BoundingRect, Intersects};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::hint::black_box;
use swalewright::geom::{Point, Point3};
use swalewright::surface::{Tin, cut_and_fill, pool, raise, triangulate};

fn rough(seed: u64, count: usize, size: f64, height: impl Fn(Point) -> f64) -> Tin {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let corners = [(0.0, 0.0), (size, 0.0), (size, size), (0.0, size)].map(|(x, y)| Point::new(x, y));
    let inside = (4..count).map(|_| Point::new(random.random_range(0.0..size), random.random_range(0.0..size)));
    let points: Vec<Point3> = corners.into_iter().chain(inside.collect::<Vec<_>>()).map(|p| p.at(height(p))).collect();
    triangulate(&points, &[]).expect("random points make a surface").tin
}

fn natural(p: Point) -> f64 {
    100.0 + 0.02 * p.x - 0.01 * p.y + 0.3 * (p.x * 0.05).sin() * (p.y * 0.07).cos()
}

/// A berm along a shallow arc: crest between two rings at one elevation, sides to a ring well below ground.
fn berm(pieces: u32) -> (Tin, Vec<Point>) {
    let axis: Vec<Point> = (0..=pieces)
        .map(|i| f64::from(i) / f64::from(pieces) * 0.8 - 0.4)
        .map(|turn| Point::new(75.0 + 80.0 * turn.sin(), 10.0 + 80.0 * turn.cos()))
        .collect();
    let across = |i: usize, offset: f64| {
        let (before, after) = (axis[i.saturating_sub(1)], axis[(i + 1).min(axis.len() - 1)]);
        axis[i] + (after - before).unit().left() * offset
    };
    let rows = [(-7.0, 98.5), (-1.0, 101.5), (1.0, 101.5), (7.0, 98.5)];
    let mut points: Vec<Point3> = Vec::new();
    for &(offset, z) in &rows {
        points.extend((0..axis.len()).map(|i| across(i, offset).at(z)));
    }
    let along = u32::try_from(axis.len()).expect("few");
    // Ends fall away like the sides.
    for (end, outward) in [(0, -6.0), (axis.len() - 1, 6.0)] {
        let direction = if end == 0 { (axis[1] - axis[0]).unit() } else { (axis[end] - axis[end - 1]).unit() };
        points.extend([-7.0, 7.0].map(|offset| (across(end, offset) + direction * outward).at(98.5)));
    }
    let mut lines: Vec<Vec<u32>> = (0..4).map(|row| (row * along..(row + 1) * along).collect()).collect();
    lines.extend((0..along).map(|i| (0..4).map(|row| row * along + i).collect()));
    (triangulate(&points, &lines).expect("a berm").tin, axis)
}

fn compare(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("cut and fill");
    group.sample_size(10);
    let (a, b) = (rough(1, 50_600, 320.0, natural), rough(2, 50_600, 320.0, |p| natural(p) + 0.2 * (p.x * 0.1).sin()));
    group.bench_function("100 k against 100 k triangles", |bench| bench.iter(|| black_box(cut_and_fill(&a, &b, None))));

    // The same pairs by a general-purpose library: it is given the pairs, and asked for the overlap's area only.
    let (a, b) = (rough(3, 1_010, 320.0, natural), rough(4, 1_010, 320.0, natural));
    let polygons = |tin: &Tin| -> Vec<geo::Polygon> {
        tin.ids()
            .map(|id| {
                let ring = tin.corners(id).map(|p| geo::coord! { x: p.x, y: p.y });
                geo::Polygon::new(geo::LineString::from(ring.to_vec()), Vec::new())
            })
            .collect()
    };
    let (left, right) = (polygons(&a), polygons(&b));
    let mut pairs = Vec::new();
    for (i, p) in left.iter().enumerate() {
        for (j, q) in right.iter().enumerate() {
            let apart = match (p.bounding_rect(), q.bounding_rect()) {
                (Some(p), Some(q)) => !p.intersects(&q),
                _ => true,
            };
            if !apart && p.intersection(q).unsigned_area() > 0.0 {
                pairs.push((i, j));
            }
        }
    }
    group.bench_function(format!("2 k against 2 k triangles, {} pairs", pairs.len()), |bench| {
        bench.iter(|| black_box(cut_and_fill(&a, &b, None)));
    });
    group.bench_function("the same pairs by geo::BooleanOps", |bench| {
        bench.iter(|| pairs.iter().map(|&(i, j)| left[i].intersection(&right[j]).unsigned_area()).sum::<f64>());
    });
    group.finish();
}

fn lay(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("compose");
    let ground = rough(5, 5_100, 150.0, natural);
    let (roof, seeds) = berm(80);
    let faces = format!("a roof of {} on {} triangles", roof.triangles().len(), ground.triangles().len());
    group.bench_function(faces, |bench| bench.iter(|| black_box(raise(&ground, &roof, &seeds).expect("it fits"))));
    group.bench_function("pool on 10 k triangles", |bench| {
        bench.iter(|| black_box(pool(&ground, &[Point::new(40.0, 60.0)], 100.6)));
    });
    group.finish();
}

criterion_group!(benches, compare, lay);
criterion_main!(benches);
