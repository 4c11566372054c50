//! Stakes of a straight swale on a plane, in closed form.

use super::set::stakes;
use super::settings::StakeSettings;
use super::stake::{Action, Stake, StakeKind, StakeList, Target};
use crate::earth::examples::{CREST, ground, plan};
use crate::geom::Point;
use crate::notes::Noted;
use crate::survey::{Role, Roles};
use crate::units::{Figures, Length, ReadingUnits};
use crate::works::{SitePlan, Work};
use std::collections::BTreeSet;

fn staked(settings: &StakeSettings) -> Noted<StakeList> {
    stakes(&ground(), &plan(), settings)
}

fn of(list: &StakeList, kind: StakeKind) -> Vec<&Stake> {
    list.stakes.iter().filter(|stake| stake.kind == kind).collect()
}

#[test]
fn line_stakes_at_the_interval_and_both_ends() {
    let list = staked(&StakeSettings::default()).value;
    let line = of(&list, StakeKind::Line);
    assert_eq!(line.iter().map(|stake| stake.station).collect::<Vec<_>>(), [0.0, 20.0, 40.0, 60.0, 80.0, 100.0]);
    let stake = line[2];
    assert_eq!((stake.id.as_str(), stake.side, stake.offset), ("U040", "on line", 0.0));
    assert_eq!(stake.place, Point::new(40.0, 0.0));
    assert!((stake.predicted_ground.unwrap() - 100.0).abs() < 1e-9);
    assert_eq!((stake.refers_to, stake.design_elevation), (Target::Bed, 99.4));
    assert!((stake.away - 1.8).abs() < 1e-9);
    assert_eq!(stake.writes, "CUT 0.60 TO BED 1.80 UPHILL");
}

/// The cut is from the offset stake's own ground, 0.2 m above the line's, not from the line's.
#[test]
fn offset_stakes_speak_from_their_own_ground() {
    let list = staked(&StakeSettings::default()).value;
    let offset = of(&list, StakeKind::Offset);
    let stake = offset.iter().find(|stake| stake.id == "UX040").unwrap();
    assert_eq!((stake.side, stake.offset, stake.place), ("uphill", 5.0, Point::new(40.0, 5.0)));
    assert!((stake.away - 3.2).abs() < 1e-9);
    let Some(Action::Cut(down)) = stake.action else { panic!("{stake:?}") };
    assert!((down - 0.8).abs() < 1e-9);
    assert_eq!(stake.writes, "CUT 0.80 TO BED 3.20 DOWNHILL");
    // Both ends of the sill, from the same line of stakes.
    let sill: Vec<&&Stake> = offset.iter().filter(|stake| stake.refers_to == Target::Sill).collect();
    assert_eq!(sill.iter().map(|stake| stake.station).collect::<Vec<_>>(), [80.0, 86.0]);
    assert!((sill[1].away - 6.5).abs() < 1e-9, "to the lip");
    assert_eq!(sill[1].writes, "CUT 0.200 TO SILL 6.50 DOWNHILL");
}

#[test]
fn sill_and_crest_stakes_stand_on_what_they_name() {
    let list = staked(&StakeSettings::default()).value;
    let sill = of(&list, StakeKind::Sill);
    assert_eq!(sill.iter().map(|stake| stake.station).collect::<Vec<_>>(), [80.0, 82.0, 84.0, 86.0]);
    // The lip of the example lies on ground 60 mm below the sill: the stake says so.
    assert!(sill.iter().all(|stake| stake.away == 0.0 && stake.writes == "FILL 0.060 TO SILL HERE"));
    let crest = of(&list, StakeKind::Crest);
    assert_eq!(crest.first().unwrap().station, 0.0);
    assert_eq!(crest.last().unwrap().station, 100.0);
    assert!(!crest.iter().any(|stake| stake.station > 79.0 && stake.station < 87.0), "none over the sill");
    for stake in crest {
        let own = 100.0 + 0.04 * stake.place.y;
        let Some(Action::Fill(up)) = stake.action else { panic!("{stake:?}") };
        assert!((up - (CREST - own)).abs() < 1e-9);
    }
}

#[test]
fn names_are_unique_short_and_plain() {
    let mut plan = plan();
    for name in ["under", "upper two"] {
        let mut more = plan.swale(0).clone();
        more.wanted.name = name.to_owned();
        plan.works.push(Work::Swale(more));
    }
    let list = stakes(&ground(), &plan, &StakeSettings::default()).value;
    let names: Vec<&str> =
        list.stakes.iter().map(|s| s.id.as_str()).chain(list.as_built_shots.iter().map(|s| s.id.as_str())).collect();
    assert_eq!(names.iter().collect::<BTreeSet<_>>().len(), names.len());
    assert!(names.iter().all(|id| id.len() <= 8 && id.chars().all(|c| c.is_ascii_alphanumeric())), "{names:?}");
}

#[test]
fn offset_stakes_that_are_not_clear_are_named_one_by_one() {
    // The example's sill of 10 mm needs a level, which is told as well.
    let of_sill = |code: &str| code == "stakeout::sill-needs-a-level";
    let codes = |notes: &Noted<StakeList>| {
        notes.notes.iter().map(|note| note.code.clone()).filter(|code| !of_sill(code)).collect::<Vec<_>>()
    };
    // The cut's top lies 3.91 m uphill of the line: 5 m keeps 1.09 m clear.
    assert_eq!(codes(&staked(&StakeSettings::default())), Vec::<String>::new());
    let near = staked(&StakeSettings { offset: Length::metres(4.5), ..StakeSettings::default() });
    let named = codes(&near).iter().filter(|code| *code == "stakeout::offset-not-clear").count();
    assert_eq!(named, of(&near.value, StakeKind::Offset).len());
    assert!(near.notes.iter().any(|note| note.text.contains("an offset of 5 m would keep")), "{:?}", near.notes);
    let within = staked(&StakeSettings { offset: Length::metres(2.0), ..StakeSettings::default() });
    assert!(within.notes[0].text.contains("stands in the cut"), "{:?}", within.notes[0]);
}

/// The cut's top lies 3.91 m uphill of the line. From 2 m on the first whole metre that keeps 1 m clear is 5 m, 1.5 m clear 6 m;
/// in feet 20 ft, being more than 5.41 m.
#[test]
fn an_offset_that_is_not_said_clears_the_dig() {
    let from = |offset: f64, clearance: f64, units: ReadingUnits| {
        let figures = Figures { units, ..Figures::default() };
        let (offset, clearance) = (Length::metres(offset), Length::metres(clearance));
        staked(&StakeSettings { offset, clearance, figures, offset_grows: true, ..StakeSettings::default() })
    };
    for (made, expected) in [
        (from(2.0, 1.0, ReadingUnits::Metric), 5.0),
        (from(5.0, 1.5, ReadingUnits::Metric), 6.0),
        (from(5.0, 1.5, ReadingUnits::Feet), 6.096),
    ] {
        let stakes = of(&made.value, StakeKind::Offset);
        assert!(stakes.iter().all(|stake| (stake.offset - expected).abs() < 0.01), "{expected}: {:?}", stakes[0]);
        let codes: Vec<&str> = made.notes.iter().map(|note| note.code.as_str()).collect();
        assert!(
            codes.contains(&"stakeout::offset-found") && !codes.contains(&"stakeout::offset-not-clear"),
            "{codes:?}"
        );
        let ids: BTreeSet<&str> = made.value.stakes.iter().map(|stake| stake.id.as_str()).collect();
        assert_eq!(ids.len(), made.value.stakes.len(), "names are not used up by what is tried");
    }
    let clear = from(5.0, 1.0, ReadingUnits::Metric);
    assert!(clear.notes.iter().all(|note| note.code != "stakeout::offset-found"));
}

#[test]
fn a_stake_off_the_survey_says_so() {
    let far = staked(&StakeSettings { offset: Length::metres(30.0), ..StakeSettings::default() });
    let stake = of(&far.value, StakeKind::Offset)[0];
    assert_eq!((stake.predicted_ground, stake.action), (None, None));
    assert_eq!(stake.writes, "BED 28.20 DOWNHILL");
    assert!(far.notes.iter().any(|note| note.code == "stakeout::off-the-survey"));
}

/// A sill is asked for as close as its proof needs: by hand, the rover's 10 mm at 20.6 mm sigma needs 148 shots or so, a level's
/// 5.8 mm some twelve; at a wide tolerance the metre stands.
#[test]
fn sill_shots_are_as_many_as_prove_it() {
    let sill = |settings: &StakeSettings| {
        let found = staked(settings);
        let count = found.value.as_built_shots.iter().filter(|shot| shot.part == "sill").count();
        (count, found.notes.iter().any(|note| note.code == "stakeout::sill-needs-a-level"))
    };
    let by = |tolerance: f64, sigma: f64| StakeSettings {
        sill_tolerance: Some(Length::metres(tolerance)),
        shot_sigma: Length::metres(sigma),
        built_roughness: Length::metres(0.0),
        ..StakeSettings::default()
    };
    let (count, level) = sill(&by(0.015, 0.015));
    assert!((33..=37).contains(&count) && !level, "{count}");
    assert_eq!(sill(&by(0.100, 0.015)), (7, false));
    let (count, level) = sill(&StakeSettings::default());
    assert!((10..=14).contains(&count) && level, "{count}");
    // Both ends of the lip are among them.
    let list = staked(&by(0.015, 0.015)).value;
    let stations: Vec<f64> =
        list.as_built_shots.iter().filter(|shot| shot.part == "sill").map(|shot| shot.station).collect();
    assert!((stations[0] - 80.0).abs() < 1e-6 && (stations[stations.len() - 1] - 86.0).abs() < 1e-6, "{stations:?}");
}

/// Sill as its proof needs, crest and bed every 10 m, sections every 50 m with elevations from the designed surface, under
/// codes that the plain code table reads back.
#[test]
fn the_shots_to_take_after_the_dig() {
    let list = staked(&StakeSettings::default()).value;
    let part = |part: &str| list.as_built_shots.iter().filter(|shot| shot.part == part).collect::<Vec<_>>();
    assert!(part("sill").len() >= 7);
    assert_eq!(part("crest").len(), 9 + 3);
    assert_eq!(part("bed").len(), 11);
    assert_eq!(part("section").len(), 15);
    let section: Vec<f64> = part("section")[5..10].iter().map(|shot| shot.design_elevation).collect();
    let closed = [100.0 + 0.04 * 1.8 / 0.46, 99.4, 100.0, CREST];
    for (found, closed) in section.iter().zip(closed) {
        assert!((found - closed).abs() < 1e-9, "{section:?}");
    }
    let roles = Roles::default();
    for (wanted, name) in [(Role::Sill, "sill"), (Role::Crest, "crest"), (Role::Bed, "bed")] {
        assert!(part(name).iter().all(|shot| roles.read(&shot.code).role == Some(wanted)), "{name}");
    }
    let section: Vec<&str> = part("section")[..5].iter().map(|shot| shot.code.as_str()).collect();
    assert_eq!(section, ["built", "bed", "built", "crest", "built"]);
    assert_eq!(roles.read("built").role, Some(Role::Built));
}

#[test]
fn no_two_stakes_crowd_at_the_end_of_a_sill() {
    let mut plan = plan();
    let lip = &plan.swale(0).spillways[0].lip;
    let (first, last) = (lip.first(), lip.last());
    let longer = crate::geom::Polyline::new(vec![first, first.towards(last, 6.2 / first.distance(last))]);
    plan.swale_mut(0).spillways[0].lip = longer.expect("a line");
    let list = stakes(&ground(), &plan, &StakeSettings::default()).value;
    let sill: Vec<f64> = of(&list, StakeKind::Sill).iter().map(|stake| stake.station).collect();
    assert_eq!(sill.len(), 4, "{sill:?}");
    assert!((sill[3] - sill[0] - 6.2).abs() < 1e-9, "both ends are staked: {sill:?}");
}

/// The same swale once more under another name: its berm buries the stakes on the first one's crest.
#[test]
fn stakes_on_the_fill_of_another_work_are_told() {
    let mut site = plan();
    let told = |site: &SitePlan| {
        let notes = stakes(&ground(), site, &StakeSettings::default()).notes;
        notes.into_iter().filter(|note| note.code == "stakeout::on-fill-of-another").map(|note| note.text).collect()
    };
    let alone: Vec<String> = told(&site);
    assert!(alone.is_empty(), "{alone:?}");
    let Work::Swale(first) = &site.works[0] else { panic!("a swale") };
    let mut second = first.clone();
    second.wanted.name = "other".to_owned();
    let surface = site.surfaces.last().cloned();
    site.works.push(Work::Swale(second));
    site.surfaces.extend(surface);
    let both: Vec<String> = told(&site);
    assert_eq!(both.len(), 2, "{both:?}");
    assert!(
        both[0].contains("of `upper`") && both[0].contains("UC") && both[0].contains("fill of `other`"),
        "{both:?}"
    );
}
