//! Tests of cut and fill: solids in closed form, and properties on random surfaces.

use super::super::examples::{grid, rough, square};
use super::*;
use crate::geom::snap_point;
use crate::surface::tin::{plane_at, triangle_area};
use proptest::prelude::*;

#[track_caller]
fn near(found: f64, wanted: f64, scale: f64) {
    assert!((found - wanted).abs() <= 1e-9 * scale.abs(), "found {found}, wanted {wanted}");
}

#[test]
fn a_box_on_a_plane() {
    let ground = square(7, 30.0, |p| 100.0 + 0.1 * p.x - 0.03 * p.y);
    let lid = square(11, 30.0, |p| 102.0 + 0.1 * p.x - 0.03 * p.y);
    let found = cut_and_fill(&ground, &lid, None);
    near(found.fill, 1800.0, 1800.0);
    near(found.fill_area, 900.0, 900.0);
    near(found.area, 900.0, 900.0);
    assert_eq!((found.cut, found.cut_area, found.area_left_out), (0.0, 0.0, 0.0));
    let back = cut_and_fill(&lid, &ground, None);
    near(back.cut, 1800.0, 1800.0);
}

#[test]
fn two_crossing_planes() {
    // Difference 0.2 (x - 10) over 30 x 30: cut 30 * 0.2 * 10^2/2, fill 30 * 0.2 * 20^2/2.
    let ground = square(9, 30.0, |p| 50.0 + 0.05 * p.y);
    let plane = square(14, 30.0, |p| 50.0 + 0.05 * p.y + 0.2 * (p.x - 10.0));
    let found = cut_and_fill(&ground, &plane, None);
    near(found.cut, 300.0, 1500.0);
    near(found.fill, 1200.0, 1500.0);
    near(found.cut_area, 300.0, 900.0);
    near(found.fill_area, 600.0, 900.0);
}

#[test]
fn a_wedge_and_pyramids() {
    let ground = square(3, 30.0, |_| 10.0);
    let wedge = cut_and_fill(&ground, &square(5, 30.0, |p| 10.0 + 0.1 * p.x), None);
    near(wedge.fill, 1350.0, 1350.0);
    let pyramid = |base: f64| {
        let mut corners: Vec<Point3> =
            [(0.0, 0.0), (30.0, 0.0), (30.0, 30.0), (0.0, 30.0)].map(|(x, y)| Point3::new(x, y, base)).to_vec();
        corners.push(Point3::new(15.0, 15.0, base + 3.0));
        Tin::from_triangles(corners, vec![[0, 1, 4], [1, 2, 4], [2, 3, 4], [3, 0, 4]]).unwrap()
    };
    near(cut_and_fill(&ground, &pyramid(10.0), None).fill, 900.0, 900.0);
    // Sunk by a third of its height: what stands out is the pyramid two thirds as large, and as much is cut.
    let sunk = cut_and_fill(&ground, &pyramid(9.0), None);
    near(sunk.fill, 900.0 * 8.0 / 27.0, 900.0);
    near(sunk.cut, 900.0 * 8.0 / 27.0, 900.0);
    near(sunk.fill_area, 400.0, 900.0);
    near(cut_and_fill(&pyramid(10.0), &pyramid(9.0), None).cut, 900.0, 900.0);
}

#[test]
fn a_triangle_of_both_signs() {
    // One triangle of 100 m2 with differences 0.6, 0.3, -0.4, against a finer one.
    let corners = [Point::new(0.0, 0.0), Point::new(20.0, 0.0), Point::new(4.0, 10.0)];
    let above = [0.6, 0.3, -0.4];
    let flat = Tin::from_triangles(corners.iter().map(|p| p.at(5.0)).collect(), vec![[0, 1, 2]]).unwrap();
    let bent = Tin::from_triangles((0..3).map(|k| corners[k].at(5.0 + above[k])).collect(), vec![[0, 1, 2]]).unwrap();
    for flat in [refined(&refined(&flat)), flat] {
        let found = cut_and_fill(&flat, &bent, None);
        near(found.fill, 100.0 * 0.5 / 3.0 + 100.0 * 0.064 / (3.0 * 1.0 * 0.7), 20.0);
        near(found.cut, 100.0 * 0.064 / (3.0 * 1.0 * 0.7), 20.0);
    }
}

#[test]
fn faces_that_coincide_are_neither_cut_nor_fill() {
    let ground = square(6, 60.0, |p| 100.0 + 0.02 * p.x);
    let works = square(12, 60.0, |p| 100.0 + 0.02 * p.x + if p == Point::new(30.0, 30.0) { 1.5 } else { 0.0 });
    let found = cut_and_fill(&ground, &works, None);
    // A pyramid over the eight triangles round one vertex.
    near(found.fill, 10.0 * 10.0 * 1.5 / 3.0, 50.0);
    near(found.fill_area, 100.0, 3600.0);
    assert_eq!(found.cut_area, 0.0);
}

#[test]
fn within_a_region_with_a_bay_and_a_hole() {
    let corner = |points: &[(f64, f64)]| points.iter().map(|&(x, y)| Point::new(x, y)).collect::<Vec<_>>();
    let outer = corner(&[(0.0, 0.0), (20.0, 0.0), (20.0, 10.0), (10.0, 10.0), (10.0, 20.0), (0.0, 20.0)]);
    let hole = corner(&[(2.0, 2.0), (2.0, 4.0), (4.0, 4.0), (4.0, 2.0)]);
    let mut region = Polygon { outer, holes: vec![hole] };
    let ground = square(7, 30.0, |p| 1.0 + 0.3 * p.y);
    let lid = square(9, 30.0, |p| 3.0 + 0.3 * p.y + 0.1 * p.x);
    for _ in 0..2 {
        let found = cut_and_fill(&ground, &lid, Some(&region));
        near(found.fill, 400.0 * 3.0 - 100.0 * 3.5 - 4.0 * 2.3, 1000.0);
        near(found.area, 296.0, 400.0);
        assert_eq!((found.area_left_out, found.cut), (0.0, 0.0));
        // Which way round a ring is given does not matter.
        region.outer.reverse();
        region.holes[0].reverse();
    }
}

#[test]
fn what_only_one_surface_covers_is_left_out_and_told() {
    let left = square(6, 30.0, |_| 1.0);
    let right = grid(Point::new(10.0, 0.0), Point::new(40.0, 30.0), 4, |_| 2.0);
    let found = cut_and_fill(&left, &right, None);
    near(found.fill, 600.0, 600.0);
    near(found.area_left_out, 600.0, 600.0);
    let box_of = |a: f64, b: f64| {
        Polygon::simple(vec![Point::new(a, 5.0), Point::new(b, 5.0), Point::new(b, 10.0), Point::new(a, 10.0)])
    };
    near(cut_and_fill(&left, &right, Some(&box_of(12.0, 28.0))).area_left_out, 0.0, 1.0);
    near(cut_and_fill(&left, &right, Some(&box_of(5.0, 33.0))).area_left_out, 40.0, 100.0);
    // A surface with a hole in it.
    let mut triangles = left.triangles().to_vec();
    triangles.drain(10..16);
    let holed = Tin::from_triangles(left.vertices().to_vec(), triangles).unwrap();
    let found = cut_and_fill(&holed, &left.raised_by(1.0), None);
    near(found.fill, 825.0, 900.0);
    near(found.area_left_out, 75.0, 900.0);
    let apart = grid(Point::new(100.0, 0.0), Point::new(130.0, 30.0), 3, |_| 2.0);
    let none = cut_and_fill(&left, &apart, None);
    assert_eq!((none.area, none.cut, none.fill), (0.0, 0.0, 0.0));
}

/// One surface along a line of one northing: straight pieces with eastings and elevations at both ends, from west to east.
fn slice(tin: &Tin, y: f64) -> Vec<[(f64, f64); 2]> {
    let mut pieces: Vec<[(f64, f64); 2]> = Vec::new();
    for id in tin.ids() {
        let corners = tin.corners(id);
        let mut met: Vec<(f64, f64)> = Vec::new();
        for k in 0..3 {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            if (a.y < y) != (b.y < y) {
                let share = (y - a.y) / (b.y - a.y);
                met.push((a.x + share * (b.x - a.x), a.z + share * (b.z - a.z)));
            }
        }
        met.sort_by(|p, q| p.0.total_cmp(&q.0));
        if let [from, to] = met[..] {
            pieces.push([from, to]);
        }
    }
    pieces.sort_by(|p, q| p[0].0.total_cmp(&q[0].0));
    pieces
}

/// Areas of cut and fill between two slices over their common length.
fn between_slices(from: &[[(f64, f64); 2]], to: &[[(f64, f64); 2]]) -> [f64; 2] {
    let mut places: Vec<f64> = from.iter().chain(to).flat_map(|piece| [piece[0].0, piece[1].0]).collect();
    places.sort_by(f64::total_cmp);
    let mut areas = [CompensatedSum::default(), CompensatedSum::default()];
    for pair in places.windows(2).filter(|pair| pair[1] > pair[0]) {
        let middle = f64::midpoint(pair[0], pair[1]);
        let over = |pieces: &[[(f64, f64); 2]]| {
            let piece = pieces.iter().find(|piece| piece[0].0 <= middle && middle <= piece[1].0)?;
            let at = |x: f64| piece[0].1 + (x - piece[0].0) / (piece[1].0 - piece[0].0) * (piece[1].1 - piece[0].1);
            Some([at(pair[0]), at(pair[1])])
        };
        let (Some(low), Some(high)) = (over(from), over(to)) else { continue };
        let (d, e) = (high[0] - low[0], high[1] - low[1]);
        let run = pair[1] - pair[0];
        let part = |d: f64, e: f64| {
            if d >= 0.0 && e >= 0.0 {
                f64::midpoint(d, e) * run
            } else if d <= 0.0 && e <= 0.0 {
                0.0
            } else {
                let most = d.max(e);
                most * most / (2.0 * (d - e).abs()) * run
            }
        };
        areas[0].add(part(-d, -e));
        areas[1].add(part(d, e));
    }
    areas.map(CompensatedSum::total)
}

/// Cut and fill by slices, without clipping anything: between northings at which a corner, a crossing of two edges or an end of
/// the zero line lies, the area of a slice is a quadratic, so that two places of Gauss integrate it exactly.
fn by_slices(from: &Tin, to: &Tin) -> [f64; 2] {
    let mut events: Vec<f64> = from.vertices().iter().chain(to.vertices()).map(|v| v.y).collect();
    for i in from.ids() {
        for j in to.ids() {
            let (a, b) = (from.corners(i), to.corners(j));
            let (p, q) = (a.map(Point3::plan), b.map(Point3::plan));
            let apart = |axis: &dyn Fn(Point) -> f64| {
                let range =
                    |c: [Point; 3]| c.map(axis).into_iter().fold((f64::MAX, f64::MIN), |r, v| (r.0.min(v), r.1.max(v)));
                let (one, other) = (range(p), range(q));
                one.0 > other.1 || other.0 > one.1
            };
            if apart(&|c| c.x) || apart(&|c| c.y) {
                continue;
            }
            let above = |place: Point| plane_at(b, place) - plane_at(a, place);
            for (ring, other) in [(p, q), (q, p)] {
                for k in 0..3 {
                    let (c, d) = (ring[k], ring[(k + 1) % 3]);
                    let (at_c, at_d) = (above(c), above(d));
                    if (at_c < 0.0) != (at_d < 0.0) {
                        events.push(c.towards(d, at_c / (at_c - at_d)).y);
                    }
                    for m in 0..3 {
                        let (e, f) = (other[m], other[(m + 1) % 3]);
                        let side = |place: Point| (f - e).cross(place - e);
                        if (side(c) < 0.0) != (side(d) < 0.0) {
                            events.push(c.towards(d, side(c) / (side(c) - side(d))).y);
                        }
                    }
                }
            }
        }
    }
    events.sort_by(f64::total_cmp);
    let mut volumes = [CompensatedSum::default(), CompensatedSum::default()];
    for pair in events.windows(2).filter(|pair| pair[1] - pair[0] > 1e-12) {
        let (middle, half) = (f64::midpoint(pair[0], pair[1]), (pair[1] - pair[0]) / 2.0);
        for y in [middle - half / 3.0_f64.sqrt(), middle + half / 3.0_f64.sqrt()] {
            let areas = between_slices(&slice(from, y), &slice(to, y));
            volumes.iter_mut().zip(areas).for_each(|(sum, area)| sum.add(area * half));
        }
    }
    volumes.map(CompensatedSum::total)
}

/// Random pairs that cross each other, cut and fill both: by slices to 1e-9 of their sum.
#[test]
fn agrees_with_slices_that_clip_nothing() {
    for seed in 0..4 {
        let (a, b) = (thinly(seed, 2.0), thinly(seed + 100, 3.0).raised_by(0.4 * (seed as f64 - 1.0)));
        let found = cut_and_fill(&a, &b, None);
        let [cut, fill] = by_slices(&a, &b);
        assert!(found.cut > 100.0 && found.fill > 100.0, "{found:?}");
        near(found.cut, cut, cut + fill);
        near(found.fill, fill, cut + fill);
    }
}

fn thinly(seed: u64, rise: f64) -> Tin {
    rough(seed, 22, 100.0, |p| 50.0 + rise * (p.x * 0.07 + p.y * 0.05).sin() + 0.01 * p.x)
}

/// A height over the unit square.
type Hill<'a> = &'a dyn Fn(f64, f64) -> f64;

/// Franke 1979, test functions 1, 4, 5 and 6 on the unit square, and their integrals (by quadrature of 30 digits), here
/// at the size of a farm. Linear faces come nearer with the square of their size.
#[test]
fn volumes_of_smooth_hills_converge() {
    let two = |x: f64, y: f64| (x - 0.5).powi(2) + (y - 0.5).powi(2);
    let peaks = |x: f64, y: f64| {
        0.75 * (-((9.0 * x - 2.0).powi(2) + (9.0 * y - 2.0).powi(2)) / 4.0).exp()
            + 0.75 * (-(9.0 * x + 1.0).powi(2) / 49.0 - (9.0 * y + 1.0) / 10.0).exp()
            + 0.5 * (-((9.0 * x - 7.0).powi(2) + (9.0 * y - 3.0).powi(2)) / 4.0).exp()
            - 0.2 * (-(9.0 * x - 4.0).powi(2) - (9.0 * y - 7.0).powi(2)).exp()
    };
    let hills: [(Hill<'_>, f64); 4] = [
        (&peaks, 0.406_969_589_491_556_1),
        (&|x, y| (-81.0 / 16.0 * two(x, y)).exp() / 3.0, 0.163_256_009_054_560_1),
        (&|x, y| (-81.0 / 4.0 * two(x, y)).exp() / 3.0, 0.051_562_285_691_956_36),
        (&|x, y| (64.0 - 81.0 * two(x, y)).sqrt() / 9.0 - 0.5, 0.286_583_331_729_366_43),
    ];
    for (hill, (height, integral)) in hills.iter().enumerate() {
        let error = |n: u32| {
            let surface = square(n, 500.0, |p| 30.0 * height(p.x / 500.0, p.y / 500.0));
            let found = cut_and_fill(&square(3, 500.0, |_| 0.0), &surface, None);
            (found.fill - found.cut) / (500.0 * 500.0 * 30.0) - integral
        };
        let (coarse, fine) = (error(32), error(64));
        assert!(fine.abs() < 4e-4, "function {hill}: off by {fine}");
        assert!((3.6..4.4).contains(&(coarse / fine)), "function {hill}: {coarse} then {fine}");
    }
}

/// 2 pi sigma^2 (H - c - c ln(H/c)) above level c of a Gaussian mound.
#[test]
fn a_gaussian_mound_above_a_level() {
    let mound = |n: u32| {
        grid(Point::new(-50.0, -50.0), Point::new(50.0, 50.0), n, |p| 2.0 * (-(p.x * p.x + p.y * p.y) / 200.0).exp())
    };
    let level = grid(Point::new(-50.0, -50.0), Point::new(50.0, 50.0), 3, |_| 0.5);
    let error = |n: u32| cut_and_fill(&mound(n), &level, None).cut - 506.960_6;
    let (coarse, fine) = (error(80), error(160));
    assert!(fine.abs() < 0.5 && (3.6..4.4).contains(&(coarse / fine)), "{coarse} then {fine}");
}

/// Each triangle parted in three at a place inside it, on the same plane.
fn refined(tin: &Tin) -> Tin {
    let (mut vertices, mut triangles) = (tin.vertices().to_vec(), Vec::new());
    for id in tin.ids() {
        let [a, b, c] = tin.corners(id).map(Point3::plan);
        let place = snap_point(Point::new((a.x + b.x + c.x) / 3.0, (a.y + b.y + c.y) / 3.0));
        let [i, j, k] = tin.triangles()[id.0 as usize];
        let new = u32::try_from(vertices.len()).unwrap();
        let inside = [[i, j, new], [j, k, new], [k, i, new]];
        vertices.push(place.at(plane_at(tin.corners(id), place)));
        let thick = inside.iter().all(|t| triangle_area(t.map(|v| vertices[v as usize])) > 1e-3);
        if thick { triangles.extend(inside) } else { triangles.push([i, j, k]) }
    }
    Tin::from_triangles(vertices, triangles).unwrap()
}

/// The same surface elsewhere: turned by a quarter, then shifted.
fn moved_surface(tin: &Tin, east: f64, north: f64) -> Tin {
    let vertices = tin.vertices().iter().map(|v| Point3::new(-v.y + east, v.x + north, v.z)).collect();
    Tin::from_triangles(vertices, tin.triangles().to_vec()).unwrap()
}

fn hilly(seed: u64, rise: f64) -> Tin {
    rough(seed, 40, 100.0, |p| 50.0 + rise * (p.x * 0.07 + p.y * 0.05).sin() + 0.01 * p.x)
}

#[track_caller]
fn same(found: &CutFill, wanted: &CutFill) {
    let scale = wanted.cut + wanted.fill;
    near(found.cut, wanted.cut, scale);
    near(found.fill, wanted.fill, scale);
    near(found.area, wanted.area, wanted.area);
    near(found.cut_area, wanted.cut_area, wanted.area);
    near(found.fill_area, wanted.fill_area, wanted.area);
    near(found.area_left_out, wanted.area_left_out, wanted.area);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn swapped_shifted_turned_refined(seed in 0u64..10_000, lift in -2.0..2.0f64, (east, north) in (-50_000i32..50_000, -50_000i32..50_000)) {
        let (a, b) = (hilly(seed, 2.0), hilly(seed + 10_000, 3.0).raised_by(lift));
        let found = cut_and_fill(&a, &b, None);
        near(found.area, 10_000.0, 10_000.0);
        let back = cut_and_fill(&b, &a, None);
        same(&CutFill { cut: back.fill, fill: back.cut, cut_area: back.fill_area, fill_area: back.cut_area, ..back }, &found);
        // Far from the origin of the frame, as at its other end.
        let (east, north) = (f64::from(east), f64::from(north));
        same(&cut_and_fill(&moved_surface(&a, east, north), &moved_surface(&b, east, north), None), &found);
        let raised = cut_and_fill(&a, &b.raised_by(0.75), None);
        near(raised.net() - found.net(), 7500.0, 10_000.0);
        // A centre on the lattice moves the faces by a step's worth of slope at most.
        let fine = cut_and_fill(&refined(&a), &refined(&b), None);
        prop_assert!((fine.cut - found.cut).abs() < 1e-9 * (found.cut + found.fill));
        prop_assert!((fine.fill - found.fill).abs() < 1e-9 * (found.cut + found.fill));
    }

    #[test]
    fn parts_of_a_region_add_up(seed in 0u64..10_000, (u, v) in (5.0..95.0f64, 5.0..95.0f64), bay in (20.0..80.0f64, 20.0..80.0f64)) {
        let (a, b) = (hilly(seed, 2.0), hilly(seed + 10_000, 3.0));
        let bay = Point::new(bay.0, bay.1);
        // A path from south to north through the bay parts the square in two, neither of them convex.
        let path = [Point::new(u, 0.0), bay, Point::new(v, 100.0)];
        let west = Polygon::simple([&[Point::new(0.0, 100.0), Point::new(0.0, 0.0)], &path[..]].concat());
        let mut east = path.to_vec();
        east.reverse();
        east.extend([Point::new(100.0, 0.0), Point::new(100.0, 100.0)]);
        east.rotate_left(3);
        let east = Polygon::simple(east);
        let (whole, one, two) = (cut_and_fill(&a, &b, None), cut_and_fill(&a, &b, Some(&west)), cut_and_fill(&a, &b, Some(&east)));
        let scale = whole.cut + whole.fill;
        near(one.cut + two.cut, whole.cut, scale);
        near(one.fill + two.fill, whole.fill, scale);
        near(one.area, west.area(), 10_000.0);
        near(two.area, east.area(), 10_000.0);
    }

    /// The same volume by polygons clipped with an independent library, where all is fill.
    #[test]
    fn agrees_with_an_independent_clipper(seed in 0u64..10_000) {
        use geo::{Area, BooleanOps, Centroid};
        let (a, b) = (hilly(seed, 2.0), hilly(seed + 10_000, 3.0).raised_by(20.0));
        let polygon = |tin: &Tin, id| {
            let ring = tin.corners(id).map(|p| geo::coord! { x: p.x, y: p.y });
            geo::Polygon::new(geo::LineString::from(ring.to_vec()), Vec::new())
        };
        let mut volume = 0.0;
        for i in a.ids() {
            for j in b.ids() {
                let overlap = polygon(&a, i).intersection(&polygon(&b, j));
                if let Some(centre) = overlap.centroid() {
                    let centre = Point::new(centre.x(), centre.y());
                    volume += overlap.unsigned_area() * (plane_at(b.corners(j), centre) - plane_at(a.corners(i), centre));
                }
            }
        }
        let found = cut_and_fill(&a, &b, None);
        // The library works on a grid of its own, of about 1e-7 of the extent.
        prop_assert!((found.fill - volume).abs() < 1e-5 * volume, "{} against {volume}", found.fill);
    }
}
