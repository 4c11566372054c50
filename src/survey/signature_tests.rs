//! Blunders planted one kind at a time in a farm's shots: each is told for what it is, and a list without one raises nothing.

use super::tests::{EAST, NORTH, farm, file, local, note, record, settings};
use super::*;
use crate::notes::Note;

/// What is told of likenesses; a list without blunders tells none of these.
const LIKENESSES: [&str; 5] =
    ["survey::looks-like", "survey::identical", "survey::run-off", "survey::files-disagree", "survey::file-shifted"];

/// What is done to a shot.
type Plant = fn(&mut Record);

fn told(files: &[PointFile]) -> (Survey, Vec<Note>) {
    let noted = check(files, &settings(), &local()).unwrap();
    (noted.value, noted.notes)
}

fn grid_of(record: &Record) -> (f64, f64) {
    let Position::Grid { easting, northing } = record.position else { panic!("{record:?}") };
    (easting, northing)
}

/// Two mornings over the same paddock, 5 m apart.
fn two_days(seed: u64) -> [Vec<Record>; 2] {
    let day = |seed: u64, step: f64| {
        let mut records = farm(seed);
        records.retain(|record| record.code == "gs");
        let truth = |record: &Record| {
            let (e, n) = grid_of(record);
            super::tests::ground_at(e - EAST, n - NORTH) + super::tests::bank(e - EAST)
        };
        for record in &mut records {
            let noise = record.elevation.unwrap() - truth(record);
            let (e, n) = grid_of(record);
            record.position = Position::Grid { easting: e + step, northing: n + step };
            record.elevation = Some(truth(record) + noise);
        }
        records
    };
    [day(seed, 0.0), day(seed + 100, 5.0)]
}

fn shifted(records: &[Record], [east, north, up]: [f64; 3]) -> Vec<Record> {
    let mut records = records.to_vec();
    for record in &mut records {
        let (e, n) = grid_of(record);
        record.position = Position::Grid { easting: e + east, northing: n + north };
        record.elevation = record.elevation.map(|z| z + up);
    }
    records
}

#[test]
fn a_clean_list_raises_nothing() {
    for seed in 0..3 {
        let [one, two] = two_days(seed);
        let lists =
            [vec![file("day1.csv", farm(seed))], vec![file("day1.csv", one.clone()), file("day2.csv", two.clone())]];
        for files in lists {
            let (_, notes) = told(&files);
            for code in LIKENESSES {
                assert!(note(&notes, code).is_none(), "seed {seed}: {:?}", note(&notes, code));
            }
        }
    }
}

#[test]
fn shots_exchanged_or_in_feet_are_told_for_what_they_are() {
    let plants: [(Plant, &str); 4] = [
        (
            |record| {
                let (e, n) = grid_of(record);
                record.position = Position::Grid { easting: n, northing: e };
            },
            "easting and northing exchanged",
        ),
        (
            |record| {
                let (e, n) = grid_of(record);
                record.position = Position::Grid { easting: e / 0.3048, northing: n / 0.3048 };
                record.elevation = record.elevation.map(|z| z / 0.3048);
            },
            "a shot in feet among metres",
        ),
        (|record| record.elevation = record.elevation.map(|z| z / 0.3048), "an elevation in feet among metres"),
        (|record| record.elevation = record.elevation.map(|z| z * 0.3048), "an elevation in metres among feet"),
    ];
    for (plant, what) in plants {
        for (seed, at) in [(1, 100), (2, 333)] {
            let mut records = farm(seed);
            let at = records.iter().skip(at).position(|record| record.code == "gs").unwrap() + at;
            plant(&mut records[at]);
            let id = records[at].id.clone();
            let (survey, notes) = told(&[file("day1.csv", records)]);
            assert!(survey.set_aside.iter().any(|row| row.shot == id), "{what}: {:?}", survey.set_aside);
            let text = &note(&notes, "survey::looks-like").unwrap_or_else(|| panic!("{what}")).text;
            assert!(text.contains(&format!("day1.csv:{id}: {what}")), "{text}");
        }
    }
}

#[test]
fn identical_coordinates_are_told_and_are_no_repeats() {
    let mut records = farm(4);
    let mut twin = records[40].clone();
    twin.id = "900".into();
    twin.line = 900;
    records.push(twin);
    let (survey, notes) = told(&[file("day1.csv", records)]);
    let text = &note(&notes, "survey::identical").unwrap().text;
    assert!(text.contains("day1.csv:41 = day1.csv:900"), "{text}");
    assert_eq!(survey.repeats.pairs, 0);
}

/// A base set "here" again: metres in plan and in height. The ground tells the step within its standard errors, and the entry
/// that moves the file back.
#[test]
fn a_file_off_in_all_three_directions_is_told_by_the_ground() {
    let step = [1.8, -1.2, 0.45];
    let mut worst: f64 = 0.0;
    for seed in 0..2 {
        let [one, two] = two_days(seed);
        let files = [file("day1.csv", one), file("day2.csv", shifted(&two, step))];
        let (_, notes) = told(&files);
        let text = &note(&notes, "survey::files-disagree").unwrap_or_else(|| panic!("seed {seed}")).text;
        assert!(text.starts_with("day2.csv stands E +") && text.contains("a base on another place"), "{text}");
        let back = shift_in(text);
        for (axis, back) in back.into_iter().enumerate() {
            worst = worst.max((back + step[axis]).abs());
        }
        // Put back as told, the files agree.
        let moved = shifted(&two, [step[0] + back[0], step[1] + back[1], step[2] + back[2]]);
        let [one, _] = two_days(seed);
        let (_, notes) = told(&[file("day1.csv", one), file("day2.csv", moved)]);
        assert!(note(&notes, "survey::files-disagree").is_none(), "{:?}", note(&notes, "survey::files-disagree"));
    }
    assert!(worst < 0.5, "{worst}");
}

fn shift_in(text: &str) -> [f64; 3] {
    let list = text.split("shift = [").nth(1).unwrap();
    let steps: Vec<f64> =
        list.split('"').filter_map(|part| part.strip_suffix(" m")).map(|number| number.parse().unwrap()).collect();
    steps.try_into().unwrap()
}

#[test]
fn steps_in_height_are_told_for_what_makes_them() {
    let plain = |_: &mut Record| {};
    let antenna = |record: &mut Record| record.quality.antenna_height = Some(1.643);
    let both_heights = |record: &mut Record| record.ellipsoid_height = record.elevation.map(|z| z + 18.37);
    let cases: [(f64, Plant, &str); 8] = [
        (0.2, plain, "as a pole height wrong by 0.2 m"),
        (-0.3048, plain, "as a pole height wrong by 0.3048 m"),
        (1.643, antenna, "as much as the pole height of 1.643 m that the file gives, so it was not taken off"),
        (-1.643, antenna, "taken off twice"),
        (18.37, both_heights, "as much as ellipsoidal heights stand off elevations here (+18.37 m)"),
        // h = H + N: with N added to h a height stands 2 N off, with N taken off H it stands N below.
        (2.0 * 18.37, both_heights, "(+18.37 m), so they may be made with the geoid height of the wrong sign"),
        (-18.37, both_heights, "(+18.37 m), so they may be elevations already when a geoid height was taken off them"),
        (31.2, plain, "as much as a geoid separation"),
    ];
    for (up, say, what) in cases {
        let [one, two] = two_days(5);
        let mut one = one;
        one.iter_mut().for_each(say);
        let mut two = shifted(&two, [0.0, 0.0, up]);
        if what.contains("pole height of") || what.contains("twice") {
            two.iter_mut().for_each(say);
        }
        let (_, notes) = told(&[file("day1.csv", one), file("day2.csv", two)]);
        let text = &note(&notes, "survey::files-disagree").unwrap_or_else(|| panic!("{what}")).text;
        assert!(text.contains(what), "{what}: {text}");
        let back = shift_in(text);
        assert!(back[0] == 0.0 && back[1] == 0.0 && (back[2] + up).abs() < 0.02, "{text}");
    }
}

/// Phase centre and reference point of the antenna exchanged: 8 cm in all check shots, nothing in plan.
#[test]
fn an_antenna_taken_at_the_wrong_point_is_told() {
    let marks = vec![record(1, -20.0, 40.0, 431.0, "cp A"), record(2, 260.0, 200.0, 425.0, "cp B")];
    let mut records = vec![record(1, -20.0, 40.0, 431.081, "chk A")];
    records.extend(farm(6).into_iter().map(|mut record| {
        record.line += 10;
        record.id = record.line.to_string();
        record
    }));
    records.push(record(2000, 260.0, 200.0, 425.08, "chk B"));
    let (_, notes) = told(&[file("marks.csv", marks), file("day1.csv", records)]);
    let text = &note(&notes, "survey::file-shifted").unwrap().text;
    assert!(text.contains("reference point and phase centre"), "{text}");
    assert!(text.contains("shift = [\"0 m\", \"0 m\", \"-0.08"), "{text}");
}

/// Four shots one after another with the pole a metre out: they are told together, with the step.
#[test]
fn a_run_by_one_step_is_told() {
    let mut records = farm(7);
    for (at, from) in [(200, 76), (201, 83), (202, 292), (203, 299)] {
        records.swap(at, from);
        records[at].elevation = records[at].elevation.map(|z| z + 1.0);
    }
    let (_, notes) = told(&[file("day1.csv", records)]);
    let text = &note(&notes, "survey::run-off").unwrap_or_else(|| panic!("{notes:#?}")).text;
    assert!(text.contains("follow each other and all stand +") && text.contains("pole height wrong by 1 m"), "{text}");
}

/// Both mornings shot the same peg, whose true place nobody knows: it tells the step in all three directions.
#[test]
fn a_common_mark_without_a_known_place_tells_the_step() {
    let [mut one, mut two] = two_days(8);
    one.insert(0, record(900, -10.0, 10.0, 431.0, "chk peg"));
    two = shifted(&two, [0.4, 0.0, 0.0]);
    two.insert(0, record(900, -9.6, 10.0, 431.01, "chk peg"));
    let (_, notes) = told(&[file("day1.csv", one.clone()), file("day2.csv", two.clone())]);
    let texts: Vec<&str> =
        notes.iter().filter(|n| n.code == "survey::files-disagree").map(|n| n.text.as_str()).collect();
    let text =
        texts.iter().find(|text| text.contains("on peg, which both shot")).unwrap_or_else(|| panic!("{texts:?}"));
    assert!(text.contains("E +0.400 N +0.000 up +0.010 m off day1.csv"), "{text}");
    two[0] = record(900, -9.99, 10.01, 431.01, "chk peg");
    let two = shifted(&two, [-0.4, 0.0, 0.0]);
    let mut two = two;
    two[0] = record(900, -9.99, 10.01, 431.01, "chk peg");
    let (_, notes) = told(&[file("day1.csv", one), file("day2.csv", two)]);
    assert!(note(&notes, "survey::files-agree").unwrap().text.contains("day2.csv agrees with day1.csv on peg"));
}

/// PDOP and age of corrections beyond their limits set a shot aside; at the limit they do not.
#[test]
fn pdop_and_age_have_limits() {
    let mut records = farm(9);
    records[10].quality.pdop = Some(6.1);
    records[11].quality.pdop = Some(6.0);
    records[12].quality.age = Some(30.5);
    records[13].quality.age = Some(30.0);
    let (survey, _) = told(&[file("day1.csv", records)]);
    let reasons: Vec<(&str, &str)> =
        survey.set_aside.iter().map(|row| (row.shot.as_str(), row.reason.as_str())).collect();
    assert_eq!(reasons, [("11", "PDOP above the limit"), ("13", "corrections too old")]);
}
