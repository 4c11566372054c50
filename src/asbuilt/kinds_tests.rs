//! Walls and pits as built: the shots that the stake list asks for, held against the design that they come from.

use super::{
    Checked, Design, GradeCheck, GradeSettings, Mark, Measured, Part, PutRight, PutRightAction, Verdict, check,
};
use crate::geom::{Point, snap_point};
use crate::ground::Ground;
use crate::notes::{Noted, Silent};
use crate::soil::{Placement, Soil};
use crate::stakeout::{AsBuiltShot, Stake, StakeKind, StakeSettings, stakes};
use crate::survey::{Quality, Role, Setup, Shot, Survey};
use crate::units::{Batter, Elevation, Length, ReadingUnits, Station};
use crate::works::dam::DamWanted;
use crate::works::pit::{PitDepth, PitWanted, PitWater, Purpose};
use crate::works::{
    CrossingWanted, SectionChange, SitePlan, SpillwayWanted, SwaleWanted, Wanted, WaterLevel, Work, design,
};

const MARK: (Point, f64) = (Point::new(60.0, -40.0), 110.0);

fn valley() -> Ground {
    let mut points = Vec::new();
    for x in [-128.0, 0.0, 128.0_f64] {
        for y in [-64.0, 320.0] {
            points.push(snap_point(Point::new(x, y)).at(100.0 + 0.015 * y + 0.07 * x.abs()));
        }
    }
    Ground::of_points(&points)
}

fn plan(ground: &Ground) -> SitePlan {
    let soil = Soil::of_tests();
    let wall = DamWanted {
        name: "wall".to_owned(),
        axis: vec![Point::new(-30.0, 0.0), Point::new(30.0, 0.0)],
        full_supply: WaterLevel::Elevation(Elevation::metres(102.0)),
        flood_rise: Some(Length::metres(0.3)),
        wave: Length::ZERO,
        freeboard: Length::metres(0.3),
        crest_width: Some(Length::metres(3.0)),
        upstream: Batter::horizontal_per_vertical(3.0),
        downstream: Batter::horizontal_per_vertical(2.5),
        key: None,
        topsoil: Length::ZERO,
        soil: soil.clone(),
        placement: Placement::LayeredRolled,
        settlement: 0.10,
        spillway: None,
    };
    let corners = [(60.0, 100.0), (90.0, 100.0), (90.0, 120.0), (60.0, 120.0)];
    let depth = PitDepth::Below(Length::metres(2.0));
    let pond = PitWanted {
        water: PitWater::Freeboard(Length::metres(0.3)),
        soil,
        ..PitWanted::usual("pond", Purpose::Pond, &corners, 3.0, depth)
    };
    let asked: [Wanted; 2] = [wall.into(), pond.into()];
    design(ground, &asked, &Silent).unwrap().value
}

/// The shots asked for, each off its design by what is given for it, between two check shots.
fn checked(plan: &SitePlan, ground: &Ground, off: impl Fn(&AsBuiltShot) -> f64) -> GradeCheck {
    told(plan, ground, off).value
}

/// The same with its notes.
fn told(plan: &SitePlan, ground: &Ground, off: impl Fn(&AsBuiltShot) -> f64) -> Noted<GradeCheck> {
    let list = stakes(ground, plan, &StakeSettings::default()).value;
    let mut survey = Survey::empty(ground.frame.clone());
    survey.files.push("asbuilt.csv".to_owned());
    let asked = list.as_built_shots.iter().map(|shot| {
        let role = match shot.code.as_str() {
            "crest" => Role::Crest,
            "bed" => Role::Bed,
            "sill" => Role::Sill,
            _ => Role::Built,
        };
        (role, shot.place, shot.design_elevation + off(shot))
    });
    let marked = || std::iter::once((Role::Check, MARK.0, MARK.1));
    for (line, (role, place, elevation)) in (2..).zip(marked().chain(asked).chain(marked())) {
        survey.shots.push(Shot {
            id: format!("{line}"),
            file: 0,
            line,
            place,
            elevation,
            code: String::new(),
            role,
            quality: Quality { vertical_sigma: Some(0.005), ..Quality::default() },
            time: None,
            setup: Setup::default(),
            ellipsoid_height: None,
        });
    }
    let mut design = Design::from_plan(plan);
    design.marks.push(Mark { name: "M1".to_owned(), place: MARK.0, elevation_m: MARK.1 });
    // As a run leaves it on disk.
    let text = serde_json::to_string(&design).unwrap();
    let design: Design = serde_json::from_str(&text).unwrap();
    check(&design, plan.surfaces.last(), &Measured::shots(&survey), &GradeSettings::default(), ReadingUnits::Metric)
}

#[test]
fn a_wall_and_a_pond_built_as_drawn_pass_and_what_is_off_is_named() {
    let ground = valley();
    let plan = plan(&ground);
    let high = |shot: &AsBuiltShot| if shot.part == "crest" { 0.05 } else { 0.0 };
    let good = checked(&plan, &ground, high);
    assert_eq!(good.verdict, Verdict::Pass, "{:#?}", good.parts);
    assert!(matches!(good.checked, Checked::Checked { .. }));
    assert!(good.unmatched.is_empty(), "{:?}", good.unmatched);
    assert!(good.shots.iter().all(|shot| shot.verdict != Verdict::Fail), "{:?}", good.shots);
    assert!(good.parts.iter().any(|part| part.works == "pond" && part.part == Part::Bed));
    // Overbuilt by a tenth of 2.6 m at the middle and by nothing at its ends: the crest is held to its own level there.
    let crest = good.shots.iter().filter(|shot| shot.part == Part::Crest).map(|shot| shot.design_elevation_m);
    assert!(crest.clone().fold(f64::NEG_INFINITY, f64::max) > 102.8 && crest.fold(f64::INFINITY, f64::min) < 102.65);

    // Built level to the settled crest: too low where the wall is high.
    let level = |shot: &AsBuiltShot| if shot.part == "crest" { 102.6 - shot.design_elevation } else { 0.0 };
    let low = checked(&plan, &ground, level);
    assert_eq!(low.verdict, Verdict::Fail);
    let over_sill = low.freeboard.iter().find(|check| check.works == "wall").expect("the wall's freeboard");
    assert_eq!(over_sill.verdict, Verdict::Fail, "{over_sill:?}");
    assert!((over_sill.required_m - over_sill.height_m - 0.26).abs() < 0.02, "{over_sill:?}");

    // A pond's floor half a metre too deep fails the job.
    let deep = checked(&plan, &ground, |shot| if shot.part == "bed" { -0.5 } else { high(shot) });
    assert_eq!(deep.verdict, Verdict::Fail);
    assert!(deep.put_right.iter().any(|job| job.works == "pond" && job.part == Part::Bed), "{:?}", deep.put_right);
}

#[test]
fn the_sill_beside_a_wall_is_checked_before_all_else() {
    let ground = crate::works::dam::tests::valley(0.015, 0.06, 0.08);
    let spillway = Some(crate::works::dam::spillway_tests::spillway(8.0));
    let wall = crate::works::dam::DamWanted { spillway, ..crate::works::dam::tests::wanted(103.0) };
    let plan = design(&ground, &[wall], &Silent).unwrap().value;
    let on_sill = |off: f64| {
        move |shot: &AsBuiltShot| match shot.part {
            "sill" => off,
            // At its very ends a section has its foot on the crest.
            "crest" | "section" => 0.05,
            _ => 0.0,
        }
    };
    let good = checked(&plan, &ground, on_sill(0.0));
    assert_eq!(good.verdict, Verdict::Pass, "{:#?}", good.parts);
    assert!(good.unmatched.is_empty(), "{:?}", good.unmatched);
    let sill = good.parts.iter().find(|part| part.part == Part::Sill).expect("a sill");
    assert!(sill.shots >= 9 && sill.spread_m < 1e-9, "{sill:?}");
    // The floor of the cut is shot as well, and lies as drawn.
    let floor = good.shots.iter().filter(|shot| shot.part == Part::Other && shot.difference_m.abs() < 0.02).count();
    assert!(floor > 10, "{floor}");
    // The first line after the verdict: lowest crest over the mean of the sill as shot, against head and freeboard.
    let over = &good.freeboard[0];
    assert!(over.sill_shot && (over.height_m - 0.65).abs() < 1e-6 && (over.required_m - 0.6).abs() < 1e-9, "{over:?}");
    assert!(good.headlines[1].contains("above the mean sill"), "{:?}", good.headlines);

    // 50 mm high, the sill eats the crest's freeboard and is to be lowered.
    let high = checked(&plan, &ground, on_sill(0.05));
    assert_eq!(high.verdict, Verdict::Fail);
    assert!((high.freeboard[0].height_m - 0.60).abs() < 1e-6, "{:?}", high.freeboard);
    assert!(high.put_right.iter().any(|job| job.part == Part::Sill), "{:?}", high.put_right);

    // Tilted by 60 mm from end to end it fails, though its mean is right.
    let lip = &plan.shared().next().unwrap().spillways[0].lip;
    let tilted = checked(&plan, &ground, |shot| match shot.part {
        "sill" => 0.06 * (lip.foot(shot.place).station / lip.length() - 0.5),
        "crest" | "section" => 0.05,
        _ => 0.0,
    });
    assert_eq!(tilted.verdict, Verdict::Fail, "{:#?}", tilted.parts);
}

/// A pond's sill is shot and judged as a wall's is, and its floor still decides with it.
#[test]
fn a_ponds_sill_is_proven_with_its_floor() {
    let ground = valley();
    let mut asked: PitWanted = match &plan(&ground).works[1] {
        Work::Pit(pit) => pit.wanted.clone(),
        _ => panic!("a pond"),
    };
    let at = crate::works::SpillwayPlace::LowRim;
    asked.spillway = Some(SpillwayWanted { at, ..SpillwayWanted::usual(Length::metres(6.0)) });
    let plan = design(&ground, &[asked], &Silent).unwrap().value;
    let off = |sill: f64| checked(&plan, &ground, move |shot| if shot.part == "sill" { sill } else { 0.0 });
    let good = off(0.0);
    assert!(good.not_shot.is_empty(), "{:?}", good.not_shot);
    let sill = good.parts.iter().find(|part| part.part == Part::Sill).expect("a sill");
    assert!(sill.shots >= 6 && sill.spread_m < 1e-9, "{sill:?}");
    assert!(good.shots.iter().all(|shot| shot.difference_m.abs() < 0.02), "{:?}", good.shots);
    let high = off(0.05);
    assert_eq!(high.verdict, Verdict::Fail);
    assert!(high.put_right.iter().any(|job| job.part == Part::Sill), "{:?}", high.put_right);
}

/// A drain dug as drawn passes on its bed; one dug level, or with a hump, does not, and no freeboard is asked of its berm.
#[test]
fn a_drain_is_held_to_the_fall_of_its_bed() {
    let (ground, plan) = crate::works::drain::tests::drained(true);
    let drain = plan.drains().next().unwrap();
    let off = |off: &dyn Fn(&AsBuiltShot) -> f64| checked(&plan, &ground, off);
    let good = off(&|_| 0.0);
    assert!(good.not_shot.is_empty() && good.freeboard.is_empty(), "{:?} {:?}", good.not_shot, good.freeboard);
    assert_ne!(good.verdict, Verdict::Fail);
    assert!(good.shots.iter().all(|shot| shot.difference_m.abs() < 0.02), "{:?}", good.shots);
    // It falls 0.1 m from 20 to 30 m: a hump of 0.25 m at 30 m stands 0.15 m over the bed before it.
    let rises = |height: f64| {
        let on_hump = move |shot: &AsBuiltShot| shot.part == "bed" && (shot.station - 30.0).abs() < 1.0;
        let told = told(&plan, &ground, move |shot| if on_hump(shot) { height } else { 0.0 });
        let note = told.notes.into_iter().find(|note| note.code == "asbuilt::bed-rises");
        // Where it rises nothing passes, and the hump is to be taken off.
        assert_eq!(note.is_some(), told.value.verdict == Verdict::Fail && height > 0.1, "{:?}", told.value.verdict);
        let off = |job: &PutRight| job.part == Part::Bed && job.action == PutRightAction::Lower;
        assert!(note.is_none() || told.value.put_right.iter().any(off), "{:?}", told.value.put_right);
        assert!(!told.value.headlines.iter().any(|line| line.contains("sill")), "{:?}", told.value.headlines);
        note
    };
    let note = rises(0.25).expect("water stands");
    assert!(note.text.contains("at station 30.0 m it lies 150 mm higher than at 20.0 m"), "{}", note.text);
    assert!(rises(0.0).is_none() && rises(0.09).is_none());
    // Two humps are two jobs: 0.3 m too high at 20 m, and a bed that rises from 30 m to 0.4 m too high at 50 m.
    let two = |shot: &AsBuiltShot| match shot.station {
        _ if shot.part != "bed" => 0.0,
        at if (at - 20.0).abs() < 1.0 => 0.3,
        at if (at - 40.0).abs() < 1.0 => 0.2,
        at if (at - 50.0).abs() < 1.0 => 0.4,
        _ => 0.0,
    };
    let told = told(&plan, &ground, two);
    let humps: Vec<&str> =
        told.notes.iter().filter(|note| note.code == "asbuilt::bed-rises").map(|note| note.text.as_str()).collect();
    assert_eq!(humps.len(), 2, "{humps:?}");
    assert!(humps[0].contains("at station 20.0 m it lies 200 mm higher than at 10.0 m"), "{humps:?}");
    assert!(humps[1].contains("at station 50.0 m it lies 200 mm higher than at 30.0 m"), "{humps:?}");
    let lower = |job: &&PutRight| job.part == Part::Bed && job.action == PutRightAction::Lower;
    let jobs: Vec<(f64, f64)> =
        told.value.put_right.iter().filter(lower).map(|job| (job.from_m.round(), job.to_m.round())).collect();
    assert!(jobs.iter().any(|job| (job.0..=job.1).contains(&20.0)), "{jobs:?}");
    assert!(jobs.iter().any(|job| (job.0..=job.1).contains(&50.0)), "{jobs:?}");
    let level = off(&|shot| if shot.part == "bed" { 0.01 * shot.station } else { 0.0 });
    assert_eq!(level.verdict, Verdict::Fail);
    let job = level.put_right.iter().find(|job| job.part == Part::Bed).expect("its bed");
    assert!(job.to_m > drain.bed.1.in_metres() - 15.0, "{job:?}");
}

proptest::proptest! {
    #![proptest_config(proptest::prelude::ProptestConfig::with_cases(24))]

    /// Who takes the shots of the list has shot the whole floor, whatever its size and turn.
    #[test]
    fn the_shots_of_the_list_cover_a_floor(
        turn in 0.0..std::f64::consts::TAU,
        (length, width) in (4.0..60.0f64, 3.0..30.0f64),
    ) {
        let level = Ground::of_points(
            &[(-200.0, -200.0), (200.0, -200.0), (200.0, 200.0), (-200.0, 200.0)]
                .map(|(x, y)| snap_point(Point::new(x, y)).at(110.0)),
        );
        let (sin, cos) = turn.sin_cos();
        let corners = [(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)].map(|(x, y)| (x * length, y * width));
        let turned = corners.map(|(x, y)| (x * cos - y * sin, x * sin + y * cos));
        let depth = PitDepth::Below(Length::metres(1.0));
        let pit = PitWanted {
            water: PitWater::Freeboard(Length::metres(0.3)),
            ..PitWanted::usual("pit", Purpose::Pond, &turned, 2.0, depth)
        };
        let plan = design(&level, &[pit], &Silent).unwrap().value;
        let answer = checked(&plan, &level, |_| 0.0);
        proptest::prop_assert!(answer.not_shot.is_empty(), "{:?}", answer.not_shot);
    }
}

/// A swale whose bed steps down by 0.3 m and widens: built so it passes, and built without the step the bed fails there.
#[test]
fn a_swale_is_held_against_the_section_at_each_station() {
    let plane = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
    let ground = Ground::of_points(&plane.map(|(x, y)| Point::new(x, y).at(430.0 + 0.04 * y)));
    let change = SectionChange {
        width: Some(Length::metres(2.0)),
        step_down: Some(Length::metres(0.3)),
        crest: Some(Length::metres(2.0)),
        ..SectionChange::at(Station::metres(80.0), Length::metres(10.0))
    };
    let crossing = CrossingWanted {
        at: Station::metres(120.0),
        width: Length::metres(4.0),
        ramp: Batter::horizontal_per_vertical(8.0),
        batter: Batter::horizontal_per_vertical(2.0),
    };
    let level = WaterLevel::Elevation(Elevation::metres(432.0));
    let swale = SwaleWanted {
        changes: vec![change],
        crossings: vec![crossing],
        ..SwaleWanted::usual("upper", level, Soil::of_tests())
    };
    let plan = design(&ground, &[swale], &Silent).unwrap().value;
    let list = stakes(&ground, &plan, &StakeSettings::default()).value;
    // A stake where the change begins and where it ends, each with the bed that it has there.
    for (station, bed) in [(80.0, 431.4), (90.0, 431.1)] {
        let stake = list.stakes.iter().find(|s| s.station == station && s.kind == StakeKind::Line).unwrap();
        assert!((stake.design_elevation - bed).abs() < 1e-6, "{stake:?}");
    }
    // A crossing: its corners, the feet of its ramps, shots on its top, and no bed under it.
    let swale = plan.swales().next().unwrap();
    let near = |place: Point| (swale.line.foot(place).station - 120.0).abs() < 2.1;
    let crest = swale.crest.built.in_metres();
    let on_top = |stake: &&Stake| near(stake.place) && (stake.design_elevation - crest).abs() < 1e-9;
    let of_kind = |kind: StakeKind| list.stakes.iter().filter(on_top).filter(|stake| stake.kind == kind).count();
    assert!(of_kind(StakeKind::Crest) >= 4 && of_kind(StakeKind::Toe) == 2);
    let asked = list.as_built_shots.iter().filter(|shot| near(shot.place));
    assert!(
        asked.clone().filter(|shot| shot.part == "crest").count() >= 3 && asked.clone().all(|shot| shot.part != "bed")
    );
    let bed = |shot: &AsBuiltShot| shot.part == "bed";
    let deep = |shot: &AsBuiltShot| bed(shot) && shot.design_elevation < 431.2;
    assert!(list.as_built_shots.iter().any(deep));
    let good = checked(&plan, &ground, |shot| if shot.part == "crest" { 0.05 } else { 0.0 });
    let of_bed = |check: &GradeCheck| check.parts.iter().find(|part| part.part == Part::Bed).unwrap().verdict;
    assert_eq!(of_bed(&good), Verdict::Pass, "{:#?}", good.parts);
    let level = checked(&plan, &ground, |shot| if deep(shot) { 0.3 } else { 0.0 });
    assert_eq!(of_bed(&level), Verdict::Fail, "{:#?}", level.parts);
    // Worn wheel tracks on the crossing make the crest low.
    let of_crest = |check: &GradeCheck| {
        check.parts.iter().filter(|part| part.part == Part::Crest).map(|part| part.verdict).max().unwrap()
    };
    assert_eq!(of_crest(&good), Verdict::Pass, "{:#?}", good.parts);
    let worn = checked(&plan, &ground, |shot| match shot.part {
        "crest" if near(shot.place) && swale.line.foot(shot.place).offset > -1.0 => -0.2,
        "crest" => 0.05,
        _ => 0.0,
    });
    assert_eq!(of_crest(&worn), Verdict::Fail, "{:#?}", worn.parts);
}

/// A crest that follows the cut is held to its own level at each place: built level at its least it fails where it is to be high.
#[test]
fn a_crest_that_follows_the_cut_is_held_place_by_place() {
    let plane = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)];
    let ground = Ground::of_points(&plane.map(|(x, y)| Point::new(x, y).at(430.0 + 0.04 * y)));
    let change = SectionChange {
        width: Some(Length::metres(3.0)),
        ..SectionChange::at(Station::metres(100.0), Length::metres(5.0))
    };
    let level = WaterLevel::Elevation(Elevation::metres(432.0));
    let usual = SwaleWanted::usual("upper", level, Soil::of_tests());
    let swale = SwaleWanted { changes: vec![change], follow: Some(Length::metres(20.0)), ..usual };
    let plan = design(&ground, &[swale], &Silent).unwrap().value;
    let swale = plan.swales().next().unwrap();
    let (least, highest) = (swale.crest.built.in_metres(), swale.highest_crest().in_metres());
    assert!(highest > least + 0.1);
    let list = stakes(&ground, &plan, &StakeSettings::default()).value;
    let crest: Vec<f64> =
        list.stakes.iter().filter(|s| s.kind == StakeKind::Crest).map(|s| s.design_elevation).collect();
    assert!((crest.iter().copied().fold(f64::INFINITY, f64::min) - least).abs() < 0.02);
    assert!((crest.iter().copied().fold(0.0, f64::max) - highest).abs() < 0.02);
    let of_crest = |check: &GradeCheck| {
        check.parts.iter().filter(|part| part.part == Part::Crest).map(|part| part.verdict).max().unwrap()
    };
    let good = checked(&plan, &ground, |shot| if shot.part == "crest" { 0.05 } else { 0.0 });
    assert_eq!(of_crest(&good), Verdict::Pass, "{:#?}", good.parts);
    let flat = checked(&plan, &ground, |shot| match shot.part {
        "crest" => least + 0.05 - shot.design_elevation,
        _ => 0.0,
    });
    assert_eq!(of_crest(&flat), Verdict::Fail, "{:#?}", flat.parts);
}
