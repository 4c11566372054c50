//! Pits placed beside walls: against every other place by brute force, and what they keep clear of.

use super::*;
use crate::geom::{Bounds, Vector};
use crate::ground::Ground;
use crate::notes::{Note, Silent};
use crate::surface::{Locator, Tin, cut_and_fill};
use crate::works::dam::tests::{valley, wanted as wall};
use crate::works::{SitePlan, Wanted, Work, WorksError, design, distance};

fn beside() -> Beside {
    Beside {
        work: "wall".to_owned(),
        within: None,
        clear: Length::metres(6.0),
        deep: Length::metres(1.5),
        obstacles: Vec::new(),
    }
}

fn pit(beside: Beside) -> PitWanted {
    PitWanted {
        beside: Some(beside),
        topsoil: Length::metres(0.1),
        ..PitWanted::usual("pit", Purpose::Borrow, &[], 2.0, PitDepth::FillOf("wall".to_owned()))
    }
}

fn both(ground: &Ground, asked: PitWanted) -> Result<(SitePlan, Vec<Note>), WorksError> {
    let works: [Wanted; 2] = [wall(102.0).into(), asked.into()];
    design(ground, &works, &Silent).map(|plan| (plan.value, plan.notes))
}

fn placed(plan: &SitePlan) -> &Pit {
    match &plan.works[1] {
        Work::Pit(pit) => pit,
        _ => panic!("a pit"),
    }
}

/// Fill by columns: places and heights.
fn columns(before: &Tin, after: &Tin) -> Vec<(Point, f64)> {
    let (before, after) = (Locator::new(before), Locator::new(after));
    let all = (-60..60).flat_map(|i| (-60..60).map(move |j| Point::new(f64::from(i) + 0.5, f64::from(j) + 0.5)));
    all.filter_map(|p| Some((p, after.elevation(p)? - before.elevation(p)?))).filter(|cell| cell.1 > 0.0).collect()
}

#[test]
fn a_placed_pit_yields_the_fill_and_keeps_clear() {
    let ground = valley(0.015, 0.06, 0.08);
    let (plan, notes) = both(&ground, pit(beside())).unwrap();
    let chosen = placed(&plan);
    let placed = chosen.placed.as_ref().expect("placed");
    // It yields what the wall takes, and is about as deep as asked.
    let bank = cut_and_fill(&plan.surfaces[0].raised_by(-0.1), &plan.surfaces[1], None).cut;
    let fill = cut_and_fill(&ground.tin, &plan.surfaces[0], None).fill;
    let wanted = fill / chosen.wanted.soil.placed_per_bank;
    assert!((bank / wanted - 1.0).abs() < 1e-3, "{bank} {wanted}");
    assert!(chosen.depth.in_metres() > 1.1 && chosen.depth.in_metres() <= 1.55, "{:?}", chosen.depth);
    // Its rim keeps 6 m from the wall.
    let wall = plan.shared().next().expect("the wall");
    for rim in chosen.cut_footprint.iter().flat_map(|polygon| &polygon.outer) {
        assert!(wall.fill_footprint.iter().all(|fill| distance(fill, *rim) > 5.9), "{rim:?}");
    }
    // Its haul, by columns of the fill and 20 by 20 parts of the floor.
    let cells = columns(&ground.tin, &plan.surfaces[0]);
    let total: f64 = cells.iter().map(|cell| cell.1).sum();
    let corners = &chosen.floor.outer;
    let (mut mean, parts) = (0.0, 20);
    for i in 0..parts {
        for j in 0..parts {
            let [u, v] = [i, j].map(|k| (f64::from(k) + 0.5) / f64::from(parts));
            let place = corners[0] + (corners[1] - corners[0]) * u + (corners[3] - corners[0]) * v;
            mean += cells.iter().map(|cell| cell.1 / total * cell.0.distance(place)).sum::<f64>()
                / f64::from(parts * parts);
        }
    }
    assert!((placed.mean.in_metres() / mean - 1.0).abs() < 0.01, "{:?} {mean}", placed.mean);
    assert!((placed.haul / (placed.mean.in_metres() * wanted) - 1.0).abs() < 1e-3);
    let (_, next) = placed.runner_up.expect("a runner-up");
    assert!(next >= placed.haul);
    let told = notes.iter().find(|note| note.code == "works::pit-placed").expect("told");
    assert!(told.text.contains("m3 m") && told.text.contains("next best"), "{}", told.text);
    // The same again, to the last bit.
    let (again, _) = both(&ground, pit(beside())).unwrap();
    assert_eq!(self::placed(&again).floor, chosen.floor);
}

/// No rectangle that the search might have taken has a shorter haul: the same shape at every place of a finer grid that
/// keeps clear, by brute force.
#[test]
fn no_other_place_for_the_same_rectangle_is_nearer() {
    let ground = valley(0.015, 0.06, 0.08);
    let (plan, _) = both(&ground, pit(beside())).unwrap();
    let chosen = placed(&plan);
    let wall = plan.shared().next().expect("the wall");
    let cells = columns(&ground.tin, &plan.surfaces[0]);
    let total: f64 = cells.iter().map(|cell| cell.1).sum();
    let haul = |place: Point| cells.iter().map(|cell| cell.1 / total * cell.0.distance(place)).sum::<f64>();
    let middle = chosen.placed.as_ref().expect("placed").middle;
    let rim = chosen.rim.points();
    let clear =
        |shift: Vector| rim.iter().all(|&p| wall.fill_footprint.iter().all(|fill| distance(fill, p + shift) >= 6.3));
    let best = haul(middle);
    let around = Bounds::around([middle]).expect("a place").grown(60.0);
    let mut y = around.low.y;
    while y <= around.high.y {
        let mut x = around.low.x;
        while x <= around.high.x {
            let other = Point::new(x, y);
            // The grid of the search is 2 m: a place between its nodes may be so much nearer.
            assert!(haul(other) > best - 2.0 || !clear(other - middle), "{other:?} is nearer than {middle:?}");
            x += 4.0;
        }
        y += 4.0;
    }
}

#[test]
fn region_and_obstacles_move_a_pit_and_no_room_is_told() {
    let ground = valley(0.015, 0.06, 0.08);
    let square = |x: f64, y: f64, half: f64| {
        let corners = [(-half, -half), (half, -half), (half, half), (-half, half)];
        Polygon::simple(corners.map(|(a, b)| Point::new(x + a, y + b)).to_vec())
    };
    let (free, _) = both(&ground, pit(beside())).unwrap();
    let middle = placed(&free).placed.as_ref().expect("placed").middle;
    let haul = placed(&free).placed.as_ref().expect("placed").haul;
    // A tree where it would lie.
    let tree = square(middle.x, middle.y, 0.5);
    let (moved, _) = both(&ground, pit(Beside { obstacles: vec![tree.clone()], ..beside() })).unwrap();
    let pit_moved = placed(&moved);
    assert!(pit_moved.cut_footprint.iter().all(|cut| distance(cut, Point::new(middle.x, middle.y)) > 5.9));
    assert!(pit_moved.placed.as_ref().expect("placed").haul >= haul);
    // A region far up the valley.
    let region = square(20.0, 120.0, 45.0);
    let (far, _) = both(&ground, pit(Beside { within: Some(region.clone()), ..beside() })).unwrap();
    assert!(placed(&far).rim.points().iter().all(|&place| region.contains(place)));
    // A region too small for it.
    let none = both(&ground, pit(Beside { within: Some(square(20.0, 60.0, 6.0)), ..beside() })).unwrap_err();
    assert!(matches!(&none, WorksError::NoRoomForPit { bank, .. } if *bank > 100.0), "{none}");
    assert!(none.to_string().contains("past the region"), "{none}");
    let nobody = both(&ground, pit(Beside { work: "bank".to_owned(), ..beside() })).unwrap_err();
    assert!(matches!(nobody, WorksError::NoEarlierWork { .. }), "{nobody}");
}

/// A pit at the bottom of the valley above the wall lies under its full supply; one on the valley's side does not.
#[test]
fn a_pit_in_the_reservoir_is_flooded_by_it() {
    let ground = valley(0.015, 0.06, 0.08);
    let (plan, _) = both(&ground, pit(beside())).unwrap();
    let Work::Dam(dam) = &plan.works[0] else { panic!("a dam") };
    let flooded = |place: Point| plan.flooded_by("pit", place).map(|work| work.name.to_owned());
    assert_eq!(flooded(dam.seeds[0]).as_deref(), Some("wall"));
    assert_eq!(plan.flooded_by("wall", dam.seeds[0]).map(|work| work.name), None, "its own water is not told");
    // Dug at the bottom of the valley it is told as lying under that water, and not to be let run over.
    let corners = [(-5.0, 40.0), (5.0, 40.0), (5.0, 50.0), (-5.0, 50.0)];
    let asked = PitWanted::usual("pit", Purpose::Borrow, &corners, 2.0, PitDepth::Below(Length::metres(1.0)));
    let (_, notes) = both(&ground, asked).unwrap();
    let codes: Vec<&str> = notes.iter().map(|note| note.code.as_str()).collect();
    assert!(codes.contains(&"works::pit-under-water") && !codes.contains(&"works::pit-holds-water"), "{codes:?}");
    let low = Locator::new(plan.surfaces.last().unwrap());
    for k in -55..=55 {
        let place = Point::new(f64::from(k), 30.0);
        let wet = low.elevation(place).is_some_and(|z| z < dam.crest.water_level.in_metres() - 1e-9);
        assert!(wet || flooded(place).is_none(), "{place:?}");
    }
}
