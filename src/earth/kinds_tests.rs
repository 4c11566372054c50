//! Walls and pits in earth: what one takes, the other yields.

use super::measure::quantities;
use crate::geom::{Bounds, Point};
use crate::ground::Ground;
use crate::notes::Silent;
use crate::soil::Soil;
use crate::surface::Locator;
use crate::surface::sound::assert_sound;
use crate::units::{Batter, Elevation, Length, Station};
use crate::works::dam::tests::{valley, wanted};
use crate::works::dam::{DamWanted, KeyWanted};
use crate::works::pit::{PitDepth, PitWanted, PitWater, Purpose};
use crate::works::{SectionChange, SpillwayPlace, SpillwayWanted, SwaleWanted, Wanted, WaterLevel, Work, design};

/// A pond with a spillway of its own yields what a wall takes: by columns of 0.1 m over both, apart from every overlay.
#[test]
fn a_pond_and_a_wall_balance_by_columns() {
    let ground = valley(0.015, 0.06, 0.08);
    let topsoil = 0.1;
    let wall = DamWanted { topsoil: Length::metres(topsoil), ..wanted(102.6) };
    let spillway = SpillwayWanted {
        at: SpillwayPlace::LowRim,
        exit_fall: Some(crate::units::Fall::percent(1.0)),
        ..SpillwayWanted::usual(Length::metres(4.0))
    };
    let corners = [(40.0, 40.0), (58.0, 40.0), (58.0, 52.0), (40.0, 52.0)];
    let pond = PitWanted {
        water: PitWater::Freeboard(Length::metres(0.3)),
        spillway: Some(spillway),
        topsoil: Length::metres(topsoil),
        soil: wall.soil.clone(),
        ..PitWanted::usual("pond", Purpose::Pond, &corners, 3.0, PitDepth::FillOf("wall".to_owned()))
    };
    let placed_per_bank = wall.soil.placed_per_bank;
    let asked: [Wanted; 2] = [wall.into(), pond.into()];
    let plan = design(&ground, &asked, &Silent).unwrap().value;
    assert_eq!(plan.works[1].shared().spillways.len(), 1);
    let surfaces = [&ground.tin, &plan.surfaces[0], &plan.surfaces[1]].map(Locator::new);
    let mut walkers = [surfaces[0].walker(), surfaces[1].walker(), surfaces[2].walker()];
    let (mut fill, mut seat, mut dug, cell) = (0.0, 0.0, 0.0, 0.1);
    let bounds = Bounds::around(
        plan.shared().flat_map(|work| work.footprints().flat_map(|region| region.outer.clone()).collect::<Vec<_>>()),
    );
    let bounds = bounds.expect("footprints").grown(1.0);
    let mut x = bounds.low.x + cell / 2.0;
    while x < bounds.high.x {
        let mut y = bounds.low.y + cell / 2.0;
        while y < bounds.high.y {
            let place = Point::new(x, y);
            let [natural, walled, last] = [0, 1, 2].map(|k| walkers[k].elevation(place).expect("on the survey"));
            if walled - natural > 1e-9 {
                fill += walled - natural;
                seat += topsoil;
            }
            dug += (walled - topsoil - last).max(0.0);
            y += cell;
        }
        x += cell;
    }
    let (takes, gives) = ((fill + seat) * cell * cell / placed_per_bank, dug * cell * cell);
    assert!(takes > 200.0 && (gives / takes - 1.0).abs() < 1e-3, "{gives} {takes}");
}

#[test]
fn a_borrow_pit_and_a_wall_balance() {
    let ground = valley(0.015, 0.06, 0.08);
    let batter = Batter::horizontal_per_vertical(1.0);
    let key = KeyWanted { width: Length::metres(2.5), depth: Length::metres(0.6), batter };
    let wall = DamWanted { key: Some(key), topsoil: Length::metres(0.1), settlement: 0.05, ..wanted(103.0) };
    let corners = [(-25.0, 40.0), (15.0, 40.0), (15.0, 70.0), (-25.0, 70.0)];
    let pit = PitWanted {
        topsoil: Length::metres(0.1),
        soil: wall.soil.clone(),
        ..PitWanted::usual("borrow", Purpose::Borrow, &corners, 2.0, PitDepth::FillOf("wall".to_owned()))
    };
    let asked: [Wanted; 2] = [wall.into(), pit.into()];
    let plan = design(&ground, &asked, &Silent).unwrap().value;
    let quantities = quantities(&ground, &plan).value;
    let fill = quantities.works[0].fill_bank.in_cubic_metres();
    let left = quantities.all.surplus_bank.in_cubic_metres();
    let sum: f64 = quantities.works.iter().map(|row| row.surplus_bank.in_cubic_metres()).sum();
    assert!(sum.abs() < fill * 1e-3, "{sum} of {fill}");
    assert!(left.abs() < fill * 1e-3, "{left} of {fill}");
    assert!(fill > 500.0);
    assert_sound(plan.surfaces.last().unwrap());
    // The pit adds to what stands behind the wall.
    let Work::Dam(dam) = &plan.works[0] else { panic!("a dam") };
    let table = &quantities.storage[0].stages;
    let alone = design(&ground, std::slice::from_ref(&dam.wanted), &Silent).unwrap().value;
    let alone = alone.works[0].shared().pool.unwrap().storage.volume.in_cubic_metres();
    let held = dam.storage.volume.in_cubic_metres();
    assert!((table[table.len() - 1].volume_m3 - held).abs() < 1e-6 * held);
    assert!(held > alone + 100.0);
}

/// Where the section changes a section stands at both ends of the change, so that the prismoidal formula gives the overlay's
/// earth; average end areas do not.
#[test]
fn a_section_that_changes_is_the_same_earth_three_ways() {
    let plane = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
    let ground = Ground::of_points(&plane.map(|(x, y)| Point::new(x, y).at(430.0 + 0.04 * y)));
    let change = SectionChange {
        width: Some(Length::metres(3.0)),
        depth: Some(Length::metres(1.0)),
        ..SectionChange::at(Station::metres(83.0), Length::metres(21.0))
    };
    let level = WaterLevel::Elevation(Elevation::metres(432.0));
    let swale = SwaleWanted { changes: vec![change], ..SwaleWanted::usual("upper", level, Soil::of_tests()) };
    let plan = design(&ground, &[swale], &Silent).unwrap().value;
    let ways = &quantities(&ground, &plan).value.three_ways[0];
    let cut = ways.cut.unwrap();
    let off = |value: f64, exact: f64| (value / exact - 1.0).abs();
    assert!(off(cut.prismoidal_m3, cut.overlay_m3) < 2e-3, "{cut:?}");
    assert!(off(ways.fill.prismoidal_m3, ways.fill.overlay_m3) < 5e-3, "{:?}", ways.fill);
}

/// A drain's earth by sections along its line, and its balance: the berm takes what the channel gives.
#[test]
fn a_drain_is_measured_three_ways_and_holds_no_water() {
    let (ground, plan) = crate::works::drain::tests::drained(true);
    let found = quantities(&ground, &plan).value;
    let ways = &found.three_ways[0];
    let cut = ways.cut.unwrap();
    // The run-out leads off across the line, where sections square to it are few.
    assert!((cut.prismoidal_m3 / cut.overlay_m3 - 1.0).abs() < 0.03, "{cut:?}");
    assert!((ways.fill.prismoidal_m3 / ways.fill.overlay_m3 - 1.0).abs() < 0.02, "{:?}", ways.fill);
    assert!(found.works[0].surplus_bank.in_cubic_metres().abs() < 0.01 * found.works[0].fill_area.in_square_metres());
    assert!(found.storage.is_empty());
}
