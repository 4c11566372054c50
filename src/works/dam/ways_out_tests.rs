//! Ways out of reservoirs whose rims have gaps of known height.

use super::spillway_tests::spillway;
use super::tests::{made, valley, wanted};
use super::*;
use crate::geom::snap_point;
use crate::ground::Ground;
use crate::notes::{Note, Silent};
use crate::works::{SpillwayPlace, SpillwayWanted, Work, design};

/// A valley with a ridge at x = -80 beyond which the ground falls away, and gaps in the ridge: (y, height).
fn valley_with_gaps(gaps: &[(f64, f64)]) -> Ground {
    let height = |x: f64, y: f64| {
        let gap = gaps.iter().find(|gap| x == -80.0 && gap.0 == y);
        let valley = 100.0 + 0.015 * y + if x < 0.0 { -x * 0.06 } else { x * 0.08 };
        gap.map_or(if x < -80.0 { valley - 9.0 } else { valley }, |gap| gap.1)
    };
    let mut points = Vec::new();
    for x in [-128.0, -80.0, -40.0, 0.0, 40.0, 80.0, 128.0] {
        for k in 0..=24 {
            let y = -64.0 + 16.0 * f64::from(k);
            points.push(snap_point(Point::new(x, y)).at(height(x, y)));
        }
    }
    Ground::of_points(&points)
}

/// Full at 103, flood at 103.3, crest at 103.6: a gap at 103.2 is flooded, one at 103.45 is not, one at 103.7 is none.
#[test]
fn a_low_saddle_on_the_rim_is_told_with_place_and_level() {
    let ground = valley_with_gaps(&[(32.0, 103.2), (64.0, 103.45), (96.0, 103.7)]);
    let at = SpillwayPlace::Last;
    let cut = SpillwayWanted { at, ..spillway(8.0) };
    for spillway in [None, Some(cut)] {
        let without = spillway.is_none();
        let (dam, _, notes) = made(&ground, &DamWanted { spillway, ..wanted(103.0) });
        let found: Vec<(f64, f64, f64)> =
            dam.ways_out.iter().map(|way| (way.level.in_metres(), way.place.x, way.place.y)).collect();
        assert_eq!(found, [(103.2, -80.0, 32.0), (103.45, -80.0, 64.0)], "without a spillway: {without}");
        assert!(dam.ways_out.iter().all(|way| !way.at_survey_edge));
        let told: Vec<&Note> = notes.iter().filter(|note| note.code == "works::other-way-out").collect();
        assert_eq!(told.len(), 2);
        let says = |k: usize, words: &[&str]| words.iter().all(|word| told[k].text.contains(word));
        let wet = ["103.200 m", "0.20 m above full", "0.40 m below the settled crest", "0.10 m of water stand"];
        assert!(says(0, &wet), "{}", told[0].text);
        assert!(says(1, &["103.450 m", "stays 0.15 m below"]), "{}", told[1].text);
    }
    // A wall of its own on the first saddle, later in the file, closes it.
    let wall = DamWanted {
        name: "saddle".to_owned(),
        axis: vec![Point::new(-80.0, 20.0), Point::new(-80.0, 44.0)],
        full_supply: WaterLevel::Elevation(Elevation::metres(103.25)),
        ..wanted(103.0)
    };
    let plan = design(&ground, &[wanted(103.0), wall], &Silent).unwrap().value;
    let Work::Dam(dam) = &plan.works[0] else { panic!("a dam") };
    let levels: Vec<f64> = dam.ways_out.iter().map(|way| way.level.in_metres()).collect();
    assert!(levels.len() == 1 && (levels[0] - 103.45).abs() < 1e-6, "{levels:?}");
}

#[test]
fn a_reservoir_in_a_plain_valley_has_no_other_way_out() {
    for full in [102.0, 103.0] {
        let (dam, _, _) = made(&valley(0.015, 0.06, 0.08), &wanted(full));
        assert!(dam.ways_out.is_empty(), "{:?}", dam.ways_out);
    }
}
