//! Test pits beside works on closed-form ground.

use super::*;
use crate::geom::Point;
use crate::ground::Ground;
use crate::notes::{Noted, Silent};
use crate::soil::{Placement, Soil};
use crate::units::{Batter, Length};
use crate::works::dam::KeyWanted;
use crate::works::dam::tests as dams;
use crate::works::pit::tests as pits;
use crate::works::tests::{hillside, wanted};
use crate::works::{SitePlan, Wanted, design};

fn soil(name: &str) -> Soil {
    Soil::named(name, Placement::TrackWalked).unwrap()
}

/// A pit of one soil throughout.
fn pit(name: &str, (x, y): (f64, f64), depth: f64, met: &str) -> TestPit {
    layered(name, (x, y), &[(met, depth)])
}

fn layered(name: &str, (x, y): (f64, f64), layers: &[(&str, f64)]) -> TestPit {
    let layer = |&(met, to): &(&str, f64)| Layer {
        met: if met == "topsoil" { Met::Topsoil } else { Met::Soil(soil(met)) },
        to: Length::metres(to),
        ribbon: None,
        crumb: None,
    };
    TestPit {
        name: name.to_owned(),
        place: Point::new(x, y),
        depth: Length::metres(layers.last().unwrap().1),
        layers: layers.iter().map(layer).collect(),
        water: None,
        rock: None,
        date: None,
    }
}

fn proven(ground: &Ground, asked: impl Into<Wanted>, pits: &[TestPit]) -> Noted<SitePlan> {
    let mut plan = design(ground, &[asked.into()], &Silent).unwrap();
    prove_soil(&mut plan, ground, pits, Length::metres(25.0));
    plan
}

/// A swale along y = 50 on 4 %, its bed 0.6 m down from the line's level, 0.1 m of topsoil, in loam.
fn swale(pits: &[TestPit]) -> Noted<SitePlan> {
    proven(&hillside(10, |_, y| 430.0 + 0.04 * y), wanted(), pits)
}

fn told<'a>(plan: &'a Noted<SitePlan>, code: &str) -> &'a str {
    let found = plan.notes.iter().find(|note| note.code == code);
    &found.unwrap_or_else(|| panic!("{code} in {:#?}", plan.notes)).text
}

#[test]
fn a_pit_says_what_it_met_and_no_more() {
    let says = |pit: &TestPit, dig: f64| pit.says(&soil("loam"), Length::metres(0.1), dig);
    let shallow = pit("P1", (0.0, 0.0), 0.5, "loam");
    assert_eq!(says(&shallow, 0.5), pit::Says::AsTaken);
    assert_eq!(says(&shallow, 0.54), pit::Says::AsTaken, "a staff on a broken face reads to 50 mm");
    assert_eq!(says(&shallow, 0.7), pit::Says::NotDeepEnough);
    let clay = layered("P2", (0.0, 0.0), &[("topsoil", 0.1), ("loam", 0.4), ("clay", 1.2)]);
    let met = Odds::Soil { met: "clay".to_owned(), from: Length::metres(0.4), to: Length::metres(0.7) };
    assert_eq!(says(&clay, 0.4), pit::Says::AsTaken, "what lies under the dig is no matter");
    assert_eq!(says(&clay, 0.7), pit::Says::Otherwise(vec![met]));
    let deep = layered("P3", (0.0, 0.0), &[("topsoil", 0.3), ("loam", 1.2)]);
    let met = Odds::Soil { met: "topsoil".to_owned(), from: Length::metres(0.1), to: Length::metres(0.3) };
    assert_eq!(says(&deep, 0.7), pit::Says::Otherwise(vec![met]), "topsoil deeper than is stripped is no fill");
    let stopped = TestPit { rock: Some(Length::metres(0.5)), water: Some(Length::metres(0.45)), ..shallow };
    let met = vec![Odds::Rock(Length::metres(0.5)), Odds::Water(Length::metres(0.45))];
    assert_eq!(says(&stopped, 0.8), pit::Says::Otherwise(met));
    assert_eq!(says(&stopped, 0.5), pit::Says::AsTaken);
}

/// A pit h beside the middle of the channel speaks for a chord of its reach, 2 sqrt(25^2 - h^2).
#[test]
fn a_pit_speaks_for_a_chord_of_its_reach() {
    for (off, chord) in [(0.0, 50.0), (15.0, 40.0), (24.0, 14.0)] {
        let plan = swale(&[pit("P1", (100.0, 51.8 + off), 1.0, "loam")]);
        let proof = &plan.value.soils[0];
        let part = &proof.parts[0];
        assert!((part.proven - chord).abs() <= 2.0, "{} for {chord}", part.proven);
        assert_eq!(proof.standing(), SoilStanding::PartlyProven);
        assert!((proof.pits[0].away.in_metres() - off).abs() < 0.1, "{:?}", proof.pits[0]);
        // Two open stretches, before and after it, and together with it they are all.
        let open: f64 = part.open.iter().map(|(from, to)| to.in_metres() - from.in_metres()).sum();
        assert_eq!(part.open.len(), 2);
        assert!((part.whole - part.proven - open).abs() < 1e-6);
        assert!(proof.mix.is_none());
    }
}

#[test]
fn a_pit_shallower_than_the_cut_proves_nothing() {
    let plan = swale(&[pit("P1", (100.0, 60.0), 0.4, "loam")]);
    let proof = &plan.value.soils[0];
    assert_eq!(proof.standing(), SoilStanding::Unproven);
    let word = &proof.pits[0];
    // 10 m from the line, whose channel has its middle 1.8 m up the slope; deepest under the uphill edge of the bed, 0.6 m + 4 % of 2.4 m.
    assert!((word.away.in_metres() - 8.2).abs() < 0.1, "{word:?}");
    assert!((word.cut.in_metres() - 0.696).abs() < 0.01, "{word:?}");
    assert!(word.too_shallow());
    let says = told(&plan, "works::soil-unproven");
    assert!(says.contains("test pit `P1`, 8.2 m away, was dug 0.40 m deep and the channel goes 0.69 m deep"), "{says}");
}

#[test]
fn pits_all_along_prove_a_swale_and_none_prove_nothing() {
    let along: Vec<TestPit> =
        (0..10).map(|k| pit(&format!("P{k}"), (f64::from(k) * 22.0, 51.0), 0.8, "loam")).collect();
    let plan = swale(&along);
    assert_eq!(plan.value.soils[0].standing(), SoilStanding::Proven, "{:#?}", plan.value.soils);
    assert!(told(&plan, "works::soil-proven").contains("soil proven as loam"));
    let none = swale(&[]);
    assert_eq!(none.value.soils[0].standing(), SoilStanding::Unproven);
    assert!(told(&none, "works::soil-unproven").contains("`upper` as loam: unproven until dug"));
    assert_eq!(none.value.cautions(), ["upper: soil UNPROVEN until dug"]);
    let apart = swale(&[pit("P9", (100.0, 90.0), 1.0, "loam")]);
    assert!(
        told(&apart, "works::test-pit-apart")
            .ends_with("`P9` lies further than 25.0 m from everything that is dug: it speaks for no work")
    );
    let off = swale(&[pit("P9", (1100.0, 90.0), 1.0, "loam")]);
    assert!(told(&off, "works::test-pit-apart").contains("and it lies off the survey; look whether its coordinates"));
}

/// Between two pits each rules to the middle.
#[test]
fn the_nearer_pit_rules() {
    let plan = swale(&[pit("P1", (80.0, 51.8), 1.0, "loam"), pit("P2", (100.0, 51.8), 1.0, "clay")]);
    let proof = &plan.value.soils[0];
    let part = &proof.parts[0];
    assert!((part.proven - 35.0).abs() <= 1.5 && (part.otherwise - 35.0).abs() <= 1.5, "{part:?}");
    assert_eq!(proof.standing(), SoilStanding::Contradicted);
    let says = told(&plan, "works::soil-not-as-taken");
    assert!(says.contains("test pit `P2`, 0.0 m away, met clay from 0.10 to 0.69 m where the channel goes 0.69 m deep (station 96.5 m)"), "{says}");
    assert!(says.contains("; as taken in the channel over "), "{says}");
    assert_eq!(plan.value.cautions(), ["upper: SOIL NOT AS TAKEN in test pits P2"]);
    // A pit too shallow to tell leaves the word to the next one.
    let plan = swale(&[pit("P1", (80.0, 51.8), 0.3, "loam"), pit("P2", (100.0, 51.8), 1.0, "clay")]);
    assert!((plan.value.soils[0].parts[0].otherwise - 50.0).abs() <= 2.0);
    // All of it clay: the factors of clay.
    let all: Vec<TestPit> = (0..10).map(|k| pit(&format!("P{k}"), (f64::from(k) * 22.0, 51.0), 1.0, "clay")).collect();
    let mix = swale(&all).value.soils[0].mix.clone().unwrap();
    assert!((mix.loose_per_bank - soil("clay").loose_per_bank).abs() < 1e-9, "{mix:?}");
    assert!((mix.placed_per_bank - soil("clay").placed_per_bank).abs() < 1e-9, "{mix:?}");
}

/// Of a pond 2 m deep on level ground the part under 1 m is a frustum of its own.
#[test]
fn a_layer_takes_its_share_of_a_pond_and_rock_its_own() {
    let level = pits::ground(|_, _| 100.0);
    let asked = pits::wanted(pits::rectangle(12.0, 8.0), 2.0, pits::below(2.0));
    let asked = crate::works::pit::PitWanted { soil: soil("loam"), ..asked };
    let met = layered("P1", (0.0, 0.0), &[("loam", 1.0), ("clay", 2.0)]);
    let plan = proven(&level, asked.clone(), std::slice::from_ref(&met));
    let share = pits::frustum(12.0, 8.0, 2.0, 1.0) / pits::frustum(12.0, 8.0, 2.0, 2.0);
    let mean = |a: f64, b: f64| a + share * (b - a);
    let proof = &plan.value.soils[0];
    let mix = proof.mix.as_ref().unwrap();
    let (loam, clay) = (soil("loam"), soil("clay"));
    // Where the dig is no deeper than the loam (read to 50 mm) the pit says that it is as taken.
    let clay_area = (12.0 + 2.0 * 1.9) * (8.0 + 2.0 * 1.9);
    assert!((proof.parts[0].otherwise / clay_area - 1.0).abs() < 0.05, "{} {clay_area}", proof.parts[0].otherwise);
    assert!((mix.loose_per_bank - mean(loam.loose_per_bank, clay.loose_per_bank)).abs() < 0.003, "{mix:?} {share}");
    assert_eq!(proof.rock, 0.0);
    let stopped = TestPit { rock: Some(Length::metres(1.0)), ..pit("P1", (0.0, 0.0), 1.0, "loam") };
    let plan = proven(&level, asked, &[stopped]);
    let proof = &plan.value.soils[0];
    assert!((proof.rock - share).abs() < 0.01, "{} {share}", proof.rock);
    assert!(proof.mix.is_none() && proof.standing() == SoilStanding::Contradicted);
    assert!(told(&plan, "works::soil-not-as-taken").contains("met rock at 1.00 m where the dig goes 2.00 m deep"));
}

#[test]
fn a_wall_is_proven_along_its_cutoff_and_stays_an_engineers() {
    let ground = dams::valley(0.015, 0.06, 0.08);
    let key = KeyWanted {
        width: Length::metres(2.5),
        depth: Length::metres(0.6),
        batter: Batter::horizontal_per_vertical(1.0),
    };
    let asked = crate::works::dam::DamWanted {
        key: Some(key),
        topsoil: Length::metres(0.2),
        soil: soil("clay"),
        ..dams::wanted(103.0)
    };
    let along = |depth: f64| -> Vec<TestPit> {
        (0..5).map(|k| pit(&format!("P{k}"), (f64::from(k) * 30.0 - 60.0, 0.0), depth, "clay")).collect()
    };
    let deep = proven(&ground, asked.clone(), &along(0.8));
    assert_eq!(deep.value.soils[0].standing(), SoilStanding::Proven, "{:#?}", deep.value.soils);
    assert_eq!(deep.value.soils[0].parts[0].part, "cutoff");
    // Proven or not, it is an engineer who says what that is worth.
    assert!(told(&deep, "works::soil-proven").contains("for a licensed engineer to judge"));
    assert!(deep.value.cautions().iter().any(|says| says.contains("for a licensed engineer to judge")));
    let shallow = proven(&ground, asked.clone(), &along(0.6));
    assert_eq!(shallow.value.soils[0].standing(), SoilStanding::Unproven);
    // Without a cutoff as much of the ground under the seat is to be seen.
    let without = crate::works::dam::DamWanted { key: None, ..asked };
    assert_eq!(proven(&ground, without.clone(), &along(0.6)).value.soils[0].standing(), SoilStanding::Unproven);
    assert_eq!(proven(&ground, without, &along(0.8)).value.soils[0].standing(), SoilStanding::Proven);
}

/// Pits dug where and as deep as the list says prove what it says that they prove: all of it, and the list is then empty.
#[test]
fn the_pits_that_are_asked_for_prove_everything() {
    let along = hillside(10, |_, y| 430.0 + 0.04 * y);
    let pond = pits::wanted(pits::rectangle(12.0, 8.0), 2.0, pits::below(2.0));
    let wall = crate::works::dam::DamWanted { key: None, ..dams::wanted(103.0) };
    let sites: [(&Ground, Wanted, &str); 3] = [
        (&along, wanted().into(), "loam"),
        (&pits::ground(|_, _| 100.0), crate::works::pit::PitWanted { soil: soil("loam"), ..pond }.into(), "loam"),
        (&dams::valley(0.015, 0.06, 0.08), crate::works::dam::DamWanted { soil: soil("clay"), ..wall }.into(), "clay"),
    ];
    for (ground, asked, met) in sites {
        let none = proven(ground, asked.clone(), &[]).value;
        let wanted = &none.pits_to_dig;
        let part = &none.soils[0].parts[0];
        // A disc of nine tenths of 25 m holds 45 m of a straight line at most.
        let least = if part.by == Extent::Length { (part.whole / 45.0).ceil() } else { 1.0 };
        let count = wanted.len() as f64;
        assert!(count >= least && count <= least + 1.0, "{count} for {} m or m2", part.whole);
        let proves: f64 = wanted.iter().flat_map(|pit| &pit.proves).map(|proves| proves.2).sum();
        assert!((proves - none.soils.iter().map(|soil| soil.parts.len() as f64).sum::<f64>()).abs() < 1e-9, "{proves}");
        let dug: Vec<TestPit> = wanted
            .iter()
            .map(|asked| pit(&asked.name, (asked.place.x, asked.place.y), asked.depth.in_metres(), met))
            .collect();
        let all = proven(ground, asked.clone(), &dug).value;
        assert_eq!(all.soils[0].standing(), SoilStanding::Proven, "{:#?}", all.soils);
        assert_eq!(all.pits_to_dig, []);
        // A tenth shallower they would not, and one that is dug keeps its name.
        let shallow: Vec<TestPit> = dug
            .iter()
            .map(|dug| pit(&dug.name, (dug.place.x, dug.place.y), dug.depth.in_metres() - 0.2, met))
            .collect();
        let left = proven(ground, asked, &shallow).value;
        assert!(
            left.pits_to_dig.iter().all(|pit| dug.iter().all(|dug| dug.name != pit.name)),
            "{:?}",
            left.pits_to_dig
        );
        assert!(!left.pits_to_dig.is_empty());
    }
}

/// A crumb that clouds the water is a stop, though the soil is the one taken; below the dig it is no matter.
#[test]
fn soil_that_disperses_is_a_stop() {
    let clouding = |crumb: Crumb, to: f64| {
        let mut met = layered("P1", (100.0, 51.8), &[("loam", to), ("loam", 1.2)]);
        met.layers[1].crumb = Some(crumb);
        swale(&[met])
    };
    let plan = clouding(Crumb::Cloudy, 0.4);
    let says = told(&plan, "works::soil-not-as-taken");
    assert!(says.contains("met loam that disperses in water (its crumb made it cloudy) from 0.40 to 0.6"), "{says}");
    assert!(says.contains("DISPERSIVE SOIL is a stop"), "{says}");
    assert!(plan.value.cautions()[0].contains("DISPERSIVE SOIL"), "{:?}", plan.value.cautions());
    assert!(told(&clouding(Crumb::Hazy, 0.4), "works::soil-not-as-taken").contains("loam that may disperse"));
    for harmless in [clouding(Crumb::Clear, 0.4), clouding(Crumb::Cloudy, 0.8)] {
        assert_eq!(harmless.value.soils[0].standing(), SoilStanding::PartlyProven);
        assert!(!harmless.value.soils[0].disperses());
    }
}
