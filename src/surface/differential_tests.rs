//! Our triangulation against independent ones, on places of every kind and size, with and without breaklines.
//!
//! Where no four places stand on one circle the Delaunay triangulation is unique, so every triangle must be the same; where
//! they do, counts, hull and area must be, and our own circles are checked exactly. Extents go from a millimetre to the
//! whole local frame; places of ten thousand kilometres come in through a site's frame, as surveys do.

use super::*;
use crate::frame::FrameDefinition;
use crate::geom::snap_point;
use crate::surface::Piece;
use crate::surface::sound::assert_constrained_delaunay;
use crate::units::LengthUnit;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use spade::{ConstrainedDelaunayTriangulation, DelaunayTriangulation, Point2, Triangulation as _};
use std::collections::{BTreeMap, BTreeSet};

type Triangles = BTreeSet<[u32; 3]>;

/// Kinds of places in a square of one by one.
const KINDS: [&str; 5] = ["random", "gridded", "collinear", "clustered", "ring"];

fn places(kind: &str, count: u32, seed: u64) -> Vec<Point> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let side = f64::from(count).sqrt().ceil();
    (0..count)
        .map(|i| {
            let mut any = || rng.random_range(0.0..1.0);
            let part = f64::from(i) / f64::from(count);
            match kind {
                "gridded" => Point::new((f64::from(i) % side) / side, (f64::from(i) / side).floor() / side),
                // All but one in seven on three lines, one of them aslant.
                "collinear" => match i % 7 {
                    0 | 1 => Point::new(part, 0.5),
                    2 | 3 => Point::new(0.25, part),
                    4 | 5 => Point::new(part, part),
                    _ => Point::new(any(), any()),
                },
                "clustered" => {
                    let (x, y) = (f64::from(i % 5) / 5.0, f64::from(i % 3) / 3.0);
                    Point::new(x + 1e-3 * any(), y + 1e-3 * any())
                }
                "ring" => {
                    let turn = std::f64::consts::TAU * part;
                    Point::new(0.5 + 0.5 * turn.cos(), 0.5 + 0.5 * turn.sin())
                }
                _ => Point::new(any(), any()),
            }
        })
        .collect()
}

/// On the lattice, each place once.
fn distinct(places: impl IntoIterator<Item = Point>) -> Vec<Point> {
    let mut seen = BTreeSet::new();
    let bits = |p: &Point| (p.x.to_bits(), p.y.to_bits());
    // Adding zero takes the sign off a zero.
    let on = places.into_iter().map(snap_point).map(|p| Point::new(p.x + 0.0, p.y + 0.0));
    on.filter(|p| seen.insert(bits(p))).collect()
}

fn sorted(mut corners: [u32; 3]) -> [u32; 3] {
    corners.sort_unstable();
    corners
}

/// True when some triangle has a neighbour's far corner on its circle: then the triangulation is not unique.
fn on_one_circle(tin: &Tin) -> bool {
    let place = |v: u32| tin.vertices()[v as usize].plan();
    tin.ids().any(|t| {
        let corners = tin.triangles()[t.0 as usize];
        (0..3).any(|k| {
            tin.neighbour(t, k).is_some_and(|across| {
                let beyond = tin.triangles()[across.0 as usize].into_iter().find(|v| !corners.contains(v));
                let [a, b, c] = corners.map(place);
                !tin.is_break(t, k) && beyond.is_some_and(|v| crate::geom::circle(a, b, c, place(v)) == 0.0)
            })
        })
    })
}

/// Holds a mesh of ours against triangles of another library over the same places.
fn same(tin: &Tin, theirs: &Triangles, area: f64, what: &str) {
    assert_eq!(tin.triangles().len(), theirs.len(), "{what}: triangles");
    assert!((tin.plan_area() - area).abs() <= 1e-9 * area, "{what}: area {} and {area}", tin.plan_area());
    if !on_one_circle(tin) {
        let ours: Triangles = tin.triangles().iter().copied().map(sorted).collect();
        assert!(&ours == theirs, "{what}: {} triangles differ", ours.difference(theirs).count());
    }
}

fn points_of_theirs(places: &[Point]) -> Vec<Point2<f64>> {
    places.iter().map(|p| Point2::new(p.x, p.y)).collect()
}

/// Our vertex at each of their places.
fn vertex_at(tin: &Tin) -> BTreeMap<(u64, u64), u32> {
    (0..).zip(tin.vertices()).map(|(v, p)| ((p.x.to_bits(), p.y.to_bits()), v)).collect()
}

/// The sizes in metres that places are spread over.
const SIZES: [f64; 6] = [1e-3, 1e-1, 1.0, 1e3, 1e4, 1.3e5];

fn cases() -> impl Iterator<Item = (String, Vec<Point>)> {
    KINDS.into_iter().flat_map(|kind| {
        SIZES.into_iter().map(move |size| {
            let spread =
                places(kind, 1_500, 17).into_iter().map(move |p| Point::new((p.x - 0.5) * size, (p.y - 0.5) * size));
            (format!("{kind} over {size} m"), distinct(spread))
        })
    })
}

#[test]
fn of_any_kind_and_size_as_two_other_libraries_have_it() {
    for (what, places) in cases() {
        let points: Vec<Point3> = places.iter().map(|p| p.at(0.0)).collect();
        let made = triangulate(&points, &[]).unwrap();
        assert_constrained_delaunay(&made.tin);
        let theirs = DelaunayTriangulation::<Point2<f64>>::bulk_load(points_of_theirs(&places)).unwrap();
        let at = vertex_at(&made.tin);
        let faces: Triangles = theirs
            .inner_faces()
            .map(|face| sorted(face.positions().map(|p| at[&(p.x.to_bits(), p.y.to_bits())])))
            .collect();
        same(&made.tin, &faces, theirs.inner_faces().map(|face| face.area()).sum(), &what);
        // The other one is not exact, and says so: rings and lines are too much for it.
        if what.contains("random") || what.contains("clustered") {
            let given: Vec<_> = places.iter().map(|p| delaunator::Point { x: p.x, y: p.y }).collect();
            let triangles = delaunator::triangulate(&given).triangles;
            let area = triangles.chunks(3).map(|t| {
                let [a, b, c] = [t[0], t[1], t[2]].map(|i| places[i]);
                ((b - a).cross(c - a) / 2.0).abs()
            });
            let area: f64 = area.sum();
            let faces = triangles.chunks(3).map(|t| sorted([t[0], t[1], t[2]].map(|i| made.vertex_of_point[i])));
            // At a millimetre the lattice itself makes circles through four places, where its choice is its own.
            if !on_one_circle(&made.tin) {
                same(&made.tin, &faces.collect(), area, &format!("{what}, delaunator"));
            }
        }
    }
}

#[test]
fn with_breaklines_as_another_library_has_it() {
    let mut refused = 0;
    for (what, places) in cases() {
        let mut rng = ChaCha8Rng::seed_from_u64(5);
        let count = places.len();
        let mut any = || u32::try_from(rng.random_range(0..count)).unwrap();
        let runs: Vec<Vec<u32>> = (0..12).map(|_| vec![any(), any(), any()]).collect();
        let points: Vec<Point3> = places.iter().map(|p| p.at(0.0)).collect();
        let made = match triangulate(&points, &runs) {
            Ok(made) => made,
            // Lines that cross within a few lattice steps cannot be parted, and that is told.
            Err(TinError::Unsettled { .. }) if what.ends_with("over 0.001 m") => {
                refused += 1;
                continue;
            }
            Err(why) => panic!("{what}: {why}"),
        };
        assert_constrained_delaunay(&made.tin);
        // The other library does not cut lines where they cross: it gets the pieces.
        let segments: Vec<[u32; 2]> =
            runs.iter().flat_map(|run| run.windows(2)).map(|pair| [pair[0], pair[1]]).collect();
        let noded = crate::surface::node(&places, &segments).unwrap();
        let edges = noded.pieces.iter().map(|&Piece { ends, .. }| ends.map(|v| v as usize)).collect();
        let theirs =
            ConstrainedDelaunayTriangulation::<Point2<f64>>::bulk_load_cdt(points_of_theirs(&noded.points), edges)
                .unwrap();
        let at = vertex_at(&made.tin);
        let faces: Triangles = theirs
            .inner_faces()
            .map(|face| sorted(face.positions().map(|p| at[&(p.x.to_bits(), p.y.to_bits())])))
            .collect();
        same(&made.tin, &faces, theirs.inner_faces().map(|face| face.area()).sum(), &what);
        let breaks: usize =
            made.tin.ids().map(|t| (0..3).filter(|&k| made.tin.is_break(t, k) && half(&made.tin, t, k)).count()).sum();
        assert_eq!(breaks, theirs.num_constraints(), "{what}: edges of breaklines");
    }
    assert!(refused < KINDS.len(), "at a millimetre too some can be parted");
}

/// True for one of the two sides of an edge.
fn half(tin: &Tin, t: crate::surface::TriangleId, k: usize) -> bool {
    tin.neighbour(t, k).is_none_or(|across| across > t)
}

/// National grids count ten thousand kilometres; the local frame takes the site out of them, and what does not fit is told.
#[test]
fn places_of_ten_thousand_kilometres() {
    let frame = FrameDefinition::local(LengthUnit::Metres).site_frame((9_999_900.0, 9_999_900.0), None);
    for kind in KINDS {
        let grid = places(kind, 1_000, 23).into_iter().map(|p| (1e7 + 400.0 * p.x, 1e7 - 400.0 * p.y));
        let there: Vec<Point> = distinct(grid.map(|(easting, northing)| frame.to_local(easting, northing)));
        let points: Vec<Point3> = there.iter().map(|p| p.at(0.0)).collect();
        let made = triangulate(&points, &[]).unwrap();
        assert_constrained_delaunay(&made.tin);
        let theirs = DelaunayTriangulation::<Point2<f64>>::bulk_load(points_of_theirs(&there)).unwrap();
        assert_eq!(made.tin.triangles().len(), theirs.num_inner_faces(), "{kind}");
        let spread: Vec<Point3> =
            places(kind, 100, 23).into_iter().map(|p| Point3::new(p.x * 1e7, p.y * 1e7, 0.0)).collect();
        assert!(matches!(triangulate(&spread, &[]), Err(TinError::OutOfFrame { .. })), "{kind}");
    }
}
