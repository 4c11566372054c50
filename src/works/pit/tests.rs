//! Pits on closed-form ground.

use super::*;
use crate::geom::snap_point;
use crate::ground::Ground;
use crate::notes::Silent;
use crate::surface::cut_and_fill;
use crate::surface::sound::assert_sound;
use crate::works::{WorksError, design};

/// Ground on a nudged grid of 10 m over 200 m by 200 m.
pub(in crate::works) fn ground(height: impl Fn(f64, f64) -> f64) -> Ground {
    let mut points = Vec::new();
    for i in 0..=20 {
        for j in 0..=20 {
            let inner = i > 0 && i < 20 && j > 0 && j < 20;
            let nudge = if inner { f64::from((i * 7 + j * 13) % 5) * 0.1 } else { 0.0 };
            let p = snap_point(Point::new(f64::from(i) * 10.0 - 100.0 + nudge, f64::from(j) * 10.0 - 100.0 - nudge));
            points.push(p.at(height(p.x, p.y)));
        }
    }
    Ground::of_points(&points)
}

pub(in crate::works) fn rectangle(length: f64, width: f64) -> Vec<Point> {
    let (a, b) = (length / 2.0, width / 2.0);
    [(-a, -b), (a, -b), (a, b), (-a, b)].map(|(x, y)| Point::new(x, y)).to_vec()
}

pub(in crate::works) fn wanted(floor: Vec<Point>, batter: f64, depth: PitDepth) -> PitWanted {
    let placement = Placement::TrackWalked;
    PitWanted { floor, placement, ..PitWanted::usual("tank", Purpose::Pond, &[], batter, depth) }
}

pub(super) fn dug(ground: &Ground, asked: &PitWanted) -> (Pit, crate::surface::Tin) {
    let mut plan = design(ground, std::slice::from_ref(asked), &Silent).unwrap().value;
    let Some(crate::works::Work::Pit(pit)) = plan.works.pop() else { panic!("a pit") };
    (pit, plan.surfaces.pop().unwrap())
}

pub(super) fn fails(ground: &Ground, asked: PitWanted) -> WorksError {
    design(ground, &[asked], &Silent).unwrap_err()
}

pub(in crate::works) fn below(metres: f64) -> PitDepth {
    PitDepth::Below(Length::metres(metres))
}

/// V = d [ab + (a + b) s d + 4/3 s2 d2] for a floor of a by b.
pub(in crate::works) fn frustum(a: f64, b: f64, s: f64, d: f64) -> f64 {
    d * (a * b + (a + b) * s * d + 4.0 / 3.0 * s * s * d * d)
}

#[test]
fn an_excavated_pond_is_its_closed_form() {
    let level = ground(|_, _| 100.0);
    let (pit, after) = dug(&level, &wanted(rectangle(20.0, 12.0), 3.0, below(2.5)));
    assert_eq!(frustum(20.0, 12.0, 3.0, 2.5), 1387.5);
    let cut = cut_and_fill(&level.tin, &after, None).cut;
    assert!((cut - 1387.5).abs() < 1387.5e-9, "{cut}");
    let held = pit.storage.volume.in_cubic_metres();
    assert!((held - 1387.5).abs() < 1387.5e-9, "{held}");
    assert!((pit.storage.area.in_square_metres() - 35.0 * 27.0).abs() < 1e-6);
    assert!((pit.rim.length() - 2.0 * (35.0 + 27.0)).abs() < 1e-6);
    assert_sound(&after);
}

/// Agriculture Handbook 590 (from memory): floor 40 by 100 ft, 12 ft deep, 2:1, printed 3,612 yd3. Math Central: top 385 by
/// 335 ft, 18 ft deep, 4:1, printed 1,512,846 ft3.
#[test]
fn published_ponds() {
    const FOOT: f64 = 0.3048;
    let level = ground(|_, _| 100.0);
    let volume = |length: f64, width: f64, batter: f64, depth: f64| {
        let floor = rectangle(length * FOOT, width * FOOT);
        let (_, after) = dug(&level, &wanted(floor, batter, below(depth * FOOT)));
        cut_and_fill(&level.tin, &after, None).cut / FOOT.powi(3)
    };
    let cubic_yards = volume(100.0, 40.0, 2.0, 12.0) / 27.0;
    assert!((cubic_yards - 3612.0).abs() < 0.5, "{cubic_yards}");
    let cubic_feet = volume(241.0, 191.0, 4.0, 18.0);
    assert!((cubic_feet - 1_512_846.0).abs() < 1.0, "{cubic_feet}");
}

#[test]
fn a_pond_on_a_slope_stands_full_at_its_low_rim() {
    let slope = ground(|_, y| 100.0 + 0.04 * y);
    let asked =
        PitWanted { water: PitWater::Freeboard(Length::metres(0.3)), ..wanted(rectangle(20.0, 12.0), 3.0, below(2.0)) };
    let (pit, after) = dug(&slope, &asked);
    // Floor at 2 m under the ground at y = -6; the low side meets the ground where 97.76 + t / 3 = 99.76 - 0.04 t.
    assert!((pit.floor_level.in_metres() - 97.76).abs() < 1e-6);
    let low = 99.76 - 0.04 * (2.0 / (1.0 / 3.0 + 0.04));
    assert!((pit.storage.spill.in_metres() - low).abs() < 1e-4, "{:?}", pit.storage);
    assert!((pit.water_level.in_metres() - (low - 0.3)).abs() < 1e-4);
    // Full, its water is a frustum.
    let held = frustum(20.0, 12.0, 3.0, low - 0.3 - 97.76);
    assert!(
        (pit.storage.volume.in_cubic_metres() - held).abs() < held * 1e-4,
        "{} {held}",
        pit.storage.volume.in_cubic_metres()
    );
    assert_sound(&after);
}

#[test]
fn a_pond_is_solved_to_hold_and_a_pit_to_yield() {
    let slope = ground(|x, y| 100.0 + 0.02 * y + 0.01 * x);
    let asked = PitWanted {
        water: PitWater::Freeboard(Length::metres(0.3)),
        shelf: Some(ShelfWanted { below_water: Length::metres(0.4), width: Length::metres(2.0) }),
        ramp: Some(RampWanted { side: 1, slope: Batter::horizontal_per_vertical(6.0), width: Length::metres(4.0) }),
        ..wanted(rectangle(24.0, 15.0), 2.5, PitDepth::ToHold(Volume::cubic_metres(900.0)))
    };
    let (pit, after) = dug(&slope, &asked);
    assert!((pit.storage.volume.in_cubic_metres() - 900.0).abs() < 0.9, "{:?}", pit.storage);
    // A second way: columns of 0.25 m under the water.
    let locator = crate::surface::Locator::new(&after);
    let mut walker = locator.walker();
    let mut water = 0.0;
    for i in -240..240 {
        for j in -240..240 {
            let place = Point::new((f64::from(i) + 0.5) * 0.25, (f64::from(j) + 0.5) * 0.25);
            if !pit.cut_footprint[0].contains(place) {
                continue;
            }
            water += (pit.water_level.in_metres() - walker.elevation(place).unwrap()).max(0.0) * 0.0625;
        }
    }
    assert!((water - 900.0).abs() < 9.0, "{water}");
    let shelf = pit.shelf.unwrap();
    assert!((pit.water_level - shelf).in_metres() - 0.4 < 0.003);
    assert_sound(&after);

    let topsoil = Length::metres(0.15);
    let asked = PitWanted {
        purpose: Purpose::Borrow,
        topsoil,
        ..wanted(rectangle(24.0, 15.0), 1.5, PitDepth::ToYield(Volume::cubic_metres(700.0)))
    };
    let (_, after) = dug(&slope, &asked);
    let bank = cut_and_fill(&slope.tin.raised_by(-0.15), &after, None).cut;
    assert!((bank - 700.0).abs() < 0.07, "{bank}");
}

/// What a ramp of slope s and width w takes beside a side of batter b, in level ground: at x from the floor it lies
/// h = min(x / b, d) - x / s below the side, its section is w h + b h2, and over its length that is
/// w (s - b) d2 / 2 + b (s - b)2 d3 / (3 s).
fn ramp_alone(width: f64, slope: f64, batter: f64, depth: f64) -> f64 {
    let flatter = slope - batter;
    width * flatter * depth * depth / 2.0 + batter * flatter * flatter * depth.powi(3) / (3.0 * slope)
}

/// What a ramp adds to the cut of a pit of 2:1 in level ground.
fn ramp_cut(ground: &Ground, width: f64, slope: f64, depth: f64) -> f64 {
    let without = wanted(rectangle(18.0, 18.0), 2.0, below(depth));
    let (slope, width) = (Batter::horizontal_per_vertical(slope), Length::metres(width));
    let with = PitWanted { ramp: Some(RampWanted { side: 1, slope, width }), ..without.clone() };
    let cut = |asked: &PitWanted| cut_and_fill(&ground.tin, &dug(ground, asked).1, None).cut;
    cut(&with) - cut(&without)
}

#[test]
fn a_ramp_takes_its_closed_form_however_short_it_is() {
    let level = ground(|_, _| 100.0);
    for slope in [4.0, 6.0, 8.0] {
        for depth in [0.15, 0.3, 0.6, 0.8, 1.1, 1.11, 1.7, 2.5] {
            let (found, exact) = (ramp_cut(&level, 4.0, slope, depth), ramp_alone(4.0, slope, 2.0, depth));
            assert!((found - exact).abs() < 1e-4 * exact + 1e-5, "{slope}:1, {depth} m: {found} {exact}");
        }
    }
}

#[test]
fn any_outline_turned_either_way_is_dug() {
    let level = ground(|_, _| 100.0);
    let l = [(0.0, 0.0), (30.0, 0.0), (30.0, 12.0), (12.0, 12.0), (12.0, 30.0), (0.0, 30.0)];
    let ring: Vec<Point> = l.map(|(x, y)| Point::new(x, y)).to_vec();
    let (one, after) = dug(&level, &wanted(ring.clone(), 2.0, below(2.0)));
    assert_sound(&after);
    // The floor's prism, wedges along its sides, square corners outside, and one that is missing inside:
    // five mitred corners of s2 d3 / 3, and the inward corner takes as much away.
    let exact = 2.0 * 576.0 + 2.0 * 4.0 / 2.0 * 120.0 + (5.0 - 1.0) * 4.0 * 8.0 / 3.0;
    let cut = cut_and_fill(&level.tin, &after, None).cut;
    assert!((cut - exact).abs() < 1e-6 * exact, "{cut} {exact}");
    let turned: Vec<Point> = ring.into_iter().rev().collect();
    let (two, _) = dug(&level, &wanted(turned, 2.0, below(2.0)));
    assert!((one.storage.volume - two.storage.volume).in_cubic_metres().abs() < 1e-6);
}

#[test]
fn batters_belong_to_their_sides_whichever_way_the_outline_runs() {
    let level = ground(|_, _| 100.0);
    let four = |list: [f64; 4]| list.map(Batter::horizontal_per_vertical).to_vec();
    let ring = rectangle(20.0, 12.0);
    let asked = PitWanted { batters: four([2.0, 3.0, 4.0, 5.0]), ..wanted(ring.clone(), 2.0, below(2.0)) };
    let (pit, _) = dug(&level, &asked);
    let bounds = pit.cut_footprint[0].bounds().unwrap();
    assert!((bounds.low.y + 6.0 + 4.0).abs() < 1e-5 && (bounds.high.x - 10.0 - 6.0).abs() < 1e-5, "{bounds:?}");
    let turned = vec![ring[0], ring[3], ring[2], ring[1]];
    // Side 1 of the turned outline is the last of the other.
    let asked = PitWanted { batters: four([5.0, 4.0, 3.0, 2.0]), ..wanted(turned, 2.0, below(2.0)) };
    assert_eq!(dug(&level, &asked).0.cut_footprint[0].bounds().unwrap(), bounds);
}

#[test]
fn what_cannot_be_dug_is_said_with_its_place() {
    let slope = ground(|_, y| 100.0 + 0.04 * y);
    let square = || rectangle(20.0, 12.0);
    let high = fails(&slope, wanted(square(), 2.0, PitDepth::Floor(Elevation::metres(99.9))));
    assert!(matches!(high, WorksError::FloorAboveGround { above, .. } if (above - 0.14).abs() < 1e-6), "{high}");
    let edge = square().into_iter().map(|p| Point::new(p.x + 88.0, p.y)).collect();
    assert!(matches!(fails(&slope, wanted(edge, 2.0, below(2.0))), WorksError::LeavesSurvey { .. }));
    let region = Polygon {
        outer: slope.tin.bounds().map(|all| rectangle(2.0 * all.high.x, 2.0 * all.high.y)).unwrap(),
        holes: vec![rectangle(20.0, 20.0).into_iter().map(|p| Point::new(p.x + 30.0, p.y)).collect()],
    };
    let holed = Ground { tin: slope.tin.trimmed(None, Some(&region)), ..slope.clone() };
    let said = fails(&holed, wanted(square(), 2.0, below(6.0))).to_string();
    assert!(said.contains("the dig reaches a hole of 396") && said.contains(" m2 in the ground at E"), "{said}");
    // A hole wholly inside the floor, which its rim does not meet.
    let wide = rectangle(24.0, 24.0).into_iter().map(|p| Point::new(p.x + 30.0, p.y)).collect();
    let said = fails(&holed, wanted(wide, 2.0, below(1.0))).to_string();
    assert!(
        said.contains("part of its floor lies in a hole of 396") && said.contains(" m2 in the ground at E"),
        "{said}"
    );
    let off = square().into_iter().map(|p| Point::new(p.x + 95.0, p.y)).collect();
    assert!(matches!(fails(&slope, wanted(off, 2.0, below(2.0))), WorksError::PlaceOffSurvey { .. }));
    // Sides of 30:1 never come up to ground that falls at 1 in 25.
    assert!(matches!(
        fails(&slope, wanted(square(), 30.0, below(2.0))),
        WorksError::LeavesSurvey { .. } | WorksError::NeverMeetsGround { .. }
    ));
    let bow = vec![Point::new(0.0, 0.0), Point::new(20.0, 12.0), Point::new(20.0, 0.0), Point::new(-5.0, 14.0)];
    assert!(matches!(fails(&slope, wanted(bow, 2.0, below(2.0))), WorksError::BadFloor { .. }));
    let ramp = Some(RampWanted { side: 0, slope: Batter::horizontal_per_vertical(2.0), width: Length::metres(4.0) });
    assert!(matches!(
        fails(&slope, PitWanted { ramp, ..wanted(square(), 3.0, below(2.0)) }),
        WorksError::RampTooSteep { .. }
    ));
    let water = PitWater::Level(Elevation::metres(99.9));
    assert!(matches!(
        fails(&slope, PitWanted { water, ..wanted(square(), 2.0, below(2.0)) }),
        WorksError::WaterLevelOff { .. }
    ));
    let lots = PitDepth::ToHold(Volume::cubic_metres(1e6));
    assert!(matches!(
        fails(&slope, wanted(square(), 2.0, lots)),
        WorksError::CannotHold { .. } | WorksError::LeavesSurvey { .. }
    ));
    let named = fails(&slope, wanted(square(), 2.0, PitDepth::FillOf("wall".to_owned())));
    assert!(matches!(named, WorksError::NoEarlierWork { .. }), "{named}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(12))]

    /// A ramp takes more the deeper the pit is, and no jump: no more than its section grows by.
    #[test]
    fn a_ramp_grows_with_depth_without_a_jump(slope in 3.0..9.0f64, width in 2.5..5.0f64, depth in 0.12..2.0f64, more in 0.01..0.2f64) {
        let level = ground(|_, _| 100.0);
        let (shallow, deep) = (ramp_cut(&level, width, slope, depth), ramp_cut(&level, width, slope, depth + more));
        let grown = ramp_alone(width, slope, 2.0, depth + more) - ramp_alone(width, slope, 2.0, depth);
        proptest::prop_assert!(shallow > 0.0 && deep > shallow, "{} {}", shallow, deep);
        proptest::prop_assert!((deep - shallow - grown).abs() < 1e-3 * grown + 1e-4, "{} {}", deep - shallow, grown);
    }

    /// Any turned rectangle in uneven ground: the mesh stays sound and keeps its area, nothing changes outside the dig,
    /// inside it the surface is the lower of ground and bowl.
    #[test]
    fn a_pit_in_uneven_ground_is_exact(
        turn in 0.0..std::f64::consts::TAU,
        (length, width) in (6.0..30.0f64, 4.0..20.0f64),
        (batter, depth) in (1.0..4.0f64, 0.5..3.0f64),
        (fall, bump) in (-0.06..0.06f64, 0.0..0.3f64),
    ) {
        let uneven = ground(|x, y| 100.0 + fall * x + bump * (x / 11.0).sin() * (y / 13.0).cos());
        let (sin, cos) = turn.sin_cos();
        let floor: Vec<Point> =
            rectangle(length, width).iter().map(|p| Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)).collect();
        let asked = wanted(floor.clone(), batter, below(depth));
        let (pit, after) = dug(&uneven, &asked);
        assert_sound(&after);
        proptest::prop_assert!((after.plan_area() - uneven.tin.plan_area()).abs() < 1e-6);
        proptest::prop_assert!(pit.largest_difference < 1e-3, "{}", pit.largest_difference);
        let (was, is) = (crate::surface::Locator::new(&uneven.tin), crate::surface::Locator::new(&after));
        for i in -40..40 {
            for j in -40..40 {
                let place = Point::new(f64::from(i) * 1.37, f64::from(j) * 1.53);
                let (old, new) = (was.elevation(place).unwrap(), is.elevation(place).unwrap());
                let planes = (0..4).map(|k| {
                    let (a, b) = (floor[k], floor[(k + 1) % 4]);
                    (place - a).dot((b - a).unit().left() * -1.0) / batter
                });
                let bowl = pit.floor_level.in_metres() + planes.fold(0.0, f64::max);
                let exact = if pit.cut_footprint[0].contains(place) { old.min(bowl) } else { old };
                proptest::prop_assert!((new - exact).abs() < 1e-3, "{place:?}: {new} {exact} {old}");
            }
        }
    }
}
