//! Heights by a grid and a plane, a fit that finds a planted change, feet of two kinds.

use super::*;
use crate::frame::fit::{HeightModel, PlanModel, Standing};
use crate::frame::{Ellipsoid, Geographic, GeoidGrid, GridLayout, resolve};
use crate::survey::{ColumnsFrom, Delimiter, Format, HeightsAre, Quality, Record, Setup};

fn record(id: &str, position: Position, elevation: Option<f64>, code: &str) -> Record {
    Record {
        line: 2,
        id: id.to_owned(),
        position,
        elevation,
        ellipsoid_height: None,
        code: code.to_owned(),
        quality: Quality::default(),
        time: None,
        setup: Setup::default(),
    }
}

fn file(name: &str, unit: LengthUnit, records: Vec<Record>) -> PointFile {
    PointFile {
        name: name.to_owned(),
        unit: Some(unit),
        format: Format::Text(Delimiter::Comma),
        crs: None,
        geographic: None,
        heights: HeightsAre::Elevations,
        columns: Vec::new(),
        titles: Vec::new(),
        columns_from: ColumnsFrom::Said,
        records,
        notes: Vec::new(),
    }
}

const fn grid(easting: f64, northing: f64) -> Position {
    Position::Grid { easting, northing }
}

fn codes(notes: &[Note]) -> Vec<&str> {
    notes.iter().map(|note| note.code.as_str()).collect()
}

/// IOGP 373-7-2, vertical offset and slope (as PROJ `test/gie/more_builtins.gie` has it): 473.000 m becomes 472.690 m.
#[test]
fn published_inclined_plane() {
    let plane = InclinedPlane {
        latitude: 46.0 + 55.0 / 60.0,
        longitude: 8.0 + 11.0 / 60.0,
        offset: -0.245,
        slope_latitude: (-0.210_f64 / 3600.0).to_radians(),
        slope_longitude: (-0.032_f64 / 3600.0).to_radians(),
    };
    let grs80 = Ellipsoid { semi_major: 6_378_137.0, flattening: 1.0 / 298.257_222_101 };
    let added = plane.at(9.0 + 40.0 / 60.0, 47.0 + 20.0 / 60.0, &grs80);
    assert!((473.0 + added - 472.690_448).abs() < 1e-6, "{}", 473.0 + added);
    assert!((plane.at(plane.longitude, plane.latitude, &grs80) + 0.245).abs() < 1e-15);
}

#[derive(Debug)]
struct Level;

impl GeoidGrid for Level {
    fn name(&self) -> &'static str {
        "level.gtx"
    }

    fn layout(&self) -> GridLayout {
        GridLayout { west: 145.0, south: -36.0, step_east: 1.0, step_north: 1.0, columns: 3, rows: 3 }
    }

    fn node(&self, column: usize, _: usize) -> Result<Option<f64>, String> {
        Ok(Some(15.0 + column as f64))
    }
}

#[derive(Debug)]
struct Everywhere;

impl GeoidGrid for Everywhere {
    fn name(&self) -> &'static str {
        "world.gtx"
    }

    fn layout(&self) -> GridLayout {
        GridLayout { west: -180.0, south: -90.0, step_east: 10.0, step_north: 10.0, columns: 36, rows: 19 }
    }

    fn node(&self, _: usize, _: usize) -> Result<Option<f64>, String> {
        Ok(Some(20.0))
    }
}

/// Elevation is ellipsoidal height minus geoid height, in the file's own unit, wherever the place comes from.
#[test]
fn ellipsoidal_heights_become_elevations() {
    let definition = resolve("EPSG:32755").unwrap();
    let lonlat = Position::Geographic { longitude: 146.25, latitude: -34.5 };
    let mut high = record("1", lonlat, None, "gs");
    high.ellipsoid_height = Some(447.0 / 0.3048);
    let mut on_grid = record("2", grid(431_000.0 / 0.3048, 6_182_000.0 / 0.3048), Some(1.0), "gs");
    on_grid.ellipsoid_height = Some(447.0 / 0.3048);
    let without = record("3", lonlat, Some(431.0), "gs");
    let files = vec![file("a", LengthUnit::Feet, vec![high, on_grid, without])];
    let level = Geoids::new(vec![Box::new(Level)]);
    let bringing = Bringing { geoid: Some(&level), ..Bringing::default() };
    let found = bring(files, &Settings::default(), &definition, &bringing).unwrap();
    let records = &found.value.files[0].records;
    assert!((records[0].elevation.unwrap() * 0.3048 - (447.0 - 16.25)).abs() < 1e-9);
    let frame = bare_frame(&definition);
    let projector = Projector::new(&frame, &Geographic::OwnDatum).unwrap();
    let longitude = projector.to_lonlat(Point::new(431_000.0, 6_182_000.0)).unwrap().0;
    assert!((records[1].elevation.unwrap() * 0.3048 - (447.0 - 15.0 - (longitude - 145.0))).abs() < 1e-6);
    // Beside shots in the new system one in the old is not mixed in.
    assert_eq!(records[2].elevation, None);
    assert!(codes(&found.notes).contains(&"survey::geoid-used"));
    assert!(found.notes.iter().any(|note| note.text.contains("1 shots without an ellipsoidal height")));

    // A file that holds elevations alone (a list of marks) is used as it is, and that is told.
    let marks =
        vec![file("m", LengthUnit::Metres, vec![record("CP1", grid(412_350.0, 6_187_220.0), Some(431.0), "cp")])];
    let found = bring(marks, &Settings::default(), &definition, &bringing).unwrap();
    assert_eq!(found.value.files[0].records[0].elevation, Some(431.0));
    assert!(codes(&found.notes).contains(&"survey::geoid-not-used"));

    // A grid that covers one of two shots, and one that covers both: how many each gave is told.
    let wide = Geoids::new(vec![Box::new(Level), Box::new(Everywhere)]);
    let mut shots = vec![record("1", lonlat, None, "gs")];
    shots.push(record("2", Position::Geographic { longitude: 149.5, latitude: -34.5 }, None, "gs"));
    shots.iter_mut().for_each(|shot| shot.ellipsoid_height = Some(447.0));
    let files = vec![file("a", LengthUnit::Metres, shots)];
    let two = Bringing { geoid: Some(&wide), ..Bringing::default() };
    let found = bring(files, &Settings::default(), &definition, &two).unwrap();
    let elevations: Vec<f64> = found.value.files[0].records.iter().filter_map(|record| record.elevation).collect();
    assert!((elevations[0] - 430.75).abs() < 1e-9 && (elevations[1] - 427.0).abs() < 1e-9, "{elevations:?}");
    let told = "by level.gtx, else world.gtx (16.250 to 20.000 m); 1 by level.gtx, 1 by world.gtx: where one grid ends";
    assert!(found.notes.iter().any(|note| note.text.contains(told)), "{:?}", found.notes);
    // One that serves all leaves nothing to the other, which is told too.
    let mut shot = record("2", Position::Geographic { longitude: 149.5, latitude: -34.5 }, None, "gs");
    shot.ellipsoid_height = Some(447.0);
    let found =
        bring(vec![file("a", LengthUnit::Metres, vec![shot])], &Settings::default(), &definition, &two).unwrap();
    let all = |note: &Note| note.text.ends_with("(20.000 to 20.000 m); 0 by level.gtx, 1 by world.gtx");
    assert!(found.notes.iter().any(all), "{:?}", found.notes);

    // Outside the grid there is no height, and no run.
    let mut outside = record("9", grid(700_000.0, 6_187_220.0), None, "gs");
    outside.ellipsoid_height = Some(447.0);
    let files = vec![file("a", LengthUnit::Metres, vec![outside])];
    let told = bring(files, &Settings::default(), &definition, &bringing).unwrap_err().to_string();
    assert!(told.contains("a:2:") && told.contains("outside the grid"), "{told}");

    let mut local = record("1", grid(0.0, 0.0), None, "gs");
    local.ellipsoid_height = Some(447.0);
    let files = vec![file("a", LengthUnit::Metres, vec![local])];
    let error = bring(files, &Settings::default(), &FrameDefinition::local(LengthUnit::Metres), &bringing).unwrap_err();
    assert_eq!(error.code(), "survey::heights-need-frame");
}

const MARKS: [(&str, f64, f64, f64); 6] = [
    ("CP1", 0.0, 0.0, 430.0),
    ("CP2", 400.0, 20.0, 431.0),
    ("CP3", 380.0, 310.0, 433.0),
    ("CP4", 10.0, 300.0, 432.0),
    ("CP5", 200.0, 150.0, 431.5),
    ("CP6", 390.0, 160.0, 432.5),
];

/// A survey from a base set "here": turned by half a degree, 30 m off, 2.4 m too high; with a shot in the paddock.
fn surveyed() -> (PointFile, PointFile) {
    let (sine, cosine) = 0.5_f64.to_radians().sin_cos();
    let mut shots: Vec<Record> = MARKS
        .iter()
        .map(|(mark, x, y, z)| {
            let place = grid(412_030.0 + cosine * x - sine * y, 6_187_010.0 + sine * x + cosine * y);
            record("", place, Some(z + 2.4), &format!("check {mark}"))
        })
        .collect();
    let place = grid(412_030.0 + cosine * 100.0 - sine * 50.0, 6_187_010.0 + sine * 100.0 + cosine * 50.0);
    shots.push(record("101", place, Some(433.4), "ground"));
    let marks =
        MARKS.iter().map(|(mark, x, y, z)| record(mark, grid(412_000.0 + x, 6_187_000.0 + y), Some(*z), "mark"));
    (file("day1.csv", LengthUnit::Metres, shots), file("marks.csv", LengthUnit::Metres, marks.collect()))
}

fn asked() -> FitAsked {
    FitAsked {
        plan: Some(PlanModel::Turn { scale: 1.0 }),
        height: Some(HeightModel::Shift),
        sigma_plan: 0.015,
        sigma_height: 0.020,
        without: Vec::new(),
    }
}

fn fitted(survey: PointFile, marks: &PointFile, asked: &FitAsked) -> Noted<Brought> {
    let bringing = Bringing { fit: Fitting::Make(asked, marks), ..Bringing::default() };
    let definition = resolve("EPSG:32755").unwrap();
    bring(vec![marks.clone(), survey], &Settings::default(), &definition, &bringing).unwrap()
}

#[test]
fn a_survey_is_brought_to_its_marks() {
    let (survey, marks) = surveyed();
    let found = fitted(survey.clone(), &marks, &asked());
    let report = found.value.fit.as_ref().unwrap();
    assert!((report.plan.as_ref().unwrap().turn_seconds + 1800.0).abs() < 1e-4);
    assert!((report.height.as_ref().unwrap().shift_m + 2.4).abs() < 1e-9);
    assert_eq!(report.checked().len(), 6, "{:?}", report.plan);
    assert_eq!(found.value.files[0], marks, "known marks stay where they are");
    let shot = found.value.files[1].records.last().unwrap();
    let Position::Grid { easting, northing } = shot.position else { panic!("{shot:?}") };
    assert!((easting - 412_100.0).abs() < 1e-6 && (northing - 6_187_050.0).abs() < 1e-6, "{easting} {northing}");
    assert!((shot.elevation.unwrap() - 431.0).abs() < 1e-9);
    let text = &found.notes.iter().find(|note| note.code == "fit::made").unwrap().text;
    assert!(text.contains("fitted to 6 marks of marks.csv, 6 of them checked"), "{text}");
    assert!(codes(&found.notes).contains(&"fit::limit"));

    // A later file of the same site is brought by the same change.
    let again = Bringing { fit: Fitting::Again(report), ..Bringing::default() };
    let later = bring(vec![survey], &Settings::default(), &resolve("EPSG:32755").unwrap(), &again).unwrap();
    assert_eq!(later.value.files[0].records, found.value.files[1].records);
}

#[test]
fn a_mark_that_moved_is_left_out_and_told() {
    let (survey, mut marks) = surveyed();
    marks.records[3].position = grid(412_010.0, 6_187_300.4);
    marks.records[4].elevation = Some(431.62);
    let found = fitted(survey, &marks, &asked());
    let report = found.value.fit.as_ref().unwrap();
    let plan = &report.plan.as_ref().unwrap().marks;
    assert_eq!(plan[3].standing, Standing::LeftOut);
    assert!((plan[3].residual_m[1] + 0.4).abs() < 1e-6, "{:?}", plan[3]);
    assert_eq!(report.height.as_ref().unwrap().marks[4].standing, Standing::LeftOut);
    let told: Vec<&str> =
        found.notes.iter().filter(|note| note.code == "fit::mark-left-out").map(|note| note.text.as_str()).collect();
    assert!(told[0].contains("CP4 (+0, -400 mm"), "{told:?}");
    assert!(told[1].contains("CP5 (-120 mm"), "{told:?}");
    assert!(report.sentence().contains("CP4, CP5 left out"), "{}", report.sentence());
}

/// Three marks at a free scale, as crews often do it: the fit looks perfect, and says how little that proves.
#[test]
fn few_marks_say_what_they_cannot_see() {
    let (mut survey, marks) = surveyed();
    survey.records.drain(2..6);
    let similar = FitAsked { plan: Some(PlanModel::Similarity), ..asked() };
    let found = fitted(survey.clone(), &marks, &similar);
    let told = codes(&found.notes);
    assert!(told.contains(&"fit::nothing-spare") && told.contains(&"fit::not-observed"), "{told:?}");
    assert!(found.value.fit.as_ref().unwrap().checked().is_empty());

    let plane = FitAsked { height: Some(HeightModel::Plane), ..asked() };
    let bringing = Bringing { fit: Fitting::Make(&plane, &marks), ..Bringing::default() };
    let error =
        bring(vec![survey], &Settings::default(), &resolve("EPSG:32755").unwrap(), &bringing).unwrap_err().to_string();
    assert!(error.contains("marks.csv") && error.contains("needs 3 marks") && error.contains("found 2"), "{error}");
}

#[test]
fn shots_that_are_not_fixed_observe_no_mark() {
    let (mut survey, marks) = surveyed();
    survey.records[0].quality.fix = crate::survey::Fix::Float;
    let found = fitted(survey, &marks, &asked());
    assert_eq!(found.value.fit.as_ref().unwrap().not_observed, ["CP1"]);
}

/// US survey feet read as feet move a place of two million feet by four feet, 1.219 m: the difference of the two
/// definitions (85 FR 62698) is told in metres, and not where units agree or one of them is the metre.
#[test]
fn feet_of_two_kinds_are_told_with_their_size() {
    let at = |unit| file("day1.csv", unit, vec![record("1", grid(2_000_000.0, 1_000_000.0), Some(100.0), "gs")]);
    let state_plane = resolve("EPSG:3568").unwrap();
    assert_eq!(state_plane.unit, LengthUnit::UsSurveyFeet);
    let note = feet_of_two_kinds(&at(LengthUnit::Feet), &state_plane).unwrap();
    assert!(note.text.contains("1.219 m east and 0.610 m north"), "{}", note.text);
    assert_eq!(feet_of_two_kinds(&at(LengthUnit::UsSurveyFeet), &state_plane), None);
    assert_eq!(feet_of_two_kinds(&at(LengthUnit::Metres), &state_plane), None);
}

/// The survey as a collector without a header line gives it, its columns in either order.
fn headerless(mut survey: PointFile, other_way: bool) -> PointFile {
    survey.columns_from = ColumnsFrom::Assumed;
    for record in survey.records.iter_mut().filter(|_| other_way) {
        let Position::Grid { easting, northing } = record.position else { continue };
        record.position = grid(northing, easting);
    }
    survey
}

/// Northing and easting are told apart before the fit uses any place: by the frame's area of use, else by the marks.
#[test]
fn the_order_of_columns_is_settled_before_the_fit() {
    let (survey, marks) = surveyed();
    let due = fitted(survey.clone(), &marks, &asked());
    for other_way in [false, true] {
        let found = fitted(headerless(survey.clone(), other_way), &marks, &asked());
        assert_eq!(found.value.files[1].records, due.value.files[1].records, "other way {other_way}");
        assert!(codes(&found.notes).contains(&"survey::order-by-area"));
        assert_eq!(found.value.files[1].columns_from, ColumnsFrom::Settled);
    }

    // The same on a grid of its own, where both coordinates are of one size and no area of use knows them.
    let mut own = survey;
    for record in &mut own.records {
        let Position::Grid { easting, northing } = record.position else { continue };
        record.position = grid(easting - 411_000.0, northing - 6_186_000.0);
    }
    for other_way in [false, true] {
        let found = fitted(headerless(own.clone(), other_way), &marks, &asked());
        for (found, due) in found.value.files[1].records.iter().zip(&due.value.files[1].records) {
            let (Position::Grid { easting, northing }, Position::Grid { easting: e, northing: n }) =
                (found.position, due.position)
            else {
                panic!("{found:?}")
            };
            assert!((easting - e).abs() < 1e-6 && (northing - n).abs() < 1e-6, "other way {other_way}");
        }
        let note = found.notes.iter().find(|note| note.code == "survey::order-by-marks").unwrap();
        assert!(note.text.contains("fits the known marks within 0.000 m"), "{}", note.text);
    }

    // Two marks fit a mirrored survey as well: refused, with both readings.
    let mut few = headerless(own, true);
    few.records.drain(2..6);
    let asked = asked();
    let bringing = Bringing { fit: Fitting::Make(&asked, &marks), ..Bringing::default() };
    let error = bring(vec![marks.clone(), few], &Settings::default(), &resolve("EPSG:32755").unwrap(), &bringing)
        .unwrap_err()
        .to_string();
    assert!(error.contains("cannot be told apart") && error.contains("neither way"), "{error}");
}

/// Marks are what all else is held against: without a header the area of use must tell their order, or nobody can.
#[test]
fn marks_without_a_header_are_read_the_way_they_lie_in_the_frame() {
    let (survey, marks) = surveyed();
    let due = fitted(survey.clone(), &marks, &asked());
    for other_way in [false, true] {
        let found = fitted(survey.clone(), &headerless(marks.clone(), other_way), &asked());
        assert_eq!(found.value.fit, due.value.fit, "other way {other_way}");
    }
    let (asked, marks) = (asked(), headerless(marks, true));
    let bringing = Bringing { fit: Fitting::Make(&asked, &marks), ..Bringing::default() };
    let local = FrameDefinition::local(LengthUnit::Metres);
    let error = bring(vec![survey], &Settings::default(), &local, &bringing).unwrap_err().to_string();
    assert!(error.starts_with("marks.csv: northing and easting cannot be told apart"), "{error}");
}

/// The survey fitted to the first so many marks, then judged; its marks named in the fit alone.
fn fitted_and_judged(observed: usize) -> Noted<crate::survey::Survey> {
    let (mut survey, mut marks) = surveyed();
    survey.records.drain(observed..6);
    // A list of control as it comes: no codes.
    marks.records.iter_mut().for_each(|mark| mark.code.clear());
    let asked = asked();
    let bringing = Bringing { fit: Fitting::Make(&asked, &marks), ..Bringing::default() };
    let definition = resolve("EPSG:32755").unwrap();
    let Brought { files, fit } = bring(vec![survey], &Settings::default(), &definition, &bringing).unwrap().value;
    assert_eq!(files[0].name, "marks.csv", "the marks join the survey");
    let frame = definition.site_frame((412_000.0, 6_187_000.0), None);
    crate::survey::check_told(&files, &Settings::default(), &frame, fit, &crate::notes::Silent).unwrap()
}

/// To agree with a mark that one was fitted to proves something only where other marks would show it to be wrong.
#[test]
fn check_shots_count_on_marks_that_others_check() {
    let found = fitted_and_judged(6);
    assert_eq!(found.value.checks.len(), 6, "{:?}", found.value.checks);
    let told = codes(&found.notes);
    assert!(!told.contains(&"survey::check-without-mark") && !told.contains(&"survey::not-checked"), "{told:?}");
    let marks = found.value.shots.iter().filter(|shot| shot.role == crate::survey::Role::Mark);
    assert_eq!(marks.count(), 6);

    // Two marks: in plan each has a redundancy of a quarter, and both would agree with a wrong one.
    let found = fitted_and_judged(2);
    assert!(found.value.checks.is_empty(), "{:?}", found.value.checks);
    let note = found.notes.iter().find(|note| note.code == "survey::not-checked").unwrap();
    assert!(note.text.contains("fitted to") && note.text.contains("(CP1, CP2)"), "{}", note.text);
    assert!(!codes(&found.notes).contains(&"survey::check-one-end"));
}

/// A second base 1.5 m off: its file is moved as a whole before the fit, which then is that of one survey.
#[test]
fn a_file_is_moved_before_the_fit() {
    let (survey, marks) = surveyed();
    let due = fitted(survey.clone(), &marks, &asked()).value.fit.unwrap();
    let (mut one, mut two) = (survey.clone(), survey);
    one.records.drain(3..6);
    two.records.drain(0..3);
    two.name = "day2.csv".to_owned();
    for record in &mut two.records {
        let Position::Grid { easting, northing } = record.position else { continue };
        record.position = grid(easting + 1.5, northing - 0.75);
        record.elevation = record.elevation.map(|z| z + 0.4);
    }
    let asked = asked();
    let bringing = Bringing { fit: Fitting::Make(&asked, &marks), ..Bringing::default() };
    let settings = Settings { shifts: vec![("day2.csv".to_owned(), [-1.5, 0.75, -0.4])], ..Settings::default() };
    let definition = resolve("EPSG:32755").unwrap();
    let found = bring(vec![one, two], &settings, &definition, &bringing).unwrap().value.fit.unwrap();
    let (plan, due_plan) = (found.plan.unwrap(), due.plan.unwrap());
    assert!((plan.turn_seconds - due_plan.turn_seconds).abs() < 1e-3);
    assert!(plan.marks.iter().all(|mark| mark.residual_m.iter().all(|miss| miss.abs() < 1e-6)), "{:?}", plan.marks);
    let height = found.height.unwrap();
    assert!((height.shift_m + 2.4).abs() < 1e-9, "{height:?}");
}

/// Moved by metres, whatever the file's unit, and from degrees onto the grid.
#[test]
fn a_shift_is_in_metres() {
    let definition = resolve("EPSG:32755").unwrap();
    let settings = Settings { shifts: vec![("a".to_owned(), [0.3048, 0.0, -0.6096])], ..Settings::default() };
    let feet = file("a", LengthUnit::Feet, vec![record("1", grid(1_352_800.0, 20_299_000.0), Some(1400.0), "gs")]);
    let found = bring(vec![feet], &settings, &definition, &Bringing::default()).unwrap().value.files.remove(0);
    let Position::Grid { easting, northing } = found.records[0].position else { panic!() };
    assert!((easting - 1_352_801.0).abs() < 1e-6 && (northing - 20_299_000.0).abs() < 1e-6);
    assert!((found.records[0].elevation.unwrap() - 1398.0).abs() < 1e-9);

    let lonlat = Position::Geographic { longitude: 146.05, latitude: -34.45 };
    let degrees = file("a", LengthUnit::Metres, vec![record("1", lonlat, Some(431.0), "gs")]);
    let place = places(std::slice::from_ref(&degrees), &settings, &definition).unwrap()[0][0].unwrap();
    let found = bring(vec![degrees], &settings, &definition, &Bringing::default()).unwrap().value.files.remove(0);
    let Position::Grid { easting, northing } = found.records[0].position else { panic!() };
    assert!((easting - place.x - 0.3048).abs() < 1e-6 && (northing - place.y).abs() < 1e-6);
}
