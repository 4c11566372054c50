//! Tests of pools: solids in closed form, spill and shore.

use super::super::examples::{grid, square};
use super::*;
use crate::geom::area_of_ring;

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 1e-9 * wanted.abs(), "found {found}, wanted {wanted}");
}

/// A valley with planar faces: its floor falls by `fall` along y, its sides rise by 0.06 and 0.08, closed at y = 0.
fn valley(n: u32) -> Tin {
    let side = |x: f64| if x < 0.0 { -0.06 * x } else { 0.08 * x };
    grid(Point::new(-80.0, 0.0), Point::new(80.0, 320.0), n, |p| 100.0 + side(p.x) + 0.015 * p.y)
}

#[test]
fn a_valley_behind_a_wall() {
    // h^3/(6g) (1/m1 + 1/m2); a surface of planar faces holds it to rounding. The wall is the rim at y = 0.
    let water = pool(&valley(32), &[Point::new(0.0, 10.0)], 103.0);
    near(water.volume, 8750.0);
    near(water.area, 200.0 * (3.0 / 0.06 + 3.0 / 0.08) / 2.0);
    let shore: f64 = water.shore.iter().map(|line| area_of_ring(line)).sum();
    near(shore, water.area);
    // Without the wall the water runs off at the lowest place of the rim: not above the seed.
    assert_eq!((water.spill, water.holds()), (100.15, false));
}

#[test]
fn only_the_hollow_at_the_seed() {
    // Two hollows of depth 2 and 1 parted by a saddle; the rim is high.
    let surface = square(40, 40.0, |p| {
        let bowl = |x: f64, y: f64, depth: f64| (p.x - x).hypot(p.y - y) * 0.25 - depth;
        bowl(12.0, 20.0, 2.0).min(bowl(28.0, 20.0, 1.0)).min(1.0)
    });
    let (left, right) = (Point::new(12.0, 20.0), Point::new(28.0, 20.0));
    let (one, two) = (pool(&surface, &[left], 0.0), pool(&surface, &[right], 0.0));
    let both = below(&surface, 0.0);
    assert!(one.volume > two.volume && two.volume > 0.0);
    near(one.volume + two.volume, both.volume);
    near(one.area + two.area, both.area);
    near(pool(&surface, &[left, right], 0.0).volume, both.volume);
    assert_eq!(pool(&surface, &[Point::new(1.0, 1.0)], 0.0).volume, 0.0, "a dry seed has no pool");
    assert_eq!(one.shore.len(), 1);
    assert!(one.holds() && one.spill == 1.0);
    let rows = stage_storage(&surface, &[left], &[-1.0, 0.0, 0.75]);
    assert_eq!((rows[1].volume, rows[1].area), (one.volume, one.area));
    assert!(rows[0].volume < rows[1].volume && rows[1].volume < rows[2].volume);
}

/// A square pit, 4 m deep at its middle, in a plane that falls 10 % to the east: full to the rim of the pit's low side,
/// and not a drop higher; beside it the slope drains.
#[test]
fn a_hollow_holds_no_more_than_to_its_spill() {
    let surface = square(40, 40.0, |p| {
        let slope = 100.0 - 0.1 * p.x;
        let pit = 93.0 + (p.x - 20.0).abs().max((p.y - 20.0).abs());
        slope.min(pit)
    });
    let place = Point::new(20.0, 20.0);
    let full = hollow(&surface, place, 99.0).unwrap();
    let (spill, highest) = spill_from(&surface, &[place]);
    assert!(!full.drains && full.ground == 93.0);
    assert_eq!((full.pool.level, full.pool.spill_place), (spill, highest));
    assert_eq!(full.pool, Pool { level: spill, ..pool(&surface, &[place], spill) });
    assert!(pool(&surface, &[place], 99.0).volume > 3.0 * full.pool.volume, "the whole slope would be water");
    // A hair above the spill is no more: where a rim lies half a millimetre under a sill, the slope beyond is no water.
    assert_eq!(standing_to(&surface, &[place], spill + 0.0005), full.pool);
    assert_eq!(standing_to(&surface, &[place], 95.0), pool(&surface, &[place], 95.0));
    // Below the spill nothing changes: an upturned pyramid of half side h, a third of base times height.
    let part = hollow(&surface, place, 95.0).unwrap();
    near(part.pool.volume, 4.0 * 4.0 * 2.0 / 3.0);
    // All hollows together: this one, and the slope does not count.
    let all = standing(&surface, 99.0);
    near(all.volume, full.pool.volume);
    near(all.area, full.pool.area);
    near(standing(&surface, 95.0).volume, part.pool.volume);
    let beside = hollow(&surface, Point::new(5.0, 5.0), 101.0).unwrap();
    assert!(beside.drains && beside.pool.volume == 0.0 && beside.pool.area == 0.0);
    assert_eq!(hollow(&surface, Point::new(41.0, 5.0), 101.0), None, "off the surface");
    assert_eq!(standing(&surface, 90.0).volume, 0.0);
}

/// Two hollows of which one spills lower than the water asked for: each to its own level.
#[test]
fn standing_water_is_counted_hollow_by_hollow() {
    let surface = square(40, 40.0, |p| {
        let bowl = |x: f64, floor: f64, rim: f64| {
            let r = (p.x - x).abs().max((p.y - 20.0).abs());
            if r > 6.0 { 100.0 } else { (floor + r).min(rim) }
        };
        bowl(10.0, 96.0, 99.0).min(bowl(30.0, 94.0, 99.5))
    });
    let at = |x: f64, level: f64| hollow(&surface, Point::new(x, 20.0), level).unwrap().pool;
    for level in [95.0, 97.0, 98.5, 99.75, 120.0] {
        let sum = at(10.0, level).volume + at(30.0, level).volume;
        assert!((standing(&surface, level).volume - sum).abs() <= 1e-9 * sum, "{level}");
    }
    assert_eq!(at(10.0, 120.0).level, 100.0);
}

#[test]
fn the_lowest_way_out_is_found_with_its_place() {
    // A round basin with a notch in its ring at (30, 16).
    let surface = square(32, 32.0, |p| {
        let r = (p.x - 16.0).hypot(p.y - 16.0);
        if p == Point::new(30.0, 16.0) || (p.x > 30.0 && p.y == 16.0) { 3.0 } else { (r * 0.5).min(7.0) }
    });
    let (spill, place) = spill_from(&surface, &[Point::new(16.0, 16.0)]);
    // The way runs through (29, 16) at 6.5, then falls into the notch.
    assert_eq!((spill, place.map(Point3::plan)), (6.5, Some(Point::new(29.0, 16.0))));
}

/// An excavated pond with planar batters in level ground at zero: the floor's outline and, for each of its four sides,
/// the horizontal run per unit of depth. Corners are those of the floor pushed out by the sides' runs.
fn pond(length: f64, width: f64, depth: f64, [south, east, north, west]: [f64; 4]) -> Tin {
    let ring = |grow: f64, z: f64| {
        let (low, high) = ((-west * grow, -south * grow), (length + east * grow, width + north * grow));
        [(low.0, low.1), (high.0, low.1), (high.0, high.1), (low.0, high.1)].map(|(x, y)| Point3::new(x, y, z))
    };
    let mut vertices = [ring(0.0, -depth), ring(depth, 0.0)].concat();
    vertices.extend(ring(depth + 20.0, 0.0));
    let mut triangles = vec![[0, 1, 2], [0, 2, 3]];
    for start in [0, 4] {
        for k in 0..4 {
            let (a, b) = (start + k, start + (k + 1) % 4);
            triangles.extend([[a, a + 4, b + 4], [a, b + 4, b]]);
        }
    }
    Tin::from_triangles(vertices, triangles).unwrap()
}

#[track_caller]
fn holds(tin: &Tin, wanted: f64, within: f64) {
    let water = pool(tin, &[Point::new(5.0, 5.0)], 0.0);
    assert!((water.volume - wanted).abs() <= within, "holds {}, wanted {wanted}", water.volume);
    assert_eq!((water.spill, water.holds(), water.shore.len()), (0.0, true, 1));
    // The same earth by cut and fill against level ground.
    let bounds = tin.bounds().unwrap();
    let level = grid(bounds.low, bounds.high, 5, |_| 0.0);
    near(crate::surface::cut_and_fill(&level, tin, None).cut, water.volume);
    near(below(tin, 0.0).volume, water.volume);
}

/// Agriculture Handbook 590 (USDA 1997), excavated ponds, all in feet; figures from memory, the integral recomputed. A
/// floor of 40 x 100 ft, 12 ft deep: with a 4:1 ramp at one end and 2:1 elsewhere printed 3,996 yd3; with 2:1 all round
/// 3,612 yd3.
#[test]
fn published_ponds_of_a_handbook() {
    let ramp = pond(100.0, 40.0, 12.0, [2.0, 4.0, 2.0, 2.0]);
    holds(&ramp, 3_996.0 * 27.0, 0.5 * 27.0);
    holds(&ramp, 3_996.444 * 27.0, 0.001 * 27.0);
    holds(&pond(100.0, 40.0, 12.0, [2.0; 4]), 3_612.0 * 27.0, 0.5 * 27.0);
}

/// Math Central (University of Regina), worked answers read there, in feet: a water surface of 100 x 70 ft, 12 ft deep
/// with 2:1 sides holds 44,256 ft3; a pond of 385 x 335 ft, 18 ft deep with 4:1 sides 1,512,846 ft3 (its floor is
/// 241 x 191 ft).
#[test]
fn published_ponds_of_a_question_page() {
    holds(&pond(52.0, 22.0, 12.0, [2.0; 4]), 44_256.0, 1e-6);
    holds(&pond(241.0, 191.0, 18.0, [4.0; 4]), 1_512_846.0, 0.5);
}

/// Math Central (University of Regina), read there: a dam 300 ft long, 100 ft at its base, 14 ft at its top, 15 ft high
/// takes 256,500 ft3 = 9,500 yd3.
#[test]
fn a_published_dam_of_constant_section() {
    let place = |x: f64, z: f64| [Point3::new(x, 0.0, z), Point3::new(x, 300.0, z)];
    let vertices = [place(0.0, 0.0), place(43.0, 15.0), place(57.0, 15.0), place(100.0, 0.0)].concat();
    let triangles = (0..3).flat_map(|i| [[2 * i, 2 * i + 2, 2 * i + 3], [2 * i, 2 * i + 3, 2 * i + 1]]).collect();
    let dam = Tin::from_triangles(vertices, triangles).unwrap();
    let seat = grid(Point::new(-10.0, -10.0), Point::new(110.0, 310.0), 7, |_| 0.0);
    near(crate::surface::cut_and_fill(&seat, &dam, None).fill, 256_500.0);
}

/// V = d [ab + (a + b) s d + 4/3 s^2 d^2]: floor 20 x 12 m, 2.5 m deep, 3:1 batters, 1,387.5 m3.
#[test]
fn a_pond_in_closed_form() {
    holds(&pond(20.0, 12.0, 2.5, [3.0; 4]), 1_387.5, 1e-9);
}

/// Slides on contour banks: 12 cm of rain, 30 % lost, banks 60 m apart on 3 % with a face of 1.5:1 hold 5.04 m3 a metre, 17.42 h^2,
/// so the water stands 0.54 m deep.
#[test]
fn a_published_contour_bank() {
    let rain = 0.12 * 0.7 * 60.0;
    let deep = 0.5379;
    assert!(f64::abs(rain - 5.04) < 1e-12);
    // From the toe: ground rises at 3 % to the north, the bank at 1.5:1 to the south; closed by walls at both ends.
    let across = [(-3.0, 2.0), (0.0, 0.0), (60.0, 1.8)];
    let at = |x: f64, lift: f64| across.map(|(y, z)| Point3::new(x, y, z + lift));
    let vertices = [at(0.0, 5.0), at(0.001, 0.0), at(100.001, 0.0), at(100.002, 5.0)].concat();
    let cells = (0..3).flat_map(|i| (0..2).map(move |j| 3 * i + j));
    let triangles = cells.flat_map(|a| [[a, a + 3, a + 4], [a, a + 4, a + 1]]).collect();
    let bank = Tin::from_triangles(vertices, triangles).unwrap();
    let water = pool(&bank, &[Point::new(50.0, 0.1)], deep);
    assert!(water.holds() && (water.volume / 100.0 - 5.04).abs() < 1e-3, "{water:?}");
    assert!((water.volume / 100.0 / (deep * deep) - 17.42).abs() < 5e-3, "{water:?}");
}

#[test]
fn round_bowls_converge() {
    type Bowl = fn(f64) -> f64;
    // z = k r^2 filled to h: pi h^2 / (2k), k 0.002, h 2. Sphere cap of radius 30, depth 3: pi h^2 (3R - h)/3.
    let bowls: [(Bowl, f64, f64); 2] =
        [(|r| 0.002 * r * r, 2.0, 3_141.592_7), (|r| 30.0 - (900.0 - r * r).sqrt(), 3.0, 819.955_7)];
    for (height, level, volume) in bowls {
        let error = |n: u32| {
            let half = if level == 2.0 { 40.0 } else { 16.0 };
            let low = Point::new(-half, -half);
            let bowl = grid(low, Point::new(half, half), n, |p| height(p.x.hypot(p.y)));
            let water = pool(&bowl, &[Point::new(0.5, 0.25)], level);
            assert!(water.holds());
            let shore = area_of_ring(&water.shore[0]);
            near(shore, water.area);
            (volume - water.volume) / volume
        };
        let (coarse, fine) = (error(40), error(80));
        assert!(fine > 0.0 && fine < 2e-3 && coarse / fine > 3.0, "{coarse} then {fine}");
    }
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(32))]

    /// Water rises: storage grows with the level, its slope is the area, and what a pool holds never depends on which
    /// of its places was asked.
    #[test]
    fn storage_grows_by_its_area(seed in 0u64..1000, level in 99.5..100.5f64) {
        let surface = super::super::examples::rough(seed, 200, 60.0, |p| {
            100.0 + 0.4 * (p.x * 0.3).sin() * (p.y * 0.25).cos() + 0.02 * (p.x - 30.0).abs()
        });
        let lowest = surface.vertices().iter().min_by(|a, b| a.z.total_cmp(&b.z)).unwrap().plan();
        let step = 1e-3;
        let rows = stage_storage(&surface, &[lowest], &[level, level + step]);
        let whole = [below(&surface, level), below(&surface, level + step)];
        proptest::prop_assert!(rows[0].volume <= rows[1].volume && rows[0].volume <= whole[0].volume + 1e-9);
        let gain = whole[1].volume - whole[0].volume;
        proptest::prop_assert!(gain >= step * whole[0].area - 1e-9 && gain <= step * whole[1].area + 1e-9);
        // Just below the spill the pool is inside; at any level above, it reaches the rim.
        let (spill, place) = spill_from(&surface, &[lowest]);
        proptest::prop_assert!(place.is_some_and(|p| p.z == spill));
        let reaches = |level: f64| {
            let wet = flooded(&surface, &starts(&surface, &[lowest]), level);
            wet.iter().any(|&id| (0..3).any(|k| {
                let ends = [k, (k + 1) % 3].map(|k| surface.corners(id)[k].z);
                surface.neighbour(id, k).is_none() && ends[0].min(ends[1]) < level
            }))
        };
        proptest::prop_assert!(!reaches(spill) && reaches(spill + 1e-9));
    }
}
