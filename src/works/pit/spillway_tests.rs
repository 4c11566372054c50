//! Spillways of ponds on planes: by hand formula, by columns, and for any plane.

use super::tests::{below, dug, fails, ground, rectangle, wanted};
use super::*;
use crate::geom::contains;
use crate::notes::Silent;
use crate::surface::sound::assert_sound;
use crate::surface::{Locator, Tin, cut_and_fill, pool};
use crate::units::{Fall, Flow};
use crate::water::channel::{Run, Trapezoid};
use crate::works::{Outlet, SpillwayPlace, SpillwayWanted, WorksError, design};
use proptest::prelude::*;

fn spillway(length: f64) -> SpillwayWanted {
    SpillwayWanted {
        at: SpillwayPlace::Through(Point::new(0.0, -30.0)),
        sill_breadth: Length::metres(2.0),
        exit_fall: Some(Fall::percent(2.0)),
        ..SpillwayWanted::usual(Length::metres(length))
    }
}

/// A floor of 20 by 12 m, 3:1, 2 m deep, full 0.3 m under its low rim.
fn with(spillway: SpillwayWanted) -> PitWanted {
    PitWanted {
        water: PitWater::Freeboard(Length::metres(0.3)),
        spillway: Some(spillway),
        ..wanted(rectangle(20.0, 12.0), 3.0, below(2.0))
    }
}

fn outlet(pit: &Pit) -> &Outlet {
    pit.spillways[0].outlet.as_ref().expect("a cut")
}

/// Water by columns of 0.1 m inside the shore lines of the pool.
fn by_columns(pit: &Pit, surface: &Tin) -> f64 {
    let level = pit.water_level.in_metres();
    let shore = pool(surface, &pit.seeds, level - 1e-6).shore;
    let bounds = crate::geom::Bounds::around(shore.iter().flatten().copied()).expect("a shore");
    let locator = Locator::new(surface);
    let mut walker = locator.walker();
    let cell = 0.1;
    let (mut water, mut x) = (0.0, bounds.low.x + cell / 2.0);
    while x < bounds.high.x {
        let mut y = bounds.low.y + cell / 2.0;
        while y < bounds.high.y {
            let place = Point::new(x, y);
            if shore.iter().filter(|ring| contains(ring, place)).count() % 2 == 1 {
                water += (level - walker.elevation(place).expect("on the survey")).max(0.0) * cell * cell;
            }
            y += cell;
        }
        x += cell;
    }
    water
}

/// Where no fall is said the channel falls as little as lets the flood go; where the ground does not fall so far, as usual.
#[test]
fn a_channel_without_a_fall_of_its_own_does_not_hold_the_flood_up() {
    let asked = || SpillwayWanted { exit_fall: None, ..spillway(6.0) };
    let on = |fall: f64| dug(&ground(move |_, y| 100.0 + fall * y), &with(asked())).0.spillways.remove(0);
    let steep = on(0.06);
    let energy = |tenths: f64| {
        let section = Trapezoid { bottom: steep.sill_length, batter: asked().batter };
        Run::of(section, steep.flow.unwrap(), Fall::percent(tenths * 0.1), asked().cover).unwrap().energy
    };
    let tenths = (steep.exit_fall.in_percent() * 10.0).round();
    assert!(tenths > 5.0 && energy(tenths) <= steep.head && energy(tenths - 1.0) > steep.head, "{tenths}");
    let flat = on(0.01);
    assert!((flat.exit_fall.in_percent() - 0.5).abs() < 1e-9, "{:?}", flat.exit_fall);
    // What is said is done, whatever comes of it.
    let said = SpillwayWanted { exit_fall: Some(Fall::percent(0.5)), ..spillway(6.0) };
    let said = dug(&ground(|_, y| 100.0 + 0.06 * y), &with(said)).0;
    assert!((said.spillways[0].exit_fall.in_percent() - 0.5).abs() < 1e-9);
}

#[test]
fn the_cut_of_a_ponds_sill_is_its_prism() {
    let slope = ground(|_, y| 100.0 + 0.04 * y);
    let (pit, surface) = dug(&slope, &with(spillway(6.0)));
    // The low rim, as without a spillway: 97.76 + t / 3 = 99.76 - 0.04 t.
    let run = 2.0 / (1.0 / 3.0 + 0.04);
    let low = 99.76 - 0.04 * run;
    let full = low - 0.3;
    assert!((pit.low_rim.0.in_metres() - low).abs() < 1e-4 && (pit.water_level.in_metres() - full).abs() < 1e-4);
    let spillway = &pit.spillways[0];
    assert!(pit.storage.at_sill && (spillway.sill.in_metres() - full).abs() < 1e-4 && !spillway.on_fill);
    // Its lip lies as far below the rim as a metre and a quarter of whole ground and its breadth, square to the slope.
    let (a, b) = (spillway.lip.first(), spillway.lip.last());
    assert!((a.y - b.y).abs() < 1e-6 && ((b.x - a.x).abs() - 6.0).abs() < 1e-6, "{a:?} {b:?}");
    let lip = -6.0 - run - 1.25 - 2.0;
    assert!((a.y - lip).abs() < 1e-3, "{a:?} {lip}");
    // Over the sill the section is 6 d + 2 d2, d linear along the flow: Simpson's rule is exact.
    let band = |y0: f64, y1: f64| {
        Polygon::simple([(-9.0, y0), (9.0, y0), (9.0, y1), (-9.0, y1)].map(|(x, y)| Point::new(x, y)).to_vec())
    };
    let area = |y: f64| {
        let d = 100.0 + 0.04 * y - full;
        6.0 * d + 2.0 * d * d
    };
    let (y0, y1) = (lip + 0.2, lip + 1.8);
    let exact = (y1 - y0) / 6.0 * (area(y0) + 4.0 * area(f64::midpoint(y0, y1)) + area(y1));
    let found = cut_and_fill(&slope.tin, &surface, Some(&band(y0, y1))).cut;
    assert!((found / exact - 1.0).abs() < 1e-4, "{found} {exact}");
    // The channel falls 2 % where the ground falls 4: it is out of the ground where it has lost its depth at the lip.
    let outlet = outlet(&pit);
    let long = (100.0 + 0.04 * lip - full) / 0.02;
    let channel = outlet.axis.length() - outlet.sill.1;
    assert!((channel - long).abs() <= 1.6, "{channel} {long} {:?}", outlet.axis.points());
    // The water leaves over the sill, and none of it comes back.
    assert!((pool(&surface, &pit.seeds, full - 1e-6).spill - full).abs() < 1e-4);
    assert!(pool(&surface, &pit.seeds, full + 0.05).spill < full + 0.05);
    let exit = spillway.exit.as_ref().expect("a way on");
    assert!(exit.last().y < exit.first().y - 50.0);
    let (held, columns) = (pit.storage.volume.in_cubic_metres(), by_columns(&pit, &surface));
    assert!((held / columns - 1.0).abs() < 1e-3, "{held} {columns}");
    assert_sound(&surface);
}

#[test]
fn a_pond_with_a_spillway_holds_and_yields_what_was_asked_for_with_its_cut() {
    let slope = ground(|x, y| 100.0 + 0.03 * y + 0.01 * x);
    let asked = PitWanted {
        depth: PitDepth::ToHold(Volume::cubic_metres(500.0)),
        ..with(SpillwayWanted { at: SpillwayPlace::LowRim, ..spillway(5.0) })
    };
    let (pit, surface) = dug(&slope, &asked);
    let held = pit.storage.volume.in_cubic_metres();
    assert!((held - 500.0).abs() < 0.01, "{held}");
    let columns = by_columns(&pit, &surface);
    assert!((columns - 500.0).abs() < 0.5, "{columns}");
    let yielded = PitWanted { depth: PitDepth::ToYield(Volume::cubic_metres(900.0)), ..asked };
    let (pit, surface) = dug(&slope, &yielded);
    assert!(!pit.spillways.is_empty());
    let bank = cut_and_fill(&slope.tin, &surface, None).cut;
    assert!((bank - 900.0).abs() < 0.01, "{bank}");
    assert_sound(&surface);
}

#[test]
fn a_spillway_that_a_pond_cannot_have_is_refused_with_place_and_numbers() {
    let slope = ground(|_, y| 100.0 + 0.04 * y);
    // 1.5 x 2 x 0.4^1.5 = 0.759 m3/s stands 0.4 m over a sill of 2 m, and the rim is 0.3 m.
    let flow = Some(Flow::cubic_metres_per_second(1.5 * 2.0 * 0.4_f64.powf(1.5)));
    let over = fails(&slope, with(SpillwayWanted { head: None, flow, ..spillway(2.0) }));
    assert!(
        matches!(over, WorksError::HeadOverRim { head, room, .. } if (head - 0.4).abs() < 1e-6 && (room - 0.3).abs() < 1e-6),
        "{over}"
    );
    // On a slope of 12 % the ground 3 m out of the rim lies below the full level.
    let steep = ground(|_, y| 100.0 + 0.12 * y);
    let fill = fails(&steep, with(spillway(6.0)));
    assert!(matches!(fill, WorksError::SillOnFill { below, .. } if below > 0.05), "{fill}");
    let lined = SpillwayWanted { lined_by_engineer: true, ..spillway(6.0) };
    let plan = design(&steep, &[with(lined)], &Silent).expect("lined by an engineer");
    assert!(plan.notes.iter().any(|note| note.code == "works::sill-on-fill"), "{:#?}", plan.notes);
    // Uphill there is no way out.
    let uphill = SpillwayWanted { at: SpillwayPlace::Through(Point::new(0.0, 40.0)), ..spillway(6.0) };
    let no_way = fails(&slope, with(uphill));
    assert!(matches!(no_way, WorksError::NoWayOut { .. }), "{no_way}");
    for at in [SpillwayPlace::First, SpillwayPlace::Station(crate::units::Station::metres(500.0))] {
        let nowhere = fails(&slope, with(SpillwayWanted { at, ..spillway(6.0) }));
        assert!(matches!(nowhere, WorksError::NoSpillwayThere { .. }), "{nowhere}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, ..ProptestConfig::default() })]
    /// On any plane and wherever it is asked for: refused, or the water leaves over the sill first, the channel stays out of
    /// the dig, and what is dug is pond and spillway.
    #[test]
    fn a_ponds_water_leaves_over_its_sill_on_any_plane(
        along in -0.05f64..0.05, down in 0.02f64..0.06, length in 3.0f64..9.0, bearing in 0.0f64..std::f64::consts::TAU,
    ) {
        let plane = ground(|x, y| 100.0 + along * x + down * y);
        let at = SpillwayPlace::Through(Point::new(40.0 * bearing.sin(), 40.0 * bearing.cos()));
        let Ok(plan) = design(&plane, &[with(SpillwayWanted { at, ..spillway(length) })], &Silent) else { return Ok(()) };
        let surface = plan.value.surfaces.last().expect("a surface");
        let crate::works::Work::Pit(pit) = &plan.value.works[0] else { panic!("a pit") };
        let full = pit.water_level.in_metres();
        prop_assert!(pit.storage.at_sill && (pool(surface, &pit.seeds, full - 1e-6).spill - full).abs() < 1e-4);
        let outlet = outlet(pit);
        prop_assert!(outlet.levels.iter().all(|&z| z <= full + 1e-9));
        let (without, _) = dug(&plane, &PitWanted { spillway: None, ..pit.wanted.clone() });
        let channel = (0..=40).map(|k| outlet.axis.at(outlet.sill.1 + (outlet.axis.length() - outlet.sill.1) * f64::from(k) / 40.0));
        for place in channel {
            prop_assert!(!without.cut_footprint.iter().any(|dig| dig.contains(place)));
        }
        assert_sound(surface);
    }
}
