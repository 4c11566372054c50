//! Works on each other: a swale that leads into a pond, walls whose fills touch, a pond through a wall and its gully. Of each
//! the volumes close, the surface is watertight, and its area is the hull's.

use super::apply::overlap;
use super::dam::DamWanted;
use super::dam::tests::{valley, wanted as wall};
use super::pit::{PitDepth, PitWanted, Purpose};
use super::tests::{hillside, wanted as swale};
use super::*;
use crate::geom::{CompensatedSum, Point};
use crate::notes::Silent;
use crate::soil::Placement;
use crate::surface::sound::assert_sound;
use crate::surface::{cut_and_fill, pool};
use crate::units::{Elevation, Length};

/// Water from two sills of an upper swale runs onto the berm of a lower one: told once.
#[test]
fn water_that_runs_onto_another_berm_is_told_once_a_pair() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut upper = SwaleWanted { water_level: WaterLevel::Elevation(Elevation::metres(432.8)).into(), ..swale() };
    upper.spillways = [60.0, 110.0]
        .map(|station| SpillwayWanted {
            at: SpillwayPlace::Station(crate::units::Station::metres(station)),
            ..SpillwayWanted::usual(Length::metres(6.0))
        })
        .to_vec();
    let lower = SwaleWanted {
        name: "lower".to_owned(),
        water_level: WaterLevel::Elevation(Elevation::metres(432.0)).into(),
        ..swale()
    };
    let made = design(&ground, &[upper, lower], &Silent).unwrap();
    let met = made.value.swale(0).spillways.iter().filter(|spillway| {
        let path = spillway.exit.as_ref().unwrap();
        path.resampled(0.25)
            .points()
            .iter()
            .any(|&p| made.value.swale(1).fill_footprint.iter().any(|area| area.contains(p)))
    });
    assert_eq!(met.count(), 2);
    let told = made.notes.iter().filter(|note| note.code == "works::exit-onto-work");
    assert_eq!(told.count(), 1, "{:#?}", made.notes);
}

fn pond(corners: &[(f64, f64)], floor: f64, through: Option<&str>) -> PitWanted {
    let depth = PitDepth::Floor(Elevation::metres(floor));
    PitWanted {
        through: through.map(str::to_owned),
        placement: Placement::TrackWalked,
        ..PitWanted::usual("pond", Purpose::Pond, corners, 3.0, depth)
    }
}

/// Volume of the prisms between a surface and a level under it, and its area.
fn over(tin: &Tin, level: f64) -> (f64, f64) {
    let (mut volume, mut area) = (CompensatedSum::default(), CompensatedSum::default());
    for id in tin.ids() {
        let [a, b, c] = tin.corners(id);
        let plan = (b.plan() - a.plan()).cross(c.plan() - a.plan()) / 2.0;
        area.add(plan);
        volume.add(plan * ((a.z + b.z + c.z) / 3.0 - level));
    }
    (volume.total(), area.total())
}

/// What must hold of works on each other, by sums over the triangles of each surface and by exact overlay.
fn assert_closed(ground: &Ground, plan: &SitePlan, level: f64) {
    let last = plan.surfaces.last().expect("a surface");
    assert_sound(last);
    // Watertight: an edge without a neighbour lies on the hull of the ground, on a side of its rectangle.
    let bounds = crate::geom::Bounds::around(ground.tin.vertices().iter().map(|v| v.plan())).expect("ground");
    for id in last.ids() {
        let corners = last.corners(id);
        for k in (0..3).filter(|&k| last.neighbour(id, k).is_none()) {
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let on = |p: f64, q: f64, side: f64| p == side && q == side;
            let x = on(a.x, b.x, bounds.low.x) || on(a.x, b.x, bounds.high.x);
            assert!(x || on(a.y, b.y, bounds.low.y) || on(a.y, b.y, bounds.high.y), "{a:?} {b:?} is a gap");
        }
    }
    let ((under, hull), (now, area)) = (over(&ground.tin, level), over(last, level));
    assert!((area / hull - 1.0).abs() < 1e-12, "{area} {hull}");
    // Step by step, from ground to final, and by the prisms of the surfaces themselves.
    let mut before = &ground.tin;
    let (mut net, mut moved) = (0.0, 0.0);
    for after in &plan.surfaces {
        let step = cut_and_fill(before, after, None);
        net += step.fill - step.cut;
        moved += step.fill + step.cut;
        before = after;
    }
    let whole = cut_and_fill(&ground.tin, last, None);
    assert!(moved > 100.0 && whole.cut + whole.fill > 100.0);
    assert!((net - (whole.fill - whole.cut)).abs() < 1e-9 * moved, "{net} {whole:?}");
    assert!((net - (now - under)).abs() < 1e-6 * moved, "{net} {}", now - under);
}

/// A swale along the hill whose channel opens into a pond dug through its end: both hold one water, to the swale's sill.
#[test]
fn a_swale_leads_into_a_pond() {
    let ground = hillside(10, |_, y| 430.0 + 0.04 * y);
    let mut asked = swale();
    asked.spillways[0].at = SpillwayPlace::Station(crate::units::Station::metres(60.0));
    let alone = design(&ground, std::slice::from_ref(&asked), &Silent).unwrap().value;
    let channel = alone.swale(0).bed_axis.clone();
    let (end, along) = (channel.last(), channel.direction(channel.length()));
    let aside = along.left();
    let corners = [(-9.0, -3.0), (-1.0, -3.0), (-1.0, 5.0), (-9.0, 5.0)].map(|(u, v)| {
        let place = end + along * u + aside * v;
        (place.x, place.y)
    });
    let bed = alone.swale(0).section.bed.in_metres();
    let dig = pond(&corners, bed - 0.9, Some("upper"));
    let refused = design(
        &ground,
        &[asked.clone().into(), PitWanted { through: None, ..dig.clone() }.into()] as &[Wanted; 2],
        &Silent,
    );
    assert!(matches!(refused.unwrap_err(), WorksError::CutsEarlierWork { .. }));
    let plan = design(&ground, &[asked.into(), dig.into()] as &[Wanted; 2], &Silent).unwrap();
    let (plan, notes) = (plan.value, plan.notes);
    assert_closed(&ground, &plan, 420.0);
    // One water: the pond stands at the lower of the swale's sill and the berm that it was dug through, with the channel full.
    let shared = plan.works[1].shared();
    let (sill, stands) = (plan.swale(0).water_level.in_metres(), shared.pool.unwrap().water_level.in_metres());
    assert!(stands <= sill + 1e-6, "{stands} {sill}");
    let held = pool(plan.surfaces.last().unwrap(), channel.points(), stands);
    let told = shared.pool.unwrap().storage.volume.in_cubic_metres();
    assert!((held.volume - told).abs() < 1e-6 * told, "{} {told}", held.volume);
    assert!(notes.iter().any(|note| note.code == "works::one-water" && note.text.contains("upper")), "{notes:#?}");
    assert!(
        notes.iter().any(|note| note.text.ends_with(&format!("they hold {told:.1} m3 together up to that level"))),
        "{notes:#?}"
    );
}

/// Two walls down a valley, the foot of one on the face of the other: everywhere the higher of both roofs and the ground.
#[test]
fn walls_whose_fills_touch_are_the_higher_of_both() {
    let ground = valley(0.015, 0.06, 0.08);
    let second = DamWanted {
        name: "upper".to_owned(),
        axis: vec![Point::new(-60.0, 13.0), Point::new(60.0, 13.0)],
        ..wall(102.2)
    };
    let plan = design(&ground, &[wall(102.0), second], &Silent).unwrap().value;
    assert_closed(&ground, &plan, 90.0);
    let built = Locator::new(plan.surfaces.last().unwrap());
    let natural = Locator::new(&ground.tin);
    // Crests 3 m wide at 102.6 and 102.8, 3:1 up the valley, 2.5:1 down it.
    let roof = |y: f64, axis: f64, crest: f64| {
        let off = y - axis;
        let batter = if off > 0.0 { 3.0 } else { 2.5 };
        crest - (off.abs() - 1.5).max(0.0) / batter
    };
    let (mut both, mut worst) = (0, 0.0_f64);
    for i in -40..=40 {
        for j in -60..=120 {
            let place = Point::new(f64::from(i) * 0.25, f64::from(j) * 0.25);
            let (first, second) = (roof(place.y, 0.0, 102.6), roof(place.y, 13.0, 102.8));
            let ground = natural.elevation(place).unwrap();
            let exact = first.max(second).max(ground);
            worst = worst.max((built.elevation(place).unwrap() - exact).abs());
            both += u32::from(first > ground && second > ground);
        }
    }
    assert!(both > 500, "the fills do not touch: {both}");
    assert!(worst < 1e-5, "{worst}");
}

/// A pond through a wall and the gully behind it: what is left of both closes, and the pond's own bowl is whole.
#[test]
fn a_pond_through_a_wall_and_its_gully() {
    let ground = valley(0.015, 0.06, 0.08);
    let corners = [(-8.0, 2.0), (8.0, 2.0), (8.0, 18.0), (-8.0, 18.0)];
    let dig = pond(&corners, 99.0, Some("wall"));
    let plan = design(&ground, &[wall(103.0).into(), dig.into()] as &[Wanted; 2], &Silent).unwrap().value;
    assert_closed(&ground, &plan, 90.0);
    let cut = plan.works[1].shared();
    assert!(overlap(cut.cut_footprint, plan.works[0].shared().fill_footprint).is_some());
    // Over the floor and its sides the bowl stands where it lies under the wall's surface: 3:1 from a rectangle.
    let (before, after) = (Locator::new(&plan.surfaces[0]), Locator::new(&plan.surfaces[1]));
    let mut worst = 0.0_f64;
    for i in -80..=80 {
        for j in -60..=140 {
            let place = Point::new(f64::from(i) * 0.25, f64::from(j) * 0.25);
            let out = (place.x.abs() - 8.0).max((place.y - 10.0).abs() - 8.0).max(0.0);
            let (bowl, was) = (99.0 + out / 3.0, before.elevation(place).unwrap());
            let inside = cut.cut_footprint.iter().any(|region| region.contains(place));
            let exact = if inside { bowl.min(was) } else { was };
            worst = worst.max((after.elevation(place).unwrap() - exact).abs());
        }
    }
    assert!(worst < 1e-5, "{worst}");
}
