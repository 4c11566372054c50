//! Quantities against the closed forms of a prism on a plane.

use super::examples::{CREST, LENGTH, extruded, ground, plan, section};
use super::measure::quantities;
use crate::geom::{Point, area_of_ring};
use crate::units::Length;
use crate::works::Work;

/// Area between the ground and a run of the section's corners.
fn area(corners: std::ops::RangeInclusive<usize>) -> f64 {
    let ring: Vec<Point> = section()[corners].iter().map(|&(y, z)| Point::new(y, z)).collect();
    area_of_ring(&ring).abs()
}

/// Area of the dig more than `depth` below the ground: the section's corners 5 to 8 against the ground lowered, both
/// batters cut where they meet it.
fn area_under(depth: f64) -> f64 {
    // Down batter: 100 - y / 2 = 100 + 0.04 y - depth; up batter: 99.4 + (y - 2.4) / 2 = the same.
    let (first, last) = (depth / 0.54, (1.8 - depth) / 0.46);
    let lowered = |y: f64| 100.0 + 0.04 * y - depth;
    let ring =
        [(first, lowered(first)), (1.2, 99.4), (2.4, 99.4), (last, lowered(last))].map(|(y, z)| Point::new(y, z));
    area_of_ring(&ring).abs()
}

#[test]
fn a_prism_on_a_plane() {
    let answer = quantities(&ground(), &plan());
    let row = &answer.value.works[0];
    let [cut, fill] = [area(5..=8) * LENGTH, area(1..=4) * LENGTH];
    let seat = (section()[4].0 - section()[1].0) * LENGTH * 0.1;
    let below = area_under(0.1) * LENGTH;
    let close = |found: f64, closed: f64| assert!((found - closed).abs() < 1e-6, "found {found}, closed form {closed}");
    close(row.cut_bank.in_cubic_metres(), below);
    close(row.topsoil_bank.in_cubic_metres(), cut - below + seat);
    close(row.fill_placed.in_cubic_metres(), fill);
    close(row.seat_refill_placed.in_cubic_metres(), seat);
    close(row.fill_bank.in_cubic_metres(), (fill + seat) / 0.9);
    close(row.surplus_bank.in_cubic_metres(), below - (fill + seat) / 0.9);
    close(row.to_move_loose.in_cubic_metres(), (cut + seat) * 1.25);
    close(row.cut_area.in_square_metres(), section()[8].0 * LENGTH);
    close(row.key_bank.in_cubic_metres(), 0.0);
    let mut all = answer.value.all.clone();
    all.works.clone_from(&row.works);
    assert_eq!(&all, row, "one work is all works");
    // Sections of a prism are exact by any formula.
    let ways = &answer.value.three_ways[0];
    for (by, closed) in [(ways.cut.unwrap(), cut), (ways.fill, fill)] {
        close(by.overlay_m3, closed);
        close(by.prismoidal_m3, closed);
        close(by.end_area_m3, closed);
        close(by.of_it_curvature_m3, 0.0);
    }
    assert!(answer.notes.iter().all(|note| note.code != "earth::methods-differ"));
}

/// Topsoil is its own line: it can turn a surplus into a shortage.
#[test]
fn topsoil_flips_the_balance() {
    let mut plan = plan();
    let surplus =
        |plan: &crate::works::SitePlan| quantities(&ground(), plan).value.works[0].surplus_bank.in_cubic_metres();
    plan.swale_mut(0).wanted.soil.placed_per_bank = 1.0;
    plan.swale_mut(0).wanted.topsoil = Length::ZERO;
    let without = surplus(&plan);
    let closed = (area(5..=8) - area(1..=4)) * LENGTH;
    assert!((without - closed).abs() < 1e-6, "{without} {closed}");
    plan.swale_mut(0).wanted.topsoil = Length::metres(0.15);
    assert!(surplus(&plan) < without - LENGTH * 0.15 * 5.0);
    let notes = quantities(&ground(), &plan).notes;
    assert_eq!(notes.iter().any(|note| note.code == "earth::short"), surplus(&plan) < -0.5);
}

/// Earth that is left over needs a place, and is told with what may be done.
#[test]
fn earth_left_over_gets_advice() {
    let mut plan = plan();
    let told = |plan: &crate::works::SitePlan| {
        let notes = quantities(&ground(), plan).notes;
        notes.into_iter().find(|note| note.code.starts_with("earth::l") || note.code == "earth::short")
    };
    plan.swale_mut(0).wanted.topsoil = Length::ZERO;
    plan.swale_mut(0).wanted.soil.placed_per_bank = 3.0;
    let note = told(&plan).unwrap();
    assert_eq!(note.code, "earth::left-over");
    assert!(note.text.contains("wants a place before the dig") && note.text.contains("m3 (bank)"), "{}", note.text);
    // As much as the berm takes: nothing to say.
    plan.swale_mut(0).wanted.soil.placed_per_bank = area(1..=4) / area(5..=8);
    assert_eq!(told(&plan), None);
}

/// A dig shallower than the topsoil is all topsoil.
#[test]
fn a_scrape_is_topsoil_only() {
    let mut plan = plan();
    let all = section();
    let scraped = [all[0], (-2.0, 99.92), (0.0, 99.95), (2.0, 100.08), all[9]];
    plan.surfaces = vec![extruded(&scraped)];
    let row = quantities(&ground(), &plan).value.works.remove(0);
    let ring = [(-2.0, 99.92), (0.0, 99.95), (2.0, 100.08)].map(|(y, z)| Point::new(y, z));
    let dug = area_of_ring(&ring).abs() * LENGTH;
    assert!(row.cut_bank.in_cubic_metres() < 1e-9);
    assert!((row.topsoil_bank.in_cubic_metres() - dug).abs() < 1e-6);
    assert!(row.fill_placed.in_cubic_metres() < 1e-9);
}

/// Two works in their order: each against the surface before it, and net adds up.
#[test]
fn works_add_up_in_net() {
    let mut plan = plan();
    let mut lower = plan.swale(0).clone();
    lower.wanted.name = "lower".to_owned();
    lower.wanted.soil.placed_per_bank = 0.8;
    lower.wanted.topsoil = Length::metres(0.05);
    plan.works.push(Work::Swale(lower));
    // The second work cuts the first one's berm down to 100.2.
    let all = section();
    let at = |z: f64| all[2].0 - 2.0 * (CREST - z);
    let lowered =
        [all[0], all[1], (at(100.2), 100.2), (all[3].0 + 0.6, 100.2), all[4], all[5], all[6], all[7], all[8], all[9]];
    plan.surfaces.push(extruded(&lowered));
    let answer = quantities(&ground(), &plan).value;
    assert_eq!(answer.works.len(), 2);
    assert!(answer.works[1].fill_placed.in_cubic_metres() < 1e-9);
    let whole = |row: &super::QuantityRow| {
        // Topsoil of the cut is part of the dig, that of the seat is not.
        row.fill_placed.in_cubic_metres() + row.seat_refill_placed.in_cubic_metres()
            - row.cut_bank.in_cubic_metres()
            - row.topsoil_bank.in_cubic_metres()
    };
    let sum: f64 = answer.works.iter().map(whole).sum();
    assert!((sum - whole(&answer.all)).abs() < 1e-6, "{sum} {}", whole(&answer.all));
    assert!(answer.all.fill_placed < answer.works[0].fill_placed, "not in fill");
}

/// The pool of a prism: area and volume at each level in closed form, the conic formula beside it.
#[test]
fn stages_of_a_prism() {
    let storage = quantities(&ground(), &plan()).value.storage.remove(0);
    assert_eq!(storage.stages.len(), 11);
    for stage in &storage.stages {
        let h = stage.water_level_m - 99.4;
        let width = 1.2 + 4.0 * h;
        let volume = LENGTH * h * (1.2 + 2.0 * h);
        assert!((stage.area_m2 - LENGTH * width).abs() < 1e-6, "{stage:?}");
        assert!((stage.volume_m3 - volume).abs() < 1e-6, "{stage:?}");
        assert!((stage.volume_conic_m3 - volume).abs() < 2e-3 * volume.max(1.0), "{stage:?}");
    }
}

/// Ground that an earlier work dug or filled has no topsoil left to strip: rows add up to all of them, closed forms beside them.
#[test]
fn topsoil_is_stripped_once() {
    let all = section();
    let deeper = [&all[..6], &[(1.2, 99.4), (1.4, 99.0), (2.2, 99.0), (2.4, 99.4)], &all[8..]].concat();
    let at = |z: f64| all[2].0 - 2.0 * (CREST - z);
    let lower = [&all[..2], &[(at(100.2), 100.2), (all[3].0 + 0.6, 100.2)], &all[4..]].concat();
    for (second, cut) in [
        (deeper, 0.4 * LENGTH),
        // The berm's top off: a trapezoid 1 m wide above, 2 (2 x 0.3) m wider below.
        (lower, f64::midpoint(1.0, 2.2) * 0.3 * LENGTH),
    ] {
        let mut plan = plan();
        let mut again = plan.swale(0).clone();
        again.wanted.name = "again".to_owned();
        plan.works.push(Work::Swale(again));
        plan.surfaces.push(extruded(&second));
        let answer = quantities(&ground(), &plan).value;
        let [first, second] = &answer.works[..] else { panic!("two rows") };
        assert!((second.cut_bank.in_cubic_metres() - cut).abs() < 1e-6, "{second:?} {cut}");
        assert!(second.topsoil_bank.in_cubic_metres().abs() < 1e-6, "{second:?}");
        let topsoil = (first.topsoil_bank + second.topsoil_bank - answer.all.topsoil_bank).in_cubic_metres();
        // The seat of what stays filled is that of the berm in either case but for the strip whose fill is gone.
        assert!(topsoil.abs() < 1e-6, "{topsoil}");
    }
}
