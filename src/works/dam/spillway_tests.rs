//! Spillways of dams in a valley of two planes, by hand formula, by quadrature and for any valley.

use super::tests::{valley, wanted};
use super::*;
use crate::ground::Ground;
use crate::notes::{Note, Silent};
use crate::surface::sound::assert_sound;
use crate::surface::{Locator, Tin, cut_and_fill, pool};
use crate::units::{Elevation, Fall, Flow};
use crate::water::channel::Cover;
use crate::works::{Outlet, SillLength, SpillwayPlace, Work, WorksError, design};
use proptest::prelude::*;

pub(crate) fn spillway(length: f64) -> SpillwayWanted {
    SpillwayWanted {
        at: SpillwayPlace::Last,
        sill_length: SillLength::Length(Length::metres(length)),
        sill_breadth: Length::metres(2.0),
        head: None,
        flow: None,
        exit_fall: Some(Fall::percent(2.0)),
        batter: Batter::horizontal_per_vertical(2.0),
        approach_fall: Fall::percent(1.0),
        cover: Cover::MixedGrass,
        lined_by_engineer: false,
    }
}

fn with(full: f64, spillway: SpillwayWanted) -> DamWanted {
    DamWanted { spillway: Some(spillway), ..wanted(full) }
}

fn made(ground: &Ground, asked: &DamWanted) -> (Dam, Tin, Vec<Note>) {
    let plan = design(ground, std::slice::from_ref(asked), &Silent).unwrap();
    let mut value = plan.value;
    let Some(Work::Dam(dam)) = value.works.pop() else { panic!("a dam") };
    (dam, value.surfaces.pop().unwrap(), plan.notes)
}

fn outlet(dam: &Dam) -> &Outlet {
    dam.spillways[0].outlet.as_ref().unwrap()
}

/// Area of the cut across a floor of half width b with sides 1 in s, in ground that stands d over the middle of the floor
/// and rises at m across it: a trapezoid and two triangles, where both edges of the floor lie in the ground.
fn across(d: f64, m: f64, b: f64, s: f64) -> f64 {
    let (high, low) = (d + m * b, d - m * b);
    // A side over an edge that lies h deep runs out h / (1/s - m) uphill, h / (1/s + m) downhill.
    2.0 * b * d + high * high / (1.0 / s - m) / 2.0 + low * low / (1.0 / s + m) / 2.0
}

#[test]
fn the_cut_at_the_sill_is_its_prism() {
    let ground = valley(0.015, 0.06, 0.08);
    let (dam, surface, _) = made(&ground, &with(103.0, spillway(8.0)));
    let lip = &dam.spillways[0].lip;
    let (a, b) = (lip.first(), lip.last());
    // The sill lies east of the wall's end on its line, its lip 1 m down the flow, along the wall's line.
    assert!((a.y + 1.0).abs() < 1e-5 && (b.y + 1.0).abs() < 1e-5 && (b.x - a.x - 8.0).abs() < 1e-5, "{a:?} {b:?}");
    let middle = f64::midpoint(a.x, b.x);
    let deep = |y: f64| 100.0 + 0.015 * y + 0.08 * middle - 103.0;
    let band = |low: f64, high: f64| {
        Polygon::simple(
            [(20.0, low), (100.0, low), (100.0, high), (20.0, high)].map(|(x, y)| Point::new(x, y)).to_vec(),
        )
    };
    let dug = |low: f64, high: f64| cut_and_fill(&ground.tin, &surface, Some(&band(low, high))).cut;
    // The area is a quadratic of the depth, and the depth linear along the flow: Simpson's rule is exact.
    let prism = |low: f64, high: f64| {
        let area = |y: f64| across(deep(y), 0.08, 4.0, 2.0);
        (high - low) / 6.0 * (area(low) + 4.0 * area(f64::midpoint(low, high)) + area(high))
    };
    let (found, exact) = (dug(-0.6, 0.6), prism(-0.6, 0.6));
    assert!((found / exact - 1.0).abs() < 1e-5, "{found} {exact}");
    // Level from end to end and over its breadth.
    let built = Locator::new(&surface);
    for x in [a.x + 0.05, middle, b.x - 0.05] {
        for y in [-0.95, 0.0, 0.95] {
            assert!((built.elevation(Point::new(x, y)).unwrap() - 103.0).abs() < 1e-5);
        }
    }
    assert_sound(&surface);
}

#[test]
fn the_whole_cut_is_that_of_its_floor_and_sides() {
    let ground = valley(0.015, 0.06, 0.08);
    let (dam, _, notes) = made(&ground, &with(103.0, spillway(8.0)));
    let outlet = outlet(&dam);
    let natural = Locator::new(&ground.tin);
    let bounds = outlet.axis.bounds().grown(15.0);
    let cell = 0.2;
    let (mut dug, mut y) = (0.0, bounds.low.y);
    while y < bounds.high.y {
        let mut x = bounds.low.x;
        while x < bounds.high.x {
            let place = Point::new(x, y);
            let foot = outlet.axis.foot(place);
            // Beyond its ends there is no cut.
            if foot.station > 0.0 && foot.station < outlet.axis.length() {
                let side = (foot.offset.abs() - 4.0).max(0.0) / 2.0;
                let ground = natural.elevation(place).unwrap_or(f64::NEG_INFINITY);
                dug += (ground - outlet.floor_at(foot.station) - side).max(0.0) * cell * cell;
            }
            x += cell;
        }
        y += cell;
    }
    let found = outlet.bank.in_cubic_metres();
    assert!((found / dug - 1.0).abs() < 0.01, "{found} {dug}");
    // The floor falls both ways from the sill.
    let level = |station: f64| outlet.floor_at(station);
    assert!((level(0.0) - (103.0 - 0.01 * outlet.sill.0)).abs() < 1e-9);
    let length = outlet.axis.length();
    assert!((level(length) - (103.0 - 0.02 * (length - outlet.sill.1))).abs() < 1e-9);
    assert!(notes.iter().any(|note| note.code == "works::spillway-cut"));
    assert!(!notes.iter().any(|note| note.code == "works::no-spillway"), "there is one");
}

#[test]
fn the_water_leaves_over_the_sill_and_stays_clear_of_the_wall() {
    let ground = valley(0.015, 0.06, 0.08);
    let (without, _, _) = made(&ground, &wanted(103.0));
    for at in [SpillwayPlace::First, SpillwayPlace::Last] {
        let (dam, surface, _) = made(&ground, &with(103.0, SpillwayWanted { at, ..spillway(8.0) }));
        let outlet = outlet(&dam);
        assert!(dam.storage.at_sill && (dam.storage.spill.in_metres() - 103.0).abs() < 1e-4);
        // The approach holds a little more water.
        let more = dam.storage.volume.in_cubic_metres() - without.storage.volume.in_cubic_metres();
        assert!(more > 0.0 && more < outlet.bank.in_cubic_metres(), "{more}");
        assert!(outlet.clear.unwrap().in_metres() > 1.9 && outlet.clear_water.unwrap().in_metres() >= 5.0);
        // A hand's breadth over the sill the water is past it and away.
        assert!(pool(&surface, &dam.seeds, 103.05).spill < 103.05);
        // Below the channel the water runs down the valley, away from the wall.
        let exit = dam.spillways[0].exit.as_ref().unwrap();
        assert!(exit.points().iter().all(|p| p.y < -5.0), "{:?}", exit.first());
        assert_sound(&surface);
    }
}

#[test]
fn the_axis_written_the_other_way_turns_its_ends() {
    let ground = valley(0.015, 0.06, 0.08);
    let axis = vec![Point::new(60.0, 0.0), Point::new(-60.0, 0.0)];
    let asked = DamWanted { axis, ..with(103.0, SpillwayWanted { at: SpillwayPlace::First, ..spillway(8.0) }) };
    let (dam, _, _) = made(&ground, &asked);
    assert!(dam.spillways[0].lip.first().x > 45.0, "the first end of this axis is the eastern one");
    let from = dam.spillways[0].from.in_metres();
    assert!(from > dam.line.length() && dam.spillways[0].to.in_metres() > from);
}

#[test]
fn flood_rise_and_head_agree_or_are_told() {
    let ground = valley(0.015, 0.06, 0.08);
    let none = |spillway: SpillwayWanted| DamWanted { flood_rise: None, ..with(103.0, spillway) };
    let flow = |q: f64| Some(Flow::cubic_metres_per_second(q));
    // 1.5 x 8 x 0.3^1.5 = 1.972 m3/s; the crest takes its rise from the spillway, its approach counted.
    let (dam, _, _) =
        made(&ground, &none(SpillwayWanted { flow: flow(1.5 * 8.0 * 0.3_f64.powf(1.5)), ..spillway(8.0) }));
    let loss = outlet(&dam).approach_loss.in_metres();
    assert!(loss > 0.001 && loss < 0.05 && (dam.spillways[0].head.in_metres() - 0.3).abs() < 1e-9, "{loss}");
    assert!((dam.flood_rise.in_metres() - 0.3 - loss).abs() < 1e-3 && dam.crest.head == dam.flood_rise);
    assert!((dam.crest.settled_required().in_metres() - 103.3 - dam.flood_rise.in_metres()).abs() < 1e-9);
    // A rise given sizes the sill, for the head that its approach leaves.
    let for_flow = SillLength::ForFlow(Flow::cubic_metres_per_second(1.972));
    let (dam, _, _) = made(&ground, &with(103.0, SpillwayWanted { sill_length: for_flow, ..spillway(8.0) }));
    let sill = &dam.spillways[0];
    assert!((sill.flood_rise().in_metres() - 0.3).abs() < 1e-3 && sill.head.in_metres() < 0.299, "{sill:?}");
    assert!((1.5 * sill.sill_length.in_metres() * sill.head.in_metres().powf(1.5) - 1.972).abs() < 1e-9);
    assert_eq!(dam.flood_rise, Length::metres(0.3));
    // So a head as great as the rise said leaves nothing for the approach.
    let asked = with(103.0, SpillwayWanted { head: Some(Length::metres(0.299)), ..spillway(8.0) });
    let refused = design(&ground, &[asked], &Silent).unwrap_err();
    assert!(
        matches!(refused, WorksError::HeadOverRise { head, loss, .. } if head == 0.299 && loss > 0.005),
        "{refused}"
    );
    // More head than rise is refused with both, less is told with both.
    let asked = with(103.0, SpillwayWanted { flow: flow(3.0), ..spillway(8.0) });
    let refused = design(&ground, &[asked], &Silent).unwrap_err();
    assert!(
        matches!(refused, WorksError::HeadOverRise { head, rise, .. } if (head - 0.397).abs() < 1e-3 && rise == 0.3),
        "{refused}"
    );
    let (dam, _, notes) = made(&ground, &with(103.0, SpillwayWanted { flow: flow(1.0), ..spillway(8.0) }));
    assert!((dam.crest.head.in_metres() - 0.3).abs() < 1e-9);
    assert!((dam.spillways[0].head.in_metres() - 0.191).abs() < 1e-3);
    let needs = format!("{:.3} m for its flow", dam.spillways[0].flood_rise().in_metres());
    assert!(notes.iter().any(|note| note.code == "works::rise-over-head" && note.text.contains(&needs)), "{notes:#?}");
    let silent = design(&ground, &[none(spillway(8.0))], &Silent).unwrap_err();
    assert!(matches!(silent, WorksError::NoFloodRise { .. }), "{silent}");
}

#[test]
fn a_spillway_where_none_can_be_is_refused_with_its_place() {
    let ground = valley(0.015, 0.06, 0.08);
    let fails = |spillway: SpillwayWanted| design(&ground, &[with(103.0, spillway)], &Silent).unwrap_err();
    let at = |x: f64, y: f64| SpillwayWanted { at: SpillwayPlace::Through(Point::new(x, y)), ..spillway(6.0) };
    // Down the dry side of the wall natural ground lies below full supply.
    let fill = fails(at(22.0, -45.0));
    assert!(matches!(fill, WorksError::SillOnFill { below, .. } if below > 0.5), "{fill}");
    let near = fails(at(47.0, 0.0));
    assert!(matches!(near, WorksError::SpillwayTooNear { .. }), "{near}");
    let on_wall =
        fails(SpillwayWanted { at: SpillwayPlace::Station(crate::units::Station::metres(40.0)), ..spillway(6.0) });
    assert!(matches!(on_wall, WorksError::SpillwayOnWall { .. }), "{on_wall}");
    // So gentle a side that the ridge between lies under the crest.
    let low = fails(at(43.0, -30.0));
    assert!(matches!(low, WorksError::LowRidge { .. } | WorksError::SillOnFill { .. }), "{low}");
    // An engineer's lined design takes the fill upon itself, and that is told.
    let lined = SpillwayWanted { lined_by_engineer: true, ..at(60.0, 0.0) };
    let (dam, _, _) = made(&ground, &with(103.0, lined));
    assert!(!dam.spillways[0].on_fill);
}

#[test]
fn water_that_runs_too_fast_is_told_with_what_would_mend_it() {
    let ground = valley(0.015, 0.06, 0.08);
    let (_, _, notes) = made(
        &ground,
        &with(103.0, SpillwayWanted { exit_fall: Some(Fall::percent(4.0)), cover: Cover::BunchGrass, ..spillway(8.0) }),
    );
    let note = notes.iter().find(|note| note.code == "works::channel-too-fast").expect("told");
    assert!(note.text.contains("0.76 m/s") && note.text.contains("exit-fall"), "{}", note.text);
    // Half a per cent holds the water up over the sill.
    let (_, _, notes) =
        made(&ground, &with(103.0, SpillwayWanted { exit_fall: Some(Fall::percent(0.5)), ..spillway(8.0) }));
    assert!(notes.iter().any(|note| note.code == "works::channel-holds-back"), "{notes:#?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, ..ProptestConfig::default() })]
    /// In any valley: the sill is full supply, nothing before it is higher, the cut keeps clear of the wall, and what is
    /// dug for it and the wall's fill together are what changed.
    #[test]
    fn a_spillway_stands_clear_in_any_valley(
        fall in 0.01f64..0.03, west in 0.05f64..0.12, east in 0.05f64..0.12, length in 3.0f64..12.0, first in any::<bool>(),
    ) {
        let ground = valley(fall, west, east);
        let at = if first { SpillwayPlace::First } else { SpillwayPlace::Last };
        let asked = with(102.4, SpillwayWanted { at, ..spillway(length) });
        let Ok(plan) = design(&ground, &[asked], &Silent) else { return Ok(()) };
        let surface = plan.value.surfaces.last().unwrap();
        let Work::Dam(dam) = &plan.value.works[0] else { panic!("a dam") };
        let outlet = dam.spillways[0].outlet.as_ref().unwrap();
        prop_assert!(dam.storage.at_sill);
        prop_assert!(outlet.levels.iter().all(|&z| z <= 102.4 + 1e-12));
        prop_assert!(outlet.clear.unwrap().in_metres() > 1.5);
        let moved = cut_and_fill(&ground.tin, surface, None);
        prop_assert!((moved.cut - outlet.bank.in_cubic_metres()).abs() < 1e-3 * moved.cut.max(1.0));
        for (cut, fill) in dam.cut_footprint.iter().flat_map(|cut| dam.fill_footprint.iter().map(move |fill| (cut, fill))) {
            prop_assert!(cut.outer.iter().all(|&p| !fill.contains(p)));
        }
        assert_sound(surface);
        prop_assert!(Elevation::metres(102.4) == dam.spillways[0].sill);
    }
}
