//! Crossings on a plane, in closed form.

use super::tests::{hillside, wanted};
use super::*;
use crate::geom::Polygon;
use crate::notes::{Noted, Silent};
use crate::surface::cut_and_fill;
use crate::surface::sound::assert_sound;
use crate::units::{Batter, Flow, Length, Station};

const FALL: f64 = 0.04;

fn crossing(at: f64) -> CrossingWanted {
    CrossingWanted {
        at: Station::metres(at),
        width: Length::metres(4.0),
        ramp: Batter::horizontal_per_vertical(8.0),
        batter: Batter::horizontal_per_vertical(2.0),
    }
}

fn designed(crossings: Vec<CrossingWanted>, sills: &[SpillwayPlace]) -> (Noted<SitePlan>, Ground) {
    let ground = hillside(10, |_, y| 430.0 + FALL * y);
    let usual = wanted().spillways[0].clone();
    let spillways = sills.iter().map(|at| SpillwayWanted { at: at.clone(), ..usual.clone() }).collect();
    let made = design(&ground, &[SwaleWanted { crossings, spillways, ..wanted() }], &Silent).unwrap();
    assert_sound(&made.value.surfaces[0]);
    (made, ground)
}

#[test]
fn a_crossing_is_its_closed_form_uphill_of_the_line() {
    let (made, ground) = designed(vec![crossing(80.0)], &[SpillwayPlace::First, SpillwayPlace::Last]);
    let swale = made.value.swale(0);
    let top = swale.section.top_offset.in_metres();
    let crest = (swale.crest.built - swale.water_level).in_metres();
    // The bed's round ends reach into what has no bed, as far as the ledge beside the crossing's foot.
    let end = 0.6 + 2.0 * (0.6 + FALL * 2.4);
    let undug = swale.crossings[0].undug;
    let [from, to] = [undug.0.in_metres() + end, undug.1.in_metres() - end];
    let place = |station: f64, offset: f64| swale.line.at_offset(station, offset);
    let beside = [(from, 0.0), (to, 0.0), (to, 30.0), (from, 30.0)].map(|(s, o)| place(s, o)).to_vec();
    let found = cut_and_fill(&ground.tin, &made.value.surfaces[0], Some(&Polygon::simple(beside)));
    // Across the way a fill h high is 4 h + 2 h^2; over the level top h = crest - fall o, on the ramp it goes to nothing.
    let level = |o: f64| {
        let h = crest - FALL * o;
        -(2.0 * h * h + 2.0 / 3.0 * h * h * h) / FALL
    };
    let edge = crest - FALL * top;
    let ramp = edge / (1.0 / 8.0 + FALL);
    let closed = level(top) - level(0.0) + 4.0 * edge * ramp / 2.0 + 2.0 * edge * edge * ramp / 3.0;
    assert!((found.fill / closed - 1.0).abs() < 1e-4, "{} {closed}", found.fill);
    assert!(found.cut < 1e-6, "nothing is dug under it: {}", found.cut);
    // The foot of the ramp, and the level top at the built crest over channel and berm.
    let uphill = swale.line.foot(swale.crossings[0].feet[0]);
    assert!((uphill.offset - top - ramp).abs() < 1e-3);
    let locator = Locator::new(&made.value.surfaces[0]);
    for corner in swale.crossings[0].corners() {
        let [uphill, downhill] = swale.crossings[0].top();
        let inside = corner.towards(uphill.towards(downhill, 0.5), 0.02);
        assert!((locator.elevation(inside).unwrap() - swale.crest.built.in_metres()).abs() < 1e-4);
    }
}

#[test]
fn a_crossing_parts_the_water_and_a_pool_without_a_sill_is_told() {
    let (whole, _) = designed(Vec::new(), &[SpillwayPlace::Last]);
    assert_eq!(whole.value.swale(0).pools.len(), 1);
    let (made, ground) = designed(vec![crossing(80.0)], &[SpillwayPlace::Last]);
    let swale = made.value.swale(0);
    let [first, last] = [&swale.pools[0], &swale.pools[1]];
    assert!(!first.has_sill && last.has_sill && last.storage.at_sill && swale.storage.at_sill);
    let told = made.notes.iter().filter(|note| note.code == "works::pool-without-sill").count();
    assert_eq!(told, 1);
    // It rises until it runs round the uphill foot of the ramp into the other pool.
    let foot = swale.line.foot(swale.crossings[0].feet[0]).offset;
    assert!((first.storage.spill.in_metres() - 432.0 - FALL * foot).abs() < 0.01, "{:?}", first.storage);
    let volume = |pool: &SwalePool| pool.storage.volume.in_cubic_metres();
    let sum = volume(first) + volume(last);
    assert!((swale.storage.volume.in_cubic_metres() - sum).abs() < 1e-9);
    // What is missing is the undug bed: 1.44 m2 over it, less what the round ends hold.
    let missing = whole.value.swale(0).storage.volume.in_cubic_metres() - sum;
    let undug = swale.crossings[0].undug.1.in_metres() - swale.crossings[0].undug.0.in_metres();
    assert!(missing < 1.5 * undug && missing > 1.0 * (undug - 2.8), "{missing} over {undug}");
    // All the cut goes on berm and crossing.
    let volumes = cut_and_fill(&ground.tin, &made.value.surfaces[0], None);
    let bank = cut_and_fill(&ground.tin.raised_by(-0.1), &made.value.surfaces[0], None).cut;
    let needed = (volumes.fill + 0.1 * volumes.fill_area) / wanted().soil.placed_per_bank;
    assert!((bank - needed).abs() < 0.006 * volumes.fill_area, "bank {bank} needed {needed}");
    let (both, _) = designed(vec![crossing(80.0)], &[SpillwayPlace::First, SpillwayPlace::Last]);
    assert!(both.notes.iter().all(|note| note.code != "works::pool-without-sill"));
    assert!(both.value.swale(0).pools.iter().all(|pool| pool.storage.at_sill));
}

#[test]
fn a_crossing_that_cannot_stand_is_told() {
    let ground = hillside(10, |_, y| 430.0 + FALL * y);
    let fails = |crossings: Vec<CrossingWanted>| {
        let made = design(&ground, &[SwaleWanted { crossings, ..wanted() }], &Silent);
        made.err().map_or_else(String::new, |error| error.to_string())
    };
    assert!(fails(vec![crossing(2.0)]).contains("2 m of bed on either side"));
    assert!(fails(vec![crossing(80.0), crossing(85.0)]).contains("2 m of bed on either side"));
    assert!(fails(vec![crossing(176.0)]).contains("a sill stands from"));
    let flat = CrossingWanted { ramp: Batter::horizontal_per_vertical(25.0), ..crossing(80.0) };
    assert!(fails(vec![flat]).contains("the crossing's ramp batter 25.00H:1V never meets ground"));
    let steep = CrossingWanted { ramp: Batter::horizontal_per_vertical(5.0), ..crossing(80.0) };
    let made = design(&ground, &[SwaleWanted { crossings: vec![steep], ..wanted() }], &Silent).unwrap();
    assert!(made.notes.iter().any(|note| note.code == "works::crossing-tight"));
}

/// 6 m asked to pass 0.5 m3/s beyond the crossing, 6 m at 0.05 before it: each pool has its own head by q = 1.5 b h^1.5, and the
/// crest stands over the deeper.
#[test]
fn sills_on_both_sides_of_a_crossing_share_nothing() {
    let ground = hillside(10, |_, y| 430.0 + FALL * y);
    let sill = |at: SpillwayPlace, flow: f64| SpillwayWanted {
        at,
        sill_length: SillLength::Length(Length::metres(6.0)),
        head: None,
        flow: Some(Flow::cubic_metres_per_second(flow)),
        ..wanted().spillways[0].clone()
    };
    let at = |station: f64| SpillwayPlace::Station(Station::metres(station));
    let head = |flow: f64, length: f64| (flow / (1.5 * length)).powf(2.0 / 3.0);
    let made = |crossings: Vec<CrossingWanted>, spillways: Vec<SpillwayWanted>| {
        design(&ground, &[SwaleWanted { crossings, spillways, ..wanted() }], &Silent).unwrap()
    };
    let found = |made: &Noted<SitePlan>| -> Vec<f64> {
        made.value.swale(0).spillways.iter().map(|spillway| spillway.head.in_metres()).collect()
    };
    let close = |found: &[f64], closed: &[f64]| {
        assert_eq!(found.len(), closed.len());
        assert!(found.iter().zip(closed).all(|(a, b)| (a - b).abs() < 1e-9), "{found:?} {closed:?}");
    };
    let two = made(vec![crossing(80.0)], vec![sill(SpillwayPlace::Last, 0.5), sill(at(50.0), 0.05)]);
    let (low, high) = (head(0.05, 6.0), head(0.5, 6.0));
    close(&found(&two), &[low, high]);
    assert!((two.value.swale(0).crest.head.in_metres() - high).abs() < 1e-9);
    assert!(two.notes.iter().all(|note| note.code != "works::sills-share"));
    // Two beyond it share theirs, and leave the third its own.
    let three = vec![sill(SpillwayPlace::Last, 0.5), sill(at(50.0), 0.05), sill(at(120.0), 0.1)];
    let three = made(vec![crossing(80.0)], three);
    let shared = head(0.6, 12.0);
    close(&found(&three), &[low, shared, shared]);
    let told: Vec<&str> =
        three.notes.iter().filter(|note| note.code == "works::sills-share").map(|note| note.text.as_str()).collect();
    assert!(
        told.len() == 1 && told[0].contains("its pool 2 of 2") && told[0].contains("0.300, 0.300 m3/s"),
        "{told:?}"
    );
}
