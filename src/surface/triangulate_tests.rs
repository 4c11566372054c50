//! Tests of triangulation: defined outcomes, an independent library, properties over bad inputs.

use super::*;
use crate::geom::LATTICE_STEP;
use crate::surface::sound::{assert_constrained_delaunay, has_break};
use crate::surface::{Piece, node};
use proptest::prelude::*;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spade::Triangulation as _;

fn flat(places: &[(f64, f64)]) -> Vec<Point3> {
    places.iter().map(|&(x, y)| Point3::new(x, y, 0.0)).collect()
}

fn square() -> Vec<Point3> {
    flat(&[(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)])
}

#[test]
fn a_square_becomes_two_triangles() {
    let made = triangulate(&square(), &[]).unwrap();
    assert_constrained_delaunay(&made.tin);
    assert_eq!(made.tin.triangles().len(), 2);
    assert_eq!(made.tin.plan_area(), 100.0);
}

#[test]
fn a_breakline_turns_the_diagonal() {
    for line in [[0, 2], [1, 3]] {
        let made = triangulate(&square(), &[line.to_vec()]).unwrap();
        assert_constrained_delaunay(&made.tin);
        let [a, b] = line.map(|i| made.vertex_of_point[i as usize]);
        assert!(has_break(&made.tin, a, b));
    }
}

#[test]
fn too_few_and_all_in_line_are_refused() {
    assert_eq!(triangulate(&[], &[]), Err(TinError::TooFewPoints { found: 0 }));
    let twice = flat(&[(1.0, 1.0), (1.0, 1.0), (2.0, 2.0)]);
    assert_eq!(triangulate(&twice, &[]), Err(TinError::TooFewPoints { found: 2 }));
    let line: Vec<(f64, f64)> = (0..100).map(|i| (f64::from(i) * 3.0, f64::from(i) * 7.0)).collect();
    assert_eq!(triangulate(&flat(&line), &[]), Err(TinError::AllInLine { found: 100 }));
}

#[test]
fn places_outside_the_frame_are_refused() {
    for bad in [f64::NAN, f64::INFINITY, 65_537.0] {
        let mut points = square();
        points[2].x = bad;
        assert!(matches!(triangulate(&points, &[]), Err(TinError::OutOfFrame { index: 2, .. })), "{bad}");
    }
    let mut points = square();
    points[1].z = f64::NAN;
    assert!(matches!(triangulate(&points, &[]), Err(TinError::OutOfFrame { index: 1, .. })));
    assert!(matches!(
        triangulate(&square(), &[vec![0, 4]]),
        Err(TinError::NoSuchPoint { line: 0, point: 4, count: 4 })
    ));
}

#[test]
fn of_two_shots_in_one_place_the_lower_stands_unless_the_other_is_on_a_breakline() {
    let mut points = square();
    points.push(Point3::new(10.0, 10.0 + LATTICE_STEP / 4.0, -0.25));
    let made = triangulate(&points, &[]).unwrap();
    assert_eq!(made.duplicates, [Duplicate { kept: 4, dropped: 2, dz: 0.25 }]);
    assert_eq!(made.vertex_of_point[2], made.vertex_of_point[4]);
    assert_eq!(made.tin.vertices()[made.vertex_of_point[2] as usize].z, -0.25);
    let made = triangulate(&points, &[vec![0, 2]]).unwrap();
    assert_eq!(made.duplicates, [Duplicate { kept: 2, dropped: 4, dz: -0.25 }]);
    assert_eq!(made.tin.vertices()[made.vertex_of_point[4] as usize].z, 0.0);
}

#[test]
fn crossing_breaklines_take_the_elevation_of_the_earlier() {
    let mut points = square();
    points[0].z = 2.0;
    points[2].z = 4.0;
    let made = triangulate(&points, &[vec![0, 2], vec![1, 3]]).unwrap();
    assert_constrained_delaunay(&made.tin);
    assert_eq!(made.crossings, [Crossing { place: Point::new(5.0, 5.0), lines: [0, 1], dz: 3.0 }]);
    assert_eq!(made.tin.vertices()[4], Point3::new(5.0, 5.0, 3.0));
    assert_eq!(made.tin.triangles().len(), 4);
    let made = triangulate(&points, &[vec![1, 3], vec![0, 2]]).unwrap();
    assert_eq!(made.tin.vertices()[4], Point3::new(5.0, 5.0, 0.0));
}

#[test]
fn a_breakline_through_a_shot_takes_it_in_and_tells() {
    let mut points = square();
    points.push(Point3::new(5.0, 5.0, 0.5));
    let made = triangulate(&points, &[vec![0, 2]]).unwrap();
    assert_constrained_delaunay(&made.tin);
    assert_eq!(made.passed, [Passed { point: 4, line: 0, dz: 0.5 }]);
    let vertex = |i: usize| made.vertex_of_point[i];
    assert!(has_break(&made.tin, vertex(0), vertex(4)) && has_break(&made.tin, vertex(4), vertex(2)));
}

#[test]
fn a_breakline_shot_twice_is_told_once() {
    let made = triangulate(&square(), &[vec![0, 2], vec![1, 2], vec![3, 2, 0]]).unwrap();
    assert_constrained_delaunay(&made.tin);
    assert_eq!(made.overlapping, [[0, 2]]);
}

#[test]
fn constrained_keeps_the_order_of_vertices() {
    let points = square();
    let tin = constrained(&points, &[[3, 1]]).unwrap();
    assert_constrained_delaunay(&tin);
    assert_eq!(tin.vertices(), points);
    assert!(has_break(&tin, 1, 3));
    assert!(matches!(constrained(&points, &[[0, 2], [1, 3]]), Err(TinError::Unsettled { .. })));
    let twice = [points.clone(), points].concat();
    assert!(matches!(constrained(&twice, &[]), Err(TinError::SamePlace { .. })));
}

#[test]
fn nearly_in_line_at_full_size_does_not_hang() {
    // A road surveyed along one straight line: rounding to the lattice is all that keeps it from being flat.
    let points: Vec<Point3> =
        (0..2_000).map(|i| f64::from(i) * 0.7).map(|s| Point3::new(-60_000.0 + s * 0.8, 500.0 + s * 0.6, s)).collect();
    let line: Vec<u32> = (0..2_000).collect();
    let made = triangulate(&points, &[line]).unwrap();
    assert_constrained_delaunay(&made.tin);
}

#[test]
fn agrees_with_two_independent_libraries() {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    let points: Vec<Point3> = (0..3_000)
        .map(|_| on_lattice(Point::new(rng.random_range(-300.0..300.0), rng.random_range(-200.0..200.0))).at(0.0))
        .collect();
    let made = triangulate(&points, &[]).unwrap();
    let others = points.iter().map(|p| spade::Point2::new(p.x, p.y)).collect();
    let other = spade::DelaunayTriangulation::<spade::Point2<f64>>::bulk_load(others).unwrap();
    assert_eq!(made.tin.triangles().len(), other.num_inner_faces());
    let area: f64 = other.inner_faces().map(|face| face.area()).sum();
    assert!((made.tin.plan_area() - area).abs() < 1e-9 * area);

    let others: Vec<_> = points.iter().map(|p| delaunator::Point { x: p.x, y: p.y }).collect();
    let sorted = |mut corners: [u32; 3]| {
        corners.sort_unstable();
        corners
    };
    let theirs: std::collections::BTreeSet<[u32; 3]> = delaunator::triangulate(&others)
        .triangles
        .chunks(3)
        .map(|t| sorted([t[0], t[1], t[2]].map(|i| made.vertex_of_point[i])))
        .collect();
    let ours: std::collections::BTreeSet<[u32; 3]> = made.tin.triangles().iter().copied().map(sorted).collect();
    assert_eq!(ours, theirs);
}

/// Places of every awkward kind, in whole lattice steps of some coarseness.
fn places() -> impl Strategy<Value = Vec<Point>> {
    let coarse = prop::sample::select(vec![LATTICE_STEP, 0.001, 0.25, 1.0, 700.0]);
    let offset = prop::sample::select(vec![0.0, 31_234.5, -64_000.0]);
    let kind = 0..5_usize;
    (kind, coarse, offset, prop::collection::vec((0..12_i32, 0..12_i32), 3..60)).prop_map(
        |(kind, step, offset, cells)| {
            let at = |x: f64, y: f64| {
                on_lattice(Point::new((x * step + offset).clamp(-65_000.0, 65_000.0), y * step - offset / 2.0))
            };
            cells
                .iter()
                .enumerate()
                .map(|(i, &(x, y))| {
                    let (x, y) = (f64::from(x), f64::from(y));
                    match kind {
                        0 => at(x, y),                                                  // a grid: co-circular, with duplicates
                        1 => at(x, x * 3.0 + if y > 9.0 { LATTICE_STEP } else { 0.0 }), // nearly in line
                        2 => at(x + (i as f64 * 0.37).sin() * 0.4, y + (i as f64 * 1.7).cos() * 0.4),
                        3 => at(if i % 2 == 0 { x * 1e-3 } else { x * 1e-3 + 80.0 }, y * 1e-3), // two clusters
                        _ => at((x * 0.53).cos() * 10.0, (x * 0.53).sin() * 10.0 + y * 1e-4),   // a ring, repeated
                    }
                })
                .collect()
        },
    )
}

proptest! {
    #[test]
    fn any_points_and_any_breaklines(
        places in places(),
        runs in prop::collection::vec(prop::collection::vec(0..60_usize, 2..6), 0..8),
    ) {
        let points: Vec<Point3> = places.iter().enumerate().map(|(i, p)| p.at(i as f64)).collect();
        let count = points.len();
        let lines: Vec<Vec<u32>> =
            runs.iter().map(|run| run.iter().map(|&i| u32::try_from(i % count).unwrap()).collect()).collect();
        match triangulate(&points, &lines) {
            Ok(made) => {
                assert_constrained_delaunay(&made.tin);
                for (i, p) in points.iter().enumerate() {
                    prop_assert_eq!(made.tin.vertices()[made.vertex_of_point[i] as usize].plan(), p.plan());
                }
                let again = triangulate(&points, &lines).unwrap();
                prop_assert_eq!(again, made, "the same twice");
            }
            Err(TinError::AllInLine { .. } | TinError::TooFewPoints { .. }) => {}
            Err(error) => return Err(TestCaseError::fail(error.to_string())),
        }
    }

    #[test]
    fn noded_segments_meet_only_at_ends(
        places in places(),
        pairs in prop::collection::vec((0..60_usize, 0..60_usize), 1..25),
    ) {
        let count = places.len();
        let segments: Vec<[u32; 2]> =
            pairs.iter().map(|&(a, b)| [a, b].map(|i| u32::try_from(i % count).unwrap())).collect();
        let noded = node(&places, &segments).unwrap();
        let ends = |piece: &Piece| piece.ends.map(|v| noded.points[v as usize]);
        for (i, piece) in noded.pieces.iter().enumerate() {
            let [a, b] = ends(piece);
            for other in &noded.pieces[i + 1..] {
                let [c, d] = ends(other);
                prop_assert!(!crate::geom::segments_cross(a, b, c, d));
            }
            for &p in &noded.points {
                let between = (p - a).dot(b - a) > 0.0 && (p - b).dot(a - b) > 0.0;
                prop_assert!(!(between && orient(a, b, p) == Side::On), "no vertex on a piece");
            }
        }
        // Each segment is still one chain from end to end.
        for (s, &ends) in (0_u32..).zip(&segments) {
            let [start, end] = ends.map(|v| noded.vertex_of_point[v as usize]);
            let all = noded.pieces.iter().chain(&noded.overlaid).filter(|piece| piece.segment == s);
            let mut degree = std::collections::BTreeMap::new();
            for v in all.flat_map(|piece| piece.ends) {
                *degree.entry(v).or_insert(0) += 1;
            }
            let odd: Vec<u32> = degree.iter().filter(|&(_, &d)| d % 2 == 1).map(|(&v, _)| v).collect();
            let wanted = if start == end { vec![] } else { vec![start.min(end), start.max(end)] };
            prop_assert_eq!(odd, wanted);
        }
    }
}
