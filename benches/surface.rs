//! How long it takes to triangulate, to node breaklines and to draw a contour, beside an independent library on the
//! same points in the same run.

use criterion::{BatchSize, BenchmarkId, Criterion, criterion_group, criterion_main};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spade::Triangulation as _;
use std::hint::black_box;
use std::time::Duration;
use swalewright::frame::FrameDefinition;
use swalewright::geom::{Point, Point3, snap_point};
use swalewright::io::{read, write};
use swalewright::surface::{Locator, contour, node, triangulate};
use swalewright::units::LengthUnit;

/// Rolling ground over a square field, five metres to a shot.
fn shots(count: u32) -> Vec<Point3> {
    let mut rng = ChaCha8Rng::seed_from_u64(1);
    let side = 5.0 * f64::from(count).sqrt();
    (0..count)
        .map(|_| {
            let (x, y) = (rng.random_range(0.0..side), rng.random_range(0.0..side));
            let z = 430.0 + 0.02 * x + 2.0 * (x / 60.0).sin() * (y / 45.0).cos() + rng.random_range(-0.015..0.015);
            snap_point(Point::new(x, y)).at(z)
        })
        .collect()
}

/// Lines of following shots a few metres apart: ten of fifty shots, as a drain or a track edge is surveyed.
fn with_breaklines(mut points: Vec<Point3>) -> (Vec<Point3>, Vec<Vec<u32>>) {
    let side = 5.0 * (points.len() as f64).sqrt();
    let mut lines = Vec::new();
    for line in 0..10 {
        let first = u32::try_from(points.len()).unwrap_or(u32::MAX);
        points.extend((0..50).map(|i| {
            let x = side * f64::from(i) / 50.0;
            let y = side * (0.05 + 0.09 * f64::from(line)) + 12.0 * (x / 40.0 + f64::from(line)).sin();
            snap_point(Point::new(x, y)).at(431.0)
        }));
        lines.push((first..first + 50).collect());
    }
    (points, lines)
}

fn triangulation(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("triangulate");
    group.sample_size(10).warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(8));
    for count in [5_000, 100_000, 1_000_000] {
        let points = shots(count);
        group.bench_with_input(BenchmarkId::new("swalewright", count), &points, |bencher, points| {
            bencher.iter(|| triangulate(black_box(points), &[]).map(|made| made.tin.triangles().len()));
        });
        let others: Vec<spade::Point2<f64>> = points.iter().map(|p| spade::Point2::new(p.x, p.y)).collect();
        group.bench_with_input(BenchmarkId::new("spade bulk_load", count), &others, |bencher, others| {
            bencher.iter_batched(
                || others.clone(),
                |others| spade::DelaunayTriangulation::<_>::bulk_load(others).map(|made| made.num_inner_faces()),
                BatchSize::LargeInput,
            );
        });
    }
    for count in [100_000, 1_000_000] {
        let points: Vec<_> = shots(count).iter().map(|p| delaunator::Point { x: p.x, y: p.y }).collect();
        group.bench_with_input(BenchmarkId::new("delaunator", count), &points, |bencher, points| {
            bencher.iter(|| delaunator::triangulate(black_box(points)).triangles.len());
        });
    }
    let (points, lines) = with_breaklines(shots(4_500));
    group.bench_function("swalewright, 5000 with ten breaklines of 50 shots", |bencher| {
        bencher.iter(|| triangulate(black_box(&points), &lines).map(|made| made.tin.triangles().len()));
    });
    group.finish();
}

fn noding(criterion: &mut Criterion) {
    // The edges of two meshes of 1,800 points over one another: what composing two surfaces has to node.
    let meshes = [0, 1].map(|k| triangulate(&shots(1_800 + 20 * k), &[]).map(|made| made.tin).unwrap_or_default());
    let mut points = Vec::new();
    let mut segments = Vec::new();
    for tin in &meshes {
        let first = u32::try_from(points.len()).unwrap_or(u32::MAX);
        points.extend(tin.vertices().iter().map(|v| Point::new(v.x * 0.999 + 0.1, v.y + f64::from(first) * 1e-4)));
        for t in tin.ids() {
            let corners = tin.triangles()[t.0 as usize];
            for k in 0..3 {
                if tin.neighbour(t, k).is_none_or(|across| t < across) {
                    segments.push([first + corners[k], first + corners[(k + 1) % 3]]);
                }
            }
        }
    }
    let made = node(&points, &segments).map(|noded| noded.points.len() - noded.given);
    let name = format!("{} segments, {} crossings", segments.len(), made.unwrap_or_default());
    criterion.benchmark_group("node").sample_size(20).bench_function(name, |bencher| {
        bencher.iter(|| node(black_box(&points), black_box(&segments)).map(|noded| noded.pieces.len()));
    });
}

fn questions(criterion: &mut Criterion) {
    let tin = triangulate(&shots(1_000_000), &[]).map(|made| made.tin).unwrap_or_default();
    let mut group = criterion.benchmark_group("1,000,000 points");
    group.sample_size(10).measurement_time(Duration::from_secs(4));
    group.bench_function("contour, one level", |bencher| {
        bencher.iter(|| contour(black_box(&tin), 460.0).iter().map(|line| line.points.len()).sum::<usize>());
    });
    group.bench_function("locator, made ready", |bencher| bencher.iter(|| Locator::new(black_box(&tin))));
    let locator = Locator::new(&tin);
    let mut rng = ChaCha8Rng::seed_from_u64(2);
    let asked: Vec<Point> =
        (0..100_000).map(|_| Point::new(rng.random_range(10.0..4_990.0), rng.random_range(10.0..4_990.0))).collect();
    group.bench_function("elevation at 100,000 places in random order", |bencher| {
        bencher.iter(|| asked.iter().filter_map(|&place| locator.elevation(place)).sum::<f64>());
    });
    group.finish();
}

fn files(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("surface file");
    group.sample_size(10).warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(4));
    let frame = FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None);
    let Ok(folder) = tempfile::tempdir() else { return };
    let path = folder.path().join("ground.tin");
    for count in [5_000, 1_000_000] {
        let Ok(made) = triangulate(&shots(count), &[]) else { return };
        group.bench_with_input(BenchmarkId::new("write", count), &made.tin, |bencher, tin| {
            bencher.iter(|| write::tin::write(&path, black_box(tin), &frame).is_ok());
        });
        group.bench_with_input(BenchmarkId::new("read", count), &path, |bencher, path| {
            bencher.iter(|| read::tin::read(black_box(path)).map(|file| file.tin.triangles().len()));
        });
    }
    group.finish();
}

criterion_group!(benches, triangulation, noding, questions, files);
criterion_main!(benches);
