//! Tests of the survey: every gate, every reason.

use super::*;
use crate::frame::{SiteFrame, resolve};
use crate::geom::Point;
use crate::notes::Note;
use crate::units::{Length, LengthUnit};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Normal};

pub(super) const EAST: f64 = 412_000.0;
pub(super) const NORTH: f64 = 6_187_000.0;

pub(super) fn local() -> SiteFrame {
    SiteFrame {
        crs: "local".into(),
        name: "site grid".into(),
        height: "as the survey gives them".into(),
        unit: LengthUnit::Metres,
        origin: Point::new(EAST, NORTH),
        combined_factor: 1.0,
    }
}

fn utm() -> SiteFrame {
    resolve("EPSG:32755").unwrap().site_frame((EAST, NORTH), None)
}

pub(super) fn record(line: u64, e: f64, n: f64, z: f64, code: &str) -> Record {
    Record {
        line,
        id: line.to_string(),
        position: Position::Grid { easting: EAST + e, northing: NORTH + n },
        elevation: Some(z),
        code: code.into(),
        quality: Quality::default(),
        time: None,
        setup: Setup::default(),
        ellipsoid_height: None,
    }
}

pub(super) fn file(name: &str, records: Vec<Record>) -> PointFile {
    PointFile {
        name: name.into(),
        unit: Some(LengthUnit::Metres),
        format: Format::Text(Delimiter::Comma),
        crs: None,
        geographic: None,
        heights: HeightsAre::Elevations,
        columns: vec![Column::Point, Column::Northing, Column::Easting, Column::Elevation, Column::Code],
        titles: Vec::new(),
        columns_from: ColumnsFrom::Said,
        records,
        notes: Vec::new(),
    }
}

pub(super) fn settings() -> Settings {
    let codes = [
        (Role::Ground, "gs"),
        (Role::Breakline, "top"),
        (Role::Breakline, "toe"),
        (Role::Mark, "cp"),
        (Role::Check, "chk"),
        (Role::Boundary, "edge"),
        (Role::Service, "pole"),
    ];
    Settings { roles: Roles::with(codes), ..Settings::default() }
}

fn checked(files: &[PointFile]) -> (Survey, Vec<Note>) {
    let noted = check(files, &settings(), &local()).unwrap();
    let read: usize = files.iter().map(|file| file.records.len()).sum();
    assert_eq!(noted.value.shots.len() + noted.value.set_aside.len(), read, "nothing is dropped");
    (noted.value, noted.notes)
}

fn reasons(survey: &Survey) -> Vec<(&str, &str)> {
    survey.set_aside.iter().map(|row| (row.shot.as_str(), row.reason.as_str())).collect()
}

pub(super) fn note<'a>(notes: &'a [Note], code: &str) -> Option<&'a Note> {
    notes.iter().find(|note| note.code == code)
}

/// Rolling ground: 3 % fall, a swell of 0.8 m on 120 m, and a track bank 1.5 m high with batters of 1.5 m.
pub(super) fn ground_at(e: f64, n: f64) -> f64 {
    let swell = 0.8 * (e / 19.0).sin() * (n / 23.0).cos();
    430.0 - 0.03 * n + 0.01 * e + swell
}

pub(super) fn bank(e: f64) -> f64 {
    1.5 * (1.0 - ((e - 150.0).abs() - 2.0).max(0.0) / 1.5).max(0.0)
}

/// About 600 shots at 11 m over 7 ha with 20 mm of noise and 25 mm of roughness, the bank's edges as breaklines.
pub(super) fn farm(seed: u64) -> Vec<Record> {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let noise = Normal::new(0.0, 0.032).unwrap();
    let mut records = Vec::new();
    let mut line = 1;
    let mut shoot = |e: f64, n: f64, code: &str, random: &mut ChaCha8Rng| {
        let z = ground_at(e, n) + bank(e) + noise.sample(random);
        records.push(record(line, e, n, z, code));
        line += 1;
    };
    for row in 0..24 {
        for column in 0..24 {
            let jitter = |random: &mut ChaCha8Rng| random.random_range(-3.0..3.0);
            let (e, n) = (f64::from(column) * 11.0 + jitter(&mut random), f64::from(row) * 11.0 + jitter(&mut random));
            shoot(e, n, "gs", &mut random);
        }
    }
    for (string, e) in [("toe1", 146.5), ("top2", 148.0), ("top3", 152.0), ("toe4", 153.5)] {
        for step in 0..26 {
            shoot(e, f64::from(step) * 10.0, string, &mut random);
        }
    }
    records
}

#[test]
fn a_sound_survey_keeps_every_shot_and_its_bank() {
    for seed in 0..3 {
        let (survey, notes) = checked(&[file("day1.csv", farm(seed))]);
        // Chance alone takes one good shot in some ten thousand; none of the bank's.
        assert!(survey.set_aside.len() <= 1, "seed {seed}: {:?}", reasons(&survey));
        assert!(survey.set_aside.iter().all(|row| row.line <= 576), "seed {seed}: {:?}", reasons(&survey));
        assert!(survey.doubtful.len() < 7, "seed {seed}: told {} of 680", survey.doubtful.len());
        assert_eq!(survey.breaklines.len(), 4);
        assert!(note(&notes, "survey::off-neighbours-together").is_none(), "seed {seed}: {notes:?}");
        assert!(note(&notes, "survey::not-checked").is_some());
        assert!((7.0..11.0).contains(&survey.spacing()), "{}", survey.spacing());
    }
}

/// The same bank without breaklines: shots on it keep each other company, so it is told and none is set aside.
#[test]
fn a_bank_without_breaklines_is_told_not_cut_off() {
    let mut records = farm(3);
    for record in &mut records {
        "gs".clone_into(&mut record.code);
    }
    let (survey, _) = checked(&[file("day1.csv", records)]);
    assert_eq!(reasons(&survey), []);
}

#[test]
fn planted_blunders_are_set_aside_with_line_reason_and_value() {
    for seed in 0..3 {
        let mut records = farm(seed);
        let plant = |at: usize, change: fn(&mut Record), records: &mut Vec<Record>| change(&mut records[at]);
        plant(30, |r| r.quality.fix = Fix::Float, &mut records);
        plant(77, |r| r.quality.vertical_sigma = Some(0.083), &mut records);
        plant(101, |r| r.quality.fix = Fix::Coarse, &mut records);
        plant(140, |r| *r.elevation.as_mut().unwrap() += 2.5, &mut records);
        plant(215, |r| *r.elevation.as_mut().unwrap() -= 1.2, &mut records);
        plant(333, |r| *r.elevation.as_mut().unwrap() += 22.0, &mut records);
        plant(400, |r| r.elevation = Some(0.0), &mut records);
        plant(
            451,
            |r| {
                let Position::Grid { easting, northing } = r.position else { unreachable!() };
                r.position = Position::Grid { easting: northing, northing: easting };
            },
            &mut records,
        );
        plant(500, |r| r.elevation = None, &mut records);
        // A vertex of the bank's top edge with a false fix.
        plant(576 + 26 + 9, |r| *r.elevation.as_mut().unwrap() += 4.0, &mut records);
        let (survey, notes) = checked(&[file("day1.csv", records)]);
        let due = [
            ("31", "not fixed"),
            ("78", "sigma above the limit"),
            ("102", "not fixed"),
            ("141", "off its neighbours"),
            ("216", "off its neighbours"),
            ("334", "off its neighbours"),
            ("401", "impossible elevation"),
            ("452", "far outside the survey"),
            ("501", "no elevation"),
            ("612", "off its neighbours"),
        ];
        let found = reasons(&survey);
        assert!(due.iter().all(|row| found.contains(row)), "seed {seed}: {found:?}");
        assert!(found.len() <= due.len() + 1, "seed {seed}: {found:?}");
        let low = survey.set_aside.iter().find(|row| row.shot == "216").unwrap();
        assert!(low.value.starts_with("-1.") && low.value.ends_with("limit 4"), "{}", low.value);
        assert!(
            low.point.is_some()
                && survey
                    .set_aside
                    .iter()
                    .all(|row| row.point.is_some() || ["452", "501"].contains(&row.shot.as_str()))
        );
        let imprecise = survey.set_aside.iter().find(|row| row.shot == "78").unwrap();
        assert_eq!((imprecise.value.as_str(), imprecise.line), ("vertical 0.083 m, limit 0.050 m", 78));
        let told = &note(&notes, "survey::set-aside").unwrap().text;
        assert!(told.contains(" of 680 shots set aside: far outside the survey 1, "), "{told}");
        assert!(survey.breaklines.iter().any(|line| line.len() == 25), "the line goes on without its bad vertex");
    }
}

#[test]
fn the_user_puts_a_shot_back_by_point_number_or_line() {
    let mut records = farm(1);
    records[140].elevation = records[140].elevation.map(|z| z + 2.5);
    records[30].quality.fix = Fix::Float;
    records[500].elevation = None;
    records[30].id = String::new();
    let files = [file("field/day1.csv", records)];
    let row = |line: u64| SetAside {
        file: "field/day1.csv".into(),
        line,
        shot: if line == 31 { String::new() } else { line.to_string() },
        reason: String::new(),
        value: String::new(),
        point: None,
    };
    let keep = vec![row(141).keep_line(), row(31).keep_line(), row(501).keep_line(), "day9.csv:3".to_owned()];
    let noted = check(&files, &Settings { keep, ..settings() }, &local()).unwrap();
    assert_eq!(reasons(&noted.value), [("501", "no elevation")]);
    assert!(note(&noted.notes, "survey::keep-not-possible").is_some());
    assert!(note(&noted.notes, "survey::keep-without-shot").unwrap().text.contains("day9.csv:3"));
    assert!(note(&noted.notes, "survey::set-aside").unwrap().text.ends_with(": no elevation 1: `field/day1.csv:501`"));
    assert!(note(&noted.notes, "survey::keep-for-nothing").is_none(), "{:?}", noted.notes);
    let sound = Settings { keep: vec!["day1.csv:142".into()], ..settings() };
    let noted = check(&files, &sound, &local()).unwrap();
    let told = &note(&noted.notes, "survey::keep-for-nothing").unwrap().text;
    assert!(told.contains("field/day1.csv:142, in line 142 of its file, which was not set aside"), "{told}");
    let short = Settings { keep: vec!["day1.csv:141".into()], ..settings() };
    assert_eq!(check(&files, &short, &local()).unwrap().value.set_aside.len(), 2, "the end of the path is enough");
}

#[test]
fn repeats_that_disagree_lose_the_one_its_neighbours_contradict() {
    let mut records = farm(2);
    let mut again = records[200].clone();
    again.line = 9001;
    again.id = "r".into();
    again.position = Position::Grid { easting: 0.04 + grid(&again).0, northing: grid(&again).1 };
    again.elevation = again.elevation.map(|z| z + 0.45);
    records.push(again.clone());
    let (survey, _) = checked(&[file("day1.csv", records.clone())]);
    let aside = survey.set_aside.iter().find(|row| row.reason == "repeats disagree").unwrap();
    assert_eq!(aside.shot, "r");
    assert!(aside.value.starts_with("+0.450 m from day1.csv:201 0.04 m away, limit 0."));

    // A difference too small for the neighbours to judge is told, and both are used.
    let last = records.len() - 1;
    records[last].elevation = records[200].elevation.map(|z| z + 0.10);
    let (survey, notes) = checked(&[file("day1.csv", records.clone())]);
    assert!(survey.set_aside.iter().all(|row| row.reason != "repeats disagree"));
    assert!(note(&notes, "survey::repeats-disagree").unwrap().text.contains("day1.csv:201 and day1.csv:r"));

    // Within 1.96 sigma of a difference (20 mm and 25 mm each: 89 mm) it is no disagreement.
    records[last].elevation = records[200].elevation.map(|z| z + 0.08);
    assert!(note(&checked(&[file("day1.csv", records)]).1, "survey::repeats-disagree").is_none());
}

fn grid(record: &Record) -> (f64, f64) {
    match record.position {
        Position::Grid { easting, northing } => (easting, northing),
        Position::Geographic { longitude, latitude } => (longitude, latitude),
    }
}

#[test]
fn check_shots_open_and_close_a_file() {
    let control =
        || file("control.csv", vec![record(1, -5.0, -5.0, 431.0, "cp A"), record(2, 300.0, 0.0, 429.0, "cp B")]);
    let day = |dz: f64, closing: bool| {
        let mut records = vec![record(900, -4.99, -5.02, 431.0 + dz, "chk a")];
        records.extend(farm(4));
        if closing {
            records.push(record(901, 300.01, 0.01, 429.01, "chk B end of day"));
        }
        file("day1.csv", records)
    };
    let (survey, notes) = checked(&[control(), day(0.015, true)]);
    assert!(note(&notes, "survey::not-checked").is_none(), "a list of control needs no check");
    let told = note(&notes, "survey::checked").unwrap();
    assert!(told.text.contains("opening on A dE +0.010 dN -0.020 dZ +0.015 m, closing on B"), "{}", told.text);
    assert_eq!(survey.checks.iter().map(|c| c.at).collect::<Vec<_>>(), [CheckAt::Opening, CheckAt::Closing]);

    let (_, notes) = checked(&[control(), day(0.015, false)]);
    assert!(note(&notes, "survey::check-one-end").unwrap().text.contains("not closed"));
    let (survey, notes) = checked(&[control(), day(0.31, true)]);
    assert!(note(&notes, "survey::check-out").unwrap().text.contains("dZ +0.310"));
    assert_eq!(survey.figures().checks_out, 1);
}

#[test]
fn marks_are_known_by_name_number_or_place() {
    let records = vec![
        record(1, 0.0, 0.0, 400.0, "cp1"),
        record(2, 50.0, 0.0, 401.0, "cp 2"),
        record(3, 0.01, 0.0, 400.0, "chk1"),
        record(4, 50.01, 0.0, 401.0, "chk"),
        record(5, 10.0, 10.0, 400.0, "gs"),
        record(6, 0.0, 0.02, 400.0, "cp1"),
        record(7, 80.0, 80.0, 400.0, "chk"),
    ];
    let (survey, notes) = checked(&[file("day1.csv", records)]);
    let found: Vec<(&str, &str)> = survey.checks.iter().map(|c| (c.shot.as_str(), c.mark.as_str())).collect();
    assert_eq!(found, [("3", "cp1"), ("4", "cp2"), ("6", "cp1")]);
    assert!(note(&notes, "survey::check-without-mark").unwrap().text.ends_with(": 7"));
}

#[test]
fn point_numbers_are_unique_only_in_their_file() {
    let day1 = file("day1.csv", vec![record(117, 0.0, 0.0, 400.0, "gs"), record(118, 5.0, 0.0, 400.0, "gs")]);
    let mut second = vec![record(117, 9.0, 9.0, 400.5, "gs"), record(119, 5.0, 9.0, 400.0, "gs")];
    second[1].quality.fix = Fix::Float;
    let (survey, _) = checked(&[day1, file("day2.csv", second)]);
    assert_eq!(survey.find_shot("118").unwrap().line, 118);
    assert_eq!(survey.find_shot("day2.csv:117").unwrap().elevation, 400.5);
    let message = |wanted: &str| survey.find_shot(wanted).unwrap_err().to_string();
    assert_eq!(
        message("117"),
        "point `117` is ambiguous: `day1.csv:117` (line 117) and `day2.csv:117` (line 117); write `file:point`"
    );
    assert_eq!(message("day2.csv:119"), "shot `day2.csv:119` (day2.csv:119) was set aside: not fixed, float");
    assert_eq!(message("555"), "no shot `555`: write `file:point`, such as `day1.csv:117`");
    assert_eq!(
        message("day1.csv:555"),
        "no shot `day1.csv:555`: the 2 shots of day1.csv run from `117` to `118`, such as `day1.csv:117`"
    );
    assert_eq!(
        message("day3.csv:117"),
        "no shot `day3.csv:117`: there is no file `day3.csv` among day1.csv, day2.csv, such as `day1.csv:117`"
    );
}

/// A number that a file has twice is told apart by its line, when found and when put back.
#[test]
fn a_number_twice_in_one_file_is_told_apart_by_its_line() {
    let mut records: Vec<Record> = (1..=4).map(|i| record(i, 5.0 * i as f64, 0.0, 400.0, "gs")).collect();
    records[2].id = "2".into();
    records[2].quality.fix = Fix::Float;
    records[3].id = "2".into();
    let keep = Settings { keep: vec!["day1.csv:line 3".into()], ..settings() };
    let survey = check(&[file("day1.csv", records)], &keep, &local()).unwrap().value;
    assert_eq!(survey.shots.len(), 4);
    assert_eq!(survey.find_shot("day1.csv:line 3").unwrap().line, 3);
    assert!(matches!(survey.find_shot("day1.csv:2"), Err(SurveyError::Ambiguous { .. })));
}

fn headerless(places: &[(f64, f64)]) -> PointFile {
    let record = |(i, &(easting, northing)): (usize, &(f64, f64))| Record {
        position: Position::Grid { easting, northing },
        ..record(i as u64 + 1, 0.0, 0.0, 400.0, "gs")
    };
    let records = places.iter().enumerate().map(record).collect();
    PointFile { columns_from: ColumnsFrom::Assumed, ..file("day1.csv", records) }
}

/// Only the frame's area of use may decide between northing and easting; where it cannot, both readings are shown.
#[test]
fn an_assumed_order_is_decided_by_the_area_of_use_or_refused() {
    let places = [(EAST, NORTH), (EAST + 10.0, NORTH), (EAST, NORTH + 10.0)];
    let swapped = places.map(|(e, n)| (n, e));
    let read = |places: &[(f64, f64)], frame: &SiteFrame| check(&[headerless(places)], &settings(), frame);
    for (places, order) in [(places, "northing, easting"), (swapped, "easting, northing")] {
        let noted = read(&places, &utm()).unwrap();
        assert_eq!(noted.value.shots[1].place, Point::new(10.0, 0.0), "read as {order}");
        assert!(note(&noted.notes, "survey::order-by-area").unwrap().text.contains(order));
        let middle = middle(&[headerless(&places)], &settings(), &resolve("EPSG:32755").unwrap()).unwrap();
        assert_eq!(middle, Some((EAST, NORTH)));
    }
    let columns = "say columns = \"point, northing, easting, elevation, code\" or columns = \"point, easting, northing, \
                   elevation, code\" (--columns)";
    assert_eq!(
        read(&places, &local()).unwrap_err().to_string(),
        format!(
            "day1.csv: northing and easting cannot be told apart: no header, no columns said, and a site grid has no area \
             of use to go by; as northing, easting its first shot is E 412000.000 N 6187000.000, as easting, northing it \
             is E 6187000.000 N 412000.000: {columns}"
        )
    );
    // The British grid has easting and northing of one size: both ways lie in its area.
    let frame = resolve("EPSG:27700").unwrap().site_frame((400_000.0, 300_000.0), None);
    let error = read(&[(400_000.0, 300_000.0); 3], &frame).unwrap_err().to_string();
    assert!(error.contains("both ways it lies in the area of use of EPSG:27700"), "{error}");
    let error = read(&[(5e6, 9e6); 3], &utm()).unwrap_err().to_string();
    assert!(error.contains("neither way it lies in the area of use of EPSG:32755: is the frame right?"), "{error}");
}

/// A look without a frame goes on and shows both readings.
#[test]
fn a_look_shows_both_readings_of_an_assumed_order() {
    let file = headerless(&[(EAST, NORTH), (EAST + 10.0, NORTH), (EAST, NORTH + 10.0)]);
    let looked = look(&[file], &settings(), None).unwrap();
    assert!(note(&looked.look.notes, "look::order-assumed").unwrap().text.contains("E 412000.000 N 6187000.000"));
    assert_eq!(looked.look.files[0].columns_from, ColumnsFrom::Assumed);
    // With a frame the columns are told as they are read.
    let file = PointFile {
        columns: vec![Column::Northing, Column::Easting],
        ..headerless(&[(NORTH, EAST), (NORTH, EAST + 10.0), (NORTH + 10.0, EAST)])
    };
    let looked = look(&[file], &settings(), Some(&utm())).unwrap().look.files.remove(0);
    assert_eq!((looked.columns_from, looked.columns), (ColumnsFrom::Settled, vec!["easting", "northing"]));
}

/// Words that nothing explains make lines where they bear numbers that recur, or words that begin and end lines.
#[test]
fn a_look_guesses_lines_by_their_numbers() {
    let codes = ["kerb1", "kerb1", "hedge start", "hedge", "post1", "post2"];
    let records = codes.iter().enumerate().map(|(i, code)| record(i as u64 + 1, 5.0 * i as f64, 0.0, 400.0, code));
    let looked = look(&[file("day1.csv", records.collect())], &settings(), None).unwrap().look;
    let role = |word: &str| {
        looked.files[0].codes.iter().find(|code| code.code == word).map(|code| (code.role, code.role_from))
    };
    assert_eq!(role("kerb"), Some((Role::Breakline, RoleFrom::Guessed)));
    assert_eq!(role("hedge"), Some((Role::Breakline, RoleFrom::Guessed)));
    assert_eq!(role("post"), Some((Role::Ground, RoleFrom::Unknown)));
}

#[test]
fn a_file_that_names_another_frame_is_refused() {
    let mut file = file("day1.gpkg", vec![record(1, 0.0, 0.0, 400.0, "gs")]);
    file.crs = Some("EPSG:32754".into());
    assert_eq!(
        check(&[file], &settings(), &utm()).unwrap_err().to_string(),
        "day1.gpkg: it stands in EPSG:32754, the site in EPSG:32755 (WGS 84 / UTM zone 55S): convert it first, or save it \
         in longitude and latitude"
    );
}

#[test]
fn a_number_that_a_file_gives_twice_is_named_by_its_line() {
    let mut records =
        vec![record(1, 0.0, 0.0, 400.0, "gs"), record(2, 5.0, 0.0, 401.0, "gs"), record(3, 0.0, 5.0, 402.0, "gs")];
    for record in &mut records {
        record.line += 240;
    }
    records[2].id = "2".into();
    let (survey, _) = checked(&[file("paddock/day1.csv", records.clone())]);
    assert_eq!(
        survey.find_shot("2").unwrap_err().to_string(),
        "point `2` is ambiguous: `paddock/day1.csv:2` (line 242) and `paddock/day1.csv:2` (line 243); write \
         `paddock/day1.csv:line 242` or `paddock/day1.csv:line 243`"
    );
    assert_eq!(survey.find_shot("paddock/day1.csv:line 242").unwrap().elevation, 401.0);
    assert_eq!(survey.find_shot("day1.csv:line 243").unwrap().elevation, 402.0);
    assert!(survey.find_shot("day1.csv:line 299").is_err());
    // The same words put one of them back.
    records[2].quality.fix = Fix::Float;
    let keep = Settings { keep: vec!["day1.csv:line 243".into()], ..settings() };
    let kept = check(&[file("day1.csv", records)], &keep, &local()).unwrap().value;
    assert!(kept.set_aside.is_empty(), "{:?}", kept.set_aside);
}

#[test]
fn numbers_that_fit_the_frame_in_another_unit_only_are_refused() {
    let place = |scale: f64, at: u32| {
        let mut one = record(at.into(), 0.0, 0.0, 430.0, "gs");
        let easting = 412_000.0 + f64::from(at % 5) * 10.0;
        let northing = 6_187_000.0 + f64::from(at / 5) * 10.0;
        one.position = Position::Grid { easting: easting / scale, northing: northing / scale };
        one
    };
    let shots = |scale: f64| PointFile { unit: None, ..file("day1.csv", (1..26).map(|at| place(scale, at)).collect()) };
    // A run puts its local frame around the numbers as it takes them.
    let utm = resolve("EPSG:32755").unwrap().site_frame((EAST / 0.3048, NORTH / 0.3048), None);
    let told = |file: PointFile| check(&[file], &settings(), &utm).map(|_| ()).unwrap_err();
    let feet = told(shots(0.3048));
    assert_eq!(feet.code(), "survey::unit-forgotten");
    assert!(feet.to_string().contains("as feet it lies inside: say units = \"feet\""), "{feet}");
    // Said to be metres, it is the user's word: told as a note.
    let mut said = shots(0.3048);
    said.unit = Some(LengthUnit::Metres);
    let found = check(&[said], &settings(), &utm).unwrap();
    let outside = &note(&found.notes, "survey::outside-area").unwrap().text;
    assert!(outside.contains("easting 1351772, northing 20298622 in metres: longitude"), "{outside}");
    // The other way round, in a frame of feet.
    let utah = resolve("EPSG:2921").unwrap().site_frame((499_872.0, 1_060_000.0), None);
    let metres = (1..26).map(|at| {
        let mut one = place(1.0, at);
        one.position =
            Position::Grid { easting: 499_872.0 + f64::from(at % 5), northing: 1_060_000.0 + f64::from(at / 5) };
        one
    });
    let metres = PointFile { unit: None, ..file("day1.csv", metres.collect()) };
    let metres = check(&[metres], &settings(), &utah).map(|_| ()).unwrap_err();
    assert!(metres.to_string().contains("say units = \"metres\""), "{metres}");
}

#[test]
fn degrees_in_a_site_grid_are_refused_too() {
    let site = crate::frame::FrameDefinition::local(LengthUnit::Metres).site_frame((0.0, 0.0), None);
    let degrees = |at: u32| {
        let mut one = record(at.into(), 0.0, 0.0, 430.0, "gs");
        one.position =
            Position::Grid { easting: 146.04 + f64::from(at) * 1e-4, northing: -34.45 + f64::from(at % 3) * 1e-4 };
        one
    };
    let told = check(&[file("day1.csv", (0..9).map(degrees).collect())], &settings(), &site).unwrap_err();
    assert_eq!(told.code(), "survey::degrees");
    assert!(told.to_string().contains("name the columns `longitude` and `latitude`"), "{told}");
}

#[test]
fn doubtful_codes_and_numbers_are_told() {
    let mut records = vec![
        record(1, 0.0, 0.0, 400.0, "gs"),
        record(2, 5.0, 0.0, 400.0, "fence"),
        record(3, 5.0, 5.0, 400.0, "FENCE 2"),
        record(4, 0.0, 5.0, 400.0, ""),
        record(5, 0.0, 9.0, 400.0, "top"),
    ];
    records[1].id = "1".into();
    let (survey, notes) = checked(&[file("day1.csv", records)]);
    assert_eq!(survey.of_role(Role::Ground).count(), 4);
    assert!(note(&notes, "survey::code-without-role").unwrap().text.ends_with("fence (2)"));
    assert!(note(&notes, "survey::no-code").is_some());
    assert!(note(&notes, "survey::number-twice").unwrap().text.contains("1 (lines 1, 2)"));
    assert!(note(&notes, "survey::breakline-of-one").unwrap().text.contains("day1.csv:5"));
}

#[test]
fn the_boundary_is_a_ring_without_crossings() {
    let corner = |line, e, n| record(line, e, n, 400.0, "edge");
    let ring = vec![
        corner(1, 0.0, 0.0),
        corner(2, 90.0, 0.0),
        record(3, 40.0, 40.0, 400.0, "gs"),
        corner(4, 90.0, 90.0),
        corner(5, 0.0, 90.0),
        corner(6, 0.1, 0.1),
    ];
    let (survey, notes) = checked(&[file("day1.csv", ring)]);
    assert_eq!(survey.boundary, [0, 1, 3, 4]);
    assert!(note(&notes, "survey::boundary-not-used").is_none());
    let bow = vec![corner(1, 0.0, 0.0), corner(2, 90.0, 90.0), corner(3, 90.0, 0.0), corner(4, 0.0, 90.0)];
    let (survey, notes) = checked(&[file("day1.csv", bow)]);
    assert!(survey.boundary.is_empty());
    assert!(note(&notes, "survey::boundary-not-used").is_some());
}

#[test]
fn feet_become_metres_and_an_unsaid_unit_is_told() {
    let foot = LengthUnit::UsSurveyFeet.metres();
    let mut one = record(1, 0.0, 0.0, 1000.0, "gs");
    one.position = Position::Grid { easting: (EAST + 3.0) / foot, northing: (NORTH + 4.0) / foot };
    one.quality.vertical_sigma = Some(0.05);
    let mut feet = file("day1.csv", vec![one]);
    feet.unit = Some(LengthUnit::UsSurveyFeet);
    let (survey, notes) = checked(&[feet.clone()]);
    let shot = &survey.shots[0];
    assert!((shot.place.x - 3.0).abs() < 1e-8 && (shot.place.y - 4.0).abs() < 1e-8);
    assert_eq!(shot.elevation, 1000.0 * foot);
    assert_eq!(shot.quality.vertical_sigma, Some(0.05 * foot));
    assert!(note(&notes, "survey::unit-assumed").is_none());
    feet.unit = None;
    feet.records[0].position = Position::Grid { easting: EAST, northing: NORTH };
    assert!(note(&checked(&[feet]).1, "survey::unit-assumed").unwrap().text.contains("metres"));
}

#[test]
fn latitudes_are_projected_and_refused_where_they_do_not_fit() {
    // EPSG:32755 is UTM zone 55 south: on the central meridian 147 E easting is 500000, and the northing of latitude
    // -34 is 10000000 less 0.9996 times the meridian arc (3763764.45 m on the WGS 84 ellipsoid, from the series).
    let place = |latitude| Position::Geographic { longitude: 147.0, latitude };
    let frame = resolve("EPSG:32755").unwrap().site_frame((500_000.0, 6_237_700.0), None);
    let mut one = record(1, 0.0, 0.0, 400.0, "gs");
    one.position = place(-34.0);
    let mut two = one.clone();
    two.position = place(34.0);
    let geographic = |records| file("day1.csv", records);
    let noted = check(&[geographic(vec![one.clone(), one.clone(), two.clone()])], &settings(), &frame).unwrap();
    let (easting, northing) = frame.to_frame(noted.value.shots[0].place);
    assert!((easting - 500_000.0).abs() < 1e-6, "{easting}");
    assert!((northing - (10_000_000.0 - 0.9996 * meridian_arc(34.0_f64.to_radians()))).abs() < 1e-3, "{northing}");
    assert_eq!(reasons(&noted.value), [("1", "outside the frame")]);
    assert_eq!(
        middle(&[geographic(vec![one.clone()])], &settings(), &resolve("EPSG:32755").unwrap()).unwrap(),
        Some((easting, northing))
    );

    let wrong = check(&[geographic(vec![two])], &settings(), &frame).unwrap_err();
    assert!(
        wrong.to_string().starts_with("day1.csv:1: longitude 147.00000, latitude 34.00000 lies outside"),
        "{wrong}"
    );
    let error = check(&[geographic(vec![one])], &settings(), &local()).unwrap_err();
    assert_eq!(error.code(), "survey::no-projection");
}

/// Meridian arc from the equator on WGS 84, by Simpson's rule over the radius of curvature.
fn meridian_arc(latitude: f64) -> f64 {
    let (a, f) = (6_378_137.0, 1.0 / 298.257_223_563);
    let e2 = f * (2.0 - f);
    let radius = |phi: f64| a * (1.0 - e2) / (1.0 - e2 * phi.sin().powi(2)).powf(1.5);
    let n = 2000;
    let h = latitude / f64::from(n);
    (0..=n)
        .map(|i| {
            let weight = if i == 0 || i == n {
                1.0
            } else if i % 2 == 1 {
                4.0
            } else {
                2.0
            };
            weight * radius(f64::from(i) * h)
        })
        .sum::<f64>()
        * h
        / 3.0
}

#[test]
fn degrees_in_a_projected_frame_are_refused() {
    let mut one = record(7, 0.0, 0.0, 400.0, "gs");
    one.position = Position::Grid { easting: 147.25, northing: -34.5 };
    let error = check(&[file("day1.csv", vec![one])], &settings(), &utm()).unwrap_err();
    assert_eq!(
        error.to_string(),
        "day1.csv:7: column 3: 147.25, -34.5 looks like longitude and latitude in degrees, but EPSG:32755 has its \
         coordinates in metres: name the columns `longitude` and `latitude`, or give projected coordinates"
    );
    assert_eq!(error.place().unwrap().to_string(), "day1.csv:7:3");
}

#[test]
fn swapped_columns_are_known_by_the_area_of_use() {
    let mut records = farm(5);
    for record in &mut records {
        let (easting, northing) = grid(record);
        record.position = Position::Grid { easting: northing, northing: easting };
    }
    let frame = resolve("EPSG:32755").unwrap();
    let files = [file("day1.csv", records)];
    let near = middle(&files, &settings(), &frame).unwrap().unwrap();
    let error = check(&files, &settings(), &frame.site_frame(near, None)).unwrap_err();
    assert_eq!(error.code(), "survey::swapped", "{error}");
}

#[test]
fn nothing_to_use_is_an_error() {
    let fault = |files: &[PointFile]| check(files, &settings(), &local()).unwrap_err().to_string();
    assert_eq!(fault(&[file("day1.csv", Vec::new())]), "no point file holds a shot: day1.csv");
    let mut records = vec![record(1, 0.0, 0.0, 400.0, "gs"), record(2, 1.0, 0.0, 400.0, "gs")];
    for record in &mut records {
        record.quality.fix = Fix::Float;
    }
    assert_eq!(
        fault(&[file("day1.csv", records)]),
        "all 2 shots were set aside, most of them because of `not fixed`: nothing is left to make ground of"
    );
}

#[test]
fn limits_come_from_the_settings() {
    let mut records = farm(6);
    records[10].quality.vertical_sigma = Some(0.06);
    let loose = Settings { vertical_limit: Length::metres(0.07), ..settings() };
    let noted = check(&[file("day1.csv", records)], &loose, &local()).unwrap();
    assert_eq!(reasons(&noted.value), []);
}

/// A file whose feet were taken for metres stands three times as far from the frame's zero: it is told in which unit it would lie
/// with the others.
#[test]
fn a_file_in_feet_far_from_the_others_is_told_so() {
    let records = |scale: f64| {
        let at = |i: u32| (EAST + 10.0 * f64::from(i), NORTH + 7.0 * f64::from(i % 3));
        let place = |(east, north): (f64, f64)| (east / scale - EAST, north / scale - NORTH);
        (1..9).map(|i| (i, place(at(i)))).map(|(i, (e, n))| record(u64::from(i), e, n, 430.0, "gs")).collect()
    };
    let day2 = PointFile { unit: None, ..file("day2.csv", records(0.3048)) };
    let told = check(&[file("day1.csv", records(1.0)), day2], &settings(), &local()).unwrap_err().to_string();
    assert!(
        told.contains("day2.csv") && told.contains("in feet they would lie with the rest: say units = \"feet\""),
        "{told}"
    );
    let elsewhere = PointFile { unit: None, ..file("day2.csv", records(0.5)) };
    let told = check(&[file("day1.csv", records(1.0)), elsewhere], &settings(), &local()).unwrap_err().to_string();
    assert!(!told.contains("say units"), "{told}");
}
