//! Tests of the mesh while it is built: awkward places, and an independent library on the same points and segments.

use super::*;
use crate::geom::{LATTICE_STEP, Point3};
use crate::surface::delaunay::delaunay;
use crate::surface::sound::{assert_constrained_delaunay, has_break};
use crate::surface::{Tin, constrained, node};
use proptest::prelude::*;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spade::{ConstrainedDelaunayTriangulation, Point2, Triangulation as _};

fn finished(places: &[Point], mesh: &Mesh) -> Tin {
    Tin::from_mesh(places.iter().map(|p| p.at(0.0)).collect(), &mesh.from, &mesh.twin, &mesh.fixed)
}

fn steps(x: i64, y: i64) -> Point {
    Point::new(x as f64 * LATTICE_STEP, y as f64 * LATTICE_STEP)
}

#[test]
fn a_triangle_of_half_a_square_step() {
    // Steps by following Fibonacci numbers span a triangle of half a square lattice step over 20 km: exactly not in
    // line, but far below the rounding of the products in floating point.
    let (f, g, h) = (20_365_011_074, 12_586_269_025, 7_778_742_049);
    let places = [steps(0, 0), steps(g, h), steps(f, g)];
    assert_ne!(orient(places[0], places[1], places[2]), Side::On);
    assert_constrained_delaunay(&finished(&places, &delaunay(&places, 3)));
}

#[test]
fn a_vertex_on_the_rim_and_one_on_an_edge() {
    let places =
        [steps(0, 0), steps(8, 0), steps(8, 8), steps(0, 8), steps(4, 0), steps(4, 4), steps(6, 6), steps(0, 4)];
    for order in [[4, 5, 6, 7], [7, 6, 5, 4], [6, 4, 7, 5]] {
        let mut mesh = delaunay(&places, 4);
        for v in order {
            let holder = mesh.locate(places[v], 0);
            mesh.insert(u32::try_from(v).unwrap(), holder, |_| {});
        }
        assert_constrained_delaunay(&finished(&places, &mesh));
    }
    let mesh = delaunay(&places, 4);
    assert!(matches!(mesh.locate(places[4], 0), Holder::Edge(_)), "on the rim");
    assert!(matches!(mesh.locate(places[5], 0), Holder::Edge(_)), "on the diagonal");
    assert_eq!(mesh.locate(places[2], 0), Holder::Vertex(2));
    assert!(matches!(mesh.locate(steps(9, 3), 0), Holder::Beyond(_)));
}

#[test]
fn a_vertex_on_a_fixed_edge_parts_it() {
    let places = [steps(0, 0), steps(8, 0), steps(8, 8), steps(0, 8), steps(3, 3)];
    let mut mesh = delaunay(&places, 4);
    mesh.fix(0, 2).unwrap();
    let holder = mesh.locate(places[4], 0);
    mesh.insert(4, holder, |_| {});
    let tin = finished(&places, &mesh);
    assert_constrained_delaunay(&tin);
    assert!(has_break(&tin, 0, 4) && has_break(&tin, 4, 2));
}

#[test]
fn an_independent_library_agrees_with_breaklines() {
    let mut rng = ChaCha8Rng::seed_from_u64(9);
    for round in 0..20 {
        let points: Vec<Point> =
            (0..400).map(|_| steps(rng.random_range(0..90_000_000), rng.random_range(0..90_000_000))).collect();
        let segments: Vec<[u32; 2]> =
            (0..3 * round).map(|_| [rng.random_range(0..400), rng.random_range(0..400)]).collect();
        let noded = node(&points, &segments).unwrap();
        let lifted: Vec<Point3> = noded.points.iter().map(|p| p.at(0.0)).collect();
        let pieces: Vec<[u32; 2]> = noded.pieces.iter().map(|piece| piece.ends).collect();
        let tin = constrained(&lifted, &pieces).unwrap();
        assert_constrained_delaunay(&tin);
        let vertices = noded.points.iter().map(|p| Point2::new(p.x, p.y)).collect();
        let edges = pieces.iter().map(|ends| ends.map(|v| v as usize)).collect();
        let other = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(vertices, edges, |conflict| {
            panic!("noded segments meet only at ends: {conflict:?}")
        })
        .unwrap();
        assert_eq!(tin.triangles().len(), other.num_inner_faces());
        let broken = tin.ids().flat_map(|t| (0..3).map(move |k| (t, k)));
        let broken = broken.filter(|&(t, k)| tin.is_break(t, k) && tin.neighbour(t, k).is_none_or(|across| t < across));
        assert_eq!(broken.count(), other.num_constraints());
        let area: f64 = other.inner_faces().map(|face| face.area()).sum();
        assert!((tin.plan_area() - area).abs() < 1e-9 * area);
        // In general position the constrained Delaunay triangulation is unique: the same triangles.
        let mut ours: Vec<[u32; 3]> = tin.triangles().to_vec();
        let mut theirs: Vec<[u32; 3]> = other
            .inner_faces()
            .map(|face| face.vertices().map(|v| u32::try_from(v.index()).unwrap()))
            .map(|corners| if corners[0] < corners[1] && corners[0] < corners[2] { corners } else { turned(corners) })
            .collect();
        ours.sort_unstable();
        theirs.sort_unstable();
        assert_eq!(ours, theirs);
    }
}

/// The same triangle from its smallest corner on.
fn turned([a, b, c]: [u32; 3]) -> [u32; 3] {
    if b < c { [b, c, a] } else { [c, a, b] }
}

#[test]
fn a_segment_across_a_crowd_of_slivers() {
    // Two rows of close shots far apart: every edge between them is crossed, most quadrilaterals are not convex.
    let mut places = vec![steps(-1_000_000, 0), steps(500_000_000, 0)];
    places.extend((0..200).map(|i| steps(i * 2_000_000, 40_000_000 + (i * i) % 1_013)));
    places.extend((0..200).map(|i| steps(i * 2_000_000 + 500_000, -40_000_000 - (i * i * i) % 997)));
    let points: Vec<Point3> = places.iter().map(|p| p.at(0.0)).collect();
    let tin = constrained(&points, &[[0, 1]]).unwrap();
    assert_constrained_delaunay(&tin);
    assert!(has_break(&tin, 0, 1));
}

proptest! {
    #[test]
    fn any_places_that_are_not_in_line(
        cells in prop::collection::btree_set((0..14_i64, 0..14_i64), 3..60),
        (across, shear) in (prop::sample::select(vec![1, 1_000_003, 4_000_000_007]), 0..3_i64),
    ) {
        let places: Vec<Point> = cells.iter().map(|&(x, y)| steps(x * across, y + shear * x * across)).collect();
        if places.iter().any(|&p| orient(places[0], places[1], p) != Side::On) {
            assert_constrained_delaunay(&finished(&places, &delaunay(&places, places.len())));
        }
    }
}
