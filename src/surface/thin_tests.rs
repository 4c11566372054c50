//! Tests of thinning: closed forms, properties on any surface, holes and breaklines.

use super::*;
use crate::geom::Polygon;
use crate::surface::examples::{rough, square};
use crate::surface::sound::assert_sound;
use crate::surface::triangulate;
use proptest::prelude::*;

/// The largest difference found by asking at every vertex anew.
fn asked(full: &Tin, thin: &Tin) -> f64 {
    let locator = Locator::new(thin);
    let used = full.triangles().iter().flatten().map(|&v| full.vertices()[v as usize]);
    used.map(|v| (locator.elevation(v.plan()).unwrap() - v.z).abs()).fold(0.0, f64::max)
}

/// Edges on the rim as pairs of places.
fn rim(tin: &Tin) -> Vec<[[u64; 2]; 2]> {
    let bits = |p: Point3| [p.x.to_bits(), p.y.to_bits()];
    let mut rim: Vec<_> = tin
        .ids()
        .flat_map(|t| (0..3).map(move |k| (t, k)))
        .filter(|&(t, k)| tin.neighbour(t, k).is_none())
        .map(|(t, k)| [bits(tin.corners(t)[k]), bits(tin.corners(t)[(k + 1) % 3])])
        .collect();
    rim.sort_unstable();
    rim
}

#[test]
fn of_a_plane_only_the_rim_is_left() {
    let tin = square(40, 200.0, |p| 431.0 + 0.0625 * p.x - 0.03125 * p.y);
    let thinned = thin(&tin, 0.001).unwrap();
    assert_sound(&thinned.tin);
    assert_eq!(thinned.tin.vertices().len(), 160);
    assert_eq!(thinned.tin.plan_area(), 40_000.0);
    assert!(thinned.worst < 1e-9, "{}", thinned.worst);
    assert_eq!(rim(&tin), rim(&thinned.tin));
}

/// A paraboloid z = (x2 + y2) / 2R over squares of side h is flat within h2 / 4R in each square, and along a side within
/// h2 / 8R: a bound of h2 / 4R needs no more than about one vertex in h2.
#[test]
fn a_paraboloid_needs_points_as_its_curvature_says() {
    let (radius, size) = (500.0, 200.0);
    let tin = square(160, size, |p| ((p.x - 100.0).powi(2) + (p.y - 100.0).powi(2)) / (2.0 * radius));
    let mut before = usize::MAX;
    for bound in [0.02, 0.08, 0.32] {
        let thinned = thin(&tin, bound).unwrap();
        assert_sound(&thinned.tin);
        assert!(thinned.worst <= bound && thinned.worst > bound / 2.0, "{} within {bound}", thinned.worst);
        assert_eq!(thinned.worst, asked(&tin, &thinned.tin));
        let inner = thinned.tin.vertices().len() - 640;
        // A grid of squares of side h = sqrt(4 R bound) holds the bound; greedy insertion may need some more.
        let of_grid = size * size / (4.0 * radius * bound);
        assert!((inner as f64) < 2.0 * of_grid, "{inner} vertices, a grid {of_grid:.0}");
        assert!(inner < before);
        before = inner;
    }
}

#[test]
fn a_cone_keeps_its_tip() {
    let tin = square(100, 100.0, |p| 10.0 - 0.2 * (p.x - 50.0).hypot(p.y - 50.0));
    let thinned = thin(&tin, 0.05).unwrap();
    assert!(thinned.worst <= 0.05);
    let tip = Locator::new(&thinned.tin).elevation(Point::new(50.0, 50.0)).unwrap();
    assert!((tip - 10.0).abs() <= 0.05);
    assert!(thinned.tin.vertices().len() < 1_000, "{}", thinned.tin.vertices().len());
}

#[test]
fn holes_notches_and_breaklines_stay() {
    let mut points: Vec<Point3> = rough(5, 4_000, 100.0, |p| (p.x / 9.0).sin()).vertices().to_vec();
    let first = u32::try_from(points.len()).unwrap();
    points.extend((0..60).map(|i| Point3::new(20.0 + f64::from(i), 70.25 + 0.1 * f64::from(i % 2), 3.0)));
    let line: Vec<u32> = (first..first + 60).collect();
    let ring = |places: &[(f64, f64)]| places.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let region = Polygon {
        outer: ring(&[(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (50.0, 60.0), (0.0, 100.0)]),
        holes: vec![ring(&[(30.0, 20.0), (60.0, 20.0), (60.0, 40.0), (30.0, 40.0)])],
    };
    let tin = triangulate(&points, &[line]).unwrap().tin.trimmed(None, Some(&region));
    let thinned = thin(&tin, 0.1).unwrap();
    assert_sound(&thinned.tin);
    assert_eq!(rim(&tin), rim(&thinned.tin));
    assert!((thinned.tin.plan_area() - tin.plan_area()).abs() < 1e-6);
    assert!(thinned.worst <= 0.1 && thinned.worst == asked(&tin, &thinned.tin), "{}", thinned.worst);
    assert!(thinned.tin.vertices().len() < tin.vertices().len() / 2);
    let breaks = |tin: &Tin| tin.ids().map(|t| (0..3).filter(|&k| tin.is_break(t, k)).count()).sum::<usize>();
    assert_eq!(breaks(&tin), breaks(&thinned.tin));
    assert!(Locator::new(&thinned.tin).elevation(Point::new(45.0, 30.0)).is_none(), "the hole");
}

#[test]
fn nothing_to_thin_and_nothing_to_spare() {
    assert_eq!(thin(&Tin::default(), 0.02).unwrap().tin, Tin::default());
    let tin = rough(3, 300, 50.0, |p| (p.x * 12.9898 + p.y * 78.233).sin() * 5.0);
    let all = thin(&tin, 0.0).unwrap();
    assert_eq!(all.tin.vertices().len(), tin.vertices().len());
    assert!(all.worst < 1e-12, "{}", all.worst);
    assert_eq!(thin(&tin, 1e3).unwrap().tin.vertices().len(), rim(&tin).len());
}

#[test]
fn a_surface_whose_vertices_share_a_place_is_refused() {
    let places = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (0.0, 0.0), (1.0, 0.0), (0.0, -1.0)];
    let vertices = places.map(|(x, y)| Point3::new(x, y, 0.0)).to_vec();
    let tin = Tin::from_triangles(vertices, vec![[0, 1, 2], [3, 4, 5]]).unwrap();
    assert!(matches!(thin(&tin, 0.1), Err(TinError::SamePlace { .. })));
}

proptest! {
    #[test]
    fn the_bound_holds_on_any_ground(
        cells in prop::collection::btree_map((0..25_i32, 0..25_i32), -100..100_i32, 6..200),
        (bound, turn) in (0.0..1.5_f64, 0.0..1.0_f64),
        runs in prop::collection::vec(prop::collection::vec(0..200_usize, 2..4), 0..3),
    ) {
        let points: Vec<Point3> = cells
            .iter()
            .map(|(&(x, y), &z)| {
                let (x, y) = (f64::from(x), f64::from(y));
                Point3::new(x * turn.cos() - y * turn.sin(), x * turn.sin() + y * turn.cos(), f64::from(z) / 80.0)
            })
            .collect();
        let lines: Vec<Vec<u32>> = runs
            .iter()
            .map(|run| run.iter().map(|&i| u32::try_from(i % points.len()).unwrap()).collect())
            .collect();
        if let Ok(made) = triangulate(&points, &lines) {
            let tin = made.tin.trimmed(Some(9.0), None);
            let thinned = thin(&tin, bound).unwrap();
            assert_sound(&thinned.tin);
            prop_assert!(thinned.worst <= bound, "{} over {bound}", thinned.worst);
            if !tin.triangles().is_empty() {
                prop_assert_eq!(thinned.worst, asked(&tin, &thinned.tin));
            }
            prop_assert_eq!(rim(&tin), rim(&thinned.tin));
            prop_assert!((thinned.tin.plan_area() - tin.plan_area()).abs() < 1e-9 * tin.plan_area().max(1.0));
            prop_assert_eq!(thin(&tin, bound).unwrap(), thinned, "the same twice");
        }
    }
}
